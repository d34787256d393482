//! Contacts keep both texts, for whoever may read the contact.

use crate::world::World;

#[tokio::test]
async fn a_changed_contact_keeps_both_texts_for_its_readers_only() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (teacher, people) = (&circle.teacher, circle.pupil.at("/people"));
    let contact = [("name", "Solveig Ashdown-Lal"), ("phone", "555 0100")];
    teacher.presses(&circle.pupil.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    let id = world.newest("contact", &circle.pupil).await.expect("a contact");
    let edit = circle.pupil.at(&format!("/people/contacts/{id}"));
    teacher.presses(&edit, "Save", &[]).await.redirected_to();
    assert_eq!(world.count("amendment").await, 0, "nothing was changed");
    let two = [teacher.opens(&edit).await.ok(), teacher.opens(&edit).await.ok()];
    teacher.presses_on(&two[0], "Save", &[("phone", "555 0199")]).await.redirected_to();
    let kept = world.content().await;
    teacher.presses_on(&two[1], "Save", &[("phone", "555 0111")]).await.status(409);
    assert_eq!(world.content().await, kept);
    teacher.opens(&people).await.ok().sees("Telephone Before 555 0100 After 555 0199").sees(&teacher.name);
    // Another adult's number is not a parent's to read, before or after.
    circle.parent.opens(&people).await.ok().lacks("555 0100").lacks("555 0199");
    circle.class.opens(&people).await.ok().lacks("555 0100").lacks("555 0199");
}
