//! How wide a field do these lenses and diaphragms show?
//!
//! For telescopes whose design is known. Each field has three edges: up to
//! where the picture has full light, where the central ray passes, and where
//! the last light dies. Half angles in object space, thin lenses, derived and
//! ray-traced; real fields differ by a few per cent.
//!
//! Does not know labels; see [`super::field_width`] for a field in degrees.

use super::optics::{Afocal, OpticsError};
use crate::vision::units::{Degrees, Metres, OutOfRange, above_zero, within};

/// The three edges of a field, as half angles.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HalfField {
    /// Up to here the picture has full light; none if it never has.
    pub full_light: Option<Degrees>,
    /// Up to here the central ray passes.
    pub central_ray: Degrees,
    /// Beyond this nothing is seen.
    pub last_light: Degrees,
}

fn half_angle(tangent: f64) -> Result<Degrees, OutOfRange> {
    Degrees::new(tangent.atan().to_degrees())
}

fn lens(words: &'static str, diameter: Metres) -> Result<f64, OutOfRange> {
    within(words, "m", diameter.get(), above_zero(0.2))
}

impl Afocal {
    /// How wide is the field of a Galilean, limited by its objective?
    ///
    /// **Formula** tan = X/(M(e + L/M)), X = Do/2M − p/2, Do/2M, Do/2M + p/2.
    /// **Source** derived and ray-traced. **Range** Galilean only, eye 0 to 10
    /// cm behind the ocular, pupil 1 to 10 mm.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
    /// let field = galilean.galilean_field(
    ///     Metres::new(0.022)?, Metres::new(0.012)?, Metres::new(0.004)?)?;
    /// assert!((field.central_ray.get() - 4.25).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A Keplerian, or values outside the range.
    pub fn galilean_field(
        self,
        objective: Metres,
        eye_behind_ocular: Metres,
        eye_pupil: Metres,
    ) -> Result<HalfField, OpticsError> {
        let m = within("signed power of a Galilean", "×", self.signed_power(), above_zero(1e3))?;
        let diameter = lens("objective", objective)?;
        let e = within("eye behind the ocular", "m", eye_behind_ocular.get(), 0.0..=0.1)?;
        let p = within("eye pupil", "m", eye_pupil.get(), 0.001..=0.01)?;
        let lever = m * (e + self.tube_length()?.get() / m);
        let rim = diameter / (2.0 * m);
        let full = (rim - p / 2.0) / lever;
        Ok(HalfField {
            full_light: (full > 0.0).then(|| half_angle(full)).transpose()?,
            central_ray: half_angle(rim / lever)?,
            last_light: half_angle((rim + p / 2.0) / lever)?,
        })
    }

    /// How wide is the field of a Keplerian, limited by the rim of its ocular?
    ///
    /// **Formula** tan = (Re fo − Ro fe)/(L fo), Re/L, (Re fo + Ro fe)/(L fo).
    /// **Source** derived and ray-traced; the second agrees with Smith's
    /// example 13.1 (seen). **Range** Keplerian only.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let field = keplerian.keplerian_field(Metres::new(0.02)?, Metres::new(0.012)?)?;
    /// assert!((field.central_ray.get() - 2.44).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A Galilean, or values outside the range.
    pub fn keplerian_field(self, objective: Metres, ocular: Metres) -> Result<HalfField, OpticsError> {
        let m = within("power of a Keplerian", "×", -self.signed_power(), above_zero(1e3))?;
        let front = lens("objective", objective)? / 2.0;
        let back = lens("ocular", ocular)? / 2.0;
        let tube = self.tube_length()?.get();
        // fe/fo is 1/M.
        let full = (back - front / m) / tube;
        Ok(HalfField {
            full_light: (full > 0.0).then(|| half_angle(full)).transpose()?,
            central_ray: half_angle(back / tube)?,
            last_light: half_angle((back + front / m) / tube)?,
        })
    }

    /// How wide is the field of a Keplerian with a field stop: true, apparent?
    ///
    /// **Formula** 2 atan(s/2fo) and 2 atan(s/2fe). **Source** derived.
    /// **Range** Keplerian only, a stop of up to 20 cm.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let (seen, looks) = keplerian.field_through_stop(Metres::new(0.0165)?)?;
    /// assert!((seen.get() - 7.55).abs() < 0.01 && (looks.get() - 55.67).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A Galilean has no place for a stop.
    pub fn field_through_stop(self, stop: Metres) -> Result<(Degrees, Degrees), OpticsError> {
        let m = within("power of a Keplerian", "×", -self.signed_power(), above_zero(1e3))?;
        let diameter = lens("field stop", stop)?;
        // fo + fe is the tube and fo is M fe.
        let focal = self.tube_length()?.get() * m / (1.0 + m);
        let seen = 2.0 * (diameter / (2.0 * focal)).atan();
        let looks = 2.0 * (diameter * m / (2.0 * focal)).atan();
        Ok((Degrees::new(seen.to_degrees())?, Degrees::new(looks.to_degrees())?))
    }
}

/// The apparent field left when glasses keep the eye away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ApparentHalfField {
    /// To where the centre of the pupil gets light.
    pub pupil_centre: Degrees,
    /// To where any of the pupil gets light.
    pub last_light: Degrees,
}

/// How much of the picture is left when the eye is behind the exit pupil?
///
/// **Formula** half angles atan(EP/2δ) and atan((EP + p)/2δ), δ the distance
/// behind the exit pupil. **Source** ray geometry (derived). **Range** exit
/// pupil up to 2 cm, pupil 1 to 10 mm, δ more than nothing, up to 10 cm; at the
/// exit pupil itself nothing is lost.
///
/// ```
/// use farpoint::vision::{telescope::field::left_behind_exit_pupil, units::Metres};
/// let with_glasses = left_behind_exit_pupil(
///     Metres::new(0.0025)?, Metres::new(0.003)?, Metres::new(0.012)?)?;
/// assert!((with_glasses.pupil_centre.get() - 5.95).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn left_behind_exit_pupil(
    exit_pupil: Metres,
    eye_pupil: Metres,
    behind: Metres,
) -> Result<ApparentHalfField, OutOfRange> {
    let ep = within("exit pupil", "m", exit_pupil.get(), above_zero(0.02))?;
    let p = within("eye pupil", "m", eye_pupil.get(), 0.001..=0.01)?;
    let delta = within("eye behind the exit pupil", "m", behind.get(), above_zero(0.1))?;
    Ok(ApparentHalfField {
        pupil_centre: half_angle(ep / (2.0 * delta))?,
        last_light: half_angle((ep + p) / (2.0 * delta))?,
    })
}
