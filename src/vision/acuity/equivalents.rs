//! How is one acuity written in the other notations?
//!
//! Follows the display rule of the trade: the name of a chart row stands only
//! for a value within 0.006 log units of that row; any other value is printed
//! as it is. Nothing is snapped. Does not know what was typed; the typed text
//! always stands first.
//! Read next: [`super::rows`], whose names are printed.

use super::LogMar;
use super::rows::named_row;

/// One acuity in every notation, ready to be printed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Equivalents {
    /// Two decimals, "1.00".
    pub logmar: String,
    /// The fraction over 20 feet, "20/200".
    pub feet: String,
    /// The fraction over 6 metres, "6/60".
    pub metres: String,
    /// The decimal, "0.1".
    pub decimal: String,
    /// The VAR score, "50".
    pub var: String,
}

/// What is this acuity in the other notations?
///
/// **Formula** 20·10^L, 6·10^L, 10^−L, 100 − 50 L; a row's name within 0.006
/// log units of the row, three figures otherwise. **Source** conversions as in
/// DICOM PS3.17 Annex RR (seen); the display rule is common practice; row names
/// are preferred numbers. **Range** all of [`LogMar`].
///
/// ```
/// use farpoint::vision::acuity::{LogMar, equivalents::equivalents};
/// let row = equivalents(LogMar::new(1.0)?);
/// assert_eq!((row.feet.as_str(), row.metres.as_str()), ("20/200", "6/60"));
/// // 20/30 lies between two rows and keeps its own figures.
/// let between = equivalents(LogMar::from_decimal(20.0 / 30.0)?);
/// assert_eq!((between.feet.as_str(), between.logmar.as_str()), ("20/30", "0.18"));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn equivalents(acuity: LogMar) -> Equivalents {
    let (feet, metres, decimal) = match named_row(acuity) {
        Some(row) => (row.under_20_feet, row.under_6_metres, row.decimal),
        None => (20.0 * acuity.mar_arcminutes(), 6.0 * acuity.mar_arcminutes(), acuity.decimal()),
    };
    Equivalents {
        logmar: without_minus_zero(format!("{:.2}", acuity.get())),
        feet: format!("20/{}", figures(feet)),
        metres: format!("6/{}", figures(metres)),
        decimal: figures(decimal),
        var: without_minus_zero(trimmed(format!("{:.1}", acuity.var_score()))),
    }
}

/// Three significant figures, without idle zeros.
fn figures(number: f64) -> String {
    let mut decimals = 0;
    let mut shifted = number.abs();
    while shifted < 100.0 && decimals < 9 {
        shifted *= 10.0;
        decimals += 1;
    }
    trimmed(format!("{number:.decimals$}"))
}

fn trimmed(text: String) -> String {
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn without_minus_zero(text: String) -> String {
    if text.trim_start_matches(['-', '0', '.']).is_empty() { text.trim_start_matches('-').to_owned() } else { text }
}
