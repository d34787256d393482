//! How many looks does it take to see a whole board through this field?
//!
//! Counts views and strips, the share of the board seen at once, and the time
//! that this costs with the student's own measured medians. When it comes to
//! a dozen looks or a minute, another way of seeing that board serves better
//! (common practice).
//!
//! Does not know how long this student looks; times are inputs.
//! Read next: [`super::outline`] for which part one look shows, [`super::sweep`] for
//! where the looks go.

use super::{field_width, true_field};
use crate::vision::demand::{Seat, sight_distance};
use crate::vision::units::{Degrees, Fraction, Metres, OutOfRange, POSITIVE, Seconds, above_zero, count, within};

/// A board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Board {
    /// From left to right.
    pub width: Metres,
    /// From top to bottom.
    pub height: Metres,
}

/// What it takes to see a board.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coverage {
    /// How wide a part is seen at once.
    pub field_width: Metres,
    /// Views to follow one line of text across.
    pub views_across: u32,
    /// Views across in each strip when nothing may be missed.
    pub views_across_full: u32,
    /// Strips from top to bottom.
    pub strips_down: u32,
    /// The share of the board seen at once.
    pub seen_at_once: Fraction,
}

/// The strip height that covers a board with the inscribed square, 1/√2.
pub const INSCRIBED_SQUARE: Fraction = Fraction::literal(std::f64::consts::FRAC_1_SQRT_2);

/// The checked overlap between neighbouring views.
fn overlap(part: Fraction) -> Result<f64, OutOfRange> {
    within("overlap", "of the field", part.get(), 0.0..1.0)
}

/// How many fields of this width cover an extent, each overlapping the last.
fn views(extent: f64, field: f64, overlap: f64) -> Result<u32, OutOfRange> {
    if extent <= field {
        return Ok(1);
    }
    // A billionth of slack keeps rounding from adding a view.
    let more = ((extent - field) / (field * (1.0 - overlap)) - 1e-9).ceil();
    let views = within("number of views", "", more + 1.0, 1.0..=1_000_000.0)?;
    Ok(count(views).unwrap_or(u32::MAX))
}

/// How many views does this board take from straight in front?
///
/// **Formula** f = 2 D tan(t/2); n = 1 if W ≤ f, else ⌈(W − f)/(f(1 − o))⌉ + 1.
/// Strips are f·s high, and a full view in one is f·√(1 − s²) wide; s = 1/√2
/// gives the inscribed square. Share: area common to the round field and the
/// board, over the board. **Source** geometry (derived). **Range** overlap 0 to
/// less than 1, s between 0 and 1, field up to 90°.
///
/// ```
/// use farpoint::vision::telescope::coverage::{Board, INSCRIBED_SQUARE, board_coverage};
/// use farpoint::vision::units::{Degrees, Fraction, Metres};
/// let board = Board { width: Metres::new(2.4)?, height: Metres::new(1.2)? };
/// let looks = board_coverage(
///     board, Metres::new(4.0)?, Degrees::new(7.0)?, Fraction::new(0.2)?, INSCRIBED_SQUARE)?;
/// assert_eq!((looks.views_across, looks.strips_down), (6, 5));
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn board_coverage(
    board: Board,
    distance: Metres,
    field: Degrees,
    overlap_part: Fraction,
    strip_height: Fraction,
) -> Result<Coverage, OutOfRange> {
    let width = within("board width", "m", board.width.get(), above_zero(100.0))?;
    let height = within("board height", "m", board.height.get(), above_zero(100.0))?;
    let o = overlap(overlap_part)?;
    let open = (std::ops::Bound::Excluded(0.0), std::ops::Bound::Excluded(1.0));
    let s = within("strip height", "of the field", strip_height.get(), open)?;
    let f = field_width(field, distance)?;
    let seen = common_area(f.get() / 2.0, width / 2.0, height / 2.0) / (width * height);
    Ok(Coverage {
        field_width: f,
        views_across: views(width, f.get(), o)?,
        views_across_full: views(width, f.get() * (1.0 - s * s).sqrt(), o)?,
        strips_down: views(height, f.get() * s, o)?,
        // Rounding must not make the whole board more than the whole.
        seen_at_once: Fraction::new(seen.min(1.0))?,
    })
}

/// The area common to a circle and a rectangle with the same centre.
fn common_area(radius: f64, half_width: f64, half_height: f64) -> f64 {
    if radius.hypot(0.0) >= half_width.hypot(half_height) {
        return 4.0 * half_width * half_height;
    }
    // A quarter of the circle, cut off at the side and at the top.
    let under_arc = |x: f64| {
        // At the rim itself rounding may leave a hair below zero,
        let height = (radius * radius - x * x).max(0.0).sqrt();
        // or a hair above one.
        (x * height + radius * radius * (x / radius).min(1.0).asin()) / 2.0
    };
    // The side of the board or the rim of the field, whichever comes first.
    let right = half_width.min(radius);
    // Up to here the top of the board, not the circle, is the limit.
    let flat = if half_height < radius { (radius * radius - half_height * half_height).sqrt().min(right) } else { 0.0 };
    // So it is upward: the top of the board or the rim.
    4.0 * (half_height.min(radius) * flat + under_arc(right) - under_arc(flat))
}

/// A board seen from the side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ObliqueViews {
    /// The angle that the board fills.
    pub board: Degrees,
    /// Views to follow one line of text across.
    pub views_across: u32,
}

impl ObliqueViews {
    /// Which share of the width of the board is seen at once?
    ///
    /// **Formula** field / angle of the board, at most all of it. **Source**
    /// geometry (derived). **Range** field up to 90°.
    ///
    /// ```
    /// use farpoint::vision::telescope::coverage::ObliqueViews;
    /// use farpoint::vision::units::Degrees;
    /// let looks = ObliqueViews { board: Degrees::new(28.0)?, views_across: 5 };
    /// assert_eq!(looks.share_of_width(Degrees::new(7.0)?)?.get(), 0.25);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A field outside the range, or a board of no width.
    pub fn share_of_width(self, field: Degrees) -> Result<Fraction, OutOfRange> {
        let board = within("angle of the board", "\u{b0}", self.board.get(), POSITIVE)?;
        // A field wider than the board shows the whole of it.
        Fraction::new((true_field(field)? / board).min(1.0))
    }
}

/// How many views does this board take from a seat to the side?
///
/// **Formula** A = atan((X + W/2)/D) − atan((X − W/2)/D), then n as in
/// [`board_coverage`] with A for W and t for f. **Source** geometry (derived).
/// **Range** as there.
///
/// ```
/// use farpoint::vision::demand::Seat;
/// use farpoint::vision::telescope::coverage::views_from_the_side;
/// use farpoint::vision::units::{Degrees, Fraction, Metres};
/// let seat = Seat { to_the_board: Metres::new(3.0)?, aside: Metres::new(2.5)? };
/// let looks = views_from_the_side(
///     Metres::new(2.4)?, seat, Degrees::new(7.0)?, Fraction::new(0.2)?)?;
/// assert_eq!(looks.views_across, 5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn views_from_the_side(
    board_width: Metres,
    seat: Seat,
    field: Degrees,
    overlap_part: Fraction,
) -> Result<ObliqueViews, OutOfRange> {
    let half = within("board width", "m", board_width.get(), above_zero(100.0))? / 2.0;
    let d = sight_distance(seat.to_the_board)?;
    let x = within("offset to the side", "m", seat.aside.get(), -1_000.0..=1_000.0)?;
    let t = true_field(field)?;
    let board = (((x + half) / d).atan() - ((x - half) / d).atan()).to_degrees();
    Ok(ObliqueViews { board: Degrees::new(board)?, views_across: views(board, t, overlap(overlap_part)?)? })
}

/// More looks than this, and another way of seeing that board serves better.
/// Common practice.
pub const MANY_LOOKS: u32 = 12;

/// Longer than this, and another way of seeing that board serves better.
/// Common practice.
pub const LONG_LOOK: Seconds = Seconds::literal(60.0);

/// Are these more looks than a board is worth, so that another way serves better?
///
/// **Formula** more than 12 views, or more than 60 s where the time is known.
/// **Source** common practice: a nearer seat, less power, or a copy on the desk.
/// **Range** at least one view.
///
/// ```
/// use farpoint::vision::{telescope::coverage::too_many_looks, units::Seconds};
/// assert!(too_many_looks(18, None)?);
/// assert!(too_many_looks(9, Some(Seconds::new(72.0)?))?);
/// assert!(!too_many_looks(9, Some(Seconds::new(25.0)?))?);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No views at all.
pub fn too_many_looks(views: u32, time: Option<Seconds>) -> Result<bool, OutOfRange> {
    within("number of views", "", f64::from(views), 1.0..=1_000_000.0)?;
    Ok(views > MANY_LOOKS || time.is_some_and(|time| time > LONG_LOOK))
}

/// How long does it take to look at all these views?
///
/// **Formula** n · dwell + (n − 1) · move. **Source** derived; dwell and move
/// are the student's own measured medians. **Range** at least one view.
///
/// ```
/// use farpoint::vision::{telescope::coverage::scan_time, units::Seconds};
/// let time = scan_time(18, Seconds::new(2.0)?, Seconds::new(0.8)?)?;
/// assert!((time.get() - 49.6).abs() < 1e-9);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// No views at all.
pub fn scan_time(views: u32, dwell: Seconds, movement: Seconds) -> Result<Seconds, OutOfRange> {
    let n = within("number of views", "", f64::from(views), 1.0..=1_000_000.0)?;
    Seconds::new(n * dwell.get() + (n - 1.0) * movement.get())
}
