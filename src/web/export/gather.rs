//! What this reader may read of one student, kind by kind, under its own proof.
//!
//! Each kind is asked for with [`Access::part`], so the policy answers as it
//! would for the page of that kind; where it says no, the kind is left out.
//! Runs inside the transaction that wrote the disclosure rows.

mod rows;
mod texts;

use std::collections::BTreeMap;

use super::super::error::Result;
use crate::access::Access;
use crate::access::action::Export;
use crate::access::resource::{
    Card, ClassObservation, Consents, Contacts, DisclosureRecord, Evaluation, EvaluationRequest, HomeObservation,
    Identity, Initials, Intake, Loans, Prescription, Resource, Row, SafetyFlag, Summary, Team, Thread, Training,
    Transcription, TryAtHome, VisualTasks, WholeRecord,
};
use crate::care::amendment::{Kind, Subject};
use crate::care::evaluation::Evaluation as Evaluated;
use crate::care::gates::Named;
use crate::exchange::record::{self, Record};
use crate::exchange::table::Table;
use crate::store::attachment::{self, Attachment, Parent};
use crate::store::setting::Site;
use crate::store::{
    Snapshot, amendment, consent, decision, disclosure, evaluation, goal, loan, observation, own_device, post,
    prescription, safety, shared_note, student, summary, task, team, training,
};

/// Every kind of record that is asked for.
pub(super) const KINDS: &[Row] = &[
    Identity::ROW,
    Initials::ROW,
    Contacts::ROW,
    Intake::ROW,
    EvaluationRequest::ROW,
    Evaluation::ROW,
    Transcription::ROW,
    Prescription::ROW,
    Loans::ROW,
    Training::ROW,
    ClassObservation::ROW,
    HomeObservation::ROW,
    VisualTasks::ROW,
    Card::ROW,
    TryAtHome::ROW,
    Consents::ROW,
    Summary::ROW,
    Thread::ROW,
    SafetyFlag::ROW,
];

/// What was found.
pub(super) struct Found {
    /// The record.
    pub record: Record,
    /// Words of forms that have no table of their own.
    pub texts: Table,
    /// Attached files, each with what it hangs on.
    pub attachments: Vec<((&'static str, String), Attachment)>,
}

type Whole = Access<WholeRecord, Export>;

/// Gathers it all.
pub(super) async fn record(snapshot: &mut Snapshot, access: &Whole, site: &Site) -> Result<Found> {
    let mut record = Record { owner: site.owner().to_owned(), ..Record::default() };
    record.student = who(snapshot, access).await?;
    if let Ok(access) = access.part::<Team>() {
        record.people = team::members(snapshot, &access).await?.into_iter().map(rows::person).collect();
    }
    let (mut files, mut findings) = (Vec::new(), Vec::new());
    evaluations(snapshot, access, &mut record, (&mut files, &mut findings)).await?;
    if let Ok(access) = access.part::<Prescription>() {
        let signed = prescription::list(snapshot, &access).await?;
        record.prescriptions = signed.into_iter().filter_map(rows::prescription).collect();
        record.decisions = decision::list(snapshot, &access).await?.into_iter().map(rows::decision).collect();
    }
    let devices = devices(snapshot, access, &mut record).await?;
    if let Ok(access) = access.part::<Training>() {
        for (in_error, all) in
            [(false, training::list(snapshot, &access).await?), (true, training::errors(snapshot, &access).await?)]
        {
            record.sessions.extend(all.iter().map(|one| rows::session(one, in_error, &devices)));
        }
    }
    observations(snapshot, access, &mut record, &devices).await?;
    if let Ok(access) = access.part::<VisualTasks>() {
        let all = task::tasks_with_retired(snapshot, &access).await?;
        record.tasks = all.iter().map(rows::task).collect();
        let set = goal::of_student(snapshot, &access).await?;
        record.goals = set.own.into_iter().map(rows::goal).collect();
    }
    if let Ok(access) = access.part::<Consents>() {
        for one in consent::list(snapshot, &access).await? {
            let id = one.consent.id;
            let found = attachment::of_parent(snapshot, &access, Parent::Consent(id)).await?;
            files.extend(found.into_iter().map(|file| (("consent", id.to_string()), file)));
            record.consents.push(rows::consent(one));
        }
    }
    if let Ok(access) = access.part::<Summary>() {
        let sent = summary::list(snapshot, &access).await?;
        record.summaries = sent.into_iter().filter_map(rows::summary).collect();
    }
    if let Ok(access) = access.part::<Thread>() {
        record.posts = post::of_student(snapshot, &access).await?.into_iter().map(rows::post).collect();
    }
    if let Ok(access) = access.part::<SafetyFlag>() {
        for one in safety::flags(snapshot, &access).await? {
            let id = one.noticed.id;
            let found = attachment::of_parent(snapshot, &access, Parent::Flag(id)).await?;
            files.extend(found.into_iter().map(|file| (("flag", id.to_string()), file)));
        }
    }
    if let Ok(access) = access.part::<DisclosureRecord>() {
        let all = disclosure::of_student(snapshot, &access, i64::MAX).await?;
        record.disclosures = all.into_iter().map(rows::disclosure).collect();
    }
    record.amendments = amendments(snapshot, access).await?;
    let texts = texts::gather(snapshot, access, findings).await?;
    Ok(Found { record, texts, attachments: files })
}

async fn who(snapshot: &mut Snapshot, access: &Whole) -> Result<record::Student> {
    let id = access.student().to_string();
    if let Ok(access) = access.part::<Identity>() {
        let known = student::identity(snapshot, &access).await?;
        return Ok(record::Student {
            id,
            number: Some(known.number),
            name: known.name,
            initials_only: false,
            birth_date: Some(known.birth_date),
            languages: known.languages,
        });
    }
    let name = match access.part::<Initials>() {
        Ok(access) => student::initials_of(snapshot, &access).await?,
        Err(_) => String::new(),
    };
    Ok(record::Student { id, name, initials_only: true, ..record::Student::default() })
}

/// Every field that was amended with a reason, under the proof of its record.
async fn amendments(snapshot: &mut Snapshot, access: &Whole) -> Result<Vec<record::Amended>> {
    let mut found = Vec::new();
    of_kinds::<Intake>(snapshot, access, &[Kind::Intake], &mut found).await?;
    of_kinds::<Contacts>(snapshot, access, &[Kind::Contact], &mut found).await?;
    of_kinds::<EvaluationRequest>(snapshot, access, &[Kind::Request], &mut found).await?;
    of_kinds::<Evaluation>(snapshot, access, &[Kind::Evaluation], &mut found).await?;
    of_kinds::<Transcription>(snapshot, access, &[Kind::Evaluation], &mut found).await?;
    of_kinds::<Prescription>(snapshot, access, &[Kind::Decision, Kind::Prescription], &mut found).await?;
    of_kinds::<Loans>(snapshot, access, &[Kind::Loan, Kind::OwnDevice], &mut found).await?;
    of_kinds::<Training>(snapshot, access, &[Kind::Readiness, Kind::Session], &mut found).await?;
    of_kinds::<ClassObservation>(snapshot, access, &[Kind::Observation], &mut found).await?;
    of_kinds::<HomeObservation>(snapshot, access, &[Kind::Observation], &mut found).await?;
    of_kinds::<VisualTasks>(snapshot, access, &[Kind::Task, Kind::Seat, Kind::Goal], &mut found).await?;
    of_kinds::<Card>(snapshot, access, &[Kind::Card], &mut found).await?;
    of_kinds::<Summary>(snapshot, access, &[Kind::Summary], &mut found).await?;
    of_kinds::<Thread>(snapshot, access, &[Kind::Post], &mut found).await?;
    Ok(found)
}

/// Most records were never amended, so only those that were are asked about.
async fn of_kinds<R: Resource>(
    snapshot: &mut Snapshot,
    access: &Whole,
    kinds: &[Kind],
    found: &mut Vec<record::Amended>,
) -> Result<()> {
    let Ok(access) = access.part::<R>() else { return Ok(()) };
    for kind in kinds {
        for id in amendment::latest(snapshot, &access, *kind).await?.into_keys() {
            let all = amendment::of_record(snapshot, &access, Subject::named(*kind, id.clone())).await?;
            let reasoned = all.into_iter().filter(|one| !one.reason.is_empty());
            found.extend(reasoned.map(|one| rows::amended(*kind, &id, one)));
        }
    }
    Ok(())
}

type Files = Vec<((&'static str, String), Attachment)>;

async fn evaluations(
    snapshot: &mut Snapshot,
    access: &Whole,
    record: &mut Record,
    (files, findings): (&mut Files, &mut Vec<Evaluated>),
) -> Result<()> {
    if let Ok(access) = access.part::<Evaluation>() {
        for listed in evaluation::list(snapshot, &access).await? {
            if listed.signed_at.is_some() {
                let whole = evaluation::one(snapshot, &access, listed.id).await?;
                record.evaluations.extend(rows::evaluation(&listed, &whole));
                findings.push(whole);
            }
        }
    }
    if let Ok(access) = access.part::<Transcription>() {
        for listed in evaluation::list(snapshot, &access).await? {
            if listed.signed_at.is_some() {
                let whole = evaluation::one(snapshot, &access, listed.id).await?;
                let found = attachment::of_parent(snapshot, &access, Parent::Transcription(listed.id)).await?;
                files.extend(found.into_iter().map(|file| (("transcription", listed.id.to_string()), file)));
                record.evaluations.extend(rows::evaluation(&listed, &whole));
                findings.push(whole);
            }
        }
    }
    Ok(())
}

/// Which device an entry names, by the loan or own device it was stored with.
pub(super) struct Devices(BTreeMap<String, String>);

impl Devices {
    fn of(&self, named: Named) -> Option<String> {
        match named {
            Named::NoDevice => None,
            Named::Loan(id) => self.0.get(&id.to_string()).cloned(),
            Named::Own(id) => self.0.get(&id.to_string()).cloned(),
        }
    }
}

async fn devices(snapshot: &mut Snapshot, access: &Whole, record: &mut Record) -> Result<Devices> {
    let mut named = BTreeMap::new();
    let Ok(access) = access.part::<Loans>() else { return Ok(Devices(named)) };
    for (in_error, all) in
        [(false, loan::list(snapshot, &access).await?), (true, loan::errors(snapshot, &access).await?)]
    {
        for one in &all {
            named.insert(one.id.to_string(), one.device.to_string());
            if record.device(&one.device.to_string()).is_none() {
                record.devices.push(rows::lent(one));
            }
            record.loans.push(rows::loan(one, in_error));
        }
    }
    let owned =
        [(false, own_device::list(snapshot, &access).await?), (true, own_device::errors(snapshot, &access).await?)];
    for (in_error, all) in owned {
        for one in all {
            named.insert(one.id.to_string(), one.id.to_string());
            record.devices.push(rows::owned(one, in_error));
        }
    }
    Ok(Devices(named))
}

async fn observations(snapshot: &mut Snapshot, access: &Whole, record: &mut Record, devices: &Devices) -> Result<()> {
    if let Ok(access) = access.part::<ClassObservation>() {
        let mut all = observation::in_class(snapshot, &access).await?;
        all.extend(observation::errors_in_class(snapshot, &access).await?);
        record.observations.extend(all.into_iter().map(|one| rows::observation(one, None, devices)));
    }
    if let Ok(access) = access.part::<HomeObservation>() {
        let marks = shared_note::marks(snapshot, &access).await?;
        let mut all = observation::outside(snapshot, &access).await?;
        all.extend(observation::errors_outside(snapshot, &access).await?);
        for one in all {
            let shared = marks.get(&one.fact.id).map(|mark| mark.sharing == shared_note::Sharing::WithClass);
            record.observations.push(rows::observation(one, shared, devices));
        }
    }
    Ok(())
}
