//! What the student must see, from which seat, and whether it can be seen.

use crate::clinic::setup::Team;
use crate::people::Person;
use crate::world::{Pupil, World};

const BOARD: [(&str, &str); 9] = [
    ("code", "board_words"),
    ("name", "Science board"),
    ("track", "distance"),
    ("goal", "copy"),
    ("target", "words"),
    ("x_height", "3.5 cm"),
    ("measured", "yes"),
    ("display", "whiteboard"),
    ("marker", "black_on_white"),
];

async fn adds_a_seat(teacher: &Person, pupil: &Pupil) -> String {
    let fields = [("room", "Room 9"), ("distance", "15 ft"), ("light", "normal_indoor")];
    teacher.presses(&pupil.at("/seats/new"), "Add", &fields).await.redirected_to();
    let page = teacher.opens(&pupil.at("/tasks")).await.ok();
    let (to, _) =
        page.links().into_iter().find(|(to, _)| to.contains("/seats/") && !to.ends_with("/new")).expect("the seat");
    to.rsplit('/').next().expect("its id").to_owned()
}

/// Where the task of this name is changed.
async fn address_of(person: &Person, pupil: &Pupil, name: &str) -> String {
    person.opens(&pupil.at("/tasks")).await.ok().link(&format!("Change {name}"))
}

#[tokio::test]
async fn a_task_keeps_what_was_typed_and_says_what_it_asks_for() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let seat = adds_a_seat(&teacher, &pupil).await;
    let mut fields = BOARD.to_vec();
    fields.push(("seat", seat.as_str()));
    teacher.presses(&pupil.at("/tasks/new"), "Add", &fields).await.redirected_to();
    // 3.5 cm from 15 ft (4.572 m): 2 atan(35 / 9144) = 26.3 minutes of arc, and
    // log10(26.3 / 5) = 0.72, worked by hand.
    let page = teacher.opens(&pupil.at("/tasks")).await.ok();
    page.sees("15 ft (4.57 m)").sees("26.3 minutes of arc").sees("0.72 logMAR").sees("How this was computed");
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field_and_nothing_is_stored() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let other = world.student_of(&teacher).await;
    let seat = adds_a_seat(&teacher, &other).await;
    let before = world.content().await;
    let long = "n".repeat(10_000);
    for (field, value) in [
        ("name", ""),
        ("name", long.as_str()),
        ("distance", "4.6"),
        ("distance", "-3 m"),
        ("distance", "1e999 m"),
        ("distance", "900 m"),
        ("x_height", "1e999"),
        ("x_height", "0 cm"),
    ] {
        let mut fields = BOARD.to_vec();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = teacher.presses(&pupil.at("/tasks/new"), "Add", &fields).await.refused(field);
        assert_eq!(page.value_of(field).as_deref(), Some(value), "{field} stays as typed");
    }
    // The seat of another student, and codes that no list offers.
    for (field, value) in [("seat", seat.as_str()), ("code", "juggling"), ("goal", "win"), ("track", "sideways")] {
        let mut fields = BOARD.to_vec();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        teacher.submits(&pupil.at("/tasks"), &fields).await.refused(field);
    }
    for (field, value) in [("distance", "4"), ("distance", "40 m"), ("aside", "1 m"), ("illuminance", "-1")] {
        let blamed = if field == "aside" { "side" } else { field };
        let mut fields = vec![("room", "Room 9"), ("distance", "4 m")];
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        teacher.presses(&pupil.at("/seats/new"), "Add", &fields).await.refused(blamed);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_task_is_changed_and_retired_and_the_second_of_two_people_sees_both_texts() {
    let world = World::new().await;
    let (first, second) = (world.vision_teacher().await, world.vision_teacher().await);
    let pupil = world.student_of(&first).await;
    world.joins(&second, &pupil, &first).await;
    let seat = adds_a_seat(&first, &pupil).await;
    let mut fields = BOARD.to_vec();
    fields.push(("seat", seat.as_str()));
    first.presses(&pupil.at("/tasks/new"), "Add", &fields).await.redirected_to();
    let task = address_of(&first, &pupil, "Science board").await;
    let old = second.opens(&task).await.ok();
    first.presses(&task, "Save", &[("x_height", "5 cm")]).await.redirected_to();
    let before = world.content().await;
    let page = second.presses_on(&old, "Save", &[("x_height", "2 in")]).await.status(409);
    page.sees("5 cm").sees("2 in");
    second.presses_on(&old, "Take it out of the list", &[]).await.status(409);
    // A seat in use stays.
    let seat_form = pupil.at(&format!("/seats/{seat}"));
    let version = first.opens(&seat_form).await.ok().sees("Move them to another seat first");
    let version = version.value_of("version").expect("the version it was read at");
    first.submits(&format!("{seat_form}/retire"), &[("version", &version)]).await.refused("room");
    assert_eq!(world.content().await, before);
    first.presses(&task, "Take it out of the list", &[]).await.redirected_to();
    first.opens(&pupil.at("/tasks")).await.ok().sees("No longer in the list (1)");
    first.opens(&task).await.hidden();
    first.presses(&seat_form, "Take it out of the list", &[]).await.redirected_to();
}

#[tokio::test]
async fn a_classroom_teacher_sees_size_and_distance_and_changes_only_her_own() {
    let team = Team::with_consents().await;
    let classroom = team.world.classroom_teacher().await;
    team.world.joins(&classroom, &team.pupil, &team.teacher).await;
    let draft = team.writes().await;
    team.signs(&draft).await;
    let fields = [("x_height", "4 cm"), ("distance", "21 ft")];
    let theirs = address_of(&team.teacher, &team.pupil, "Words on the science board").await;
    team.teacher.presses(&theirs, "Save", &fields).await.redirected_to();
    let page = classroom.opens(&team.at("/tasks")).await.ok().sees("21 ft (6.4 m)").sees("4 cm");
    for word in ["logMAR", "reserve", "threshold", "acuity", "Readable", "Too small", "minutes of arc"] {
        assert!(!page.source().contains(word), "{word} is in the source of her page");
    }
    let before = team.world.content().await;
    classroom.opens(&theirs).await.hidden();
    classroom.submits(&theirs, &BOARD).await.hidden();
    classroom.submits(&format!("{theirs}/retire"), &[("version", "2")]).await.hidden();
    assert_eq!(team.world.content().await, before);
    let own = [
        ("code", "wall_clock"),
        ("name", "Hall clock"),
        ("track", "distance"),
        ("goal", "name_it"),
        ("target", "digits"),
    ];
    classroom.presses(&team.at("/tasks/new"), "Add", &own).await.redirected_to();
    let hers = address_of(&classroom, &team.pupil, "Hall clock").await;
    classroom.presses(&hers, "Save", &[("distance", "8 m")]).await.redirected_to();
    // Nor does a task answer under another student.
    let other = team.world.student_of(&team.teacher).await;
    let id = hers.rsplit('/').next().expect("its id");
    team.teacher.opens(&other.at(&format!("/tasks/{id}"))).await.hidden();
}

#[tokio::test]
async fn street_names_are_added_by_a_mobility_specialist_only() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let mut fields = BOARD.to_vec();
    fields[0] = ("code", "street_name");
    let before = world.content().await;
    teacher.submits(&pupil.at("/tasks"), &fields).await.refused("code").sees("mobility specialist");
    assert_eq!(world.content().await, before);
    let role = Some(farpoint::access::Role::VisionTeacher);
    let mobility = world.person(role, |new| new.mobility = true).await;
    world.joins(&mobility, &pupil, &teacher).await;
    mobility.presses(&pupil.at("/tasks/new"), "Add", &fields).await.redirected_to();
}

#[tokio::test]
async fn figures_appear_once_a_signed_evaluation_reached_the_reader_and_a_family_reads_words() {
    let team = Team::with_consents().await;
    let seat = adds_a_seat(&team.teacher, &team.pupil).await;
    let mut fields = BOARD.to_vec();
    fields.push(("seat", seat.as_str()));
    team.teacher.presses(&team.at("/tasks/new"), "Add", &fields).await.redirected_to();
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("No signed evaluation is on file yet");
    let draft = team.writes().await;
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("No signed evaluation is on file yet");
    team.signs(&draft).await;
    team.teacher.opens(&team.at("/tasks")).await.ok().sees("times the threshold size").sees("small letters");
    let page = team.parent.opens(&team.at("/tasks")).await.ok().sees("from there to read on and copy");
    for word in ["logMAR", "threshold", "minutes of arc"] {
        assert!(!page.source().contains(word), "{word} is in the source of the family's page");
    }
}
