//! The SQL that both engines take, by the words it must do without.
//!
//! Each fault below was met on one of the two engines: a type that the shared
//! driver cannot carry, a function that the other engine lacks, a comparison
//! that answers differently. DEVELOPERS.md, "One SQL text", tells the story.

/// Words that one engine or the shared driver does not take, and what to write.
const WORDS: [(&str, &str); 44] = [
    ("boolean", "a bigint of 0 or 1"),
    ("bool", "a bigint of 0 or 1"),
    ("true", "1"),
    ("false", "0"),
    ("integer", "bigint"),
    ("int", "bigint"),
    ("smallint", "bigint"),
    ("real", "double precision"),
    ("float", "double precision"),
    ("numeric", "double precision"),
    ("decimal", "double precision"),
    ("varchar", "text"),
    ("date", "text"),
    ("datetime", "text"),
    ("timestamp", "text"),
    ("timestamptz", "text"),
    ("interval", "arithmetic in Rust"),
    ("uuid", "text"),
    ("json", "text"),
    ("jsonb", "text"),
    ("blob", "a file beside the database"),
    ("bytea", "a file beside the database"),
    ("array", "rows of their own"),
    ("serial", "an id made in Rust"),
    ("bigserial", "an id made in Rust"),
    ("autoincrement", "an id made in Rust"),
    ("rowid", "an id made in Rust"),
    ("nextval", "an id made in Rust"),
    ("now", "a time bound from the clock"),
    ("current_timestamp", "a time bound from the clock"),
    ("current_date", "a time bound from the clock"),
    ("strftime", "a time bound from the clock"),
    ("julianday", "a time bound from the clock"),
    ("random", "a value made in Rust"),
    ("ilike", "lower(x) like lower(y)"),
    ("glob", "like"),
    ("group_concat", "string_agg"),
    ("ifnull", "coalesce"),
    ("nvl", "coalesce"),
    ("iif", "case when"),
    ("greatest", "case when"),
    ("least", "case when"),
    ("returning_id", "returning id"),
    ("replace_into", "on conflict do update"),
];

/// Whether a text literal is a statement or the beginning of one.
pub(super) fn is_sql(text: &str) -> bool {
    let text = text.trim_start().to_lowercase();
    let starts = |word: &str| text.starts_with(word);
    starts("select ") && text.contains(" from ")
        || starts("select ") && text.contains('\n')
        || starts("insert into ")
        || starts("delete from ")
        || starts("update ") && text.contains(" set ")
        || starts("with ") && text.contains(" as (")
        || starts("create table ")
        || starts("drop table ")
        || starts("alter table ")
}

/// What one of the engines would not take.
pub(super) fn faults(sql: &str) -> Vec<String> {
    let words = words(sql);
    let mut faults = Vec::new();
    for (place, word) in words.iter().enumerate() {
        let next = words.get(place + 1).map_or("", String::as_str);
        let before =
            |back: usize| place.checked_sub(back).and_then(|place| words.get(place)).map_or("", String::as_str);
        if let Some((_, instead)) = WORDS.iter().find(|(forbidden, _)| forbidden == word) {
            faults.push(format!("\"{word}\": write {instead}"));
        }
        match word.as_str() {
            "sum" | "avg" if next == "(" => {
                let cast = before(1) == "(" && (before(2) == "cast" || before(2) == "coalesce" && before(4) == "cast");
                if !cast {
                    faults.push(format!(
                        "\"{word}\" answers numeric on PostgreSQL: cast(… as bigint) or as double precision"
                    ));
                }
            }
            "like" if !words[..place].iter().any(|word| word == "lower") => {
                faults.push("\"like\" minds capitals on PostgreSQL only: lower() on both sides".to_owned());
            }
            "*" if before(1) == "select" => faults.push("\"select *\": name the columns".to_owned()),
            "?" => faults.push("\"?\": number the placeholders, $1".to_owned()),
            ":" if next == ":" => faults.push("\"::\": write cast(… as …)".to_owned()),
            "for" if matches!(next, "update" | "share") => {
                faults.push("\"for update\": SQLite has no row locks".to_owned())
            }
            "exists" if matches!(before(1), "select" | ",") => {
                faults.push("\"exists\" as a column: count(*)".to_owned());
            }
            "or" if before(1) == "insert" => faults.push("\"insert or\": on conflict".to_owned()),
            "alter" if next == "column" => faults.push("\"alter column\": SQLite has none".to_owned()),
            _ => {}
        }
    }
    faults
}

/// The words and signs of a statement; comments and quoted text are left out.
fn words(sql: &str) -> Vec<String> {
    let bare: String = sql.lines().map(|line| line.split("--").next().unwrap_or("")).collect::<Vec<_>>().join("\n");
    let code: String = bare.split('\'').step_by(2).collect::<Vec<_>>().join("''").to_lowercase();
    let mut words = Vec::new();
    let mut word = String::new();
    for c in code.chars() {
        if c.is_alphanumeric() || c == '_' || c == '$' {
            word.push(c);
            continue;
        }
        if !word.is_empty() {
            words.push(std::mem::take(&mut word));
        }
        if !c.is_whitespace() {
            words.push(c.to_string());
        }
    }
    if !word.is_empty() {
        words.push(word);
    }
    words
}

#[test]
fn each_fault_is_found_and_portable_sql_has_none() {
    for good in [
        "select id, count(*) as n from loan where due_on < $1 group by id order by id limit $2",
        "select cast(coalesce(sum(seconds), 0) as bigint) as s, cast(avg(size) as double precision) as m from x",
        "insert into t (id) values ($1) on conflict (id) do update set at = excluded.at returning id",
        "select id from t where lower(name) like lower($1) and exists (select 1 from u)",
        "update t set stage = 'now true date' where id = $1 -- boolean",
    ] {
        assert_eq!(faults(good), Vec::<String>::new(), "{good}");
        assert!(is_sql(good), "{good}");
    }
    for (bad, finds) in [
        ("create table t (on_loan boolean)", "boolean"),
        ("select now()", "now"),
        ("select sum(n) from t", "sum"),
        ("select coalesce(sum(n), 0) from t", "sum"),
        ("select id from t where name like $1", "like"),
        ("select id from t where name ilike $1", "ilike"),
        ("select * from t", "select *"),
        ("select id from t where id = ?", "?"),
        ("select id::text from t", "::"),
        ("select id from t for update", "for update"),
        ("select exists (select 1 from t)", "exists"),
        ("insert or replace into t values ($1)", "insert or"),
        ("create table t (id serial)", "serial"),
        ("update t set on_loan = true", "true"),
    ] {
        assert!(faults(bad).iter().any(|fault| fault.contains(finds)), "{bad}: {:?}", faults(bad));
    }
    assert!(!is_sql("select an eye from the list".trim_start_matches("select ")), "prose is no statement");
}
