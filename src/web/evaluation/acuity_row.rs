//! One acuity row as it is typed: any notation of the trade, a question where
//! it can be read two ways, nothing guessed.
//!
//! Reading the text is [`crate::vision::acuity::notation`]'s; here it meets the
//! fields that stand beside it. Does not store anything.

use crate::care::evaluation::{
    ChartRows, ChartType, Correction, Effort, HowRecorded, NewAcuity, RoomLight, TestedEye, ThroughDevice,
};
use crate::care::track::DeviceKind;
use crate::care::typed::Typed;
use crate::vision::acuity::notation::{Caveat, Setup, parse};
use crate::vision::acuity::{AcuityError, AcuityQuestion};
use crate::vision::length;
use crate::vision::units::{Dioptres, Magnification, Metres};
use crate::web::check::{Check, LONG_TEXT};
use crate::web::confirm;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::part::{Choice, Field, Piece};
use crate::web::words::{capital, options};

/// The longest value as written.
const LONGEST_VALUE: usize = 60;

/// What is wrong with a row, and the notations to choose between, if that is
/// the question.
#[derive(Debug, Default)]
pub(super) struct Wrong {
    pub(super) faults: Faults,
    pub(super) choices: Vec<HowRecorded>,
}

/// Reads a row.
pub(super) fn read(entry: &Entry) -> Result<NewAcuity, Wrong> {
    let mut choices = Vec::new();
    let mut check = Check::new(entry);
    let row = read_with(&mut check, &mut choices);
    check.build(|| row).map_err(|faults| Wrong { faults, choices })
}

fn read_with(check: &mut Check<'_>, choices: &mut Vec<HowRecorded>) -> Option<NewAcuity> {
    let eye: Option<TestedEye> = check.code("eye", "Eye");
    let correction: Option<Correction> = check.code("correction", "What was worn");
    let distance = distance(check);
    let rows = chart_rows(check);
    let device = through_device(check, correction);
    let chart: Option<ChartType> = check.opt_code("chart", "What was shown");
    let effort: Option<Effort> = check.opt_code("effort", "How far to rely on it");
    let light: Option<RoomLight> = check.opt_code("light", "Light of the room");
    let note = check.opt_text("note", "Note", LONG_TEXT);
    // The question is asked only where one is open; an answer to none is none.
    let chosen: Option<HowRecorded> = check.typed("notation").parse().ok();
    let as_recorded = check.opt_text("value", "Acuity as written", LONGEST_VALUE);
    let recorded = value(check, choices, &as_recorded, distance.as_ref()?, chosen, rows)?;
    let confirmed = confirm::settle(check, "confirmed", &unusual(&recorded.caveats, &as_recorded));
    Some(NewAcuity {
        eye: eye?,
        correction: correction?,
        distance: distance?,
        notation: recorded.notation.into(),
        as_recorded,
        finding: recorded.acuity.into(),
        chart,
        rows,
        effort,
        light,
        device,
        note,
        confirmed,
    })
}

/// The test distance; the one written behind an `@` will do.
fn distance(check: &mut Check<'_>) -> Option<Typed<Metres>> {
    let written = check.typed("value").split_once('@').map(|(_, written)| written.trim());
    if check.typed("distance").is_empty()
        && let Some(written) = written
        && let Ok(metres) = length::parse(written)
        && (SHORTEST..=LONGEST).contains(&metres.get())
    {
        return Some(Typed::new(written, metres));
    }
    check.length("distance", "Test distance", SHORTEST..=LONGEST)
}

/// Test distances, in metres. Common practice; nearer is a high reading addition.
const SHORTEST: f64 = 0.025;
const LONGEST: f64 = 6.5;

fn value(
    check: &mut Check<'_>,
    choices: &mut Vec<HowRecorded>,
    written: &str,
    distance: &Typed<Metres>,
    chosen: Option<HowRecorded>,
    rows: Option<ChartRows>,
) -> Option<crate::vision::acuity::notation::Recorded> {
    let mut setup = Setup::at(distance.value);
    if let Some(chosen) = chosen {
        setup = setup.noted_as(chosen.notation());
    }
    if let Some(rows) = rows {
        match rows.chart() {
            Ok(chart) => setup = setup.on(chart),
            Err(error) => {
                check.fault("chart_top", sentence(&error.to_string()));
                return None;
            }
        }
    }
    match parse(written, setup) {
        Ok(recorded) => Some(recorded),
        Err(AcuityError::Ask(question)) => {
            *choices = choices_of(&question);
            let message = sentence(&question.to_string());
            // Where there is something to choose, the choice carries the question.
            let field = if choices.is_empty() { "value" } else { "notation" };
            check.fault(field, message);
            None
        }
        Err(AcuityError::ChartNeeded) => {
            check.fault("chart_top", sentence(&AcuityError::ChartNeeded.to_string()));
            None
        }
        Err(error) => {
            check.fault("value", sentence(&error.to_string()));
            None
        }
    }
}

/// The notations that would answer a question.
fn choices_of(question: &AcuityQuestion) -> Vec<HowRecorded> {
    match question {
        AcuityQuestion::DecimalOrLogMar { .. } => vec![HowRecorded::Decimal, HowRecorded::LogMar],
        AcuityQuestion::WhichNotation { .. } => {
            vec![HowRecorded::Var, HowRecorded::Letters, HowRecorded::Near, HowRecorded::Decimal, HowRecorded::LogMar]
        }
        AcuityQuestion::AnotherDistance { .. } => vec![HowRecorded::PrintedFraction],
        AcuityQuestion::TwoNotations { written, chosen } => vec![(*written).into(), (*chosen).into()],
        AcuityQuestion::MixedUnits | AcuityQuestion::NearDistance | AcuityQuestion::TwoDistances { .. } => Vec::new(),
    }
}

fn unusual(caveats: &[Caveat], written: &str) -> Vec<String> {
    let so_good = caveats.contains(&Caveat::ConfirmSoGood);
    so_good.then(|| format!("{written} is better than nearly every eye")).into_iter().collect()
}

/// The rows of a letter chart: all of top, step and letters, or none.
fn chart_rows(check: &mut Check<'_>) -> Option<ChartRows> {
    let top = check.opt_number("chart_top", "Largest row", "logMAR", -0.5..=3.0);
    let step = check.opt_number("chart_step", "Step from row to row", "log units", 0.01..=1.0);
    let letters =
        check.opt_whole("chart_letters", "Letters in a row", 1..=20).and_then(|count| u32::try_from(count).ok());
    let named_for = check.opt_length("chart_named_for", "Rows are named for", 0.1..=10.0);
    match (top, step, letters) {
        (Some(top), Some(step), Some(letters)) => {
            Some(ChartRows { top, step, letters, named_for_m: named_for.map(|typed| typed.value.get()) })
        }
        (None, None, None) => None,
        (top, step, _) => {
            let missing = match (top, step) {
                (None, _) => "chart_top",
                (_, None) => "chart_step",
                _ => "chart_letters",
            };
            check.fault(
                missing,
                "A letter chart is named by its largest row, the step and the letters in a row. Fill in all three.",
            );
            None
        }
    }
}

/// The device of a row that was measured through one.
fn through_device(check: &mut Check<'_>, correction: Option<Correction>) -> Option<ThroughDevice> {
    let kind_typed = !check.typed("device_kind").is_empty();
    let power = check.opt_number("device_power", "Power", "×", 1.0..=100.0);
    let equivalent = check.opt_number("device_equivalent", "Equivalent power", "D", 2.0..=100.0);
    if correction != Some(Correction::ThroughDevice) {
        if kind_typed || power.is_some() || equivalent.is_some() {
            check.fault(
                "correction",
                "A device is named below. Choose \u{201c}Through a device\u{201d}, or clear the device.",
            );
        }
        return None;
    }
    let kind: DeviceKind = check.code("device_kind", "Kind of device")?;
    if kind == DeviceKind::FilterLens {
        check.fault(
            "device_kind",
            "A filter is worn, not looked through as a device. Choose what was worn and write the filter in the note.",
        );
    } else if kind.is_telescope() && power.is_none() {
        check.fault("device_power", "Power is needed for a telescope, for example 6.");
    } else if kind.is_magnifier() && equivalent.is_none() {
        check.fault(
            "device_equivalent",
            "Equivalent power is needed for a magnifier, in dioptres. A label with × is not enough.",
        );
    } else if power.is_none() && equivalent.is_none() {
        check.fault("device_power", "Write its power, or its equivalent power in dioptres.");
    }
    Some(ThroughDevice {
        kind,
        power: power.and_then(|power| Magnification::new(power).ok()),
        equivalent: equivalent.and_then(|power| Dioptres::new(power).ok()),
    })
}

/// A message of the pure layers as sentences of its own.
pub(super) fn sentence(message: &str) -> String {
    let parts: Vec<String> = message.split("? ").map(capital).collect();
    let message = parts.join("? ");
    if message.ends_with(['.', '?']) { message } else { format!("{message}.") }
}

/// A row back in its fields.
pub(super) fn fill(row: &NewAcuity) -> Entry {
    let mut entry = Entry::default()
        .with("eye", row.eye.code())
        .with("correction", row.correction.code())
        .with("distance", row.distance.typed.clone())
        .with("value", row.as_recorded.clone())
        .with("chart", row.chart.map(ChartType::code).unwrap_or_default())
        .with("effort", row.effort.map(Effort::code).unwrap_or_default())
        .with("light", row.light.map(RoomLight::code).unwrap_or_default())
        .with("note", row.note.clone());
    // Read again without it, a bare number would be asked about once more.
    if row.notation != HowRecorded::Category {
        entry.set("notation", row.notation.code());
    }
    if let Some(rows) = row.rows {
        entry.set("chart_top", rows.top.to_string());
        entry.set("chart_step", rows.step.to_string());
        entry.set("chart_letters", rows.letters.to_string());
        if let Some(metres) = rows.named_for_m {
            entry.set("chart_named_for", format!("{metres} m"));
        }
    }
    if let Some(device) = row.device {
        entry.set("device_kind", device.kind.code());
        if let Some(power) = device.power {
            entry.set("device_power", power.get().to_string());
        }
        if let Some(power) = device.equivalent {
            entry.set("device_equivalent", power.get().to_string());
        }
    }
    entry
}

/// The fields of a row, in groups.
pub(super) struct RowFields {
    pub(super) eye: Choice,
    pub(super) correction: Choice,
    pub(super) distance: Field,
    pub(super) value: Field,
    /// The question which notation it is, with its answers.
    pub(super) notation: Option<Choice>,
    pub(super) confirmed: Option<Choice>,
    pub(super) chart: Field,
    pub(super) effort: Field,
    pub(super) light: Field,
    pub(super) note: Field,
    pub(super) letters: [Field; 4],
    pub(super) device: [Field; 3],
    pub(super) letters_open: bool,
    pub(super) device_open: bool,
}

/// The fields of a row; `choices` when a question about the notation came back.
pub(super) fn fields(form: &FormView, choices: &[HowRecorded]) -> RowFields {
    let offered: Vec<(&str, String)> = match choices {
        [] => form.entry.get("notation").parse::<HowRecorded>().ok().into_iter().map(offer).collect(),
        choices => choices.iter().copied().map(offer).collect(),
    };
    let notation = match offered.as_slice() {
        [] => None,
        [_] => Some(form.checks("notation", "If it is right as written", &offered)),
        _ => Some(form.radios("notation", "Which notation is it?", &offered)),
    };
    let select = |name: &str, label: &str, options: &[(&str, String)]| {
        form.select(name, label, options).blank("Not stated").optional()
    };
    let filled =
        |names: &[&str]| names.iter().any(|name| !form.entry.get(name).is_empty() || form.faults.of(name).is_some());
    RowFields {
        eye: form.radios("eye", "Eye", &options!(TestedEye)).inline(),
        correction: form.radios("correction", "What was worn", &options!(Correction)).hint("Usual glasses are not best correction"),
        distance: form.decimal("distance", "Test distance, with its unit").hint("For example 3 m, 10 ft or 40 cm"),
        value: form
            .text("value", "Acuity as written")
            .hint("Any notation: 20/200, 6/60, decimal 0.1, 1.0 logMAR, VAR 50, 37 letters, 4M @ 40 cm, CF @ 1 m, HM, LP, NLP"),
        notation,
        confirmed: confirm::tick(form, "confirmed"),
        chart: select("chart", "What was shown", &options!(ChartType)),
        effort: select("effort", "How far to rely on it", &options!(Effort)),
        light: select("light", "Light of the room", &options!(RoomLight)),
        note: form.text("note", "Note").hint("For example why the effort was poor").optional().wide(),
        letters: [
            form.decimal("chart_top", "Largest row (logMAR)").optional(),
            form.decimal("chart_step", "Step from row to row (log units)").optional(),
            form.whole("chart_letters", "Letters in a row").optional(),
            form.decimal("chart_named_for", "Rows are named for, with its unit").hint("Where the chart was made for another distance").optional(),
        ],
        device: [
            form.select("device_kind", "Kind of device", &options!(DeviceKind)).blank("No device").optional(),
            form.decimal("device_power", "Power (×)").hint("A telescope or an electronic device").optional(),
            form.decimal("device_equivalent", "Equivalent power (D)").hint("A magnifier or a high add").optional(),
        ],
        letters_open: filled(&["chart_top", "chart_step", "chart_letters", "chart_named_for"]),
        device_open: filled(&["device_kind", "device_power", "device_equivalent"]) || form.entry.get("correction") == "through_device",
    }
}

/// The same fields one after the other, for a form that holds several rows.
pub(super) fn pieces(fields: RowFields) -> Vec<Piece> {
    let mut pieces: Vec<Piece> =
        vec![fields.eye.into(), fields.correction.into(), fields.distance.into(), fields.value.into()];
    pieces.extend(fields.notation.map(Piece::from));
    pieces.extend(fields.confirmed.map(Piece::from));
    pieces.extend([fields.chart, fields.effort, fields.light, fields.note].map(Piece::from));
    pieces.extend(fields.device.map(Piece::from));
    pieces.extend(fields.letters.map(Piece::from));
    pieces
}

fn offer(notation: HowRecorded) -> (&'static str, String) {
    let words = match notation {
        HowRecorded::PrintedFraction => "The chart prints it so, for use at this distance".to_owned(),
        // logMAR keeps its small l.
        HowRecorded::LogMar => notation.words().to_owned(),
        _ => capital(notation.words()),
    };
    (notation.code(), words)
}

/// Which words of a row name it: "right eye, usual glasses, at 3 m".
pub(super) fn named(row: &NewAcuity) -> String {
    format!("{}, {}, at {}", row.eye.words(), worn(row), row.distance.typed)
}

/// What was worn, with the device if there was one.
pub(super) fn worn(row: &NewAcuity) -> String {
    match row.device {
        Some(ThroughDevice { kind, power: Some(power), .. }) => format!("through a {}× {}", power.get(), kind.words()),
        Some(ThroughDevice { kind, equivalent: Some(power), .. }) => {
            format!("through a {} D {}", power.get(), kind.words())
        }
        Some(ThroughDevice { kind, .. }) => format!("through a {}", kind.words()),
        None if row.correction == Correction::None => "no correction".to_owned(),
        None => row.correction.words().to_owned(),
    }
}
