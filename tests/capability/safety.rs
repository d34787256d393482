//! The red flag: the text first, the pause at once, and who may clear it (G9).

use farpoint::care::consent::Direction;

use crate::people::PASSWORD;
use crate::world::World;

const SEND: &str = "Send the red flag";
const NOW: &str = "Get eye care today.";
const PAUSED: &str = "Device training is paused until an eye doctor says it is safe.";

#[tokio::test]
async fn anybody_on_the_team_raises_a_flag_and_is_told_first_what_to_do() {
    let world = World::new().await;
    let circle = world.circle().await;
    let safety = circle.pupil.at("/safety");
    for person in [&circle.teacher, &circle.class, &circle.parent, &circle.clinician] {
        let page = person.opens(&safety).await.ok().sees(NOW).sees("Nobody watches this at night");
        let words = page.seen();
        assert!(words.find(NOW) < words.find("What did you notice?"), "the text comes before the form");
        person.presses_on(&page, SEND, &[("note", "saw it myself")]).await.refused("sign").sees(NOW);
        let sent = person.presses_on(&page, SEND, &[("sign", "rf3"), ("note", "saw it myself")]).await;
        let page = person.follows(&sent).await.ok().sees(PAUSED).sees("rinse with water first");
        assert!(page.seen().find(NOW) < page.seen().find("Hit in the eye"), "and before the flag");
    }
    assert_eq!(world.count("flag").await, 4);
}

#[tokio::test]
async fn one_text_for_every_sign_and_water_only_for_a_splash() {
    let world = World::new().await;
    let circle = world.circle().await;
    let safety = circle.pupil.at("/safety");
    circle.class.presses(&safety, SEND, &[("sign", "rf11")]).await.redirected_to();
    circle.class.opens(&safety).await.ok().sees(NOW).lacks("rinse with water first");
}

#[tokio::test]
async fn a_flag_is_read_in_three_widths() {
    let world = World::new().await;
    let circle = world.circle().await;
    let safety = circle.pupil.at("/safety");
    circle.parent.presses(&safety, SEND, &[("sign", "rf1"), ("note", "since breakfast")]).await.redirected_to();
    circle
        .teacher
        .opens(&safety)
        .await
        .ok()
        .sees("Sudden loss of sight")
        .sees("since breakfast")
        .sees(&circle.parent.name);
    // A classroom teacher knows that it is paused, and reads only what she raised.
    let page = circle.class.opens(&safety).await.ok().sees(PAUSED);
    page.lacks("since breakfast").lacks("Pauses training");
    circle.class.presses(&safety, SEND, &[("sign", "rf5"), ("note", "in class")]).await.redirected_to();
    circle.class.opens(&safety).await.ok().sees("in class").lacks("since breakfast");
    // Kind and date cross without a consent, and nothing else.
    let page = circle.clinician.opens(&safety).await.ok().sees("Sudden loss of sight").sees("16 September 2026");
    page.lacks("since breakfast").lacks(&circle.parent.name).lacks(&circle.pupil.name);
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    circle.clinician.opens(&safety).await.ok().sees("since breakfast");
    let steward = world.steward().await;
    steward.opens(&safety).await.ok().sees(PAUSED).lacks("Sudden loss of sight").lacks("Pauses training");
    for stranger in [world.vision_teacher().await, world.parent().await] {
        stranger.opens(&safety).await.hidden();
        stranger.submits(&safety, &[("sign", "rf1"), ("noticed_on", "2026-09-16")]).await.hidden();
    }
}

#[tokio::test]
async fn who_has_seen_it_stands_with_the_flag() {
    let world = World::new().await;
    let circle = world.circle().await;
    let safety = circle.pupil.at("/safety");
    circle.parent.presses(&safety, SEND, &[("sign", "rf1")]).await.redirected_to();
    circle.parent.opens(&safety).await.ok().lacks(&circle.teacher.name);
    circle.teacher.presses(&safety, "I have seen this", &[]).await.redirected_to();
    circle.parent.opens(&safety).await.ok().sees(&format!("{}, vision teacher", circle.teacher.name));
    circle.teacher.opens(&safety).await.ok().lacks("I have seen this");
    // A flag that a classroom teacher may not read is not hers to mark.
    let page = circle.clinician.opens(&safety).await.ok();
    let clear = page.link("Clear this flag");
    let seen = clear.replace("/clear", "/seen");
    circle.class.submits(&seen, &[]).await.hidden();
    assert_eq!(world.count("flag_seen").await, 2);
}

#[tokio::test]
async fn a_clinician_clears_it_with_the_password_and_a_note() {
    let world = World::new().await;
    let circle = world.circle().await;
    let safety = circle.pupil.at("/safety");
    circle.teacher.presses(&safety, SEND, &[("sign", "rf1")]).await.redirected_to();
    let clear = circle.clinician.opens(&safety).await.ok().link("Clear this flag");
    let before = world.content().await;
    let fields = [("note", "Seen today, retina flat."), ("password", PASSWORD)];
    for person in [&circle.teacher, &circle.class, &circle.parent] {
        person.opens(&clear).await.forbidden();
        person.submits(&clear, &fields).await.forbidden();
    }
    assert_eq!(world.content().await, before);
    circle.clinician.presses(&clear, "Clear the flag", &[("password", PASSWORD)]).await.refused("note");
    let page = circle
        .clinician
        .presses(&clear, "Clear the flag", &[fields[0], ("password", "wrong")])
        .await
        .refused("password");
    assert_eq!(page.value_of("note").as_deref().map(str::trim), Some("Seen today, retina flat."));
    circle.class.opens(&safety).await.ok().sees(PAUSED);
    circle.clinician.presses(&clear, "Clear the flag", &fields).await.redirected_to();
    circle.class.opens(&safety).await.ok().lacks(PAUSED);
    circle.teacher.opens(&safety).await.ok().sees("Cleared").sees("retina flat");
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("Red flag cleared");
    circle.clinician.submits(&clear, &fields).await.hidden();
}

#[tokio::test]
async fn a_records_officer_needs_an_eye_doctors_written_note() {
    let world = World::new().await;
    let circle = world.circle().await;
    circle.teacher.presses(&circle.pupil.at("/safety"), SEND, &[("sign", "rf1")]).await.redirected_to();
    let clear = circle.clinician.opens(&circle.pupil.at("/safety")).await.ok().link("Clear this flag");
    let steward = world.steward().await;
    let fields = [("note", "Doctor phoned."), ("password", PASSWORD)];
    steward.submits(&clear, &fields).await.forbidden();
    steward.enters_password_again().await;
    let before = world.content().await;
    steward.submits(&clear, &fields).await.blocked("Attach the eye doctor");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_flag_of_another_student_is_not_there() {
    let world = World::new().await;
    let (one, other) = (world.circle().await, world.circle().await);
    one.teacher.presses(&one.pupil.at("/safety"), SEND, &[("sign", "rf1")]).await.redirected_to();
    let clear = one.clinician.opens(&one.pupil.at("/safety")).await.ok().link("Clear this flag");
    let crossed = clear.replace(&one.pupil.id.to_string(), &other.pupil.id.to_string());
    let before = world.count("flag_seen").await;
    other.clinician.opens(&crossed).await.hidden();
    other.clinician.submits(&crossed, &[("note", "x"), ("password", PASSWORD)]).await.hidden();
    other.clinician.submits(&crossed.replace("/clear", "/seen"), &[]).await.hidden();
    assert_eq!(world.count("flag_seen").await, before);
    one.class.opens(&one.pupil.at("/safety")).await.ok().sees(PAUSED);
}
