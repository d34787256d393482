//! What the store and the database refuse by themselves, whoever calls.
//!
//! That a guarded write cannot be called without its gate's token is a fact of
//! the compiler: `loan::open` takes `SafeToTrain` and `RightLoan`,
//! `training::record` a `Through`, `readiness::sign` a `MaySignReadiness`,
//! `summary::send` a `MayCross`, `decision::sign` and `prescription::sign` a
//! `MayFinalise`, `request::ask` a `Purposeful`, `safety::clear` a `MayClear`,
//! `allowance::ask` and `allow` an `AnotherDevice`, `own_device::settle` a
//! `MaySettle`, `repair::begin` a `MayRepair`, `extension::extend` a `MayExtend`;
//! none of them has another constructor than its gate (`care::gates`). Here:
//! a token of another day, track or direction is refused, and what is signed is
//! never written again.

use farpoint::access::Access;
use farpoint::access::Office;
use farpoint::access::action::{Action, Create, Edit, Sign};
use farpoint::access::resource::{Consents, Loans, Pause, Pool, Prescription, Resource, Summary, Training};
use farpoint::access::standing::Password;
use farpoint::care::device::Condition;
use farpoint::care::flag::Clearing;
use farpoint::care::gates::{Named, may_clear, right_loan, safe_to_train};
use farpoint::care::ids::{DeviceId, FlagId, LoanId, PrescriptionId, SummaryId};
use farpoint::care::loan::{AgreedBy, HeldBy, LoanPurpose, NewLoan};
use farpoint::care::track::{Eye, Track};
use farpoint::store::account::Reentered;
use farpoint::store::prescription::{self as prescriptions};
use farpoint::store::summary::{self as summaries, Frozen};
use farpoint::store::{StoreError, Tx, account, consent, journey, loan, pool, safety, standing};
use jiff::ToSpan;
use std::collections::BTreeMap;

use super::id_in;
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

/// A proof as the service would give it to this person now.
async fn proof<R: Resource, A: Action>(tx: &mut Tx, team: &Team, person: &Person) -> Access<R, A> {
    let standing = standing::of(tx, person.actor(), team.pupil.id, Password::JustEntered).await.expect("a standing");
    Access::grant(person.actor(), team.pupil.id, &standing).expect("this person may")
}

async fn reentered(world: &World, person: &Person) -> Reentered {
    let answer =
        account::reenter(world.store(), &world.app().passwords, person.actor(), PASSWORD).await.expect("answers");
    answer.ok().expect("the password is right")
}

async fn newest<T: std::str::FromStr>(world: &World, team: &Team, table: &str) -> T {
    let id = world.newest(table, &team.pupil).await.unwrap_or_else(|| panic!("no {table}"));
    id.parse().unwrap_or_else(|_| panic!("{id} is no id of {table}"))
}

fn refused<T>(answer: Result<T, StoreError>) {
    match answer {
        Err(StoreError::Missing | StoreError::Stale | StoreError::Taken) => {}
        Err(other) => panic!("it failed: {other:?}"),
        Ok(_) => panic!("it was stored"),
    }
}

fn terms(world: &World, track: Track, lent_on: jiff::civil::Date) -> NewLoan {
    NewLoan {
        track,
        eye: Eye::Right,
        lent_on,
        due_on: world.today().saturating_add(60.days()),
        condition_out: Condition::Good,
        strap: true,
        carry_case: true,
        home_use: false,
        agreement_by: AgreedBy::School,
        held_by: HeldBy::Student,
        purpose: LoanPurpose::Trial,
    }
}

#[tokio::test]
async fn a_loan_takes_the_tokens_of_its_own_day_and_track() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Evaluated).await;
    let device: DeviceId = id_in(&team.stocks_match(&world, &DISTANCE).await).parse().expect("a device");
    let mut tx = world.store().tx().await.expect("a transaction");
    let access = proof::<Loans, Create>(&mut tx, &team, &team.teacher).await;
    let office = Office::<Pool, farpoint::access::action::Read>::grant(team.teacher.actor(), Password::NotEntered)
        .expect("the pool");
    let today = world.today();
    let tracks = journey::tracks_on(&mut tx, &access, today).await.expect("the journey");
    let safe = safe_to_train(tracks.of(Track::Distance)).expect("a signed evaluation says so");
    let pooled = pool::to_lend(&mut tx, &office, device, Eye::Right, today).await.expect("in the pool");
    let right = right_loan(tracks.of(Track::Distance), safe, &pooled, &[]).expect("it matches");
    refused(loan::open(&mut tx, &access, safe, &right, &terms(&world, Track::Near, today)).await);
    let yesterday = today.yesterday().expect("a day before");
    refused(loan::open(&mut tx, &access, safe, &right, &terms(&world, Track::Distance, yesterday)).await);
    loan::open(&mut tx, &access, safe, &right, &terms(&world, Track::Distance, today))
        .await
        .expect("its own day and track");
    // One open loan per device: the database's own rule, met inside the transaction.
    refused(loan::open(&mut tx, &access, safe, &right, &terms(&world, Track::Distance, today)).await);
}

#[tokio::test]
async fn the_database_itself_keeps_one_open_loan_per_device() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let other = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let (ours, theirs): (LoanId, LoanId) = (newest(&world, &team, "loan").await, newest(&world, &other, "loan").await);
    let mut write = world.store().db().begin_write().await.expect("a transaction");
    let done = sqlx::query("update loan set device_id = (select device_id from loan where id = $1) where id = $2")
        .bind(ours.to_string())
        .bind(theirs.to_string())
        .execute(&mut *write)
        .await;
    let error = done.expect_err("two open loans of one device");
    assert!(error.as_database_error().is_some_and(sqlx::error::DatabaseError::is_unique_violation), "{error:?}");
}

#[tokio::test]
async fn a_sent_summary_is_never_written_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let id: SummaryId = newest(&world, &team, "summary").await;
    let me = reentered(&world, &team.teacher).await;
    let before = world.content().await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let editing = proof::<Summary, Edit>(&mut tx, &team, &team.teacher).await;
    let signing = proof::<Summary, Sign>(&mut tx, &team, &team.teacher).await;
    let sent = summaries::one(&mut tx, &editing, id).await.expect("it is there");
    let figures = sent.figures.clone().expect("frozen with it");
    for version in [1, sent.version, sent.version + 1] {
        refused(summaries::change(&mut tx, &editing, id, &sent.texts, &figures, version).await);
        let destination = summaries::destination(&mut tx, &editing).await.expect("a clinic");
        let may = destination.may_send(world.today(), world.store().clock().now()).expect("a consent is in force");
        let frozen = Frozen { figures: &figures, covered: &[], entries: &[] };
        refused(summaries::send(&mut tx, &signing, &me, &may, (id, version), &frozen).await);
    }
    drop(tx);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_signed_prescription_is_never_written_again() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    let id: PrescriptionId = newest(&world, &team, "prescription").await;
    let me = reentered(&world, &team.clinician).await;
    let before = world.content().await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let editing = proof::<Prescription, Edit>(&mut tx, &team, &team.clinician).await;
    let signing = proof::<Prescription, Sign>(&mut tx, &team, &team.clinician).await;
    let signed = prescriptions::one(&mut tx, &editing, id).await.expect("it is there");
    let mut other = signed.contents.clone();
    other.limits = "none at all".to_owned();
    for version in [1, signed.version, signed.version + 1] {
        refused(prescriptions::change(&mut tx, &editing, (id, version), &other, &[]).await);
        refused(prescriptions::sign(&mut tx, &signing, &me, &BTreeMap::new(), (id, version)).await);
    }
    drop(tx);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn devices_are_not_signed_for_without_a_token_of_their_track() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Decided).await;
    let draft = team.drafts_prescription(&world).await;
    let id: PrescriptionId = id_in(&draft).parse().expect("a prescription");
    let me = reentered(&world, &team.clinician).await;
    let colleague = reentered(&world, &world.clinician().await).await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let signing = proof::<Prescription, Sign>(&mut tx, &team, &team.clinician).await;
    let version = prescriptions::one(&mut tx, &signing, id).await.expect("the draft").version;
    refused(prescriptions::sign(&mut tx, &signing, &me, &BTreeMap::new(), (id, version)).await);
    let tracks = journey::tracks(&mut tx, &signing).await.expect("the journey");
    let named = prescriptions::one(&mut tx, &signing, id).await.expect("the draft").contents.devices;
    let tokens: BTreeMap<Track, _> = named
        .iter()
        .map(|(track, devices)| {
            let specs: Vec<_> = devices.iter().map(|device| device.spec.clone()).collect();
            (*track, farpoint::care::gates::may_finalise(tracks.of(*track), &specs, None).expect("a summary covers it"))
        })
        .collect();
    // Nor by the password of somebody else.
    refused(prescriptions::sign(&mut tx, &signing, &colleague, &tokens, (id, version)).await);
    prescriptions::sign(&mut tx, &signing, &me, &tokens, (id, version)).await.expect("with its token");
}

#[tokio::test]
async fn nobody_has_a_proof_about_a_student_who_is_not_theirs() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    let strangers = [world.vision_teacher().await, world.parent().await, world.clinician().await];
    let mut tx = world.store().tx().await.expect("a transaction");
    for person in &strangers {
        let standing =
            standing::of(&mut tx, person.actor(), team.pupil.id, Password::JustEntered).await.expect("a standing");
        let student = team.pupil.id;
        assert!(Access::<Training, Create>::grant(person.actor(), student, &standing).is_err(), "{}", person.name);
        assert!(Access::<Consents, Sign>::grant(person.actor(), student, &standing).is_err(), "{}", person.name);
        assert!(Access::<Prescription, Sign>::grant(person.actor(), student, &standing).is_err(), "{}", person.name);
    }
    // On the team, and before a consent names the clinic: no examination.
    let standing =
        standing::of(&mut tx, team.clinician.actor(), team.pupil.id, Password::JustEntered).await.expect("a standing");
    let beginning = Access::<farpoint::access::resource::Evaluation, Create>::grant(
        team.clinician.actor(),
        team.pupil.id,
        &standing,
    );
    assert!(beginning.is_err());
}

#[tokio::test]
async fn a_proof_about_one_student_reaches_no_row_of_another() {
    let world = World::new().await;
    let ours = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let theirs = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    theirs.parent.presses(&theirs.at("/safety"), "Send the red flag", &[("sign", "rf1")]).await.redirected_to();
    let (loan_id, summary_id): (LoanId, SummaryId) =
        (newest(&world, &theirs, "loan").await, newest(&world, &theirs, "summary").await);
    let (consent_id, flag_id) =
        (newest(&world, &theirs, "consent").await, newest::<FlagId>(&world, &theirs, "flag").await);
    let (parent, clinician) = (reentered(&world, &ours.parent).await, reentered(&world, &ours.clinician).await);
    let before = world.content().await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let today = world.today();
    let lending = proof::<Loans, Edit>(&mut tx, &ours, &ours.teacher).await;
    refused(loan::give_back(&mut tx, &lending, loan_id, 1, today, Condition::Good).await);
    refused(loan::one(&mut tx, &lending, loan_id).await);
    let reading = proof::<Summary, Edit>(&mut tx, &ours, &ours.teacher).await;
    refused(summaries::one(&mut tx, &reading, summary_id).await);
    let signing = proof::<Consents, Sign>(&mut tx, &ours, &ours.parent).await;
    refused(consent::withdraw(&mut tx, &signing, &parent, consent_id).await);
    let clearing = proof::<Pause, Sign>(&mut tx, &ours, &ours.clinician).await;
    let may = may_clear(Clearing::ByClinician).expect("a clinician may");
    refused(safety::clear(&mut tx, &clearing, &clinician, may, flag_id, "fine").await);
    drop(tx);
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_session_names_no_device_of_another_student() {
    let world = World::new().await;
    let ours = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let theirs = Team::up_to(&world, &DISTANCE, Step::Lent).await;
    let loan: LoanId = newest(&world, &theirs, "loan").await;
    let code = farpoint::care::loan::code_of(Named::Loan(loan));
    let today = world.day(0);
    let lesson = super::session(&DISTANCE, &code, &today, "focusing");
    let why = ("was not on loan to the student on that day", "/devices");
    super::closed(&world, &ours, (&ours.teacher, "/training/new"), &lesson, why).await;
}
