//! What does a power that would be needed, or a thin contrast, mean in practice?
//!
//! Powers come in steps, hands shake, and no power mends faint ink. Does not
//! rank what else could be done; a nearer chair comes first.
//! Read next: [`crate::vision::readable`].

use super::{OutOfRange, Ratio, within};
use crate::vision::contrast::{FAINT_TARGET, Weber};
use crate::vision::units::Magnification;

/// What a needed power comes to with the telescopes there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// The writing is large enough: no device.
    NoDevice,
    /// The weakest of the telescopes that does it.
    Stocked(Magnification),
    /// None of the telescopes is strong enough.
    NoneStrongEnough,
    /// More than a hand holds still: a camera or a nearer seat instead.
    NotHandHeld,
}

/// The strongest power for the hand. Common practice.
const STRONGEST_BY_HAND: f64 = 10.0;

/// Which of these telescopes gives the power that is needed?
///
/// **Formula** the weakest M ≥ P; none for P ≤ 1; above 10 not by hand.
/// **Source** common practice: stronger than needed costs field. **Range**
/// telescopes of 1 or more; an empty list has none strong enough.
///
/// ```
/// use farpoint::vision::{reserve::advice::{Step, stocked_power}, units::{Magnification, Ratio}};
/// let kit = [8.0, 4.0, 6.0].map(Magnification::literal);
/// assert_eq!(stocked_power(Ratio::new(4.3)?, &kit)?, Step::Stocked(Magnification::new(6.0)?));
/// assert_eq!(stocked_power(Ratio::new(12.0)?, &kit)?, Step::NotHandHeld);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A telescope of less than 1.
pub fn stocked_power(needed: Ratio, stocked: &[Magnification]) -> Result<Step, OutOfRange> {
    for power in stocked {
        within("power", "×", power.get(), 1.0..=100.0)?;
    }
    let enough = |power: &&Magnification| power.get() >= needed.get() * (1.0 - 1e-9);
    Ok(match needed.get() {
        p if p <= 1.0 => Step::NoDevice,
        p if p > STRONGEST_BY_HAND => Step::NotHandHeld,
        _ => stocked.iter().filter(enough).min().map_or(Step::NoneStrongEnough, |power| Step::Stocked(*power)),
    })
}

/// Why a contrast deserves a warning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ThinContrast {
    /// The target itself is faint, for anybody.
    FaintTarget,
    /// A contrast reserve under 4: magnification will not rescue it.
    MendItFirst,
    /// A contrast reserve under 10 while the letters are hardly large enough.
    WithSmallLetters,
}

/// Does the contrast call for a warning, whatever the size?
///
/// **Formula** target below 0.3; reserve below 4; or reserve below 10 with an
/// acuity reserve below 3; the first that holds. **Source** below 10 reading
/// slows, below 4 it suffers badly (Whittaker and Lovie-Kitchin 1994, abstract
/// seen); 0.3 and 3 are common practice. **Range** any reserves; `None` when
/// there is nothing to warn of.
///
/// ```
/// use farpoint::vision::{contrast::Weber, reserve::advice::{ThinContrast, thin_contrast}};
/// use farpoint::vision::units::Ratio;
/// let warned = thin_contrast(Weber::new(0.6)?, Ratio::new(8.0)?, Ratio::new(2.0)?);
/// assert_eq!(warned, Some(ThinContrast::WithSmallLetters));
/// assert_eq!(thin_contrast(Weber::new(0.9)?, Ratio::new(12.0)?, Ratio::new(2.0)?), None);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn thin_contrast(target: Weber, contrast_reserve: Ratio, acuity_reserve: Ratio) -> Option<ThinContrast> {
    if target < FAINT_TARGET {
        return Some(ThinContrast::FaintTarget);
    }
    match contrast_reserve.get() {
        reserve if reserve < 4.0 => Some(ThinContrast::MendItFirst),
        reserve if reserve < 10.0 && acuity_reserve.get() < 3.0 => Some(ThinContrast::WithSmallLetters),
        _ => None,
    }
}
