//! What does a telescope show, judged by the figures on its label?
//!
//! A loan kit gives power, objective and field: "8 × 20, 7°". Exit pupil,
//! field at the board, light and a promise of acuity follow from these three.
//!
//! Here power is the trade's number without a sign. The signed power of the
//! two kinds matters for focusing only, and is stated once, in [`optics`].
//! Does not know the student's hand. Read next: [`optics`] for lenses,
//! [`focusing`] for an eye without its glasses, [`field`] for fields by design,
//! [`coverage`] for how many looks a board takes, [`sweep`] for where they go.

use thiserror::Error;

use super::acuity::LogMar;
use super::demand::sight_distance;
use super::units::{Degrees, Fraction, Magnification, Metres, Millimetres, OutOfRange, Ratio, above_zero, within};

pub mod coverage;
pub mod field;
pub mod focusing;
pub mod near;
pub mod optics;
pub mod outline;
pub mod sweep;

/// How wide a cylinder of light leaves the ocular?
///
/// **Formula** objective / power. **Source** Schwartz, Geometrical and Visual
/// Optics, ch. 12 (seen). **Range** objective 1 to 200 mm, power 1 or more.
///
/// ```
/// use farpoint::vision::{telescope::exit_pupil, units::{Magnification, Millimetres}};
/// assert_eq!(exit_pupil(Millimetres::new(20.0)?, Magnification::new(8.0)?)?.get(), 2.5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn exit_pupil(objective: Millimetres, power: Magnification) -> Result<Millimetres, OutOfRange> {
    let diameter = within("objective", "mm", objective.get(), 1.0..=200.0)?;
    Millimetres::new(diameter / magnifying(power)?)
}

/// The checked power of a telescope: less than 1 is no telescope.
fn magnifying(power: Magnification) -> Result<f64, OutOfRange> {
    within("power", "×", power.get(), 1.0..=100.0)
}

/// The checked true field of a telescope.
fn true_field(field: Degrees) -> Result<f64, OutOfRange> {
    within("true field", "degrees", field.get(), above_zero(90.0))
}

/// How wide the picture looks in the ocular.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ApparentField {
    /// By the tangent rule, the modern standard's.
    pub by_tangent: Degrees,
    /// Power times field, as labels often say; too much for wide fields.
    pub simple: Degrees,
}

/// How wide does the picture in the ocular look?
///
/// **Formula** tan(a/2) = M tan(t/2); simple a = M t. **Source** the tangent
/// rule is derived; that the standard for telescopes uses it is from memory
/// (ISO 14132-1). **Range** power 1 or more, true field up to 90°, simple
/// apparent field up to 360°.
///
/// ```
/// use farpoint::vision::{telescope::apparent_field, units::{Degrees, Magnification}};
/// let seen = apparent_field(Magnification::new(8.0)?, Degrees::new(7.5)?)?;
/// assert!((seen.by_tangent.get() - 55.34).abs() < 0.01);
/// assert_eq!(seen.simple.get(), 60.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn apparent_field(power: Magnification, field: Degrees) -> Result<ApparentField, OutOfRange> {
    let (m, t) = (magnifying(power)?, true_field(field)?);
    let half = (m * (t / 2.0).to_radians().tan()).atan();
    Ok(ApparentField { by_tangent: Degrees::new((2.0 * half).to_degrees())?, simple: Degrees::new(m * t)? })
}

/// How wide a part of the scene is seen at once at this distance?
///
/// **Formula** 2 d tan(t/2). **Source** geometry (derived); the trade's 17.5 m
/// at 1000 m per degree is 0.3 % high. **Range** true field up to 90°.
///
/// ```
/// use farpoint::vision::{telescope::field_width, units::{Degrees, Metres}};
/// let width = field_width(Degrees::new(7.0)?, Metres::new(6.0)?)?;
/// assert!((width.get() - 0.734).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn field_width(field: Degrees, distance: Metres) -> Result<Metres, OutOfRange> {
    let (t, d) = (true_field(field)?, sight_distance(distance)?);
    Metres::new(2.0 * d * (t / 2.0).to_radians().tan())
}

/// A label that gives the field as a width far away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FarWidth {
    /// Metres at 1000 m.
    MetresAt1000Metres,
    /// Feet at 1000 yards.
    FeetAt1000Yards,
}

impl FarWidth {
    /// The distance in the unit of the width.
    const fn distance(self) -> f64 {
        match self {
            Self::MetresAt1000Metres => 1_000.0,
            Self::FeetAt1000Yards => 3_000.0,
        }
    }

    /// Which width would this field have on such a label?
    ///
    /// **Formula** 2 d tan(t/2), d the distance of the label. **Source**
    /// geometry (derived). **Range** true field up to 90°.
    ///
    /// ```
    /// use farpoint::vision::{telescope::FarWidth, units::Degrees};
    /// let feet = FarWidth::FeetAt1000Yards.of(Degrees::new(8.0)?)?;
    /// assert!((feet - 419.56).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A field outside the range.
    pub fn of(self, field: Degrees) -> Result<f64, OutOfRange> {
        Ok(2.0 * self.distance() * (true_field(field)? / 2.0).to_radians().tan())
    }

    /// Which true field is a width on such a label?
    ///
    /// **Formula** t = 2 atan(w/2d). **Source** geometry (derived). **Range**
    /// more than nothing, up to twice the distance. A label of "7 m" is a
    /// width, never 7°.
    ///
    /// ```
    /// use farpoint::vision::telescope::FarWidth;
    /// let field = FarWidth::MetresAt1000Metres.true_field(131.0)?;
    /// assert!((field.get() - 7.495).abs() < 0.001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A width outside the range.
    pub fn true_field(self, width: f64) -> Result<Degrees, OutOfRange> {
        let unit = match self {
            Self::MetresAt1000Metres => "m",
            Self::FeetAt1000Yards => "ft",
        };
        within("field width", unit, width, above_zero(2.0 * self.distance()))?;
        Degrees::new((2.0 * (width / (2.0 * self.distance())).atan()).to_degrees())
    }
}

/// How bright does an extended scene look through it, compared with the bare eye?
///
/// **Formula** T · min(1, (exit pupil / eye pupil)²). **Source** geometry of
/// pupils (derived); transmittance of coated optics 0.80 to 0.95 (common
/// practice). A telescope never brightens a scene. **Range** pupils 0.1 to 50
/// and 1 to 10 mm, some transmittance.
///
/// ```
/// use farpoint::vision::{telescope::brightness, units::{Fraction, Millimetres}};
/// let dimmed = brightness(
///     Millimetres::new(2.5)?, Millimetres::new(3.0)?, Fraction::new(0.85)?)?;
/// assert!((dimmed.get() - 0.59).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn brightness(
    exit_pupil: Millimetres,
    eye_pupil: Millimetres,
    transmittance: Fraction,
) -> Result<Fraction, OutOfRange> {
    let leaving = within("exit pupil", "mm", exit_pupil.get(), 0.1..=50.0)?;
    let entering = within("eye pupil", "mm", eye_pupil.get(), 1.0..=10.0)?;
    let passed = within("transmittance", "", transmittance.get(), above_zero(1.0))?;
    // An exit pupil wider than the eye lets no more light in: the formula says 1.
    Fraction::new(passed * (leaving / entering).powi(2).min(1.0))
}

/// Which acuity does the power promise, if hand, light and focus were perfect?
///
/// **Formula** V − log10 M. **Source** definition of angular magnification
/// (derived). Measured results are often 0.1 to 0.2 worse (common practice);
/// show it as `at best`. **Range** power 1 or more.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::{telescope::predicted_acuity, units::Magnification};
/// let promised = predicted_acuity(LogMar::new(0.9)?, Magnification::new(6.0)?)?;
/// assert!((promised.get() - 0.122).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A power below 1.
pub fn predicted_acuity(eye: LogMar, power: Magnification) -> Result<LogMar, OutOfRange> {
    eye.worse_by(-magnifying(power)?.log10())
}

/// Which power did an acuity through the device really deliver?
///
/// **Formula** 10^(V − V through). **Source** definition (derived). **Range**
/// all; below 1 the device makes it worse.
///
/// ```
/// use farpoint::vision::{acuity::LogMar, telescope::delivered_power};
/// let delivered = delivered_power(LogMar::new(0.9)?, LogMar::new(0.2)?)?;
/// assert!((delivered.get() - 5.0).abs() < 0.02);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// None within the bounds of [`LogMar`].
pub fn delivered_power(eye: LogMar, through: LogMar) -> Result<Ratio, OutOfRange> {
    Ratio::new(10_f64.powf(eye.get() - through.get()))
}

/// How steadily a power can be held by hand. Common practice; measure losses instead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steadiness {
    /// Up to 3×: most children free-hand.
    FreeHand,
    /// Up to 4×: from about six to eight years.
    FromAboutSeven,
    /// Up to 6×: elbows supported.
    ElbowsSupported,
    /// Up to 8×: the most for everyday use by hand.
    UpperLimit,
    /// Up to 10×: only supported.
    OnlySupported,
    /// Beyond: a camera or a nearer seat instead.
    NotHandHeld,
}

/// How steadily can this power be held by hand?
///
/// **Formula** a table at 3, 4, 6, 8 and 10. **Source** common practice.
/// **Range** power 1 or more.
///
/// ```
/// use farpoint::vision::telescope::{Steadiness, steadiness};
/// use farpoint::vision::units::Magnification;
/// assert_eq!(steadiness(Magnification::new(6.0)?)?, Steadiness::ElbowsSupported);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A power below 1.
pub fn steadiness(power: Magnification) -> Result<Steadiness, OutOfRange> {
    Ok(match magnifying(power)? {
        m if m <= 3.0 => Steadiness::FreeHand,
        m if m <= 4.0 => Steadiness::FromAboutSeven,
        m if m <= 6.0 => Steadiness::ElbowsSupported,
        m if m <= 8.0 => Steadiness::UpperLimit,
        m if m <= 10.0 => Steadiness::OnlySupported,
        _ => Steadiness::NotHandHeld,
    })
}

/// The three figures on a telescope.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Label {
    /// The power.
    pub power: Magnification,
    /// The diameter of the objective.
    pub objective: Millimetres,
    /// The true field.
    pub field: Degrees,
}

/// What on a label is unusual and should be confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unusual {
    /// Power outside 1.5 to 12.
    Power,
    /// Exit pupil outside 1.5 to 8 mm.
    ExitPupil,
    /// True field outside 2 to 25°.
    Field,
}

/// Why a label cannot be right.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum LabelError {
    /// Power and field together would fill too much or too little of the ocular.
    #[error(
        "power and field do not go together: the picture would look {apparent_degrees} degrees wide; is the field a true field in degrees?"
    )]
    Inconsistent {
        /// Power times field, in degrees.
        apparent_degrees: f64,
    },
    /// A figure beyond the formulas.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

impl Label {
    /// Can this label be right, and what on it should be confirmed?
    ///
    /// **Formula** power 1.5 to 12, exit pupil 1.5 to 8 mm, field 2 to 25°, or
    /// confirm; power times field 15 to 75°, or refuse. **Source** common
    /// practice. **Range** as [`exit_pupil`] and [`apparent_field`].
    ///
    /// ```
    /// use farpoint::vision::telescope::Label;
    /// use farpoint::vision::units::{Degrees, Magnification, Millimetres};
    /// let label = Label {
    ///     power: Magnification::new(8.0)?,
    ///     objective: Millimetres::new(20.0)?,
    ///     field: Degrees::new(7.0)?,
    /// };
    /// assert_eq!(label.check(), Ok(vec![]));
    /// let misread = Label { field: Degrees::new(12.2)?, ..label };
    /// assert!(misread.check().is_err());
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A label that contradicts itself.
    pub fn check(self) -> Result<Vec<Unusual>, LabelError> {
        let pupil = exit_pupil(self.objective, self.power)?;
        let apparent_degrees = magnifying(self.power)? * true_field(self.field)?;
        if !(15.0..=75.0).contains(&apparent_degrees) {
            return Err(LabelError::Inconsistent { apparent_degrees });
        }
        let ordinary = [
            (Unusual::Power, (1.5..=12.0).contains(&self.power.get())),
            (Unusual::ExitPupil, (1.5..=8.0).contains(&pupil.get())),
            (Unusual::Field, (2.0..=25.0).contains(&self.field.get())),
        ];
        Ok(ordinary.into_iter().filter_map(|(what, usual)| (!usual).then_some(what)).collect())
    }
}
