//! The finding of a skill for those who work with figures.
//!
//! Every figure with its interval and its count; what cannot be told yet, with
//! what would be enough. "No change was seen" is never "no change".

use super::Known;
use crate::care::progress::band::Size;
use crate::care::progress::finding::{Compared, NotYet, Stand, Trend, Verdict};
use crate::care::progress::measure::Measure;
use crate::care::progress::{Apart, Phase, Time};
use crate::care::skill::Skill;
use crate::care::track::Track;
use crate::vision::length::shown::{Units, distance, letter_height};
use crate::vision::stats::growth::Growth;
use crate::vision::stats::overlap::Better;
use crate::web::part::{Status, status};
use crate::web::words;

/// Status, sentence, how sure, and what else there is to say.
pub(super) type Words = (Status, String, String, Vec<String>);

/// A size as it is told: height and distance, print in millimetres.
pub(super) fn size(size: &Size, units: Units) -> String {
    match size.distance {
        Some(far) => format!("{} from {}", letter_height(size.height, units), distance(far, units)),
        // An eighth of an inch is more than a line of print is tall.
        None => letter_height(size.height, Units::Metric),
    }
}

/// A time, to a tenth of a second.
pub(super) fn seconds(value: f64) -> String {
    format!("{} s", tenth_or_whole(value))
}

/// A number to a tenth, without a nought behind the point.
pub(super) fn tenth_or_whole(value: f64) -> String {
    ((value * 10.0).round() / 10.0).to_string()
}

/// A share in whole per cent.
pub(super) fn percent(share: f64) -> String {
    format!("{} %", (share * 100.0).round() + 0.0)
}

/// A rate, to a tenth.
pub(super) fn tenth(value: f64) -> String {
    format!("{:.1}", value + 0.0)
}

/// A change with its sign.
pub(super) fn signed(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0 + 0.0;
    if rounded < 0.0 { format!("\u{2212}{:.1}", -rounded) } else { format!("+{rounded:.1}") }
}

/// A factor.
pub(super) fn factor(value: f64) -> String {
    format!("\u{d7}{value:.2}")
}

/// Targets are found, steps and readings are right.
pub(super) const fn right_word(skill: Skill) -> &'static str {
    match skill {
        Skill::Spotting | Skill::Scanning => "found",
        _ => "right",
    }
}

/// How many there are of something.
pub(super) fn counted(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

impl Known<'_> {
    pub(super) fn told(&self) -> Words {
        let finding = self.finding;
        let mut lines = Vec::new();
        lines.extend(self.trend_told());
        lines.extend(self.compared_told());
        lines.extend(self.mastery_told());
        lines.extend(self.rule_told());
        lines.extend(self.help_told());
        lines.extend(apart(&self.practised.apart));
        lines.extend(self.other_sizes());
        (self.verdict(), self.sentence(), self.sure(&finding.verdict), lines)
    }

    fn verdict(&self) -> Status {
        match &self.finding.verdict {
            Verdict::Improving => status("Progress", "good"),
            Verdict::FasterLessAccurate => status("Faster, and less accurate", "caution"),
            Verdict::Worsening => status("Getting harder", "caution"),
            Verdict::NoChangeSeen => status("No change seen", "plain"),
            Verdict::NotYet(_) => status("Not enough yet", "waiting"),
        }
    }

    /// Where it was, where it is.
    fn sentence(&self) -> String {
        let finding = self.finding;
        let at = match self.practised.bands.get(finding.band) {
            Some(Some(size)) => format!("Targets of about {}", self.size(size)),
            _ => "Targets whose size was not noted".to_owned(),
        };
        let was = finding.was.as_ref().map(|stand| {
            let when = if finding.was_before {
                format!("before training ({}) ", counted(stand.sessions, "probe", "probes"))
            } else {
                format!("first without help ({}) ", words::date(stand.days.0))
            };
            format!("{when}{}", self.stand(stand))
        });
        let is = finding.is.as_ref().map(|stand| {
            let when = match stand.sessions {
                1 => format!("in the last session without help ({}) ", words::date(stand.days.1)),
                many => format!(
                    "in the last {many} without help ({} to {}) ",
                    words::date(stand.days.0),
                    words::date(stand.days.1)
                ),
            };
            format!("{when}{}", self.stand(stand))
        });
        match (was, is) {
            (Some(was), Some(is)) => format!("{at}: {was}; {is}."),
            (Some(one), None) | (None, Some(one)) => format!("{at}: {one}."),
            (None, None) => "Nothing was done without help yet.".to_owned(),
        }
    }

    fn stand(&self, stand: &Stand) -> String {
        let word = self.right_word();
        let mut parts = Vec::new();
        if let Some(share) = &stand.share {
            parts.push(format!(
                "{} of {} {word} ({} to {})",
                stand.right,
                share.trials,
                percent(share.low.get()),
                percent(share.high.get())
            ));
        }
        match stand.time {
            Time::Typical { median, .. } => parts.push(format!("typically {} a try", seconds(median.get()))),
            Time::NotReached => parts.push(format!("no typical time, for half or more was not {word}")),
            Time::NotTaken => {}
        }
        if let Some(rate) = &stand.a_minute {
            let what = if self.finding.measure == Measure::LossesAMinute { "lost" } else { word };
            parts.push(format!(
                "{} {what} a minute ({} to {})",
                tenth(rate.rate),
                tenth(rate.interval.low),
                tenth(rate.interval.high)
            ));
        }
        if parts.is_empty() { "nothing counted".to_owned() } else { parts.join(", ") }
    }

    /// How sure it is.
    fn sure(&self, verdict: &Verdict) -> String {
        let from = format!("from {} without help", counted(self.finding.sessions, "session", "sessions"));
        match verdict {
            Verdict::Improving => {
                format!("It gets better, {from}: the whole interval of the change lies on the good side.")
            }
            Verdict::FasterLessAccurate => {
                format!("It gets faster while fewer are {}, {from}. That is not told as progress.", self.right_word())
            }
            Verdict::Worsening => {
                format!(
                    "It gets worse, {from}: the whole interval of the change lies on the other side. Look for what changed: light, place, targets, comfort."
                )
            }
            Verdict::NoChangeSeen => {
                format!("No change was seen, {from}. That is not the same as no change: the interval below holds both.")
            }
            Verdict::NotYet(why) => self.not_yet("Whether it changes cannot be told yet", why),
        }
    }

    /// What would be enough.
    pub(super) fn not_yet(&self, what: &str, why: &NotYet) -> String {
        match why {
            NotYet::Lacks(lacking) => {
                let more: Vec<String> = lacking
                    .iter()
                    .map(|one| format!("{} {} (there are {})", one.needed, one.what, one.given))
                    .collect();
                format!("{what}: it needs {}, without help and at one size.", words::list(&more))
            }
            NotYet::NoSize => {
                let needs = match self.practised.track {
                    Track::Distance => "distance and height of the targets",
                    Track::Near => "the height of the letters",
                };
                format!(
                    "{what}: the size of the targets was not noted, so easier ones could look like progress. It needs {needs} with each exercise."
                )
            }
            NotYet::NoProbe => format!("{what}: no probe without teaching was held before training began."),
            NotYet::ProbeOfAnotherSize => format!(
                "{what}: the probes before training were at another size, and sizes are never compared with each other."
            ),
            NotYet::Alike => format!("{what}: every session was the same, so an interval would claim more than that."),
            NotYet::Nothing => format!("{what}: nothing that says so was written down without help."),
            NotYet::Beyond => format!("{what}: these numbers lie outside what the formula holds for."),
        }
    }

    /// The change of a week.
    fn trend_told(&self) -> Vec<String> {
        let finding = self.finding;
        let mut lines = Vec::new();
        if let Ok((growth, ..)) = &finding.growth {
            lines.push(growth_told(finding.measure, growth));
        }
        if let Ok(trend) = &finding.trend {
            lines.push(slope_told(finding.measure, self.right_word(), trend));
        }
        if let Ok(accuracy) = &finding.accuracy {
            lines.push(slope_told(Measure::Share, self.right_word(), accuracy));
        }
        lines
    }

    fn compared_told(&self) -> Option<String> {
        // Nobody misses a comparison where there is nothing to compare yet.
        if self.finding.sessions == 0 {
            return None;
        }
        Some(match &self.finding.compared {
            Ok(Compared { overlap, .. }) => format!(
                "Against the probes before training: in {} of all pairs of a probe and a session the session is the better one (90 % interval {} to {}; {} and {}).",
                percent(overlap.share),
                percent(overlap.interval.low),
                percent(overlap.interval.high),
                counted(overlap.before, "probe", "probes"),
                counted(overlap.during, "session", "sessions"),
            ),
            Err(why) => self.not_yet("A comparison with before training is not told", why),
        })
    }

    fn mastery_told(&self) -> Option<String> {
        let (found, practices) = match &self.finding.mastery {
            Ok((found, practices)) => (found, practices),
            Err(NotYet::Nothing) => return None,
            Err(why) => return Some(self.not_yet("How sure four of five are is not told", why)),
        };
        let met = match (found.met_with, found.could_be_chance) {
            (None, _) => "is not met",
            (Some(_), true) => "was met, and it could be chance",
            (Some(_), false) => "was met",
        };
        Some(format!(
            "That four of five or more are {} without help has a probability of {}, from the last {} sessions. The stricter rule (8 of 10, three running, two days, no help) {met}; a student right 7 times of 10 meets it in {} of {} sessions.",
            self.right_word(),
            percent(found.sure),
            practices.len().min(3),
            percent(found.false_alarm).replace(" %", " % of series"),
            found.sessions,
        ))
    }

    fn rule_told(&self) -> Option<String> {
        let steady = self.steady?;
        let met = if steady.met { "is met" } else { "is not met yet" };
        let rule = format!(
            "The rule for the order of skills (4 of 5 with a hint at most, in 3 sessions, 2 places and on 2 dates) {met}."
        );
        let sessions = counted(steady.sessions as usize, "session", "sessions");
        Some(if steady.could_be_met() {
            format!(
                "{rule} By chance alone a student right 7 times of 10 meets it in up to {} of cases, with {sessions} of {} items: met says \u{201c}go on\u{201d}, not \u{201c}has learned it\u{201d}.",
                percent(steady.by_chance),
                steady.rule.items,
            )
        } else {
            format!("{rule} There are {sessions} long enough for it.")
        })
    }

    fn help_told(&self) -> Option<String> {
        let fading = self.fading?;
        let running = match fading.alone_running {
            0 => "the last session took help".to_owned(),
            1 => "the last session took none".to_owned(),
            many => format!("the last {many} in a row took none"),
        };
        Some(if fading.is_apart() {
            format!(
                "Help: {} in the first three sessions with teaching, {} in the last three, of {}; {running}.",
                fading.first.words(),
                fading.last.words(),
                fading.sessions
            )
        } else {
            format!(
                "Help: {running}. Whether it fades is told from six sessions with teaching on; there are {}.",
                fading.sessions
            )
        })
    }

    /// What was done at other sizes, which makes none of the figures.
    fn other_sizes(&self) -> Option<String> {
        let others: Vec<String> = self
            .practised
            .bands
            .iter()
            .enumerate()
            .filter(|(band, _)| *band != self.finding.band)
            .map(|(band, began)| {
                let sessions: usize =
                    [Phase::Before, Phase::During].iter().map(|phase| self.practised.alone(band, *phase).count()).sum();
                let size = began.as_ref().map_or_else(|| "size not noted".to_owned(), |size| self.size(size));
                format!(
                    "{size} ({} without help)",
                    if sessions == 0 { "none".to_owned() } else { sessions.to_string() }
                )
            })
            .collect();
        (!others.is_empty()).then(|| format!("At other sizes, in the table only: {}.", words::list(&others)))
    }
}

fn growth_told(measure: Measure, growth: &Growth) -> String {
    let what = match measure {
        Measure::Seconds => "The pace (tries a minute at the typical time)",
        Measure::LossesAMinute => "Losses a minute",
        Measure::RightAMinute | Measure::Share => "Right ones a minute",
    };
    let odd = if growth.agree { "" } else { " One odd session drives this; the slope below does not follow it." };
    format!(
        "Weekly growth: {what} changes {} a week (90 % interval {} to {}).{odd}",
        factor(growth.per_week),
        factor(growth.widened.low),
        factor(growth.widened.high)
    )
}

/// The unit of a slope, and the factor that its values are told with.
pub(super) const fn slope_unit(measure: Measure) -> (&'static str, f64) {
    match measure {
        Measure::Seconds => ("s", 1.0),
        Measure::RightAMinute | Measure::LossesAMinute => ("a minute", 1.0),
        Measure::Share => ("percentage points", 100.0),
    }
}

fn slope_told(measure: Measure, word: &str, trend: &Trend) -> String {
    let what = match measure {
        Measure::Seconds => "Time of a try".to_owned(),
        Measure::RightAMinute => format!("{} a minute", words::capital(word)),
        Measure::LossesAMinute => "Losses a minute".to_owned(),
        Measure::Share => format!("{} of tried", words::capital(word)),
    };
    let (unit, scale) = slope_unit(measure);
    let better = match measure.better() {
        Better::Higher => "more is better",
        Better::Lower => "less is better",
    };
    format!(
        "{what}: {} {unit} a week (90 % interval {} to {}; {better}; {}).",
        signed(trend.line.slope * scale),
        signed(trend.widened.low * scale),
        signed(trend.widened.high * scale),
        counted(trend.line.points, "day", "days")
    )
}

fn apart(apart: &Apart) -> Option<String> {
    let of = |number: u32, words: &str| (number > 0).then(|| format!("{number} {words}"));
    let parts: Vec<String> = [
        of(apart.helped, "with help"),
        of(apart.led, "hand over hand"),
        of(apart.refused, "of a session that was refused"),
        of(apart.in_error, "entered in error"),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| format!("Exercises counted apart, in no figure: {}.", words::list(&parts)))
}
