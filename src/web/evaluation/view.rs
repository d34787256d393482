//! An evaluation as it is read: as typed, with the equivalents beside it.
//!
//! A category stands without a figure. Every figure says how it was computed.

use super::acuity_row::{named, worn};
use super::refraction::{lens_words, signed};
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::evaluation::{
    AcuityRow, Evaluation, Extent, Finding, Findings, HowRecorded, NewAcuity, Nystagmus, Onset, Refraction, Section,
    TrackAnswer,
};
use crate::care::journey::fact::Safe;
use crate::care::track::Track;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::acuity::near::MUnits;
use crate::vision::refraction::Lens;
use crate::vision::units::Degrees;
use crate::web::device_fields;
use crate::web::outside::{Asked, ask};
use crate::web::page::Context;
use crate::web::part::{self, Cautions, Facts, How, Notice, Table};
use crate::web::words::{self, capital};

/// A field this narrow is told apart. Common practice; the wording of legal
/// definitions uses the same figure.
const NARROW_FIELD: f64 = 20.0;

/// An evaluation, ready to be printed into a page.
pub(super) struct EvaluationView {
    pub(super) head: Facts,
    pub(super) far: Table,
    pub(super) near: Table,
    pub(super) acuity_how: Option<How>,
    pub(super) refraction: Table,
    pub(super) refraction_how: Option<How>,
    pub(super) sight: Vec<(String, String)>,
    pub(super) contrast_how: Option<How>,
    pub(super) notices: Vec<Notice>,
    pub(super) eyes: Vec<(String, String)>,
    pub(super) advice: Vec<(String, String)>,
    pub(super) tracks: Vec<TrackView>,
}

/// One track of it.
pub(super) struct TrackView {
    pub(super) title: String,
    pub(super) facts: Facts,
    pub(super) devices: Vec<(String, Facts)>,
    pub(super) cautions: Cautions,
}

/// Words an evaluation for this reader.
pub(super) fn view(evaluation: &Evaluation, context: &Context) -> EvaluationView {
    let day = |day: Option<jiff::civil::Date>| day.map(words::date).unwrap_or_default();
    let head =
        part::facts(&[("Examined on", day(evaluation.examined_on)), ("Examined by", evaluation.examiner.clone())])
            .fact("Place", &evaluation.place)
            .fact("Next evaluation due", &day(evaluation.next_due_on));
    let (near, far): (Vec<&AcuityRow>, Vec<&AcuityRow>) = evaluation.acuities.iter().partition(|row| row.row.is_near());
    let rows: Vec<&NewAcuity> = evaluation.acuities.iter().map(|row| &row.row).collect();
    let found = [("Right eye", &evaluation.right), ("Left eye", &evaluation.left)];
    let eyes: Vec<(&str, &Refraction)> =
        found.iter().filter_map(|(eye, found)| found.as_ref().map(|found| (*eye, found))).collect();
    let unsaid = |section| evaluation.paper.as_ref().is_some_and(|paper| paper.not_stated.contains(&section));
    EvaluationView {
        head,
        far: far_table(&far, unsaid(Section::Acuity)),
        near: near_table(&near, unsaid(Section::Acuity)),
        acuity_how: acuity_how(&rows),
        refraction: refraction_table(&eyes, unsaid(Section::Refraction)),
        refraction_how: refraction_how(&eyes),
        sight: sight(&evaluation.findings),
        contrast_how: contrast_how(&evaluation.findings),
        notices: notices(&evaluation.findings),
        eyes: eyes_facts(&evaluation.findings),
        advice: advice(&evaluation.findings),
        tracks: Track::ALL
            .iter()
            .filter_map(|track| evaluation.answer(*track))
            .map(|answer| track_view(answer, context))
            .collect(),
    }
}

/// Everything it says, line by line, so that two versions can be compared.
pub(super) fn lines(evaluation: &Evaluation, context: &Context) -> Vec<(String, String)> {
    let day = |day: Option<jiff::civil::Date>| day.map(words::date).unwrap_or_default();
    let mut lines = vec![
        fact("Examined on", day(evaluation.examined_on)),
        fact("Place", evaluation.place.clone()),
        fact("Next evaluation due", day(evaluation.next_due_on)),
    ];
    for row in &evaluation.acuities {
        let value = format!("{}, {}", written(&row.row), test_words(&row.row));
        lines.push((capital(&named(&row.row)), value));
    }
    for (eye, found) in [("Refraction, right eye", &evaluation.right), ("Refraction, left eye", &evaluation.left)] {
        if let Some(found) = found {
            let add = found.add.map(|add| format!(", add {}", signed(add.get()))).unwrap_or_default();
            let prism =
                found.prism.map(|(amount, base)| format!(", prism {amount} {}", base.words())).unwrap_or_default();
            lines.push(fact(eye, format!("{}{add}{prism}", lens_words(found.lens))));
        }
    }
    for part in [sight(&evaluation.findings), eyes_facts(&evaluation.findings), advice(&evaluation.findings)] {
        lines.extend(part);
    }
    for answer in &evaluation.answers {
        let of = |label: &str| format!("{label}, {} track", answer.track.words());
        lines.push((of("Answer"), capital(answer.choice.words())));
        lines.push((of("Safe to train"), capital(answer.safe.words())));
        lines.push((of("Limits"), answer.limits.clone()));
        lines.push((of("What to train for"), answer.training_tasks.clone()));
        for device in &answer.devices {
            lines.push((of("Device"), capital(&device_fields::name(&device.spec))));
            let facts = device_fields::facts(device, context);
            lines.extend(facts.into_iter().map(|(label, value)| (of(&label), value)));
        }
    }
    stated(lines)
}

/// Rows of any distance under one caption.
/// With the notations that are compared with, so that it fits beside something else.
pub(in crate::web) fn acuity_table(caption: &str, rows: &[&AcuityRow]) -> Table {
    let mut table = part::table(caption)
        .column("Eye and correction")
        .column("As written")
        .number("logMAR")
        .number("20/x")
        .number("6/x")
        .number("VAR")
        .column("Test")
        .none(NONE_RECORDED);
    for row in rows {
        let [who, written, logmar, feet, metres, _, var, test] = acuity_cells(&row.row);
        table.push([who, written, logmar, feet, metres, var, test]);
    }
    table
}

/// What stands in a part that the report copied from paper says nothing of.
const NOT_STATED: &str = "Not stated in the report.";
const NONE_RECORDED: &str = "None recorded.";

/// The rows beyond the near limit; `unsaid` when the report says nothing of acuity.
pub(super) fn far_table(rows: &[&AcuityRow], unsaid: bool) -> Table {
    let none = if unsaid { NOT_STATED } else { NONE_RECORDED };
    rows_table("Acuity, beyond 60 cm", rows, |_| None).none(none)
}

/// The rows within the near limit, with the print that is just read there.
pub(super) fn near_table(rows: &[&AcuityRow], unsaid: bool) -> Table {
    let none = if unsaid { NOT_STATED } else { NONE_RECORDED };
    rows_table("Near acuity, 60 cm and nearer", rows, |row| Some(print_size(row))).none(none)
}

fn rows_table(caption: &str, rows: &[&AcuityRow], print: fn(&NewAcuity) -> Option<String>) -> Table {
    let mut table = part::table(caption).column("Eye and correction").column("As written").number("logMAR");
    if rows.iter().any(|row| print(&row.row).is_some()) {
        table = table.number("M");
    }
    table = table.number("20/x").number("6/x").number("Decimal").number("VAR").column("Test");
    for row in rows {
        let mut cells = acuity_cells(&row.row).to_vec();
        if let Some(print) = print(&row.row) {
            cells.insert(3, print);
        }
        table.push(cells);
    }
    table
}

/// The size in M that this acuity just reads at the distance of the test.
fn print_size(row: &NewAcuity) -> String {
    let size = row.finding.logmar().and_then(|logmar| MUnits::just_read_by(logmar, row.distance.value).ok());
    match size.map(MUnits::get) {
        Some(size) if size < 10.0 => format!("{size:.1}"),
        Some(size) => format!("{size:.0}"),
        None => "no figure".to_owned(),
    }
}

/// One row as the cells of [`rows_table`], without the print size.
fn acuity_cells(row: &NewAcuity) -> [String; 8] {
    let who = capital(&format!("{}, {}", row.eye.words(), worn(row)));
    let written = written(row);
    let test = test_words(row);
    match row.finding {
        Finding::Measured(logmar) => {
            let equal = equivalents(logmar);
            [who, written, equal.logmar, equal.feet, equal.metres, equal.decimal, equal.var, test]
        }
        Finding::Category(category) => {
            let none = || "no figure".to_owned();
            [who, format!("{written}, {}", category.words()), none(), none(), none(), none(), none(), test]
        }
    }
}

/// What was written, with the notation that was chosen for a bare number.
fn written(row: &NewAcuity) -> String {
    let bare = row.as_recorded.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | ' '));
    match row.notation {
        notation if bare => format!("{} ({})", row.as_recorded, notation.words()),
        HowRecorded::PrintedFraction => format!("{} (as printed on the chart)", row.as_recorded),
        _ => row.as_recorded.clone(),
    }
}

fn test_words(row: &NewAcuity) -> String {
    let mut said = vec![format!("at {}", row.distance.typed)];
    said.extend(row.chart.map(|chart| chart.words().to_owned()));
    said.extend(row.light.map(|light| format!("{} light", light.words())));
    said.extend(row.effort.map(|effort| format!("{} effort", effort.words())));
    if !row.note.is_empty() {
        said.push(row.note.clone());
    }
    if !row.confirmed.is_empty() {
        said.push(format!("confirmed: {}", row.confirmed));
    }
    said.join("; ")
}

/// How the equivalents were computed, row by row.
pub(in crate::web) fn acuity_how(rows: &[&NewAcuity]) -> Option<How> {
    let measured: Vec<(&NewAcuity, f64)> =
        rows.iter().filter_map(|row| row.finding.logmar().map(|logmar| (*row, logmar.get()))).collect();
    if measured.is_empty() {
        return None;
    }
    let mut lines = Vec::new();
    for (row, _) in &measured {
        let line = formula(row.notation);
        if !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines.push("20/x = 20 × 10^logMAR, 6/x = 6 × 10^logMAR, decimal = 10^-logMAR, VAR = 100 - 50 × logMAR. A chart row is named only within 0.006 log units of it.");
    if measured.iter().any(|(row, _)| row.as_recorded.contains(['+', '-']) && row.as_recorded.contains('/')) {
        lines.push("Letters missed or added to a row count 0.02 each, which holds for rows of five letters in steps of 0.1, unless the chart was named.");
    }
    if measured.iter().any(|(row, _)| row.is_near()) {
        lines.push("M = distance in metres × 10^logMAR: the print size just read there.");
    }
    let inputs: Vec<(String, String)> = measured
        .iter()
        .map(|(row, logmar)| (capital(&named(row)), format!("{} gives {logmar:.2} logMAR", row.as_recorded)))
        .collect();
    Some(
        part::how(&lines)
            .inputs(&inputs)
            .source("DICOM PS3.17 Annex RR for the conversions; Colenbrander for M at a distance")
            .asks_all(measured.iter().flat_map(|(row, _)| acuity_asked(row))),
    )
}

/// The notations of one row again, and its print size where that is told.
fn acuity_asked(row: &NewAcuity) -> Vec<Asked> {
    let Some(logmar) = row.finding.logmar() else { return Vec::new() };
    let equal = equivalents(logmar);
    let mut asked = vec![
        ask("logmar_to_var_and_decimal")
            .with("logmar", logmar.get())
            // A decimal next to a chart row bears the name of the row, and is no figure then.
            .gives("var_score", &equal.var),
    ];
    if row.is_near() && MUnits::just_read_by(logmar, row.distance.value).is_ok() {
        asked.push(
            ask("near_m_from_logmar")
                .with("logmar", logmar.get())
                .with("distance_m", row.distance.value.get())
                .gives("m_units", &print_size(row)),
        );
    }
    asked
}

fn formula(notation: HowRecorded) -> &'static str {
    match notation {
        HowRecorded::Feet | HowRecorded::Metres | HowRecorded::PrintedFraction => {
            "Fraction: logMAR = log10 of the number below the line over the number above it, both in one unit."
        }
        HowRecorded::Decimal => "Decimal: logMAR = -log10 of the decimal.",
        HowRecorded::LogMar => "logMAR: taken as written.",
        HowRecorded::Var => "VAR: logMAR = (100 - VAR) / 50.",
        HowRecorded::Letters => {
            "Letters: logMAR = largest row + step - (step / letters in a row) × letters read, the rows moved to the test distance."
        }
        HowRecorded::Near => "M at a distance: logMAR = log10 of the M size over the distance in metres.",
        HowRecorded::Category => "A category has no figure.",
    }
}

fn refraction_table(eyes: &[(&str, &Refraction)], unsaid: bool) -> Table {
    let mut table = part::table("Lens by eye")
        .column("Eye")
        .column("Sphere / cylinder × axis (D)")
        .column("Transposed")
        .number("Spherical equivalent (D)")
        .column("Near addition and prism")
        .column("How found")
        .none(if unsaid { NOT_STATED } else { "Not refracted." });
    for (eye, found) in eyes {
        let lens = found.lens;
        let cylinder = lens.cylinder.get().abs() >= f64::MIN_POSITIVE;
        let mut beside: Vec<String> = found.add.map(|add| format!("add {}", signed(add.get()))).into_iter().collect();
        beside.extend(found.prism.map(|(amount, base)| format!("{amount} prism D {}", base.words())));
        let mut how: Vec<String> = found.method.map(|method| method.words().to_owned()).into_iter().collect();
        if !found.confirmed.is_empty() {
            how.push(format!("confirmed: {}", found.confirmed));
        }
        table.push([
            (*eye).to_owned(),
            lens_words(lens),
            if cylinder { lens_words(lens.transposed()) } else { "no cylinder".to_owned() },
            lens.spherical_equivalent().map(|power| signed(power.get())).unwrap_or_default(),
            if beside.is_empty() { "none".to_owned() } else { beside.join(", ") },
            how.join("; "),
        ]);
    }
    table
}

fn refraction_how(eyes: &[(&str, &Refraction)]) -> Option<How> {
    if eyes.is_empty() {
        return None;
    }
    let inputs: Vec<(String, String)> =
        eyes.iter().map(|(eye, found)| ((*eye).to_owned(), found.typed.clone())).collect();
    Some(
        part::how(&[
            "Transposed: sphere + cylinder, the cylinder with the other sign, the axis turned by 90 degrees.",
            "Spherical equivalent: sphere + half the cylinder.",
        ])
        .inputs(&inputs)
        .source("Definitions of the trade")
        .asks_all(eyes.iter().flat_map(|(_, found)| lens_asked(found.lens))),
    )
}

/// A lens in its other form, and its spherical equivalent.
pub(in crate::web) fn lens_asked(lens: Lens) -> Vec<Asked> {
    let of = |op| {
        ask(op)
            .with("sphere_D", lens.sphere.get())
            .with("cylinder_D", lens.cylinder.get())
            .with("axis_deg", lens.axis.get())
    };
    let equivalent = lens.spherical_equivalent().map(|power| of("power_vector").gives("M_D", &signed(power.get())));
    let cylinder = lens.cylinder.get().abs() >= f64::MIN_POSITIVE;
    let turned = cylinder.then(|| {
        let other = lens.transposed();
        of("transpose")
            .gives("sphere_D", &signed(other.sphere.get()))
            .gives("cylinder_D", &format!("/ {}", signed(other.cylinder.get())))
            .gives("axis_deg", &format!("× {:.0}", other.axis.get()))
    });
    turned.into_iter().chain(equivalent).collect()
}

fn sight(findings: &Findings) -> Vec<(String, String)> {
    let mut facts = Vec::new();
    if let Some(contrast) = &findings.contrast {
        let said = [contrast.eye.map(|eye| eye.words()), contrast.method.map(|method| method.words())];
        let said: Vec<&str> = said.into_iter().flatten().collect();
        facts.push(fact(
            "Contrast sensitivity",
            format!("{} = {:.2} log units; {}", contrast.typed, contrast.log, said.join(", ")),
        ));
    }
    facts.push(fact("Field measured by", findings.field_method.map(|method| method.words()).unwrap_or_default()));
    let patterns: Vec<&str> = findings.field_pattern.iter().map(|pattern| pattern.words()).collect();
    facts.push(fact("Field", words::list(&patterns)));
    for (eye, extent) in
        [("right eye", findings.field_right), ("left eye", findings.field_left), ("both eyes", findings.field_both)]
    {
        facts.push(fact(&format!("Field, {eye}"), extent_words(extent)));
    }
    facts.push(fact("Field in words", findings.field_note.clone()));
    facts.push(fact("Colour vision", findings.colour.map(|colour| colour.words()).unwrap_or_default()));
    facts.push(fact("Glare indoors", findings.glare_indoor.map(|glare| glare.words()).unwrap_or_default()));
    facts.push(fact("Glare outdoors", findings.glare_outdoor.map(|glare| glare.words()).unwrap_or_default()));
    let transmission = findings.filter_transmission.map(|percent| format!("lets {percent} % of the light through"));
    let filter: Vec<String> = [Some(findings.filter_note.clone()).filter(|note| !note.is_empty()), transmission]
        .into_iter()
        .flatten()
        .collect();
    facts.push(fact("Filter tried", filter.join("; ")));
    stated(facts)
}

fn contrast_how(findings: &Findings) -> Option<How> {
    let contrast = findings.contrast.as_ref().filter(|contrast| contrast.typed.contains('%'))?;
    Some(
        part::how(&["Log contrast sensitivity = -log10 of the smallest contrast seen."])
            .input("Smallest contrast seen", &contrast.typed)
            .source("Definition of log contrast sensitivity")
            .asks(ask("log_cs_to_threshold").with("log_cs", contrast.log).gives("threshold_weber", &contrast.typed)),
    )
}

fn extent_words(extent: Extent) -> String {
    let said = |degrees: Option<Degrees>, way: &str| degrees.map(|degrees| format!("{} degrees {way}", degrees.get()));
    [said(extent.across, "across"), said(extent.upright, "up and down")]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(", ")
}

fn notices(findings: &Findings) -> Vec<Notice> {
    let mut notices = Vec::new();
    let narrow = |extent: Extent| extent.across.is_some_and(|degrees| degrees.get() <= NARROW_FIELD);
    let both_narrow = narrow(findings.field_both) || (narrow(findings.field_right) && narrow(findings.field_left));
    if both_narrow {
        notices.push(part::notice("caution", "Narrow field", "The field is 20 degrees or less across."));
    }
    let nystagmus = findings.nystagmus.is_some_and(|found| found != Nystagmus::None);
    if nystagmus && findings.nystagmus_onset == Some(Onset::Later) {
        notices.push(part::notice(
            "stop",
            "Nystagmus that began later",
            "Nystagmus that is not from infancy needs eye care. If it is new, raise a red flag.",
        ));
    }
    notices
}

fn eyes_facts(findings: &Findings) -> Vec<(String, String)> {
    let nystagmus = match (findings.nystagmus, findings.nystagmus_onset) {
        (Some(found), Some(Onset::Unknown)) => format!("{}; not known since when", found.words()),
        (Some(found), Some(onset)) => format!("{}; began {}", found.words(), onset.words()),
        (Some(found), None) => found.words().to_owned(),
        (None, _) => String::new(),
    };
    let gaze = match (findings.best_gaze, findings.best_gaze_degrees) {
        (Some(gaze), Some(degrees)) => format!("{}, {degrees} degrees", gaze.words()),
        (Some(gaze), None) => gaze.words().to_owned(),
        (None, _) => String::new(),
    };
    let alignment: Vec<&str> =
        [findings.alignment.map_or("", |alignment| alignment.words()), findings.alignment_note.as_str()]
            .into_iter()
            .filter(|words| !words.is_empty())
            .collect();
    stated(vec![
        fact("Diagnosis", findings.diagnosis.clone()),
        fact("Course", findings.course.map(|course| course.words()).unwrap_or_default()),
        fact("Alignment", alignment.join("; ")),
        fact("Nystagmus", nystagmus),
        fact("Best gaze", gaze),
        fact("Preferred eye", findings.preferred_eye.map(|eye| eye.words()).unwrap_or_default()),
        fact("Pupil in room light", findings.pupil.map(|mm| format!("{} mm", mm.get())).unwrap_or_default()),
        fact("Accommodation", findings.accommodation.map(|power| format!("{} D", power.get())).unwrap_or_default()),
    ])
}

fn advice(findings: &Findings) -> Vec<(String, String)> {
    let other: Vec<&str> = findings.other_advice.iter().map(|advice| advice.words()).collect();
    stated(vec![
        fact("Light", findings.lighting_advice.clone()),
        fact("Light that suits", findings.lighting_lux.map(|lux| format!("{lux} lux")).unwrap_or_default()),
        fact("Seat", findings.seating_advice.clone()),
        fact("Other advice", words::list(&other)),
        fact("In words", findings.other_advice_note.clone()),
    ])
}

/// Every finding beside acuity and refraction in the words of its page.
pub(in crate::web) fn beside_acuity(findings: &Findings) -> Vec<(String, String)> {
    let advised = advice(findings).into_iter().map(|(label, words)| (format!("Advice: {label}"), words));
    sight(findings).into_iter().chain(eyes_facts(findings)).chain(advised).collect()
}

fn track_view(answer: &TrackAnswer, context: &Context) -> TrackView {
    let safe = if answer.safe == Safe::NotStated { String::new() } else { capital(answer.safe.words()) };
    let facts = part::facts(&[("Answer", capital(answer.choice.words()))])
        .fact("Safe to train", &safe)
        .fact(if answer.safe == Safe::No { "Why not" } else { "Limits" }, &answer.limits)
        .fact("What to train for", &answer.training_tasks);
    let mut list: Vec<Caution> = Vec::new();
    for device in &answer.devices {
        for caution in cautions(device.spec.kind, Occasion::Screen) {
            if !list.contains(&caution) {
                list.push(caution);
            }
        }
    }
    let list: Vec<&str> = list.into_iter().map(Caution::words).collect();
    TrackView {
        title: format!("{} track", capital(answer.track.words())),
        facts,
        devices: answer
            .devices
            .iter()
            .map(|device| {
                (capital(&device_fields::name(&device.spec)), part::facts(&device_fields::facts(device, context)))
            })
            .collect(),
        cautions: part::cautions(&list),
    }
}

fn fact(term: &str, value: impl Into<String>) -> (String, String) {
    (term.to_owned(), value.into())
}

fn stated(facts: Vec<(String, String)>) -> Vec<(String, String)> {
    facts.into_iter().filter(|(_, value)| !value.is_empty()).collect()
}
