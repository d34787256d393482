//! May this refraction be taken as typed, must it be confirmed, or is it wrong?
//!
//! The ranges are common practice. Outside the ordinary a value is confirmed
//! by a person; outside the possible it is refused with what would be right.
//! Does not convert anything; see [`super::Lens`].

use thiserror::Error;

use super::{Axis, Lens};
use crate::vision::units::{Degrees, Dioptres, Millimetres, OutOfRange, within};

/// Whether a value may stand as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// Ordinary.
    Accept,
    /// Possible but unusual: somebody confirms it, and the confirmation is kept.
    Confirm,
}

/// Why a typed refraction could not be taken.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RefractionError {
    /// A sphere without plus or minus.
    #[error("write the sign of the sphere, for example +2.00 or -2.00")]
    SignMissing,
    /// No number.
    #[error("write a power in dioptres, for example -2.25, or plano")]
    Unreadable,
    /// A cylinder turned nowhere.
    #[error("add the axis of the cylinder, from 1 to 180")]
    AxisMissing,
    /// A number outside what eyes and lenses have.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// Accepts inside the ordinary bounds and asks for confirmation outside them.
fn ordinary(value: f64, low: f64, high: f64) -> Check {
    if (low..=high).contains(&value) { Check::Accept } else { Check::Confirm }
}

/// Lens powers come in quarters, rarely in eighths, of which the third decimal is dropped.
fn stepped(power: f64) -> Check {
    let eighths = (power * 8.0).round() / 8.0;
    if (power - eighths).abs() <= 0.005 + 1e-9 { Check::Accept } else { Check::Confirm }
}

impl Check {
    /// The stricter of two.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        match (self, other) {
            (Self::Accept, Self::Accept) => Self::Accept,
            _ => Self::Confirm,
        }
    }
}

/// Which sphere was typed?
///
/// **Formula** a signed number, or plano. **Source** common practice: a sphere
/// without a sign is how signs get lost. **Range** −40 to +35 D.
///
/// ```
/// use farpoint::vision::refraction::check::{RefractionError, sphere_typed};
/// assert_eq!(sphere_typed("-2,25")?.get(), -2.25);
/// assert_eq!(sphere_typed("plano")?.get(), 0.0);
/// assert_eq!(sphere_typed("2.25"), Err(RefractionError::SignMissing));
/// # Ok::<(), RefractionError>(())
/// ```
///
/// # Errors
/// No sign and not zero, no number, or a number outside the range.
pub fn sphere_typed(text: &str) -> Result<Dioptres, RefractionError> {
    let plain = text.trim().to_lowercase().replace(['\u{2212}', '\u{2013}'], "-").replace(',', ".");
    let plain = plain.trim_end_matches('d').trim();
    if matches!(plain, "plano" | "pl" | "plan") {
        return Ok(Dioptres::literal(0.0));
    }
    let digits = plain.strip_prefix(['+', '-']).unwrap_or(plain).trim();
    let readable = !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    let size: f64 = digits.parse().ok().filter(|_| readable).ok_or(RefractionError::Unreadable)?;
    if size > 0.0 && plain.len() == digits.len() {
        return Err(RefractionError::SignMissing);
    }
    let value = if plain.starts_with('-') { -size } else { size };
    sphere(Dioptres::new(value)?)?;
    Ok(Dioptres::new(value)?)
}

/// Is this sphere ordinary?
///
/// **Formula** accept −20 to +20, confirm −40 to +35, refuse beyond; a value
/// off the eighths of a dioptre is confirmed. **Source**, common practice.
/// **Range** −40 to +35 D.
///
/// ```
/// use farpoint::vision::{refraction::check::{Check, sphere}, units::Dioptres};
/// assert_eq!(sphere(Dioptres::new(-22.0)?)?, Check::Confirm);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Beyond the range.
pub fn sphere(power: Dioptres) -> Result<Check, OutOfRange> {
    let power = within("sphere", "D", power.get(), -40.0..=35.0)?;
    Ok(ordinary(power, -20.0, 20.0).and(stepped(power)))
}

/// Is this cylinder ordinary?
///
/// **Formula** accept up to 6, confirm up to 10, refuse beyond, either sign.
/// **Source** common practice. **Range** −10 to +10 D.
///
/// ```
/// use farpoint::vision::{refraction::check::{Check, cylinder}, units::Dioptres};
/// assert_eq!(cylinder(Dioptres::new(-1.75)?)?, Check::Accept);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Beyond the range.
pub fn cylinder(power: Dioptres) -> Result<Check, OutOfRange> {
    let power = within("cylinder", "D", power.get(), -10.0..=10.0)?;
    Ok(ordinary(power, -6.0, 6.0).and(stepped(power)))
}

/// Is this near addition ordinary?
///
/// **Formula** accept +0.75 to +8, confirm up to +40 (low vision), refuse a
/// negative one. **Source** common practice. **Range** 0 to 40 D.
///
/// ```
/// use farpoint::vision::{refraction::check::{Check, add}, units::Dioptres};
/// assert_eq!(add(Dioptres::new(12.0)?)?, Check::Confirm);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Beyond the range.
pub fn add(power: Dioptres) -> Result<Check, OutOfRange> {
    let power = within("add", "D", power.get(), 0.0..=40.0)?;
    Ok(ordinary(power, 0.75, 8.0).and(stepped(power)))
}

/// Is this vertex distance ordinary?
///
/// **Formula** accept 8 to 16, confirm 4 to 20 mm, refuse beyond. **Source**
/// common practice. **Range** 4 to 20 mm.
///
/// ```
/// use farpoint::vision::{refraction::check::{Check, vertex}, units::Millimetres};
/// assert_eq!(vertex(Millimetres::new(12.0)?)?, Check::Accept);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Beyond the range.
pub fn vertex(distance: Millimetres) -> Result<Check, OutOfRange> {
    let mm = within("vertex distance", "mm", distance.get(), 4.0..=20.0)?;
    Ok(ordinary(mm, 8.0, 16.0))
}

/// Is this distance between the pupils ordinary?
///
/// **Formula** accept 42 to 75, confirm 36 to 80 mm, refuse beyond. **Source**
/// common practice. **Range** 36 to 80 mm.
///
/// ```
/// use farpoint::vision::{refraction::check::{Check, pupil_distance}, units::Millimetres};
/// assert_eq!(pupil_distance(Millimetres::new(40.0)?)?, Check::Confirm);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Beyond the range.
pub fn pupil_distance(distance: Millimetres) -> Result<Check, OutOfRange> {
    let mm = within("distance between the pupils", "mm", distance.get(), 36.0..=80.0)?;
    Ok(ordinary(mm, 42.0, 75.0))
}

/// A lens as typed: is it complete and ordinary?
///
/// **Formula** [`sphere`], [`cylinder`] and [`Axis::typed`] together. **Source**
/// common practice. **Range** as there; a cylinder needs an axis, and an axis
/// without a cylinder is dropped.
///
/// ```
/// use farpoint::vision::refraction::check::{Check, RefractionError, lens};
/// use farpoint::vision::units::{Degrees, Dioptres};
/// let (sphere, cylinder) = (Dioptres::new(-2.0)?, Dioptres::new(-1.0)?);
/// assert_eq!(lens(sphere, cylinder, None), Err(RefractionError::AxisMissing));
/// let (complete, check) = lens(sphere, cylinder, Some(Degrees::new(90.0)?))?;
/// assert_eq!((complete.axis.get(), check), (90.0, Check::Accept));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A part missing or outside its range.
pub fn lens(
    sphere_power: Dioptres,
    cylinder_power: Dioptres,
    axis: Option<Degrees>,
) -> Result<(Lens, Check), RefractionError> {
    let check = sphere(sphere_power)?.and(cylinder(cylinder_power)?);
    let axis = axis.map(Axis::typed).transpose()?;
    let none = cylinder_power.get().abs() < f64::MIN_POSITIVE;
    let axis = match axis {
        Some(axis) if !none => axis,
        None if !none => return Err(RefractionError::AxisMissing),
        _ => Axis::literal(180.0),
    };
    // Whole degrees are written; a finer axis was computed or mistyped.
    let whole = axis.get().fract().abs() < f64::EPSILON;
    let lens = Lens { sphere: sphere_power, cylinder: cylinder_power, axis };
    Ok((lens, if whole { check } else { Check::Confirm }))
}
