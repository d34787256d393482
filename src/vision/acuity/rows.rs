//! Which rows does a letter chart have, and which of them is this acuity?
//!
//! Rows shrink in steps of 0.1 log units. Their names are preferred numbers,
//! which miss the exact series by up to 0.0052: 20/32 is 0.204, its row is
//! 0.20. Published tables disagree and even misprint (one calls the row 0.20
//! "20/30", another prints 20/13 beside −0.18), so the logMAR is what is kept
//! and a name only what is printed.
//!
//! Does not round anything to a row. Read next: [`super::equivalents`].

use super::LogMar;
use crate::vision::units::count;

/// One row of a chart with its names.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The row, a whole number of tenths.
    pub logmar: LogMar,
    /// The number below the line for 20 feet, "20/200".
    pub under_20_feet: f64,
    /// The number below the line for 6 metres, "6/60".
    pub under_6_metres: f64,
    /// The decimal, "0.1".
    pub decimal: f64,
}

/// How near a value must lie to a row to be called by the row's name.
///
/// Common practice; the preferred numbers themselves miss the exact series by
/// up to 0.0052.
const NAMED_WITHIN: f64 = 0.006;

/// The names below the line for the ten rows of one decade, over 20 feet.
const FEET: [f64; 10] = [20.0, 25.0, 32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0];
/// The same over 6 metres.
const METRES: [f64; 10] = [6.0, 7.5, 9.5, 12.0, 15.0, 19.0, 24.0, 30.0, 38.0, 48.0];
/// The same as decimals.
const DECIMAL: [f64; 10] = [1.0, 0.8, 0.63, 0.5, 0.4, 0.32, 0.25, 0.2, 0.16, 0.125];

/// Which row may this acuity be called by, if any?
///
/// **Formula** the row L = tenths/10 with |value − L| ≤ 0.006. **Source** row
/// names are preferred numbers (ISO 8596 grades are logarithmic, extract seen);
/// that a name stands only so near is common practice. **Range** all of
/// [`LogMar`]; between two rows the answer is `None`.
///
/// ```
/// use farpoint::vision::acuity::{LogMar, rows::named_row};
/// let row = named_row(LogMar::from_decimal(20.0 / 32.0)?).expect("within 0.006 of 0.20");
/// assert_eq!((row.logmar.get(), row.under_20_feet), (0.2, 32.0));
/// assert!(named_row(LogMar::from_decimal(20.0 / 30.0)?).is_none());
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn named_row(acuity: LogMar) -> Option<Row> {
    let tenths = (acuity.get() * 10.0).round();
    let exact = tenths / 10.0;
    if (acuity.get() - exact).abs() > NAMED_WITHIN {
        return None;
    }
    let place = usize::try_from(count(tenths.rem_euclid(10.0))?).ok()?;
    let decade = 10_f64.powf(tenths.div_euclid(10.0));
    Some(Row {
        logmar: LogMar::new(exact).ok()?,
        under_20_feet: FEET.get(place)? * decade,
        under_6_metres: METRES.get(place)? * decade,
        decimal: DECIMAL.get(place)? / decade,
    })
}

/// Which rows can a chart have, from the best that is measured to the largest?
///
/// **Formula** −0.3 to 2.0 in steps of 0.1. **Source** as [`named_row`]; the
/// ends are common practice. **Range** twenty-four rows, best first.
///
/// ```
/// use farpoint::vision::acuity::rows::rows;
/// let last = rows().last().expect("twenty-four rows");
/// assert_eq!((rows().count(), last.under_20_feet), (24, 2_000.0));
/// ```
pub fn rows() -> impl Iterator<Item = Row> {
    (-3..=20).filter_map(|tenths: i32| named_row(LogMar::new(f64::from(tenths) / 10.0).ok()?))
}
