//! A session field by field, each under the label of its form: what an amendment
//! sets side by side.
//!
//! Does not know the names of tasks and devices; they arrive in words.

use super::{MOST_EXERCISES, NewExercise, NewSession};
use crate::care::ids::VisualTaskId;
use crate::vision::units::Seconds;

/// Every field of a session and of all the exercises it can hold, with its text;
/// empty where nothing was entered.
pub fn texts(entered: &NewSession, device: &str, task: impl Fn(VisualTaskId) -> String) -> Vec<(String, String)> {
    let said = |words: Option<&'static str>| words.unwrap_or_default().to_owned();
    let felt: Vec<&str> = entered.symptoms.iter().map(|one| one.words()).collect();
    let signs: Vec<&str> = entered.signs.iter().map(|one| one.words()).collect();
    let mut all = vec![
        ("Date".to_owned(), entered.held_on.strftime("%-d %B %Y").to_string()),
        ("Device used".to_owned(), device.to_owned()),
        ("Baseline probe".to_owned(), yes(entered.baseline)),
        ("Minutes".to_owned(), entered.minutes.to_string()),
        ("Place".to_owned(), entered.place.words().to_owned()),
        ("Light".to_owned(), said(entered.light.map(|one| one.words()))),
        ("Position".to_owned(), entered.body.words().to_owned()),
        ("Glasses".to_owned(), said(entered.glasses.map(|one| one.words()))),
        ("How did it feel?".to_owned(), said(entered.comfort.map(|one| one.words()))),
        ("Symptoms".to_owned(), felt.join(", ")),
        ("Red flags".to_owned(), signs.join("; ")),
        ("Refused".to_owned(), yes(entered.refused.is_some())),
        ("Why, in the student\u{2019}s words".to_owned(), entered.refused.clone().unwrap_or_default()),
        ("Why a later skill comes first".to_owned(), entered.order_reason.clone()),
        ("Note".to_owned(), entered.note.clone()),
    ];
    for place in 0..MOST_EXERCISES {
        let exercise = entered.exercises.get(place);
        all.extend(
            of_exercise(exercise, &task)
                .into_iter()
                .map(|(field, text)| (format!("Exercise {}: {field}", place + 1), text)),
        );
    }
    all
}

fn yes(ticked: bool) -> String {
    if ticked { "yes".to_owned() } else { String::new() }
}

fn of_exercise(exercise: Option<&NewExercise>, task: &impl Fn(VisualTaskId) -> String) -> [(&'static str, String); 14] {
    let of = |text: &dyn Fn(&NewExercise) -> String| exercise.map(text).unwrap_or_default();
    let counted = |count: Option<u32>| count.map(|count| count.to_string()).unwrap_or_default();
    let seconds = |value: Option<Seconds>| value.map(|value| format!("{} s", value.get())).unwrap_or_default();
    [
        ("Skill", of(&|one| one.skill.words().to_owned())),
        ("What was done", of(&|one| one.item.clone())),
        ("What it practises", of(&|one| one.task.map(task).unwrap_or_default())),
        ("Distance", of(&|one| one.distance.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default())),
        (
            "Height of the small letters",
            of(&|one| one.x_height.as_ref().map(|typed| typed.typed.clone()).unwrap_or_default()),
        ),
        ("Tried", of(&|one| counted(one.tries))),
        ("Right", of(&|one| counted(one.right))),
        ("Help it took", of(&|one| format!("{} {}", one.prompt.level(), one.prompt.words()))),
        ("Times helped", of(&|one| counted(one.prompt_count))),
        ("Self-corrected", of(&|one| yes(one.self_corrected))),
        ("Median time of one try", of(&|one| seconds(one.median))),
        ("Time it went on", of(&|one| seconds(one.shown))),
        ("Of that time, in view", of(&|one| seconds(one.in_view))),
        ("Times lost", of(&|one| counted(one.losses))),
    ]
}
