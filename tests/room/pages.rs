//! The page of the plan, as each reader gets it, with every figure by hand.
//!
//! The room is that of `judged.rs`: five rows of three, 1.2 m from a board 1 m
//! wide, 2 m behind each other and 1 m apart. 10/120 is a letter of 60 minutes
//! of arc; a phrase of small letters of 5 cm needs 120, and 20 with six times.

use crate::lap::{DISTANCE, Step, Team};
use crate::page::{Page, css};
use crate::people::{PASSWORD, Person};
use crate::world::World;

type Fields<'a> = Vec<(&'a str, &'a str)>;

const ROOM: [(&str, &str); 13] = [
    ("room", "Studio"),
    ("distance", "3.2 m"),
    ("aside", "1 m"),
    ("side", "right"),
    ("board_width", "1 m"),
    ("rows", "5"),
    ("row_seats", "3"),
    ("first_row", "1.2 m"),
    ("row_gap", "2 m"),
    ("seat_gap", "1 m"),
    ("usual_row", "2"),
    ("usual_seat", "3"),
    ("window_side", "left"),
];

const TASK: [(&str, &str); 9] = [
    ("code", "board_words"),
    ("name", "Verse of the week"),
    ("track", "distance"),
    ("goal", "phrase"),
    ("x_height", "5 cm"),
    ("measured", "yes"),
    ("display", "whiteboard"),
    ("marker", "black_on_white"),
    ("target", "words"),
];

fn with<'a>(fields: &[(&'a str, &'a str)], changes: &[(&'a str, &'a str)]) -> Fields<'a> {
    let mut fields = fields.to_vec();
    for (name, value) in changes {
        fields.retain(|(field, _)| field != name);
        if !value.is_empty() {
            fields.push((name, value));
        }
    }
    fields
}

/// Adds the room and something to read in it; gives the address of the plan.
async fn seated(team: &Team, room: &[(&str, &str)], task: &[(&str, &str)]) -> String {
    team.teacher.presses(&team.at("/seats/new"), "Add", room).await.redirected_to();
    let form = team.teacher.opens(&team.at("/tasks/new")).await.ok();
    let seat = form.choices_named("seat").into_iter().find(|(_, words)| words.contains("Studio")).expect("the room").0;
    let task = with(task, &[("seat", seat.as_str())]);
    team.teacher.presses_on(&form, "Add", &task).await.redirected_to();
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    page.link("Room plan for Verse of the week")
}

/// A student examined with the glasses worn in class, and a telescope on loan.
async fn examined(world: &World) -> Team {
    let team = Team::up_to(world, &DISTANCE, Step::Asked).await;
    let draft = team.begins_an_evaluation().await;
    let save = async |section: &str, fields: &[(&str, &str)]| {
        team.clinician.presses(&format!("{draft}/edit/{section}"), "Save and go on", fields).await.redirected_to();
    };
    for eye in ["both", "right"] {
        let row = [("eye", eye), ("correction", "habitual_glasses"), ("distance", "10 ft"), ("value", "10/120")];
        team.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", &row).await.redirected_to();
    }
    save("sight", &[("contrast", "6 %"), ("contrast_eye", "both"), ("contrast_method", "letters")]).await;
    let device: Vec<(String, &str)> =
        DISTANCE.device.iter().map(|(part, value)| (format!("device_1_{part}"), *value)).collect();
    let mut answer = vec![("answer", "devices"), ("safe", "yes")];
    answer.extend(device.iter().map(|(field, value)| (field.as_str(), *value)));
    save("distance", &answer).await;
    save("near", &[("answer", "not_looked_at")]).await;
    let sign = [("password", PASSWORD)];
    team.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &sign).await.redirected_to();
    team.stocks_match(world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    team
}

async fn lent(world: &World) -> (Team, String) {
    let team = examined(world).await;
    let plan = seated(&team, &ROOM, &TASK).await;
    (team, plan)
}

fn count(page: &Page, selector: &str) -> usize {
    page.html().select(&css(&format!("figure.picture svg {selector}"))).count()
}

/// Every value of an attribute in the drawing.
fn numbers(page: &Page, selector: &str, attribute: &str) -> Vec<f64> {
    let html = page.html();
    let wanted = css(&format!("figure.picture svg {selector}"));
    html.select(&wanted).filter_map(|element| element.attr(attribute)?.parse().ok()).collect()
}

#[tokio::test]
async fn a_vision_teacher_sees_each_seat_in_words_as_a_shape_and_in_the_table() {
    let world = World::new().await;
    let (team, plan) = lent(&world).await;
    let page = team.teacher.opens(&plan).await.ok();
    let page = page
        .sees("Readable from the usual seat with the device")
        .sees("To read a phrase, of 15 seats: 1 without a device, 9 more with the lent 6× monocular handheld telescope, 5 not.")
        // √(3.2² + 1²) m; 44.0 minutes of arc over 10.
        .sees("The usual seat, row 2, seat 3: 3.35 m, 17° from the side. Readable with the device: 4.4 times the threshold size, 2.0 needed.")
        .sees("3 seats are nearer than 2 m, where a telescope no longer works at the power on its label")
        .sees("at best: nobody has measured what is seen through it")
        .sees("Quiet side: right of the middle, facing the board. Why: the side away from the windows.")
        .sees("Row 1, seat 2: 1.2 m, straight on. Readable without a device: 2.0 times the threshold size, 2.0 needed.")
        .sees("Row 2, seat 2: 3.2 m, straight on. Readable with the device")
        // One metre aside from 7.2 m is 8°: the right one before the left one.
        .sees("Row 4, seat 3: 7.27 m, 8° from the side, near the middle.")
        .sees("How this plan was computed")
        .sees("From seat to seat 1 m")
        .sees("Never look at the sun")
        .sees("Arithmetic from the numbers shown. Real use differs. The clinician decides.");
    let table = page.table("Every seat");
    assert_eq!(table.heads[2..4], ["From the side (°)", "Far edge from the side (°)"]);
    assert_eq!(table.rows.len(), 15);
    let row = |name: &str| table.rows.iter().find(|row| row[0].starts_with(name)).expect("the seat").clone();
    assert_eq!(row("Row 1, seat 1")[1..], ["1.56 m", "40", "51", "Too small, 0.9 times", "Not computed so near"]);
    assert_eq!(row("Row 1, seat 2")[1..], ["1.2 m", "0", "23", "Readable, 2.0 times", "Not computed so near"]);
    let usual = row("Row 2, seat 3");
    assert_eq!(usual[0], "Row 2, seat 3, the usual seat");
    assert_eq!(usual[1..], ["3.35 m", "17", "25", "Too small, 0.7 times", "Readable, 4.4 times"]);
    assert_eq!(row("Row 5, seat 2")[1..], ["9.2 m", "0", "3", "Too small, 0.3 times", "Too small, 1.9 times"]);
    // One full disc; fourteen open ones, nine of them half full; one second outline.
    let counted = ["circle.full", "circle.open", "path.full", "circle.ink"].map(|shape| count(&page, shape));
    assert_eq!(counted, [1, 14, 9, 1]);
    // 84 units a metre: the usual seat is 1 m right of the middle at 194, 3.2 m below the board at 40.
    assert_eq!((numbers(&page, "circle.ink", "cx"), numbers(&page, "circle.ink", "cy")), (vec![278.0], vec![308.8]));
    assert!(page.source().contains("M152 40H236"), "a board of 1 m is 84 units wide");
    assert_eq!(count(&page, "path.accent"), 1, "the arrow to the quiet side");
}

#[tokio::test]
async fn a_family_reads_plain_words_and_a_clinician_the_figures() {
    let world = World::new().await;
    let (team, plan) = lent(&world).await;
    let page = team.parent.opens(&plan).await.ok();
    let page = page
        .sees("Readable from the usual seat with the device")
        .sees("9 more with the lent monocular handheld telescope")
        .sees("The usual seat, row 2, seat 3: 3.35 m, a little from the side. Readable with the device.")
        .sees("this is the best that can be hoped for; trying it tells")
        .sees("Row 1, seat 2: 1.2 m, straight on. Readable without a device.");
    assert_eq!(page.table("Every seat").heads[2], "Seen");
    let source = page.source();
    let words: String =
        source.split("<svg").map(|part| part.split_once("</svg>").map_or(part, |(_, after)| after)).collect();
    for clinical in ["logMAR", "reserve", "threshold", "10/120", "6×", "6 ×", "minutes of arc", "Weber", "LOAN-"] {
        assert!(!words.contains(clinical), "{clinical} is no word for a family");
    }
    let page = team.clinician.opens(&plan).await.ok();
    page.sees("4.4 times the threshold size, 2.0 needed").sees("10/120");
}

#[tokio::test]
async fn a_classroom_teacher_and_strangers_find_nothing() {
    let world = World::new().await;
    let (team, plan) = lent(&world).await;
    let page = team.classroom.opens(&team.at("/tasks")).await.ok();
    assert!(page.links().iter().all(|(to, _)| !to.ends_with("/room")));
    let other = world.vision_teacher().await;
    let steward = world.steward().await;
    for person in [&team.classroom, &other, &steward] as [&Person; 3] {
        person.opens(&plan).await.hidden();
    }
    let elsewhere = Team::around_a_student(&world).await;
    let record = plan.strip_prefix(&team.at("")).expect("an address of the student").to_owned();
    elsewhere.teacher.opens(&elsewhere.at(&record)).await.hidden();
    world.withdraws(&team.parent, &team.pupil).await;
    team.clinician.opens(&plan).await.hidden();
    team.parent.opens(&plan).await.ok();
}

#[tokio::test]
async fn another_device_or_task_is_chosen_by_a_form_that_only_asks() {
    let world = World::new().await;
    let (team, plan) = lent(&world).await;
    let page = team.teacher.opens(&format!("{plan}?device=none")).await.ok();
    let page = page
        .sees("To read a phrase, of 15 seats: 1 without a device, 14 not.")
        .sees("Not readable from the usual seat")
        .lacks("With the lent");
    assert_eq!(count(&page, "path.full"), 0, "no half disc without a device");
    assert_eq!(page.value_of("device").as_deref(), Some("none"));
    // The board of the lap is another task, of a room whose rows nobody entered.
    let (other, _) =
        page.choices_named("task").into_iter().find(|(_, words)| words.contains("Science board")).expect("a task");
    let to = team.teacher.opens(&format!("{plan}?task={other}&device=1")).await.redirected_to();
    assert!(to.ends_with(&format!("/tasks/{other}/room?device=1")), "{to}");
    let page = team.teacher.opens(&to).await.ok();
    page.sees("Where the seats of Room 12, science stand is not known yet, and nothing is drawn from guesses.");
    let page = team.teacher.opens(&format!("{plan}?device=7")).await.refused("device");
    assert_eq!(page.error_for("device").as_deref(), Some("Choose one of the devices listed."));
    team.teacher.opens(&format!("{plan}?task={}", uuid::Uuid::nil())).await.refused("task");
}

#[tokio::test]
async fn what_is_missing_is_said_with_who_can_add_it_and_nothing_is_drawn() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let room =
        with(&ROOM, &[("first_row", ""), ("row_gap", ""), ("board_width", ""), ("usual_row", ""), ("usual_seat", "")]);
    let plan = seated(&team, &room, &with(&TASK, &[("measured", "")])).await;
    let page = team.teacher.opens(&plan).await.ok();
    let page = page.sees(
        "Enter the distance of the first row to the board, the distance from row to row and the width of the board.",
    );
    assert_eq!(count(&page, "circle"), 0);
    let form = page.link("Enter the rows of seats");
    team.parent.opens(&plan).await.ok().sees("The vision teacher can enter").lacks("Enter the rows of seats");
    let rows = [("first_row", "1.2 m"), ("row_gap", "2 m"), ("board_width", "1 m")];
    team.teacher.presses(&form, "Save", &rows).await.redirected_to();
    let page = team.teacher.opens(&plan).await.ok();
    page.sees("No signed evaluation is on file").sees("Ask for an evaluation").lacks("Best seats");
    let task = plan.strip_suffix("/room").expect("the task").to_owned();
    team.teacher.presses(&task, "Save", &[("x_height", "")]).await.redirected_to();
    team.teacher.opens(&plan).await.ok().sees("The height of the small letters is not known").sees("Add the height");
    team.teacher.presses(&task, "Save", &[("distance", "20 m")]).await.redirected_to();
    let page = team.teacher.opens(&plan).await.ok();
    page.sees("looked at from a distance of its own").sees("Choose a seat for it");
    team.teacher.presses(&task, "Save", &[("track", "near"), ("distance", "")]).await.redirected_to();
    team.teacher.opens(&plan).await.ok().sees("wherever the seat is");
    team.teacher.presses(&task, "Take it out of the list", &[]).await.redirected_to();
    team.teacher.opens(&plan).await.hidden();
}

#[tokio::test]
async fn a_seat_far_aside_is_moved_and_feet_are_told_in_feet() {
    let world = World::new().await;
    let team = examined(&world).await;
    // The side seats are 2.2 m beside the middle, 61° from 1.2 m.
    let room = with(&ROOM, &[("seat_gap", "2.2 m"), ("usual_row", "1"), ("distance", "4 ft"), ("aside", "7 ft 3 in")]);
    let plan = seated(&team, &room, &TASK).await;
    let page = team.teacher.opens(&plan).await.ok();
    page.sees("Not readable from the usual seat")
        .sees("Beyond 60° from the side the writing cannot be judged: move the seat toward the middle.");
    team.teacher.presses("/account", "Save", &[("units", "imperial")]).await.redirected_to();
    let page = team.teacher.opens(&plan).await.ok().sees("nearer than 6 ft 7 in");
    let table = page.table("Every seat");
    // √(1.2192² + 2.2098²) = 2.5239 m = 99.4 in.
    assert_eq!(table.rows[2][1], "8 ft 3 in");
    assert_eq!(table.rows[2][4], "Move the seat");
    let html = page.html();
    let marks: Vec<String> = html.select(&css("figure.picture svg text")).map(crate::page::words).collect();
    assert!(marks.contains(&"5 ft".to_owned()) && marks.contains(&"board, 3 ft 3 in wide".to_owned()), "{marks:?}");
}

#[tokio::test]
async fn the_widest_room_fits_a_narrow_page_and_no_seat_touches_another() {
    let world = World::new().await;
    let team = examined(&world).await;
    let room = with(
        &ROOM,
        &[
            ("rows", "15"),
            ("row_seats", "12"),
            ("row_gap", "1.1 m"),
            ("seat_gap", "1.1 m"),
            ("usual_row", ""),
            ("usual_seat", ""),
        ],
    );
    let page = team.teacher.opens(&seated(&team, &room, &TASK).await).await.ok();
    page.table("Every seat");
    let (x, y) = (numbers(&page, "circle", "cx"), numbers(&page, "circle", "cy"));
    let r = numbers(&page, "circle", "r");
    assert_eq!((x.len(), y.len(), r.len()), (180, 180, 180));
    for one in 0..180 {
        assert!(x[one] - r[one] > 0.0 && x[one] + r[one] < 360.0, "{} is outside", x[one]);
        for other in one + 1..180 {
            let apart = (x[one] - x[other]).hypot(y[one] - y[other]);
            assert!(apart > r[one] + r[other], "two seats touch");
        }
    }
    let words = numbers(&page, "text", "x");
    assert!(words.iter().all(|x| (20.0..=360.0).contains(x)), "{words:?}");
}
