//! How the figures of a skill were computed, with the lines to recompute them.
//!
//! The inputs are counts, times and days of sessions, which every reader of the
//! training may read.

use askama::Template;
use askama::filters::HtmlSafe;

use super::told::{factor, percent, seconds, signed, slope_unit, tenth, tenth_or_whole};
use super::{Known, Reader};
use crate::care::progress::finding::{Compared, Stand, Trend};
use crate::care::progress::measure::Measure;
use crate::care::progress::rule::{ALIKE, BELOW, Steady};
use crate::care::progress::{NOT_REACHED, Time};
use crate::vision::skill::Level;
use crate::vision::stats::growth::{Growth, RateOnDay};
use crate::vision::stats::mastery::{Practice, Rule};
use crate::vision::stats::overlap::Better;
use crate::vision::units::Seconds;
use crate::web::outside::{Asked, ask};
use crate::web::part::{self, How};

/// How the figures of every skill are computed.
const METHOD: [&str; 6] = [
    "Only exercises without help count; sizes within a quarter of the first are one series. Sessions of one day count as one in a trend.",
    "Right of tried: Wilson\u{2019}s interval, 90 in 100. A typical time is the median of the sessions; one in which half or more was not found counts as longer than all others.",
    "Change a week: the median of the slopes of all pairs of days, its interval by ranks. Weekly growth: least squares on the logarithm, its interval by Student\u{2019}s t.",
    "Sessions that follow one another resemble one another, so both intervals are widened by the root of (1 + r) \u{f7} (1 \u{2212} r): r is 0.2 below 12 sessions, and measured from 12 on.",
    "Against the probes: every probe with every session; a tie counts half. Where less is better, the values are taken negative.",
    "Probability of four of five: the items of the last three sessions, counted for less because items of a session are alike, on an even assumption before.",
];
const SOURCE: &str = "Wilson 1927, Garwood 1936 (from memory); Theil 1950 and Sen 1968; Parker and Vannest 2009, interval by Newcombe 2006; the rest common practice. Recomputed independently.";
/// The same for a family.
const PLAIN: [&str; 2] = [
    "Of the seconds of each practice we take the one in the middle: as many were faster as were slower.",
    "Only what your child did without help counts.",
];

/// How the figures were computed, said once on paper for all skills: beside each skill
/// it takes more room there than the figures do. On a screen each skill has its own
/// panel, with the lines to recompute.
#[derive(Template)]
#[template(path = "progress/method.html")]
pub(in crate::web) struct Method {
    heading: &'static str,
    lines: &'static [&'static str],
    source: &'static str,
}

impl HtmlSafe for Method {}

impl Method {
    /// The method in the words of this reader.
    pub(super) const fn of(reader: &Reader) -> Self {
        if reader.plain {
            Self { heading: "How we got the seconds", lines: &PLAIN, source: "" }
        } else {
            Self { heading: "How the figures were computed", lines: &METHOD, source: SOURCE }
        }
    }
}

impl Known<'_> {
    /// The panel; none where no figure is told.
    pub(super) fn account(&self) -> Option<How> {
        if self.reader.plain {
            return self.plain_account();
        }
        let finding = self.finding;
        let stands: Vec<&Stand> = [&finding.was, &finding.is].into_iter().flatten().collect();
        let mut asked: Vec<Asked> = stands.iter().flat_map(|stand| of_stand(stand)).collect();
        if let Ok((growth, rates, days)) = &finding.growth {
            asked.push(of_growth(growth, rates, days));
        }
        if let Ok(trend) = &finding.trend {
            asked.push(of_trend(trend, finding.measure));
        }
        if let Ok(trend) = &finding.accuracy {
            asked.push(of_trend(trend, Measure::Share));
        }
        if let Ok(compared) = &finding.compared {
            asked.push(of_pairs(compared));
        }
        if let Ok((found, practices)) = &finding.mastery {
            asked.push(of_practices(practices, &percent(found.sure), &percent(found.false_alarm)));
        }
        if let Some(steady) = self.steady.filter(Steady::could_be_met) {
            asked.push(of_rule(&steady.rule, steady.sessions).gives("p_met_in_any_order", &percent(steady.by_chance)));
        }
        if asked.is_empty() {
            return None;
        }
        Some(part::how(&METHOD).summary("How this was computed").source(SOURCE).asks_all(asked))
    }

    /// For a family: how the seconds came about.
    fn plain_account(&self) -> Option<How> {
        let stands = [&self.finding.was, &self.finding.is].into_iter().flatten();
        let asked: Vec<Asked> = stands
            .filter_map(|stand| match stand.time {
                Time::Typical { median, .. } => {
                    Some(of_times(&stand.times, &format!("{} seconds", tenth_or_whole(median.get()))))
                }
                Time::NotReached | Time::NotTaken => None,
            })
            .collect();
        (!asked.is_empty()).then(|| part::how(&PLAIN).summary("How we got the seconds").asks_all(asked))
    }
}

fn of_stand(stand: &Stand) -> Vec<Asked> {
    let mut all = Vec::new();
    if let Some(share) = &stand.share {
        all.push(
            ask("wilson_interval90")
                .count("k", stand.right)
                .count("n", share.trials)
                .gives("lo", &percent(share.low.get()))
                .gives("hi", &percent(share.high.get())),
        );
    }
    if let Time::Typical { median, .. } = stand.time {
        all.push(of_times(&stand.times, &seconds(median.get())));
    }
    if let Some(rate) = &stand.a_minute {
        all.push(
            ask("rate_interval90")
                .count("correct", rate.count)
                .with("minutes", rate.minutes)
                .gives("per_min", &tenth(rate.rate))
                .gives("lo", &tenth(rate.interval.low))
                .gives("hi", &tenth(rate.interval.high)),
        );
    }
    all
}

fn of_times(times: &[Seconds], told: &str) -> Asked {
    let times: Vec<f64> = times.iter().map(|time| time.get()).collect();
    ask("median_time").list("times_s", &times).with("cutoff_s", NOT_REACHED.get()).gives("median_s", told)
}

fn of_growth(growth: &Growth, rates: &[RateOnDay], days: &[f64]) -> Asked {
    let rates: Vec<f64> = rates.iter().map(|rate| rate.per_minute()).collect();
    ask("weekly_growth")
        .list("days", days)
        .list("rate", &rates)
        .gives("x_per_week", &factor(growth.per_week))
        .gives("lo90_widened", &factor(growth.widened.low))
        .gives("hi90_widened", &factor(growth.widened.high))
}

fn of_trend(trend: &Trend, measure: Measure) -> Asked {
    let scale = slope_unit(measure).1;
    let weeks: Vec<f64> = trend.points.iter().map(|point| point.at()).collect();
    let values: Vec<f64> = trend.points.iter().map(|point| point.value() * scale).collect();
    ask("theil_sen")
        .list("x", &weeks)
        .list("y", &values)
        .with("level", Level::Ninety.share())
        .gives("slope", &signed(trend.line.slope * scale))
        .gives("lo_widened", &signed(trend.widened.low * scale))
        .gives("hi_widened", &signed(trend.widened.high * scale))
}

fn of_pairs(compared: &Compared) -> Asked {
    // The command takes higher for better.
    let signed = |values: &[f64]| -> Vec<f64> {
        values.iter().map(|value| if compared.better == Better::Lower { -value } else { *value }).collect()
    };
    ask("nap_interval")
        .list("A", &signed(&compared.before))
        .list("B", &signed(&compared.during))
        .with("level", Level::Ninety.share())
        .gives("NAP", &percent(compared.overlap.share))
        .gives("lo_told", &percent(compared.overlap.interval.low))
        .gives("hi_told", &percent(compared.overlap.interval.high))
}

fn of_practices(practices: &[Practice], sure: &str, false_alarm: &str) -> Asked {
    let of = |value: &dyn Fn(&Practice) -> f64| practices.iter().map(value).collect::<Vec<f64>>();
    of_rule(&Rule::USUAL, u32::try_from(practices.len()).unwrap_or(u32::MAX))
        .list("right", &of(&|one| f64::from(one.right)))
        .list("tried", &of(&|one| f64::from(one.tried)))
        .gives("p_criterion_reached", sure)
        .gives("p_mastered_by_N", false_alarm)
}

/// How often a student clearly below a rule meets it in so many sessions.
fn of_rule(rule: &Rule, sessions: u32) -> Asked {
    ask("mastery_rule")
        .with("true_rate", BELOW.get())
        .count("items", rule.items)
        .with("criterion", rule.criterion.get())
        .count("consecutive", rule.running)
        .count("sessions", sessions)
        .with("rho", ALIKE)
}
