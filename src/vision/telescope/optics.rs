//! How does a telescope of these two lenses focus?
//!
//! Signs, stated once for all formulas here: light travels left to right; an
//! object u metres before the objective has vergence −1/u; M = −Fe/Fo is
//! positive for a Galilean and **negative for a Keplerian, even when prisms
//! turn the picture upright**. A negative exit vergence must be made good by
//! accommodation.
//!
//! Thin lenses in air; what is bought deviates by some per cent. Does not know
//! prisms, whose outside length is not the tube length used here.
//! Read next: [`super::near`] for the near end, [`super::focusing`] for an eye
//! without its glasses, [`super::field`] for the field.

use thiserror::Error;

use crate::vision::units::{Dioptres, Magnification, Metres, OutOfRange, above_zero, within};

/// Two thin lenses that form a telescope.
///
/// Galilean with a minus ocular, Keplerian with a plus one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Afocal {
    pub(super) objective: Dioptres,
    pub(super) ocular: Dioptres,
}

/// Why a telescope or a use of it cannot be computed.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum OpticsError {
    /// The objective must gather light.
    #[error("the objective must have plus power")]
    ObjectiveNotPlus,
    /// An ocular no stronger than the objective does not magnify.
    #[error("the ocular must be stronger than the objective, plus or minus")]
    OcularTooWeak,
    /// Nearer than the focal length of the objective no focus exists.
    #[error("the object lies inside the focal length of the objective, {focal}")]
    InsideFocalLength {
        /// That focal length.
        focal: Metres,
    },
    /// Without refocusing the picture falls on or behind the ocular.
    #[error("without refocusing there is no picture to look at: focus the telescope for this distance")]
    NoPicture,
    /// A refractive error as strong as the ocular.
    #[error("a refractive error this large cannot be focused out by this ocular")]
    ErrorTooLarge,
    /// The tube would have no length left.
    #[error("the tube would have to be shorter than nothing")]
    NoTube,
    /// A value outside the formula.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// The checked distance of an object before the objective.
pub(super) fn object(distance: Metres) -> Result<f64, OutOfRange> {
    within("distance from the objective", "m", distance.get(), above_zero(100_000.0))
}

/// A telescope focused for one distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Focused {
    /// The tube length for that distance.
    pub tube: Metres,
    /// How much longer than for far away.
    pub extension: Metres,
    /// Power compared with an eye at the objective; larger than the far power.
    pub power_at_objective: Magnification,
    /// Power compared with an eye at the ocular.
    pub power_at_ocular: Magnification,
    /// Equivalent power, as for a magnifier.
    pub equivalent: Dioptres,
}

/// Light leaving a telescope that was not refocused.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExitVergence {
    /// The exact vergence at the ocular.
    pub exact: Dioptres,
    /// The usual approximation M²U: too much for a Galilean, too little for a Keplerian.
    pub approximate: Dioptres,
}

/// A telescope focused for an uncorrected eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ForAmetropia {
    /// The signed power after focusing.
    pub signed_power: f64,
    /// The tube length after focusing.
    pub tube: Metres,
    /// How much longer (or, negative, shorter) than for a corrected eye.
    pub change: Metres,
}

impl Afocal {
    /// Which telescope do an objective and an ocular of these powers form?
    ///
    /// **Formula** Fo > 0 and |Fe| > Fo. **Source** definition. **Range** 0.5
    /// to 100 D and up to 500 D.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::Dioptres};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// assert_eq!(keplerian.signed_power(), -8.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// Lenses that form no telescope.
    pub fn new(objective: Dioptres, ocular: Dioptres) -> Result<Self, OpticsError> {
        let (fo, fe) = (objective.get(), ocular.get());
        if fo <= 0.0 {
            return Err(OpticsError::ObjectiveNotPlus);
        }
        within("objective", "D", fo, 0.5..=100.0)?;
        within("ocular", "D", fe, -500.0..=500.0)?;
        if fe.abs() <= fo {
            return Err(OpticsError::OcularTooWeak);
        }
        Ok(Self { objective, ocular })
    }

    /// How strong is it, and of which kind?
    ///
    /// **Formula** M = −Fe/Fo, positive for a Galilean, negative for a
    /// Keplerian. **Source** Smith, Modern Optical Engineering, eq. 13.4
    /// (seen). **Range** any telescope.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::Dioptres};
    /// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
    /// assert_eq!(galilean.signed_power(), 2.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn signed_power(self) -> f64 {
        -self.ocular.get() / self.objective.get()
    }

    /// How long is its tube, focused for far away?
    ///
    /// **Formula** L = fo + fe, fe negative for a Galilean. **Source** Smith,
    /// Modern Optical Engineering, eq. 13.1 (seen). **Range** any telescope;
    /// prisms make the outside shorter than this.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::Dioptres};
    /// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
    /// assert_eq!(galilean.tube_length()?.get(), 0.05);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// None for lenses that form a telescope.
    pub fn tube_length(self) -> Result<Metres, OutOfRange> {
        Metres::new(1.0 / self.objective.get() + 1.0 / self.ocular.get())
    }

    /// How wide is the light that leaves it?
    ///
    /// **Formula** Do/|M|. **Source** Schwartz ch. 12 (seen). **Range**
    /// objective 1 mm to 20 cm.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// assert_eq!(keplerian.exit_pupil(Metres::new(0.02)?)?.get(), 0.0025);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// An objective outside the range.
    pub fn exit_pupil(self, objective: Metres) -> Result<Metres, OutOfRange> {
        let diameter = within("objective", "m", objective.get(), 0.001..=0.2)?;
        Metres::new(diameter / self.signed_power().abs())
    }

    /// Where is the exit pupil, behind the ocular?
    ///
    /// **Formula** −L/M. **Source** derived; agrees with Smith's example
    /// (seen). **Range** all; negative lies inside the tube, as in every
    /// Galilean.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::Dioptres};
    /// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
    /// assert_eq!(galilean.exit_pupil_position()?.get(), -0.025);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// None for lenses that form a telescope.
    pub fn exit_pupil_position(self) -> Result<Metres, OutOfRange> {
        Metres::new(-self.tube_length()?.get() / self.signed_power())
    }

    /// What happens when it is focused for this distance?
    ///
    /// **Formula** F′ = Fo − 1/u; tube 1/F′ + fe; power Fe/F′ at the objective,
    /// × (u + tube)/u at the ocular; equivalent power |Fe/F′|/u. **Source**
    /// derived and ray-traced. **Range** u beyond the focal length of the
    /// objective.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let near = keplerian.focused_for(Metres::new(0.5)?)?;
    /// assert!((near.power_at_objective.get() - 10.67).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// An object inside the focal length.
    pub fn focused_for(self, distance: Metres) -> Result<Focused, OpticsError> {
        let u = object(distance)?;
        let (fo, fe) = (self.objective.get(), self.ocular.get());
        let left = fo - 1.0 / u;
        if left <= 0.0 {
            return Err(OpticsError::InsideFocalLength { focal: Metres::new(1.0 / fo)? });
        }
        let tube = 1.0 / left + 1.0 / fe;
        if tube <= 0.0 {
            return Err(OpticsError::NoTube);
        }
        let power = fe.abs() / left;
        Ok(Focused {
            tube: Metres::new(tube)?,
            extension: Metres::new(1.0 / left - 1.0 / fo)?,
            power_at_objective: Magnification::new(power)?,
            power_at_ocular: Magnification::new(power * (u + tube) / u)?,
            equivalent: Dioptres::new(power / u)?,
        })
    }

    /// How wide and how far behind the ocular is the exit pupil when focused near?
    ///
    /// **Formula** Do/M′ and L′/M′ with the power and the tube of
    /// [`Afocal::focused_for`]; the second is negative for a Galilean.
    /// **Source** derived and ray-traced. **Range** as there.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let (wide, behind) = keplerian.exit_pupil_focused_for(
    ///     Metres::new(0.02)?, Metres::new(1.0)?)?;
    /// assert_eq!(wide.get(), 0.0021875);
    /// assert!((behind.get() - 0.01733).abs() < 1e-5);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Afocal::focused_for`], or an objective outside 1 mm to 20 cm.
    pub fn exit_pupil_focused_for(self, objective: Metres, distance: Metres) -> Result<(Metres, Metres), OpticsError> {
        let diameter = within("objective", "m", objective.get(), 0.001..=0.2)?;
        let near = self.focused_for(distance)?;
        let power = near.power_at_objective.get();
        let position = (near.tube.get() / power).copysign(self.ocular.get());
        Ok((Metres::new(diameter / power)?, Metres::new(position)?))
    }

    /// How much must the eye accommodate if it is not refocused?
    ///
    /// **Formula** U′ = M²U/(1 − M L U), signed M, U = −1/u; accommodation at
    /// the ocular −U′. **Source** derived and ray-traced (vergence
    /// amplification, Freid 1977, from memory). **Range** pictures that can be
    /// looked at: 1 − M L U above zero.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let keplerian = Afocal::new(Dioptres::new(8.0)?, Dioptres::new(64.0)?)?;
    /// let unfocused = keplerian.exit_vergence(Metres::new(6.0)?)?;
    /// assert!((unfocused.exact.get() + 13.13).abs() < 0.01);
    /// assert!((unfocused.approximate.get() + 10.67).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// [`OpticsError::NoPicture`] when the picture falls on or behind the ocular.
    pub fn exit_vergence(self, distance: Metres) -> Result<ExitVergence, OpticsError> {
        let vergence = -1.0 / object(distance)?;
        let power = self.signed_power();
        let approximate = power * power * vergence;
        let factor = 1.0 - power * self.tube_length()?.get() * vergence;
        if factor <= 0.0 {
            return Err(OpticsError::NoPicture);
        }
        Ok(ExitVergence { exact: Dioptres::new(approximate / factor)?, approximate: Dioptres::new(approximate)? })
    }

    /// What is that vergence where the eye is, behind the ocular?
    ///
    /// **Formula** U′/(1 − e U′). **Source** propagation of vergence (derived).
    /// **Range** eye 0 to 10 cm behind the ocular.
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::{Dioptres, Metres}};
    /// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
    /// let at_eye = galilean.vergence_at_eye(Metres::new(0.4)?, Metres::new(0.015)?)?;
    /// assert!((at_eye.get() + 7.14).abs() < 0.01);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// As [`Afocal::exit_vergence`], or an eye outside the range.
    pub fn vergence_at_eye(self, distance: Metres, eye: Metres) -> Result<Dioptres, OpticsError> {
        let e = within("eye behind the ocular", "m", eye.get(), 0.0..=0.1)?;
        let leaving = self.exit_vergence(distance)?.exact.get();
        Ok(Dioptres::new(leaving / (1.0 - e * leaving))?)
    }

    /// How must it be focused for an eye without its glasses?
    ///
    /// **Formula** Fe′ = Fe − K; tube fo + 1/Fe′; power −Fe′/Fo; K the
    /// correction at the ocular, minus for myopes. **Source** Schwartz ch. 12,
    /// two worked examples (seen). **Range** |K| up to 40 D and less than the
    /// ocular lends. Tube length cannot correct cylinder: above about 1.5 D
    /// keep the glasses on (common practice).
    ///
    /// ```
    /// use farpoint::vision::{telescope::optics::Afocal, units::Dioptres};
    /// let keplerian = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(50.0)?)?;
    /// let myope = keplerian.for_ametropia(Dioptres::new(-10.0)?)?;
    /// assert_eq!(myope.signed_power, -6.0);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// An error as strong as the ocular, or a tube of no length.
    pub fn for_ametropia(self, correction: Dioptres) -> Result<ForAmetropia, OpticsError> {
        let k = within("refractive error", "D", correction.get(), -40.0..=40.0)?;
        let (fo, fe) = (self.objective.get(), self.ocular.get());
        let left = fe - k;
        // A change of sign would make it the other kind of telescope.
        if left * fe <= 0.0 {
            return Err(OpticsError::ErrorTooLarge);
        }
        let tube = 1.0 / fo + 1.0 / left;
        if tube <= 0.0 {
            return Err(OpticsError::NoTube);
        }
        Ok(ForAmetropia {
            signed_power: -left / fo,
            tube: Metres::new(tube)?,
            change: Metres::new(tube - self.tube_length()?.get())?,
        })
    }
}
