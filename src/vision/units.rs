//! Numbers that wear their unit, so that millimetres cannot be added to dioptres.
//!
//! Every quantity is a plain `f64` behind a private field. It is made by `new`,
//! which refuses what is not finite or not of this world, and read by `get`.
//! Only operators that mean something in physics exist.
//!
//! Does not know which values are sensible for one question: each function
//! states its own narrower range and answers outside it with [`OutOfRange`].
//! Read next: [`crate::vision::length`] for what people type.

use std::fmt;
use std::ops::{Add, Bound, Neg, RangeBounds, Sub};

/// A number outside what a quantity, or one formula, can take.
///
/// Says the name of the quantity, the bounds, the unit and the number given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// What the number stood for, in words.
    pub quantity: &'static str,
    /// The unit of the bounds and of the number; empty for a plain ratio.
    pub unit: &'static str,
    /// The lower bound.
    pub low: Bound<f64>,
    /// The upper bound.
    pub high: Bound<f64>,
    /// The number that was refused.
    pub given: f64,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let gap = if self.unit.is_empty() { "" } else { " " };
        let unit = self.unit;
        write!(f, "{} must be", self.quantity)?;
        match self.low {
            Bound::Included(low) => write!(f, " at least {low}{gap}{unit}")?,
            Bound::Excluded(low) => write!(f, " more than {low}{gap}{unit}")?,
            Bound::Unbounded => write!(f, " any number")?,
        }
        match self.high {
            Bound::Included(high) => write!(f, " and at most {high}{gap}{unit}")?,
            Bound::Excluded(high) => write!(f, " and less than {high}{gap}{unit}")?,
            Bound::Unbounded => {}
        }
        if self.given.is_finite() {
            let size = self.given.abs();
            // Nobody counts three hundred noughts.
            if size >= 1e15 || (size > 0.0 && size < 1e-9) {
                write!(f, ", not {:e}{gap}{unit}", self.given)
            } else {
                write!(f, ", not {}{gap}{unit}", self.given)
            }
        } else {
            write!(f, ", written in plain digits")
        }
    }
}

impl std::error::Error for OutOfRange {}

/// Lets a number through unchanged if it lies within the bounds.
///
/// NaN lies within no bounds. A negative zero becomes zero, so that equal
/// numbers are equal bit for bit.
pub(crate) fn within(
    quantity: &'static str,
    unit: &'static str,
    given: f64,
    bounds: impl RangeBounds<f64>,
) -> Result<f64, OutOfRange> {
    if given.is_finite() && bounds.contains(&given) {
        return Ok(given + 0.0);
    }
    Err(OutOfRange { quantity, unit, low: bounds.start_bound().cloned(), high: bounds.end_bound().cloned(), given })
}

/// The bounds of a number that must be more than nothing.
pub(crate) const fn above_zero(high: f64) -> (Bound<f64>, Bound<f64>) {
    (Bound::Excluded(0.0), Bound::Included(high))
}

/// The bounds of a number that must be more than nothing, however large.
pub(crate) const POSITIVE: (Bound<f64>, Bound<f64>) = (Bound::Excluded(0.0), Bound::Unbounded);

/// A count from a number that is already whole, if it fits.
pub(crate) fn count(whole: f64) -> Option<u32> {
    // The comparison makes the conversion exact; NaN fails it.
    ((0.0..=f64::from(u32::MAX)).contains(&whole) && whole.fract().abs() < f64::EPSILON).then_some(whole as u32)
}

/// Declares one quantity: its documentation, name, words, unit and bounds.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident: $words:literal, $unit:literal, $low:literal..=$high:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug)]
        pub struct $name(f64);

        impl $name {
            /// Takes a number in this unit.
            ///
            /// # Errors
            /// Refuses what is not finite or lies outside the bounds of the type.
            pub fn new(value: f64) -> Result<Self, $crate::vision::units::OutOfRange> {
                $crate::vision::units::within($words, $unit, value, $low..=$high).map(Self)
            }

            /// A constant of the code; in a `const` a wrong one does not compile.
            ///
            /// # Panics
            /// Outside the bounds of the type. Never call it with a value from outside.
            pub const fn literal(value: f64) -> Self {
                assert!(value >= $low && value <= $high, "a constant outside its bounds");
                Self(value)
            }

            /// The number in this unit.
            pub const fn get(self) -> f64 {
                self.0
            }
        }

        impl PartialEq for $name {
            fn eq(&self, other: &Self) -> bool {
                self.cmp(other).is_eq()
            }
        }

        impl Eq for $name {}

        impl PartialOrd for $name {
            fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
                Some(self.cmp(other))
            }
        }

        impl Ord for $name {
            fn cmp(&self, other: &Self) -> std::cmp::Ordering {
                self.0.total_cmp(&other.0)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                if $unit.is_empty() {
                    write!(f, "{}", self.0)
                } else {
                    write!(f, "{} {}", self.0, $unit)
                }
            }
        }
    };
}
pub(crate) use quantity;

quantity! {
    /// A length in metres, signed: an offset to the left is negative.
    ///
    /// ```
    /// use farpoint::vision::units::Metres;
    /// let seat = Metres::new(4.0)?;
    /// assert_eq!((seat - Metres::new(1.0)?).get(), 3.0);
    /// assert!(Metres::new(f64::NAN).is_err());
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    Metres: "length", "m", -100_000.0..=100_000.0
}

quantity! {
    /// A length in millimetres, signed.
    Millimetres: "length", "mm", -100_000_000.0..=100_000_000.0
}

quantity! {
    /// A lens power or a vergence in dioptres: one over metres.
    ///
    /// Light travels left to right; diverging light and minus lenses are negative.
    Dioptres: "power", "D", -1_000.0..=1_000.0
}

quantity! {
    /// An angle in degrees.
    Degrees: "angle", "degrees", -360.0..=360.0
}

quantity! {
    /// A visual angle in minutes of arc.
    Arcminutes: "visual angle", "arcmin", 0.000_001..=21_600.0
}

quantity! {
    /// One size over another of the same kind: a reserve, an enlargement.
    ///
    /// ```
    /// use farpoint::vision::units::Ratio;
    /// assert!(Ratio::new(2.5)? > Ratio::new(2.0)?);
    /// let refused = Ratio::new(0.0).unwrap_err();
    /// assert_eq!(refused.quantity, "ratio");
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    Ratio: "ratio", "", 0.000_000_001..=1_000_000_000.0
}

quantity! {
    /// A part of a whole, from 0 to 1.
    Fraction: "fraction", "", 0.0..=1.0
}

quantity! {
    /// The power of a telescope as the trade writes it, "8×": how many times
    /// larger an angle looks, without the sign that tells the kind of telescope.
    Magnification: "magnification", "×", 0.01..=100.0
}

quantity! {
    /// A span of time in seconds.
    Seconds: "time", "s", 0.0..=1_000_000.0
}

quantity! {
    /// Light falling on a surface, in lux.
    Lux: "illuminance", "lx", 0.0..=1_000_000.0
}

quantity! {
    /// Light leaving a surface toward the eye, in candelas per square metre.
    Luminance: "luminance", "cd/m²", 0.0..=10_000_000.0
}

impl Metres {
    /// How strongly light from this far away diverges, or what power focuses there?
    ///
    /// **Formula** F = 1/d. **Source** definition of the dioptre. **Range** any
    /// length but zero and the extremely short.
    ///
    /// ```
    /// use farpoint::vision::units::Metres;
    /// assert_eq!(Metres::new(0.25)?.vergence()?.get(), 4.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A length of less than a millimetre has no vergence that means anything.
    pub fn vergence(self) -> Result<Dioptres, OutOfRange> {
        within("length", "m", self.0.abs(), 0.001..=100_000.0)?;
        Dioptres::new(1.0 / self.0)
    }

    /// How many millimetres is that?
    ///
    /// **Formula** 1000 m. **Source** definition. **Range** any length.
    ///
    /// ```
    /// use farpoint::vision::units::Metres;
    /// assert_eq!(Metres::new(0.025)?.in_millimetres().get(), 25.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub const fn in_millimetres(self) -> Millimetres {
        // A thousand times the bounds of metres are the bounds of millimetres.
        Millimetres(self.0 * 1_000.0)
    }
}

impl Millimetres {
    /// How many metres is that?
    ///
    /// **Formula** mm / 1000. **Source** definition. **Range** any length.
    ///
    /// ```
    /// use farpoint::vision::units::Millimetres;
    /// assert_eq!(Millimetres::new(25.0)?.in_metres().get(), 0.025);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub const fn in_metres(self) -> Metres {
        Metres(self.0 / 1_000.0)
    }
}

impl Dioptres {
    /// At which distance does this power focus distant light?
    ///
    /// **Formula** f = 1/F. **Source** definition of the dioptre. **Range** any
    /// power but zero and the extremely weak.
    ///
    /// ```
    /// use farpoint::vision::units::Dioptres;
    /// assert_eq!(Dioptres::new(20.0)?.focal_length()?.get(), 0.05);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// No power, no focus.
    pub fn focal_length(self) -> Result<Metres, OutOfRange> {
        within("power", "D", self.0.abs(), 0.000_01..=1_000.0)?;
        Metres::new(1.0 / self.0)
    }
}

impl Degrees {
    /// How large is it in radians, for the trigonometry?
    ///
    /// **Formula** π θ / 180. **Source** definition. **Range** any angle.
    ///
    /// ```
    /// use farpoint::vision::units::Degrees;
    /// assert_eq!(Degrees::new(180.0)?.radians(), std::f64::consts::PI);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub const fn radians(self) -> f64 {
        self.0.to_radians()
    }
}

impl Arcminutes {
    /// How large is it in radians, for the trigonometry?
    ///
    /// **Formula** π θ / 10 800; a minute is 2.908882e-4. **Source**
    /// definition. **Range** any visual angle.
    ///
    /// ```
    /// use farpoint::vision::units::Arcminutes;
    /// assert!((Arcminutes::new(1.0)?.radians() - 2.908882e-4).abs() < 1e-10);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub const fn radians(self) -> f64 {
        (self.0 / 60.0).to_radians()
    }

    /// Which visual angle is so many radians?
    ///
    /// **Formula** 10 800 θ / π. **Source** definition. **Range** more than
    /// nothing, up to a full turn.
    ///
    /// ```
    /// use farpoint::vision::units::Arcminutes;
    /// assert!((Arcminutes::from_radians(0.01)?.get() - 34.38).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Nothing, or more than a full turn.
    pub fn from_radians(angle: f64) -> Result<Self, OutOfRange> {
        Self::new(angle.to_degrees() * 60.0)
    }
}

/// Adding and taking away, for quantities where that is a length or a power again.
macro_rules! sums {
    ($($name:ident),+) => {$(
        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0 + 0.0)
            }
        }
        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0 + 0.0)
            }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(0.0 - self.0)
            }
        }
    )+};
}
sums!(Metres, Millimetres, Dioptres, Degrees);
