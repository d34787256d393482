//! What a task asks of an eye, and whether it can be read, as "What to see"
//! shows it. Sources: `reference/03-demand-and-reserve.json`, and by hand.

use super::{cases, is_shown};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

const FILE: &str = include_str!("../reference/03-demand-and-reserve.json");

/// What stands between two pieces of a page's words.
fn between<'a>(seen: &'a str, after: &str, before: &str) -> &'a str {
    let from = seen.find(after).unwrap_or_else(|| panic!("no \"{after}\" in {seen}")) + after.len();
    let to = seen[from..].find(before).unwrap_or_else(|| panic!("no \"{before}\" after it in {seen}"));
    &seen[from..from + to]
}

#[tokio::test]
async fn a_seat_to_the_side_sees_letters_narrower() {
    for case in cases(FILE, "board_letter_demand") {
        let world = World::new().await;
        let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
        let input = |key: &str| case["inputs"][key].as_f64().expect("a number");
        let (far, aside) = (format!("{} m", input("perpendicular_distance_m")), input("lateral_offset_m"));
        let aside_typed = format!("{aside} m");
        let mut seat = vec![("room", "Hall"), ("distance", far.as_str())];
        if aside > 0.0 {
            seat.extend([("aside", aside_typed.as_str()), ("side", "left")]);
        }
        team.teacher.presses(&team.at("/seats/new"), "Add", &seat).await.redirected_to();
        let page = team.teacher.opens(&team.at("/tasks/new")).await.ok();
        let seat = page.choices_of("seat").into_iter().find(|seat| !seat.is_empty()).expect("the hall");
        let height = format!("{} mm", input("letter_height_m") * 1_000.0);
        let task = [
            ("code", "board_words"),
            ("name", "Words"),
            ("track", "distance"),
            ("goal", "copy"),
            ("seat", seat.as_str()),
            ("x_height", height.as_str()),
            ("display", "whiteboard"),
            ("target", "words"),
        ];
        team.teacher.presses_on(&page, "Add", &task).await.redirected_to();
        let seen = team.teacher.opens(&team.at("/tasks")).await.ok().seen();
        let expected = |key: &str| case["expected"][key].as_f64().expect("a number");
        let (tall, wide) = (expected("vertical_arcmin"), expected("horizontal_arcmin"));
        let name = case["id"].as_str().unwrap_or_default();
        let told = between(&seen, "Asks for : ", "How this was computed");
        is_shown(told, (tall.min(wide) / 5.0).log10(), name);
        is_shown(between(told, "are seen ", " minutes"), tall, name);
        if aside > 0.0 {
            is_shown(between(told, "tall and ", " wide"), wide, name);
            is_shown(between(told, "wide, ", "°"), expected("obliquity_deg"), name);
        }
    }
}

#[tokio::test]
async fn a_task_is_read_or_not_with_and_without_the_telescope() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    // 35 mm from 5.2 m, seen at the far edge of a board of 3 m: 1.5 m aside, 5.412 m
    // away, 22.2' tall and 22.2' x cos 16.1° = 21.4' wide; log10(21.4 / 5) = 0.63.
    // 10/120 is 1.079, so 10^(0.631 - 1.079) = 0.36 of the threshold size.
    let page = page
        .sees("0.63 logMAR")
        .sees("22.2 minutes of arc tall and 21.4 wide")
        .sees("0.4 times the threshold size, 2.5 needed");
    // Contrast 0.90 over 6 %: 15 times.
    page.sees("contrast 15.0 times the threshold, 10 needed").sees("Too small");
    team.stocks_match(&world, &DISTANCE).await;
    team.lends(&DISTANCE).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    // 2 x 5.2 x tan 4.5° = 0.8185 m; 16 / 6 = 2.67 mm.
    page.sees("it shows 81.8 cm at once there").sees("exit pupil 2.7 mm");
    // In plain words, without a figure of the eye, to the family.
    let page = team.parent.opens(&team.at("/tasks")).await.ok();
    page.sees("too small from there to read on and copy")
        .sees("it shows 81.8 cm at once there")
        .lacks("exit pupil")
        .lacks("logMAR");
}

#[tokio::test]
async fn what_an_observation_means_is_said_in_the_readers_own_words() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let seen = team.is_seen_in_class().await;
    let page = team.classroom.opens(&seen).await.ok();
    page.sees("3 of 8 right at 3.5 cm from 5.2 m with the device.").lacks("logMAR").lacks("reserve").lacks("10/120");
    // 35 mm straight on from 5.2 m: 23.14', log10(23.14 / 5) = 0.665.
    let page = team.teacher.opens(&seen).await.ok();
    page.sees("3 of 8 right at 3.5 cm from 5.2 m with the device, a demand of 0.67 logMAR.");
    let home = team.is_seen_at_home(&DISTANCE).await;
    let page = team.parent.opens(&home).await.ok();
    page.sees("You saw most of it read right at home, from across the room, with the device.").lacks("logMAR");
}

#[tokio::test]
async fn a_near_task_uses_near_rows() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Evaluated).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    // 2 mm from 25 cm: 27.5', log10(27.5 / 5) = 0.74. 4M at 40 cm is 1.00, so
    // 10^(0.740 - 1.000) = 0.55 of the threshold size; a phrase needs 2.
    page.sees("0.74 logMAR").sees("0.6 times the threshold size, 2.0 needed").sees("4M @ 40 cm");
}
