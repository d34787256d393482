//! How near does a telescope work, by its travel or with a reading cap?
//!
//! Does not know the page; print sizes are in [`crate::vision::acuity::near`].
//! Read next: [`super::optics`] for focusing in between.

use crate::vision::units::{Dioptres, Magnification, Metres, OutOfRange, above_zero, within};

/// How near can it be focused with this much travel?
///
/// **Formula** u = fo + fo²/ΔL. **Source** derived. **Range** focal length 1 cm
/// to 2 m, travel more than nothing, up to half a metre.
///
/// ```
/// use farpoint::vision::{telescope::near::nearest_focus, units::Metres};
/// let nearest = nearest_focus(Metres::new(0.125)?, Metres::new(0.01)?)?;
/// assert_eq!(nearest.get(), 1.6875);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn nearest_focus(objective_focal: Metres, travel: Metres) -> Result<Metres, OutOfRange> {
    let fo = within("focal length of the objective", "m", objective_focal.get(), 0.01..=2.0)?;
    let travel = within("travel of the tube", "m", travel.get(), above_zero(0.5))?;
    Metres::new(fo + fo * fo / travel)
}

/// A telescope with a reading cap on its front.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Capped {
    /// Equivalent power.
    pub equivalent: Dioptres,
    /// From the cap to the page.
    pub working_distance: Metres,
    /// Equivalent viewing distance.
    pub viewing_distance: Metres,
}

/// What does a reading cap make of a telescope?
///
/// **Formula** equivalent power |M| Fc, working distance 1/Fc, equivalent
/// viewing distance 1/(|M| Fc). **Source** derived and ray-traced. A cap keeps
/// the power; focusing by the tube raises it. **Range** power 1 or more, cap
/// 0.25 to 40 D.
///
/// ```
/// use farpoint::vision::telescope::near::reading_cap;
/// use farpoint::vision::units::{Dioptres, Magnification};
/// let capped = reading_cap(Magnification::new(2.0)?, Dioptres::new(2.5)?)?;
/// assert_eq!((capped.equivalent.get(), capped.working_distance.get()), (5.0, 0.4));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn reading_cap(power: Magnification, cap: Dioptres) -> Result<Capped, OutOfRange> {
    let m = within("power", "×", power.get(), 1.0..=100.0)?;
    let fc = within("reading cap", "D", cap.get(), 0.25..=40.0)?;
    let equivalent = Dioptres::new(m * fc)?;
    Ok(Capped { equivalent, working_distance: cap.focal_length()?, viewing_distance: equivalent.focal_length()? })
}
