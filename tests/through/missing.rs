//! What is said where the record has not what a figure needs: a sentence, with
//! what to enter and where, and nothing drawn in its place.

use super::{lent, sits, through, wants};
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn without_a_device_there_is_a_way_to_the_devices() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let address = through(&team.teacher, &team, "Science board").await;
    let page = team.teacher.opens(&address).await.ok();
    let page = page.sees("No device for the distance track is at hand").lacks("To scale");
    assert_eq!(page.link("Go to the devices"), team.at("/devices"));
    let devices = team.teacher.opens(&team.at("/devices")).await.ok();
    assert_eq!(devices.link("See what a device shows of each task from its seat"), team.at("/tasks"));
    assert!(page.choices_of("device").is_empty());
}

#[tokio::test]
async fn without_the_width_of_the_board_the_field_is_drawn_and_no_look_counted() {
    let world = World::new().await;
    let (team, _) = lent(&world).await;
    let address = sits(&team, "Workshop", &[("distance", "4 m")], &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    // 2 x 4 x tan 4.5 degrees = 0.6296 m; / 2.5 cm = 25.2.
    let page = page
        .sees("A part 63 cm wide is seen at once: about 25 letters of this size.")
        .sees("The width of the board is not entered")
        .sees("To scale")
        .lacks("Looks to follow")
        .lacks("% of the width");
    let form = page.link("Enter the width of the board");
    team.teacher.opens(&form).await.ok().sees("Width of the board");
    team.teacher.presses(&form, "Save", &[("board_width", "2.4 m")]).await.redirected_to();
    // 2 atan(1.2 / 4) = 33.4 degrees; 9 / 33.4 = 27 %; (33.4 - 9) / 7.2 = 3.4.
    team.teacher.opens(&address).await.ok().sees("about 27 % of the width of the board").sees("takes 5 looks");
    let page = team.parent.opens(&address).await.ok();
    assert!(page.links().iter().all(|(_, words)| words != "Enter the width of the board"));
}

#[tokio::test]
async fn without_a_distance_or_a_height_it_says_who_adds_it() {
    let world = World::new().await;
    let (team, _) = lent(&world).await;
    let address = wants(&team, "Poster", &[("display", ""), ("measured", "")]).await;
    let page = team.teacher.opens(&address).await.ok();
    let page = page.sees("Neither a seat nor a distance is entered for this task").lacks("To scale");
    assert_eq!(page.link("Add a seat or a distance"), address.replace("/through", ""));
    let parent = team.parent.opens(&address).await.ok().sees("The vision teacher can add one.");
    assert!(parent.links().iter().all(|(_, words)| words != "Add a seat or a distance"));
    let address = wants(&team, "Scoreboard", &[("distance", "4 m"), ("x_height", ""), ("measured", "")]).await;
    team.teacher
        .opens(&address)
        .await
        .ok()
        .sees("A part 63 cm wide is seen at once.")
        .sees("The height of the small letters is not entered, so no letters are drawn.")
        .lacks("letters of this size");
}

#[tokio::test]
async fn a_seat_far_aside_or_too_near_is_said_and_not_drawn() {
    let world = World::new().await;
    let (team, _) = lent(&world).await;
    // atan(4 / 2) = 63 degrees, more than the 60 that are computed.
    let far = [("distance", "2 m"), ("aside", "4 m"), ("side", "right"), ("board_width", "2.4 m")];
    let address = sits(&team, "Aula", &far, &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("The seat is too far to the side of the board, and from there nothing is computed").lacks("To scale");
    let near = [("distance", "1.5 m"), ("board_width", "2.4 m")];
    let address = sits(&team, "Front", &near, &[]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("Nearer than 2 m the figures on the label of a telescope no longer hold").lacks("To scale");
}

#[tokio::test]
async fn a_device_that_does_not_focus_so_near_or_states_no_field_says_so() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let common = [("kind", "handheld_monocular"), ("power", "6"), ("objective", "16"), ("eye", "right")];
    team.stocks(&world, &[&common[..], &[("field", "9"), ("near_focus", "4 m")]].concat()).await;
    let address = wants(&team, "Wall chart", &[("distance", "3 m")]).await;
    let page = team.teacher.opens(&address).await.ok();
    page.sees("it cannot be made sharp as near as this seat: it is clear from 4 m on.").lacks("To scale");
    team.stocks(&world, &common).await;
    let listed = team.teacher.opens(&address).await.ok().choices_of("device");
    assert_eq!(listed.len(), 2, "{listed:?}");
    let mut without = 0;
    for place in &listed {
        let page = team.teacher.opens(&format!("{address}?device={place}")).await.ok();
        if page.seen().contains("its field is not stated, so what is seen at once cannot be said") {
            without += 1;
            let page = page.sees("Its nearest focus is not stated: try it at this distance first.").lacks("To scale");
            assert_eq!(page.link("Go to the devices"), team.at("/devices"));
        }
    }
    assert_eq!(without, 1);
}

#[tokio::test]
async fn a_task_taken_out_of_the_list_is_gone() {
    let world = World::new().await;
    let (team, address) = lent(&world).await;
    let form = address.replace("/through", "");
    team.teacher.presses(&form, "Take it out of the list", &[]).await.redirected_to();
    team.teacher.opens(&address).await.hidden();
}
