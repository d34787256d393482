//! Reading goals and marker contrasts among the settings of the site.
//!
//! A field left open, or one that repeats its default, stores nothing: what is
//! common practice stays marked as that.

use super::super::check::Check;
use super::super::form::Entry;
use super::super::task::goals::{ACUITY, ACUITY_UNIT};
use crate::care::goal::InUse;
use crate::care::task::{Goal, Marker};
use crate::store::goal::{acuity_setting, contrast_setting, marker_setting};
use crate::store::setting::Site;

/// Contrast reserves that make sense (common practice).
const CONTRAST: std::ops::RangeInclusive<f64> = 1.0..=30.0;
const CONTRAST_UNIT: &str = "times the threshold contrast";
/// From what is hardly seen to black on white.
const WEBER: std::ops::RangeInclusive<f64> = 0.05..=1.0;

/// One field.
pub(super) struct Line {
    pub(super) name: String,
    pub(super) label: String,
    pub(super) hint: String,
    unit: &'static str,
    range: std::ops::RangeInclusive<f64>,
    default: f64,
}

/// The fields in the order of the form.
pub(super) struct Fields {
    pub(super) goals: Vec<Line>,
    pub(super) markers: Vec<Line>,
}

fn line(
    name: String,
    label: String,
    (unit, range): (&'static str, std::ops::RangeInclusive<f64>),
    default: f64,
) -> Line {
    let hint = format!("{} to {} {unit}. Left open: {default}, common practice", range.start(), range.end());
    Line { name, label, hint, unit, range, default }
}

pub(super) fn fields() -> Fields {
    let standard = InUse::default();
    let goals = Goal::ALL.iter().flat_map(|goal| {
        let needed = standard.goals().needed((*goal).into());
        let words = goal.words();
        [
            line(
                acuity_setting(*goal),
                format!("Acuity reserve to {words}"),
                (ACUITY_UNIT, ACUITY),
                needed.acuity.get(),
            ),
            line(
                contrast_setting(*goal),
                format!("Contrast reserve to {words}"),
                (CONTRAST_UNIT, CONTRAST),
                needed.contrast.get(),
            ),
        ]
    });
    let markers = Marker::ALL.iter().map(|marker| {
        let default = standard.markers().contrast((*marker).into()).get();
        line(marker_setting(*marker), format!("Contrast of {}", marker.words()), ("Weber", WEBER), default)
    });
    Fields { goals: goals.collect(), markers: markers.collect() }
}

/// What is set; what is not stays open.
pub(super) fn entry_of(site: &Site) -> Entry {
    let Fields { goals, markers } = fields();
    goals.into_iter().chain(markers).fold(Entry::default(), |entry, line| {
        let set = site.value(&line.name).unwrap_or_default().to_owned();
        entry.with(line.name, set)
    })
}

/// What the form sets: name and value each; none, the default.
pub(super) fn checked(check: &mut Check<'_>) -> Vec<(String, Option<String>)> {
    let Fields { goals, markers } = fields();
    goals
        .into_iter()
        .chain(markers)
        .map(|line| {
            let value = check.opt_number(&line.name, &line.label, line.unit, line.range.clone());
            let set = value.filter(|value| *value != line.default).map(|value| value.to_string());
            (line.name, set)
        })
        .collect()
}
