//! The findings beside acuity and refraction, as they are typed.
//!
//! Three sections write into one [`Findings`]: each takes what is stored and
//! puts its own part in. Every field may be left out: what was not looked at is
//! not stated.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::care::evaluation::{
    Alignment, ColourVision, Contrast, ContrastMethod, Course, Evaluation, Extent, FieldMethod, FieldPattern, Findings,
    Gaze, Glare, Nystagmus, Onset, OtherAdvice, PreferredEye, TestedEye,
};
use crate::store::evaluation::NewDraft;
use crate::vision::units::{Degrees, Dioptres, Millimetres};
use crate::web::check::{Check, LONG_TEXT, NAME, SHORT_TEXT};
use crate::web::form::{Entry, Faults, FormView};
use crate::web::part::Piece;
use crate::web::words::options;

/// The oldest examination that is entered here as one's own, in years.
const OLDEST_EXAM_YEARS: i64 = 2;
/// When the next evaluation may be due, in months after the examination.
/// Common practice.
const DUE_MONTHS: [i64; 2] = [3, 24];
/// The best log contrast sensitivity that is measured. Common practice.
const BEST_CONTRAST: f64 = 2.4;

/// Reads day, place and when again.
pub(super) fn read_exam(entry: &Entry, today: Date) -> Result<NewDraft, Faults> {
    let mut check = Check::new(entry);
    let oldest = today.saturating_sub(OLDEST_EXAM_YEARS.years());
    let examined_on = check.date("examined_on", "Examined on", oldest..=today);
    let place = check.opt_text("place", "Place", NAME);
    let next_due_on = examined_on.and_then(|examined| {
        let [first, last] = DUE_MONTHS.map(|months| examined.saturating_add(months.months()));
        check.opt_date("next_due_on", "Next evaluation due", first..=last)
    });
    check.build(|| Some(NewDraft { examined_on: examined_on?, place, next_due_on }))
}

/// The day of the next evaluation, so many months on.
pub(super) fn due_after(examined: Date, months: i64) -> Date {
    examined.saturating_add(months.clamp(DUE_MONTHS[0], DUE_MONTHS[1]).months())
}

pub(super) fn exam_fields(form: &FormView) -> Vec<Piece> {
    vec![
        form.date("examined_on", "Examined on").into(),
        form.text("place", "Place").hint("Clinic, or school").optional().into(),
        form.date("next_due_on", "Next evaluation due").hint("3 to 24 months after the examination").into(),
    ]
}

pub(super) fn exam_entry(evaluation: &Evaluation) -> Entry {
    let day = |day: Option<Date>| day.map(|day| day.to_string()).unwrap_or_default();
    Entry::default()
        .with("examined_on", day(evaluation.examined_on))
        .with("place", evaluation.place.clone())
        .with("next_due_on", day(evaluation.next_due_on))
}

/// Reads contrast, field, colour and glare.
pub(super) fn read_sight(entry: &Entry, before: &Findings) -> Result<Findings, Faults> {
    let mut check = Check::new(entry);
    let contrast = contrast(&mut check);
    let field_method = check.opt_code("field_method", "How the field was measured");
    let field_pattern = check.codes::<FieldPattern>("field_pattern", "What the field looks like");
    if field_pattern.contains(&FieldPattern::Full) && field_pattern.len() > 1 {
        check.fault("field_pattern", "A full field has no other pattern. Choose \u{201c}Full\u{201d} or the others.");
    }
    let field_note = check.opt_text("field_note", "The field in words", LONG_TEXT);
    let field_right = extent(&mut check, "field_right", "right eye");
    let field_left = extent(&mut check, "field_left", "left eye");
    let field_both = extent(&mut check, "field_both", "both eyes");
    let colour = check.opt_code("colour", "Colour vision");
    let glare_indoor = check.opt_code("glare_indoor", "Glare indoors");
    let glare_outdoor = check.opt_code("glare_outdoor", "Glare outdoors");
    let filter_note = check.opt_text("filter", "Filter tried", SHORT_TEXT);
    let filter_transmission = check.opt_whole("filter_transmission", "Light the filter lets through", 1..=100);
    check.build(|| {
        Some(Findings {
            contrast,
            field_method,
            field_pattern,
            field_note,
            field_right,
            field_left,
            field_both,
            colour,
            glare_indoor,
            glare_outdoor,
            filter_note,
            filter_transmission,
            ..before.clone()
        })
    })
}

/// Log units, or percent with its sign.
fn contrast(check: &mut Check<'_>) -> Option<Contrast> {
    let typed = check.opt_text("contrast", "Contrast sensitivity", NAME);
    let eye: Option<TestedEye> = check.opt_code("contrast_eye", "Eye of the contrast test");
    let method: Option<ContrastMethod> = check.opt_code("contrast_method", "How contrast was measured");
    if typed.is_empty() {
        if eye.is_some() || method.is_some() {
            check.fault("contrast", "Write the contrast sensitivity, or take its eye and method out.");
        }
        return None;
    }
    let log = contrast_log(&typed);
    if log.is_none() {
        check.fault("contrast", "Write log units from 0 to 2.4, for example 1.20, or the smallest contrast seen from 0.5 % to 100 %, for example 6 %.");
    }
    if eye.is_none() {
        check.fault("contrast_eye", "Choose the eye the contrast was measured with.");
    }
    Some(Contrast { typed, log: log?, eye, method })
}

/// **Formula** log CS = −log10 of the threshold contrast. **Source** definition
/// of log contrast sensitivity (Weber contrast at threshold = 10^−log CS).
fn contrast_log(typed: &str) -> Option<f64> {
    let plain = typed.to_lowercase().replace(',', ".");
    let number = |text: &str| text.trim().parse::<f64>().ok().filter(|number| number.is_finite());
    match plain.strip_suffix('%') {
        Some(percent) => number(percent)
            .filter(|percent| (0.5..=100.0).contains(percent))
            .map(|percent| -(percent / 100.0).log10() + 0.0),
        None => {
            let bare = plain.trim_end_matches("units").trim().trim_end_matches("log").trim();
            number(bare).filter(|log| (0.0..=BEST_CONTRAST).contains(log))
        }
    }
}

fn extent(check: &mut Check<'_>, name: &str, eye: &str) -> Extent {
    let across = check.opt_number(&format!("{name}_across"), &format!("Field across, {eye},"), "degrees", 0.0..=220.0);
    let upright =
        check.opt_number(&format!("{name}_upright"), &format!("Field up and down, {eye},"), "degrees", 0.0..=160.0);
    Extent {
        across: across.and_then(|degrees| Degrees::new(degrees).ok()),
        upright: upright.and_then(|degrees| Degrees::new(degrees).ok()),
    }
}

pub(super) fn sight_fields(form: &FormView) -> Vec<Piece> {
    let mut pieces = vec![
        Piece::head("Contrast"),
        form.decimal("contrast", "Contrast sensitivity (log units, or % with the sign)")
            .hint("For example 1.20 or 6 %")
            .optional()
            .into(),
        form.select("contrast_eye", "Eye of the contrast test", &options!(TestedEye))
            .blank("Not stated")
            .optional()
            .into(),
        form.select("contrast_method", "How contrast was measured", &options!(ContrastMethod))
            .blank("Not stated")
            .optional()
            .into(),
        Piece::head("Field"),
        form.select("field_method", "How the field was measured", &options!(FieldMethod))
            .blank("Not measured")
            .optional()
            .into(),
        form.checks("field_pattern", "What the field looks like", &options!(FieldPattern)).optional().into(),
    ];
    for (name, eye) in [("field_right", "right eye"), ("field_left", "left eye"), ("field_both", "both eyes")] {
        let across = form.decimal(&format!("{name}_across"), &format!("Widest across, {eye} (degrees)"));
        let upright = form.decimal(&format!("{name}_upright"), &format!("Widest up and down, {eye} (degrees)"));
        pieces.push(across.optional().into());
        pieces.push(upright.optional().into());
    }
    pieces.push(form.area("field_note", "The field in words").rows(2).optional().into());
    pieces.push(Piece::head("Colour"));
    pieces.push(form.select("colour", "Colour vision", &options!(ColourVision)).blank("Not tested").optional().into());
    pieces.push(Piece::head("Glare and filters"));
    for (name, label) in [("glare_indoor", "Glare indoors"), ("glare_outdoor", "Glare outdoors")] {
        pieces.push(form.select(name, label, &options!(Glare)).blank("Not asked").optional().into());
    }
    pieces.push(form.text("filter", "Filter tried").hint("Its tint, and what it changed").optional().wide().into());
    pieces.push(form.whole("filter_transmission", "Light the filter lets through (%)").optional().into());
    pieces
}

pub(super) fn sight_entry(findings: &Findings) -> Entry {
    let number = |degrees: Option<Degrees>| degrees.map(|degrees| degrees.get().to_string()).unwrap_or_default();
    let mut entry = Entry::default()
        .with("field_method", findings.field_method.map(FieldMethod::code).unwrap_or_default())
        .with("field_note", findings.field_note.clone())
        .with("colour", findings.colour.map(ColourVision::code).unwrap_or_default())
        .with("glare_indoor", findings.glare_indoor.map(Glare::code).unwrap_or_default())
        .with("glare_outdoor", findings.glare_outdoor.map(Glare::code).unwrap_or_default())
        .with("filter", findings.filter_note.clone())
        .with("filter_transmission", whole(findings.filter_transmission));
    if let Some(contrast) = &findings.contrast {
        entry.set("contrast", contrast.typed.clone());
        entry.set("contrast_eye", contrast.eye.map(TestedEye::code).unwrap_or_default());
        entry.set("contrast_method", contrast.method.map(ContrastMethod::code).unwrap_or_default());
    }
    for pattern in &findings.field_pattern {
        entry.add("field_pattern", pattern.code());
    }
    for (name, extent) in [
        ("field_right", findings.field_right),
        ("field_left", findings.field_left),
        ("field_both", findings.field_both),
    ] {
        entry.set(format!("{name}_across"), number(extent.across));
        entry.set(format!("{name}_upright"), number(extent.upright));
    }
    entry
}

/// Reads how the eyes stand and move, and the diagnosis.
pub(super) fn read_eyes(entry: &Entry, before: &Findings) -> Result<Findings, Faults> {
    let mut check = Check::new(entry);
    let diagnosis = check.opt_text("diagnosis", "Diagnosis", 500);
    let course = check.opt_code("course", "Course");
    let alignment = check.opt_code("alignment", "Alignment");
    let alignment_note = check.opt_text("alignment_note", "Alignment in words", SHORT_TEXT);
    let nystagmus: Option<Nystagmus> = check.opt_code("nystagmus", "Nystagmus");
    let nystagmus_onset: Option<Onset> = check.opt_code("nystagmus_onset", "Since when");
    if nystagmus_onset.is_some() && nystagmus.is_none_or(|found| found == Nystagmus::None) {
        check.fault("nystagmus", "Say which nystagmus began then, or take its beginning out.");
    }
    let best_gaze: Option<Gaze> = check.opt_code("best_gaze", "Best gaze");
    let best_gaze_degrees = check.opt_whole("best_gaze_degrees", "How far to that side", 0..=45);
    if best_gaze_degrees.is_some_and(|degrees| degrees > 0) && best_gaze.is_none_or(|gaze| gaze == Gaze::Straight) {
        check.fault("best_gaze", "Say to which side the eyes look.");
    }
    let preferred_eye = check.opt_code("preferred_eye", "Preferred eye");
    let pupil = check.opt_number("pupil", "Pupil", "mm", 0.5..=10.0).and_then(|mm| Millimetres::new(mm).ok());
    let accommodation =
        check.opt_number("accommodation", "Accommodation", "D", 0.0..=20.0).and_then(|power| Dioptres::new(power).ok());
    check.build(|| {
        Some(Findings {
            alignment,
            alignment_note,
            nystagmus,
            nystagmus_onset,
            best_gaze,
            best_gaze_degrees,
            preferred_eye,
            pupil,
            accommodation,
            diagnosis,
            course,
            ..before.clone()
        })
    })
}

pub(super) fn eyes_fields(form: &FormView) -> Vec<Piece> {
    vec![
        form.area("diagnosis", "Diagnosis, in your own words").rows(3).optional().into(),
        form.select("course", "Course", &options!(Course)).blank("Not stated").optional().into(),
        Piece::head("How the eyes stand and move"),
        form.select("alignment", "Alignment", &options!(Alignment)).blank("Not stated").optional().into(),
        form.text("alignment_note", "Alignment in words")
            .hint("Which eye, how much, always or at times")
            .optional()
            .wide()
            .into(),
        form.select("nystagmus", "Nystagmus", &options!(Nystagmus)).blank("Not stated").optional().into(),
        form.select("nystagmus_onset", "Since when", &options!(Onset)).blank("Not stated").optional().into(),
        form.select("best_gaze", "Best gaze", &options!(Gaze))
            .hint("Where the eyes look when they see best; a head turn to the right puts the eyes left")
            .blank("Not stated")
            .optional()
            .into(),
        form.whole("best_gaze_degrees", "How far to that side (degrees)").optional().into(),
        form.select("preferred_eye", "Preferred eye", &options!(PreferredEye)).blank("Not stated").optional().into(),
        Piece::head("Pupil and focus"),
        form.decimal("pupil", "Pupil in room light (mm)")
            .hint("Compared with the exit pupil of a telescope")
            .optional()
            .into(),
        form.decimal("accommodation", "Accommodation (D)").optional().into(),
    ]
}

pub(super) fn eyes_entry(findings: &Findings) -> Entry {
    Entry::default()
        .with("diagnosis", findings.diagnosis.clone())
        .with("course", findings.course.map(Course::code).unwrap_or_default())
        .with("alignment", findings.alignment.map(Alignment::code).unwrap_or_default())
        .with("alignment_note", findings.alignment_note.clone())
        .with("nystagmus", findings.nystagmus.map(Nystagmus::code).unwrap_or_default())
        .with("nystagmus_onset", findings.nystagmus_onset.map(Onset::code).unwrap_or_default())
        .with("best_gaze", findings.best_gaze.map(Gaze::code).unwrap_or_default())
        .with("best_gaze_degrees", whole(findings.best_gaze_degrees))
        .with("preferred_eye", findings.preferred_eye.map(PreferredEye::code).unwrap_or_default())
        .with("pupil", findings.pupil.map(|mm| mm.get().to_string()).unwrap_or_default())
        .with("accommodation", findings.accommodation.map(|power| power.get().to_string()).unwrap_or_default())
}

/// Reads advice that needs no device.
pub(super) fn read_advice(entry: &Entry, before: &Findings) -> Result<Findings, Faults> {
    let mut check = Check::new(entry);
    let lighting_advice = check.opt_text("lighting", "Light", LONG_TEXT);
    let lighting_lux = check.opt_whole("lux", "Light that suits", 1..=100_000);
    let seating_advice = check.opt_text("seating", "Seat", LONG_TEXT);
    let other_advice = check.codes("advice", "Other advice");
    let other_advice_note = check.opt_text("advice_note", "Other advice in words", LONG_TEXT);
    check.build(|| {
        Some(Findings {
            lighting_advice,
            lighting_lux,
            seating_advice,
            other_advice,
            other_advice_note,
            ..before.clone()
        })
    })
}

pub(super) fn advice_fields(form: &FormView) -> Vec<Piece> {
    vec![
        form.area("lighting", "Light")
            .hint("More or less, from which side, what to keep out of view")
            .rows(2)
            .optional()
            .into(),
        form.whole("lux", "Light that suits (lux)").optional().into(),
        form.area("seating", "Seat").hint("How near, on which side, back to which window").rows(2).optional().into(),
        form.checks("advice", "Other advice", &options!(OtherAdvice)).optional().into(),
        form.area("advice_note", "Other advice in words").rows(3).optional().into(),
    ]
}

pub(super) fn advice_entry(findings: &Findings) -> Entry {
    let mut entry = Entry::default()
        .with("lighting", findings.lighting_advice.clone())
        .with("lux", whole(findings.lighting_lux))
        .with("seating", findings.seating_advice.clone())
        .with("advice_note", findings.other_advice_note.clone());
    for advice in &findings.other_advice {
        entry.add("advice", advice.code());
    }
    entry
}

fn whole(number: Option<i64>) -> String {
    number.map(|number| number.to_string()).unwrap_or_default()
}
