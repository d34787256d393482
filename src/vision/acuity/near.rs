//! How large is this print, and what acuity is it at this distance?
//!
//! The M unit is a height: the x-height that subtends 5 arcmin at one metre.
//! M alone is a print size; an acuity needs the distance too.
//!
//! Does not know typefaces: other notations need the x-height or its ratio.
//! Read next: [`crate::vision::magnifier`] for smaller print than this eye reads,
//! [`crate::vision::reading`] for how fast it is read.

use super::LogMar;
use crate::vision::units::{Fraction, Metres, Millimetres, OutOfRange, above_zero, quantity, within};

quantity! {
    /// A print size in M units.
    MUnits: "print size", "M", 0.000_1..=10_000.0
}

/// The x-height of 1 M, in millimetres: 2 × 1000 × tan(2.5′).
fn millimetres_of_one_m() -> f64 {
    2_000.0 * (2.5_f64 / 60.0).to_radians().tan()
}

impl MUnits {
    /// How many M is a small letter of this height?
    ///
    /// **Formula** M = x-height / 1.454441 mm. **Source** derived; 1.45 mm as
    /// published (seen). **Range** more than nothing, up to 14 m.
    ///
    /// ```
    /// use farpoint::vision::{acuity::near::MUnits, units::Millimetres};
    /// let print = MUnits::of_height(Millimetres::new(1.0)?)?;
    /// assert!((print.get() - 0.6876).abs() < 1e-4);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A height outside the range.
    pub fn of_height(x_height: Millimetres) -> Result<Self, OutOfRange> {
        within("x-height", "mm", x_height.get(), above_zero(14_000.0))?;
        Self::new(x_height.get() / millimetres_of_one_m())
    }

    /// How tall is a small letter of this size?
    ///
    /// **Formula** M × 1.454441 mm. **Source** derived; 1.45 mm as published
    /// (seen). **Range** all of [`MUnits`].
    ///
    /// ```
    /// use farpoint::vision::acuity::near::MUnits;
    /// assert!((MUnits::new(4.0)?.height()?.get() - 5.818).abs() < 1e-3);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// None within the bounds of [`MUnits`].
    pub fn height(self) -> Result<Millimetres, OutOfRange> {
        Millimetres::new(self.get() * millimetres_of_one_m())
    }

    /// What acuity reads this size at this distance?
    ///
    /// **Formula** L = log10(M/d), d in metres. **Source** 1/V = M × (1/d),
    /// Colenbrander (seen). **Range** 1 cm to 10 m.
    ///
    /// ```
    /// use farpoint::vision::{acuity::near::MUnits, units::Metres};
    /// let acuity = MUnits::new(1.0)?.read_at(Metres::new(0.4)?)?;
    /// assert!((acuity.get() - 0.398).abs() < 1e-3);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A distance outside the range.
    pub fn read_at(self, distance: Metres) -> Result<LogMar, OutOfRange> {
        let d = within("reading distance", "m", distance.get(), 0.01..=10.0)?;
        LogMar::new((self.get() / d).log10())
    }

    /// Which size does this acuity just read at this distance?
    ///
    /// **Formula** M = d · 10^L. **Source** as [`MUnits::read_at`] (seen).
    /// **Range** 1 cm to 10 m.
    ///
    /// ```
    /// use farpoint::vision::{acuity::{LogMar, near::MUnits}, units::Metres};
    /// let print = MUnits::just_read_by(LogMar::new(1.0)?, Metres::new(0.25)?)?;
    /// assert_eq!(print.get(), 2.5);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A distance outside the range.
    pub fn just_read_by(acuity: LogMar, distance: Metres) -> Result<Self, OutOfRange> {
        let d = within("reading distance", "m", distance.get(), 0.01..=10.0)?;
        Self::new(d * acuity.mar_arcminutes())
    }

    /// Which size is this many N points?
    ///
    /// **Formula** M = N/8. **Source** a teaching table of near equivalents
    /// (seen). **Range** the one reference serif face for which N points are
    /// defined, 1 to 1000; any other face is measured with a ruler.
    ///
    /// ```
    /// use farpoint::vision::acuity::near::MUnits;
    /// assert_eq!(MUnits::of_n_points(8.0)?.get(), 1.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A size outside the range.
    pub fn of_n_points(points: f64) -> Result<Self, OutOfRange> {
        within("N points", "points", points, 1.0..=1_000.0)?;
        Self::new(points / 8.0)
    }
}

/// How tall are the small letters of type of this size?
///
/// **Formula** x-height = points × 25.4/72 mm × ratio of x-height to body.
/// **Source** definition of the point; the ratio is 0.40 to 0.55, about 0.45
/// for many serif and 0.52 for many sans faces (common practice). **Range** 1
/// to 1000 points, ratio 0.2 to 0.9.
///
/// ```
/// use farpoint::vision::{acuity::near::x_height_of_type, units::Fraction};
/// let serif = x_height_of_type(12.0, Fraction::new(0.45)?)?;
/// assert!((serif.get() - 1.905).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size or a ratio outside the range.
pub fn x_height_of_type(points: f64, x_height_to_body: Fraction) -> Result<Millimetres, OutOfRange> {
    let points = within("type size", "points", points, 1.0..=1_000.0)?;
    let ratio = within("x-height of the face", "of the body", x_height_to_body.get(), 0.2..=0.9)?;
    Millimetres::new(points * 25.4 / 72.0 * ratio)
}
