//! An entry field by field, each under the label of its form: what an amendment
//! sets side by side.
//!
//! Does not know the names of tasks and devices; they arrive in words.

use super::suspect::Which;
use super::{Length, NewObservation, Outcome};

/// The label of a length on the form.
#[must_use]
pub const fn label(which: Which) -> &'static str {
    match which {
        Which::Distance => "From how far",
        Which::XHeight => "Height of the small letters",
    }
}

/// Every field of an entry with its text; empty where nothing was entered.
///
/// `task` is the name of the student's own task, `device` what was in hand.
#[must_use]
pub fn texts(entry: &NewObservation, task: &str, device: &str) -> Vec<(&'static str, String)> {
    let said = |words: Option<&'static str>| words.unwrap_or_default().to_owned();
    vec![
        ("Day", entry.seen_on.strftime("%-d %B %Y").to_string()),
        ("Who saw it", entry.informant.clone()),
        ("Where", said(entry.place.map(|one| one.words()))),
        ("What was looked at", task.to_owned()),
        ("What it was, in your words", entry.what.clone()),
        ("Was the device out?", entry.device_out.words().to_owned()),
        ("Which device", device.to_owned()),
        ("Why it was not out", said(entry.non_use.map(|one| one.words()))),
        ("How much was right", outcome(entry.outcome)),
        (label(Which::Distance), length(entry.distance.as_ref())),
        ("About how far", said(entry.band.map(|one| one.words()))),
        (label(Which::XHeight), length(entry.x_height.as_ref())),
        ("How it stood out", said(entry.contrast.map(|one| one.words()))),
        ("What had to be recognised", said(entry.target.map(|one| one.words()))),
        ("Among how many", entry.choices.map(|choices| choices.to_string()).unwrap_or_default()),
        ("Glasses", said(entry.glasses.map(|one| one.words()))),
        ("Help", said(entry.help.map(|one| one.words()))),
        ("How were the eyes?", said(entry.comfort.map(|one| one.words()))),
        ("How did it feel?", said(entry.mood.map(|one| one.words()))),
        ("How fast?", said(entry.pace.map(|one| one.words()))),
        ("How long before tired?", said(entry.tired.map(|one| one.words()))),
        ("Whose idea was it?", said(entry.suggested.map(|one| one.words()))),
        ("Note", entry.note.clone()),
    ]
}

fn outcome(outcome: Outcome) -> String {
    match outcome {
        Outcome::Counted { right, tried } => format!("{right} of {tried}"),
        Outcome::Graded(graded) => graded.words().to_owned(),
    }
}

fn length<T>(length: Option<&Length<T>>) -> String {
    length.map_or_else(String::new, |length| {
        let from = if length.from_task { " (from the task)" } else { "" };
        format!("{}{from}", length.typed)
    })
}
