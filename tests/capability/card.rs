//! The classroom card: a draft is its writer's, a release is for good.

use farpoint::care::task::TaskCode;

use crate::world::World;

const SAVE: &str = "Save and preview";

#[tokio::test]
async fn the_class_and_the_family_read_what_is_released_and_nothing_before() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (card, edit, preview) =
        (circle.pupil.at("/card"), circle.pupil.at("/card/edit"), circle.pupil.at("/card/preview"));
    let fields = [("seat", "Row 1, left of the middle")];
    assert_eq!(circle.teacher.presses(&edit, SAVE, &fields).await.redirected_to(), preview);
    for person in [&circle.class, &circle.parent] {
        person.opens(&card).await.ok().sees("No card is released yet").lacks("Row 1");
        person.opens(&preview).await.forbidden();
        person.opens(&edit).await.forbidden();
        person.submits(&edit, &fields).await.forbidden();
        person.submits(&circle.pupil.at("/card/release"), &[]).await.forbidden();
        person.opens(&circle.pupil.at("/card/print")).await.hidden();
    }
    circle.clinician.opens(&card).await.hidden();
    circle.teacher.presses(&preview, "Release it", &[]).await.redirected_to();
    circle.class.opens(&card).await.ok().sees("Row 1, left of the middle");
    circle.class.opens(&circle.pupil.at("/card/print")).await.ok().sees("Row 1").sees("sudden loss of sight");
    circle.parent.opens(&card).await.ok().sees("Row 1");
    circle.class.opens(&circle.pupil.at("/thread")).await.ok().sees("Classroom card released");
}

#[tokio::test]
async fn a_released_edition_never_changes() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (card, edit, preview) =
        (circle.pupil.at("/card"), circle.pupil.at("/card/edit"), circle.pupil.at("/card/preview"));
    circle.teacher.presses(&edit, SAVE, &[("seat", "Row 1")]).await.redirected_to();
    circle.teacher.presses(&preview, "Release it", &[]).await.redirected_to();
    // The next draft starts as a copy and is the class's only once released.
    assert_eq!(circle.teacher.opens(&edit).await.ok().value_of("seat").as_deref(), Some("Row 1"));
    circle.teacher.presses(&edit, SAVE, &[("seat", "Row 2")]).await.redirected_to();
    circle.class.opens(&card).await.ok().sees("Row 1").lacks("Row 2");
    circle.teacher.presses(&preview, "Release it", &[]).await.redirected_to();
    circle.class.opens(&card).await.ok().sees("Row 2").sees("Edition 2");
    circle.teacher.opens(&card).await.ok().sees("Edition 1, released on");
    assert_eq!(world.count("card").await, 2);
    let before = world.content().await;
    circle.teacher.submits(&circle.pupil.at("/card/release"), &[("version", "2")]).await.status(409);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn two_teachers_write_one_draft_and_neither_is_lost() {
    let world = World::new().await;
    let circle = world.circle().await;
    let second = world.vision_teacher().await;
    world.joins(&second, &circle.pupil, &circle.teacher).await;
    let edit = circle.pupil.at("/card/edit");
    circle.teacher.presses(&edit, SAVE, &[("seat", "Row 1")]).await.redirected_to();
    let (one, other) = (circle.teacher.opens(&edit).await.ok(), second.opens(&edit).await.ok());
    circle.teacher.presses_on(&one, SAVE, &[("seat", "Row 2, left")]).await.redirected_to();
    let both = second.presses_on(&other, SAVE, &[("seat", "Row 3, right")]).await.status(409);
    both.sees("Row 2, left").sees("Row 3, right");
    // A form opened before the draft was released writes nothing over the release.
    let late = second.opens(&edit).await.ok();
    circle.teacher.presses(&circle.pupil.at("/card/preview"), "Release it", &[]).await.redirected_to();
    second.presses_on(&late, SAVE, &[("seat", "Row 4")]).await.status(409);
    circle.class.opens(&circle.pupil.at("/card")).await.ok().sees("Row 2, left").lacks("Row 4");
}

#[tokio::test]
async fn what_belongs_to_the_clinic_is_sent_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.task(&circle, TaskCode::BoardWords, "Board").await;
    let edit = circle.pupil.at("/card/edit");
    let before = world.content().await;
    for (field, text) in
        [("glasses", "On; sees 20/200 with them"), ("device", "6x16 telescope"), ("seat", "acuity is low, so row 1")]
    {
        let page = circle.teacher.presses(&edit, SAVE, &[(field, text), ("rest", "often")]).await.refused(field);
        assert_eq!(page.value_of("rest").as_deref(), Some("often"));
    }
    let long = "s".repeat(10_000);
    circle.teacher.presses(&edit, SAVE, &[("seat", long.as_str())]).await.refused("seat");
    circle.teacher.presses(&edit, SAVE, &[("review_on", "1890-01-01")]).await.refused("review_on");
    circle.teacher.submits(&edit, &[("room", "01a21218-9998-72a4-8994-0a7c5ebffc63")]).await.refused("room");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn the_preview_says_how_many_sides_large_print_takes() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (edit, preview) = (circle.pupil.at("/card/edit"), circle.pupil.at("/card/preview"));
    circle.teacher.presses(&edit, SAVE, &[("seat", "Row 1")]).await.redirected_to();
    circle.teacher.opens(&preview).await.ok().lacks("It does not fit on one side");
    let line = "Words that are long enough for two lines of large print ".repeat(2);
    let line = line.trim();
    let fields: Vec<(&str, &str)> = [
        "seat",
        "board",
        "letters",
        "light",
        "print_size",
        "device",
        "device_when",
        "glasses",
        "rest",
        "tests",
        "call",
    ]
    .map(|field| (field, line))
    .to_vec();
    circle.teacher.presses(&edit, SAVE, &fields).await.redirected_to();
    circle.teacher.opens(&preview).await.ok().sees("In large print it takes 2 sides. Shorten some lines.");
}
