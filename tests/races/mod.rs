//! Two people at the same moment, on both engines.
//!
//! A race is run many times over one world: two requests start together, and
//! after every pair the rule is looked at. Nobody sleeps; who gets a head start
//! and how long it is changes from round to round, so that the two meet in many
//! places. In the first two rounds of every ten one comes strictly after the
//! other, so that both orders are always among them.

mod consent;
mod documents;
mod entries;

use sqlx::Row;
use tokio::sync::Barrier;

use crate::world::World;

/// How often each race is run.
pub(crate) const ROUNDS: usize = 200;

/// Starts both at the same moment and gives both answers.
pub(crate) async fn at_once<A, B>(
    round: usize,
    one: impl Future<Output = A> + Send + 'static,
    other: impl Future<Output = B> + Send + 'static,
) -> (A, B)
where
    A: Send + 'static,
    B: Send + 'static,
{
    match round % 10 {
        0 => {
            let first = one.await;
            return (first, other.await);
        }
        1 => {
            let first = other.await;
            return (one.await, first);
        }
        _ => {}
    }
    let start = std::sync::Arc::new(Barrier::new(2));
    // The head start, in turns of the scheduler: 0 to 24, for either side.
    let turns = (round / 2) % 25;
    let (waits, waits_not) = if round.is_multiple_of(2) { (turns, 0) } else { (0, turns) };
    let left = started(start.clone(), waits, one);
    let right = started(start, waits_not, other);
    let (left, right) = tokio::join!(tokio::spawn(left), tokio::spawn(right));
    (left.expect("one of the two panicked"), right.expect("one of the two panicked"))
}

async fn started<T>(start: std::sync::Arc<Barrier>, turns: usize, request: impl Future<Output = T>) -> T {
    start.wait().await;
    for _ in 0..turns {
        tokio::task::yield_now().await;
    }
    request.await
}

/// The number of the newest line of the technical log.
pub(crate) async fn newest_line(world: &World) -> i64 {
    let mut view = world.store().db().begin_read().await.expect("a view");
    sqlx::query_scalar("select seq from audit_head where id = 1").fetch_one(&mut *view).await.expect("the head")
}

/// What was done since, in the order of the log.
pub(crate) async fn lines_after(world: &World, seq: i64) -> Vec<String> {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let rows = sqlx::query("select action from audit where seq > $1 order by seq")
        .bind(seq)
        .fetch_all(&mut *view)
        .await
        .expect("the log");
    rows.iter().map(|row| row.get(0)).collect()
}
