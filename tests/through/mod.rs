//! Through the device: what each reader is told of the field, the looks and
//! the focus, with every figure worked by hand, and what is said where
//! something is missing.

mod missing;
mod picture;

use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::page::{Page, css, words};
use crate::people::Person;
use crate::world::World;

/// Where a task of this name is looked at through a device.
async fn through(person: &Person, team: &Team, name: &str) -> String {
    person.opens(&team.at("/tasks")).await.ok().link(&format!("Through the device for {name}"))
}

/// A team with a 6x telescope of 9 degrees on loan: Science board, small
/// letters of 3.5 cm, from 5.2 m, on a board of 3 m.
async fn lent(world: &World) -> (Team, String) {
    let team = Team::up_to(world, &DISTANCE, Step::Ready).await;
    let address = through(&team.teacher, &team, "Science board").await;
    (team, address)
}

/// A seat, and a task of 2.5 cm seen from it; gives the page's address.
async fn sits(team: &Team, room: &str, seat: &[(&str, &str)], task: &[(&str, &str)]) -> String {
    let seat = [&[("room", room)][..], seat].concat();
    team.teacher.presses(&team.at("/seats/new"), "Add", &seat).await.redirected_to();
    let form = team.teacher.opens(&team.at("/tasks/new")).await.ok();
    let seat = form.choices_named("seat").into_iter().find(|(_, words)| words.contains(room)).expect("the room").0;
    wants(team, room, &[&[("seat", seat.as_str())][..], task].concat()).await
}

/// A task of this name; gives the page's address.
async fn wants(team: &Team, name: &str, changes: &[(&str, &str)]) -> String {
    let mut fields = vec![
        ("code", "board_words"),
        ("name", name),
        ("track", "distance"),
        ("goal", "copy"),
        ("x_height", "2.5 cm"),
        ("measured", "yes"),
        ("display", "whiteboard"),
        ("marker", "black_on_white"),
        ("target", "words"),
    ];
    for (field, value) in changes {
        fields.retain(|(of, _)| of != field);
        if !value.is_empty() {
            fields.push((field, value));
        }
    }
    team.teacher.presses(&team.at("/tasks/new"), "Add", &fields).await.redirected_to();
    through(&team.teacher, team, name).await
}

/// The rows of the picture's table, cell by cell.
fn rows(page: &Page) -> Vec<Vec<String>> {
    let html = page.html();
    html.select(&css("figure.picture tbody tr")).map(|row| row.select(&css("th, td")).map(words).collect()).collect()
}

/// One exercise in spotting of so many seconds, with so much help.
async fn spots(team: &Team, median: &str, prompt: &str) {
    let page = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    let device = page.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
    let fields = [
        ("device", device.as_str()),
        ("minutes", "20"),
        ("place", "quiet_room"),
        ("body", "seated"),
        ("e1_skill", "spotting"),
        ("e1_tries", "5"),
        ("e1_right", "5"),
        ("e1_median", median),
        ("e1_prompt", prompt),
        ("order_reason", "The board is used every day"),
    ];
    team.teacher.presses_on(&page, "Save the session", &fields).await.redirected_to();
}

#[tokio::test]
async fn a_vision_teacher_reads_share_looks_and_focus_before_the_picture() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    let page = team.teacher.opens(&address).await.ok();
    // The board fills 2 atan(1.5 / 5.2) = 32.18 degrees: 9 of it is 28 %, and
    // (32.18 - 9) / (0.8 x 9) = 3.2, so 4 more looks than one.
    let page = page
        .sees("From this seat the student would see about 28 % of the width of the board at once.")
        .sees("To follow one line across takes 5 looks.")
        // 2 x 5.2 x tan 4.5 degrees = 0.8185 m; / 3.5 cm = 23.4.
        .sees("Seen at once from 5.2 m 81.8 cm wide about 23 letters of this size; 8 or more are wanted to read on and copy")
        .sees("Share of the width of the board seen at once 28 % the board is 3 m wide")
        .sees("Looks to follow one line across 5")
        .sees("It can be made sharp from 25 cm on.")
        // 6 x 6 / 5.2 = 6.9.
        .sees("the eye would have to make up about 6.9 D")
        .sees("The glasses stay on with it, so the tube has no lens to make up for.")
        .sees("no exercise in spotting with this device, without help, has a time, and 3 are needed")
        .sees("The height of the board is not in the record")
        .sees("Never look at the sun")
        .sees("Stand still or sit down before you look.")
        .sees("Angle of the board 32.2\u{b0}")
        .sees("Arithmetic from the numbers shown. Real use differs. The clinician decides.");
    let seen = page.seen();
    let places: Vec<usize> = ["Looks to follow one line", "Focusing", "To scale", "The same figures as a table"]
        .iter()
        .map(|words| seen.find(words).unwrap_or_else(|| panic!("{words} is not on the page")))
        .collect();
    assert!(places.is_sorted(), "words first, then focus, then the picture: {places:?}");
    // The options tell the same of the same device.
    let options = team.teacher.opens(&address.replace("/through", "/options")).await.ok();
    if options.seen().contains("Seen at once from 5.2 m") {
        options.sees("81.8 cm wide about 23 letters of this size; 28 % of the width of the board; 5 looks");
    }
}

#[tokio::test]
async fn the_looks_stand_in_the_table_from_edge_to_edge() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    let page = team.teacher.opens(&address).await.ok();
    // Five looks 5.795 degrees apart, the first at -16.09 + 4.5 degrees.
    assert_eq!(
        rows(&page),
        [
            ["1", "43.3 cm", "the edge to 85.3 cm", "85.3 cm"],
            ["2", "97.2 cm", "55.5 cm to 1.38 m", "82.7 cm"],
            ["3", "1.5 m", "1.09 m to 1.91 m", "81.8 cm"],
            ["4", "2.03 m", "1.62 m to 2.44 m", "82.7 cm"],
            ["5", "2.57 m", "2.15 m to 3 m", "85.3 cm"],
        ]
    );
    // Two metres to the left of a board of 2.4 m, 4 m away: 27.35 degrees, and
    // the far looks take in more of the board than the near ones.
    let aside = [("distance", "4 m"), ("aside", "2 m"), ("side", "left"), ("board_width", "2.4 m")];
    let address = sits(&team, "Hall", &aside, &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    assert_eq!(
        rows(&page),
        [
            ["1", "33.3 cm", "the edge to 68 cm", "68 cm"],
            ["2", "81 cm", "45.6 cm to 1.19 m", "73.2 cm"],
            ["3", "1.33 m", "94.3 cm to 1.75 m", "81 cm"],
            ["4", "1.91 m", "1.48 m to 2.4 m", "92.2 cm"],
        ]
    );
    page.sees("about 33 % of the width of the board").sees("To the side 2 m, left").sees("78.8 cm of the board");
}

#[tokio::test]
async fn a_family_reads_it_in_plain_words_and_nothing_of_the_pool() {
    let world = World::new().await;
    let (team, _) = lent(&world).await;
    team.stocks_match(&world, &DISTANCE).await;
    let address = through(&team.parent, &team, "Science board").await;
    let page = team.parent.opens(&address).await.ok();
    let page = page
        .sees("From this seat your child would see about 28 % of the width of the board at once.")
        .sees("It has to be made sharp anew for each distance")
        .sees("The glasses stay on with it.")
        .sees("Never look at the sun")
        .sees("Lent monocular handheld telescope");
    assert_eq!(page.choices_of("device"), ["1"], "the loan, and nothing from the pool");
    let drawn: String = {
        let parts = page.source().split("<svg");
        parts.map(|part| part.split_once("</svg>").map_or(part, |(_, after)| after)).collect()
    };
    for clinical in ["logMAR", " D.", " D,", "6\u{d7}", "Keplerian", "true field", "LOAN-", "cylinder", "tan("] {
        assert!(!drawn.contains(clinical), "{clinical} is no word for a family");
    }
}

#[tokio::test]
async fn a_line_takes_as_long_as_the_students_own_times_say() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    spots(&team, "3", "5").await;
    spots(&team, "4", "5").await;
    // What took help is not the student's own pace.
    spots(&team, "20", "3").await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("2 exercises in spotting with this device, without help, have a time, and 3 are needed")
        .lacks("at the student\u{2019}s own pace");
    spots(&team, "8", "5").await;
    // The median of 3, 4 and 8 s, five times; 5 x 3 and 5 x 8.
    let page = team.teacher.opens(&address).await.ok();
    page.sees(
        "One line, at the student\u{2019}s own pace about 20 s 15 s to 40 s by the fastest and the slowest exercise",
    )
    .sees("3 timed exercises in spotting with this device, without help: 4 s each time, the median")
    .sees("That is as if every look were found anew.");
    // A parent reads a session a day later; until then there is no time to tell.
    let page = team.parent.opens(&address).await.ok();
    page.sees("How long a line takes is not said").lacks("own pace");
    world.passes(jiff::SignedDuration::from_hours(25));
    team.parent.signs_in().await;
    team.parent.opens(&address).await.ok().sees("about 20 s");
}

#[tokio::test]
async fn a_device_is_chosen_by_its_place_and_anything_else_comes_back() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    // A second one of the same strength, in the pool, with a wider field.
    let wider = [
        ("kind", "handheld_monocular"),
        ("power", "6"),
        ("objective", "16"),
        ("field", "10"),
        ("near_focus", "1 m"),
        ("glasses", "over"),
        ("eye", "right"),
    ];
    team.stocks(&world, &wider).await;
    let page = team.teacher.opens(&address).await.ok();
    assert_eq!(page.value_of("device").as_deref(), Some("1"));
    assert_eq!(page.choices_of("device"), ["1", "2"]);
    let page = team.teacher.opens(&format!("{address}?device=2")).await.ok();
    assert_eq!(page.value_of("device").as_deref(), Some("2"));
    // (32.18 - 10) / 8 = 2.8; 10 / 32.18 = 31 %.
    page.sees("about 31 % of the width of the board")
        .sees("takes 4 looks")
        .sees("this device is in the pool, and no times with it are recorded");
    for odd in ["0", "3", "-1", "1.5", "two", "99999999999999999999", "%00"] {
        let page = team.teacher.opens(&format!("{address}?device={odd}")).await.refused("device");
        page.sees("Choose one of the devices listed.").lacks("Looks to follow");
    }
    for query in ["", "?", "?device=", "?another=7"] {
        team.teacher.opens(&format!("{address}{query}")).await.ok().sees("takes 5 looks");
    }
}

#[tokio::test]
async fn a_classroom_teacher_and_strangers_find_nothing() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    let page = team.classroom.opens(&team.at("/tasks")).await.ok();
    assert!(page.links().iter().all(|(to, _)| !to.ends_with("/through")));
    let (other, steward) = (world.vision_teacher().await, world.steward().await);
    for person in [&team.classroom, &other, &steward] {
        person.opens(&address).await.hidden();
    }
    // Another student's task is not found under this one.
    let elsewhere = Team::around_a_student(&world).await;
    let record = address.strip_prefix(&team.at("")).expect("an address of the student").to_owned();
    elsewhere.teacher.opens(&elsewhere.at(&record)).await.hidden();
    // A consent that ended hides the classroom from the clinic at once.
    team.clinician.opens(&address).await.ok().sees("takes 5 looks");
    world.withdraws(&team.parent, &team.pupil).await;
    team.clinician.opens(&address).await.hidden();
    team.parent.opens(&address).await.ok();
}

#[tokio::test]
async fn a_magnifier_shows_a_round_part_of_the_page() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Lent).await;
    let address = through(&team.teacher, &team, "Reading book").await;
    let page = team.teacher.opens(&address).await.ok();
    // 50 mm / (16 D x 0.25 m) = 12.5 mm; / 2 mm = 6.25.
    page.sees("Print seen at once 1.2 cm wide about 6 letters of this size; 5 or more are wanted to read a phrase")
        .sees("The lens is taken to be held 25 cm from the eye.")
        .sees("How many looks a line of print takes cannot be said")
        .sees("A magnifier in sunlight can start a fire")
        .lacks("Focusing")
        .lacks("Looks to follow");
}
