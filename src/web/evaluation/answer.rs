//! The answer for one track: a device to train with, keep the own device, none,
//! or not looked at; and whether training is safe.

use crate::care::caution::Caution;
use crate::care::evaluation::{TrackAnswer, TrackChoice};
use crate::care::journey::fact::Safe;
use crate::care::named_device::NamedDevice;
use crate::care::track::Track;
use crate::web::check::{Check, LONG_TEXT};
use crate::web::device_fields;
use crate::web::form::{Entry, Faults, FormView};
use crate::web::part::{self, Piece};
use crate::web::words::options;

/// The devices one answer may list, any of which will do.
const PREFIXES: [(&str, &str); 3] = [
    ("device_1_", "The device"),
    ("device_2_", "A second device that would do as well"),
    ("device_3_", "A third device that would do as well"),
];

/// Who answers: a clinician, who says whether it is safe, or a report on paper,
/// which may leave that open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Says {
    Clinician,
    Paper,
}

/// Reads the answer for a track.
pub(super) fn read(entry: &Entry, track: Track, says: Says) -> Result<TrackAnswer, Faults> {
    let mut check = Check::new(entry);
    let choice: Option<TrackChoice> = check.code("answer", "Answer");
    let with_device = matches!(choice, Some(TrackChoice::Devices | TrackChoice::KeepOwnDevice));
    let safe = safe(&mut check, with_device, says);
    let limits = check.opt_text("limits", "Limits", LONG_TEXT);
    if limits.is_empty() {
        match safe {
            Some(Safe::WithLimits) => check.fault("limits", "Write the limits: where not, how long, with whom."),
            Some(Safe::No) => check.fault("limits", "Write why training is not safe, in words for the team."),
            _ => {}
        }
    }
    let training_tasks = check.opt_text("training_tasks", "What to train for", LONG_TEXT);
    let devices = devices(&mut check, track, choice);
    check.build(|| Some(TrackAnswer { track, choice: choice?, safe: safe?, limits, training_tasks, devices }))
}

/// Asked where something is to be used; elsewhere not stated, unless it was.
fn safe(check: &mut Check<'_>, with_device: bool, says: Says) -> Option<Safe> {
    match check.typed("safe") {
        "" if with_device => {
            check.fault("safe", "Say whether training with it is safe.");
            None
        }
        "" => Some(Safe::NotStated),
        // Not stated is for transcribed reports; a clinician who signs says it.
        "not_stated" if says == Says::Clinician => {
            check.fault("safe", "Choose yes, yes with limits, or no.");
            None
        }
        _ => check.opt_code("safe", "Safe to train"),
    }
}

fn devices(check: &mut Check<'_>, track: Track, choice: Option<TrackChoice>) -> Vec<NamedDevice> {
    let filled: Vec<&str> =
        PREFIXES.iter().map(|(prefix, _)| *prefix).filter(|prefix| !device_fields::is_blank(check, prefix)).collect();
    if choice != Some(TrackChoice::Devices) {
        if choice.is_some() && !filled.is_empty() {
            check.fault(
                "answer",
                "A device is filled in below. Choose \u{201c}A device to train with\u{201d}, or clear the device.",
            );
        }
        return Vec::new();
    }
    let mut named = Vec::new();
    let first = if filled.is_empty() { vec![PREFIXES[0].0] } else { filled };
    for prefix in first {
        named.extend(device_fields::read(check, prefix, Some(track)));
    }
    named
}

/// The fields of the answer for a track.
pub(super) fn fields(form: &FormView, track: Track, says: Says) -> Vec<Piece> {
    let mut safe: Vec<(&str, &str)> = vec![("yes", "Yes"), ("with_limits", "Yes, with limits"), ("no", "No")];
    if says == Says::Paper {
        // G2: an explicit answer opens the gate; silence is kept as silence.
        safe.push(("not_stated", "Not stated on the report"));
    }
    let mut cautions = vec![Caution::Sun.words(), Caution::Still.words()];
    if track == Track::Near {
        cautions.push(Caution::Fire.words());
    }
    let mut pieces = vec![
        form.radios("answer", &format!("Answer for the {} track", track.words()), &options!(TrackChoice)).into(),
        form.radios("safe", "Is training safe?", &safe).hint("Needed with a device").into(),
        form.area("limits", "Limits, or why it is not safe").rows(3).optional().into(),
        form.area("training_tasks", "What to train for")
            .hint("In words for the vision teacher and the family")
            .rows(2)
            .optional()
            .into(),
        Piece::Cautions(part::cautions(&cautions)),
    ];
    for (place, (prefix, words)) in PREFIXES.into_iter().enumerate() {
        let fields = device_fields::fields(form, prefix);
        let touched = form.entry.iter().any(|(name, value)| name.starts_with(prefix) && !value.is_empty())
            || form.faults.iter().any(|(name, _)| name.starts_with(prefix));
        if place == 0 || touched {
            pieces.push(Piece::head(words));
            pieces.push(Piece::Group(fields));
        } else {
            pieces.push(Piece::Folded(words.to_owned(), fields));
        }
    }
    pieces
}

/// The answer back in its fields.
pub(super) fn fill(answer: &TrackAnswer) -> Entry {
    let open =
        answer.safe == Safe::NotStated && answer.devices.is_empty() && answer.choice != TrackChoice::KeepOwnDevice;
    let safe = if open { "" } else { answer.safe.code() };
    let mut entry = Entry::default()
        .with("answer", answer.choice.code())
        .with("safe", safe)
        .with("limits", answer.limits.clone())
        .with("training_tasks", answer.training_tasks.clone());
    for ((prefix, _), device) in PREFIXES.iter().zip(&answer.devices) {
        device_fields::fill(&mut entry, prefix, device);
    }
    entry
}
