//! How a count of exercises is told: the rate with its interval and its count,
//! help beside it, and one sentence of what an exercise says.

use std::collections::BTreeMap;

use crate::access::Access;
use crate::access::action::Reads;
use crate::access::resource::LoanGlimpse;
use crate::care::gates::Named;
use crate::care::skill::{Prompt, Skill};
use crate::care::training::{NewExercise, Session};
use crate::store::{Snapshot, loan};
use crate::vision::skill::{Level, SuccessRate, success_rate};
use crate::web::error::Result;
use crate::web::part::{self, How};
use crate::web::{outside, words};

/// The words for every device that sessions name.
#[derive(Default)]
pub(super) struct Devices(BTreeMap<String, String>);

impl Devices {
    /// A device in a few words.
    pub(super) fn words(&self, named: Named) -> String {
        match named {
            Named::NoDevice => "no device".to_owned(),
            named => self.0.get(&crate::care::loan::code_of(named)).cloned().unwrap_or_else(|| "a device".to_owned()),
        }
    }
}

/// Looks the devices of these sessions up, each on the day it was used.
pub(super) async fn devices(
    snapshot: &mut Snapshot,
    access: &Access<LoanGlimpse, impl Reads>,
    sessions: &[Session],
) -> Result<Devices> {
    let mut found = BTreeMap::new();
    for session in sessions {
        let code = crate::care::loan::code_of(session.entered.device);
        if session.entered.device == Named::NoDevice || found.contains_key(&code) {
            continue;
        }
        for device in loan::in_hand_on(snapshot, access, session.entered.held_on).await? {
            found.insert(device.code(), device.words);
        }
    }
    Ok(Devices(found))
}

/// What the exercises of one skill in one session add up to.
pub(super) struct Tally {
    pub(super) tries: u32,
    pub(super) right: u32,
    pub(super) alone_tries: u32,
    pub(super) alone_right: u32,
    pub(super) help: String,
}

/// Adds up the exercises of one skill; those without a count add their help only.
pub(super) fn tally(session: &Session, skill: Skill) -> Tally {
    let mut tally = Tally { tries: 0, right: 0, alone_tries: 0, alone_right: 0, help: String::new() };
    let mut levels = Vec::new();
    for exercise in session.entered.exercises.iter().filter(|exercise| exercise.skill == skill) {
        levels.push(exercise.prompt);
        if let (Some(tries), Some(right)) = (exercise.tries, exercise.right) {
            tally.tries = tally.tries.saturating_add(tries);
            tally.right = tally.right.saturating_add(right);
            if exercise.prompt == Prompt::None {
                tally.alone_tries = tally.alone_tries.saturating_add(tries);
                tally.alone_right = tally.alone_right.saturating_add(right);
            }
        }
    }
    tally.help = median_level(&levels);
    tally
}

/// The middle level of help; between two levels, the one with more help, so
/// that nothing looks more independent than it was.
fn median_level(levels: &[Prompt]) -> String {
    let mut levels: Vec<Prompt> = levels.to_vec();
    levels.sort_by_key(|prompt| prompt.level());
    let middle = levels.len().saturating_sub(1) / 2;
    levels.get(middle).map(|prompt| format!("{}: {}", prompt.level(), prompt.words())).unwrap_or_default()
}

/// "4 of 5 (38 % to 96 %)", or that nothing was counted; for a table's cell, so
/// no number is parted from its sign.
pub(super) fn right_of(right: u32, tries: u32) -> String {
    match success_rate(right, tries, Level::NinetyFive) {
        Ok(rate) => format!("{right} of {tries} ({})", between(&rate)).replace(" %", "\u{a0}%"),
        Err(_) => "none counted".to_owned(),
    }
}

fn between(rate: &SuccessRate) -> String {
    format!("{} to {}", percent(rate.low.get()), percent(rate.high.get()))
}

fn percent(share: f64) -> String {
    format!("{} %", (share * 100.0).round())
}

/// One sentence of what an exercise says.
pub(super) fn sentence(exercise: &NewExercise) -> String {
    let skill = words::capital(exercise.skill.words());
    let help = match exercise.prompt {
        Prompt::None => "no prompts".to_owned(),
        prompt => format!("help: {}", prompt.words()),
    };
    if let (Some(tries), Some(right)) = (exercise.tries, exercise.right)
        && let Ok(rate) = success_rate(right, tries, Level::NinetyFive)
    {
        let tries = if tries == 1 { "1 try".to_owned() } else { format!("{tries} tries") };
        return format!(
            "{skill}: {right} of {} right, {help} (true rate between {} and {}, 95 % Wilson interval, {tries}).",
            rate.trials,
            percent(rate.low.get()),
            percent(rate.high.get()),
        );
    }
    if let (Some(in_view), Some(shown)) = (exercise.in_view, exercise.shown) {
        let lost = match exercise.losses {
            Some(1) => ", lost once".to_owned(),
            Some(times) => format!(", lost {times} times"),
            None => String::new(),
        };
        return format!("{skill}: {} s in view of {} s{lost}, {help}.", in_view.get(), shown.get());
    }
    format!("{skill}: done, nothing counted, {help}.")
}

/// How the rates were computed, of these counts: right of tried.
pub(super) fn how_rates(counts: &[(u32, u32)]) -> How {
    let asked = counts.iter().filter_map(|(right, tries)| {
        let rate = success_rate(*right, *tries, Level::NinetyFive).ok()?;
        Some(outside::success(*right, *tries, &percent(rate.low.get()), &percent(rate.high.get())))
    });
    part::how(&[
        "The interval holds every true rate that fits the count: Wilson\u{2019}s score interval at 95 %.",
        "A few items leave it wide: 4 right of 5 fits a true rate from 38 % to 96 %.",
        "Items of one skill in one session are counted together. Help is told beside them, as the median level from 0 (hand over hand) to 5 (no prompt).",
        "Sessions with another device, distance, size or light are not the same series; compare like with like.",
    ])
    .summary("How the rates were computed")
    .source("Wilson 1927, recomputed independently.")
    .asks_all(asked)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spotting(tries: Option<u32>, right: Option<u32>, prompt: Prompt) -> NewExercise {
        NewExercise {
            skill: Skill::Spotting,
            item: String::new(),
            task: None,
            distance: None,
            x_height: None,
            tries,
            right,
            median: None,
            in_view: None,
            shown: None,
            losses: None,
            prompt,
            prompt_count: None,
            self_corrected: false,
        }
    }

    // Wilson's interval for 4 of 5 at 95 %: 0.376 to 0.964 (recomputed by hand from the formula).
    #[test]
    fn four_of_five_is_told_with_its_interval_and_its_count() {
        assert_eq!(
            sentence(&spotting(Some(5), Some(4), Prompt::None)),
            "Spotting: 4 of 5 right, no prompts (true rate between 38 % and 96 %, 95 % Wilson interval, 5 tries)."
        );
        assert_eq!(right_of(4, 5), "4 of 5 (38\u{a0}% to 96\u{a0}%)");
        assert_eq!(right_of(0, 0), "none counted");
    }

    #[test]
    fn help_is_never_told_as_less_than_it_was() {
        assert_eq!(median_level(&[Prompt::None, Prompt::Told]), "3: told what to do");
        assert_eq!(median_level(&[Prompt::None, Prompt::Told, Prompt::Hint]), "4: a hint or a question");
        assert_eq!(
            sentence(&spotting(None, None, Prompt::Hint)),
            "Spotting: done, nothing counted, help: a hint or a question."
        );
    }
}
