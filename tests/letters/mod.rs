//! Letters by e-mail: who is told of what, that a letter names nobody, and that
//! none is lost while the mail server is away.

mod server;

use farpoint::care::mail::{DAILY_FROM, Often, is_time, wait_after};
use farpoint::mail::Smtp;
use farpoint::web::telling::{deliver, gather};
use jiff::civil::{DateTime, date};
use jiff::{SignedDuration, ToSpan};
use proptest::prelude::{Strategy, proptest};
use proptest::prop_assert;
use server::{Mood, Server};

use crate::capability::around::Circle;
use crate::people::Person;
use crate::world::{ADDRESS, LETTERS_FROM, World};

const MINUTE: SignedDuration = SignedDuration::from_mins(1);
const QUEUE: &str = "Letters that wait or were given up";

async fn listens(person: &Person, often: &str) {
    let address = format!("{}@people.example", person.sign_in);
    let fields = [("often", often), ("address", address.as_str())];
    assert_eq!(person.presses("/account", "Save how often", &fields).await.redirected_to(), "/account");
}

async fn writes(world: &World, circle: &Circle, person: &Person, to: &str, body: &str) {
    world.passes(MINUTE);
    // A session ends after half an hour without use.
    person.signs_in().await;
    person.presses(&circle.pupil.at("/thread"), "Send", &[("to", to), ("body", body)]).await.redirected_to();
    world.passes(SignedDuration::from_mins(11));
}

async fn told(world: &World) -> usize {
    gather(world.app()).await.expect("it is counted")
}

async fn queue(steward: &Person) -> Vec<Vec<String>> {
    let page = steward.opens("/steward/mail").await.ok();
    if page.seen().contains(QUEUE) { page.table(QUEUE).rows } else { Vec::new() }
}

#[tokio::test]
async fn whoever_asks_for_it_is_told_once_and_the_letter_names_nobody() {
    let world = World::new().await;
    let circle = world.circle().await;
    let server = Server::start().await;
    let smtp = Smtp::new(&server.url, LETTERS_FROM).expect("an address and a server");
    listens(&circle.teacher, "at_once").await;
    writes(&world, &circle, &circle.class, "vision_teacher", "May Wren sit in row one?").await;
    writes(&world, &circle, &circle.parent, "note", "The telescope fell.").await;
    // The parent and the classroom teacher asked for no letters.
    assert_eq!(told(&world).await, 1);
    assert_eq!(deliver(world.app(), &smtp).await.expect("sent"), 1);
    let letters = server.arrived();
    assert_eq!(letters.len(), 1);
    assert_eq!(letters[0].to, format!("{}@people.example", circle.teacher.sign_in));
    let text = &letters[0].text;
    assert!(text.contains("Subject: Farpoint: a question waits for you"), "{text}");
    assert!(text.contains("There are 2 new entries for you to read."), "{text}");
    assert!(text.contains(&format!("{ADDRESS}/today")), "{text}");
    let initials: String = circle.pupil.name.split(' ').filter_map(|name| name.chars().next()).collect();
    let dotted: String = initials.chars().map(|letter| format!("{letter}.")).collect();
    let id = circle.pupil.id.to_string();
    for secret in circle.pupil.name.split(' ').chain([circle.class.name.as_str(), &dotted, &id, "telescope", "row one"])
    {
        assert!(!text.contains(secret), "{secret} stands in: {text}");
    }
    // Told once; what was read on the page is not told either.
    world.passes(SignedDuration::from_mins(30));
    assert_eq!(told(&world).await, 0);
    writes(&world, &circle, &circle.class, "note", "She sat in row one.").await;
    circle.teacher.signs_in().await;
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok();
    assert_eq!(told(&world).await, 0, "it was read meanwhile");
    assert_eq!(deliver(world.app(), &smtp).await.expect("nothing waits"), 0);
    // Nobody's reading was written down: nothing was shown to anybody.
    assert_eq!(world.count("disclosure").await, 0);
}

#[tokio::test]
async fn nobody_is_told_of_what_they_may_not_read() {
    let world = World::new().await;
    let circle = world.circle().await;
    for person in [&circle.class, &circle.parent, &circle.clinician, &circle.teacher] {
        listens(person, "at_once").await;
    }
    // A classroom teacher reads her own and what is addressed to her; the clinic
    // nothing without a consent; the writer knows.
    writes(&world, &circle, &circle.teacher, "clinician", "Is 4x enough?").await;
    assert_eq!(told(&world).await, 1, "the parent alone");
    world.signs_consent(&circle, farpoint::care::consent::Direction::SchoolToClinic).await;
    writes(&world, &circle, &circle.teacher, "clinician", "And 6x?").await;
    assert_eq!(told(&world).await, 2, "the clinic by the consent, and the parent");
    world.limits(&circle.parent, &circle.pupil).await;
    writes(&world, &circle, &circle.teacher, "note", "A note to all.").await;
    assert_eq!(told(&world).await, 1, "the clinic alone: an order keeps it from the parent");
    writes(&world, &circle, &circle.teacher, "classroom_teacher", "Does she use it?").await;
    assert_eq!(told(&world).await, 2, "the classroom teacher, who is asked, and the clinic");
}

#[tokio::test]
async fn once_a_day_means_after_school_and_one_letter() {
    let world = World::new().await;
    let circle = world.circle().await;
    listens(&circle.teacher, "daily").await;
    writes(&world, &circle, &circle.class, "note", "First.").await;
    writes(&world, &circle, &circle.class, "note", "Second.").await;
    assert_eq!(told(&world).await, 0, "ten in the morning");
    world.passes(SignedDuration::from_hours(6));
    assert_eq!(told(&world).await, 1, "after four");
    writes(&world, &circle, &circle.class, "note", "Third.").await;
    assert_eq!(told(&world).await, 0, "until tomorrow");
    world.passes(SignedDuration::from_hours(24));
    assert_eq!(told(&world).await, 1);
    // The first letter still waits, so the second day went into it.
    assert_eq!(world.count("mail").await, 1);
}

#[tokio::test]
async fn a_letter_waits_for_the_mail_server_and_is_given_up_where_it_says_never() {
    let world = World::new().await;
    let circle = world.circle().await;
    let steward = world.steward().await;
    let server = Server::start().await;
    let smtp = Smtp::new(&server.url, LETTERS_FROM).expect("an address and a server");
    steward.signs_in().await;
    steward.enters_password_again().await;
    steward.opens("/steward/mail").await.ok().sees("No letter waits.").sees("None.");
    listens(&circle.teacher, "at_once").await;
    writes(&world, &circle, &circle.class, "note", "Something.").await;
    assert_eq!(told(&world).await, 1);

    server.is(Mood::Busy);
    for tries in ["1", "2", "3"] {
        assert_eq!(deliver(world.app(), &smtp).await.expect("kept"), 0);
        assert_eq!(deliver(world.app(), &smtp).await.expect("not before its time"), 0);
        steward.signs_in().await;
        steward.enters_password_again().await;
        let row = queue(&steward).await.remove(0);
        assert_eq!((row[0].as_str(), row[3].as_str()), (circle.teacher.name.as_str(), tries));
        assert!(row[1].starts_with("Waiting to be sent") && row[5].contains("451"), "{row:?}");
        world.passes(SignedDuration::from_mins(31));
    }
    server.is(Mood::Takes);
    world.passes(SignedDuration::from_hours(1));
    assert_eq!(deliver(world.app(), &smtp).await.expect("sent"), 1);
    assert_eq!(server.arrived().len(), 1);

    writes(&world, &circle, &circle.class, "note", "Another.").await;
    assert_eq!(told(&world).await, 1);
    server.is(Mood::Refuses);
    deliver(world.app(), &smtp).await.expect("kept");
    steward.signs_in().await;
    steward.enters_password_again().await;
    let row = queue(&steward).await.remove(0);
    assert!(row[1].starts_with("Given up") && row[5].contains("550"), "{row:?}");
    steward.opens("/steward").await.ok().sees("One was given up and needs you.");
    // The steward tries it again, and it leaves.
    server.is(Mood::Takes);
    let page = steward.opens("/steward/mail").await.ok();
    let name = &circle.teacher.name;
    let again = format!("Try it now for {name}");
    assert_eq!(steward.presses_on(&page, &again, &[]).await.redirected_to(), "/steward/mail");
    assert_eq!(deliver(world.app(), &smtp).await.expect("sent"), 1);
    assert_eq!(queue(&steward).await, Vec::<Vec<String>>::new());
    // What left cannot be dropped any more; nothing changes and nothing breaks.
    let before = world.content().await.remove("mail");
    steward.presses_on(&page, &format!("Drop it for {name}"), &[]).await.redirected_to();
    assert_eq!(world.content().await.remove("mail"), before);
}

#[tokio::test]
async fn two_servers_send_one_letter_once() {
    let world = World::crowded().await;
    let circle = world.circle().await;
    let server = Server::start().await;
    let smtp = Smtp::new(&server.url, LETTERS_FROM).expect("an address and a server");
    listens(&circle.teacher, "at_once").await;
    writes(&world, &circle, &circle.class, "note", "Something.").await;
    let counted = tokio::join!(gather(world.app()), gather(world.app()));
    assert_eq!(counted.0.expect("counted") + counted.1.expect("counted"), 1);
    let sent = tokio::join!(deliver(world.app(), &smtp), deliver(world.app(), &smtp));
    assert_eq!(sent.0.expect("sent") + sent.1.expect("sent"), 1);
    assert_eq!(server.arrived().len(), 1);
}

#[tokio::test]
async fn a_letter_that_a_server_took_and_lost_is_sent_by_another() {
    let world = World::new().await;
    let circle = world.circle().await;
    listens(&circle.teacher, "at_once").await;
    writes(&world, &circle, &circle.class, "note", "Something.").await;
    told(&world).await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let taken = farpoint::store::mail::take_next(&mut tx).await.expect("answers");
    assert!(taken.is_some());
    tx.commit(farpoint::store::Audit::operator("take and stop")).await.expect("kept");
    let server = Server::start().await;
    let smtp = Smtp::new(&server.url, LETTERS_FROM).expect("an address and a server");
    assert_eq!(deliver(world.app(), &smtp).await.expect("it is another's"), 0);
    world.passes(SignedDuration::from_mins(11));
    assert_eq!(deliver(world.app(), &smtp).await.expect("sent"), 1);
}

#[tokio::test]
async fn the_choice_is_checked_and_stands_only_where_letters_are_sent() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    teacher.opens("/account").await.ok().sees(&format!("It comes from {LETTERS_FROM}"));
    let press = async |fields: &[(&str, &str)]| teacher.presses("/account", "Save how often", fields).await;
    press(&[("often", "daily"), ("address", "")]).await.refused("address");
    let again = press(&[("often", "daily"), ("address", "otto at home")]).await.refused("address");
    assert_eq!(again.value_of("address").as_deref(), Some("otto at home"));
    press(&[("often", "never"), ("address", "")]).await.redirected_to();
    // Two windows: the second does not overwrite the first unseen.
    let old = teacher.opens("/account").await.ok();
    listens(&teacher, "daily").await;
    let late = [("often", "at_once"), ("address", "other@people.example")];
    assert_eq!(teacher.presses_on(&old, "Save how often", &late).await.code(), 409);
    let off = world.router_with(|app| app.letters_from = None);
    let quiet = teacher.through(off);
    quiet.opens("/account").await.ok().lacks("Letters by e-mail");
    quiet.submits("/account/letters", &[("often", "daily"), ("address", "a@people.example")]).await.hidden();
}

#[test]
fn the_daily_letter_goes_once_between_two_afternoons() {
    let moments = (0_i64..60 * 24 * 400).prop_map(|minutes| date(2026, 1, 1).at(0, 0, 0, 0) + minutes.minutes());
    proptest!(|(told in moments.clone(), later in moments)| {
        let (told, now) = (told.min(later), told.max(later));
        // By hand: whether four o'clock lies after the one and not after the other.
        let mut four: DateTime = told.date().to_datetime(DAILY_FROM);
        if four <= told { four += 1.day(); }
        prop_assert!(is_time(Often::Daily, told, now) == (four <= now));
        prop_assert!(!is_time(Often::Never, told, now));
        prop_assert!(is_time(Often::AtOnce, told, now) == (now.duration_since(told) >= SignedDuration::from_mins(10)));
    });
}

#[test]
fn a_mail_server_may_be_away_for_a_night() {
    let mut all = SignedDuration::ZERO;
    let mut failures = 0;
    while let Some(wait) = wait_after(failures + 1) {
        failures += 1;
        all += wait;
    }
    assert_eq!(failures, 5);
    assert!(all >= SignedDuration::from_hours(12), "{all}");
    for odd in [0, -1, i64::MIN, i64::MAX] {
        assert_eq!(wait_after(odd), None);
    }
}
