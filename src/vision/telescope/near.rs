//! How near does a telescope work, by its travel or with a reading cap?
//!
//! Does not know the page; print sizes are in [`crate::vision::acuity::near`].
//! Read next: [`super::optics`] for focusing in between.

use super::optics::{Afocal, OpticsError};
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

/// Which focal length has the objective of a telescope with this near limit?
///
/// **Formula** fo = (√(ΔL² + 4 u ΔL) − ΔL)/2. **Source** [`nearest_focus`]
/// solved for fo (derived); makers seldom name it. **Range** near limit 2 cm to
/// 50 m, travel more than nothing, up to half a metre.
///
/// ```
/// use farpoint::vision::{telescope::near::focal_of_near_limit, units::Metres};
/// let focal = focal_of_near_limit(Metres::new(1.6875)?, Metres::new(0.01)?)?;
/// assert!((focal.get() - 0.125).abs() < 1e-12);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn focal_of_near_limit(nearest: Metres, travel: Metres) -> Result<Metres, OutOfRange> {
    let u = within("near limit", "m", nearest.get(), 0.02..=50.0)?;
    let travel = within("travel of the tube", "m", travel.get(), above_zero(0.5))?;
    // The same as the formula, without taking like numbers from each other.
    Metres::new(2.0 * u * travel / ((travel * travel + 4.0 * u * travel).sqrt() + travel))
}

/// The equivalent powers of one telescope brought to one distance in two ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CapOrTube {
    /// With a reading cap for that distance, the tube left alone.
    pub cap: Dioptres,
    /// With a longer tube and no cap.
    pub tube: Dioptres,
}

/// Does a cap or a longer tube give more power at this distance?
///
/// **Formula** cap |M|/u; tube |Fe/(Fo − 1/u)|/u, always the larger. **Source**
/// [`reading_cap`] and [`Afocal::focused_for`] (derived, ray-traced). **Range**
/// u beyond the focal length of the objective, 2.5 cm to 4 m.
///
/// ```
/// use farpoint::vision::telescope::{near::cap_or_tube, optics::Afocal};
/// use farpoint::vision::units::{Dioptres, Metres};
/// let galilean = Afocal::new(Dioptres::new(10.0)?, Dioptres::new(-20.0)?)?;
/// let both = cap_or_tube(galilean, Metres::new(0.4)?)?;
/// assert!((both.cap.get() - 5.0).abs() < 1e-9 && (both.tube.get() - 6.667).abs() < 0.001);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A distance outside the range or inside the focal length.
pub fn cap_or_tube(telescope: Afocal, distance: Metres) -> Result<CapOrTube, OpticsError> {
    let u = within("distance from the objective", "m", distance.get(), 0.025..=4.0)?;
    let cap = Dioptres::new(telescope.signed_power().abs() / u)?;
    Ok(CapOrTube { cap, tube: telescope.focused_for(distance)?.equivalent })
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

/// Whether a tube can be focused somewhere for an eye without its glasses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// Whatever lenses are in it.
    Reaches,
    /// It would have to be drawn out farther than it goes, whatever lenses are in it.
    TooShort,
    /// It depends on lenses and stops that no label states.
    NotKnown,
}

/// Focal lengths of objectives in devices for one hand, in metres, and the
/// longest tube. Common practice.
const FOCAL_LENGTHS: [f64; 8] = [0.03, 0.05, 0.07, 0.09, 0.11, 0.13, 0.16, 0.2];
const LONGEST_TUBE: f64 = 0.3;

/// Can the tube take up this eye's error at this distance?
///
/// A label gives the power and the nearest focus, not the lenses. So the travel
/// is taken for every usual objective, prism or plain: drawn out from far to the
/// nearest focus it is fo²/(u − fo), and it has to hold what the distance asks
/// and what the eye asks.
///
/// **Formula** fo²/(d − fo) + 1/(Fe − K) − 1/Fe between nothing and
/// fo²/(u − fo), with Fe = ±M/fo. **Source** focusing by tube length: Schwartz,
/// Geometrical and Visual Optics, chapter 12, and derived; the focal lengths
/// from 3 to 20 cm are common practice. **Range** power 1.2 to 20, error −40 to
/// +40 D; shorter than the far stop is never counted as reached, because no
/// label says where that stop is.
///
/// ```
/// use farpoint::vision::telescope::near::{Reach, reach};
/// use farpoint::vision::units::{Dioptres, Magnification, Metres};
/// let of = |near: f64, eye: f64| {
///     reach(Magnification::new(6.0)?, Metres::new(near)?, Metres::new(4.0)?, Dioptres::new(eye)?)
/// };
/// // At 4 m a 6× has 36/4 = 9 D in hand for a short-sighted eye.
/// assert_eq!(of(0.25, -6.0)?, Reach::Reaches);
/// assert_eq!(of(0.25, -12.0)?, Reach::NotKnown);
/// // A long-sighted eye needs more travel than focusing from 4 m to 3.5 m gives.
/// assert_eq!(of(3.5, 6.0)?, Reach::TooShort);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn reach(
    power: Magnification,
    nearest: Metres,
    distance: Metres,
    uncorrected: Dioptres,
) -> Result<Reach, OutOfRange> {
    let m = within("power", "×", power.get(), 1.2..=20.0)?;
    let near = within("nearest focus", "m", nearest.get(), above_zero(100.0))?;
    let far = within("distance", "m", distance.get(), above_zero(1_000.0))?;
    let k = within("uncorrected error", "D", uncorrected.get(), -40.0..=40.0)?;
    let (mut all, mut none, mut tubes) = (true, true, 0_u32);
    for fo in FOCAL_LENGTHS {
        if near <= fo || far <= fo {
            continue;
        }
        let travel = fo * fo / (near - fo);
        for fe in [m / fo, -m / fo] {
            if 1.0 / fe + fo + travel > LONGEST_TUBE {
                continue;
            }
            tubes += 1;
            let left = fe - k;
            // A change of sign would make it the other kind of telescope.
            let drawn = (left * fe > 0.0).then(|| fo * fo / (far - fo) + 1.0 / left - 1.0 / fe);
            let short = drawn.is_some_and(|drawn| drawn > travel * (1.0 + 1e-9));
            all &= drawn.is_some_and(|drawn| drawn >= 0.0) && !short;
            none &= short;
        }
    }
    Ok(match (tubes, all, none) {
        (0, ..) => Reach::NotKnown,
        (_, true, _) => Reach::Reaches,
        (_, _, true) => Reach::TooShort,
        _ => Reach::NotKnown,
    })
}
