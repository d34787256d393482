//! What was written in the thread is amended, never deleted.

use crate::world::World;

#[tokio::test]
async fn a_post_is_amended_by_its_writer_with_a_reason_and_by_nobody_else() {
    let world = World::new().await;
    let circle = world.circle().await;
    let thread = circle.pupil.at("/thread");
    let fields = [("body", "The lamp stands on the right.")];
    circle.teacher.presses(&thread, "Send", &fields).await.redirected_to();
    let id = world.newest("post", &circle.pupil).await.expect("it is posted");
    let (amend, error) = (format!("{thread}/{id}/amend"), format!("{thread}/{id}/error"));
    let form = circle.teacher.opens(&amend).await.ok();
    assert_eq!(form.value_of("body").as_deref(), Some("The lamp stands on the right."));
    let before = world.content().await;
    circle.teacher.presses(&amend, "Save", &[("body", "Left.")]).await.refused("reason");
    circle.teacher.presses(&amend, "Save", &[("body", ""), ("reason", "x")]).await.refused("body");
    circle.teacher.presses(&amend, "Save", &[("reason", "x")]).await.status(422).sees("Nothing was changed.");
    for person in [&circle.parent, &circle.class, &circle.clinician] {
        person.opens(&amend).await.hidden();
        person.submits(&amend, &[("body", "mine"), ("reason", "x")]).await.hidden();
        person.submits(&error, &[("mark", "in_error"), ("reason", "x")]).await.hidden();
    }
    assert_eq!(world.content().await, before);

    let (first, second) = (circle.teacher.opens(&amend).await.ok(), circle.teacher.opens(&amend).await.ok());
    let fields = [("body", "The lamp stands on the left."), ("reason", "the wrong side")];
    circle.teacher.presses_on(&first, "Save", &fields).await.redirected_to();
    let fields = [("body", "There is no lamp."), ("reason", "it is gone")];
    let page = circle.teacher.presses_on(&second, "Save", &fields).await.status(409);
    page.sees("The lamp stands on the left.").sees("There is no lamp.");
    circle.parent.opens(&thread).await.ok().sees("The lamp stands on the left.").sees("on the right");
    assert_eq!(world.count("amendment").await, 1);

    circle.teacher.presses(&error, "Mark as entered in error", &[("reason", "another room")]).await.redirected_to();
    circle.teacher.opens(&error).await.ok().sees("another room");
    circle.parent.opens(&thread).await.ok().sees("Entered in error").sees("another room");
    circle.teacher.submits(&amend, &[("body", "again"), ("reason", "x"), ("version", "3")]).await.status(409);
    circle.teacher.presses(&error, "It was no error", &[("reason", "it is this room")]).await.redirected_to();
    circle.parent.opens(&thread).await.ok().sees("The lamp stands on the left.");
}
