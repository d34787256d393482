//! What each device gives, in words: a telescope against its power, and which of
//! two lets smaller things be seen.
//!
//! A family reads only whether smaller things are seen; the entries behind each
//! comparison are one click away for whoever reads it.

use super::super::words;
use super::asked::Lines;
use super::told::{at, at_contrast, counted, lacking, percent};
use super::{FindingView, Track};
use crate::care::evidence::{Gain, Overall};
use crate::vision::stats::better::Band;
use crate::vision::stats::everyday::gain::{Basis, Verdict};

impl Track<'_> {
    /// What each telescope gives, and whether it is told; to a family only whether
    /// smaller things are seen.
    pub(super) fn gains_told(&self, lines: &mut Lines) -> Vec<(bool, FindingView)> {
        let mut told: Vec<(bool, FindingView)> = Vec::new();
        if !self.plain() {
            told.extend(self.gains.iter().map(|gain| self.gain(gain, lines)));
        }
        for one in &self.overall {
            let (first, second) = (self.with(one.columns.0), self.with(one.columns.1));
            let contrast = at_contrast(one.contrast);
            let words = match one.band {
                None => {
                    let wants = if one.enough.0.is_met() { &one.enough.1 } else { &one.enough.0 };
                    let whose = if one.enough.0.is_met() { &second } else { &first };
                    format!(
                        "Whether smaller things{contrast} are seen {second} than {first}: not enough yet. {} it would take {}.",
                        words::capital(whose),
                        lacking(wants)
                    )
                }
                Some(band) => {
                    let (share, regular) = percent(one.second_better);
                    if regular && !self.plain() {
                        let name = |line: usize| self.gathered.lines[line].name.clone();
                        lines.gives(format!("second_better:{}|{}", name(one.lines.0), name(one.lines.1)), &share);
                    }
                    let figure = if self.plain() { String::new() } else { format!(" ({share})") };
                    match band {
                        Band::Likely | Band::Rather => format!(
                            "Over all settings, smaller things{contrast} are {} seen {second} than {first}{figure}.",
                            if band == Band::Likely { "very likely" } else { "likely" },
                        ),
                        Band::Unclear => format!(
                            "Over all settings, no clear difference yet between looking {first} and {second}{figure}."
                        ),
                        Band::RatherNot | Band::Unlikely => format!(
                            "Over all settings, smaller things{contrast} are {} seen {first} than {second}{}.",
                            if band == Band::Unlikely { "very likely" } else { "likely" },
                            if self.plain() { String::new() } else { format!(" ({share} for {second})") },
                        ),
                    }
                }
            };
            told.push((one.band.is_some(), FindingView { words, links: self.entries_of(one), more: Vec::new() }));
        }
        told
    }

    fn gain(&self, gain: &Gain, lines: &mut Lines) -> (bool, FindingView) {
        let found = &gain.effective;
        let place = gain.setting.map_or("over different settings", at);
        let device = self.device(gain.column);
        let contrast = at_contrast(gain.contrast);
        if let Verdict::NotYet(without, with) = &found.verdict {
            let (what, wants) = if with.is_met() { ("without a device", without) } else { ("with it", with) };
            let words = format!(
                "The {device} {place}{contrast}: not enough yet to say what it gives. Behind it: {} without, {} with. It would take, {what}, {}.",
                counted(found.behind.0.observations, "entry", "entries"),
                counted(found.behind.1.observations, "entry", "entries"),
                lacking(wants)
            );
            return (false, FindingView { words, links: self.links(gain), more: Vec::new() });
        }
        let times = |value: f64| format!("{value:.1}\u{d7}");
        let (middle, low, high) = (times(found.median.get()), times(found.interval.low), times(found.interval.high));
        let pair = match gain.setting {
            Some(_) => format!("{}|{}", self.cell_name(gain.at.0), self.cell_name(gain.at.1)),
            None => {
                let name = |cell: crate::vision::stats::everyday::Cell| self.gathered.lines[cell.device].name.clone();
                format!("{}|{}", name(gain.at.0), name(gain.at.1))
            }
        };
        lines.gives(format!("gain_q50:{pair}"), &middle);
        lines.interval(("gain_q05", "gain_q95"), &pair, (&low, &high));
        let (share, regular) = percent(found.delivers);
        if regular {
            lines.gives(format!("delivers:{pair}"), &share);
        }
        let verdict = match found.verdict {
            Verdict::Delivers => "it gives what is printed on it",
            Verdict::FallsShort => "it falls short of what is printed on it",
            Verdict::CannotTell | Verdict::NotYet(..) => "whether it gives what is printed on it cannot be told yet",
        };
        let basis = match found.basis {
            Basis::OneSetting => "",
            Basis::OverSettings => " It was never seen in one setting with and without, so the interval is wider.",
        };
        let words = format!(
            "The {device} {place}{contrast}: {middle} finer detail ({low} to {high}, 90 %), of {}\u{d7} printed on it; {verdict} (at least 0.8 of it: {share}). {} without, {} with.{basis}",
            gain.power.get(),
            counted(found.behind.0.observations, "entry", "entries"),
            counted(found.behind.1.observations, "entry", "entries"),
        );
        let more = gain.causes.iter().map(|cause| cause.words().to_owned()).collect();
        (true, FindingView { words, links: self.links(gain), more })
    }

    /// All entries of the two that are compared.
    fn entries_of(&self, one: &Overall) -> Vec<(String, String)> {
        let seen = |column: usize| self.rows.iter().any(|row| row.column == column && row.contrast == one.contrast);
        let columns = [one.columns.0, one.columns.1].into_iter().filter(|column| seen(*column));
        let link = |column| (self.cell_at(column, None, one.contrast), format!("The entries {}", self.with(column)));
        columns.map(link).collect()
    }

    fn links(&self, gain: &Gain) -> Vec<(String, String)> {
        let of = |cell, words: &str| {
            let row = self.rows.iter().find(|row| row.at == cell)?;
            Some((self.behind(row), words.to_owned()))
        };
        [of(gain.at.0, "The entries without it"), of(gain.at.1, "The entries with it")].into_iter().flatten().collect()
    }
}
