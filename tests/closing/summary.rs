//! A summary is drafted by the school, sent under a consent, and then stands.

use farpoint::care::consent::Direction;

use super::TEXTS;
use crate::clinic::setup::Team;
use crate::people::PASSWORD;

#[tokio::test]
async fn without_a_consent_a_summary_is_drafted_and_not_sent() {
    let team = Team::new().await;
    let consent = team.consents(Direction::SchoolToClinic).await;
    team.evaluated().await;
    team.withdraws(consent).await;
    let draft = team.drafts().await;
    team.fills(&draft).await;
    let page = team.teacher.opens(&draft).await.ok().sees("It cannot be sent yet");
    assert!(page.seen().contains("what was seen in class"), "what is left out is named: {}", page.seen());
    let before = team.documents().await;
    // G7, also straight to the address.
    let fields = [("version", "2"), ("password", PASSWORD)];
    team.teacher.submits(&format!("{draft}/send"), &fields).await.blocked("No consent on file");
    assert_eq!(team.documents().await, before);

    team.consents(Direction::SchoolToClinic).await;
    team.sends(&draft).await.redirected_to();
    team.teacher.opens(&draft).await.ok().sees("Signed and sent").sees(TEXTS[1].1);
    assert_eq!(team.world.count("sending").await, 1);
    team.clinician.opens(&team.at("/review")).await.ok().sees(TEXTS[1].1).sees("Summary with clinician");
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Training summary sent, distance");
}

#[tokio::test]
async fn a_summary_asks_something_and_takes_the_password() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let draft = team.drafts().await;
    team.teacher.opens(&format!("{draft}/preview")).await.ok().sees("Ask the clinician at least one question");
    let before = team.documents().await;
    let fields = [("version", "1"), ("password", PASSWORD)];
    team.teacher.submits(&format!("{draft}/send"), &fields).await.status(422).sees("at least one question");
    assert_eq!(team.documents().await, before);
    let stronger = [("look_at", "A 10x would be better.")];
    team.teacher.presses(&draft, "Save the draft", &stronger).await.refused("look_at");
    let inverted = [("from", team.world.day(0)), ("to", team.world.day(-3))];
    let inverted: Vec<(&str, &str)> = inverted.iter().map(|(name, value)| (*name, value.as_str())).collect();
    team.teacher.presses(&draft, "Save the draft", &inverted).await.refused("from");
    team.fills(&draft).await;
    let before = team.documents().await;
    let wrong = [("password", "a wrong guess")];
    team.teacher.presses(&format!("{draft}/preview"), "Sign and send", &wrong).await.refused("password");
    assert_eq!(team.documents().await, before);
    team.sends(&draft).await.redirected_to();
    // What was sent never changes.
    let before = team.documents().await;
    for path in [draft.clone(), format!("{draft}/send")] {
        let fields = [("version", "3"), ("words", "other words"), ("password", PASSWORD)];
        team.teacher.submits(&path, &[&fields[..], &[("from", "2026-09-01"), ("to", "2026-09-02")]].concat()).await;
    }
    assert_eq!(team.documents().await, before);
}

#[tokio::test]
async fn a_draft_is_the_schools_and_a_sent_summary_its_readers() {
    let team = Team::with_consents().await;
    team.evaluated().await;
    let classroom = team.world.classroom_teacher().await;
    team.world.joins(&classroom, &team.pupil, &team.teacher).await;
    let draft = team.drafts().await;
    team.fills(&draft).await;
    for person in [&team.parent, &team.clinician] {
        person.opens(&draft).await.hidden();
        person.opens(&team.at("/summaries")).await.ok().lacks(&draft);
        person.submits(&draft, &[("words", "not mine"), ("version", "2")]).await.forbidden();
        person.submits(&format!("{draft}/send"), &[("password", PASSWORD), ("version", "2")]).await.forbidden();
    }
    team.sends(&draft).await.redirected_to();
    for person in [&team.parent, &team.clinician] {
        person.opens(&draft).await.ok().sees(TEXTS[0].1);
        person.opens(&format!("{draft}/print")).await.ok();
    }
    for path in [team.at("/summaries"), draft.clone(), format!("{draft}/print")] {
        classroom.opens(&path).await.hidden();
    }
    let elsewhere = team.world.vision_teacher().await;
    elsewhere.opens(&draft).await.hidden();
}

#[tokio::test]
async fn a_sent_summary_stays_readable_as_sent_when_the_consent_is_withdrawn() {
    let team = Team::new().await;
    let consent = team.consents(Direction::SchoolToClinic).await;
    team.evaluated().await;
    let sent = team.summed().await;
    team.withdraws(consent).await;
    team.clinician.opens(&sent).await.ok().sees(TEXTS[0].1);
    // Nothing newer crosses.
    let next = team.drafts().await;
    team.fills(&next).await;
    let fields = [("version", "2"), ("password", PASSWORD)];
    team.teacher.submits(&format!("{next}/send"), &fields).await.blocked("No consent on file");
    team.clinician.opens(&next).await.hidden();
    team.clinician.opens(&team.at("/summaries")).await.ok().lacks(&next);
}

#[tokio::test]
async fn two_people_in_one_draft_lose_no_word() {
    let team = Team::with_consents().await;
    let draft = team.drafts().await;
    let (first, second) = (team.teacher.opens(&draft).await.ok(), team.teacher.opens(&draft).await.ok());
    team.teacher.presses_on(&first, "Save the draft", &[("words", "the first words")]).await.redirected_to();
    let page = team.teacher.presses_on(&second, "Save the draft", &[("words", "the second words")]).await;
    page.status(409).sees("the first words").sees("the second words");
    // One draft of a track at a time.
    assert_eq!(team.drafts().await, draft);
    assert_eq!(team.world.count("summary").await, 1);
}
