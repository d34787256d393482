//! How much light falls on the task, and how bright does it look?
//!
//! Illuminance is what a meter reads on the desk or against the board;
//! luminance is what reaches the eye. Does not know what a student prefers:
//! for some eyes less light is better light, and only the student can tell.
//! Read next: [`crate::vision::contrast`].

use super::units::{Degrees, Fraction, Luminance, Lux, Metres, OutOfRange, above_zero, within};

/// How bright is a matt surface in this light?
///
/// **Formula** L = ρE/π. **Source** Lambert's law. **Range** reflectance more
/// than zero; whiteboard about 0.70, chalkboard 0.05 to 0.20 (ANSI/IES RP-3-13
/// as reported, seen second-hand), paper 0.80 (common practice).
///
/// ```
/// use farpoint::vision::{light::luminance, units::{Fraction, Lux}};
/// let board = luminance(Lux::new(500.0)?, Fraction::new(0.7)?)?;
/// assert!((board.get() - 111.4).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A surface that reflects nothing.
pub fn luminance(light: Lux, reflectance: Fraction) -> Result<Luminance, OutOfRange> {
    let rho = within("reflectance", "", reflectance.get(), above_zero(1.0))?;
    Luminance::new(rho * light.get() / std::f64::consts::PI)
}

/// How much light makes a matt surface this bright?
///
/// **Formula** E = πL/ρ. **Source** Lambert's law. **Range** as [`luminance`].
///
/// ```
/// use farpoint::vision::{light::illuminance, units::{Fraction, Luminance}};
/// let light = illuminance(Luminance::new(85.0)?, Fraction::new(0.8)?)?;
/// assert!((light.get() - 333.8).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A surface that reflects nothing.
pub fn illuminance(brightness: Luminance, reflectance: Fraction) -> Result<Lux, OutOfRange> {
    let rho = within("reflectance", "", reflectance.get(), above_zero(1.0))?;
    Lux::new(brightness.get() * std::f64::consts::PI / rho)
}

/// Lux in one foot-candle: square feet in a square metre.
const LUX_PER_FOOTCANDLE: f64 = 1.0 / (0.3048 * 0.3048);

/// How many lux are so many foot-candles?
///
/// **Formula** 1 fc = 10.76391 lx. **Source** the definition of the foot
/// (1959). **Range** up to 90 000 fc.
///
/// ```
/// use farpoint::vision::light::lux_of_footcandles;
/// assert!((lux_of_footcandles(50.0)?.get() - 538.2).abs() < 0.1);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A number outside the range.
pub fn lux_of_footcandles(footcandles: f64) -> Result<Lux, OutOfRange> {
    within("illuminance", "fc", footcandles, 0.0..=90_000.0)?;
    Lux::new(footcandles * LUX_PER_FOOTCANDLE)
}

/// How much light does a small lamp give at this distance?
///
/// **Formula** E = I cos i / d². **Source** the inverse-square law. **Range**
/// distance from 5 cm, light falling in at less than 90°, up to a million candela.
///
/// ```
/// use farpoint::vision::light::from_lamp;
/// use farpoint::vision::units::{Degrees, Metres};
/// let near = from_lamp(200.0, Metres::new(0.5)?, Degrees::new(0.0)?)?;
/// assert_eq!(near.get(), 800.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn from_lamp(candelas: f64, distance: Metres, incidence: Degrees) -> Result<Lux, OutOfRange> {
    let intensity = within("intensity", "cd", candelas, 0.0..=1_000_000.0)?;
    let d = within("distance to the lamp", "m", distance.get(), 0.05..=1_000.0)?;
    let i = within("incidence", "degrees", incidence.get(), 0.0..90.0)?;
    Lux::new(intensity * i.to_radians().cos() / (d * d))
}

/// A surface for which a level of light is recommended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Surface {
    /// The writing board, measured upright against it.
    Board,
    /// The walls of a classroom.
    Walls,
    /// Its ceiling.
    Ceiling,
    /// Faces, measured on an upright cylinder.
    Faces,
    /// A desk for reading and writing.
    Desk,
}

/// How much light is recommended here?
///
/// **Formula** a table: board 500, walls 75, ceiling 50, faces 150, desk 300 lx
/// or up to 500. **Source** EN 12464-1 as summarised in a lighting guide (seen
/// second-hand). **Range** classrooms; not what a student with glare should get.
///
/// ```
/// use farpoint::vision::light::{Surface, recommended};
/// assert_eq!(recommended(Surface::Board).get(), 500.0);
/// ```
pub const fn recommended(surface: Surface) -> Lux {
    match surface {
        Surface::Board => Lux::literal(500.0),
        Surface::Walls => Lux::literal(75.0),
        Surface::Ceiling => Lux::literal(50.0),
        Surface::Faces => Lux::literal(150.0),
        Surface::Desk => Lux::literal(300.0),
    }
}

/// Should a typed reading of a meter be confirmed?
///
/// **Formula** outside 1 to 100 000 lx. **Source** common practice; telephones
/// are poor meters. **Range** all of [`Lux`].
///
/// ```
/// use farpoint::vision::{light::needs_confirming, units::Lux};
/// assert!(needs_confirming(Lux::new(0.5)?));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn needs_confirming(reading: Lux) -> bool {
    !(1.0..=100_000.0).contains(&reading.get())
}

/// How bright a task is, against what is usual for reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Brightness {
    /// Below 80 cd/m².
    Dim,
    /// 80 to 250 cd/m².
    Usual,
    /// Above 250 cd/m²; where glare hurts this is too much.
    Bright,
}

/// Is a task this bright dim, usual or bright?
///
/// **Formula** limits at 80 and 250 cd/m². **Source** common practice; many
/// eyes want less (albinism, aniridia, cone dystrophy), so the student chooses.
/// **Range** any luminance.
///
/// ```
/// use farpoint::vision::{light::{Brightness, task_brightness}, units::Luminance};
/// assert_eq!(task_brightness(Luminance::new(111.4)?), Brightness::Usual);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn task_brightness(task: Luminance) -> Brightness {
    match task.get() {
        l if l < 80.0 => Brightness::Dim,
        l if l <= 250.0 => Brightness::Usual,
        _ => Brightness::Bright,
    }
}
