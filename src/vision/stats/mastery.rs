//! Is the skill mastered, or did a rule happen to be met?
//!
//! A rule such as "eight of ten, three times running" is met by chance more
//! often than is thought; each finding says how often, and how sure the true
//! rate is. Found with help counts as not found.
//!
//! Does not decide: the vision teacher does.

use super::special::{beta_below, ln_choose};
use super::{Enough, Refused, counted};
use crate::vision::stats::observing::{Overdispersion, tally_chances};
use crate::vision::units::{Fraction, OutOfRange, within};

/// How alike the items of one session are, where it must be allowed for.
/// Common practice.
const ALIKE_WITHIN_A_SESSION: f64 = 0.05;

/// Below this probability of the true rate the rule may have been met by
/// chance. Common practice.
const SURE: f64 = 0.8;

/// How far below the criterion a student is whom the rule must not call a
/// master. Common practice.
const CLEARLY_BELOW: f64 = 0.1;

/// When a skill counts as mastered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Items of a session, at least.
    pub items: u32,
    /// The share of them to be right, unprompted.
    pub criterion: Fraction,
    /// Sessions running.
    pub running: u32,
    /// On how many days, at least.
    pub days: u32,
}

impl Rule {
    /// Eight of ten or better, three sessions running, on two days or more.
    ///
    /// **Source** common practice; with ten items a student of a true rate of
    /// 0.7 meets it by chance within twelve sessions in 34 of 100 (derived).
    pub const USUAL: Self = Self { items: 10, criterion: Fraction::literal(0.8), running: 3, days: 2 };

    fn checked(self) -> Result<Self, OutOfRange> {
        within("items", "", f64::from(self.items), 1.0..=200.0)?;
        within("criterion", "", self.criterion.get(), 0.01..=1.0)?;
        within("sessions running", "", f64::from(self.running), 1.0..=50.0)?;
        within("days", "", f64::from(self.days), 1.0..=50.0)?;
        Ok(self)
    }

    /// The fewest right ones that meet the criterion.
    fn needed(self, items: u32) -> f64 {
        // The criterion is typed in decimals: 0.7 of 10 is 7, not the next above.
        (self.criterion.get() * f64::from(items) - 1e-9).ceil()
    }
}

/// How often a rule is met.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// In one session.
    pub one_session: f64,
    /// At least once in all the sessions.
    pub within_sessions: f64,
    /// In as many of the sessions as are asked for running, in any order: how
    /// often a rule is met that does not ask for a run.
    pub in_any_order: f64,
}

/// How often does a student of this true rate meet the rule within so many sessions?
///
/// **Formula** the tail of the binomial, or beta-binomial, distribution for one
/// session; a Markov chain over the sessions running for all; in any order the
/// tail of the binomial distribution of sessions. **Source** probability, any
/// textbook (derived twice). **Range** 1 to 1 000 sessions.
///
/// ```
/// use farpoint::vision::{stats::mastery::{Rule, chances}, units::Fraction};
/// let below = chances(Rule::USUAL, Fraction::new(0.7)?, None, 12)?;
/// assert!((below.within_sessions - 0.34).abs() < 0.005);
/// // Three good sessions of twelve, not running, come in nine of ten trials.
/// assert!((below.in_any_order - 0.897).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn chances(
    rule: Rule,
    true_rate: Fraction,
    alike: Option<Overdispersion>,
    sessions: u32,
) -> Result<Chances, OutOfRange> {
    let rule = rule.checked()?;
    within("sessions", "", f64::from(sessions), 1.0..=1_000.0)?;
    let each = match alike {
        Some(alike) => tally_chances(rule.items, true_rate, alike),
        None => binomial(rule.items, true_rate.get()),
    };
    let needed = rule.needed(rule.items);
    let one: f64 = (0_u32..).zip(&each).filter(|(k, _)| f64::from(*k) >= needed).map(|(_, p)| p).sum();
    // A sum of chances may pass 1 by its rounding.
    let one = one.min(1.0);

    let running = rule.running as usize;
    let mut state = vec![0.0; running];
    state[0] = 1.0;
    let mut met = 0.0;
    for _ in 0..sessions {
        met += state[running - 1] * one;
        let broken: f64 = state.iter().sum::<f64>() * (1.0 - one);
        for at in (1..running).rev() {
            state[at] = state[at - 1] * one;
        }
        state[0] = broken;
    }
    let in_any_order: f64 = binomial(sessions, one).iter().skip(running).sum();
    // As above; and the sum of no chances is a negative zero.
    Ok(Chances { one_session: one, within_sessions: met, in_any_order: in_any_order.min(1.0) + 0.0 })
}

fn binomial(items: u32, rate: f64) -> Vec<f64> {
    let n = f64::from(items);
    let power = |base: f64, times: f64| if times > 0.0 { times * base.ln() } else { 0.0 };
    (0..=items).map(f64::from).map(|k| (ln_choose(n, k) + power(rate, k) + power(1.0 - rate, n - k)).exp()).collect()
}

/// One session of practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Practice {
    /// Its day, counted from any day.
    pub day: i32,
    /// Right without help.
    pub right: u32,
    /// Of how many.
    pub tried: u32,
}

/// What a mastery rule says about the sessions so far.
#[derive(Debug, Clone, PartialEq)]
pub struct Mastery {
    /// The session with which the rule was first met; none if it was not.
    pub met_with: Option<usize>,
    /// How sure it is that the true rate reaches the criterion, by the last
    /// sessions, as many as the rule asks for running.
    pub sure: f64,
    /// Whether the rule was met and could still be chance.
    pub could_be_chance: bool,
    /// How often a student a tenth below the criterion meets the rule in so
    /// many sessions: the rule's own error.
    pub false_alarm: f64,
    /// How many sessions there are.
    pub sessions: usize,
    /// Whether there is enough for the rule to be met at all.
    pub enough: Enough,
}

/// Is the skill mastered by this rule, and how sure is it?
///
/// **Formula** the rule run by run; P(rate ≥ criterion) from Beta(1 + k, 1 + n
/// − k) on the items of the last sessions, their count lowered to Σ n/(1 +
/// 0.05(n−1)) because items of a session resemble one another; [`chances`] at
/// the criterion less 0.1 as the rule's error. **Source** beta-binomial update,
/// any textbook; 0.05, 0.8 and 0.1 are common practice. **Range** up to 1 000
/// sessions in order, 1 to 200 items each.
///
/// ```
/// use farpoint::vision::stats::mastery::{Practice, Rule, mastery};
/// let week = [(0, 9), (1, 8), (3, 9)].map(|(day, right)| Practice { day, right, tried: 10 });
/// let found = mastery(&week, Rule::USUAL)?;
/// assert_eq!(found.met_with, Some(2));
/// assert!(found.could_be_chance && found.sure < 0.8);
/// # Ok::<(), farpoint::vision::stats::Refused>(())
/// ```
///
/// # Errors
/// No sessions, too many, none tried, or more right than tried.
pub fn mastery(sessions: &[Practice], rule: Rule) -> Result<Mastery, Refused> {
    let rule = rule.checked()?;
    counted("sessions", sessions.len(), 1, 1_000)?;
    for session in sessions {
        let tried = within("items tried", "", f64::from(session.tried), 1.0..=200.0)?;
        within("right ones", "", f64::from(session.right), 0.0..=tried)?;
    }
    let passes = |s: &Practice| s.tried >= rule.items && f64::from(s.right) >= rule.needed(s.tried);
    let running = rule.running as usize;
    let met_with = sessions
        .windows(running)
        .position(|run| {
            let mut days: Vec<i32> = run.iter().map(|session| session.day).collect();
            days.sort_unstable();
            days.dedup();
            run.iter().all(passes) && days.len() >= rule.days as usize
        })
        .map(|first| first + running - 1);
    let last = &sessions[sessions.len().saturating_sub(running)..];
    let worth = |s: &Practice| f64::from(s.tried) / (1.0 + f64::from(s.tried - 1) * ALIKE_WITHIN_A_SESSION);
    let right: f64 = last.iter().map(|s| f64::from(s.right)).sum();
    let tried: f64 = last.iter().map(|s| f64::from(s.tried)).sum();
    let scale = last.iter().map(worth).sum::<f64>() / tried;
    let sure = 1.0 - beta_below(1.0 + right * scale, 1.0 + (tried - right) * scale, rule.criterion.get());
    // No student is right less often than never.
    let below = Fraction::new((rule.criterion.get() - CLEARLY_BELOW).max(0.0))?;
    let alike = Some(Overdispersion::new(ALIKE_WITHIN_A_SESSION)?);
    let false_alarm = chances(rule, below, alike, u32::try_from(sessions.len()).unwrap_or(1_000))?.within_sessions;
    Ok(Mastery {
        met_with,
        sure,
        could_be_chance: met_with.is_some() && sure < SURE,
        false_alarm,
        sessions: sessions.len(),
        enough: Enough::of(&[("sessions", running, sessions.len())]),
    })
}
