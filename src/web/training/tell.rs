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
    let lost = exercise.losses.map(|times| match times {
        1 => "lost once".to_owned(),
        times => format!("lost {times} times"),
    });
    let went_on = exercise.shown.map(|time| format!("{} s", time.get()));
    let a_try = exercise.median.map(|median| format!("{} s a try (median)", median.get()));
    let told = match (lost, went_on) {
        (Some(lost), Some(time)) => format!("{lost} in {time}"),
        (Some(lost), None) => lost,
        (None, Some(time)) => a_try.unwrap_or_else(|| format!("went on for {time}, nothing counted")),
        (None, None) => a_try.unwrap_or_else(|| "done, nothing counted".to_owned()),
    };
    format!("{skill}: {told}, {help}.")
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
    use crate::vision::units::Seconds;

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
    fn without_items_it_tells_what_was_lost_or_timed() {
        let tracing = NewExercise { skill: Skill::Tracing, ..spotting(None, None, Prompt::Told) };
        let lost = NewExercise { losses: Some(4), shown: Seconds::new(60.0).ok(), ..tracing.clone() };
        assert_eq!(sentence(&lost), "Tracing: lost 4 times in 60 s, help: told what to do.");
        let once = NewExercise { losses: Some(1), ..tracing.clone() };
        assert_eq!(sentence(&once), "Tracing: lost once, help: told what to do.");
        let only_time = NewExercise { shown: Seconds::new(90.0).ok(), ..tracing.clone() };
        assert_eq!(sentence(&only_time), "Tracing: went on for 90 s, nothing counted, help: told what to do.");
        let timed = NewExercise { median: Seconds::new(6.5).ok(), ..tracing };
        assert_eq!(sentence(&timed), "Tracing: 6.5 s a try (median), help: told what to do.");
    }

    #[test]
    fn what_was_not_counted_is_said_so() {
        assert_eq!(
            sentence(&spotting(None, None, Prompt::Hint)),
            "Spotting: done, nothing counted, help: a hint or a question."
        );
    }
}
