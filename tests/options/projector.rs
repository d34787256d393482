//! A projected picture whose screen a meter read: how dark the room has to be, by
//! trying every lux; and what is said where darkness is not what is missing.

use farpoint::care::options::{Change, Now, What, WhyNot};
use farpoint::care::task::{Display, Marker, ScreenLight, TaskCode};
use farpoint::care::typed::Typed;
use farpoint::vision::contrast::LogContrastSensitivity;
use farpoint::vision::units::Lux;
use serde_json::Value;

use super::pages::{ROWS, examined, wants, ways};
use super::search::{after, done, lights_the_screen};
use super::{Room, telescope};
use crate::compute::answers;
use crate::page::{Page, css};
use crate::world::World;

fn lux(value: f64) -> Typed<Lux> {
    Typed::new(format!("{value} lux"), Lux::new(value).expect("a reading"))
}

/// A projector of 400 lux white and 1 lux black in a room that throws so much light
/// on the screen, before a student with this contrast sensitivity.
fn projected(room_light: f64, log_cs: f64, tall_cm: f64) -> Room {
    let mut room = Room::of_the_reference();
    room.task.what.code = TaskCode::Projector;
    room.task.what.display = Some(Display::Projector);
    room.task.what.x_height = Some(super::centimetres(tall_cm));
    room.task.what.screen =
        Some(ScreenLight { white: lux(400.0 + room_light), black: lux(1.0 + room_light), off: lux(room_light) });
    room.sight.evaluations[0].contrast = Some(LogContrastSensitivity::new(log_cs).expect("on a chart"));
    room
}

fn why(room: &Room) -> Option<WhyNot> {
    room.options().left_out.iter().find(|left| left.what == What::Light).map(|left| left.why)
}

#[test]
fn the_contrast_of_a_projected_task_is_what_the_readings_leave() {
    let room = projected(150.0, 1.35, 2.5);
    let contrast = |room: &Room| room.sight.contrast_of(&room.task.what, &room.table).expect("a contrast").get();
    // 399 / 550, published as 0.7255 for this projector with the lights on (T07-projector-lights-on).
    assert!((contrast(&room) - 0.72545455).abs() < 1e-8);
    let mut coloured = room.clone();
    coloured.task.what.marker = Some(Marker::Faint);
    let on_the_slide = coloured.table.contrast(Marker::Faint.into()).get();
    assert!((contrast(&coloured) - on_the_slide * 0.72545455).abs() < 1e-8);
    // Black and white look so to every eye; a colour is asked about.
    coloured.sight.evaluations[0].colour_loss = true;
    assert!(coloured.sight.contrast_of(&coloured.task.what, &coloured.table).is_none());
    let mut unsaid = room.clone();
    unsaid.task.what.marker = None;
    unsaid.sight.evaluations[0].colour_loss = true;
    assert!((contrast(&unsaid) - contrast(&room)).abs() < 1e-12);
}

#[test]
fn a_room_is_made_as_dark_as_needed_and_no_darker() {
    // Copying needs ten times a threshold of ten to the -1.1, 0.794; then 399 / 0.794 - 400 = 102.3 lux.
    let room = projected(150.0, 1.1, 15.0);
    let found = room.options();
    assert!(matches!(found.now, Now::Short(_)));
    let way = found.singles.iter().find(|way| matches!(way.changes[0], Change::Screen(_))).expect("a darker room");
    let Change::Screen(to) = way.changes[0] else { panic!("a darker room") };
    assert_eq!((to.now.get(), to.at_most.get(), way.rank.of_the_student), (150.0, 102.0, 0));
    // By trying every whole lux from the present light down.
    let by_trying = (1..150).rev().find(|light| {
        let mut tried = room.clone();
        lights_the_screen(&mut tried, f64::from(*light));
        done(&tried, None)
    });
    assert_eq!(by_trying, Some(102));
    assert_eq!(why(&room), None);
}

#[test]
fn writing_too_small_and_too_pale_takes_a_darker_room_and_one_change_more() {
    let room = projected(150.0, 1.1, 2.5).having([telescope(6.0)]);
    let found = room.options();
    assert!(found.singles.is_empty(), "neither alone");
    let pairs: Vec<_> = found.pairs.iter().filter(|way| matches!(way.changes[0], Change::Screen(_))).collect();
    assert!(pairs.iter().any(|way| way.changes[1] == Change::Device(0)), "the room and the telescope");
    for way in &pairs {
        let (then, with) = after(&room, &way.changes);
        assert!(done(&then, with));
        for change in &way.changes {
            let (alone, with) = after(&room, std::slice::from_ref(change));
            assert!(!done(&alone, with), "one part does it alone");
        }
    }
}

#[test]
fn where_darkness_is_not_what_is_missing_it_is_said_why() {
    // Contrast is there: 0.7255 over ten to the -1.6 is 28.9 times.
    assert_eq!(why(&projected(150.0, 1.6, 2.5)), Some(WhyNot::ScreenDarkEnough));
    // Ten times ten to the -0.9 is 1.26: more than black on white has in the dark.
    assert_eq!(why(&projected(150.0, 0.9, 2.5)), Some(WhyNot::ProjectorTooPale));
    let mut unknown = projected(150.0, 1.1, 2.5);
    unknown.sight.evaluations[0].contrast = None;
    assert_eq!(why(&unknown), Some(WhyNot::NoSensitivity));
    let mut unread = projected(150.0, 1.1, 2.5);
    unread.task.what.screen = None;
    assert_eq!(why(&unread), Some(WhyNot::MeasureTheScreen));
}

/// What the program answers to the line of a page that asks this operation.
fn answer(page: &Page, op: &str) -> Value {
    let html = page.html();
    let asks = css("code.ask");
    let mut lines = html.select(&asks).map(|line| line.text().collect::<String>());
    let line = lines.find(|line| line.contains(&format!("\"op\":\"{op}\""))).unwrap_or_else(|| panic!("no {op}"));
    answers(&line)[0]["result"].clone()
}

#[tokio::test]
async fn the_readings_stand_as_typed_and_the_page_says_how_dark() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    // 409 / 810 is 0.505, 8.4 times the 6 % that are just seen; ten times is 0.6, and
    // 409 / 0.6 - 410 is 271.7 lux.
    let readings = [
        ("code", "projector"),
        ("display", "projector"),
        ("x_height", "15 cm"),
        ("screen_white", "810 lux"),
        ("screen_black", "401"),
        ("screen_off", "400 lx"),
    ];
    let address = wants(&team, &readings).await;
    let page = team.teacher.opens(&address).await.ok();
    let darker = "A darker room: at most 271 lux of its light on the screen";
    assert!(ways(&page).iter().any(|way| way == darker), "{:?}", ways(&page));
    let page = page
        .sees("now 400 lux, as read with the projector off; the writing then has a contrast of 0.60 Weber")
        .sees("0.50 Weber by the readings on the screen: 810 lux with a white slide")
        .lacks("until the light on the screen is measured");
    // 271.67, which the page rounds down, and what the readings leave of the slide.
    let asked = ["max_ambient_for_contrast", "screen_readings"].map(|op| answer(&page, op));
    assert!((asked[0]["max_ambient_lux"].as_f64().expect("a light") - 271.666_667).abs() < 0.001, "{asked:?}");
    assert!((asked[1]["weber_writing"].as_f64().expect("a contrast") - 409.0 / 810.0).abs() < 1e-9, "{asked:?}");
    let page = team.parent.opens(&address).await.ok();
    assert!(ways(&page).iter().any(|way| way == darker), "{:?}", ways(&page));
    page.sees("now 400 lux, as read with the projector off").lacks("Weber");
    let edit = address.trim_end_matches("/options").to_owned();
    let form = team.teacher.opens(&edit).await.ok();
    let typed = ["screen_white", "screen_black", "screen_off"].map(|field| form.value_of(field).unwrap_or_default());
    assert_eq!(typed, ["810 lux", "401", "400 lx"]);
    // Changed, both texts stay.
    team.teacher
        .presses_on(&form, "Save", &[("screen_off", "120 lux"), ("screen_black", "121"), ("screen_white", "530")])
        .await
        .redirected_to();
    team.teacher.opens(&edit).await.ok().sees("400 lx").sees("120 lux");
    let page = team.teacher.opens(&address).await.ok();
    assert!(!ways(&page).iter().any(|way| way.starts_with("A darker room")), "{:?}", ways(&page));
}
