//! How one exercise is told: the rate with its interval and its count, and help
//! beside it.

use std::collections::BTreeMap;

use crate::access::Access;
use crate::access::action::Reads;
use crate::access::resource::LoanGlimpse;
use crate::care::gates::Named;
use crate::care::skill::Prompt;
use crate::care::training::{NewExercise, Session};
use crate::store::{Snapshot, loan};
use crate::vision::skill::{Level, success_rate};
use crate::web::error::Result;
use crate::web::part::{self, How};
use crate::web::{outside, words};

/// The words for every device that sessions name.
#[derive(Default)]
pub(in crate::web) struct Devices(BTreeMap<String, String>);

impl Devices {
    /// A device in a few words.
    pub(in crate::web) fn words(&self, named: Named) -> String {
        match named {
            Named::NoDevice => "no device".to_owned(),
            named => self.known(named).unwrap_or("a device").to_owned(),
        }
    }

    /// The words of a device that was found.
    pub(in crate::web) fn known(&self, named: Named) -> Option<&str> {
        self.0.get(&crate::care::loan::code_of(named)).map(String::as_str)
    }
}

/// Looks the devices of these sessions up, each on the day it was used.
pub(in crate::web) async fn devices(
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
    ])
    .summary("How the rates were computed")
    .source("Wilson 1927, recomputed independently.")
    .asks_all(asked)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::care::skill::Skill;

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
    }

    #[test]
    fn what_was_not_counted_is_said_so() {
        assert_eq!(
            sentence(&spotting(None, None, Prompt::Hint)),
            "Spotting: done, nothing counted, help: a hint or a question."
        );
    }
}
