//! The released card: withdrawn, and the editions before.

use crate::people::Person;
use crate::world::World;

const SAVE: &str = "Save and preview";
const WHY: [(&str, &str); 1] = [("reason", "The seat was moved.")];

async fn released(teacher: &Person, at: impl Fn(&str) -> String, seat: &str) {
    teacher.presses(&at("/card/edit"), SAVE, &[("seat", seat)]).await.redirected_to();
    teacher.presses(&at("/card/preview"), "Release it", &[]).await.redirected_to();
}

#[tokio::test]
async fn a_withdrawn_card_is_not_released_now_and_no_older_one_comes_back() {
    let world = World::new().await;
    let circle = world.circle().await;
    let at = |path: &str| circle.pupil.at(path);
    released(&circle.teacher, at, "Row 1").await;
    released(&circle.teacher, at, "Row 2").await;
    circle.teacher.presses(&at("/card/withdraw"), "Withdraw it", &WHY).await.redirected_to();
    circle.class.opens(&at("/card")).await.ok().sees("not released now").lacks("Row 1").lacks("Row 2");
    circle.class.opens(&at("/card/print")).await.hidden();
    circle.class.opens("/today").await.ok().sees("not released now").lacks("Row");
    let page = circle.teacher.opens(&at("/card")).await.ok();
    page.sees("The seat was moved.").sees("Edition 2, released on").sees(", withdrawn");
    circle.class.opens(&at("/thread")).await.ok().sees("Classroom card withdrawn");
    // The next edition is released as ever.
    released(&circle.teacher, at, "Row 3").await;
    circle.class.opens(&at("/card")).await.ok().sees("Row 3").sees("Edition 3");
}

#[tokio::test]
async fn a_vision_teacher_reads_the_editions_before_as_they_were() {
    let world = World::new().await;
    let circle = world.circle().await;
    let at = |path: &str| circle.pupil.at(path);
    released(&circle.teacher, at, "Row 1").await;
    released(&circle.teacher, at, "Row 2").await;
    let page = circle.teacher.opens(&at("/card")).await.ok();
    let links = page.links();
    let first = &links.iter().find(|(_, words)| words.starts_with("Edition 1,")).expect("listed").0;
    circle.teacher.opens(first).await.ok().sees("An earlier edition").sees("Row 1").lacks("Row 2");
    for person in [&circle.class, &circle.parent, &circle.clinician] {
        let page = person.opens(first).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
}

#[tokio::test]
async fn a_card_is_withdrawn_once_with_a_reason_and_by_its_writers() {
    let world = World::new().await;
    let circle = world.circle().await;
    let at = |path: &str| circle.pupil.at(path);
    released(&circle.teacher, at, "Row 1").await;
    let (open, second) = (
        circle.teacher.opens(&at("/card/withdraw")).await.ok(),
        circle.teacher.opens(&at("/card/withdraw")).await.ok(),
    );
    let before = world.content().await;
    circle.teacher.presses_on(&open, "Withdraw it", &[("reason", " ")]).await.refused("reason");
    for person in [&circle.class, &circle.parent, &circle.clinician] {
        let page = person.submits(&at("/card/withdraw"), &[("reason", "mine"), ("version", "1")]).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    assert_eq!(world.content().await, before);
    circle.teacher.presses_on(&open, "Withdraw it", &WHY).await.redirected_to();
    let before = world.content().await;
    circle.teacher.presses_on(&second, "Withdraw it", &WHY).await.status(409).sees("withdrawn meanwhile");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn the_page_that_withdraws_is_about_the_edition_it_showed() {
    let world = World::new().await;
    let circle = world.circle().await;
    let at = |path: &str| circle.pupil.at(path);
    released(&circle.teacher, at, "Row 1").await;
    let open = circle.teacher.opens(&at("/card/withdraw")).await.ok();
    released(&circle.teacher, at, "Row 2").await;
    circle.teacher.presses_on(&open, "Withdraw it", &WHY).await.status(409);
    circle.class.opens(&at("/card")).await.ok().sees("Row 2");
}
