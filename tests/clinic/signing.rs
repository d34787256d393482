//! Signing: complete, with the password, once, and never changed after.

use farpoint::access::Access;
use farpoint::access::action::{Edit, Sign};
use farpoint::access::resource::Evaluation;
use farpoint::access::standing::Password;
use farpoint::care::ids::EvaluationId;
use farpoint::store::evaluation::{self, NewDraft};
use farpoint::store::{StoreError, account, standing};

use super::setup::{FAR, Team};
use crate::people::PASSWORD;

fn id_of(draft: &str) -> EvaluationId {
    draft.rsplit('/').next().unwrap().parse().unwrap()
}

#[tokio::test]
async fn what_is_missing_is_named_and_nothing_is_signed() {
    let team = Team::with_consents().await;
    let draft = team.begins().await;
    team.clinician
        .opens(&format!("{draft}/preview"))
        .await
        .ok()
        .sees("at least one acuity row")
        .sees("an answer for the near track");
    let before = team.world.content().await;
    let page = team.clinician.submits(&format!("{draft}/sign"), &[("password", PASSWORD), ("version", "1")]).await;
    page.status(422).sees("Missing: at least one acuity row");
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn signing_needs_the_password_of_the_clinician() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    let preview = format!("{draft}/preview");
    let before = team.world.content().await;
    for password in ["", "not the password"] {
        team.clinician.presses(&preview, "Sign the evaluation", &[("password", password)]).await.refused("password");
    }
    let after = team.world.content().await;
    for table in ["evaluation", "sending", "event"] {
        assert_eq!(after[table], before[table], "{table}");
    }
    team.signs(&draft).await.redirected_to();
}

#[tokio::test]
async fn a_draft_that_changed_since_it_was_read_is_read_again_first() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    let read = team.clinician.opens(&format!("{draft}/preview")).await.ok();
    team.adds_row(&draft, &FAR).await.redirected_to();
    let page = team.clinician.presses_on(&read, "Sign the evaluation", &[("password", PASSWORD)]).await;
    page.status(422).sees("changed since you read it");
    team.teacher.opens(&team.at("/evaluations")).await.ok().sees("No evaluation is here yet");
}

#[tokio::test]
async fn signed_it_goes_to_the_school_and_never_changes() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    // A draft is nobody's but the clinic's.
    for person in [&team.teacher, &team.parent] {
        person.opens(&draft).await.hidden();
        person.opens(&team.at("/evaluations")).await.ok().sees("No evaluation is here yet");
    }
    assert_eq!(team.signs(&draft).await.redirected_to(), draft);
    team.clinician.opens(&draft).await.ok().sees("It went to the school on 16 September 2026");
    for person in [&team.teacher, &team.parent] {
        let page = person.opens(&draft).await.ok();
        page.sees("10/100")
            .sees("1.00")
            .sees("6× handheld telescope")
            .sees("Sitting down, not outdoors yet")
            .lacks("Go on writing");
    }
    let before = team.world.content().await;
    for path in ["/edit", "/edit/exam", "/edit/acuity", "/edit/distance", "/preview"] {
        team.clinician.opens(&format!("{draft}{path}")).await.hidden();
    }
    for path in ["/edit/exam", "/edit/acuity", "/edit/refraction", "/edit/sight", "/edit/near", "/sign"] {
        team.clinician.submits(&format!("{draft}{path}"), &[("version", "9"), ("password", PASSWORD)]).await.hidden();
    }
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn the_store_itself_refuses_to_change_what_is_signed() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    let (store, actor, id) = (team.world.store(), team.clinician.actor(), id_of(&draft));
    let reentered = account::reenter(store, &team.world.app().passwords, actor, PASSWORD).await.unwrap().ok().unwrap();
    let mut tx = store.tx().await.unwrap();
    let standing = standing::of(&mut tx, actor, team.pupil.id, Password::JustEntered).await.unwrap();
    let editing = Access::<Evaluation, Edit>::grant(actor, team.pupil.id, &standing).unwrap();
    let signing = Access::<Evaluation, Sign>::grant(actor, team.pupil.id, &standing).unwrap();
    let signed = evaluation::one(&mut tx, &editing, id).await.unwrap();
    let exam = NewDraft { examined_on: team.world.today(), place: "elsewhere".to_owned(), next_due_on: None };
    let version = signed.version;
    let refused = |answer: Result<(), StoreError>| assert!(matches!(answer, Err(StoreError::Missing)), "{answer:?}");
    refused(evaluation::save_exam(&mut tx, &editing, id, &exam, version).await);
    refused(evaluation::save_findings(&mut tx, &editing, id, &signed.findings, version).await);
    refused(evaluation::save_refraction(&mut tx, &editing, id, None, None, version).await);
    refused(evaluation::save_answer(&mut tx, &editing, id, &signed.answers[0], version).await);
    refused(evaluation::remove_acuity(&mut tx, &editing, id, signed.acuities[0].id, version).await);
    refused(
        evaluation::change_acuity(&mut tx, &editing, id, signed.acuities[0].id, &signed.acuities[0].row, version).await,
    );
    refused(evaluation::add_acuity(&mut tx, &editing, id, &signed.acuities[0].row).await.map(|_| ()));
    let complete = signed.complete().expect("it was signed, so nothing is missing");
    refused(evaluation::sign(&mut tx, &signing, &reentered, &complete).await.map(|_| ()));
}

#[tokio::test]
async fn a_colleagues_password_does_not_sign() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    let colleague = team.world.clinician().await;
    let (store, actor) = (team.world.store(), team.clinician.actor());
    let theirs =
        account::reenter(store, &team.world.app().passwords, colleague.actor(), PASSWORD).await.unwrap().ok().unwrap();
    let mut tx = store.tx().await.unwrap();
    let standing = standing::of(&mut tx, actor, team.pupil.id, Password::JustEntered).await.unwrap();
    let signing = Access::<Evaluation, Sign>::grant(actor, team.pupil.id, &standing).unwrap();
    let complete = evaluation::one(&mut tx, &signing, id_of(&draft)).await.unwrap().complete().unwrap();
    let answer = evaluation::sign(&mut tx, &signing, &theirs, &complete).await;
    assert!(matches!(answer, Err(StoreError::Missing)));
}

#[tokio::test]
async fn a_vision_teacher_neither_writes_nor_signs() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    let before = team.world.content().await;
    team.teacher.opens(&team.at("/evaluations/new")).await.forbidden();
    for path in ["/edit/exam", "/edit/acuity", "/sign"] {
        let answer = team.teacher.submits(&format!("{draft}{path}"), &[("version", "4"), ("password", PASSWORD)]).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
        let answer = team.parent.submits(&format!("{draft}{path}"), &[("version", "4"), ("password", PASSWORD)]).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
    }
    let after = team.world.content().await;
    for table in ["evaluation", "acuity", "sending", "event"] {
        assert_eq!(after[table], before[table], "{table}");
    }
}
