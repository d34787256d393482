//! How strongly does the target stand out from its ground?
//!
//! Weber, Michelson and the ratio of luminances are three different numbers
//! for one pair of surfaces; each has its own name here. [`Weber`] is the one
//! that reserves are computed with.
//!
//! Does not know the eye. Read next: [`marker`] for boards, [`screen`] for
//! projectors and display colours, [`crate::vision::reserve`] for the reserve.

use super::units::{Fraction, Luminance, OutOfRange, POSITIVE, above_zero, quantity, within};

pub mod marker;
pub mod screen;

quantity! {
    /// The size of a Weber contrast: |target − ground| over ground.
    ///
    /// At most 1 for dark on light; without a limit for light on dark.
    Weber: "Weber contrast", "", 0.0..=1_000.0
}

quantity! {
    /// The logarithm of contrast sensitivity: larger sees fainter.
    LogContrastSensitivity: "log contrast sensitivity", "", 0.0..=3.0
}

/// Which of the two is darker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Polarity {
    /// Ink on paper, marker on a whiteboard.
    DarkOnLight,
    /// Chalk, or an inverted screen.
    LightOnDark,
}

impl LogContrastSensitivity {
    /// Which contrast does this sensitivity just see?
    ///
    /// **Formula** Weber threshold = 10^−logCS. **Source** definition (Pelli,
    /// Robson and Wilkins 1988, abstract seen). **Range** 0 to 3.
    ///
    /// ```
    /// use farpoint::vision::contrast::LogContrastSensitivity;
    /// let threshold = LogContrastSensitivity::new(1.65)?.threshold()?;
    /// assert!((threshold.get() - 0.0224).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// None within the bounds of the type.
    pub fn threshold(self) -> Result<Weber, OutOfRange> {
        Weber::new(10_f64.powf(-self.get()))
    }

    /// Which sensitivity read so many letters of a contrast chart?
    ///
    /// **Formula** logCS = log units a letter × (letters read − letters of the
    /// full-contrast row). **Source** letter scoring (derived); the worth of a
    /// letter belongs to the chart and is an input. **Range** a letter worth
    /// 0.001 to 0.5, no fewer letters than the full-contrast row.
    ///
    /// ```
    /// use farpoint::vision::contrast::LogContrastSensitivity;
    /// let read = LogContrastSensitivity::from_letters(36, 3, 0.05)?;
    /// assert!((read.get() - 1.65).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Counts or a worth outside the range.
    pub fn from_letters(read: u32, in_full_contrast_row: u32, log_per_letter: f64) -> Result<Self, OutOfRange> {
        within("log units a letter", "", log_per_letter, 0.001..=0.5)?;
        let beyond = f64::from(read) - f64::from(in_full_contrast_row);
        within("letters beyond the full-contrast row", "", beyond, 0.0..=1_000.0)?;
        Self::new(log_per_letter * beyond)
    }
}

/// One pair of surfaces in every measure of contrast.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrasts {
    /// Weber, its size.
    pub weber: Weber,
    /// Which of the two is darker.
    pub polarity: Polarity,
    /// Michelson, (max − min)/(max + min).
    pub michelson: Fraction,
    /// The lighter over the darker; none when the darker gives no light that
    /// could be told from none.
    pub luminance_ratio: Option<f64>,
}

/// What is the contrast of a target on its ground?
///
/// **Formula** Weber |Lt − Lb|/Lb; Michelson (max − min)/(max + min).
/// **Source** definitions. **Range** ground brighter than nothing, target of
/// another luminance.
///
/// ```
/// use farpoint::vision::{contrast::{Polarity, contrasts}, units::Luminance};
/// let chalk = contrasts(Luminance::new(60.0)?, Luminance::new(10.0)?)?;
/// assert_eq!((chalk.weber.get(), chalk.polarity), (5.0, Polarity::LightOnDark));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A ground without light, or a target that does not differ from it.
pub fn contrasts(target: Luminance, ground: Luminance) -> Result<Contrasts, OutOfRange> {
    of_pair(target.get(), ground.get(), "cd/m²")
}

/// What is the contrast of two surfaces in the same light?
///
/// **Formula** as [`contrasts`] with reflectances; the light cancels for matt
/// surfaces. **Source** Lambert's law (derived). **Range** as there.
///
/// ```
/// use farpoint::vision::{contrast::contrasts_of_surfaces, units::Fraction};
/// let print = contrasts_of_surfaces(Fraction::new(0.05)?, Fraction::new(0.8)?)?;
/// assert!((print.weber.get() - 0.9375).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`contrasts`].
pub fn contrasts_of_surfaces(target: Fraction, ground: Fraction) -> Result<Contrasts, OutOfRange> {
    of_pair(target.get(), ground.get(), "")
}

fn of_pair(target: f64, ground: f64, unit: &'static str) -> Result<Contrasts, OutOfRange> {
    within("ground", unit, ground, POSITIVE)?;
    let difference = (target - ground).abs();
    within("difference between target and ground", unit, difference, POSITIVE)?;
    // Whichever of the two is darker comes first.
    let (low, high) = (target.min(ground), target.max(ground));
    Ok(Contrasts {
        weber: Weber::new(difference / ground)?,
        polarity: if target < ground { Polarity::DarkOnLight } else { Polarity::LightOnDark },
        michelson: Fraction::new(difference / (low + high))?,
        luminance_ratio: (low > 0.0).then_some(high / low).filter(|ratio| ratio.is_finite()),
    })
}

/// How strongly does a whole patch of writing vary about its mean?
///
/// **Formula** |Lt − Lb| √(p(1−p)) / (p Lt + (1−p) Lb), p the inked part.
/// **Source** the standard deviation of a two-level pattern (derived).
/// **Range** p between 0 and 1, a mean of more than nothing.
///
/// ```
/// use farpoint::vision::{contrast::root_mean_square, units::{Fraction, Luminance}};
/// let ink = root_mean_square(
///     Luminance::new(8.0)?, Luminance::new(80.0)?, Fraction::new(0.1)?)?;
/// assert!((ink - 0.2967).abs() < 1e-4);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No light at all.
pub fn root_mean_square(target: Luminance, ground: Luminance, inked: Fraction) -> Result<f64, OutOfRange> {
    let (lt, lb, p) = (target.get(), ground.get(), inked.get());
    let mean = within("mean luminance", "cd/m²", p * lt + (1.0 - p) * lb, above_zero(1e7))?;
    Ok((lt - lb).abs() * (p * (1.0 - p)).sqrt() / mean)
}

/// Which Weber contrast is this Michelson contrast?
///
/// **Formula** dark on light 2C/(1 + C); light on dark 2C/(1 − C). **Source**
/// definitions (derived). **Range** 0 to 1; below 1 for light on dark.
///
/// ```
/// use farpoint::vision::{contrast::{Polarity, weber_of_michelson}, units::Fraction};
/// let weber = weber_of_michelson(Fraction::new(0.5)?, Polarity::DarkOnLight)?;
/// assert!((weber.get() - 0.667).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Light on a ground that gives no light has no Weber contrast.
pub fn weber_of_michelson(michelson: Fraction, polarity: Polarity) -> Result<Weber, OutOfRange> {
    let c = michelson.get();
    match polarity {
        Polarity::DarkOnLight => Weber::new(2.0 * c / (1.0 + c)),
        Polarity::LightOnDark => {
            within("Michelson contrast", "", c, 0.0..0.998)?;
            Weber::new(2.0 * c / (1.0 - c))
        }
    }
}

/// Which Michelson contrast is this Weber contrast?
///
/// **Formula** dark on light C/(2 − C); light on dark C/(2 + C). **Source**
/// definitions (derived). **Range** at most 1 for dark on light.
///
/// ```
/// use farpoint::vision::contrast::{Polarity, Weber, michelson_of_weber};
/// let chalk = michelson_of_weber(Weber::new(5.0)?, Polarity::LightOnDark)?;
/// assert!((chalk.get() - 0.714).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Dark on light with a contrast of more than 1: the polarity is wrong.
pub fn michelson_of_weber(weber: Weber, polarity: Polarity) -> Result<Fraction, OutOfRange> {
    let c = weber.get();
    match polarity {
        Polarity::DarkOnLight => {
            within("contrast of dark on light", "", c, 0.0..=1.0)?;
            Fraction::new(c / (2.0 - c))
        }
        Polarity::LightOnDark => Fraction::new(c / (2.0 + c)),
    }
}

/// Which contrast should a reserve be computed with?
///
/// **Formula** dark on light as it is; light on dark through Michelson and back
/// as if dark on light, which gives C/(1 + C). **Source** common practice: no
/// agreed reserve for light on dark exists, so the result is an estimate.
/// **Range** at most 1 for dark on light.
///
/// ```
/// use farpoint::vision::contrast::{Polarity, Weber, for_reserve};
/// let chalk = for_reserve(Weber::new(5.0)?, Polarity::LightOnDark)?;
/// assert!((chalk.get() - 0.833).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`michelson_of_weber`].
pub fn for_reserve(weber: Weber, polarity: Polarity) -> Result<Weber, OutOfRange> {
    weber_of_michelson(michelson_of_weber(weber, polarity)?, Polarity::DarkOnLight)
}

/// Which contrast lies so many log units below full contrast?
///
/// **Formula** 10^−x. **Source** definition (derived). Studies that print 0.00
/// for a contrast mean the best, not none. **Range** 0 to 3 log units.
///
/// ```
/// use farpoint::vision::contrast::below_full;
/// assert!((below_full(0.3)?.get() - 0.501).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A number outside the range.
pub fn below_full(log_units: f64) -> Result<Weber, OutOfRange> {
    within("log units below full contrast", "", log_units, 0.0..=3.0)?;
    Weber::new(10_f64.powf(-log_units))
}

/// The contrast below which a target needs a warning. Common practice.
pub const FAINT_TARGET: Weber = Weber::literal(0.3);
