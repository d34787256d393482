//! A column that is empty in one row and a number in the next: one statement
//! text takes both, on either engine, in either order.

use farpoint::db::column::{Columns, number};

use crate::world::World;

#[tokio::test]
async fn one_statement_takes_a_missing_number_and_a_number() {
    let world = World::new().await;
    // One transaction is one connection, and so one cache of statements.
    let mut inner = world.store().db().begin_write().await.unwrap();
    for value in [None, Some(1.5), None, Some(-0.1), Some(1.0 / 3.0)] {
        let row = sqlx::query("select cast($1 as double precision) as number")
            .bind(number(value))
            .fetch_one(&mut *inner)
            .await
            .unwrap();
        assert_eq!(row.opt_number("number").unwrap(), value);
    }
}

#[test]
fn no_missing_number_is_bound_by_hand() {
    // The first row that leaves such a column empty would break every later
    // one with a number on PostgreSQL: see `db::column::number`.
    let mut broken = Vec::new();
    for (path, text) in crate::layers::everything() {
        for (place, line) in text.lines().enumerate().filter(|_| path.starts_with("src/store/")) {
            let optional = line.contains(".bind(")
                && line.contains(".map(")
                && (line.contains("::get)") || line.contains(".get())"));
            if optional && !line.contains(".bind(number(") && !line.contains("i64::from") {
                broken.push(format!("{path}:{}", place + 1));
            }
        }
    }
    assert!(broken.is_empty(), "bind these through db::column::number: {broken:?}");
}
