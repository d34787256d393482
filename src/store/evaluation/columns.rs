//! Evaluations, acuity rows and refractions out of their columns.

use sqlx::any::AnyRow;

use crate::care::evaluation::{
    AcuityRow, Contrast, Evaluation, Extent, Finding, Findings, Glare, NewAcuity, Refraction, ThroughDevice,
};
use crate::care::typed::Typed;
use crate::db::column::Columns;
use crate::vision::acuity::LogMar;
use crate::vision::refraction::{Axis, Lens};
use crate::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};

type Read<T> = Result<T, sqlx::Error>;

fn broken(column: &'static str, source: impl std::error::Error + Send + Sync + 'static) -> sqlx::Error {
    sqlx::Error::ColumnDecode { index: column.to_owned(), source: Box::new(source) }
}

/// A row that a constraint of its own should have made impossible.
#[derive(Debug, thiserror::Error)]
#[error("is not filled as its row needs")]
struct Unfilled;

pub(super) fn evaluation(row: &AnyRow) -> Read<Evaluation> {
    Ok(Evaluation {
        id: row.parsed("id")?,
        state: row.parsed("state")?,
        examined_on: row.opt_date("examined_on")?,
        examiner: row.text("examiner_name")?,
        place: row.text("place")?,
        created_by: row.parsed("created_by")?,
        created_at: row.instant("created_at")?,
        acuities: Vec::new(),
        right: None,
        left: None,
        findings: findings(row)?,
        answers: Vec::new(),
        next_due_on: row.opt_date("next_due_on")?,
        signed_at: row.opt_instant("signed_at")?,
        supersedes: row.opt_parsed("supersedes_id")?,
        paper: None,
        version: row.whole("version")?,
    })
}

fn findings(row: &AnyRow) -> Read<Findings> {
    let glare = |column| Ok::<_, sqlx::Error>(row.opt_whole(column)?.and_then(Glare::at_level));
    let extent = |across, upright| {
        Ok::<_, sqlx::Error>(Extent {
            across: row.opt_unit(across, Degrees::new)?,
            upright: row.opt_unit(upright, Degrees::new)?,
        })
    };
    Ok(Findings {
        contrast: contrast(row)?,
        field_method: row.opt_parsed("field_method")?,
        field_pattern: row.json("field_pattern")?,
        field_note: row.text("field_note")?,
        field_right: extent("field_right_deg", "field_right_vertical_deg")?,
        field_left: extent("field_left_deg", "field_left_vertical_deg")?,
        field_both: extent("field_both_deg", "field_both_vertical_deg")?,
        colour: row.opt_parsed("colour")?,
        glare_indoor: glare("glare_indoor")?,
        glare_outdoor: glare("glare_outdoor")?,
        filter_note: row.text("filter_note")?,
        filter_transmission: row.opt_whole("filter_transmission")?,
        alignment: row.opt_parsed("alignment")?,
        alignment_note: row.text("alignment_note")?,
        nystagmus: row.opt_parsed("nystagmus")?,
        nystagmus_onset: row.opt_parsed("nystagmus_onset")?,
        best_gaze: row.opt_parsed("best_gaze")?,
        best_gaze_degrees: row.opt_whole("best_gaze_deg")?,
        preferred_eye: row.opt_parsed("preferred_eye")?,
        pupil: row.opt_unit("pupil_mm", Millimetres::new)?,
        accommodation: row.opt_unit("accommodation_d", Dioptres::new)?,
        diagnosis: row.text("diagnosis")?,
        course: row.opt_parsed("course")?,
        lighting_advice: row.text("lighting_advice")?,
        lighting_lux: row.opt_whole("lighting_lux")?,
        seating_advice: row.text("seating_advice")?,
        other_advice: row.json("other_advice")?,
        other_advice_note: row.text("other_advice_note")?,
    })
}

pub(super) fn contrast(row: &AnyRow) -> Read<Option<Contrast>> {
    let Some(log) = row.opt_number("contrast_log")? else { return Ok(None) };
    Ok(Some(Contrast {
        typed: row.text("contrast_typed")?,
        log,
        eye: row.opt_parsed("contrast_eye")?,
        method: row.opt_parsed("contrast_method")?,
    }))
}

pub(super) fn refraction(row: &AnyRow) -> Read<Option<Refraction>> {
    let Some(sphere) = row.opt_unit("sphere_d", Dioptres::new)? else { return Ok(None) };
    let cylinder = row.opt_unit("cylinder_d", Dioptres::new)?.unwrap_or(Dioptres::literal(0.0));
    let axis = match row.opt_whole("axis_deg")?.and_then(|axis| i32::try_from(axis).ok()) {
        Some(axis) => Axis::new(f64::from(axis)).map_err(|error| broken("axis_deg", error))?,
        None => Axis::literal(180.0),
    };
    let prism = row.opt_number("prism_d")?.zip(row.opt_parsed("prism_base")?);
    Ok(Some(Refraction {
        lens: Lens { sphere, cylinder, axis },
        add: row.opt_unit("add_d", Dioptres::new)?,
        prism,
        method: row.opt_parsed("method")?,
        typed: row.text("typed")?,
        confirmed: row.text("confirmed")?,
    }))
}

pub(super) fn acuity(row: &AnyRow) -> Read<AcuityRow> {
    let logmar = row.opt_unit("logmar", LogMar::new)?;
    let finding = match (logmar, row.opt_parsed("category")?) {
        (Some(logmar), None) => Finding::Measured(logmar),
        (None, Some(category)) => Finding::Category(category),
        _ => return Err(broken("logmar", Unfilled)),
    };
    let metres = row.opt_unit("distance_m", Metres::new)?.ok_or_else(|| broken("distance_m", Unfilled))?;
    let device = match row.opt_parsed("device_kind")? {
        Some(kind) => Some(ThroughDevice {
            kind,
            power: row.opt_unit("device_power", Magnification::new)?,
            equivalent: row.opt_unit("device_equivalent_d", Dioptres::new)?,
        }),
        None => None,
    };
    let rows = match row.opt_text("chart")? {
        Some(text) => Some(serde_json::from_str(&text).map_err(|error| broken("chart", error))?),
        None => None,
    };
    Ok(AcuityRow {
        id: row.parsed("id")?,
        evaluation: row.parsed("evaluation_id")?,
        examined_on: row.opt_date("examined_on")?,
        row: NewAcuity {
            eye: row.parsed("eye")?,
            correction: row.parsed("correction")?,
            distance: Typed::new(row.text("distance_typed")?, metres),
            notation: row.parsed("notation")?,
            as_recorded: row.text("as_recorded")?,
            finding,
            chart: row.opt_parsed("target")?,
            rows,
            effort: row.opt_parsed("effort")?,
            light: row.opt_parsed("light")?,
            device,
            note: row.text("note")?,
            confirmed: row.text("confirmed")?,
        },
    })
}
