//! How fine a detail does this writing show from that seat?
//!
//! Angles of letters and boards, straight on and from the side. The demand of
//! a target is the logMAR that would *just* resolve it, so a larger demand is
//! an easier target. Board writing is mostly small letters: demand follows the
//! x-height, not the capitals.
//!
//! Does not know who is looking. Read next: [`crate::vision::reserve`], which
//! compares a demand with an acuity.

use super::acuity::LogMar;
use super::units::{Arcminutes, Degrees, Fraction, Metres, Millimetres, OutOfRange, above_zero, within};

/// Minutes of arc of a whole letter whose detail is one minute: by definition.
pub(crate) const LETTER_PER_DETAIL: f64 = 5.0;

/// Beyond this no target on a wall is meant; a typing error.
const WIDEST_TARGET: f64 = 120.0;

/// Beyond this angle to the side the advice is to move the seat. Common practice.
pub const FARTHEST_ASIDE: Degrees = Degrees::literal(60.0);

/// The checked distance between an eye and a target.
pub(crate) fn sight_distance(distance: Metres) -> Result<f64, OutOfRange> {
    within("distance", "m", distance.get(), above_zero(10_000.0))
}

/// The checked size of a target.
pub(crate) fn target_size(size: Metres) -> Result<f64, OutOfRange> {
    within("size", "m", size.get(), above_zero(1_000.0))
}

/// The exact angle of a target and what the shortcut would have said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VisualAngle {
    /// The exact angle.
    pub exact: Degrees,
    /// The angle by size over distance.
    pub small_angle: Degrees,
    /// How much larger the shortcut is, in per cent of the exact angle.
    pub small_angle_error_percent: f64,
}

impl VisualAngle {
    /// How large is the exact angle in minutes of arc?
    ///
    /// **Formula** 60 θ, θ in degrees. **Source** definition of the minute of
    /// arc. **Range** as [`visual_angle`].
    ///
    /// ```
    /// use farpoint::vision::{demand::visual_angle, units::Metres};
    /// let letter = visual_angle(Metres::new(0.025)?, Metres::new(3.0)?)?;
    /// assert!((letter.arcminutes() - 28.65).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn arcminutes(self) -> f64 {
        self.exact.get() * 60.0
    }
}

/// Under what angle is a target of this size seen, straight on?
///
/// **Formula** θ = 2 atan(h/2d); shortcut θ = h/d, more than 1 % wrong beyond
/// 19.7°. **Source** geometry (derived). **Range** size and distance more than
/// zero, θ up to 120°.
///
/// ```
/// use farpoint::vision::{demand::visual_angle, units::Metres};
/// let board = visual_angle(Metres::new(2.4)?, Metres::new(3.0)?)?;
/// assert!((board.exact.get() - 43.60).abs() < 0.01);
/// assert!(board.small_angle_error_percent > 5.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size or distance of nothing, or a target wider than 120°.
pub fn visual_angle(size: Metres, distance: Metres) -> Result<VisualAngle, OutOfRange> {
    let (h, d) = (target_size(size)?, sight_distance(distance)?);
    let exact = (2.0 * (h / (2.0 * d)).atan()).to_degrees();
    within("visual angle", "degrees", exact, above_zero(WIDEST_TARGET))?;
    let small_angle = (h / d).to_degrees();
    Ok(VisualAngle {
        exact: Degrees::new(exact)?,
        small_angle: Degrees::new(small_angle)?,
        small_angle_error_percent: (small_angle / exact - 1.0) * 100.0,
    })
}

/// A letter and the detail inside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LetterHeight {
    /// The full height.
    pub height: Metres,
    /// A fifth of the height, as in block test letters.
    pub critical_detail: Metres,
}

/// How tall is the letter that shows this detail at this distance?
///
/// **Formula** H = 2 d tan(5′ · MAR / 2), detail H/5. **Source** geometry
/// (derived); agrees with a published 4 m table (seen). **Range** distance more
/// than zero, letter up to 120°.
///
/// ```
/// use farpoint::vision::{demand::letter_height, units::{Arcminutes, Metres}};
/// let letter = letter_height(Arcminutes::new(10.0)?, Metres::new(4.0)?)?;
/// assert!((letter.height.in_millimetres().get() - 58.18).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A distance of nothing, or a letter wider than 120°.
pub fn letter_height(detail: Arcminutes, distance: Metres) -> Result<LetterHeight, OutOfRange> {
    let d = sight_distance(distance)?;
    let height = 2.0 * d * (half_letter(detail)?).tan();
    Ok(LetterHeight { height: Metres::new(height)?, critical_detail: Metres::new(height / LETTER_PER_DETAIL)? })
}

/// Half the angle of a letter with this detail, in radians.
pub(crate) fn half_letter(detail: Arcminutes) -> Result<f64, OutOfRange> {
    let letter = detail.radians() * LETTER_PER_DETAIL;
    let widest = WIDEST_TARGET.to_radians();
    if letter > widest {
        within("letter", "degrees", letter.to_degrees(), above_zero(WIDEST_TARGET))?;
    }
    Ok(letter / 2.0)
}

/// The scale of the visual field at one distance.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    /// The angle of one centred millimetre.
    pub angle_per_millimetre: Degrees,
    /// The length that one centred degree covers.
    pub length_per_degree: Millimetres,
}

/// How large is a millimetre in angle at this distance, and a degree in length?
///
/// **Formula** 2 atan(0.5 mm/d) and 2 d tan(0.5°). **Source** geometry
/// (derived). **Range** distance of a millimetre or more.
///
/// ```
/// use farpoint::vision::{demand::scale, units::Metres};
/// let arm = scale(Metres::new(0.573)?)?;
/// assert!((arm.length_per_degree.get() - 10.0).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A distance outside the range.
pub fn scale(distance: Metres) -> Result<Scale, OutOfRange> {
    let d = within("distance", "m", distance.get(), 0.001..=10_000.0)?;
    Ok(Scale {
        angle_per_millimetre: Degrees::new((2.0 * (0.000_5 / d).atan()).to_degrees())?,
        length_per_degree: Millimetres::new(2_000.0 * d * 0.5_f64.to_radians().tan())?,
    })
}

/// What does this writing ask for, seen straight on?
///
/// **Formula** demand = log10(θ/5′), θ the angle of the x-height. **Source**
/// definition (derived). **Range** as [`visual_angle`].
///
/// ```
/// use farpoint::vision::{demand::straight_on, units::Metres};
/// let demand = straight_on(Metres::new(0.025)?, Metres::new(3.0)?)?;
/// assert!((demand.get() - 0.758).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`visual_angle`].
pub fn straight_on(x_height: Metres, distance: Metres) -> Result<LogMar, OutOfRange> {
    of_angle(visual_angle(x_height, distance)?.arcminutes())
}

fn of_angle(arcminutes: f64) -> Result<LogMar, OutOfRange> {
    within("visual angle", "arcmin", arcminutes, above_zero(21_600.0))?;
    LogMar::new((arcminutes / LETTER_PER_DETAIL).log10())
}

/// The demand of capitals and of the small letters written with them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CapitalsAndSmall {
    /// Of the capitals.
    pub capitals: LogMar,
    /// Of the small letters, about 0.15 harder.
    pub small: LogMar,
}

/// What do small letters ask for when only the capitals were measured?
///
/// **Formula** x-height = ratio × capital height, each to its demand.
/// **Source** geometry (derived); ratio 0.66 to 0.72 in usual writing (common
/// practice). **Range** ratio 0.3 to 1.
///
/// ```
/// use farpoint::vision::{demand::capitals_and_small, units::{Fraction, Metres}};
/// let both = capitals_and_small(Metres::new(0.03)?, Metres::new(4.0)?, Fraction::new(0.7)?)?;
/// assert!((both.capitals.get() - both.small.get() - 0.155).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`visual_angle`], or a ratio outside the range.
pub fn capitals_and_small(
    capital_height: Metres,
    distance: Metres,
    x_to_capital: Fraction,
) -> Result<CapitalsAndSmall, OutOfRange> {
    let ratio = within("x-height", "of the capitals", x_to_capital.get(), 0.3..=1.0)?;
    let x_height = Metres::new(capital_height.get() * ratio)?;
    Ok(CapitalsAndSmall { capitals: straight_on(capital_height, distance)?, small: straight_on(x_height, distance)? })
}

/// A seat before a board: the perpendicular distance to the wall, and how far
/// to the side of the board's centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Seat {
    /// From the eye straight to the plane of the board.
    pub to_the_board: Metres,
    /// From the centre of the board sideways; either sign.
    pub aside: Metres,
}

impl Seat {
    /// A seat before the centre of the board.
    pub const fn in_front(to_the_board: Metres) -> Self {
        Self { to_the_board, aside: Metres::literal(0.0) }
    }

    /// How far to the side of the board's centre is this seat, as an angle?
    ///
    /// **Formula** φ = atan(|X|/D). **Source** geometry (derived). **Range** D
    /// more than zero.
    ///
    /// ```
    /// use farpoint::vision::{demand::Seat, units::Metres};
    /// let seat = Seat { to_the_board: Metres::new(2.0)?, aside: Metres::new(-2.0)? };
    /// assert!((seat.obliquity()?.get() - 45.0).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// No distance to the board.
    pub fn obliquity(self) -> Result<Degrees, OutOfRange> {
        let d = sight_distance(self.to_the_board)?;
        let x = within("offset to the side", "m", self.aside.get(), -1_000.0..=1_000.0)?;
        Degrees::new(x.abs().atan2(d).to_degrees())
    }
}

/// One letter on a board as it is seen from a seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LetterSeen {
    /// From the eye to the letter.
    pub sight_distance: Metres,
    /// How far from straight on.
    pub obliquity: Degrees,
    /// The angle of its height.
    pub height: Arcminutes,
    /// The angle of its width.
    pub width: Arcminutes,
    /// The demand of its height.
    pub height_demand: LogMar,
    /// The demand of its width, the smaller one from the side.
    pub width_demand: LogMar,
}

impl LetterSeen {
    /// Which of the two demands decides?
    ///
    /// **Formula** the smaller of height and width. **Source** common practice.
    /// **Range** as [`letter_seen`].
    ///
    /// ```
    /// use farpoint::vision::{demand::{Seat, letter_seen}, units::Metres};
    /// let seat = Seat { to_the_board: Metres::new(2.0)?, aside: Metres::new(3.0)? };
    /// let letter = letter_seen(Metres::new(0.03)?, Metres::new(0.03)?, seat)?;
    /// assert_eq!(letter.working_demand(), letter.width_demand);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn working_demand(self) -> LogMar {
        // The smaller demand is the harder one to meet.
        self.height_demand.min(self.width_demand)
    }
}

/// How tall and how wide does a letter at this place look from the seat?
///
/// **Formula** r = √(D² + X²); height 2 atan(h/2r); width atan((X + w/2)/D) −
/// atan((X − w/2)/D). Height falls with cos φ, width with cos² φ. **Source**
/// geometry (derived). **Range** sizes and distance more than zero, height up
/// to 120°.
///
/// ```
/// use farpoint::vision::{demand::{Seat, letter_seen}, units::Metres};
/// let seat = Seat { to_the_board: Metres::new(4.0)?, aside: Metres::new(2.5)? };
/// let letter = letter_seen(Metres::new(0.025)?, Metres::new(0.025)?, seat)?;
/// assert!((letter.obliquity.get() - 32.0).abs() < 0.01);
/// assert!((letter.working_demand().get() - 0.49).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A size or distance of nothing.
pub fn letter_seen(height: Metres, width: Metres, seat: Seat) -> Result<LetterSeen, OutOfRange> {
    let d = sight_distance(seat.to_the_board)?;
    let obliquity = seat.obliquity()?;
    let x = seat.aside.get().abs();
    let sight = Metres::new(d.hypot(x))?;
    let half = target_size(width)? / 2.0;
    let tall = Arcminutes::new(visual_angle(height, sight)?.arcminutes())?;
    let wide = Arcminutes::from_radians(((x + half) / d).atan() - ((x - half) / d).atan())?;
    Ok(LetterSeen {
        sight_distance: sight,
        obliquity,
        height: tall,
        width: wide,
        height_demand: of_angle(tall.get())?,
        width_demand: of_angle(wide.get())?,
    })
}

/// What the writing on a board asks for from one seat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BoardDemand {
    /// The letter hardest to see: the one at the far edge of the board.
    Seen(LetterSeen),
    /// The seat is so far to the side that no device should be computed for it.
    MoveTheSeat {
        /// How far to the side.
        obliquity: Degrees,
    },
}

/// What does the writing on this board ask for from this seat?
///
/// **Formula** [`letter_seen`] for a letter as wide as its x-height, at the
/// board's far edge, |X| + W/2 aside; without a width, at the board's centre.
/// **Source** geometry (derived); that the smaller angle decides, that a small
/// letter is as wide as tall, and 60° as the limit are common practice.
/// **Range** as [`letter_seen`]; a seat more than 60° aside is answered with
/// [`BoardDemand::MoveTheSeat`].
///
/// ```
/// use farpoint::vision::demand::{BoardDemand, Seat, on_board};
/// use farpoint::vision::units::Metres;
/// let writing = Metres::new(0.03)?;
/// let side = Seat { to_the_board: Metres::new(1.0)?, aside: Metres::new(2.0)? };
/// assert!(matches!(on_board(writing, side, None)?, BoardDemand::MoveTheSeat { .. }));
/// let centre = Seat::in_front(Metres::new(3.0)?);
/// let BoardDemand::Seen(letter) = on_board(writing, centre, Some(Metres::new(2.4)?))? else {
///     panic!("the centre row sees the board");
/// };
/// assert!(letter.sight_distance > Metres::new(3.2)?);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// As [`letter_seen`], or a board of no width.
pub fn on_board(x_height: Metres, seat: Seat, board_width: Option<Metres>) -> Result<BoardDemand, OutOfRange> {
    let obliquity = seat.obliquity()?;
    if obliquity > FARTHEST_ASIDE {
        return Ok(BoardDemand::MoveTheSeat { obliquity });
    }
    let half_board = match board_width {
        Some(width) => within("board width", "m", width.get(), above_zero(100.0))? / 2.0,
        None => 0.0,
    };
    let far_edge = Seat { to_the_board: seat.to_the_board, aside: Metres::new(seat.aside.get().abs() + half_board)? };
    letter_seen(x_height, x_height, far_edge).map(BoardDemand::Seen)
}

/// How strongly must an eye focus for this distance?
///
/// **Formula** 1/d. **Source** definition; 4.38 D at 23 cm measured in
/// classrooms (Narayanasamy et al. 2016, seen). **Range** a centimetre or more.
///
/// ```
/// use farpoint::vision::{demand::focusing_demand, units::Metres};
/// assert_eq!(focusing_demand(Metres::new(0.25)?)?.get(), 4.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A distance outside the range.
pub fn focusing_demand(distance: Metres) -> Result<super::units::Dioptres, OutOfRange> {
    within("distance", "m", distance.get(), 0.01..=10_000.0)?;
    distance.vergence()
}
