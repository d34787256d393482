//! Is this writing readable from there, by this eye, for this goal?
//!
//! Two reserves must both hold: the writing large enough and dark enough above
//! the threshold. The answer always carries the reserves it rests on and which
//! acuity was used; a predicted one is marked `at best`.
//!
//! Does not choose between students' wishes, seats or devices, nor does it
//! know whether the student *reads*; it only knows what can be seen.
//! Read next: [`crate::vision::seat_print`] for what to do about it.

use std::fmt;

use super::acuity::{LogMar, Measured};
use super::contrast::{LogContrastSensitivity, Weber};
use super::demand::BoardDemand;
use super::reserve::{acuity_reserve, contrast_reserve_of};
use super::units::{Degrees, Magnification, Metres, OutOfRange, Ratio};

mod goals;

pub use goals::{Goal, Goals, Needed};

/// Where the acuity of an answer comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Both eyes, with what is worn in class.
    BothEyesAsWorn,
    /// Best correction, which may be better than what is worn.
    BestCorrection,
    /// The eye named as the better one.
    BetterEye,
    /// A near row, for near tasks.
    NearRow,
    /// Measured through that device at two metres or more.
    MeasuredThroughDevice,
    /// Computed from the power: nobody has measured it, and it is rarely reached.
    AtBest,
}

impl fmt::Display for Basis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::BothEyesAsWorn => "both eyes as worn in class",
            Self::BestCorrection => "best correction, not what is worn in class",
            Self::BetterEye => "the better eye alone",
            Self::NearRow => "a near row",
            Self::MeasuredThroughDevice => "measured through the device",
            Self::AtBest => "at best",
        })
    }
}

/// An acuity together with where it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AcuityUsed {
    /// The acuity, through the device if there is one.
    pub acuity: LogMar,
    /// Where it comes from.
    pub basis: Basis,
}

/// What is known of sight without a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Unaided {
    /// Both eyes with what is worn in class.
    pub both_as_worn: Option<Measured>,
    /// With best correction.
    pub best_correction: Option<Measured>,
    /// The eye named as the better one.
    pub better_eye: Option<Measured>,
}

/// A measurement through a device nearer than this says nothing about a board.
const FAR_ENOUGH: Metres = Metres::literal(2.0);

impl AcuityUsed {
    /// Which acuity counts without a device?
    ///
    /// **Formula** the first known of: both eyes as worn, best correction, the
    /// named better eye. **Source** common practice. **Range** categories such
    /// as counting fingers never get here; with nothing measured the answer is
    /// `None`.
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, Measured};
    /// use farpoint::vision::readable::{AcuityUsed, Basis, Unaided};
    /// let known = Unaided {
    ///     best_correction: Some(Measured::new(LogMar::new(0.8)?)?),
    ///     ..Unaided::default()
    /// };
    /// let used = AcuityUsed::without_device(known).expect("one is known");
    /// assert_eq!(used.basis, Basis::BestCorrection);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn without_device(known: Unaided) -> Option<Self> {
        [
            (known.both_as_worn, Basis::BothEyesAsWorn),
            (known.best_correction, Basis::BestCorrection),
            (known.better_eye, Basis::BetterEye),
        ]
        .into_iter()
        .find_map(|(measured, basis)| Some(Self { acuity: measured?.logmar(), basis }))
    }

    /// Does a measurement through the device count, or was it taken too near?
    ///
    /// **Formula** the measured value. **Source** common practice. **Range** 2 m
    /// or more; nearer the device works at another power, so `None`.
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, Measured};
    /// use farpoint::vision::readable::AcuityUsed;
    /// use farpoint::vision::units::Metres;
    /// let through = Measured::new(LogMar::new(0.2)?)?;
    /// assert!(AcuityUsed::through_device(through, Metres::new(3.0)?).is_some());
    /// assert!(AcuityUsed::through_device(through, Metres::new(1.0)?).is_none());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn through_device(measured: Measured, distance: Metres) -> Option<Self> {
        (distance >= FAR_ENOUGH).then(|| Self { acuity: measured.logmar(), basis: Basis::MeasuredThroughDevice })
    }

    /// What does the power alone promise of the eye that uses the telescope?
    ///
    /// **Formula** V − log10 M. **Source** definition of angular magnification
    /// (derived). Hand-held results are often 0.1 to 0.2 worse (common
    /// practice), so the answer is marked [`Basis::AtBest`]. **Range** M of 1 or
    /// more.
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, Measured};
    /// use farpoint::vision::readable::{AcuityUsed, Basis};
    /// use farpoint::vision::units::Magnification;
    /// let eye = Measured::new(LogMar::new(0.9)?)?;
    /// let promised = AcuityUsed::at_best(eye, Magnification::new(6.0)?)?;
    /// assert!((promised.acuity.get() - 0.12).abs() < 0.01);
    /// assert_eq!(promised.basis, Basis::AtBest);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    ///
    /// # Errors
    /// A power below 1.
    pub fn at_best(eye: Measured, power: Magnification) -> Result<Self, OutOfRange> {
        Ok(Self { acuity: super::telescope::predicted_acuity(eye.logmar(), power)?, basis: Basis::AtBest })
    }
}

/// Who looks: the acuity used and the contrast sensitivity, if it was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Viewer {
    /// The acuity, with its basis.
    pub acuity: AcuityUsed,
    /// The contrast sensitivity of the same eye or eyes.
    pub sensitivity: Option<LogContrastSensitivity>,
}

/// How the contrast stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ContrastStanding {
    /// The reserve reached.
    Reserve(Ratio),
    /// Nobody has measured the student's contrast sensitivity.
    SensitivityUnknown,
    /// Nobody knows the contrast of the target.
    TargetUnknown,
}

impl ContrastStanding {
    /// How does this target's contrast stand for this viewer?
    ///
    /// **Formula** [`contrast_reserve_of`]. **Source** as there. **Range** a
    /// target without any contrast is an error, an unknown one is said.
    ///
    /// ```
    /// use farpoint::vision::contrast::Weber;
    /// use farpoint::vision::readable::ContrastStanding;
    /// let standing = ContrastStanding::of(Some(Weber::new(0.9)?), None)?;
    /// assert_eq!(standing, ContrastStanding::SensitivityUnknown);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A target that does not stand out at all.
    pub fn of(target: Option<Weber>, sensitivity: Option<LogContrastSensitivity>) -> Result<Self, OutOfRange> {
        match (target, sensitivity) {
            (_, None) => Ok(Self::SensitivityUnknown),
            (None, Some(_)) => Ok(Self::TargetUnknown),
            (Some(target), Some(eye)) => contrast_reserve_of(target, eye).map(Self::Reserve),
        }
    }

    /// Does it hold, or is that not known?
    ///
    /// **Formula** reserve of at least what is needed; one reached to within a
    /// billionth is reached. **Source** definition of the reserve (derived).
    /// **Range** any reserve; `None` when it is not known.
    ///
    /// ```
    /// use farpoint::vision::{readable::ContrastStanding, units::Ratio};
    /// let ten = Ratio::new(10.0)?;
    /// assert_eq!(ContrastStanding::Reserve(Ratio::new(12.0)?).holds(ten), Some(true));
    /// assert_eq!(ContrastStanding::TargetUnknown.holds(ten), None);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn holds(self, needed: Ratio) -> Option<bool> {
        match self {
            Self::Reserve(reserve) => Some(reaches(reserve, needed)),
            Self::SensitivityUnknown | Self::TargetUnknown => None,
        }
    }
}

/// The answer in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Both reserves hold.
    Readable,
    /// Large enough; whether it is dark enough is not known.
    LargeEnoughContrastUnknown,
    /// Too small; the contrast holds or is not known.
    TooSmall,
    /// Large enough but too faint: mend the contrast first.
    TooFaint,
    /// Both fail.
    TooSmallAndTooFaint,
}

/// The answer with what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Judgement {
    /// The answer in one word.
    pub verdict: Verdict,
    /// The acuity reserve reached.
    pub acuity_reserve: Ratio,
    /// The contrast reserve reached, or what is not known.
    pub contrast: ContrastStanding,
    /// What the goal needs.
    pub needed: Needed,
    /// Where the acuity comes from.
    pub basis: Basis,
}

/// The answer for a seat before a board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answer {
    /// A judgement with its reserves.
    Judged(Judgement),
    /// The seat is too far to the side to compute anything for it.
    MoveTheSeat {
        /// How far to the side.
        obliquity: Degrees,
    },
}

/// Reserves that differ by rounding are the same.
fn reaches(reserve: Ratio, needed: Ratio) -> bool {
    reserve.get() >= needed.get() * (1.0 - 1e-9)
}

/// Is a target of this demand and contrast readable for this goal?
///
/// **Formula** both reserves at least as large as needed, see
/// [`acuity_reserve`] and [`contrast_reserve_of`]. **Source** definitions; the
/// needed reserves are common practice. **Range** as there.
///
/// ```
/// use farpoint::vision::acuity::{LogMar, Measured};
/// use farpoint::vision::contrast::{LogContrastSensitivity, Weber};
/// use farpoint::vision::readable::*;
/// let viewer = Viewer {
///     acuity: AcuityUsed { acuity: LogMar::new(0.9)?, basis: Basis::BothEyesAsWorn },
///     sensitivity: Some(LogContrastSensitivity::new(1.5)?),
/// };
/// let needed = Goals::default().needed(Goal::Phrase);
/// let answer = judge(LogMar::new(0.6)?, Some(Weber::new(0.9)?), viewer, needed)?;
/// assert_eq!(answer.verdict, Verdict::TooSmall);
/// assert!((answer.acuity_reserve.get() - 0.5).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A target without contrast, or figures beyond the bounds of their types.
pub fn judge(demand: LogMar, target: Option<Weber>, viewer: Viewer, needed: Needed) -> Result<Judgement, OutOfRange> {
    let reserve = acuity_reserve(demand, viewer.acuity.acuity)?;
    let contrast = ContrastStanding::of(target, viewer.sensitivity)?;
    let verdict = match (reaches(reserve, needed.acuity), contrast.holds(needed.contrast)) {
        (true, Some(true)) => Verdict::Readable,
        (true, None) => Verdict::LargeEnoughContrastUnknown,
        (true, Some(false)) => Verdict::TooFaint,
        (false, Some(false)) => Verdict::TooSmallAndTooFaint,
        (false, Some(true) | None) => Verdict::TooSmall,
    };
    Ok(Judgement { verdict, acuity_reserve: reserve, contrast, needed, basis: viewer.acuity.basis })
}

/// Is the writing on a board readable from a seat?
///
/// **Formula** [`judge`] with the working demand of
/// [`crate::vision::demand::on_board`]. **Source** as there (common practice for
/// the reserves). **Range** as there; farther than 60° aside nothing is judged.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::demand::{Seat, on_board};
/// use farpoint::vision::readable::*;
/// use farpoint::vision::units::Metres;
/// let viewer = Viewer {
///     acuity: AcuityUsed { acuity: LogMar::new(0.3)?, basis: Basis::BothEyesAsWorn },
///     sensitivity: None,
/// };
/// let demand = on_board(Metres::new(0.03)?, Seat::in_front(Metres::new(3.0)?), None)?;
/// let Answer::Judged(found) =
///     judge_on_board(demand, None, viewer, Goals::default().needed(Goal::Copy))?
/// else { panic!("straight on") };
/// assert_eq!(found.verdict, Verdict::LargeEnoughContrastUnknown);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// As [`judge`].
pub fn judge_on_board(
    demand: BoardDemand,
    target: Option<Weber>,
    viewer: Viewer,
    needed: Needed,
) -> Result<Answer, OutOfRange> {
    match demand {
        BoardDemand::MoveTheSeat { obliquity } => Ok(Answer::MoveTheSeat { obliquity }),
        BoardDemand::Seen(letter) => judge(letter.working_demand(), target, viewer, needed).map(Answer::Judged),
    }
}
