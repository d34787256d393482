//! How small a detail does this eye resolve, in every notation of the trade?
//!
//! [`LogMar`] is the one number behind all notations. [`Acuity`] is what an
//! examination found: a [`Measured`] value, or a [`Category`] such as counting
//! fingers, from which no figure is ever computed; the two are different
//! variants, so that nobody can forget.
//!
//! Does not know whose eye it is, with which glasses, nor keeps the typed text.
//! Read next: [`notation`] for reading what was typed, [`equivalents`] for
//! printing, [`rows`] for the rows of charts, [`letters`] for letter counts,
//! [`near`] for print, [`change`] for a second test.
//!
//! Signs: larger logMAR is *worse*; larger decimal and VAR are *better*.

use thiserror::Error;

use super::length::{LengthError, shown};
use super::units::{Arcminutes, Metres, OutOfRange, above_zero, quantity, within};

pub mod change;
pub mod equivalents;
pub mod letters;
pub mod near;
pub mod notation;
pub mod rows;

quantity! {
    /// The base-ten logarithm of a visual angle in minutes of arc.
    ///
    /// Stands for an acuity (the smallest detail resolved) or for a demand (the
    /// detail that a target shows). Two of them are never added; a difference
    /// is a ratio of sizes.
    LogMar: "logMAR", "logMAR", -3.0..=5.0
}

impl LogMar {
    /// Which logMAR is a detail of this visual angle?
    ///
    /// **Formula** L = log10 MAR, MAR in minutes of arc. **Source** definition,
    /// as in DICOM PS3.17 Annex RR (seen). **Range** 0.001 to 21 600 arcmin.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, units::Arcminutes};
    /// assert_eq!(LogMar::from_mar(Arcminutes::new(10.0)?)?.get(), 1.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// An angle outside the range.
    pub fn from_mar(detail: Arcminutes) -> Result<Self, OutOfRange> {
        Self::new(detail.get().log10())
    }

    /// Which logMAR is a fraction, test distance over the letter's distance?
    ///
    /// **Formula** L = log10(D/d). **Source** definition of the fraction (seen).
    /// **Range** both more than zero. Both lengths carry their unit, so that
    /// metres over feet cannot happen.
    ///
    /// ```
    /// use farpoint::vision::{acuity::LogMar, length::feet};
    /// let acuity = LogMar::from_fraction(feet(10.0)?, feet(200.0)?)?;
    /// assert!((acuity.get() - 1.301).abs() < 0.0005);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Nothing above or below the line.
    pub fn from_fraction(test: Metres, letter: Metres) -> Result<Self, OutOfRange> {
        let d = within("test distance", "m", test.get(), above_zero(10_000.0))?;
        let far = within("letter distance", "m", letter.get(), above_zero(100_000.0))?;
        Self::new((far / d).log10())
    }

    /// Which logMAR is a decimal acuity?
    ///
    /// **Formula** L = −log10 V. **Source** definition, V = 1/MAR (seen).
    /// **Range** 0.00001 to 1 000, far beyond any eye.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::from_decimal(0.1)?.get(), 1.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Zero, a negative number, or one outside the range.
    pub fn from_decimal(decimal: f64) -> Result<Self, OutOfRange> {
        within("decimal acuity", "", decimal, 0.000_01..=1_000.0)?;
        Self::new(-decimal.log10())
    }

    /// Which logMAR is a VAR score, also called VAS?
    ///
    /// **Formula** L = (100 − VAR)/50. **Source** DICOM PS3.17 Annex RR, Table
    /// RR-1 (seen). **Range** −150 to 250.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::from_var(50.0)?.get(), 1.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A score outside the range.
    pub fn from_var(score: f64) -> Result<Self, OutOfRange> {
        within("VAR score", "", score, -150.0..=250.0)?;
        Self::new((100.0 - score) / 50.0)
    }

    /// How large is the detail, in minutes of arc?
    ///
    /// **Formula** MAR = 10^L. **Source** definition, as in DICOM PS3.17 Annex
    /// RR (seen). **Range** all of [`LogMar`].
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(1.0)?.mar_arcminutes(), 10.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn mar_arcminutes(self) -> f64 {
        10_f64.powf(self.get())
    }

    /// What is it as a decimal acuity?
    ///
    /// **Formula** V = 10^−L. **Source** definition, V = 1/MAR (seen). **Range**
    /// all of [`LogMar`].
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(1.0)?.decimal(), 0.1);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn decimal(self) -> f64 {
        10_f64.powf(-self.get())
    }

    /// What is it as a VAR score?
    ///
    /// **Formula** VAR = 100 − 50 L. **Source** DICOM PS3.17 Annex RR, Table
    /// RR-1 (seen). **Range** all of [`LogMar`].
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(1.0)?.var_score(), 50.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn var_score(self) -> f64 {
        100.0 - 50.0 * self.get()
    }

    /// How fine is the finest grating of the same detail, in cycles per degree?
    ///
    /// **Formula** 30 V: a cycle is two details, a degree is 60 arcmin.
    /// **Source** the conversion chart credited to J. T. Holladay (seen).
    /// **Range** any.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(1.0)?.cycles_per_degree(), 3.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn cycles_per_degree(self) -> f64 {
        30.0 * self.decimal()
    }

    /// Which number stands below the line, in the unit of the test distance?
    ///
    /// **Formula** D = d · 10^L. **Source** definition of the fraction (seen).
    /// **Range** a distance of more than zero, up to 10 000 of its unit; 20
    /// gives the 20/x form, 6 the 6/x form.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(1.0)?.below_the_line(20.0)?, 200.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A distance outside the range.
    pub fn below_the_line(self, test: f64) -> Result<f64, OutOfRange> {
        Ok(within("number above the line", "", test, above_zero(10_000.0))? * self.mar_arcminutes())
    }

    /// Which value is so many log units harder to see, or easier if negative?
    ///
    /// **Formula** L + x; a row of a chart with equal steps is 0.1. **Source**
    /// definition of the logarithm (derived). **Range** x −8 to 8, as far as
    /// [`LogMar`] reaches.
    ///
    /// ```
    /// use farpoint::vision::acuity::LogMar;
    /// assert_eq!(LogMar::new(0.5)?.worse_by(0.25)?.get(), 0.75);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A result beyond the bounds of [`LogMar`].
    pub fn worse_by(self, log_units: f64) -> Result<Self, OutOfRange> {
        Self::new(self.get() + within("difference", "log units", log_units, -8.0..=8.0)?)
    }
}

/// The best and worst acuity that a chart can measure.
///
/// Common practice. The best row is named −0.3, so 20/10 (−0.301) belongs to it.
const BEST_USUAL: f64 = -0.306;
/// Better than this is a slip of the pen. Common practice.
const BEST_POSSIBLE: f64 = -0.5;
/// Worse than this is a category. Common practice; the slack is binary rounding.
const WORST_MEASURED: f64 = 2.0 + 1e-9;

/// An acuity that a chart measured: a number that may be computed with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Measured(LogMar);

impl Measured {
    /// Is this a value that a chart can measure?
    ///
    /// **Formula** −0.5 to 2.0 logMAR; better than −0.3 needs confirming.
    /// **Source** common practice. **Range** all of [`LogMar`].
    ///
    /// ```
    /// use farpoint::vision::acuity::{AcuityError, LogMar, Measured};
    /// assert!(Measured::new(LogMar::new(1.3)?).is_ok());
    /// let worse = Measured::new(LogMar::new(2.3)?);
    /// assert_eq!(worse, Err(AcuityError::BeyondChart));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// [`AcuityError::BeyondChart`] above 2.0, [`AcuityError::TooGood`] below −0.5.
    pub fn new(value: LogMar) -> Result<Self, AcuityError> {
        if value.get() > WORST_MEASURED {
            Err(AcuityError::BeyondChart)
        } else if value.get() < BEST_POSSIBLE {
            Err(AcuityError::TooGood)
        } else {
            Ok(Self(value))
        }
    }

    /// The value.
    pub const fn logmar(self) -> LogMar {
        self.0
    }

    /// Is it so good that somebody must confirm it?
    ///
    /// **Formula** better than −0.306 logMAR: the row named −0.3 is the best a
    /// chart measures, and 20/10 (−0.301) belongs to it. **Source** common
    /// practice. **Range** all of [`Measured`].
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, Measured};
    /// assert!(Measured::new(LogMar::new(-0.4)?).is_ok_and(Measured::needs_confirming));
    /// assert!(!Measured::new(LogMar::new(-0.3)?).is_ok_and(Measured::needs_confirming));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn needs_confirming(self) -> bool {
        self.0.get() < BEST_USUAL
    }
}

/// What an eye does when no chart row is read. No figure follows from it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Category {
    /// Counts fingers, at this distance if it was said.
    CountsFingers {
        /// How far away the fingers were.
        at: Option<Metres>,
    },
    /// Sees a hand move.
    HandMovement {
        /// How far away the hand was.
        at: Option<Metres>,
    },
    /// Sees light.
    LightPerception,
    /// Sees no light.
    NoLightPerception,
}

/// What an examination of sight found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Acuity {
    /// A number that may be computed with.
    Measured(Measured),
    /// A category, never computed with.
    Category(Category),
}

impl Acuity {
    /// The number, if there is one.
    pub const fn logmar(self) -> Option<LogMar> {
        match self {
            Self::Measured(Measured(value)) => Some(value),
            Self::Category(_) => None,
        }
    }
}

/// A doubt that only the person who typed can settle.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AcuityQuestion {
    /// A bare number between 0 and 2 is a different acuity in each notation.
    #[error("is {number} decimal or logMAR? write \u{201c}decimal {number}\u{201d} or \u{201c}{number} logMAR\u{201d}")]
    DecimalOrLogMar {
        /// The number as typed.
        number: String,
    },
    /// A bare number that could be several things.
    #[error(
        "which notation is {number}? write for example 20/200, 6/60, decimal 0.1, 1.0 logMAR, VAR 50 or 37 letters"
    )]
    WhichNotation {
        /// The number as typed.
        number: String,
    },
    /// The number above the line is not the test distance.
    #[error(
        "the fraction says {above} but the test was at {} ({}): was it {likely}, was the distance another, or does the chart print {above}/{below} for use at this distance?",
        shown::distance(*distance, shown::Units::Metric),
        shown::distance(*distance, shown::Units::Imperial)
    )]
    AnotherDistance {
        /// The number above the line as typed.
        above: String,
        /// The number below the line as typed.
        below: String,
        /// The distance of the test.
        distance: Metres,
        /// The fraction it may have been meant to be, in words if it has no whole number.
        likely: String,
    },
    /// Metres above the line and feet below it, or the other way round.
    #[error("is the fraction in feet or in metres? write both numbers in the same unit, for example 10/200 or 6/60")]
    MixedUnits,
    /// A print size without the distance at which it was read.
    #[error("at which distance was it read? write for example 4M @ 40 cm")]
    NearDistance,
    /// The text and the form name different distances.
    #[error("was it at {} or at {}? the text and the test distance differ", shown::distance(*written, shown::Units::Metric), shown::distance(*chosen, shown::Units::Metric))]
    TwoDistances {
        /// The distance in the text.
        written: Metres,
        /// The distance chosen beside it.
        chosen: Metres,
    },
    /// The text and the form name different notations.
    #[error("is it {written} or {chosen}? the text and the chosen notation differ")]
    TwoNotations {
        /// The notation in the text.
        written: notation::Notation,
        /// The notation chosen beside it.
        chosen: notation::Notation,
    },
}

/// Why a typed acuity could not be taken, in words that say what would be right.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AcuityError {
    /// Nothing was typed.
    #[error("write an acuity, for example 20/200, 6/60, 1.0 logMAR or CF @ 1 m")]
    Empty,
    /// No notation of the trade.
    #[error(
        "write it as for example 20/200, 6/60, decimal 0.1, 1.0 logMAR, VAR 50, 4M @ 40 cm, CF @ 1 m, HM, LP or NLP"
    )]
    Unreadable,
    /// A fraction with nothing above or below the line.
    #[error("write numbers of more than zero above and below the line, for example 20/200")]
    ZeroInFraction,
    /// Worse than any chart measures.
    #[error(
        "no chart measures that little: record it as CF with its distance, or as HM, or test again at 1 m or 50 cm"
    )]
    BeyondChart,
    /// Better than any eye.
    #[error("no eye resolves that: check the notation and the numbers")]
    TooGood,
    /// A letter count without the chart it was counted on.
    #[error("add the chart: the logMAR of its largest row, the letters in a row and the step from row to row")]
    ChartNeeded,
    /// A letter count, or letters added to a row, that the chart cannot give.
    #[error("the chart allows {allowed} letters here, not {given}")]
    TooManyLetters {
        /// The number of letters typed.
        given: u32,
        /// The largest number that could be right.
        allowed: u32,
    },
    /// Nothing read is no measurement.
    #[error("no letter was read: test again nearer, or record CF or HM")]
    NoLetters,
    /// A print notation that differs from maker to maker.
    #[error(
        "this print notation differs from maker to maker: measure the x-height and write the size in M, for example 4M @ 40 cm"
    )]
    NotStandardised,
    /// The distance inside the text could not be read.
    #[error("the distance: {0}")]
    Distance(#[from] LengthError),
    /// A number outside its bounds.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Nothing is wrong, but something is not clear.
    #[error(transparent)]
    Ask(#[from] AcuityQuestion),
}
