//! Who reads an evaluation, and what of it crosses (G7).

use farpoint::access::Access;
use farpoint::access::action::Read;
use farpoint::access::resource::Evaluation;
use farpoint::access::standing::Password;
use farpoint::care::consent::Direction;
use farpoint::store::{evaluation, standing};

use super::setup::{FAR, Team};

#[tokio::test]
async fn without_consent_it_stays_with_the_clinic_and_goes_when_one_starts() {
    let team = Team::new().await;
    team.consents(Direction::SchoolToClinic).await;
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    team.clinician.opens(&draft).await.ok().sees("waiting for consent");
    team.teacher.opens(&draft).await.hidden();
    team.teacher.opens(&team.at("/evaluations")).await.ok().lacks("10/100").sees("once a consent from the clinic");
    // The family reads what the clinic signed; no consent is asked for that.
    team.parent.opens(&draft).await.ok().sees("10/100");
    team.consents(Direction::ClinicToSchool).await;
    team.teacher.opens(&draft).await.ok().sees("10/100");
}

#[tokio::test]
async fn what_was_sent_stays_readable_and_nothing_newer_crosses() {
    let team = Team::new().await;
    team.consents(Direction::SchoolToClinic).await;
    let consent = team.consents(Direction::ClinicToSchool).await;
    let first = team.writes().await;
    team.signs(&first).await.redirected_to();
    team.withdraws(consent).await;
    let second = team.writes().await;
    team.signs(&second).await.redirected_to();
    team.teacher.opens(&first).await.ok().sees("10/100");
    team.teacher.opens(&second).await.hidden();
    let page = team.teacher.opens(&team.at("/evaluations")).await.ok();
    assert_eq!(page.links().iter().filter(|(href, _)| href == &second).count(), 0);
    assert_eq!(page.links().iter().filter(|(href, _)| href == &first).count(), 1);
}

#[tokio::test]
async fn a_school_side_read_leaves_its_row_in_the_disclosure_record() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    let before = team.world.count("disclosure").await;
    team.teacher.opens(&draft).await.ok();
    assert!(team.world.count("disclosure").await > before);
    let before = team.world.count("disclosure").await;
    team.parent.opens(&draft).await.ok();
    assert_eq!(team.world.count("disclosure").await, before);
}

#[tokio::test]
async fn a_classroom_teacher_and_strangers_find_nothing() {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    let classroom = team.world.classroom_teacher().await;
    team.world.joins(&classroom, &team.pupil, &team.teacher).await;
    let strangers = [team.world.vision_teacher().await, team.world.clinician().await, team.world.steward().await];
    for person in strangers.iter().chain([&classroom]) {
        for path in ["", "/edit", "/edit/acuity", "/preview"] {
            person.opens(&format!("{draft}{path}")).await.hidden();
        }
        person.opens(&team.at("/evaluations")).await.hidden();
    }
    // The id of another student's evaluation below one's own student.
    let other = team.world.student_of(&team.teacher).await;
    let id = draft.rsplit('/').next().unwrap();
    team.teacher.opens(&other.at(&format!("/evaluations/{id}"))).await.hidden();
}

#[tokio::test]
async fn the_newest_row_of_each_kind_stands_for_the_others() {
    let team = Team::with_consents().await;
    let first = team.writes().await;
    let near = [("eye", "both"), ("correction", "habitual_glasses"), ("distance", "25 cm"), ("value", "2M @ 25 cm")];
    team.adds_row(&first, &near).await.redirected_to();
    team.signs(&first).await.redirected_to();
    team.world.days_later(40).await;
    let second = team.begins().await;
    let better: Vec<_> =
        FAR.into_iter().map(|(name, value)| (name, if name == "value" { "10/63" } else { value })).collect();
    team.adds_row(&second, &better).await.redirected_to();
    team.saves(&second, "distance", &[("answer", "not_looked_at")]).await.redirected_to();
    team.saves(&second, "near", &[("answer", "not_looked_at")]).await.redirected_to();
    team.signs(&second).await.redirected_to();
    let actor = team.teacher.actor();
    let mut snapshot = team.world.store().snapshot().await.unwrap();
    let standing = standing::of(&mut snapshot, actor, team.pupil.id, Password::NotEntered).await.unwrap();
    let access = Access::<Evaluation, Read>::grant(actor, team.pupil.id, &standing).unwrap();
    let rows = evaluation::newest_acuities(&mut snapshot, &access).await.unwrap();
    let written: Vec<&str> = rows.iter().map(|row| row.row.as_recorded.as_str()).collect();
    assert_eq!(written, ["10/63", "2M @ 25 cm"]);
    assert_eq!(evaluation::acuities(&mut snapshot, &access).await.unwrap().len(), 3);
}
