//! Dates for a calendar program: a secret address, and nothing personal behind it.

use sqlx::Row;

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

pub(crate) const MAKE: &str = "Make an address";

/// Makes an address and gives its path.
pub(crate) async fn makes(person: &Person, button: &str) -> String {
    let page = person.presses("/account", button, &[]).await.ok().sees("it is shown this once");
    let source = page.source();
    let at = source.find("/calendar/").expect("the address");
    source[at..].split(['<', '"', '\n']).next().expect("its end").trim().to_owned()
}

async fn days(world: &World, sql: &'static str) -> Vec<String> {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let rows = sqlx::query(sql).fetch_all(&mut *view).await.expect("rows");
    rows.iter().map(|row| row.get::<String, _>(0)).collect()
}

#[tokio::test]
async fn a_feed_says_on_which_days_and_nothing_about_whom() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let path = makes(&team.teacher, MAKE).await;
    let before = world.content().await["disclosure"];
    let program = world.stranger();
    let feed = program.opens(&path).await.ok();
    assert!(feed.header("content-type").starts_with("text/calendar"), "{}", feed.header("content-type"));
    assert_eq!(feed.header("cache-control"), "no-store");
    let text = feed.source().to_owned();
    assert!(text.starts_with("BEGIN:VCALENDAR\r\n") && text.ends_with("END:VCALENDAR\r\n"), "{text}");
    for due in days(&world, "select due_on from loan where returned_on is null").await {
        assert!(text.contains(&format!("DTSTART;VALUE=DATE:{}", due.replace('-', ""))), "{due} in {text}");
    }
    assert!(text.matches("BEGIN:VEVENT").count() >= 1);
    assert_eq!(text.matches("CLASS:PRIVATE").count(), text.matches("BEGIN:VEVENT").count());
    assert!(!text.contains("VALARM"));
    let names = [&team.pupil.name, &team.teacher.name, &team.parent.name, &team.clinician.name];
    for word in names.into_iter().flat_map(|name| name.split(' ')).chain(["LOAN", "loan", "device", "eye", "vision"]) {
        assert!(!text.contains(word), "{word} in {text}");
    }
    assert!(!text.contains(&team.pupil.id.to_string()), "no id of the record");
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "a line longer than 75 octets");
    assert_eq!(world.content().await["disclosure"], before);
    // Asked again it is the same, so that a calendar keeps its events.
    assert_eq!(program.opens(&path).await.ok().source(), text);
    team.teacher.opens("/account").await.ok().sees("last asked for");
    let token = path.trim_start_matches("/calendar/");
    assert!(token.len() >= 43, "256 bits: {token}");
    assert!(days(&world, "select token_hash from calendar_feed").await.iter().all(|hash| hash != token));
}

#[tokio::test]
async fn an_address_taken_back_never_answers_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let first = makes(&team.teacher, MAKE).await;
    let second = makes(&team.teacher, "Make another address in its place").await;
    let program = world.stranger();
    program.opens(&first).await.hidden();
    program.opens(&second).await.ok();
    team.teacher.presses("/account", "Take the address back", &[]).await.redirected_to();
    program.opens(&second).await.hidden();
    program.opens("/calendar/never-made").await.hidden();
    let page = team.teacher.opens("/account").await.ok();
    assert!(!page.source().contains("Take the address back"));
}

#[tokio::test]
async fn a_feed_holds_what_its_reader_may_know_today() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let (parent, clinician) = (makes(&team.parent, MAKE).await, makes(&team.clinician, MAKE).await);
    let program = world.stranger();
    let events = async |path: &str| program.opens(path).await.ok().source().matches("BEGIN:VEVENT").count();
    assert!(events(&parent).await >= 1);
    let before = world.content().await["disclosure"];
    events(&clinician).await;
    assert_eq!(world.content().await["disclosure"], before, "nothing crosses by a calendar");
    world.leaves(&team.parent, &team.pupil, &team.teacher).await;
    assert_eq!(events(&parent).await, 0, "off the team, nothing of the student is on");
}
