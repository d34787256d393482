//! Which devices did the student try, from when to when, and what was decided
//! then?
//!
//! A loan and the student's own device are trials alike. Does not know who
//! reads, nor how it is drawn.

use jiff::civil::Date;

use crate::care::gates::Named;
use crate::care::journey::fact::Choice;

/// One device, for as long as the student had it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Which loan or own device.
    pub named: Named,
    /// Kind and strength, in a few words.
    pub words: String,
    /// Its tag; empty when none.
    pub tag: String,
    /// The day it came.
    pub from: Date,
    /// The day it went back; none, it is still here.
    pub to: Option<Date>,
    /// Sessions with it and their minutes; none where the reader may not know.
    pub trained: Option<Trained>,
}

/// How much a device was trained with.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Trained {
    /// Sessions, refused ones too.
    pub sessions: u32,
    /// Their minutes together.
    pub minutes: i64,
}

/// A decision on the track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// The day.
    pub on: Date,
    /// What was decided.
    pub choice: Choice,
}

/// Trials in the order they began, and decisions in the order they were made.
pub fn in_order(trials: &mut [Trial], decisions: &mut [Decision]) {
    trials.sort_by_key(|trial| trial.from);
    decisions.sort_by_key(|decision| decision.on);
}

/// The place of the first decision made after a trial began; of one day, the
/// decision came first, for it is what a device is handed over upon.
#[must_use]
pub fn followed_by(trial: &Trial, decisions: &[Decision]) -> Option<usize> {
    decisions.iter().position(|decision| decision.on > trial.from)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_trial_is_followed_by_the_first_decision_after_it_began() {
        let trial = |from| Trial {
            named: Named::NoDevice,
            words: "8× telescope".to_owned(),
            tag: String::new(),
            from,
            to: None,
            trained: None,
        };
        let mut trials = [trial(date(2027, 2, 26)), trial(date(2026, 10, 26))];
        let mut decisions = [
            Decision { on: date(2027, 6, 1), choice: Choice::Finalise },
            Decision { on: date(2027, 2, 26), choice: Choice::ChangeDevice },
        ];
        in_order(&mut trials, &mut decisions);
        assert_eq!(followed_by(&trials[0], &decisions), Some(0));
        // Handed over on the day it was decided: what follows is the next one.
        assert_eq!(followed_by(&trials[1], &decisions), Some(1));
        assert_eq!(followed_by(&trial(date(2027, 6, 2)), &decisions), None);
    }
}
