//! Prescriptions: drafted by a clinician, signed once, never changed.
//!
//! A draft keeps the form as it was typed beside the values it was read as.
//! Signing demands the token of G8 for every track whose devices it names.
//! Does not know how a lens is written down; see `care::prescription`.

pub mod correct;

use std::collections::BTreeMap;

use sqlx::any::AnyRow;
use sqlx::query;

use super::account::Reentered;
use super::audit::fresh;
use super::decision::rests_on;
use super::document;
use super::sending::{self, Document};
use super::spec::{self, OfDocuments, Owner};
use super::{Result, Snapshot, StoreError, Tx, met, reach};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads, Sign};
use crate::access::resource::Prescription as Row;
use crate::care::document::Kind;
use crate::care::evaluation::{PrismBase, Refraction};
use crate::care::gates::MayFinalise;
use crate::care::ids::{AccountId, DecisionId, EvaluationId, PrescriptionId};
use crate::care::prescription::{Contents, Prescription, State};
use crate::care::track::Track;
use crate::clock::fresh_uuid;
use crate::db::column::{Columns, json, number, stamp};
use crate::vision::refraction::{Axis, Lens};
use crate::vision::units::Dioptres;
use jiff::civil::Date;

/// The names of the columns of one eye, since SQL text is never put together.
struct EyeColumns {
    sphere: &'static str,
    cylinder: &'static str,
    axis: &'static str,
    add: &'static str,
    prism: &'static str,
    base: &'static str,
    typed: &'static str,
    confirmed: &'static str,
}

const RIGHT: EyeColumns = EyeColumns {
    sphere: "right_sphere_d",
    cylinder: "right_cylinder_d",
    axis: "right_axis_deg",
    add: "right_add_d",
    prism: "right_prism_d",
    base: "right_prism_base",
    typed: "right_typed",
    confirmed: "right_confirmed",
};

const LEFT: EyeColumns = EyeColumns {
    sphere: "left_sphere_d",
    cylinder: "left_cylinder_d",
    axis: "left_axis_deg",
    add: "left_add_d",
    prism: "left_prism_d",
    base: "left_prism_base",
    typed: "left_typed",
    confirmed: "left_confirmed",
};

fn eye(row: &AnyRow, columns: &EyeColumns) -> std::result::Result<Option<Refraction>, sqlx::Error> {
    let Some(sphere) = row.opt_unit(columns.sphere, Dioptres::new)? else { return Ok(None) };
    let cylinder = row.opt_unit(columns.cylinder, Dioptres::new)?.unwrap_or(Dioptres::literal(0.0));
    let axis = row.opt_whole(columns.axis)?.and_then(|axis| Axis::new(whole(axis)).ok());
    let base: Option<PrismBase> = row.opt_parsed(columns.base)?;
    Ok(Some(Refraction {
        lens: Lens { sphere, cylinder, axis: axis.unwrap_or(Axis::literal(180.0)) },
        add: row.opt_unit(columns.add, Dioptres::new)?,
        prism: row.opt_number(columns.prism)?.zip(base),
        method: None,
        typed: row.text(columns.typed)?,
        confirmed: row.text(columns.confirmed)?,
    }))
}

/// Whole degrees as a number; axes are at most 180.
fn whole(axis: i64) -> f64 {
    i32::try_from(axis).map_or(f64::NAN, f64::from)
}

fn degrees(lens: &Lens) -> Option<i64> {
    let none = lens.cylinder.get().abs() < f64::MIN_POSITIVE;
    (1..=180_i64).find(|axis| (whole(*axis) - lens.axis.get()).abs() < 0.5).filter(|_| !none)
}

fn prescription(row: &AnyRow, specs: &OfDocuments) -> std::result::Result<Prescription, sqlx::Error> {
    let id = row.text("id")?;
    let devices: BTreeMap<_, _> = Track::ALL
        .iter()
        .map(|track| (*track, spec::of_document(specs, Owner::Prescription, &id, *track)))
        .filter(|(_, devices)| !devices.is_empty())
        .collect();
    Ok(Prescription {
        id: row.parsed("id")?,
        number: row.text("number")?,
        state: row.parsed("state")?,
        contents: Contents {
            right: eye(row, &RIGHT)?,
            left: eye(row, &LEFT)?,
            lens_note: row.text("lens_note")?,
            devices,
            limits: row.text("limits")?,
            lighting: row.text("lighting")?,
            seating: row.text("seating")?,
            no_summary_reason: row.text("no_summary_reason")?,
            review_on: row.opt_date("review_on")?,
            expires_on: row.opt_date("expires_on")?,
        },
        author: row.parsed("created_by")?,
        supersedes: row.opt_parsed("supersedes_id")?,
        evaluation: row.opt_parsed("evaluation_id")?,
        decision: row.opt_parsed("decision_id")?,
        entry: row.json("entry")?,
        written_on: row.opt_date("written_on")?,
        prescriber_line: row.text("prescriber_line")?,
        by: row.text("by_name")?,
        signed_at: row.opt_instant("signed_at")?,
        version: row.whole("version")?,
    })
}

/// Every prescription this reader reaches, newest first.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Vec<Prescription>> {
    let reach = reach::of(snapshot, access, Document::Prescription).await?;
    let specs = spec::of_student(snapshot, access.student()).await?;
    let history = document::history(snapshot, access, Kind::Prescription).await?;
    let rows = query(
        "select p.id, p.number, p.state, p.evaluation_id, p.decision_id, p.right_sphere_d, p.right_cylinder_d, p.right_axis_deg,
         p.right_add_d, p.right_prism_d, p.right_prism_base, p.right_typed, p.right_confirmed, p.left_sphere_d, p.left_cylinder_d, p.left_axis_deg,
         p.left_add_d, p.left_prism_d, p.left_prism_base, p.left_typed, p.left_confirmed, p.entry, p.lens_note, p.limits, p.lighting, p.seating,
         p.no_summary_reason, p.written_on, p.review_on, p.expires_on, p.prescriber_line, p.created_by, p.supersedes_id, p.signed_at, p.version,
         a.name as by_name
         from prescription p join account a on a.id = p.created_by
         where p.student_id = $1 order by coalesce(p.signed_at, p.created_at) desc, p.id desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut found = Vec::new();
    for row in &rows {
        let author: AccountId = row.parsed("created_by")?;
        let id = row.text("id")?;
        if reach.allows(&id, author, row.opt_instant("signed_at")?.is_some()) {
            let (mut one, after) = (prescription(row, &specs)?, history.of(&id));
            // G7: what became of it later crosses like the document itself.
            if matches!(one.state, State::Superseded | State::Cancelled | State::EnteredInError)
                && after.ended.is_none()
            {
                one.state = State::Active;
            }
            after.reword(&mut one);
            found.push(one);
        }
    }
    Ok(found)
}

/// One prescription, if this reader reaches it.
///
/// # Errors
/// [`StoreError::Missing`].
pub async fn one(
    snapshot: &mut Snapshot,
    access: &Access<Row, impl Reads>,
    id: PrescriptionId,
) -> Result<Prescription> {
    let all = list(snapshot, access).await?;
    all.into_iter().find(|prescription| prescription.id == id).ok_or(StoreError::Missing)
}

/// What a draft rests on.
#[derive(Clone, Copy, Default)]
pub struct Basis {
    /// The evaluation its lenses come from.
    pub evaluation: Option<EvaluationId>,
    /// The decision it carries out.
    pub decision: Option<DecisionId>,
}

/// Begins a draft.
///
/// # Errors
/// When the database fails.
pub async fn begin(
    tx: &mut Tx,
    access: &Access<Row, Create>,
    basis: Basis,
    contents: &Contents,
    entry: &[(String, String)],
) -> Result<PrescriptionId> {
    let id = fresh(PrescriptionId::of);
    let at = stamp(tx.now());
    query(
        "insert into prescription (id, student_id, number, state, evaluation_id, decision_id, created_at, created_by, version)
         values ($1, $2, $3, 'draft', $4, $5, $6, $7, 0)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(fresh_number(tx.today()))
    .bind(basis.evaluation.map(|id| id.to_string()))
    .bind(basis.decision.map(|id| id.to_string()))
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    write(tx, (access.student().to_string(), id), contents, entry, 0).await?;
    write_devices(tx, access.student(), id, contents).await?;
    Ok(id)
}

/// A number nobody else has: the day and eight random signs.
fn fresh_number(today: Date) -> String {
    let random = fresh_uuid().simple().to_string().to_uppercase();
    let signs = random.get(random.len().saturating_sub(8)..).unwrap_or(&random);
    format!("{}-{signs}", today.strftime("%Y%m%d"))
}

/// Saves a draft.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved or signed it meanwhile.
pub async fn change(
    tx: &mut Tx,
    access: &Access<Row, Edit>,
    (id, version): (PrescriptionId, i64),
    contents: &Contents,
    entry: &[(String, String)],
) -> Result<()> {
    write(tx, (access.student().to_string(), id), contents, entry, version).await?;
    write_devices(tx, access.student(), id, contents).await
}

async fn write_devices(
    tx: &mut Tx,
    student: crate::care::ids::StudentId,
    id: PrescriptionId,
    contents: &Contents,
) -> Result<()> {
    for track in Track::ALL {
        let devices = contents.devices.get(track).map_or(&[][..], Vec::as_slice);
        spec::replace(tx, student, Owner::Prescription, &id.to_string(), *track, devices).await?;
    }
    Ok(())
}

async fn write(
    tx: &mut Tx,
    (student, id): (String, PrescriptionId),
    contents: &Contents,
    entry: &[(String, String)],
    version: i64,
) -> Result<()> {
    let (right, left) = (contents.right.as_ref(), contents.left.as_ref());
    let sphere = |eye: Option<&Refraction>| eye.map(|eye| eye.lens.sphere.get());
    let cylinder = |eye: Option<&Refraction>| eye.map(|eye| eye.lens.cylinder.get());
    let axis = |eye: Option<&Refraction>| eye.and_then(|eye| degrees(&eye.lens));
    let add = |eye: Option<&Refraction>| eye.and_then(|eye| eye.add).map(Dioptres::get);
    let prism = |eye: Option<&Refraction>| eye.and_then(|eye| eye.prism).map(|(power, _)| power);
    let base = |eye: Option<&Refraction>| eye.and_then(|eye| eye.prism).map_or("", |(_, base)| base.code()).to_owned();
    let typed = |eye: Option<&Refraction>| eye.map(|eye| eye.typed.clone()).unwrap_or_default();
    let confirmed = |eye: Option<&Refraction>| eye.map(|eye| eye.confirmed.clone()).unwrap_or_default();
    let done = query(
        "update prescription set right_sphere_d = $1, right_cylinder_d = $2, right_axis_deg = $3, right_add_d = $4, right_prism_d = $5,
         right_prism_base = $6, right_confirmed = $7, left_sphere_d = $8, left_cylinder_d = $9, left_axis_deg = $10, left_add_d = $11,
         left_prism_d = $12, left_prism_base = $13, left_confirmed = $14, entry = $15, lens_note = $16, limits = $17, lighting = $18,
         seating = $19, no_summary_reason = $20, review_on = $21, expires_on = $22, right_typed = $23, left_typed = $24,
         version = version + 1 where id = $25 and student_id = $26 and state = 'draft' and version = $27",
    )
    .bind(number(sphere(right)))
    .bind(number(cylinder(right)))
    .bind(axis(right))
    .bind(number(add(right)))
    .bind(number(prism(right)))
    .bind(base(right))
    .bind(confirmed(right))
    .bind(number(sphere(left)))
    .bind(number(cylinder(left)))
    .bind(axis(left))
    .bind(number(add(left)))
    .bind(number(prism(left)))
    .bind(base(left))
    .bind(confirmed(left))
    .bind(json(&entry))
    .bind(contents.lens_note.clone())
    .bind(contents.limits.clone())
    .bind(contents.lighting.clone())
    .bind(contents.seating.clone())
    .bind(contents.no_summary_reason.clone())
    .bind(contents.review_on.map(|day| day.to_string()))
    .bind(contents.expires_on.map(|day| day.to_string()))
    .bind(typed(right))
    .bind(typed(left))
    .bind(id.to_string())
    .bind(student)
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}

/// Signs a draft. G8: a token for every track whose devices it names.
///
/// # Errors
/// [`StoreError::Missing`] when the password is another person's, the account
/// has no credential or licence, a token is missing, or something the document
/// must say is; [`StoreError::Stale`] when it changed or was signed meanwhile.
pub async fn sign(
    tx: &mut Tx,
    access: &Access<Row, Sign>,
    reentered: &Reentered,
    tokens: &BTreeMap<Track, MayFinalise>,
    (id, version): (PrescriptionId, i64),
) -> Result<()> {
    if reentered.account() != access.actor().account {
        return Err(StoreError::Missing);
    }
    let draft = one(tx, access, id).await?;
    let proven = draft.contents.devices.keys().all(|track| tokens.contains_key(track));
    let line = prescriber_line(tx, access).await?.ok_or(StoreError::Missing)?;
    if !proven || !draft.contents.missing().is_empty() {
        return Err(StoreError::Missing);
    }
    let needed: Vec<&MayFinalise> = draft.contents.devices.keys().filter_map(|track| tokens.get(track)).collect();
    let (evidence, reason) = rests_on(&needed);
    let (at, today) = (stamp(tx.now()), tx.today().to_string());
    let done = query(
        "update prescription set state = 'active', written_on = $1, signed_at = $2, signed_by = $3, prescriber_line = $4,
         evidence = $5, no_summary_reason = $6, version = version + 1
         where id = $7 and student_id = $8 and state = 'draft' and version = $9",
    )
    .bind(today)
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(line)
    .bind(evidence)
    .bind(reason)
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())?;
    if let Some(old) = draft.supersedes {
        correct::take_place(tx, access, old, id).await?;
    }
    sending::at_signing(tx, access.student(), Document::Prescription, &id.to_string()).await?;
    Ok(())
}

/// Name, credential and licence of the person, as a prescription prints them;
/// none when the account lacks one of them.
///
/// # Errors
/// When the database fails.
pub async fn prescriber_line(snapshot: &mut Snapshot, access: &Access<Row, impl Reads>) -> Result<Option<String>> {
    let account = super::account::own(snapshot, access.actor()).await?;
    let stated = |text: Option<String>| text.filter(|text| !text.trim().is_empty());
    Ok(stated(account.credential).zip(stated(account.licence)).map(|(credential, licence)| {
        let clinic = account.clinic.map(|clinic| format!(", {clinic}")).unwrap_or_default();
        format!("{}, {credential}{clinic}. Licence: {licence}", account.name)
    }))
}
