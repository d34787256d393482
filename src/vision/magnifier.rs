//! How strong must a magnifier be, and how does this one work?
//!
//! Magnifiers are compared by equivalent power and equivalent viewing
//! distance. The "×" on a label means F/4 on one lens and F/4 + 1 on another,
//! and is wrong for nearly every stand magnifier; no function here compares
//! labels.
//!
//! Does not know the reading goal's reserve; it is an input. Sustained reading
//! asks 2 to 2.5 times the threshold (common practice).
//! Read next: [`crate::vision::acuity::near`] for print sizes.

use thiserror::Error;

use super::acuity::LogMar;
use super::acuity::near::MUnits;
use super::reserve::farthest_seat;
use super::units::{Dioptres, Magnification, Metres, OutOfRange, POSITIVE, Ratio, above_zero, within};

/// Power and viewing distance, the one the reciprocal of the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Equivalent {
    /// Equivalent power.
    pub power: Dioptres,
    /// Equivalent viewing distance.
    pub viewing_distance: Metres,
}

impl Equivalent {
    fn of_power(power: f64) -> Result<Self, OutOfRange> {
        let power = Dioptres::new(within("equivalent power", "D", power, above_zero(1_000.0))?)?;
        Ok(Self { power, viewing_distance: power.focal_length()? })
    }
}

/// The checked power of a magnifying lens.
fn lens_power(power: Dioptres) -> Result<f64, OutOfRange> {
    within("magnifier", "D", power.get(), 2.0..=60.0)
}

/// The checked distance from the eye to the lens.
fn eye_distance(eye: Metres) -> Result<f64, OutOfRange> {
    within("eye to lens", "m", eye.get(), 0.01..=2.0)
}

/// What do a magnifier and a reading add (or accommodation) make together?
///
/// **Formula** F₁ + F₂ − z F₁ F₂, z the separation. **Source** the textbook
/// formula for two lenses (derived). At z = 1/F₁ the add does nothing, beyond it
/// even takes power off.
/// **Range** magnifier 2 to 60 D, add 0 to 40 D, separation 0 to 2 m, and
/// power left over.
///
/// ```
/// use farpoint::vision::{magnifier::with_add, units::{Dioptres, Metres}};
/// let both = with_add(Dioptres::new(20.0)?, Dioptres::new(4.0)?, Metres::new(0.1)?)?;
/// assert_eq!((both.power.get(), both.viewing_distance.get()), (16.0, 0.0625));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range, or no power left.
pub fn with_add(magnifier: Dioptres, add: Dioptres, separation: Metres) -> Result<Equivalent, OutOfRange> {
    let f1 = lens_power(magnifier)?;
    let f2 = within("add or accommodation", "D", add.get(), 0.0..=40.0)?;
    let z = within("separation", "m", separation.get(), 0.0..=2.0)?;
    Equivalent::of_power(f1 + f2 - z * f1 * f2)
}

/// The two numbers a maker may have printed on the same lens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LabelReadings {
    /// F/4: picture far away, compared with 25 cm.
    pub quarter: Ratio,
    /// F/4 + 1: picture at 25 cm, lens at the eye.
    pub quarter_plus_one: Ratio,
}

/// Which labels may a lens of this power carry?
///
/// **Formula** F/4 and F/4 + 1. **Source** the trade's two conventions (seen).
/// **Range** 2 to 60 D. Store dioptres.
///
/// ```
/// use farpoint::vision::{magnifier::label_readings, units::Dioptres};
/// let twelve = label_readings(Dioptres::new(12.0)?)?;
/// assert_eq!((twelve.quarter.get(), twelve.quarter_plus_one.get()), (3.0, 4.0));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A power outside the range.
pub fn label_readings(power: Dioptres) -> Result<LabelReadings, OutOfRange> {
    let quarter = lens_power(power)? / 4.0;
    Ok(LabelReadings { quarter: Ratio::new(quarter)?, quarter_plus_one: Ratio::new(quarter + 1.0)? })
}

/// Why a stand magnifier cannot be computed.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum StandError {
    /// The page would lie at or beyond the focus: no picture to look at.
    #[error("the stand must be lower than the focal length of its lens, {focal}")]
    TooHigh {
        /// That focal length.
        focal: Metres,
    },
    /// A value outside the formula.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// A stand magnifier in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// How far below the lens the picture lies.
    pub image_below_lens: Metres,
    /// How many times larger than the page it is.
    pub enlargement: Ratio,
    /// From the eye to the picture.
    pub eye_to_image: Metres,
    /// The accommodation or add that the picture needs.
    pub focus_needed: Dioptres,
    /// Equivalent power and viewing distance.
    pub equivalent: Equivalent,
}

/// How does a stand magnifier work at this eye distance?
///
/// **Formula** enlargement 1/(1 − hF); picture h/(1 − hF) below the lens; focus
/// 1/(z + that); equivalent viewing distance h + z − zhF. **Source** derived,
/// checked against the two-lens formula. None of 66 stand magnifiers met its
/// label (Optometry 2008;79:9-17, seen). **Range** lens 2 to 60 D, page inside
/// the focal length, eye 1 cm to 2 m.
///
/// ```
/// use farpoint::vision::{magnifier::stand, units::{Dioptres, Metres}};
/// let used = stand(Dioptres::new(20.0)?, Metres::new(0.04)?, Metres::new(0.25)?)?;
/// assert!((used.enlargement.get() - 5.0).abs() < 1e-9);
/// assert!((used.equivalent.viewing_distance.get() - 0.09).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A stand as high as the focal length or higher.
pub fn stand(lens: Dioptres, height: Metres, eye: Metres) -> Result<Stand, StandError> {
    let f = lens_power(lens)?;
    let z = eye_distance(eye)?;
    let h = within("stand height", "m", height.get(), above_zero(1.0))?;
    let left = 1.0 - h * f;
    // A hair inside the focus is the focus, as far as binary numbers can tell.
    if left < 1e-9 {
        return Err(StandError::TooHigh { focal: Metres::new(1.0 / f)? });
    }
    let image = h / left;
    Ok(Stand {
        image_below_lens: Metres::new(image)?,
        enlargement: Ratio::new(1.0 / left)?,
        eye_to_image: Metres::new(z + image)?,
        focus_needed: Dioptres::new(1.0 / (z + image))?,
        equivalent: Equivalent::of_power(1.0 / (h + z - z * h * f))?,
    })
}

/// How wide a strip of the page does a hand magnifier show?
///
/// **Formula** w = D/(z F), page at the focus. **Source** an optometry teaching
/// note's worked example (seen); aberrations leave less in practice.
/// **Range** lens 5 to 300 mm wide, 2 to 60 D, eye 1 cm to 2 m.
///
/// ```
/// use farpoint::vision::{magnifier::hand_field, units::{Dioptres, Metres}};
/// let strip = hand_field(Metres::new(0.09)?, Dioptres::new(6.0)?, Metres::new(0.25)?)?;
/// assert!((strip.get() - 0.06).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn hand_field(lens_diameter: Metres, power: Dioptres, eye: Metres) -> Result<Metres, OutOfRange> {
    let diameter = within("lens diameter", "m", lens_diameter.get(), 0.005..=0.3)?;
    Metres::new(diameter / (eye_distance(eye)? * lens_power(power)?))
}

/// How wide a strip of print shows through a lens between page and eye?
///
/// **Formula** w = D × EVD/z: the rim is seen under D/z, and a unit of angle is
/// EVD wide on the page. For a hand magnifier it is [`hand_field`], for a
/// [`stand`] the part of its picture that the rim lets through. **Source**
/// derived. **Range** lens 5 mm to 30 cm, equivalent power 1 to 100 D, eye 1 cm
/// to 2 m behind the lens; the equivalent power must be the one at that eye.
///
/// ```
/// use farpoint::vision::magnifier::{stand, window_field};
/// use farpoint::vision::units::{Dioptres, Metres};
/// let eye = Metres::new(0.25)?;
/// let found = stand(Dioptres::new(20.0)?, Metres::new(0.04)?, eye)?;
/// // 11.1 D: a lens of 60 mm shows 60 × 0.09 / 0.25 = 21.6 mm.
/// let strip = window_field(Metres::new(0.06)?, found.equivalent.power, eye)?;
/// assert!((strip.get() - 0.0216).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn window_field(lens_diameter: Metres, equivalent: Dioptres, eye: Metres) -> Result<Metres, OutOfRange> {
    let diameter = within("lens diameter", "m", lens_diameter.get(), 0.005..=0.3)?;
    let power = within("equivalent power", "D", equivalent.get(), 1.0..=100.0)?;
    Metres::new(diameter / (eye_distance(eye)? * power))
}

/// How many characters does a strip of this width show?
///
/// **Formula** width / x-height, a small letter being about as wide as tall.
/// **Source** common practice; for reading on 5 are needed drifting by and
/// about 10 by hand (Beckmann and Legge 1996, abstract seen). **Range** strip
/// 0.1 mm to 2 m, x-height 0.1 mm to 50 cm.
///
/// ```
/// use farpoint::vision::{magnifier::characters_in, units::Metres};
/// let shown = characters_in(Metres::new(0.0278)?, Metres::new(0.0029)?)?;
/// assert!((shown - 9.6).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn characters_in(width: Metres, x_height: Metres) -> Result<f64, OutOfRange> {
    let strip = within("strip", "m", width.get(), 0.000_1..=2.0)?;
    Ok(strip / within("x-height", "m", x_height.get(), 0.000_1..=0.5)?)
}

/// Which add is left to give when the eye accommodates for a part of it?
///
/// **Formula** 1/d − A, nothing if the eye does it alone. **Source** derived;
/// A is what can be held, about half the amplitude (common practice), see
/// [`crate::vision::refraction::sustained`]. **Range** distance 2 cm to 2 m,
/// accommodation 0 to 25 D.
///
/// ```
/// use farpoint::vision::{magnifier::add_for_distance, units::{Dioptres, Metres}};
/// let add = add_for_distance(Metres::new(0.1)?, Dioptres::new(6.0)?)?;
/// assert!((add.get() - 4.0).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn add_for_distance(distance: Metres, accommodation: Dioptres) -> Result<Dioptres, OutOfRange> {
    let d = within("working distance", "m", distance.get(), 0.02..=2.0)?;
    let own = within("accommodation", "D", accommodation.get(), 0.0..=25.0)?;
    let left = 1.0 / d - own;
    Dioptres::new(if left > 0.0 { left } else { 0.0 })
}

/// Which add reads 1 M at threshold, by the old rule?
///
/// **Formula** 1/V. **Source** Kestenbaum's rule in teaching items (seen).
/// It gives threshold reading only, too little for use, and with a central
/// scotoma a distance chart is a poor guide to print. **Range** all of [`LogMar`] that gives 0.1 to 200 D.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, magnifier::kestenbaum};
/// assert_eq!(kestenbaum(LogMar::from_decimal(0.1)?)?.get(), 10.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// An acuity outside the range.
pub fn kestenbaum(acuity: LogMar) -> Result<Dioptres, OutOfRange> {
    Dioptres::new(within("add", "D", acuity.mar_arcminutes(), 0.1..=200.0)?)
}

/// Which add reads this size, if that one reads 1 M?
///
/// **Formula** add × 1 M / goal. **Source** teaching items on the same rule
/// (seen). **Range** goal 0.1 to 40 M.
///
/// ```
/// use farpoint::vision::{acuity::near::MUnits, magnifier::add_for, units::Dioptres};
/// assert_eq!(add_for(Dioptres::new(5.0)?, MUnits::new(2.0)?)?.get(), 2.5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn add_for(add_for_one_m: Dioptres, goal: MUnits) -> Result<Dioptres, OutOfRange> {
    let add = within("add for 1 M", "D", add_for_one_m.get(), above_zero(200.0))?;
    Dioptres::new(add / within("goal", "M", goal.get(), 0.1..=40.0)?)
}

/// The smallest print read, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReadAt {
    /// Its size.
    pub print: MUnits,
    /// From the eye.
    pub distance: Metres,
}

/// Which equivalent power reads the goal with this reserve?
///
/// **Formula** Fe = (M read / M goal) · AR / d. **Source** derived; without a
/// reserve it is Bailey's (lecture notes 2004, seen). **Range** print 0.1 to
/// 40 M, distance 2 cm to 1 m, reserve 1 to 10.
///
/// ```
/// use farpoint::vision::acuity::near::MUnits;
/// use farpoint::vision::magnifier::{ReadAt, power_for};
/// use farpoint::vision::units::{Metres, Ratio};
/// let read = ReadAt { print: MUnits::new(2.0)?, distance: Metres::new(0.4)? };
/// let needed = power_for(read, MUnits::new(1.0)?, Ratio::new(2.0)?)?;
/// assert_eq!(needed.power.get(), 10.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn power_for(read: ReadAt, goal: MUnits, reserve: Ratio) -> Result<Equivalent, OutOfRange> {
    let size = within("print read", "M", read.print.get(), 0.1..=40.0)?;
    let goal = within("goal", "M", goal.get(), 0.1..=40.0)?;
    let d = within("reading distance", "m", read.distance.get(), 0.02..=1.0)?;
    let reserve = within("reserve", ": 1", reserve.get(), 1.0..=10.0)?;
    Equivalent::of_power(size / goal * reserve / d)
}

/// Which equivalent power shows small letters of this height with this reserve?
///
/// **Formula** 1/d, d the distance at which the bare eye would have to hold them,
/// [`farthest_seat`] without a device. **Source** definition of equivalent viewing
/// distance. **Range** as there, and up to 1000 D.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, magnifier::power_for_height, units::{Metres, Ratio}};
/// let needed = power_for_height(LogMar::new(1.0)?, Metres::new(0.00145)?, Ratio::new(2.0)?)?;
/// // 5 minutes of arc, ten times, twice: 1.45 mm are seen so from 5 cm.
/// assert!((needed.power.get() - 20.06).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn power_for_height(acuity: LogMar, height: Metres, reserve: Ratio) -> Result<Equivalent, OutOfRange> {
    let held = farthest_seat(acuity, height, reserve, Magnification::literal(1.0))?;
    Equivalent::of_power(1.0 / within("distance", "m", held.get(), POSITIVE)?)
}

/// What equivalent viewing distance does an enlarged picture give?
///
/// **Formula** viewing distance / enlargement. **Source** Bailey (lecture notes
/// 2004, seen). **Range** enlargement 0.1 to 200, distance 2 cm to 5 m.
///
/// ```
/// use farpoint::vision::{magnifier::of_enlargement, units::{Metres, Ratio}};
/// let screen = of_enlargement(Ratio::new(10.0)?, Metres::new(0.25)?)?;
/// assert_eq!(screen.viewing_distance.get(), 0.025);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn of_enlargement(enlargement: Ratio, viewing: Metres) -> Result<Equivalent, OutOfRange> {
    let times = within("enlargement", "×", enlargement.get(), 0.1..=200.0)?;
    let d = within("viewing distance", "m", viewing.get(), 0.02..=5.0)?;
    Equivalent::of_power(times / d)
}

/// How near does this eye hold the page?
///
/// **Formula** 1/(add + accommodation − K), thin lens at the eye; K the
/// uncorrected refraction, minus for myopes, so that a myope without glasses
/// needs no lens. **Source** derived. **Range** add 0 to 60 D, accommodation 0
/// to 25 D, K −40 to +40 D, and plus power left over.
///
/// ```
/// use farpoint::vision::{magnifier::working_distance, units::Dioptres};
/// let none = Dioptres::new(0.0)?;
/// let myope = working_distance(none, Dioptres::new(4.0)?, Dioptres::new(-6.0)?)?;
/// assert_eq!(myope.viewing_distance.get(), 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range, or an eye that focuses nothing before it.
pub fn working_distance(
    add: Dioptres,
    accommodation: Dioptres,
    uncorrected: Dioptres,
) -> Result<Equivalent, OutOfRange> {
    let add = within("add", "D", add.get(), 0.0..=60.0)?;
    let accommodation = within("accommodation", "D", accommodation.get(), 0.0..=25.0)?;
    let k = within("uncorrected refraction", "D", uncorrected.get(), -40.0..=40.0)?;
    Equivalent::of_power(add + accommodation - k)
}
