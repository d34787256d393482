//! The page of options, as each reader gets it. Figures by hand in `worked.rs`.

use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::World;

/// Acuity rows: eye, correction, test distance, value.
pub(super) type Row = (&'static str, &'static str, &'static str, &'static str);

/// 10/100 is 1.0 logMAR, 4M at 40 cm is 1.0 near.
pub(super) const ROWS: [Row; 3] = [
    ("both", "habitual_glasses", "10 ft", "10/100"),
    ("right", "habitual_glasses", "10 ft", "10/100"),
    ("both", "habitual_glasses", "40 cm", "4M @ 40 cm"),
];

/// A team whose student was examined with these rows, a 6x telescope recommended.
pub(super) async fn examined(world: &World, rows: &[Row]) -> Team {
    let team = Team::up_to(world, &DISTANCE, Step::Asked).await;
    let draft = team.begins_an_evaluation().await;
    let save = async |section: &str, fields: &[(&str, &str)]| {
        team.clinician.presses(&format!("{draft}/edit/{section}"), "Save and go on", fields).await.redirected_to();
    };
    for (eye, correction, distance, value) in rows {
        let row = [("eye", *eye), ("correction", *correction), ("distance", *distance), ("value", *value)];
        team.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", &row).await.redirected_to();
    }
    save("sight", &[("contrast", "6 %"), ("contrast_eye", "both"), ("contrast_method", "letters")]).await;
    let answer = [
        ("answer", "devices"),
        ("safe", "yes"),
        ("device_1_kind", "handheld_monocular"),
        ("device_1_power", "6"),
        ("device_1_objective", "16"),
        ("device_1_field", "9"),
        ("device_1_near_focus", "25 cm"),
        ("device_1_glasses", "over"),
        ("device_1_eye", "right"),
    ];
    save("distance", &answer).await;
    save("near", &[("answer", "not_looked_at")]).await;
    let sign = [("password", PASSWORD)];
    team.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &sign).await.redirected_to();
    team
}

/// A task from 4 m with letters of 2.5 cm; gives the address of its options.
pub(super) async fn wants(team: &Team, changes: &[(&str, &str)]) -> String {
    let mut fields = vec![
        ("code", "board_words"),
        ("name", "Long division"),
        ("track", "distance"),
        ("goal", "copy"),
        ("distance", "4 m"),
        ("x_height", "2.5 cm"),
        ("measured", "yes"),
        ("display", "whiteboard"),
        ("marker", "black_on_white"),
        ("target", "words"),
    ];
    for (name, value) in changes {
        fields.retain(|(of, _)| of != name);
        if !value.is_empty() {
            fields.push((name, value));
        }
    }
    team.teacher.presses(&team.at("/tasks/new"), "Add", &fields).await.redirected_to();
    team.teacher.opens(&team.at("/tasks")).await.ok().link("What would help with Long division")
}

pub(super) async fn stocks(world: &World, team: &Team, power: &str) -> String {
    // What a label says goes together: a stronger one shows less.
    let field = if power == "10" { "5" } else { "9" };
    let device = [
        ("kind", "handheld_monocular"),
        ("power", power),
        ("objective", "16"),
        ("field", field),
        ("near_focus", "25 cm"),
        ("eye", "right"),
    ];
    team.stocks(world, &device).await
}

/// The page's source without its drawings, whose coordinates are no figures.
fn without_drawings(page: &Page) -> String {
    let parts = page.source().split("<svg");
    parts.map(|part| part.split_once("</svg>").map_or(part, |(_, after)| after)).collect()
}

/// The headings of the ways, in their order.
pub(super) fn ways(page: &Page) -> Vec<String> {
    let html = page.html();
    html.select(&crate::page::css("article h3")).map(crate::page::words).collect()
}

#[tokio::test]
async fn a_vision_teacher_sees_every_way_with_what_it_costs_and_no_power_to_buy() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    for power in ["5", "6", "10"] {
        stocks(&world, &team, power).await;
    }
    let page = team.teacher.opens(&wants(&team, &[]).await).await.ok();
    let told = ways(&page);
    assert_eq!(told[0], "Bring it near, on a screen or a copy at the desk");
    assert!(told[1].starts_with("Use the pool 6× monocular handheld telescope (LOAN-"), "{told:?}");
    assert_eq!(told[2], "Small letters 15 cm tall");
    let page = page
        .sees("Small letters on a copy 40 cm away 1.5 cm")
        .sees("Small letters on a copy 25 cm away 1 cm")
        .sees("Seen at once from 4 m 63 cm wide about 25 letters of this size")
        .sees("Exit pupil 2.7 mm the eye's pupil was not measured")
        .sees("It asks for elbows on the desk.")
        // 2.578, and less by 10^0.2 and 10^0.1.
        .sees("Reserve reached 2.6 times the threshold size 1.6 to 2.0 if 0.1 to 0.2 logMAR are lost")
        .sees("Small letters at least 15 cm 6.0 times as tall as now")
        .sees("Stands behind the others because letters more than three times as tall")
        .sees("A nearer seat No seat that was looked at is near enough.")
        .sees("5× monocular handheld telescope")
        .sees("Not enough alone: 2.1 times the threshold size, 2.5 needed.")
        .sees("No place nearer than 1 m is offered. Nobody entered where the first row is, so this is assumed.")
        .sees("Another power is a question for the clinician.")
        .sees("Never look at the sun")
        .sees("Arithmetic from the numbers shown. Real use differs. The clinician decides.");
    // Ten times does not match what is recommended.
    let source = without_drawings(&page.lacks("Power needed"));
    let figures: Vec<&str> = source.split(|c: char| !(c.is_ascii_digit() || ".×".contains(c))).collect();
    assert!(figures.contains(&"2.5") && figures.contains(&"5×"), "{figures:?}");
    for figure in ["10×", "5.8", "5.8×", "5.9", "5.9×", "7.4", "7.4×", "9.3", "9.3×"] {
        assert!(!figures.contains(&figure), "{figure} is for a clinician");
    }
}

#[tokio::test]
async fn a_clinician_sees_the_whole_pool_and_the_power_that_would_be_needed() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    for power in ["4", "6", "10"] {
        stocks(&world, &team, power).await;
    }
    let page = team.clinician.opens(&wants(&team, &[]).await).await.ok();
    page.sees("Power needed from this seat 5.9×")
        .sees("7.4× to 9.3× if 0.1 to 0.2 logMAR are lost")
        .sees("10× monocular handheld telescope")
        .sees("4× monocular handheld telescope")
        .sees("Every device of the pool that can stand on this track is looked at")
        .lacks("question for the clinician");
}

#[tokio::test]
async fn a_family_reads_plain_words_and_nothing_of_the_pool() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    stocks(&world, &team, "6").await;
    team.lends(&DISTANCE).await;
    stocks(&world, &team, "5").await;
    let page = team.parent.opens(&wants(&team, &[]).await).await.ok();
    let page = page
        .sees("Use the lent monocular handheld telescope")
        .sees("One thing changes for your child.")
        .sees("Seen at once from 4 m 63 cm wide")
        .sees("This is the best that can be hoped for; trying it tells.")
        .sees("A stronger or weaker device is a question for the clinician.");
    for clinical in
        ["logMAR", "reserve", "Reserve", "Exit pupil", "10/100", "6×", "6 ×", "LOAN-", "5×", "equivalent", " D."]
    {
        assert!(!without_drawings(&page).contains(clinical), "{clinical} is no word for a family");
    }
}

#[tokio::test]
async fn nobody_but_a_clinician_is_given_a_power() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    let address = wants(&team, &[]).await;
    // No device is known to either, so no figure of power may stand anywhere.
    for reader in [&team.teacher, &team.parent] {
        let page = reader.opens(&address).await.ok();
        let source = without_drawings(&page);
        // "2 × distance" is part of a formula; "6×" is a power.
        let power = source.match_indices('×').any(|(at, _)| source[..at].ends_with(|c: char| c.is_ascii_digit()));
        assert!(!power, "a power: {source}");
        for needed in ["5.8", "5.9", "7.3", "7.4", "9.2", "9.3"] {
            assert!(!source.contains(needed), "{needed} is the power needed");
        }
    }
}

#[tokio::test]
async fn a_classroom_teacher_and_strangers_find_nothing() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    let address = wants(&team, &[]).await;
    let page = team.classroom.opens(&team.at("/tasks")).await.ok();
    assert!(page.links().iter().all(|(to, _)| !to.ends_with("/options")));
    let other = world.vision_teacher().await;
    let steward = world.steward().await;
    for person in [&team.classroom, &other, &steward] as [&Person; 3] {
        person.opens(&address).await.hidden();
    }
    // Another student's task is not found under this one.
    let elsewhere = Team::around_a_student(&world).await;
    let record = address.strip_prefix(&team.at("")).expect("an address of the student").to_owned();
    elsewhere.teacher.opens(&elsewhere.at(&record)).await.hidden();
    // A consent that ended hides the classroom from the clinic at once.
    team.clinician.opens(&address).await.ok();
    world.withdraws(&team.parent, &team.pupil).await;
    team.clinician.opens(&address).await.hidden();
    team.parent.opens(&address).await.ok();
}

#[tokio::test]
async fn what_is_missing_is_said_with_who_can_add_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let address = wants(&team, &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("No signed evaluation is on file").sees("Ask for an evaluation").lacks("One change");
    let page = team.parent.opens(&address).await.ok();
    assert!(page.seen().contains("the vision teacher asks for one") && !page.seen().contains("Ask for an evaluation"));
    // No height and no distance: the teacher is led to the form, the parent told.
    let address = wants(&team, &[("name", "Long division"), ("x_height", ""), ("measured", "")]).await;
    let newest = team.teacher.opens(&team.at("/tasks")).await.ok();
    let all: Vec<String> =
        newest.links().into_iter().filter(|(to, _)| to.ends_with("/options")).map(|(to, _)| to).collect();
    assert!(all.contains(&address) && all.len() == 3, "{all:?}");
    let mut sizes = 0;
    for address in all {
        let page = team.teacher.opens(&address).await.ok();
        sizes += usize::from(page.seen().contains("The height of the small letters is not known"));
    }
    assert_eq!(sizes, 1);
}

#[tokio::test]
async fn a_category_gives_no_option_and_no_figure() {
    let world = World::new().await;
    let team = examined(&world, &[("both", "habitual_glasses", "10 ft", "HM")]).await;
    let address = wants(&team, &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("No figure follows from it, so no option is computed.").lacks("One change").lacks("times the threshold");
    let page = team.parent.opens(&address).await.ok();
    page.sees("The vision teacher can say more.").lacks("counting fingers");
}

#[tokio::test]
async fn a_task_that_can_be_read_says_so_and_one_taken_out_is_gone() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    let address = wants(&team, &[("x_height", "15 cm")]).await;
    team.teacher
        .opens(&address)
        .await
        .ok()
        .sees("Already readable")
        .lacks("One change")
        .lacks("question for the clinician");
    let form = address.strip_suffix("/options").expect("the task").to_owned();
    team.teacher.opens(&form).await.ok().sees("What would help with this task");
    team.teacher.presses(&form, "Take it out of the list", &[]).await.redirected_to();
    team.teacher.opens(&address).await.hidden();
}

#[tokio::test]
async fn a_seat_far_aside_is_moved_first() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    let seat = [("room", "Hall"), ("distance", "2 m"), ("aside", "4 m"), ("side", "left")];
    team.teacher.presses(&team.at("/seats/new"), "Add", &seat).await.redirected_to();
    let form = team.teacher.opens(&team.at("/tasks/new")).await.ok();
    let hall = form.choices_named("seat").into_iter().find(|(_, words)| words.contains("Hall")).expect("the hall").0;
    let address = wants(&team, &[("distance", ""), ("seat", &hall), ("x_height", "20 cm")]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("Move the seat").sees("The seat is 63° to the side").sees("Sit within 2 m, in front of the middle");
}

#[tokio::test]
async fn a_loan_that_the_own_device_replaced_is_no_option_any_more() {
    // G6: from the day the own device is there, the loan of its track goes back.
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("With the lent 6× monocular handheld telescope");
    team.receives(&DISTANCE).await;
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    let page = page.sees("With the own 6× monocular handheld telescope").lacks("With the lent");
    let options = page.links().into_iter().find(|(to, _)| to.ends_with("/options")).expect("options").0;
    for reader in [&team.teacher, &team.parent, &team.clinician] {
        reader.opens(&options).await.ok().lacks("lent ");
    }
}

#[tokio::test]
async fn why_nothing_says_what_to_expect_is_told_as_it_is() {
    let world = World::new().await;
    let team = Team::up_to(&world, &NEAR, Step::Lent).await;
    let seen = team.is_seen_in_class().await;
    let page = team.teacher.opens(&seen).await.ok();
    page.sees("It was seen with something held to the page.").lacks("No measured acuity that you may read");
    // The right eye was measured with best correction only, and the loan goes over the usual glasses.
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let seen = team.is_seen_in_class().await;
    let page = team.teacher.opens(&seen).await.ok();
    page.sees("no acuity was measured through it, and none of the eye that uses it, corrected as it is used.");
}
