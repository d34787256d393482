//! Where should the student sit, and how large should one write?
//!
//! The one line a classroom teacher needs, for the smallest writing measured
//! on the board: the farthest seat at that size, and the height of small
//! letters at the usual seat; then the same with the device. Seats are rounded
//! down and letters up, so that rounding never takes sight away.
//!
//! Writing is taken as seen straight on; farther than 30° aside the answer
//! says so. Does not word the card; see [`SeatAndPrint`] for its parts.
//! Read next: [`crate::vision::room`] for all seats of a room.

use super::contrast::Weber;
use super::demand::{FARTHEST_ASIDE, Seat};
use super::length::shown::{Units, distance, letter_height, letter_rounded_up, seat_rounded_down};
use super::readable::{AcuityUsed, Basis, ContrastStanding, Goal, Goals, Needed, Viewer};
use super::reserve::{farthest_seat, smallest_letter};
use super::units::{Degrees, Magnification, Metres, OutOfRange, Ratio};

/// Writing that was measured on the board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BoardWriting {
    /// The height of its small letters.
    pub x_height: Metres,
    /// What the student does with it.
    pub goal: Goal,
    /// Its contrast, if it is known.
    pub contrast: Option<Weber>,
}

/// Which of these writings decides the seat?
///
/// **Formula** the smallest x-height; of equal ones the goal that needs the
/// larger reserve. **Source** common practice: what is measured, not what is
/// intended. **Range** an empty list gives `None`.
///
/// ```
/// use farpoint::vision::readable::{Goal, Goals};
/// use farpoint::vision::seat_print::{BoardWriting, smallest};
/// use farpoint::vision::units::Metres;
/// let of = |height| Ok::<_, farpoint::vision::units::OutOfRange>(BoardWriting {
///     x_height: Metres::new(height)?, goal: Goal::Copy, contrast: None });
/// let found = smallest(&[of(0.05)?, of(0.03)?], &Goals::default()).expect("two writings");
/// assert_eq!(found.x_height.get(), 0.03);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
pub fn smallest(writings: &[BoardWriting], goals: &Goals) -> Option<BoardWriting> {
    writings.iter().copied().min_by(|one, other| {
        let reserve = |writing: &BoardWriting| goals.needed(writing.goal).acuity;
        one.x_height.cmp(&other.x_height).then(reserve(other).cmp(&reserve(one)))
    })
}

/// A device and how the student sees through it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThroughDevice {
    /// The acuity through the device.
    pub acuity: AcuityUsed,
    /// The nearest distance it can be focused for, if it is known.
    pub nearest_focus: Option<Metres>,
}

/// Everything the line is computed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Question {
    /// The smallest measured writing.
    pub writing: BoardWriting,
    /// The usual seat.
    pub seat: Seat,
    /// Who looks, without a device.
    pub viewer: Viewer,
    /// The device, if there is one.
    pub device: Option<ThroughDevice>,
}

/// The line, or why it cannot be given yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeatAndPrint {
    /// The writing is too faint: no seat and no size mends that.
    MendContrastFirst {
        /// The contrast reserve reached.
        reserve: Ratio,
        /// The contrast reserve needed.
        needed: Ratio,
    },
    /// The seat is so far to the side that it must be moved first.
    MoveTheSeat {
        /// How far to the side.
        obliquity: Degrees,
    },
    /// What to do.
    Advice(Advice),
}

/// What to do about seat and print.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Advice {
    /// Without a device.
    pub unaided: Line,
    /// With the device.
    pub with_device: Option<Line>,
    /// How the contrast stands; it does not fail here, but may be unknown.
    pub contrast: ContrastStanding,
    /// The usual seat's angle, when it is over 30° and the line is too hopeful.
    pub seen_from_the_side: Option<Degrees>,
}

/// One seat and one letter height, exact; rounded only when told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Line {
    /// The farthest seat from which the writing holds its reserve.
    pub farthest_seat: Metres,
    /// The smallest small letter that holds it at the usual seat.
    pub letter: Metres,
    /// Where the acuity comes from.
    pub basis: Basis,
    /// The nearest distance the device can be focused for.
    pub nearest_focus: Option<Metres>,
}

/// Where to sit, as it may be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeatTold {
    /// Within this distance, rounded down.
    Within(Metres),
    /// Nearer than the smallest step of the rounding: no seat in the room.
    NoSeat,
    /// Nearer than the device can be focused for.
    NearerThanFocus(Metres),
}

impl Line {
    /// Which seat may be told?
    ///
    /// **Formula** the farthest seat, down to 0.1 m or half a foot; a seat
    /// nearer than the device focuses is none. **Source** common practice.
    /// **Range** any line.
    ///
    /// ```
    /// use farpoint::vision::{length::shown::Units, readable::Basis, units::Metres};
    /// use farpoint::vision::seat_print::{Line, SeatTold};
    /// let line = Line {
    ///     farthest_seat: Metres::new(2.64)?, letter: Metres::new(0.068)?,
    ///     basis: Basis::MeasuredThroughDevice, nearest_focus: Some(Metres::new(3.0)?) };
    /// assert_eq!(line.seat(Units::Metric), SeatTold::NearerThanFocus(Metres::new(3.0)?));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn seat(&self, units: Units) -> SeatTold {
        match (seat_rounded_down(self.farthest_seat, units), self.nearest_focus) {
            (Some(seat), Some(nearest)) if seat < nearest => SeatTold::NearerThanFocus(nearest),
            (Some(seat), _) => SeatTold::Within(seat),
            (None, _) => SeatTold::NoSeat,
        }
    }

    /// Which letter height may be told?
    ///
    /// **Formula** the smallest, up to half a centimetre or a quarter inch.
    /// **Source** common practice. **Range** as [`letter_rounded_up`].
    ///
    /// ```
    /// use farpoint::vision::{length::shown::Units, readable::Basis, units::Metres};
    /// use farpoint::vision::seat_print::Line;
    /// let line = Line {
    ///     farthest_seat: Metres::new(2.64)?, letter: Metres::new(0.068)?,
    ///     basis: Basis::BothEyesAsWorn, nearest_focus: None };
    /// assert_eq!(line.letter(Units::Metric)?, Metres::new(0.07)?);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A height that is no length any more.
    pub fn letter(&self, units: Units) -> Result<Metres, OutOfRange> {
        letter_rounded_up(self.letter, units)
    }

    /// How is the line told in words?
    ///
    /// **Formula** [`Line::seat`] and [`Line::letter`] in one sentence.
    /// **Source** common practice. **Range** any line.
    ///
    /// ```
    /// use farpoint::vision::length::shown::Units;
    /// use farpoint::vision::readable::Basis;
    /// use farpoint::vision::seat_print::Line;
    /// use farpoint::vision::units::Metres;
    /// let line = Line {
    ///     farthest_seat: Metres::new(2.64)?,
    ///     letter: Metres::new(0.068)?,
    ///     basis: Basis::BothEyesAsWorn,
    ///     nearest_focus: None,
    /// };
    /// assert_eq!(line.words(Units::Metric)?, "within 2.6 m, or small letters 7 cm tall");
    /// assert_eq!(
    ///     line.words(Units::Imperial)?,
    ///     "within 8 ft 6 in, or small letters 2 3/4 in tall");
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// As [`Line::letter`].
    pub fn words(&self, units: Units) -> Result<String, OutOfRange> {
        let letters = letter_height(self.letter(units)?, units);
        Ok(match self.seat(units) {
            SeatTold::Within(seat) => format!("within {}, or small letters {letters} tall", distance(seat, units)),
            SeatTold::NoSeat => {
                format!("no seat is near enough at this size; small letters {letters} tall")
            }
            SeatTold::NearerThanFocus(nearest) => format!(
                "the device focuses from {} on, too far for this size; small letters {letters} tall",
                distance(nearest, units)
            ),
        })
    }
}

/// Farther aside than this, "straight on" is too hopeful. Common practice.
const TOLD_ASIDE: Degrees = Degrees::literal(30.0);

/// Where to sit, and how large to write?
///
/// **Formula** [`farthest_seat`] for the writing and [`smallest_letter`] at the
/// distance from the usual seat to the centre of the board, both straight on,
/// both at the acuity reserve of the goal. **Source** definitions (derived);
/// the reserves, the roundings and the limits of 30° and 60° are common
/// practice. **Range** as there; a contrast that fails is answered first.
///
/// ```
/// use farpoint::vision::acuity::LogMar;
/// use farpoint::vision::contrast::{LogContrastSensitivity, Weber};
/// use farpoint::vision::demand::Seat;
/// use farpoint::vision::length::shown::Units;
/// use farpoint::vision::readable::{AcuityUsed, Basis, Goal, Goals, Viewer};
/// use farpoint::vision::seat_print::{BoardWriting, Question, SeatAndPrint, seat_and_print};
/// use farpoint::vision::units::Metres;
/// let question = Question {
///     writing: BoardWriting {
///         x_height: Metres::new(0.035)?, goal: Goal::Copy, contrast: Some(Weber::new(0.9)?) },
///     seat: Seat::in_front(Metres::new(4.0)?),
///     viewer: Viewer {
///         acuity: AcuityUsed { acuity: LogMar::new(0.8)?, basis: Basis::BothEyesAsWorn },
///         sensitivity: Some(LogContrastSensitivity::new(1.5)?),
///     },
///     device: None,
/// };
/// let SeatAndPrint::Advice(advice) = seat_and_print(&question, &Goals::default())? else {
///     panic!("the contrast holds")
/// };
/// assert_eq!(
///     advice.unaided.words(Units::Metric)?,
///     "within 1.5 m, or small letters 9.5 cm tall");
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size or a seat outside the range of the formulas.
pub fn seat_and_print(question: &Question, goals: &Goals) -> Result<SeatAndPrint, OutOfRange> {
    let needed = goals.needed(question.writing.goal);
    let contrast = ContrastStanding::of(question.writing.contrast, question.viewer.sensitivity)?;
    if let ContrastStanding::Reserve(reserve) = contrast
        && contrast.holds(needed.contrast) == Some(false)
    {
        return Ok(SeatAndPrint::MendContrastFirst { reserve, needed: needed.contrast });
    }
    let obliquity = question.seat.obliquity()?;
    if obliquity > FARTHEST_ASIDE {
        return Ok(SeatAndPrint::MoveTheSeat { obliquity });
    }
    let with_device =
        question.device.map(|device| line(question, device.acuity, device.nearest_focus, needed)).transpose()?;
    Ok(SeatAndPrint::Advice(Advice {
        unaided: line(question, question.viewer.acuity, None, needed)?,
        with_device,
        contrast,
        seen_from_the_side: (obliquity > TOLD_ASIDE).then_some(obliquity),
    }))
}

fn line(
    question: &Question,
    used: AcuityUsed,
    nearest_focus: Option<Metres>,
    needed: Needed,
) -> Result<Line, OutOfRange> {
    // The acuity through a device already contains its power.
    let none = Magnification::literal(1.0);
    let seat = question.seat;
    let sight = Metres::new(seat.to_the_board.get().hypot(seat.aside.get()))?;
    Ok(Line {
        farthest_seat: farthest_seat(used.acuity, question.writing.x_height, needed.acuity, none)?,
        letter: smallest_letter(used.acuity, sight, needed.acuity, none)?,
        basis: used.basis,
        nearest_focus,
    })
}
