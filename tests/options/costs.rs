//! What a way costs, as each reader is told it: powers with seats for those who
//! prescribe, the student's own time for a line, another light.

use super::pages::{ROWS, examined, stocks, wants, ways};
use crate::lap::{DISTANCE, Team};
use crate::world::World;

#[tokio::test]
async fn a_clinician_reads_which_power_goes_with_which_seat_and_nobody_else_does() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    let address = wants(&team, &[]).await;
    let page = team.clinician.opens(&address).await.ok();
    let told = ways(&page);
    // 5.8 are needed (`worked.rs`), and telescopes are had with 6.
    assert!(told.iter().any(|way| way == "A telescope of 6×"), "{told:?}");
    // With 4x from 2.750 m, down to 2.7 m; with 14.546 / 4 = 3.64 cm, up to 4 cm.
    assert!(told.iter().any(|way| way == "Look from within 2.7 m and a telescope of 4×"), "{told:?}");
    assert!(told.iter().any(|way| way == "Small letters 4 cm tall and a telescope of 4×"), "{told:?}");
    // 75 / 6 = 12.5 degrees at most: 2 x 4 x tan 6.25 = 0.876 m, 35 letters of 2.5 cm.
    page.sees("Seen at once from 4 m at most 87.6 cm wide about 35 letters of this size")
        .sees("It asks for elbows on the desk.")
        .sees("Whichever device of this power is chosen, it has to focus as near as this.")
        .sees("Powers that nobody has here are looked for as telescopes for the hand are had")
        .sees("Never look at the sun");
    for reader in [&team.teacher, &team.parent] {
        let page = reader.opens(&address).await.ok();
        assert!(ways(&page).iter().all(|way| !way.contains("telescope of")), "{:?}", ways(&page));
        page.sees("question for the clinician").lacks("Powers that nobody has here");
    }
}

/// A seat before a board of 2 m; gives the code under which tasks name it.
async fn sits_before_a_board(team: &Team, light: &str) -> String {
    let mut seat = vec![("room", "Hall"), ("distance", "4 m"), ("board_width", "2 m")];
    seat.extend((!light.is_empty()).then_some(("light", light)));
    team.teacher.presses(&team.at("/seats/new"), "Add", &seat).await.redirected_to();
    let form = team.teacher.opens(&team.at("/tasks/new")).await.ok();
    form.choices_named("seat").into_iter().find(|(_, words)| words.contains("Hall")).expect("the hall").0
}

#[tokio::test]
async fn how_long_a_line_takes_comes_from_the_students_own_spotting() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    stocks(&world, &team, "6").await;
    team.lends(&DISTANCE).await;
    let hall = sits_before_a_board(&team, "").await;
    // 3 cm, so that 6x does it at the far edge, too.
    let address = wants(&team, &[("distance", ""), ("seat", &hall), ("x_height", "3 cm")]).await;
    // 28.07 degrees of board, (28.07 - 9) / 7.2 = 2.65, so 4 looks (`worked.rs`).
    let page = team.teacher.opens(&address).await.ok();
    page.sees("4 looks to follow one line across").lacks("for one line:");
    team.is_ready(&DISTANCE).await;
    for seconds in ["3", "5", "4"] {
        let page = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
        let device = page.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
        let fields = [
            ("device", device.as_str()),
            ("baseline", "yes"),
            ("minutes", "20"),
            ("place", "quiet_room"),
            ("light", "normal_indoor"),
            ("body", "seated"),
            ("glasses", "on"),
            ("e1_skill", "spotting"),
            ("e1_item", "door numbers"),
            ("e1_distance", "3 m"),
            ("e1_tries", "10"),
            ("e1_right", "8"),
            ("e1_median", seconds),
            ("e1_prompt", "5"),
            ("comfort", "0"),
        ];
        team.teacher.presses_on(&page, "Save the session", &fields).await.redirected_to();
    }
    // The median of 3, 5 and 4 is 4; four looks are 16 s.
    let told = "About 16 s for one line: 4 looks of 4.0 s each, the median of 3 spotting exercises with a device, without help (3.0 to 5.0 s).";
    team.teacher.opens(&address).await.ok().sees(told);
    // Until the lock closes a session is its writer's own.
    team.parent.opens(&address).await.ok().sees("4 looks to follow one line across").lacks("for one line:");
}

#[tokio::test]
async fn a_dim_board_asks_for_light_before_anything_is_promised() {
    let world = World::new().await;
    let team = examined(&world, &ROWS).await;
    stocks(&world, &team, "6").await;
    let hall = sits_before_a_board(&team, "dim").await;
    let address = wants(&team, &[("distance", ""), ("seat", &hall), ("x_height", "20 cm")]).await;
    let page = team.teacher.opens(&address).await.ok();
    assert_eq!(ways(&page), ["More light on it"]);
    page.sees("Not in this light")
        .sees("How much light is not known: nobody recorded which light suits.")
        .sees("More light is not better for every eye: the student says which is best.");
    let address =
        wants(&team, &[("name", "Long division"), ("distance", ""), ("seat", &hall), ("x_height", "3 cm")]).await;
    let all = team.teacher.opens(&team.at("/tasks")).await.ok();
    assert!(all.links().iter().any(|(to, _)| *to == address));
    let mut with_light = 0;
    for (to, _) in all.links().into_iter().filter(|(to, _)| to.ends_with("/options")) {
        let told = ways(&team.teacher.opens(&to).await.ok());
        with_light += told.iter().filter(|way| way.starts_with("More light on it and ")).count();
    }
    assert!(with_light > 0, "beside another change");
}
