//! The records of both tracks as facts, a few queries for any number of students.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::civil::Date;
use sqlx::any::AnyRow;
use sqlx::query;

use super::super::asked::asked;
use super::super::spec::{self, OfDocuments, Owner};
use super::super::{Result, Snapshot};
use super::{BOTH, Gathered, basis};
use crate::care::device::DeviceSpec;
use crate::care::document::{Kind, Mark};
use crate::care::ids::StudentId;
use crate::care::journey::fact::{Answer, Choice, Fact, Receipt, Safe, Source, What};
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::db::column::Columns;

pub(super) async fn all(snapshot: &mut Snapshot, students: &str) -> Result<BTreeMap<StudentId, Gathered>> {
    let specs = spec::of_students(snapshot, students).await?;
    let mut facts = Facts::default();
    opened(snapshot, students, &mut facts).await?;
    requests(snapshot, students, &mut facts).await?;
    evaluations(snapshot, students, &specs, &mut facts).await?;
    loans(snapshot, students, &mut facts).await?;
    summaries(snapshot, students, &specs, &mut facts).await?;
    decisions(snapshot, students, &specs, &mut facts).await?;
    prescriptions(snapshot, students, &specs, &mut facts).await?;
    own_devices(snapshot, students, &specs, &mut facts).await?;
    let mut gathered: BTreeMap<StudentId, Gathered> = BTreeMap::new();
    for (student, track, fact) in facts.0 {
        gathered.entry(student).or_default().facts.push((track, fact));
    }
    let sent =
        concat!("select student_id, document_id from sending where to_side = 'school' and student_id in ", asked!());
    for row in &query(sent).bind(students.to_owned()).fetch_all(snapshot.connection()).await? {
        gathered.entry(row.parsed("student_id")?).or_default().sent_to_school.insert(row.text("document_id")?);
    }
    ended(snapshot, students, &mut gathered).await?;
    Ok(gathered)
}

/// What became of documents after they were signed.
async fn ended(snapshot: &mut Snapshot, students: &str, gathered: &mut BTreeMap<StudentId, Gathered>) -> Result<()> {
    let rows = query(concat!(
        "select student_id, document_kind, document_id, mark, next_id, at, crossed_at from document_mark
         where mark <> 'amended' and student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (id, mark) = (row.text("document_id")?, row.parsed::<Mark>("mark")?);
        let gathered = gathered.entry(row.parsed("student_id")?).or_default();
        if row.opt_instant("crossed_at")?.is_none() {
            gathered.end_unknown.insert(id.clone());
        }
        // A prescription says itself what its successor leaves of it.
        let prescription = row.parsed::<Kind>("document_kind")? == Kind::Prescription;
        if let Some(next) = row.opt_text("next_id")?.filter(|_| mark == Mark::Superseded && !prescription) {
            gathered.superseded.insert(id, (next, snapshot.date_of(row.instant("at")?)));
        }
    }
    Ok(())
}

/// Facts as they are found, each with its student and its track.
#[derive(Default)]
struct Facts(Vec<(StudentId, Track, Fact)>);

impl Facts {
    fn add(&mut self, row: &AnyRow, track: Track, fact: Fact) -> std::result::Result<(), sqlx::Error> {
        self.0.push((row.parsed("student_id")?, track, fact));
        Ok(())
    }

    fn add_to_both(&mut self, row: &AnyRow, fact: &Fact) -> std::result::Result<(), sqlx::Error> {
        BOTH.into_iter().try_for_each(|track| self.add(row, track, fact.clone()))
    }
}

fn fact(on: Date, entered: Timestamp, error: bool, what: What) -> Fact {
    Fact { on, entered, entered_in_error: error, what }
}

fn plain(named: Vec<NamedDevice>) -> Vec<DeviceSpec> {
    named.into_iter().map(|device| device.spec).collect()
}

async fn opened(snapshot: &mut Snapshot, students: &str, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!("select id as student_id, created_at from student where id in ", asked!()))
        .bind(students.to_owned())
        .fetch_all(snapshot.connection())
        .await?;
    for row in &rows {
        let at = row.instant("created_at")?;
        facts.add_to_both(row, &fact(snapshot.date_of(at), at, false, What::RecordOpened))?;
    }
    Ok(())
}

async fn requests(snapshot: &mut Snapshot, students: &str, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select student_id, id, requested_on, entered_at, withdrawn_at from evaluation_request where student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let request = row.parsed("id")?;
        let asked =
            fact(row.date("requested_on")?, row.instant("entered_at")?, false, What::EvaluationRequested { request });
        facts.add_to_both(row, &asked)?;
        if let Some(at) = row.opt_instant("withdrawn_at")? {
            let back = fact(snapshot.date_of(at), at, false, What::RequestWithdrawn { request });
            facts.add_to_both(row, &back)?;
        }
    }
    Ok(())
}

async fn evaluations(snapshot: &mut Snapshot, students: &str, specs: &OfDocuments, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select e.student_id, e.id, e.source, e.state, e.report_kind, e.examined_on, e.signed_at, t.track, t.answer, t.safe
         from evaluation e join track_answer t on t.evaluation_id = e.id
         where e.signed_at is not null and e.examined_on is not null and e.student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (id, track): (String, Track) = (row.text("id")?, row.parsed("track")?);
        let state = row.text("state")?;
        let source = match (row.text("source")?.as_str(), state.as_str()) {
            ("clinician", _) => Source::Signed,
            // G2: an ordinary eye report is background, confirmed or not.
            _ if row.text("report_kind")? == "eye" => Source::Background,
            (_, "confirmed") => Source::Confirmed,
            _ => Source::Transcribed,
        };
        let answer = match row.text("answer")?.as_str() {
            "devices" => Answer::Devices(plain(spec::of_document(specs, Owner::Evaluation, &id, track))),
            "keep_own_device" => Answer::KeepOwnDevice,
            "none" => Answer::NoDevice,
            _ => Answer::NotLookedAt,
        };
        let signed_at = row.instant("signed_at")?;
        let what = What::EvaluationAnswered {
            evaluation: row.parsed("id")?,
            source,
            signed_on: snapshot.date_of(signed_at),
            safe: row.parsed::<Safe>("safe")?,
            answer,
        };
        facts.add(row, track, fact(row.date("examined_on")?, signed_at, state == "entered_in_error", what))?;
    }
    Ok(())
}

async fn loans(snapshot: &mut Snapshot, students: &str, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select l.student_id, l.id, l.device_id, l.track, l.lent_on, l.returned_on, l.entered_at, l.entered_in_error_at, l.eye,
         d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m, d.reading_cap_d, d.equivalent_power_d, d.lens_mm,
         d.stand_height_mm, d.light, d.over_glasses
         from loan l join device d on d.id = l.device_id where l.student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (track, loan, at) = (row.parsed("track")?, row.parsed("id")?, row.instant("entered_at")?);
        let error = row.opt_instant("entered_in_error_at")?.is_some();
        let what = What::LoanOpened { loan, device: row.parsed("device_id")?, spec: spec::spec(row)? };
        facts.add(row, track, fact(row.date("lent_on")?, at, error, what))?;
        if let Some(day) = row.opt_date("returned_on")? {
            facts.add(row, track, fact(day, at, error, What::LoanReturned { loan }))?;
        }
    }
    let rows = query(concat!(
        "select student_id, track, device_id, under_kind, under_id, at, account_id, withdrawn_at from loan_allowance
         where student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let under = basis(row, "under_kind", "under_id")?;
        let (track, at, device) = (row.parsed("track")?, row.instant("at")?, row.parsed("device_id")?);
        let what = What::DeviceAllowed { device, under, by: row.parsed("account_id")? };
        facts.add(row, track, fact(snapshot.date_of(at), at, false, what))?;
        if let Some(at) = row.opt_instant("withdrawn_at")? {
            facts.add(row, track, fact(snapshot.date_of(at), at, false, What::AllowanceEnded { device, under }))?;
        }
    }
    Ok(())
}

/// The document a loan or a session rests on.
async fn summaries(snapshot: &mut Snapshot, students: &str, specs: &OfDocuments, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select student_id, id, track, state, sent_at from summary where sent_at is not null and student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (track, at) = (row.parsed("track")?, row.instant("sent_at")?);
        let covers = plain(spec::of_document(specs, Owner::Summary, &row.text("id")?, track));
        let what = What::SummarySent { summary: row.parsed("id")?, covers };
        facts.add(row, track, fact(snapshot.date_of(at), at, row.text("state")? == "entered_in_error", what))?;
    }
    Ok(())
}

async fn decisions(snapshot: &mut Snapshot, students: &str, specs: &OfDocuments, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select student_id, id, track, choice, decided_on, signed_at, state from decision where student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let track = row.parsed("track")?;
        let what = What::Decided {
            decision: row.parsed("id")?,
            choice: row.parsed::<Choice>("choice")?,
            devices: plain(spec::of_document(specs, Owner::Decision, &row.text("id")?, track)),
        };
        let error = row.text("state")? == "entered_in_error";
        facts.add(row, track, fact(row.date("decided_on")?, row.instant("signed_at")?, error, what))?;
    }
    Ok(())
}

async fn prescriptions(snapshot: &mut Snapshot, students: &str, specs: &OfDocuments, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select p.student_id, p.id, p.state, p.written_on, p.signed_at, s.signed_at as next_at, s.id as next_id, s.state as next_state,
         m.at as cancelled_at
         from prescription p left join prescription s on s.supersedes_id = p.id and s.signed_at is not null
         left join document_mark m on m.document_kind = 'prescription' and m.document_id = p.id and m.mark = 'cancelled'
         where p.signed_at is not null and p.written_on is not null and p.student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (id, state, at) = (row.text("id")?, row.text("state")?, row.instant("signed_at")?);
        for track in BOTH {
            let devices = plain(spec::of_document(specs, Owner::Prescription, &id, track));
            if devices.is_empty() {
                continue;
            }
            let prescription = row.parsed("id")?;
            let signed = What::PrescriptionSigned { prescription, devices };
            facts.add(row, track, fact(row.date("written_on")?, at, state == "entered_in_error", signed))?;
            // One that names this track's device again brings a fact of its own;
            // one that does not, or counts no longer itself, ends what this
            // prescription said of the track: it never comes back.
            let next = row.opt_text("next_id")?.unwrap_or_default();
            let next_stands = !matches!(row.opt_text("next_state")?.as_deref(), Some("cancelled" | "entered_in_error"));
            let named_again = next_stands && !spec::of_document(specs, Owner::Prescription, &next, track).is_empty();
            let superseded = row.opt_instant("next_at")?.filter(|_| state == "superseded" && !named_again);
            if let Some(ended) = superseded.or(row.opt_instant("cancelled_at")?) {
                let what = What::PrescriptionVoided { prescription };
                facts.add(row, track, fact(snapshot.date_of(ended), ended, false, what))?;
            }
        }
    }
    Ok(())
}

async fn own_devices(snapshot: &mut Snapshot, students: &str, specs: &OfDocuments, facts: &mut Facts) -> Result<()> {
    let rows = query(concat!(
        "select student_id, id, prescription_id, track, received_on, matches, verdict, settled_at, entered_at, entered_in_error_at
         from own_device where student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (own_device, track, at) = (row.parsed("id")?, row.parsed("track")?, row.instant("entered_at")?);
        let Some(device) = spec::of_document(specs, Owner::OwnDevice, &row.text("id")?, track).into_iter().next()
        else {
            continue;
        };
        let receipt = if row.flag("matches")? { Receipt::AsPrescribed } else { Receipt::Differs };
        let prescription = row.opt_parsed("prescription_id")?;
        let error = row.opt_instant("entered_in_error_at")?.is_some();
        let what = What::OwnDeviceReceived { own_device, prescription, spec: device.spec, receipt };
        facts.add(row, track, fact(row.date("received_on")?, at, error, what))?;
        if let (Some(verdict), Some(at)) = (row.opt_parsed("verdict")?, row.opt_instant("settled_at")?) {
            facts.add(
                row,
                track,
                fact(snapshot.date_of(at), at, false, What::MismatchSettled { own_device, verdict }),
            )?;
        }
    }
    let rows = query(concat!(
        "select r.student_id, r.own_device_id, r.from_on, r.back_on, r.entered_at, r.back_at, o.track from repair r
         join own_device o on o.id = r.own_device_id where r.student_id in ",
        asked!()
    ))
    .bind(students.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    for row in &rows {
        let (track, own_device, at) = (row.parsed("track")?, row.parsed("own_device_id")?, row.instant("entered_at")?);
        facts.add(row, track, fact(row.date("from_on")?, at, false, What::RepairStarted { own_device }))?;
        if let Some(back) = row.opt_date("back_on")? {
            let at = row.opt_instant("back_at")?.unwrap_or(at);
            facts.add(row, track, fact(back, at, false, What::RepairEnded { own_device }))?;
        }
    }
    Ok(())
}
