//! How is a telescope focused for this eye without its glasses, from this seat?
//!
//! A board is nearer than far away, so the tube must be longer for it; an eye
//! that needs a minus lens wants it shorter, one that needs a plus lens longer
//! still. Cylinder stays, whatever the tube does. Here the lenses are known;
//! what a label alone says of the travel is [`super::near::reach`].
//!
//! Thin lenses in air, signs as in [`super::optics`]. Does not know whether the
//! glasses stay on: then there is nothing to focus out.
//! Read next: [`super::field`].

use super::magnifying;
use super::optics::{Afocal, OpticsError, object};
use crate::vision::units::{Dioptres, Magnification, Metres, OutOfRange};

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
