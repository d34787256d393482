//! A figure as a page prints it, read back with the step it was rounded to.

use farpoint::vision::length::{METRES_PER_FOOT, METRES_PER_INCH, parse};

/// How a figure was rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rounding {
    Nearest,
    Down,
    Up,
    Quarter,
}

/// A figure of a result as it is printed.
#[derive(Debug)]
pub(super) struct Printed {
    pub(super) key: String,
    pub(super) text: String,
    pub(super) rounding: Rounding,
}

impl Printed {
    /// The figure in the unit of its key, and one step of what is printed.
    pub(super) fn value(&self) -> Option<(f64, f64)> {
        let in_millimetres = self.key.ends_with("_mm") && !self.text.ends_with("mm");
        match () {
            () if self.key.ends_with("_m") => self.length(),
            () if in_millimetres => self.length().map(|(value, step)| (value * 1_000.0, step * 1_000.0)),
            () => self.number(),
        }
    }

    fn length(&self) -> Option<(f64, f64)> {
        let text = self.text.trim_end_matches(" wide").trim_end_matches(" tall");
        let (sign, text) = text.strip_prefix('\u{2212}').map_or((1.0, text), |text| (-1.0, text));
        let value = sign * parse(text).ok()?.get();
        let imperial = text.ends_with("ft") || text.ends_with("in");
        // As lengths are told: seats in tenths of a metre or half feet, letters
        // in half centimetres or quarter inches, everything else as printed.
        let step = match (self.rounding, imperial) {
            (Rounding::Down, false) => 0.1,
            (Rounding::Down, true) => METRES_PER_FOOT / 2.0,
            (Rounding::Up, false) => 0.005,
            (Rounding::Up, true) => METRES_PER_INCH / 4.0,
            (Rounding::Nearest, true) if text.contains("ft") => METRES_PER_INCH,
            (Rounding::Nearest, true) => METRES_PER_INCH / 4.0,
            (Rounding::Nearest, false) if text.ends_with("cm") => 0.001,
            (Rounding::Nearest, false) if text.ends_with("mm") => 0.000_1,
            (Rounding::Nearest, false) => 0.01,
            (Rounding::Quarter, _) => return None,
        };
        Some((value, step))
    }

    fn number(&self) -> Option<(f64, f64)> {
        let start = self.text.find(|c: char| c.is_ascii_digit())?;
        let rest = &self.text[start..];
        let end = rest.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ',')).unwrap_or(rest.len());
        let digits = rest[..end].replace(',', ".");
        let size: f64 = digits.trim_end_matches('.').parse().ok()?;
        let sign = if self.text[..start].ends_with(['-', '\u{2212}']) { -1.0 } else { 1.0 };
        let decimals = digits.trim_end_matches('.').split_once('.').map_or(0, |(_, behind)| behind.len());
        let step = match self.rounding {
            Rounding::Quarter => 0.25,
            _ => 10_f64.powi(-i32::try_from(decimals).ok()?),
        };
        let unit = if self.text.contains('%') { 0.01 } else { 1.0 };
        Some((sign * size * unit, step * unit))
    }
}
