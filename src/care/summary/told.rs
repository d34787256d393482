//! How a figure is told in words, and which figures of two drafts differ.
//!
//! One label and one value for every figure, so that what changed since a draft
//! was last saved can be named. Lengths are told in the unit they are kept in;
//! pages convert them for a reader.

use super::{Counts, ENOUGH, Figures, Graded, Range, Tally};

/// A rate in words: the counts, then the rate with its interval, or that there
/// are too few tries for one.
#[must_use]
pub fn rate_words(counts: &Counts) -> String {
    let Counts { right, tried, entries, interval_95 } = *counts;
    let of = if entries == 1 { "1 entry".to_owned() } else { format!("{entries} entries") };
    match (tried, interval_95) {
        (0, _) => "nothing counted".to_owned(),
        (_, Some((low, high))) => {
            let rate = f64::from(right) / f64::from(tried) * 100.0;
            format!("{right} of {tried} right, {rate:.0} % ({:.0} to {:.0} %), {of}", low * 100.0, high * 100.0)
        }
        (_, None) => format!("{right} of {tried} right, {of}; not enough yet for a rate (fewer than {ENOUGH} tried)"),
    }
}

impl Graded {
    /// Whether no answer in words was given.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.none + self.some + self.most + self.all == 0
    }

    /// The answers in words, each with its count; empty when there is none.
    #[must_use]
    pub fn words(&self) -> String {
        [("none", self.none), ("some", self.some), ("most", self.most), ("all", self.all)]
            .into_iter()
            .filter(|(_, times)| *times > 0)
            .map(|(word, times)| format!("{word}: {times}"))
            .collect::<Vec<_>>()
            .join(", ")
    }
}

impl Range {
    /// Whether it is one value.
    #[must_use]
    pub fn is_one(&self) -> bool {
        (self.high - self.low).abs() < 1e-9
    }
}

impl Tally {
    /// The code as words.
    #[must_use]
    pub fn words(&self) -> String {
        self.what.replace('_', " ")
    }
}

impl Figures {
    /// Every figure as a label and a value.
    #[must_use]
    pub fn lines(&self) -> Vec<(String, String)> {
        let mut lines = vec![(
            "Sessions".to_owned(),
            format!("{} on {} dates, {} minutes", self.sessions, self.session_dates, self.minutes),
        )];
        for device in &self.devices {
            let label = if device.tag.is_empty() {
                device.device.clone()
            } else {
                format!("{} ({})", device.device, device.tag)
            };
            lines.push((label, format!("{} sessions, {} minutes", device.sessions, device.minutes)));
        }
        for task in &self.tasks {
            let with = if task.device.is_empty() { "without a device" } else { &task.device };
            let graded = task.graded.words();
            let graded = if graded.is_empty() { graded } else { format!("; in words {graded}") };
            lines.push((
                format!("{}, {}, {with}", task.task, task.setting.words()),
                format!("{}{graded}; use only {}", rate_words(&task.counts), task.use_only),
            ));
        }
        for skill in &self.skills {
            lines.push((
                format!("{}, {}", skill.skill.words(), skill.trial.words()),
                format!(
                    "{}; with help {} of {}",
                    rate_words(&skill.unprompted),
                    skill.helped_right,
                    skill.helped_tried
                ),
            ));
        }
        let level = |value: Option<f64>| value.map_or("not enough yet".to_owned(), |value| value.to_string());
        lines.push((
            "Prompt level".to_owned(),
            format!(
                "first three sessions {}, last three {}, all {} ({} sessions)",
                level(self.prompts.median_first_3),
                level(self.prompts.median_last_3),
                level(self.prompts.median_all),
                self.prompts.sessions
            ),
        ));
        let outside = &self.outside;
        lines.push((
            "Use outside sessions".to_owned(),
            format!(
                "class {} of {} days, home {} of {} entries, community {} of {} entries",
                outside.class_days_out,
                outside.class_days_asked,
                outside.home_out,
                outside.home_entries,
                outside.community_out,
                outside.community_entries
            ),
        ));
        for (label, tallies) in [
            ("Not out", &outside.not_out),
            ("Reason for not using it", &outside.reasons),
            ("Session refused", &outside.refused_sessions),
            ("Comfort", &self.comfort),
            ("Symptom", &self.symptoms),
        ] {
            lines.extend(tallies.iter().map(|tally| (format!("{label}: {}", tally.words()), tally.times.to_string())));
        }
        for change in &self.changes {
            let with = if change.device.is_empty() { "without a device" } else { &change.device };
            lines.push((format!("{}: {}, {with}", change.changed.words(), change.to), rate_words(&change.counts)));
        }
        let out_of_order = self.session_list.iter().filter(|session| !session.order_reason.is_empty()).count();
        if out_of_order > 0 {
            lines.push(("Sessions with a later skill first, with a reason".to_owned(), out_of_order.to_string()));
        }
        lines.push(("Notes quoted".to_owned(), self.quotes.len().to_string()));
        lines
    }

    /// The figures that differ from an earlier draft: label, value then, value
    /// now; a value that is not there is empty.
    #[must_use]
    pub fn changed_since(&self, earlier: &Self) -> Vec<(String, String, String)> {
        let (then, now) = (earlier.lines(), self.lines());
        let value = |lines: &[(String, String)], label: &str| {
            lines.iter().find(|(one, _)| one == label).map_or_else(String::new, |(_, value)| value.clone())
        };
        let gone = then.iter().filter(|(label, _)| now.iter().all(|(one, _)| one != label));
        now.iter()
            .chain(gone)
            .map(|(label, _)| (label.clone(), value(&then, label), value(&now, label)))
            .filter(|(_, then, now)| then != now)
            .collect()
    }
}
