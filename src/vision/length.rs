//! What length did the person mean who typed this?
//!
//! Reads feet and inches, metres, centimetres and millimetres, fractions and
//! decimal commas, the way people write them. Never guesses a unit: a number
//! alone is answered with the question for its unit.
//!
//! Does not keep the typed text; whoever stores the length stores the text
//! beside it. Does not know which lengths suit a seat or a letter.
//! Read next: [`shown`] for the way back, from a length to words.

use thiserror::Error;

use super::units::{Metres, OutOfRange, above_zero, within};

mod reading;
pub mod shown;

use reading::{Piece, pieces};

/// Why a typed length could not be taken, in words that say what would be right.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LengthError {
    /// Nothing was typed.
    #[error("write a length with its unit, for example 4.6 m or 15 ft")]
    Empty,
    /// A number without a unit; both readings are offered, none is chosen.
    #[error("add the unit to {number}, for example {number} m or {number} ft")]
    MissingUnit {
        /// The number as typed.
        number: String,
    },
    /// A second number without a unit.
    #[error("add the unit to the second number too, for example 15 ft {number} in")]
    MissingSecondUnit {
        /// The number as typed.
        number: String,
    },
    /// A word that is no unit of length known here.
    #[error("write the unit as m, cm, mm, ft or in, instead of \u{201c}{unit}\u{201d}")]
    UnknownUnit {
        /// The word as typed.
        unit: String,
    },
    /// Letters and signs that make no length.
    #[error("write digits and a unit, for example 4.6 m, 15 ft 6 in or 3/4 in")]
    Unreadable,
    /// Zero or less.
    #[error("write a length of more than zero")]
    NotPositive,
    /// A comma before three digits: thousands or decimals?
    #[error("write {decimal} or {thousands}, so that the comma cannot be read two ways")]
    AmbiguousComma {
        /// The number if the comma marks decimals.
        decimal: String,
        /// The number if the comma groups thousands.
        thousands: String,
    },
    /// A fraction over nothing.
    #[error("write the fraction with a number other than zero below the line, for example 3/4 in")]
    NothingBelowTheLine,
    /// Two lengths that do not go together.
    #[error("write feet before inches (15 ft 6 in), metres before centimetres (4 m 60 cm), or one length alone")]
    MixedUnits,
    /// The second of two lengths fills the first.
    #[error("write the second part as less than one of the first, for example 5 ft 11 in")]
    SecondPartTooLarge,
    /// Longer than anything seen from a desk or through a telescope, or finer than a hair.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// The units of length that people type.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Unit {
    Metre,
    Centimetre,
    Millimetre,
    Foot,
    Inch,
}

impl Unit {
    fn named(word: &str) -> Option<Self> {
        Some(match word.trim_end_matches('.') {
            "m" | "metre" | "metres" | "meter" | "meters" => Self::Metre,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Self::Centimetre,
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Self::Millimetre,
            "ft" | "foot" | "feet" | "'" => Self::Foot,
            "in" | "inch" | "inches" | "ins" | "\"" => Self::Inch,
            _ => return None,
        })
    }

    /// Divides rather than multiplies by a decimal, so that 460 cm is 4.6 m
    /// to the last bit.
    fn length_of(self, number: f64) -> f64 {
        match self {
            Self::Metre => number,
            Self::Centimetre => number / 100.0,
            Self::Millimetre => number / 1_000.0,
            Self::Foot => number * METRES_PER_FOOT,
            Self::Inch => number * METRES_PER_INCH,
        }
    }
}

/// The international foot, exact by definition since 1959.
pub const METRES_PER_FOOT: f64 = 0.3048;

/// The international inch, a twelfth of the foot.
pub const METRES_PER_INCH: f64 = 0.0254;

/// What length is this?
///
/// **Formula** number × unit, with 1 ft = 0.3048 m and 1 in = 0.0254 m.
/// **Source** the definition of the international foot (1959). **Range** more
/// than zero, from a hundredth of a millimetre to 10 km.
///
/// ```
/// use farpoint::vision::length::{LengthError, parse};
/// assert_eq!(parse("460 cm")?.get(), 4.6);
/// assert_eq!(parse("15' 6\"")?, parse("15 ft 6 in")?);
/// assert_eq!(parse("4,6 m")?, parse("4.6 metres")?);
/// let asked = parse("15").unwrap_err();
/// assert_eq!(asked.to_string(), "add the unit to 15, for example 15 m or 15 ft");
/// # Ok::<(), LengthError>(())
/// ```
///
/// # Errors
/// One variant for each way a length can be unclear; nothing is guessed.
pub fn parse(text: &str) -> Result<Metres, LengthError> {
    let pieces = pieces(text)?;
    let metres = match pieces.as_slice() {
        [] => return Err(LengthError::Empty),
        // No unit makes a length of it, so none is asked for.
        [only] if only.unit.is_empty() && only.value <= 0.0 => return Err(LengthError::NotPositive),
        [only] => unit_of(only)?.length_of(only.value),
        [first, second] => {
            let large = unit_of(first)?;
            if second.unit.is_empty() {
                return Err(LengthError::MissingSecondUnit { number: second.number.clone() });
            }
            let small = unit_of(second)?;
            let filled = match (large, small) {
                (Unit::Foot, Unit::Inch) => 12.0,
                (Unit::Metre, Unit::Centimetre) => 100.0,
                _ => return Err(LengthError::MixedUnits),
            };
            // Half a foot and six inches is a slip of the pen, not a length.
            if first.value.fract() > 0.0 {
                return Err(LengthError::MixedUnits);
            }
            if second.value >= filled {
                return Err(LengthError::SecondPartTooLarge);
            }
            large.length_of(first.value) + small.length_of(second.value)
        }
        _ => return Err(LengthError::MixedUnits),
    };
    if metres <= 0.0 {
        return Err(LengthError::NotPositive);
    }
    within("length", "m", metres, 0.000_01..=10_000.0)?;
    Ok(Metres::new(metres)?)
}

fn unit_of(piece: &Piece) -> Result<Unit, LengthError> {
    if piece.unit.is_empty() {
        return Err(LengthError::MissingUnit { number: piece.number.clone() });
    }
    Unit::named(&piece.unit).ok_or_else(|| LengthError::UnknownUnit { unit: piece.unit.clone() })
}

/// Which length is this number of feet?
///
/// **Formula** feet × 0.3048. **Source** the definition of the international
/// foot (1959). **Range** more than zero, up to 30 000 ft.
///
/// ```
/// use farpoint::vision::length::feet;
/// assert!((feet(20.0)?.get() - 6.096).abs() < 1e-12);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A number of feet outside the range.
pub fn feet(number: f64) -> Result<Metres, OutOfRange> {
    within("length", "ft", number, above_zero(30_000.0))?;
    Metres::new(number * METRES_PER_FOOT)
}
