//! Which reserve does each reading goal need for this student, which contrast
//! has each marker at this site, and on whose word?
//!
//! Starts from common practice; the site's settings replace that, and what was
//! measured with the student replaces the site's. Does not judge: that is
//! [`super::sight`] and `vision::readable`.

use jiff::civil::Date;

use super::task;
use super::typed::Typed;
use crate::vision::contrast::Weber;
use crate::vision::contrast::marker::{Marker, MarkerTable};
use crate::vision::readable::{Goal, Goals};
use crate::vision::units::Ratio;

/// On whose word a figure stands.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Origin {
    /// Nobody set it: common practice.
    #[default]
    CommonPractice,
    /// The site's setting.
    Site,
    /// Set for this student.
    Student {
        /// By whom.
        by: String,
        /// On which day.
        on: Date,
        /// Where the figure is from.
        source: String,
    },
}

/// The acuity reserve of one student for one goal.
#[derive(Debug, Clone, PartialEq)]
pub struct Own {
    /// For what.
    pub goal: task::Goal,
    /// The reserve as typed.
    pub reserve: Typed<Ratio>,
    /// Where the figure is from.
    pub source: String,
    /// Who set it.
    pub by: String,
    /// On which day.
    pub on: Date,
}

/// The reserves and contrasts that count, each with its origin.
#[derive(Debug, Clone, Default)]
pub struct InUse {
    goals: Goals,
    markers: MarkerTable,
    acuity: Vec<(Goal, Origin)>,
    contrast: Vec<Goal>,
    marked: Vec<Marker>,
}

impl InUse {
    /// The reserves.
    #[must_use]
    pub const fn goals(&self) -> &Goals {
        &self.goals
    }

    /// The contrasts.
    #[must_use]
    pub const fn markers(&self) -> &MarkerTable {
        &self.markers
    }

    /// On whose word the acuity reserve of a goal stands.
    pub fn acuity_origin(&self, goal: impl Into<Goal>) -> Origin {
        let goal = goal.into();
        let last = self.acuity.iter().rev().find(|(of, _)| *of == goal);
        last.map(|(_, origin)| origin.clone()).unwrap_or_default()
    }

    /// On whose word the contrast reserve of a goal stands.
    pub fn contrast_origin(&self, goal: impl Into<Goal>) -> Origin {
        if self.contrast.contains(&goal.into()) { Origin::Site } else { Origin::CommonPractice }
    }

    /// On whose word the contrast of a marker stands.
    pub fn marker_origin(&self, marker: impl Into<Marker>) -> Origin {
        if self.marked.contains(&marker.into()) { Origin::Site } else { Origin::CommonPractice }
    }

    /// The site wants another acuity reserve.
    #[must_use]
    pub fn with_acuity(mut self, goal: impl Into<Goal>, reserve: Ratio) -> Self {
        let goal = goal.into();
        self.goals = self.goals.with_acuity_reserve(goal, reserve);
        self.acuity.push((goal, Origin::Site));
        self
    }

    /// The site wants another contrast reserve.
    #[must_use]
    pub fn with_contrast(mut self, goal: impl Into<Goal>, reserve: Ratio) -> Self {
        let goal = goal.into();
        self.goals = self.goals.with_contrast_reserve(goal, reserve);
        self.contrast.push(goal);
        self
    }

    /// The site's marker has another contrast.
    #[must_use]
    pub fn with_marker(mut self, marker: impl Into<Marker>, contrast: Weber) -> Self {
        let marker = marker.into();
        self.markers = self.markers.with(marker, contrast);
        self.marked.push(marker);
        self
    }

    /// This student's own reserve replaces the site's.
    #[must_use]
    pub fn with_own(mut self, own: &Own) -> Self {
        let goal = own.goal.into();
        self.goals = self.goals.with_acuity_reserve(goal, own.reserve.value);
        let origin = Origin::Student { by: own.by.clone(), on: own.on, source: own.source.clone() };
        self.acuity.push((goal, origin));
        self
    }
}

/// A reserve of size with one decimal, and more only where more were set.
#[must_use]
pub fn size_told(reserve: Ratio) -> String {
    let short = format!("{:.1}", reserve.get());
    if short.parse() == Ok(reserve.get()) { short } else { reserve.get().to_string() }
}

/// Whether a reserve is too little and would still read as enough, to a tenth.
#[must_use]
pub fn falls_just_short(reached: Ratio, needed: Ratio) -> bool {
    let short: Result<f64, _> = format!("{:.1}", reached.get()).parse();
    reached < needed && short.is_ok_and(|short| short >= needed.get())
}

/// A reserve reached, to a tenth; cut off at a hundredth where a tenth would
/// read as reaching what it does not reach. Every page tells it so.
#[must_use]
pub fn reached_told(reached: Ratio, needed: Ratio) -> String {
    if falls_just_short(reached, needed) {
        format!("{:.2}", (reached.get() * 100.0).floor() / 100.0)
    } else {
        format!("{:.1}", reached.get())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reserve_that_falls_short_does_not_read_as_reached() {
        let told = [2.4, 2.46, 2.4999, 2.5, 2.53].map(|reached| reached_told(ratio(reached), ratio(2.5)));
        assert_eq!(told, ["2.4", "2.46", "2.49", "2.5", "2.5"]);
        let told = [9.94, 9.99, 10.0].map(|reached| reached_told(ratio(reached), ratio(10.0)));
        assert_eq!(told, ["9.9", "9.99", "10.0"]);
        assert!(falls_just_short(ratio(9.99), ratio(10.0)) && !falls_just_short(ratio(9.94), ratio(10.0)));
    }

    fn ratio(value: f64) -> Ratio {
        Ratio::new(value).expect("a ratio")
    }

    #[test]
    fn the_students_own_reserve_replaces_the_sites_and_the_sites_common_practice() {
        let own = Own {
            goal: task::Goal::Copy,
            reserve: Typed::new("3.25", ratio(3.25)),
            source: "print ladder".to_owned(),
            by: "Ines".to_owned(),
            on: Date::constant(2027, 3, 9),
        };
        let plain = InUse::default();
        assert_eq!(plain.acuity_origin(Goal::Copy), Origin::CommonPractice);
        let site = plain.with_acuity(Goal::Copy, ratio(3.0)).with_acuity(Goal::Phrase, ratio(2.2));
        assert_eq!((site.goals().copy.acuity, site.acuity_origin(Goal::Copy)), (ratio(3.0), Origin::Site));
        let student = site.with_own(&own);
        assert_eq!(student.goals().copy.acuity, ratio(3.25));
        assert!(matches!(student.acuity_origin(Goal::Copy), Origin::Student { .. }));
        assert_eq!(student.acuity_origin(Goal::Phrase), Origin::Site);
        assert_eq!(student.contrast_origin(Goal::Copy), Origin::CommonPractice);
    }

    #[test]
    fn a_reserve_is_told_as_it_was_set() {
        assert_eq!([2.0, 2.5, 3.25].map(|value| size_told(ratio(value))), ["2.0", "2.5", "3.25"]);
    }
}
