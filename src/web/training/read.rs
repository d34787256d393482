//! Reading the form of a session: every field with its range, up to five
//! exercises, and nothing that would have somebody walk while looking.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::care::gates::Named;
use crate::care::loan::named_of;
use crate::care::skill::{Prompt, Skill};
use crate::care::track::Track;
use crate::care::training::{Body, MOST_EXERCISES, NewExercise, NewSession, Place};
use crate::vision::units::Seconds;
use crate::web::check::{Check, LONG_TEXT, SHORT_TEXT};
use crate::web::form::{Entry, Faults};

/// The fields of an exercise, without the prefix that says which one.
pub(super) const EXERCISE_FIELDS: [&str; 14] = [
    "skill", "item", "task", "distance", "height", "tries", "right", "median", "prompt", "prompts", "self", "view",
    "shown", "losses",
];

/// What the form brings along from the last session; alone it is no exercise
/// of a session that the student refused.
const FROM_LAST: [&str; 4] = ["skill", "task", "distance", "height"];

/// The name of a field of an exercise.
pub(super) fn name(exercise: usize, field: &str) -> String {
    format!("e{exercise}_{field}")
}

/// Whether anything was typed into an exercise.
pub(super) fn is_used(entry: &Entry, exercise: usize) -> bool {
    EXERCISE_FIELDS.iter().any(|field| !entry.get(&name(exercise, field)).trim().is_empty())
}

/// Whether more was typed into an exercise than the form brought along.
fn is_more_than_brought(entry: &Entry, exercise: usize) -> bool {
    let mut own = EXERCISE_FIELDS.iter().filter(|field| !FROM_LAST.contains(field));
    own.any(|field| !entry.get(&name(exercise, field)).trim().is_empty())
}

/// The track that the form is for.
pub(super) fn track(entry: &Entry) -> Option<Track> {
    entry.get("track").parse().ok()
}

/// A session as typed and checked; gates are asked afterwards.
pub(super) fn session(entry: &Entry, today: Date, mobility: bool) -> Result<NewSession, Faults> {
    amended(entry, (today, today), mobility)
}

/// The same for a session that is amended: its own day is never too long ago.
pub(super) fn amended(entry: &Entry, (stored, today): (Date, Date), mobility: bool) -> Result<NewSession, Faults> {
    let mut check = Check::new(entry);
    let track: Option<Track> = check.code("track", "Track");
    let device = device(&mut check);
    let held_on = check.date("held_on", "Date", stored.min(today.saturating_sub(1.year()))..=today);
    let minutes = check.whole("minutes", "Minutes", 1..=120);
    let place = check.code::<Place>("place", "Place");
    if place.is_some_and(Place::for_mobility_only) && !mobility {
        check.fault("place", "Streets and crossings are for a mobility specialist. Choose another place.");
    }
    let light = check.opt_code("light", "Light");
    let body = check.code::<Body>("body", "Position");
    let glasses = check.opt_code("glasses", "Glasses");
    let comfort = check.opt_code("comfort", "Comfort");
    let symptoms = check.codes("symptoms", "Symptoms");
    let signs = check.codes("signs", "Red flags");
    let refused = check.ticked("refused");
    let refused_reason = check.opt_text("refused_reason", "Why the student refused", SHORT_TEXT);
    if !refused && !refused_reason.is_empty() {
        check.fault("refused", "Tick this too, or clear the reason below it.");
    }
    let order_reason = check.opt_text("order_reason", "Why a later skill comes first", SHORT_TEXT);
    let note = check.opt_text("note", "Note", LONG_TEXT);
    let mut exercises = Vec::new();
    let mut used = 0;
    for number in 1..=MOST_EXERCISES {
        if is_used(entry, number) && (!refused || is_more_than_brought(entry, number)) {
            used += 1;
            exercises.extend(exercise(&mut check, number));
        }
    }
    if used == 0 && !refused {
        check.fault(name(1, "skill"), "Enter at least one exercise, or tick that the student refused.");
    }
    check.build(|| {
        Some(NewSession {
            track: track?,
            device: device?,
            baseline: entry.get("baseline") == "yes",
            held_on: held_on?,
            minutes: minutes?,
            place: place?,
            light,
            body: body?,
            glasses,
            comfort,
            symptoms,
            signs,
            refused: refused.then_some(refused_reason),
            order_reason,
            note,
            exercises,
        })
    })
}

fn device(check: &mut Check<'_>) -> Option<Named> {
    let named = named_of(check.typed("device"));
    if named.is_none() {
        check.fault("device", "Choose the device that was used, or no device.");
    }
    named
}

fn exercise(check: &mut Check<'_>, number: usize) -> Option<NewExercise> {
    let at = |field: &str| name(number, field);
    let skill: Option<Skill> = check.code(&at("skill"), "Skill");
    let item = check.opt_text(&at("item"), "What was done", SHORT_TEXT);
    let task = check.opt_code(&at("task"), "What it practises");
    let distance = check.opt_length(&at("distance"), "Distance", 0.02..=500.0);
    let x_height = check.opt_length(&at("height"), "Height of the small letters", 0.000_5..=3.0);
    let tries = count(check, &at("tries"), "Tried", 1, 50);
    let right = count(check, &at("right"), "Right", 0, 50);
    match (tries, right) {
        (Some(tries), Some(right)) if right > tries => {
            check.fault(at("right"), format!("Right cannot be more than the {tries} tried."));
        }
        (Some(_), None) if check.typed(&at("right")).is_empty() => {
            check.fault(at("right"), "Write how many of them were right.")
        }
        (None, Some(_)) if check.typed(&at("tries")).is_empty() => {
            check.fault(at("tries"), "Write how many were tried.")
        }
        _ => {}
    }
    let median = seconds(check, &at("median"), "Median time", 300.0);
    let prompt: Option<Prompt> = check.code(&at("prompt"), "Help");
    let prompt_count = count(check, &at("prompts"), "Times helped", 0, 200);
    if prompt == Some(Prompt::None) && prompt_count.is_some_and(|count| count > 0) {
        check.fault(at("prompts"), "With no prompt this is 0. Change one of the two.");
    }
    let in_view = seconds(check, &at("view"), "Time in view", 3_600.0);
    let shown = seconds(check, &at("shown"), "Time it went on", 3_600.0);
    if let (Some(view), Some(shown)) = (in_view, shown)
        && view.get() > shown.get()
    {
        check.fault(at("view"), "In view cannot be longer than the exercise went on.");
    }
    let losses = count(check, &at("losses"), "Times lost", 0, 200);
    Some(NewExercise {
        skill: skill?,
        item,
        task,
        distance,
        x_height,
        tries,
        right,
        median,
        in_view,
        shown,
        losses,
        prompt: prompt?,
        prompt_count,
        self_corrected: check.ticked(&at("self")),
    })
}

fn count(check: &mut Check<'_>, field: &str, label: &str, low: i64, high: i64) -> Option<u32> {
    check.opt_whole(field, label, low..=high).and_then(|number| u32::try_from(number).ok())
}

fn seconds(check: &mut Check<'_>, field: &str, label: &str, most: f64) -> Option<Seconds> {
    check.opt_number(field, label, "s", 0.0..=most).and_then(|number| Seconds::new(number).ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn spotting() -> Entry {
        Entry::default()
            .with("track", "distance")
            .with("device", "none")
            .with("held_on", "2026-09-14")
            .with("minutes", "25")
            .with("place", "own_class")
            .with("body", "seated")
            .with("e1_skill", "spotting")
            .with("e1_tries", "5")
            .with("e1_right", "4")
            .with("e1_prompt", "5")
            .with("e1_distance", "3 m")
            .with("e1_height", "4 cm")
    }

    fn read(entry: &Entry) -> Result<NewSession, Faults> {
        session(entry, date(2026, 9, 20), false)
    }

    #[test]
    fn what_was_counted_is_kept_with_distance_and_height() {
        let session = read(&spotting()).ok();
        let exercise = session.as_ref().and_then(|session| session.exercises.first());
        let exercise = exercise
            .map(|one| (one.tries, one.right, one.prompt, one.x_height.as_ref().map(|height| height.value.get())));
        assert_eq!(exercise, Some((Some(5), Some(4), Prompt::None, Some(0.04))));
    }

    #[test]
    fn more_right_than_tried_walking_and_streets_are_refused_beside_their_field() {
        for (field, value) in
            [("e1_right", "6"), ("body", "walking"), ("place", "street"), ("minutes", "0"), ("e1_distance", "-3 m")]
        {
            let faults = read(&spotting().with(field, value)).err();
            assert!(faults.as_ref().is_some_and(|faults| faults.of(field).is_some()), "{field}");
        }
        assert!(session(&spotting().with("place", "street"), date(2026, 9, 20), true).is_ok());
    }

    #[test]
    fn a_session_without_exercises_says_that_the_student_refused() {
        let bare = spotting().iter().filter(|(name, _)| !name.starts_with("e1_")).collect::<Entry>();
        assert!(read(&bare).is_err());
        let refused = bare.with("refused", "yes");
        assert!(read(&refused).is_ok_and(|session| session.refused.is_some()));
        // The form brings the last skill and distance along; nobody has to clear them.
        let brought = refused.with("e1_skill", "spotting").with("e1_distance", "3 m");
        assert!(read(&brought).is_ok_and(|session| session.exercises.is_empty()));
        assert!(
            read(&brought.with("e1_tries", "5").with("e1_right", "2"))
                .is_err_and(|faults| faults.of("e1_prompt").is_some())
        );
    }
}
