//! Can a telescope be focused for this eye without its glasses, from this seat?
//!
//! A board is nearer than far away, so the tube must be longer for it; an eye
//! that needs a minus lens wants it shorter, one that needs a plus lens longer
//! still. Cylinder stays, whatever the tube does. By its lenses a telescope is
//! answered for exactly; a label names no lenses, so [`by_label`] tries the
//! kinds and sizes that are held in a hand and says when they disagree.
//!
//! Thin lenses in air, signs as in [`super::optics`]. Does not know whether the
//! glasses stay on: then there is nothing to focus out.

use super::magnifying;
use super::optics::{Afocal, OpticsError, object};
use crate::vision::units::{Dioptres, Magnification, Metres, OutOfRange, within};

/// Cylinder above this is too much blur to leave: the glasses stay on. Common
/// practice.
pub const CYLINDER_TO_LEAVE: Dioptres = Dioptres::literal(1.5);

/// Objectives of telescopes that are held in a hand have focal lengths between
/// these. From memory.
const OBJECTIVES: [f64; 2] = [0.05, 0.2];

/// The strongest correction that is asked about.
const STRONGEST: f64 = 30.0;

/// A telescope focused for a distance and an eye without its glasses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForEye {
    /// The tube length.
    pub tube: Metres,
    /// How much longer than for far away and an eye that needs no lens;
    /// negative is shorter.
    pub extension: Metres,
    /// The signed power, compared with an eye at the objective.
    pub signed_power: f64,
}

impl Afocal {
    /// How must it be focused for this distance and an eye without its glasses?
    ///
    /// **Formula** F′ = Fo − 1/u, Fe′ = Fe − K; tube 1/F′ + 1/Fe′; power −Fe′/F′.
    /// K is the correction at the ocular, minus for myopes. **Source** [`Afocal::focused_for`]
    /// and [`Afocal::for_ametropia`] together (derived), checked by a trace.
    /// **Range** as theirs.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let set = keplerian.focused_for_eye(Metres::new(3.0)?, Dioptres::new(-6.0)?)?;
    /// // 5.43 mm longer for 3 m, 1.34 mm shorter for the eye.
    /// assert!((set.extension.get() - 0.004_095).abs() < 1e-6);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Afocal::focused_for`] and [`Afocal::for_ametropia`].
    pub fn focused_for_eye(self, distance: Metres, correction: Dioptres) -> Result<ForEye, OpticsError> {
        let far = self.tube_length()?;
        let near = self.focused_for(distance)?.extension;
        let eye = self.for_ametropia(correction)?.change;
        let tube = Metres::new(far.get() + near.get() + eye.get())?;
        if tube.get() <= 0.0 {
            return Err(OpticsError::NoTube);
        }
        let gathered = self.objective.get() - 1.0 / object(distance)?;
        let lent = self.ocular.get() - correction.get();
        Ok(ForEye { tube, extension: near + eye, signed_power: -lent / gathered })
    }
}

/// What the tube of a telescope has to do that is known by its label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Travel {
    /// Between far away and its nearest focus, whatever its lenses.
    Enough,
    /// Longer than at its nearest focus, whatever its lenses.
    TooLong,
    /// Shorter than for far away, which no label promises.
    TooShort,
    /// It depends on lenses that the label does not name.
    ByItsLenses,
    /// Long, and how long it can be is not known: its nearest focus is not stated.
    NotStated,
}

/// Has the tube the travel for this distance and this eye, going by the label?
///
/// **Formula** the extension of [`Afocal::focused_for_eye`], with u and K,
/// must lie between none and that for the nearest focus with K = 0; tried as
/// Keplerian and as Galilean with objectives of 5 and 20 cm focal length.
/// **Source** thin lenses (derived); the focal lengths are from memory.
/// **Range** power above 1 up to 20, distance and nearest focus above 20 cm, K
/// up to 30 D. `Enough` holds for every focal length between the two, unless the
/// distance is itself nearer than the nearest focus.
///
/// ```
/// use farpoint::vision::telescope::focusing::{Travel, by_label};
/// use farpoint::vision::units::{Dioptres, Magnification, Metres};
/// let (eight, board) = (Magnification::new(8.0)?, Metres::new(4.0)?);
/// let myope = by_label(eight, Some(Metres::new(1.0)?), board, Dioptres::new(-6.0)?)?;
/// assert_eq!(myope, Travel::Enough);
/// // 4 times at 4 m: the board asks for about 4 D, and this eye takes 6 D away.
/// let strong = by_label(Magnification::new(4.0)?, None, board, Dioptres::new(-6.0)?)?;
/// assert_eq!(strong, Travel::TooShort);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn by_label(
    power: Magnification,
    nearest: Option<Metres>,
    distance: Metres,
    correction: Dioptres,
) -> Result<Travel, OpticsError> {
    let above = (std::ops::Bound::Excluded(1.0), std::ops::Bound::Included(20.0));
    let m = within("power", "×", magnifying(power)?, above)?;
    let beyond = (std::ops::Bound::Excluded(OBJECTIVES[1]), std::ops::Bound::Included(100_000.0));
    let u = Metres::new(within("distance", "m", distance.get(), beyond)?)?;
    let nearest = nearest.map(|near| Metres::new(within("nearest focus", "m", near.get(), beyond)?)).transpose()?;
    let k = Dioptres::new(within("refractive error", "D", correction.get(), -STRONGEST..=STRONGEST)?)?;
    let mut found = None;
    for focal in OBJECTIVES {
        for sign in [1.0, -1.0] {
            let lenses = (Dioptres::new(1.0 / focal)?, Dioptres::new(sign * m / focal)?);
            let travel = of_lenses(lenses, nearest, u, k)?;
            if found.is_some_and(|before| before != travel) {
                return Ok(Travel::ByItsLenses);
            }
            found = Some(travel);
        }
    }
    Ok(found.unwrap_or(Travel::ByItsLenses))
}

/// The same for one pair of lenses.
fn of_lenses(
    (front, back): (Dioptres, Dioptres),
    nearest: Option<Metres>,
    distance: Metres,
    correction: Dioptres,
) -> Result<Travel, OpticsError> {
    let device = Afocal::new(front, back)?;
    let set = match device.focused_for_eye(distance, correction) {
        Ok(set) => set,
        // A lens that no tube of this length makes up for.
        Err(OpticsError::ErrorTooLarge | OpticsError::NoTube) if correction.get() < 0.0 => return Ok(Travel::TooShort),
        Err(OpticsError::ErrorTooLarge | OpticsError::NoTube) => return Ok(Travel::TooLong),
        Err(other) => return Err(other),
    };
    if set.extension.get() < 0.0 {
        return Ok(Travel::TooShort);
    }
    let Some(nearest) = nearest else { return Ok(Travel::NotStated) };
    let longest = device.focused_for(nearest)?.extension;
    Ok(if set.extension <= longest { Travel::Enough } else { Travel::TooLong })
}

/// How much would the eye have to make up if it were left focused far away?
///
/// **Formula** M²/u, the usual approximation: a Keplerian asks for more, a
/// Galilean for less; see [`Afocal::exit_vergence`]. **Source** vergence
/// amplification, Freid 1977 (from memory). **Range** power 1 or more, distance
/// more than nothing.
///
/// ```
/// use farpoint::vision::{telescope::focusing::left_far, units::{Magnification, Metres}};
/// assert_eq!(left_far(Magnification::new(6.0)?, Metres::new(4.0)?)?.get(), 9.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn left_far(power: Magnification, distance: Metres) -> Result<Dioptres, OutOfRange> {
    Dioptres::new(magnifying(power)?.powi(2) / object(distance)?)
}
