//! Which part of a board lies inside the field, seen from this seat?
//!
//! A field is a cone around the line of sight, as wide as the true field. The
//! plane of the board cuts it in a circle when the eye looks straight at the
//! board, and in an ellipse, longer away from the seat, when it looks from the
//! side. What is looked at is taken to be at the height of the eye.
//!
//! Does not know where the next look goes; read next: [`super::sweep`].

use super::true_field;
use crate::vision::demand::sight_distance;
use crate::vision::units::{Degrees, Metres, OutOfRange, within};

/// The ellipse that a field cuts out of the plane of a board.
///
/// Places are measured along the board from the point straight before the eye,
/// to the right as the student sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Outline {
    /// Where the line of sight meets the board.
    pub looked_at: Metres,
    /// The middle of the ellipse; from the side it lies farther out than what
    /// is looked at.
    pub middle: Metres,
    /// Half its width, along the board.
    pub half_width: Metres,
    /// Half its height.
    pub half_height: Metres,
}

impl Outline {
    /// Where does it begin on the left?
    ///
    /// **Formula** middle − half width. **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::telescope::outline::field_on_board;
    /// use farpoint::vision::units::{Degrees, Metres};
    /// let seen = field_on_board(Metres::new(4.0)?, Degrees::new(0.0)?, Degrees::new(9.0)?)?;
    /// assert!((seen.left().get() + 0.3148).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn left(self) -> Metres {
        self.middle - self.half_width
    }

    /// Where does it end on the right?
    ///
    /// **Formula** middle + half width. **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::telescope::outline::field_on_board;
    /// use farpoint::vision::units::{Degrees, Metres};
    /// let seen = field_on_board(Metres::new(4.0)?, Degrees::new(0.0)?, Degrees::new(9.0)?)?;
    /// assert!((seen.right().get() - 0.3148).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn right(self) -> Metres {
        self.middle + self.half_width
    }

    /// How wide is it along the board?
    ///
    /// **Formula** twice the half width. **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::telescope::outline::field_on_board;
    /// use farpoint::vision::units::{Degrees, Metres};
    /// let seen = field_on_board(Metres::new(4.0)?, Degrees::new(0.0)?, Degrees::new(9.0)?)?;
    /// assert!((seen.width().get() - 0.6296).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn width(self) -> Metres {
        self.half_width + self.half_width
    }
}

/// Which part of the board's plane does a look in this direction show?
///
/// **Formula** with h half the true field and β the direction, k = cos²β −
/// sin²h: looked at D tan β; middle D sin β cos β/k; half width D sin h cos h/k;
/// half height D sin h/√k. Straight ahead both halves are D tan h, as
/// [`super::field_width`] has it. **Source** the plane section of a cone
/// (derived), checked against rays one by one. **Range** true field up to 90°;
/// the far edge of the field less than 89° from straight ahead, because beyond
/// it the board is not seen but skimmed.
///
/// ```
/// use farpoint::vision::telescope::outline::field_on_board;
/// use farpoint::vision::units::{Degrees, Metres};
/// let (seat, field) = (Metres::new(4.0)?, Degrees::new(9.0)?);
/// let ahead = field_on_board(seat, Degrees::new(0.0)?, field)?;
/// assert!((ahead.width().get() - 0.6296).abs() < 0.0001);
/// assert!((ahead.half_width - ahead.half_height).get().abs() < 1e-9);
/// let aside = field_on_board(seat, Degrees::new(40.0)?, field)?;
/// assert!((aside.width().get() - 1.0776).abs() < 0.0001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn field_on_board(to_the_board: Metres, direction: Degrees, field: Degrees) -> Result<Outline, OutOfRange> {
    let d = sight_distance(to_the_board)?;
    let half = true_field(field)? / 2.0;
    within("far edge of the field from straight ahead", "degrees", direction.get().abs() + half, 0.0..89.0)?;
    let (h, b) = (half.to_radians(), direction.radians());
    // Positive, because the far edge is short of 90 degrees.
    let k = b.cos().powi(2) - h.sin().powi(2);
    Ok(Outline {
        looked_at: Metres::new(d * b.tan())?,
        middle: Metres::new(d * b.sin() * b.cos() / k)?,
        half_width: Metres::new(d * h.sin() * h.cos() / k)?,
        half_height: Metres::new(d * h.sin() / k.sqrt())?,
    })
}
