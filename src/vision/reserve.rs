//! How far above the threshold is this target, and what would bring it there?
//!
//! Reserves compare a target with what the eye just manages: size with size,
//! contrast with contrast. From a reserve that a task needs follow the seat,
//! the letter and the power that give it. Where several would do,
//! the cheapest comes first: a nearer chair, then better writing, a device last.
//!
//! Does not know which reserve a task needs; [`crate::vision::readable`] does.
//! Read next: [`advice`] for what a needed power or a thin contrast comes to.

use super::acuity::LogMar;
use super::contrast::{LogContrastSensitivity, Weber};
use super::demand::{half_letter, sight_distance, target_size, visual_angle};
use super::units::{Arcminutes, Magnification, Metres, OutOfRange, Ratio, above_zero, within};

pub mod advice;

/// How many times larger than the threshold is a target?
///
/// **Formula** AR = 10^(demand − acuity). **Source** definition (Whittaker and
/// Lovie-Kitchin 1993, abstract seen). **Range** all of [`LogMar`].
///
/// ```
/// use farpoint::vision::{acuity::LogMar, reserve::acuity_reserve};
/// let reserve = acuity_reserve(LogMar::new(0.7)?, LogMar::new(0.3)?)?;
/// assert!((reserve.get() - 2.51).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// None within the bounds of [`LogMar`].
pub fn acuity_reserve(demand: LogMar, acuity: LogMar) -> Result<Ratio, OutOfRange> {
    Ratio::new(10_f64.powf(demand.get() - acuity.get()))
}

/// What an acuity reserve means in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Below threshold: nothing is resolved.
    NotResolved,
    /// 1 to 1.3: single letters at best.
    Marginal,
    /// 1.3 to 8.
    Enough,
    /// Above 8: with a device, the device is stronger than needed and costs field.
    MoreThanNeeded,
}

/// What does this acuity reserve mean?
///
/// **Formula** limits at 1, 1.3 and 8. **Source** common practice. **Range** all.
///
/// ```
/// use farpoint::vision::{reserve::{Standing, standing}, units::Ratio};
/// assert_eq!(standing(Ratio::new(1.2)?), Standing::Marginal);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn standing(reserve: Ratio) -> Standing {
    match reserve.get() {
        r if r < 1.0 => Standing::NotResolved,
        r if r < 1.3 => Standing::Marginal,
        r if r <= 8.0 => Standing::Enough,
        _ => Standing::MoreThanNeeded,
    }
}

/// A target against an acuity and the reserve that a task needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SizeCheck {
    /// The reserve that there is.
    pub reserve: Ratio,
    /// The same in log units.
    pub reserve_log: f64,
    /// How many times larger the target would have to look; 1 if it is large enough.
    pub magnification_needed: Ratio,
    /// The acuity that would do without magnification.
    pub acuity_needed: LogMar,
}

/// Is the target large enough, and if not, by how much?
///
/// **Formula** AR = 10^(demand − acuity); magnification = max(1, needed/AR);
/// acuity needed = demand − log10(needed). **Source** definitions (derived).
/// **Range** needed reserve 1 to 20.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, reserve::size_check, units::Ratio};
/// let check = size_check(LogMar::new(0.6)?, LogMar::new(0.9)?, Ratio::new(2.5)?)?;
/// assert!((check.magnification_needed.get() - 4.99).abs() < 0.01);
/// assert!((check.acuity_needed.get() - 0.202).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A needed reserve outside the range.
pub fn size_check(demand: LogMar, acuity: LogMar, needed: Ratio) -> Result<SizeCheck, OutOfRange> {
    let reserve = acuity_reserve(demand, acuity)?;
    let shortfall = needed_reserve(needed)? / reserve.get();
    Ok(SizeCheck {
        reserve,
        reserve_log: demand.get() - acuity.get(),
        // A target that is large enough needs no smaller picture: the formula says 1.
        magnification_needed: Ratio::new(shortfall.max(1.0))?,
        acuity_needed: acuity_needed(demand, needed)?,
    })
}

/// Which acuity meets this demand with this reserve?
///
/// **Formula** demand − log10(needed). **Source** definition (derived).
/// **Range** needed reserve 1 to 20.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, reserve::acuity_needed, units::Ratio};
/// let needed = acuity_needed(LogMar::new(0.72)?, Ratio::new(2.5)?)?;
/// assert!((needed.get() - 0.322).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A needed reserve outside the range.
pub fn acuity_needed(demand: LogMar, needed: Ratio) -> Result<LogMar, OutOfRange> {
    demand.worse_by(-needed_reserve(needed)?.log10())
}

/// The checked reserve that a task asks for.
fn needed_reserve(needed: Ratio) -> Result<f64, OutOfRange> {
    within("reserve needed", ": 1", needed.get(), 1.0..=20.0)
}

/// How many times more contrast than the threshold does the target have?
///
/// **Formula** CR = target contrast / threshold contrast, both Weber.
/// **Source** Whittaker and Lovie-Kitchin 1994 (abstract seen): below 10
/// reading slows, below 4 it suffers badly. **Range** threshold more than zero.
///
/// ```
/// use farpoint::vision::contrast::{LogContrastSensitivity, Weber};
/// use farpoint::vision::reserve::contrast_reserve;
/// let threshold = LogContrastSensitivity::new(1.35)?.threshold()?;
/// let reserve = contrast_reserve(Weber::new(0.8)?, threshold)?;
/// assert!((reserve.get() - 17.9).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A target or a threshold without contrast.
pub fn contrast_reserve(target: Weber, threshold: Weber) -> Result<Ratio, OutOfRange> {
    let target = within("target contrast", "", target.get(), above_zero(1_000.0))?;
    let threshold = within("threshold contrast", "", threshold.get(), above_zero(1.0))?;
    Ratio::new(target / threshold)
}

/// What is the same from a log contrast sensitivity, as clinics write it?
///
/// **Formula** as [`contrast_reserve`], with the threshold 10^−logCS.
/// **Source** as there (abstract seen). **Range** as there.
///
/// ```
/// use farpoint::vision::contrast::{LogContrastSensitivity, Weber};
/// use farpoint::vision::reserve::contrast_reserve_of;
/// let reserve = contrast_reserve_of(Weber::new(0.55)?, LogContrastSensitivity::new(0.9)?)?;
/// assert!((reserve.get() - 4.37).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A target without contrast.
pub fn contrast_reserve_of(target: Weber, sensitivity: LogContrastSensitivity) -> Result<Ratio, OutOfRange> {
    contrast_reserve(target, sensitivity.threshold()?)
}

/// The three ways to make a target look larger, multiplied.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TotalMagnification {
    /// By coming nearer.
    pub relative_distance: Ratio,
    /// By writing larger.
    pub relative_size: Ratio,
    /// All three together.
    pub total: Ratio,
}

/// A target as it is placed: how far and how tall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placed {
    /// From the eye.
    pub distance: Metres,
    /// Its height.
    pub height: Metres,
}

/// How much larger does the target look after moving, enlarging and a device?
///
/// **Formula** (d_before/d_after)(h_after/h_before) M; exact while angles are compared by the
/// tangents of their halves. **Source** geometry (derived). **Range** all more than zero.
///
/// ```
/// use farpoint::vision::reserve::{Placed, total_magnification};
/// use farpoint::vision::units::{Magnification, Metres};
/// let height = Metres::new(0.025)?;
/// let back = Placed { distance: Metres::new(6.0)?, height };
/// let front = Placed { distance: Metres::new(2.0)?, height };
/// let larger = total_magnification(back, front, Magnification::new(2.8)?)?;
/// assert!((larger.total.get() - 8.4).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A distance or a height of nothing.
pub fn total_magnification(
    before: Placed,
    after: Placed,
    device: Magnification,
) -> Result<TotalMagnification, OutOfRange> {
    let nearer = sight_distance(before.distance)? / sight_distance(after.distance)?;
    let larger = target_size(after.height)? / target_size(before.height)?;
    Ok(TotalMagnification {
        relative_distance: Ratio::new(nearer)?,
        relative_size: Ratio::new(larger)?,
        total: Ratio::new(nearer * larger * device.get())?,
    })
}

/// Which power brings this writing to the reserve that the task needs?
///
/// **Formula** P = AR · 10^VA · 5′ / θ, θ the exact angle of the x-height.
/// **Source** definitions (derived). **Range** needed reserve 1 to 20, seat at
/// 2 m or more for the answer to hold for a thin telescope. An answer below 1
/// says that no device is needed, above 10 that a hand-held one will not do.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, reserve::power_needed, units::{Metres, Ratio}};
/// let power = power_needed(
///     LogMar::new(1.0)?, Metres::new(0.025)?, Metres::new(4.0)?, Ratio::new(2.5)?)?;
/// assert!((power.get() - 5.82).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size, distance or reserve outside its range.
pub fn power_needed(acuity: LogMar, x_height: Metres, distance: Metres, needed: Ratio) -> Result<Ratio, OutOfRange> {
    let shown = visual_angle(x_height, distance)?.arcminutes();
    let wanted = needed_reserve(needed)? * acuity.mar_arcminutes() * 5.0;
    Ratio::new(wanted / shown)
}

/// The detail that must be shown, so that after the device the reserve holds.
fn detail_to_show(acuity: LogMar, needed: Ratio, device: Magnification) -> Result<Arcminutes, OutOfRange> {
    Arcminutes::new(needed_reserve(needed)? * acuity.mar_arcminutes() / device.get())
}

/// From how far away can writing of this size be read?
///
/// **Formula** d = h / (2 tan(5′ · AR · 10^VA / 2P)). **Source** definitions
/// (derived). **Range** needed reserve 1 to 20. Without a device P is 1; for
/// an acuity measured *through* the device P is 1 too.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::reserve::farthest_seat;
/// use farpoint::vision::units::{Magnification, Metres, Ratio};
/// let seat = farthest_seat(
///     LogMar::new(1.0)?, Metres::new(0.025)?, Ratio::new(2.5)?, Magnification::new(4.0)?)?;
/// assert!((seat.get() - 2.75).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size or reserve outside its range, or a letter that would have to fill
/// more than 120°.
pub fn farthest_seat(
    acuity: LogMar,
    x_height: Metres,
    needed: Ratio,
    device: Magnification,
) -> Result<Metres, OutOfRange> {
    let h = target_size(x_height)?;
    let half = half_letter(detail_to_show(acuity, needed, device)?)?;
    Metres::new(h / (2.0 * half.tan()))
}

/// How tall must small letters be to be read from this seat?
///
/// **Formula** h = 2 d tan(5′ · AR · 10^VA / 2P). **Source** definitions
/// (derived). **Range** as [`farthest_seat`].
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::reserve::smallest_letter;
/// use farpoint::vision::units::{Magnification, Metres, Ratio};
/// let letter = smallest_letter(
///     LogMar::new(1.0)?, Metres::new(4.0)?, Ratio::new(2.5)?, Magnification::new(1.0)?)?;
/// assert!((letter.get() - 0.145).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`farthest_seat`].
pub fn smallest_letter(
    acuity: LogMar,
    distance: Metres,
    needed: Ratio,
    device: Magnification,
) -> Result<Metres, OutOfRange> {
    let d = sight_distance(distance)?;
    let half = half_letter(detail_to_show(acuity, needed, device)?)?;
    Metres::new(2.0 * d * half.tan())
}
