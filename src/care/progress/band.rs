//! Which sizes are alike enough to be one series?
//!
//! A band begins with the size of its first session and holds every later size
//! within a tenth of a log unit of it, a quarter larger or smaller: what a
//! distance paced out or a line of print nearer or farther does. Fixed steps
//! would part two sizes that lie on both sides of a step.
//!
//! Far away the size is the angle from where the student stands, never times a
//! power. Through a magnifier the angle is the lens's doing, so that near sizes
//! are the print's own. Does not know devices.

use crate::care::track::Track;
use crate::care::training::NewExercise;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::near::MUnits;
use crate::vision::stats::everyday::print_demand;
use crate::vision::stats::observing::field_demand;
use crate::vision::units::Metres;

/// How far from the size a band began with, in log units: one line of a chart.
/// Common practice.
pub const REACH: f64 = 0.10;

/// The size of the targets of an exercise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Its place on the axis of sizes; higher is larger and easier.
    pub demand: LogMar,
    /// The height of the small letters.
    pub height: Metres,
    /// How far away, on the distance track.
    pub distance: Option<Metres>,
}

impl Size {
    /// The size that an exercise was done at, if it says so.
    #[must_use]
    pub fn of(track: Track, exercise: &NewExercise) -> Option<Self> {
        Self::at(track, exercise.x_height.as_ref()?.value, exercise.distance.as_ref().map(|typed| typed.value))
    }

    /// The size of letters of this height, that far away.
    #[must_use]
    pub fn at(track: Track, height: Metres, distance: Option<Metres>) -> Option<Self> {
        let (demand, distance) = match track {
            Track::Distance => (field_demand(height, distance?).ok()?, distance),
            Track::Near => (print_demand(MUnits::of_height(height.in_millimetres()).ok()?).ok()?, None),
        };
        Some(Self { demand, height, distance })
    }
}

/// Bands as they come up.
pub(super) struct Bands(Vec<Option<Size>>);

impl Bands {
    pub(super) const fn new() -> Self {
        Self(Vec::new())
    }

    /// The band that a size belongs to: the nearest within reach, or a new one.
    pub(super) fn place(&mut self, size: Option<&Size>) -> usize {
        let apart = |began: &Option<Size>| match (began, size) {
            (Some(began), Some(size)) => Some((began.demand.get() - size.demand.get()).abs()),
            (None, None) => Some(0.0),
            _ => None,
        };
        let near = self.0.iter().enumerate().filter_map(|(at, began)| Some((at, apart(began)?)));
        // What binary arithmetic loses must not part two sizes one line apart.
        let nearest = near.filter(|(_, apart)| *apart <= REACH + 1e-9).min_by(|a, b| a.1.total_cmp(&b.1));
        match nearest {
            Some((at, _)) => at,
            None => {
                self.0.push(size.copied());
                self.0.len() - 1
            }
        }
    }

    pub(super) fn into_sizes(self) -> Vec<Option<Size>> {
        self.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn far(height: f64, distance: f64) -> Option<Size> {
        Size::at(Track::Distance, Metres::literal(height), Some(Metres::literal(distance)))
    }

    #[test]
    fn a_quarter_larger_is_the_same_band_and_half_as_large_again_is_not() {
        let mut bands = Bands::new();
        // The demand of 3 cm from 3 m is 0.837; log10(3.7/3) = 0.091, log10(4.5/3) = 0.176.
        assert_eq!(bands.place(far(0.03, 3.0).as_ref()), 0);
        assert_eq!(bands.place(far(0.037, 3.0).as_ref()), 0);
        assert_eq!(bands.place(far(0.045, 3.0).as_ref()), 1);
        // Twice the size from twice as far is the same.
        assert_eq!(bands.place(far(0.06, 6.0).as_ref()), 0);
        assert_eq!(bands.place(None), 2);
        assert_eq!(bands.place(None), 2);
    }

    #[test]
    fn near_sizes_are_those_of_the_print_however_far_it_is_held() {
        let print = |distance| Size::at(Track::Near, Metres::literal(0.002), distance).map(|size| size.demand);
        assert!(print(None).is_some());
        assert_eq!(print(None), print(Some(Metres::literal(0.25))));
        // Far away letters without a distance have no size.
        assert!(Size::at(Track::Distance, Metres::literal(0.03), None).is_none());
    }
}
