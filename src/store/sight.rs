//! How this student sees, as far as this reader may read it.
//!
//! Only signed evaluations count; what lies outside the reader's proofs is left
//! out and named. The arithmetic is [`crate::care::sight`].

use std::collections::BTreeMap;

use sqlx::any::AnyRow;
use sqlx::query;

use super::evaluation::Written;
use super::{Result, Snapshot, journey, spec};
use crate::access::Access;
use crate::access::action::{Read, Reads};
use crate::access::resource::{Evaluation, Guidance, Intake, Loans, Transcription};
use crate::care::device::DeviceSpec;
use crate::care::evaluation::{ColourVision, Correction, PreferredEye, State};
use crate::care::ids::LoanId;
use crate::care::intake::HeadTurn;
use crate::care::journey::fact::Source;
use crate::care::sight::{AtHand, AtHandAs, Bearing, Evaluated, InClass, Sight, SightRow};
use crate::care::track::{Eye, Track};
use crate::db::column::Columns;
use crate::vision::acuity::{LogMar, Measured};
use crate::vision::contrast::LogContrastSensitivity;
use crate::vision::refraction::{Axis, Lens};
use crate::vision::units::{Dioptres, Lux, Magnification, Metres, Millimetres};

/// The proofs that a reader has for what sight is put together from.
#[derive(Default)]
pub struct Parts<'a> {
    /// For evaluations; a vision teacher has it once they reached the school.
    pub evaluation: Option<&'a Access<Evaluation, Read>>,
    /// For reports on paper, which the school has without a consent.
    pub transcription: Option<&'a Access<Transcription, Read>>,
    /// For the glasses in class.
    pub intake: Option<&'a Access<Intake, Read>>,
    /// For the devices at hand.
    pub loans: Option<&'a Access<Loans, Read>>,
}

/// Everything known of how the student sees.
///
/// # Errors
/// When the database fails.
pub async fn of(snapshot: &mut Snapshot, parts: &Parts<'_>) -> Result<Sight> {
    let mut sight = Sight::unknown();
    if let Some(access) = parts.evaluation {
        sight.evaluations = evaluations(snapshot, access).await?;
    }
    if let Some(access) = parts.transcription {
        sight.evaluations.extend(evaluations(snapshot, access).await?);
        // Newest examination first, whichever way it came; of one day the clinic's own.
        sight.evaluations.sort_by_key(|evaluated| std::cmp::Reverse(evaluated.on));
    }
    if let Some(access) = parts.intake {
        (sight.in_class, sight.head_turn) = in_class(snapshot, access).await?;
    }
    if let Some(access) = parts.loans {
        sight.devices = devices(snapshot, access).await?;
    }
    Ok(sight)
}

/// Whether there is anything of each kind at all, so that a page need not open
/// what is empty and leave a line in the disclosure record about nothing.
#[derive(Debug, Clone, Copy)]
pub struct ThereIs {
    /// A signed evaluation.
    pub evaluation: bool,
    /// A filed report on paper of a low-vision evaluation.
    pub transcription: bool,
    /// An open loan or an own device.
    pub device: bool,
}

/// What there is to be read.
///
/// # Errors
/// When the database fails.
pub async fn there_is(snapshot: &mut Snapshot, access: &Access<Guidance, impl Reads>) -> Result<ThereIs> {
    let row = query(
        "select (select count(*) from evaluation where student_id = $1 and state = 'signed') as evaluations,
         (select count(*) from evaluation where student_id = $1 and state in ('filed', 'confirmed') and report_kind = 'low_vision') as papers,
         (select count(*) from loan where student_id = $1 and returned_on is null and entered_in_error_at is null)
         + (select count(*) from own_device where student_id = $1 and entered_in_error_at is null) as devices",
    )
    .bind(access.student().to_string())
    .fetch_one(snapshot.connection())
    .await?;
    Ok(ThereIs {
        evaluation: row.whole("evaluations")? > 0,
        transcription: row.whole("papers")? > 0,
        device: row.whole("devices")? > 0,
    })
}

/// An ordinary eye report is background and feeds no figure.
async fn evaluations<D: Written>(snapshot: &mut Snapshot, access: &Access<D, impl Reads>) -> Result<Vec<Evaluated>> {
    let sent_only = i64::from(access.limits().sent_only);
    let side = access.actor().side().code().to_owned();
    let heads = query(
        "select e.id, coalesce(e.examined_on, substr(e.signed_at, 1, 10)) as examined_on, e.state, e.preferred_eye, e.contrast_log, e.colour, e.pupil_mm, e.lighting_lux,
          e.best_gaze, e.field_pattern
         from evaluation e where e.student_id = $1 and e.source = $4 and e.state in ('signed', 'filed', 'confirmed')
         and e.report_kind <> 'eye'
         and e.id not in (select m.document_id from document_mark m where m.student_id = $1 and m.document_kind = 'evaluation'
             and m.mark = 'superseded')
         and ($2 = 0 or e.id in (select s.document_id from sending s join consent c on c.id = s.consent_id
              where s.student_id = $1 and s.document_kind = 'evaluation' and s.to_side = $3
              and not exists (select 1 from amendment m where m.resource = 'evaluation' and m.record_id = e.id
                  and e.source = 'transcribed' and m.at > coalesce(c.withdrawn_at, c.ends_on, '9999'))))
         order by examined_on desc, e.signed_at desc",
    )
    .bind(access.student().to_string())
    .bind(sent_only)
    .bind(side)
    .bind(D::SOURCE.to_owned())
    .fetch_all(snapshot.connection())
    .await?;
    let rows = query(
        "select evaluation_id, eye, correction, distance_typed, distance_m, as_recorded, logmar, device_kind, device_power, device_equivalent_d
         from acuity where student_id = $1 order by evaluation_id, position",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let mut of_evaluation: BTreeMap<String, Vec<SightRow>> = BTreeMap::new();
    for row in &rows {
        // A row whose correction is not one of the list feeds no figure.
        if row.parsed::<Correction>("correction").is_ok() {
            of_evaluation.entry(row.text("evaluation_id")?).or_default().push(acuity(row)?);
        }
    }
    let mut lenses = refractions(snapshot, access).await?;
    heads
        .iter()
        .map(|row| {
            let colour: Option<ColourVision> = row.opt_parsed("colour")?;
            Ok(Evaluated {
                source: match row.parsed("state")? {
                    State::Confirmed => Source::Confirmed,
                    State::Filed => Source::Transcribed,
                    _ => Source::Signed,
                },
                on: row.date("examined_on")?,
                rows: of_evaluation.remove(&row.text("id")?).unwrap_or_default(),
                refraction: lenses.remove(&row.text("id")?).unwrap_or_default(),
                better_eye: match row.opt_parsed("preferred_eye")? {
                    Some(PreferredEye::Right) => Some(Eye::Right),
                    Some(PreferredEye::Left) => Some(Eye::Left),
                    Some(PreferredEye::None | PreferredEye::Unknown) | None => None,
                },
                contrast: row.opt_unit("contrast_log", LogContrastSensitivity::new)?,
                colour_loss: matches!(
                    colour,
                    Some(ColourVision::RedGreen | ColourVision::BlueYellow | ColourVision::Severe)
                ),
                pupil: row.opt_unit("pupil_mm", Millimetres::new)?,
                lighting: row
                    .opt_whole("lighting_lux")?
                    .and_then(|lux| u32::try_from(lux).ok())
                    .and_then(|lux| Lux::new(f64::from(lux)).ok()),
                bearing: Bearing { gaze: row.opt_parsed("best_gaze")?, field: row.json("field_pattern")? },
            })
        })
        .collect()
}

/// The lenses found for each eye, by evaluation.
async fn refractions<D: Written>(
    snapshot: &mut Snapshot,
    access: &Access<D, impl Reads>,
) -> Result<BTreeMap<String, Vec<(Eye, Lens)>>> {
    // Limits: only evaluations picked with them take anything from here.
    let rows = query("select evaluation_id, eye, sphere_d, cylinder_d, axis_deg from refraction where student_id = $1")
        .bind(access.student().to_string())
        .fetch_all(snapshot.connection())
        .await?;
    let mut found: BTreeMap<String, Vec<(Eye, Lens)>> = BTreeMap::new();
    for row in &rows {
        let Some(sphere) = row.opt_unit("sphere_d", Dioptres::new)? else { continue };
        let axis = row.opt_whole("axis_deg")?.and_then(|axis| i32::try_from(axis).ok());
        let lens = Lens {
            sphere,
            cylinder: row.opt_unit("cylinder_d", Dioptres::new)?.unwrap_or(Dioptres::literal(0.0)),
            axis: axis.and_then(|axis| Axis::new(f64::from(axis)).ok()).unwrap_or(Axis::literal(180.0)),
        };
        found.entry(row.text("evaluation_id")?).or_default().push((row.parsed("eye")?, lens));
    }
    Ok(found)
}

fn acuity(row: &AnyRow) -> std::result::Result<SightRow, sqlx::Error> {
    let kind = row.opt_parsed("device_kind")?;
    let logmar = row.opt_unit("logmar", LogMar::new)?;
    Ok(SightRow {
        eye: row.parsed("eye")?,
        worn: row.parsed("correction")?,
        distance: row.opt_unit("distance_m", Metres::new)?,
        distance_typed: row.text("distance_typed")?,
        as_recorded: row.text("as_recorded")?,
        measured: logmar.and_then(|value| Measured::new(value).ok()),
        device: match kind {
            Some(kind) => Some(DeviceSpec {
                power: row.opt_unit("device_power", Magnification::new)?,
                equivalent_power: row.opt_unit("device_equivalent_d", Dioptres::new)?,
                ..DeviceSpec::of(kind)
            }),
            None => None,
        },
    })
}

async fn in_class(snapshot: &mut Snapshot, access: &Access<Intake, impl Reads>) -> Result<(InClass, Option<HeadTurn>)> {
    let released_only = i64::from(access.limits().released_only);
    let row =
        query("select glasses, head_turn from intake where student_id = $1 and ($2 = 0 or released_at is not null)")
            .bind(access.student().to_string())
            .bind(released_only)
            .fetch_optional(snapshot.connection())
            .await?;
    let Some(row) = row else { return Ok((InClass::NotKnown, None)) };
    let glasses = match row.text("glasses")?.as_str() {
        "has_wears" => InClass::Wears,
        "none" | "has_does_not_wear" | "lost" => InClass::Without,
        _ => InClass::NotKnown,
    };
    Ok((glasses, row.opt_parsed("head_turn")?))
}

/// The own devices in force, then the open loans that none of them replaced.
pub(super) async fn devices(snapshot: &mut Snapshot, access: &Access<Loans, impl Reads>) -> Result<Vec<AtHand>> {
    let own = query(
        "select d.track, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m, d.reading_cap_d, d.equivalent_power_d,
         d.lens_mm, d.stand_height_mm, d.light, d.over_glasses, d.eye
         from own_device o join device_spec d on d.id = o.spec_id
         where o.student_id = $1 and o.entered_in_error_at is null and (o.matches = 1 or o.verdict = 'accepted')
         and o.id not in (select own_device_id from repair where student_id = $1 and back_on is null)
         order by o.received_on desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    let lent = query(
        "select l.id, l.track, d.kind, d.power, d.objective_mm, d.field_deg, d.near_focus_m, d.reading_cap_d, d.equivalent_power_d,
         d.lens_mm, d.stand_height_mm, d.light, d.over_glasses, case when l.eye in ('', 'either') then d.eye else l.eye end as eye
         from loan l join device d on d.id = l.device_id
         where l.student_id = $1 and l.returned_on is null and l.entered_in_error_at is null order by l.lent_on desc",
    )
    .bind(access.student().to_string())
    .fetch_all(snapshot.connection())
    .await?;
    // G6: a loan that the own device replaced goes back and is nobody's way to
    // see any more; a repair opens it again. Without both there is nothing to ask.
    let mut lent = lent;
    if !own.is_empty() && !lent.is_empty() {
        let tracks = journey::tracks(snapshot, access).await?;
        let replaced: Vec<LoanId> = Track::ALL
            .iter()
            .flat_map(|track| tracks.of(*track).loans.iter())
            .filter(|loan| loan.replaced.is_some())
            .map(|loan| loan.id)
            .collect();
        let mut kept = Vec::with_capacity(lent.len());
        for row in lent {
            if !replaced.contains(&row.parsed("id")?) {
                kept.push(row);
            }
        }
        lent = kept;
    }
    let found = own.iter().map(|row| (row, AtHandAs::Own)).chain(lent.iter().map(|row| (row, AtHandAs::Loan)));
    found.map(|(row, source)| Ok(AtHand { spec: spec::spec(row)?, track: row.parsed("track")?, source })).collect()
}
