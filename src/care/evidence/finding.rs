//! What the model makes of the entries: thresholds, gains, comparisons.
//!
//! Plain data for the pages and for whatever else tells of them. Nothing here is
//! worded or rounded; whether a figure may be told stands beside it.

use super::gather::Gathered;
use super::{Contrast, Source, WANTED};
use crate::care::codes::codes;
use crate::care::observation::Setting;
use crate::care::track::Track;
use crate::vision::stats::better::{Band, band};
use crate::vision::stats::everyday::gain::{Effective, Verdict};
use crate::vision::stats::everyday::settings::{Compared, Finding};
use crate::vision::stats::everyday::task::SizeNeeded;
use crate::vision::stats::everyday::threshold::Threshold;
use crate::vision::stats::everyday::{self as model, Guess};
use crate::vision::stats::{Enough, Interval};
use crate::vision::units::{Magnification, OutOfRange};

/// From this power on the hand's own tremor blurs what is held to the eye.
/// Common practice.
const UNSTEADY: f64 = 6.0;

/// Below this exit pupil a telescope dims a room that is not bright. Common practice.
const DIM_PUPIL_MM: f64 = 2.5;

codes! {
    /// Why a telescope may give less than its power, and what to check.
    pub enum Cause {
        NotFocused = "not_focused" : "It may not be focused: look at how the student turns it for each distance.",
        TooNear = "too_near" : "The entries are from nearer than it focuses: try from farther away, or another device.",
        Unsteady = "unsteady" : "At this power the hand shakes the picture: try with the elbow on the desk, or two hands.",
        DimPicture = "dim_picture" : "It lets in little light: compare in a brighter room.",
        GlassesOrEye = "glasses_or_eye" : "It may be held to the other eye, or with other glasses than meant: check both.",
        NotClean = "not_clean" : "A lens may be dirty, scratched or loose: look through it at a window.",
        OtherConditions = "other_conditions" : "With and without it may have been seen in other light, other words or from a guessed distance: compare both on one day.",
    }
}

/// A threshold of one device in one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// The place of the line, and of the cell in it.
    pub at: model::Cell,
    /// The place of the column.
    pub column: usize,
    /// Which contrast.
    pub contrast: Contrast,
    /// Where.
    pub setting: Setting,
    /// The threshold, and whether it may be told.
    pub threshold: Threshold,
    /// The size at which four of five words are read.
    pub needed: SizeNeeded,
    /// The entries behind it.
    pub entries: Vec<Source>,
}

/// What a telescope gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Gain {
    /// The place of its column.
    pub column: usize,
    /// Which contrast.
    pub contrast: Contrast,
    /// The setting in which both were seen; none, each over its settings.
    pub setting: Option<Setting>,
    /// The places compared: without it, and with it.
    pub at: (model::Cell, model::Cell),
    /// What is printed on it.
    pub power: Magnification,
    /// What it gives.
    pub effective: Effective,
    /// What to check when it falls short, the likeliest first.
    pub causes: Vec<Cause>,
}

/// Two ways of looking compared over all settings, whatever the task.
#[derive(Debug, Clone, PartialEq)]
pub struct Overall {
    /// The columns.
    pub columns: (usize, usize),
    /// The places of their lines.
    pub lines: (usize, usize),
    /// Which contrast.
    pub contrast: Contrast,
    /// The probability that smaller things are seen with the second.
    pub second_better: f64,
    /// The first less the second, in logMAR.
    pub interval: Interval,
    /// In which band that lies; none, not enough was observed.
    pub band: Option<Band>,
    /// What would be enough, of each.
    pub enough: (Enough, Enough),
}

/// Two settings of one device compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Apart {
    /// The place of the column.
    pub column: usize,
    /// Which contrast.
    pub contrast: Contrast,
    /// The settings, in their usual order.
    pub settings: (Setting, Setting),
    /// What may be said.
    pub compared: Compared,
}

impl Apart {
    /// Whether they disagree.
    #[must_use]
    pub fn disagree(&self) -> bool {
        self.compared.finding == Finding::Disagree
    }
}

impl Gathered {
    /// Whether any entry counts.
    #[must_use]
    pub const fn is_seen(&self) -> bool {
        self.counted > 0
    }

    /// Every threshold with entries behind it, in the order of devices and settings.
    ///
    /// # Errors
    /// None but those of a fault in the arithmetic.
    pub fn rows(&self) -> Result<Vec<Row>, OutOfRange> {
        let Ok(posterior) = &self.posterior else { return Ok(Vec::new()) };
        let mut rows = Vec::new();
        for (device, line) in self.lines.iter().enumerate() {
            for (setting, cell) in line.cells.iter().enumerate().filter(|(_, cell)| !cell.entries.is_empty()) {
                let at = model::Cell { device, setting };
                let Some(setting) = cell.setting else { continue };
                rows.push(Row {
                    at,
                    column: line.column,
                    contrast: line.contrast,
                    setting,
                    threshold: posterior.threshold(at)?,
                    needed: posterior.size_needed(at, Guess::OPEN, WANTED)?,
                    entries: cell.entries.clone(),
                });
            }
        }
        Ok(rows)
    }

    /// What each telescope gives, where it was seen with and without. On the near
    /// track nothing: a label of a magnifier is no viewing distance.
    ///
    /// # Errors
    /// As [`Gathered::rows`].
    pub fn gains(&self) -> Result<Vec<Gain>, OutOfRange> {
        let mut gains = Vec::new();
        let Ok(posterior) = self.posterior.as_ref().map_err(|_| ()) else { return Ok(gains) };
        if self.track == Track::Near {
            return Ok(gains);
        }
        for (device, line) in self.lines.iter().enumerate().filter(|(_, line)| line.column > 0 && line.is_seen()) {
            let power = self.columns.get(line.column).and_then(|column| {
                let spec = column.device.as_ref()?.spec.as_ref()?;
                spec.power.filter(|power| spec.kind.is_telescope() && power.get() >= 1.0)
            });
            let without = self.lines.iter().position(|bare| bare.column == 0 && bare.contrast == line.contrast);
            let Some((power, without)) = power.zip(without.filter(|bare| self.lines[*bare].is_seen())) else {
                continue;
            };
            let both = Setting::ALL.iter().filter_map(|setting| {
                let seen = |line: usize| {
                    let place = self.lines[line].place(Some(*setting))?;
                    (!self.lines[line].cells[place].entries.is_empty()).then_some(place)
                };
                Some((*setting, seen(without)?, seen(device)?))
            });
            let both: Vec<(Setting, usize, usize)> = both.collect();
            for (setting, bare, aided) in &both {
                let at = (model::Cell { device: without, setting: *bare }, model::Cell { device, setting: *aided });
                let effective = posterior.effective(at.0, at.1, power)?;
                gains.push(self.gain(line.column, line.contrast, Some(*setting), (at, power, effective)));
            }
            if both.is_empty() {
                let at = (model::Cell { device: without, setting: 0 }, model::Cell { device, setting: 0 });
                let effective = posterior.effective_over_settings(without, device, power)?;
                gains.push(self.gain(line.column, line.contrast, None, (at, power, effective)));
            }
        }
        Ok(gains)
    }

    fn gain(
        &self,
        column: usize,
        contrast: Contrast,
        setting: Option<Setting>,
        (at, power, effective): ((model::Cell, model::Cell), Magnification, Effective),
    ) -> Gain {
        let causes = if effective.verdict == Verdict::FallsShort { self.causes(column, power) } else { Vec::new() };
        Gain { column, contrast, setting, at, power, effective, causes }
    }

    /// What the record itself makes likely comes first.
    fn causes(&self, column: usize, power: Magnification) -> Vec<Cause> {
        let spec = self.columns.get(column).and_then(|column| column.device.as_ref()?.spec.as_ref());
        let nearest = spec.and_then(|spec| spec.near_focus);
        let pupil = spec.and_then(|spec| spec.objective).map(|objective| objective.get() / power.get());
        let of_record = [
            (nearest.zip(self.usual).is_some_and(|(nearest, usual)| usual < nearest), Cause::TooNear),
            (power.get() >= UNSTEADY, Cause::Unsteady),
            (pupil.is_some_and(|pupil| pupil < DIM_PUPIL_MM), Cause::DimPicture),
        ];
        let always = [Cause::NotFocused, Cause::GlassesOrEye, Cause::NotClean, Cause::OtherConditions];
        of_record.into_iter().filter_map(|(likely, cause)| likely.then_some(cause)).chain(always).collect()
    }

    /// Every two ways of looking that were seen, over their settings.
    ///
    /// # Errors
    /// As [`Gathered::rows`].
    pub fn overall(&self) -> Result<Vec<Overall>, OutOfRange> {
        let Ok(posterior) = &self.posterior else { return Ok(Vec::new()) };
        let seen: Vec<usize> = (0..self.lines.len()).filter(|at| self.lines[*at].is_seen()).collect();
        let mut found = Vec::new();
        for (place, one) in seen.iter().enumerate() {
            for other in &seen[place + 1..] {
                let (first, second) = (&self.lines[*one], &self.lines[*other]);
                if first.contrast != second.contrast {
                    continue;
                }
                let apart = posterior.difference_over_settings(*one, *other)?;
                let told = apart.enough.0.is_met() && apart.enough.1.is_met();
                found.push(Overall {
                    columns: (first.column, second.column),
                    lines: (*one, *other),
                    contrast: first.contrast,
                    second_better: apart.first_larger,
                    interval: apart.interval,
                    band: if told { Some(band(apart.first_larger)?) } else { None },
                    enough: apart.enough,
                });
            }
        }
        Ok(found)
    }

    /// Every two settings of one device that were both seen.
    ///
    /// # Errors
    /// As [`Gathered::rows`].
    pub fn apart(&self) -> Result<Vec<Apart>, OutOfRange> {
        let Ok(posterior) = &self.posterior else { return Ok(Vec::new()) };
        let cell = |at: model::Cell| &self.lines[at.device].cells[at.setting];
        let found = posterior.disagreements()?.into_iter().filter_map(|compared| {
            let (first, second) = (cell(compared.first), cell(compared.second));
            if first.entries.is_empty() || second.entries.is_empty() {
                return None;
            }
            let line = &self.lines[compared.first.device];
            let settings = (first.setting?, second.setting?);
            Some(Apart { column: line.column, contrast: line.contrast, settings, compared })
        });
        Ok(found.collect())
    }
}
