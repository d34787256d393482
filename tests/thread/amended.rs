//! A corrected post shows both texts, to those who may read the post.

use farpoint::access::action::Edit;
use farpoint::access::resource::Thread;
use farpoint::care::amendment::{Change, Correction};
use farpoint::care::ids::PostId;
use farpoint::store::{Audit, amendment};

use super::writes;
use crate::world::World;

#[tokio::test]
async fn a_correction_stands_beside_its_post_with_both_texts_and_the_reason() {
    let world = World::new().await;
    let circle = world.circle().await;
    writes(&world, &circle, &circle.teacher, "note", "She sits in row two.").await;
    let post: PostId = world.newest("post", &circle.pupil).await.expect("a post").parse().expect("an id");
    // Setup: as the page of corrections keeps it.
    let mut tx = world.store().tx().await.expect("a transaction");
    let access = world.proof::<Thread, Edit>(&mut tx, &circle.teacher, &circle.pupil).await;
    let changes = [Change::of("What was written", "She sits in row six.", "She sits in row two.")];
    let correction = Correction::because(changes, "The wrong row.").expect("a change with a reason");
    amendment::write(&mut tx, &access, post, &correction).await.expect("it is written");
    tx.commit(Audit::by(&access).record(post)).await.expect("it is kept");
    let thread = circle.pupil.at("/thread");
    for person in [&circle.parent, &circle.teacher] {
        let page = person.opens(&thread).await.ok().sees("What was written amended by Ottoline Brask");
        page.sees("Reason: The wrong row.").sees("Before: She sits in row six. After: She sits in row two.");
    }
    circle.class.opens(&thread).await.ok().lacks("row six").lacks("The wrong row.");
}
