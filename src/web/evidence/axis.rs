//! The axis that the picture of what can be read from where is drawn on, and the
//! shapes on it.
//!
//! Does not know entries nor words.

use super::super::picture::{At, WIDE};
use crate::care::observation::Setting;

/// Left and right ends of the axis.
pub(super) const LEFT: f64 = 12.0;
pub(super) const RIGHT: f64 = WIDE - 12.0;
/// Half the size of a mark.
const MARK: f64 = 8.0;
/// No axis is shorter than this, in log units.
const SHORTEST: f64 = 0.6;

/// The axis of letter size, large and easy on the left.
pub(super) struct Axis {
    pub(super) low: f64,
    pub(super) high: f64,
}

impl Axis {
    /// Where a size stands; what lies off the axis stands at its end.
    pub(super) fn x(&self, size: f64) -> f64 {
        let place = (self.high - size.clamp(self.low, self.high)) / (self.high - self.low);
        LEFT + place * (RIGHT - LEFT)
    }

    pub(super) fn holds(&self, size: f64) -> bool {
        (self.low..=self.high).contains(&size)
    }
}

/// How a label at this place keeps inside the drawing.
pub(super) fn anchor(x: f64) -> &'static str {
    if x < 40.0 {
        "start"
    } else if x > WIDE - 40.0 {
        "end"
    } else {
        "middle"
    }
}

/// An axis that holds all of these sizes, with room at its ends.
pub(super) fn axis(all: &[f64]) -> Axis {
    let low = all.iter().copied().fold(f64::INFINITY, f64::min).max(-0.8);
    let high = all.iter().copied().fold(f64::NEG_INFINITY, f64::max).min(2.6);
    if low > high {
        return Axis { low: 0.0, high: 1.6 };
    }
    let spare = (SHORTEST - (high - low)).max(0.0) / 2.0 + 0.08;
    Axis { low: low - spare, high: high + spare }
}

/// The shape of a setting, as a path around a place.
pub(super) fn mark(setting: Option<Setting>, x: f64, y: f64) -> String {
    let m = MARK;
    let p = |dx: f64, dy: f64| format!("{} {}", At(x + dx), At(y + dy));
    match setting {
        Some(Setting::Classroom) => format!("M{}H{}V{}H{}Z", p(-m, -m), At(x + m), At(y + m), At(x - m)),
        Some(Setting::Home) => format!("M{}A{m} {m} 0 1 1 {}A{m} {m} 0 1 1 {}Z", p(-m, 0.0), p(m, 0.0), p(-m, 0.0)),
        Some(Setting::Community) => format!("M{}L{}L{}Z", p(0.0, -m), p(m, m), p(-m, m)),
        Some(Setting::Training) => {
            let t = m / 3.0;
            format!(
                "M{}H{}V{}H{}V{}H{}V{}H{}V{}H{}V{}H{}Z",
                p(-t, -m),
                At(x + t),
                At(y - t),
                At(x + m),
                At(y + t),
                At(x + t),
                At(y + m),
                At(x - t),
                At(y + t),
                At(x - m),
                At(y - t),
                At(x - t)
            )
        }
        // The clinic's diamond.
        None => format!("M{}L{}L{}L{}Z", p(0.0, -m), p(m, 0.0), p(0.0, m), p(-m, 0.0)),
    }
}

/// Strokes across a bar that may not be told yet.
pub(super) fn hatch(from: f64, to: f64, y: f64) -> String {
    let mut path = format!("M{} {}H{}V{}H{}Z", At(from), At(y - 6.0), At(to), At(y + 6.0), At(from));
    let mut x = from;
    while x + 12.0 <= to {
        path.push_str(&format!("M{} {}L{} {}", At(x), At(y + 6.0), At(x + 12.0), At(y - 6.0)));
        x += 12.0;
    }
    path
}
