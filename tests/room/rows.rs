//! Rows of seats are entered with a room, kept as typed, amended, and may be
//! left open.

use crate::people::Person;
use crate::world::{Pupil, World};

/// Row 2 is 2.1 + 1.2 = 3.3 m from the board, and seat 4 of 5 is one seat, 80 cm,
/// to the right of the middle.
const ROOM: [(&str, &str); 13] = [
    ("room", "Room 12"),
    ("distance", "3.3 m"),
    ("aside", "80 cm"),
    ("side", "right"),
    ("board_width", "2.4 m"),
    ("rows", "4"),
    ("row_seats", "5"),
    ("first_row", "2.1 m"),
    ("row_gap", "120 cm"),
    ("seat_gap", "80 cm"),
    ("usual_row", "2"),
    ("usual_seat", "4"),
    ("window_side", "left"),
];

async fn seat_form(teacher: &Person, pupil: &Pupil) -> String {
    teacher.opens(&pupil.at("/tasks")).await.ok().link("Change Room 12")
}

#[tokio::test]
async fn the_rows_are_kept_as_typed_and_shown_in_the_units_of_the_account() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    teacher.presses(&pupil.at("/seats/new"), "Add", &ROOM).await.redirected_to();
    let page = teacher.opens(&pupil.at("/tasks")).await.ok();
    page.sees("Rows 4 rows of 5 seats")
        .sees("First row to board 2.1 m")
        .sees("From row to row 120 cm (1.2 m)")
        .sees("From seat to seat 80 cm")
        .sees("Usual seat Row 2, seat 4")
        .sees("Windows On the left, facing the board")
        .lacks("Board hangs");
    let form = teacher.opens(&seat_form(&teacher, &pupil).await).await.ok();
    for (field, value) in ROOM {
        assert_eq!(form.value_of(field).as_deref(), Some(value), "{field} stays as typed");
    }
    // In feet and inches for who chose them; what was typed stays.
    teacher.presses("/account", "Save", &[("units", "imperial")]).await.redirected_to();
    let page = teacher.opens(&pupil.at("/tasks")).await.ok();
    page.sees("First row to board 2.1 m (6 ft 11 in)").sees("From row to row 120 cm (3 ft 11 in)");
}

#[tokio::test]
async fn a_change_of_the_rows_keeps_both_texts_and_the_second_of_two_sees_them() {
    let world = World::new().await;
    let (first, second) = (world.vision_teacher().await, world.vision_teacher().await);
    let pupil = world.student_of(&first).await;
    world.joins(&second, &pupil, &first).await;
    first.presses(&pupil.at("/seats/new"), "Add", &ROOM).await.redirected_to();
    let form = seat_form(&first, &pupil).await;
    let old = second.opens(&form).await.ok();
    first.presses(&form, "Save", &[("row_gap", "1.3 m"), ("window_side", "right")]).await.redirected_to();
    let before = world.content().await;
    let page = second.presses_on(&old, "Save", &[("seat_gap", "75 cm"), ("row_gap", "4 ft")]).await.status(409);
    page.sees("From row to row").sees("1.3 m").sees("4 ft").sees("75 cm").sees("Windows");
    assert_eq!(world.content().await, before);
    let page = first.opens(&form).await.ok();
    page.sees("What was amended").sees("From row to row").sees("120 cm").sees("Windows").sees("left");
}

#[tokio::test]
async fn rows_that_do_not_fit_the_measured_seat_come_back_and_store_nothing() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let before = world.content().await;
    let with = |changes: &[(&'static str, &'static str)]| {
        let mut fields = ROOM.to_vec();
        for (field, value) in changes {
            fields.retain(|(name, _)| name != field);
            fields.push((field, value));
        }
        fields
    };
    // Row 3 is 4.5 m from the board, more than half a row behind 3.3 m.
    let page = teacher.presses(&pupil.at("/seats/new"), "Add", &with(&[("usual_row", "3")])).await;
    page.refused("usual_row")
        .sees("By these rows, row 3 is 4.5 m (14 ft 9 in) from the board")
        .sees("the seat was entered as 3.3 m (10 ft 10 in)");
    // The seat on the other side.
    let page = teacher.presses(&pupil.at("/seats/new"), "Add", &with(&[("usual_seat", "2")])).await;
    page.refused("usual_seat").sees("seat 2 is 80 cm (31 1/2 in) to the left of the board's middle");
    assert_eq!(world.content().await, before);
    // 3.8 m is still nearer to row 2 than to row 3.
    teacher.presses(&pupil.at("/seats/new"), "Add", &with(&[("distance", "3.8 m")])).await.redirected_to();
}

#[tokio::test]
async fn a_room_without_rows_is_a_room_with_one_seat_as_before() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let fields = [("room", "Room 12"), ("distance", "15 ft")];
    teacher.presses(&pupil.at("/seats/new"), "Add", &fields).await.redirected_to();
    let page = teacher.opens(&pupil.at("/tasks")).await.ok();
    page.sees("Seat to board 15 ft (4.57 m)").lacks("From row to row").lacks("Usual seat").lacks("Windows");
    // Half of it may be entered now and the rest another day.
    let form = seat_form(&teacher, &pupil).await;
    teacher.presses(&form, "Save", &[("rows", "5"), ("window_side", "left")]).await.redirected_to();
    teacher.opens(&pupil.at("/tasks")).await.ok().sees("Rows 5 rows").sees("Windows On the left");
}
