//! What only looks odd: stored and shown as typed.

use crate::lap::{DISTANCE, Step, Team};
use crate::page::{Page, css, words};
use crate::people::PASSWORD;
use crate::world::World;

/// Names and texts that people have and write.
const ODD: [&str; 9] = [
    "Zo\u{eb} O\u{2019}Brien-\u{d1}and\u{fa} \u{1f9ff}",
    "\u{646}\u{648}\u{631} \u{627}\u{644}\u{62f}\u{64a}\u{646} (\u{5d0}\u{5d1}\u{5d2})",
    "<b>Robert</b>\"); drop table student;--",
    "{ 7 * 7 } ${7*7} %3Cscript%3E %00",
    "\u{5c71}\u{7530}\u{592a}\u{90ce} \u{1f3eb}",
    "100 % of 1/2 & more; a=b&c=d",
    "e\u{301}\u{323} (two accents), \u{200d}joined\u{200d}, \u{2067}turned\u{2069}",
    "line one\nline two\n\n- and a list",
    "\\n is two letters, \\u0041 is six",
];

/// A text as the words of a page show it.
fn on_a_page(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn shows(page: &Page, text: &str) {
    let wanted = on_a_page(text);
    assert!(page.seen().contains(&wanted), "{}: {wanted:?} is not shown\n{}", page.asked(), page.seen());
    assert!(!page.source().contains("<b>Robert</b>"), "{}: typed marks became marks of the page", page.asked());
}

#[tokio::test]
async fn odd_words_are_kept_and_shown_as_typed() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let (teacher, parent) = (&team.teacher, &team.parent);
    for text in ODD {
        let one_line = on_a_page(text);
        // A note in the thread, read by somebody else.
        teacher.presses(&team.at("/thread"), "Send", &[("to", "note"), ("body", text)]).await.redirected_to();
        shows(&parent.opens(&team.at("/thread")).await.ok(), text);
        // A contact, which comes back in its form character by character.
        let contact = [("name", one_line.as_str()), ("access_needs", &one_line)];
        teacher.presses(&team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
        shows(&teacher.opens(&team.at("/people")).await.ok(), &one_line);
        let id = world.newest("contact", &team.pupil).await.expect("a contact");
        let page = teacher.opens(&team.at(&format!("/people/contacts/{id}"))).await.ok();
        assert_eq!(page.value_of("name").as_deref(), Some(one_line.as_str()));
        // A room, a task, a card, a home entry.
        let room = [("room", one_line.as_str()), ("distance", "4 m")];
        teacher.presses(&team.at("/seats/new"), "Add", &room).await.redirected_to();
        let task = [
            ("code", "wall_clock"),
            ("name", one_line.as_str()),
            ("track", "distance"),
            ("goal", "name_it"),
            ("target", "digits"),
        ];
        teacher.presses(&team.at("/tasks/new"), "Add", &task).await.redirected_to();
        shows(&team.classroom.opens(&team.at("/tasks")).await.ok(), &one_line);
        let home = [
            ("flag", "no"),
            ("place", "home"),
            ("task", "tv"),
            ("device_out", "not_needed"),
            ("result", "all"),
            ("note", text),
        ];
        let saved = parent.presses(&team.at("/observations/new"), "Save", &home).await;
        shows(&parent.follows(&saved).await.ok(), text);
    }
}

#[tokio::test]
async fn a_student_of_any_name_is_found_under_it_on_every_screen() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    for (number, name) in ODD.into_iter().map(on_a_page).enumerate() {
        let number = format!("ODD-{number}");
        let fields = [
            ("number", number.as_str()),
            ("name", &name),
            ("birth_date", "2016-01-02"),
            ("grade", "K"),
            ("interpreter", "yes"),
        ];
        let to = teacher.presses("/students/new", "Open the record", &fields).await.redirected_to();
        let student = to.strip_suffix("/intake/eyes").expect("the second step").to_owned();
        let page = teacher.opens(&format!("{student}/identity")).await.ok();
        assert_eq!(page.value_of("name").as_deref(), Some(name.as_str()));
        for path in ["", "/intake", "/tasks", "/people", "/thread", "/safety", "/card", "/devices", "/training"] {
            let page = teacher.opens(&format!("{student}{path}")).await.ok();
            // The title, which a browser remembers, has initials only.
            assert!(!page.title().contains(&name), "{}", page.title());
        }
        shows(&teacher.opens("/today").await.ok(), &name);
    }
}

#[tokio::test]
async fn an_account_of_any_name_signs_and_is_named_as_it_was_typed() {
    let world = World::new().await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    for (number, name) in ODD.into_iter().map(on_a_page).enumerate() {
        let sign_in = format!("odd-{number}");
        let fields = [
            ("role", "clinician"),
            ("name", name.as_str()),
            ("sign_in", &sign_in),
            ("clinic", &name),
            ("credential", "OD"),
            ("licence", &name),
            ("password", PASSWORD),
            ("password_again", PASSWORD),
        ];
        steward.presses("/steward", "Make the account", &fields).await.redirected_to();
        let mut person = world.stranger();
        person.sign_in = sign_in;
        person.signs_in().await;
        // It stands in the frame, over every page.
        let page = person.opens("/account").await.ok();
        let frame = page.html().select(&css("body")).next().map(words).unwrap_or_default();
        assert!(frame.contains(&name), "{name} is not over the page: {frame}");
    }
}

#[tokio::test]
async fn lengths_and_acuities_stay_as_typed_in_every_manner_of_writing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    // By hand: 1 ft is 0.3048 m, told to the centimetre.
    for (typed, shown) in [
        ("15 ft", "4.57 m"),
        ("15'", "4.57 m"),
        ("15 ft 6 in", "4.72 m"),
        ("460 cm", "4.6 m"),
        ("4,6 m", "4.6 m"),
        ("4.6M", "4.6 m"),
        ("180 in", "4.57 m"),
    ] {
        let room = format!("Room {typed}");
        let fields = [("room", room.as_str()), ("distance", typed)];
        team.teacher.presses(&team.at("/seats/new"), "Add", &fields).await.redirected_to();
        let page = team.teacher.opens(&team.at("/tasks")).await.ok();
        let told = format!("{typed} ({shown})");
        let seen = page.seen();
        let rooms = &seen[seen.find("Rooms and seats").unwrap_or(0)..];
        assert!(rooms.contains(&told), "{told} is not among {rooms}");
        let id = world.newest("seat", &team.pupil).await.expect("a seat");
        let page = team.teacher.opens(&team.at(&format!("/seats/{id}"))).await.ok();
        assert_eq!(page.value_of("distance").as_deref(), Some(typed));
    }
    let draft = team.begins_an_evaluation().await;
    for typed in ["20/200", "20/40-2", "6/60", "10/200", "decimal 0.1", "1.0 logMAR", "VAR 50", "HM", "LP", "NLP"] {
        let at = if typed == "10/200" { "10 ft" } else { "20 ft" };
        let row = [("eye", "right"), ("correction", "none"), ("distance", at), ("value", typed)];
        team.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", &row).await.redirected_to();
        let page = team.clinician.opens(&format!("{draft}/edit/acuity")).await.ok();
        assert!(page.seen().contains(typed), "{typed} is not on the page");
    }
}
