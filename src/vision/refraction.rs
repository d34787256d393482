//! What lens does this eye need, however it is written?
//!
//! Sphere, cylinder and axis in either cylinder form, as components that may
//! be averaged, and at another distance from the eye. Refractions are compared
//! and averaged as [`PowerVector`]s only, never figure by figure.
//!
//! Does not prescribe and does not choose a form; it converts.
//! Read next: [`check`] for what may be typed.

use super::units::{Degrees, Dioptres, Metres, OutOfRange, above_zero, quantity, within};

pub mod check;

quantity! {
    /// The axis of a cylinder, more than 0 and up to 180; 0 is written as 180.
    Axis: "axis", "degrees", 0.000_000_001..=180.0
}

impl Axis {
    /// Which axis was typed, as the trade writes it?
    ///
    /// **Formula** 0 becomes 180. **Source** the trade's convention (common
    /// practice). **Range** 0 to 180; anything else is refused, not turned.
    ///
    /// ```
    /// use farpoint::vision::{refraction::Axis, units::Degrees};
    /// assert_eq!(Axis::typed(Degrees::new(0.0)?)?.get(), 180.0);
    /// assert!(Axis::typed(Degrees::new(200.0)?).is_err());
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// An axis outside the range.
    pub fn typed(axis: Degrees) -> Result<Self, OutOfRange> {
        let axis = within("axis", "degrees", axis.get(), 0.0..=180.0)?;
        Ok(Self::of_any(axis))
    }

    /// Any angle, turned into the range: for computed axes only.
    fn of_any(degrees: f64) -> Self {
        let turned = degrees.rem_euclid(180.0);
        // A computed axis this near to zero is zero, which is written 180.
        Self(if turned < 1e-9 { 180.0 } else { turned })
    }

    /// The axis at right angles.
    fn across(self) -> Self {
        Self::of_any(self.0 + 90.0)
    }
}

/// A lens for one eye: sphere, and a cylinder with its axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Lens {
    /// Sphere, with its sign.
    pub sphere: Dioptres,
    /// Cylinder, with its sign; zero when there is none.
    pub cylinder: Dioptres,
    /// Axis of the cylinder; 180 when there is none.
    pub axis: Axis,
}

/// The three components of a lens that add like lengths.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PowerVector {
    /// The spherical equivalent, M.
    pub mean: Dioptres,
    /// The cross-cylinder at 180 and 90, J0.
    pub straight: Dioptres,
    /// The cross-cylinder at 45 and 135, J45.
    pub diagonal: Dioptres,
}

impl Lens {
    /// What is the same lens in the other cylinder form?
    ///
    /// **Formula** S + C, −C, axis ± 90. **Source** definition. **Range** all;
    /// twice gives the lens back.
    ///
    /// ```
    /// use farpoint::vision::refraction::{Axis, Lens};
    /// use farpoint::vision::units::Dioptres;
    /// let lens = Lens {
    ///     sphere: Dioptres::new(2.5)?, cylinder: Dioptres::new(-1.5)?, axis: Axis::new(35.0)? };
    /// let other = lens.transposed();
    /// assert_eq!((other.sphere.get(), other.cylinder.get(), other.axis.get()), (1.0, 1.5, 125.0));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub fn transposed(self) -> Self {
        if self.cylinder.get().abs() < f64::MIN_POSITIVE {
            return self;
        }
        Self { sphere: self.sphere + self.cylinder, cylinder: -self.cylinder, axis: self.axis.across() }
    }

    /// Which sphere comes nearest to it?
    ///
    /// **Formula** S + C/2. **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::refraction::{Axis, Lens};
    /// use farpoint::vision::units::Dioptres;
    /// let lens = Lens {
    ///     sphere: Dioptres::new(-3.0)?, cylinder: Dioptres::new(-2.0)?, axis: Axis::new(180.0)? };
    /// assert_eq!(lens.spherical_equivalent()?.get(), -4.0);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A sum beyond the bounds of [`Dioptres`].
    pub fn spherical_equivalent(self) -> Result<Dioptres, OutOfRange> {
        Dioptres::new(self.sphere.get() + self.cylinder.get() / 2.0)
    }

    /// Which components does it have, for averaging and comparing?
    ///
    /// **Formula** M = S + C/2, J0 = −(C/2) cos 2A, J45 = −(C/2) sin 2A.
    /// **Source** Thibos and Horner define the components (seen); their
    /// formulas are from memory, checked against the power in all meridians
    /// (derived). **Range** all.
    ///
    /// ```
    /// use farpoint::vision::refraction::{Axis, Lens};
    /// use farpoint::vision::units::Dioptres;
    /// let lens = Lens {
    ///     sphere: Dioptres::new(-3.0)?, cylinder: Dioptres::new(-2.0)?, axis: Axis::new(180.0)? };
    /// let vector = lens.power_vector()?;
    /// assert_eq!((vector.mean.get(), vector.straight.get()), (-4.0, 1.0));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// As [`Lens::spherical_equivalent`].
    pub fn power_vector(self) -> Result<PowerVector, OutOfRange> {
        let half = -self.cylinder.get() / 2.0;
        let double = (2.0 * self.axis.get()).to_radians();
        Ok(PowerVector {
            mean: self.spherical_equivalent()?,
            straight: Dioptres::new(half * double.cos())?,
            diagonal: Dioptres::new(half * double.sin())?,
        })
    }

    /// How strong is it in one meridian?
    ///
    /// **Formula** S + C sin²(m − A). **Source** definition. **Range** all.
    ///
    /// ```
    /// use farpoint::vision::refraction::{Axis, Lens};
    /// use farpoint::vision::units::{Degrees, Dioptres};
    /// let lens = Lens {
    ///     sphere: Dioptres::new(-8.0)?, cylinder: Dioptres::new(-3.0)?, axis: Axis::new(180.0)? };
    /// assert!((lens.power_in(Degrees::new(90.0)?)?.get() + 11.0).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A sum beyond the bounds of [`Dioptres`].
    pub fn power_in(self, meridian: Degrees) -> Result<Dioptres, OutOfRange> {
        let across = (meridian.get() - self.axis.get()).to_radians().sin();
        Dioptres::new(self.sphere.get() + self.cylinder.get() * across * across)
    }

    /// Which lens does the same nearer to the eye, or farther from it?
    ///
    /// **Formula** each principal meridian by [`at_other_distance`], then their
    /// difference. **Source** vertex formula of teaching pages (seen), applied
    /// to both meridians (derived). **Range** as there. Needed above about 4 D.
    ///
    /// ```
    /// use farpoint::vision::refraction::{Axis, Lens};
    /// use farpoint::vision::units::{Dioptres, Metres};
    /// let lens = Lens {
    ///     sphere: Dioptres::new(-8.0)?, cylinder: Dioptres::new(-3.0)?, axis: Axis::new(180.0)? };
    /// let contact = lens.moved_toward_eye(Metres::new(0.012)?)?;
    /// assert!((contact.sphere.get() + 7.30).abs() < 0.01);
    /// assert!((contact.cylinder.get() + 2.42).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// As [`at_other_distance`].
    pub fn moved_toward_eye(self, moved: Metres) -> Result<Self, OutOfRange> {
        let sphere = at_other_distance(self.sphere, moved)?;
        let other = at_other_distance(self.sphere + self.cylinder, moved)?;
        Ok(Self { sphere, cylinder: other - sphere, axis: self.axis })
    }
}

impl PowerVector {
    /// How much blur is it, all together?
    ///
    /// **Formula** √(M² + J0² + J45²). **Source** Thibos and Horner (seen).
    /// **Range** all.
    ///
    /// ```
    /// use farpoint::vision::{refraction::PowerVector, units::Dioptres};
    /// let vector = PowerVector {
    ///     mean: Dioptres::new(-4.0)?, straight: Dioptres::new(1.0)?, diagonal: Dioptres::new(0.0)? };
    /// assert!((vector.blur_strength()?.get() - 4.123).abs() < 0.001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Components beyond any lens.
    pub fn blur_strength(self) -> Result<Dioptres, OutOfRange> {
        let cross = self.straight.get().hypot(self.diagonal.get());
        Dioptres::new(self.mean.get().hypot(cross))
    }

    /// Which lens has these components, in minus-cylinder form?
    ///
    /// **Formula** C = −2√(J0² + J45²), S = M − C/2, A = ½ atan2(J45, J0).
    /// **Source** [`Lens::power_vector`] solved (derived). **Range** all;
    /// without a cylinder the axis is 180 by convention.
    ///
    /// ```
    /// use farpoint::vision::{refraction::PowerVector, units::Dioptres};
    /// let vector = PowerVector {
    ///     mean: Dioptres::new(2.0)?, straight: Dioptres::new(-0.5)?, diagonal: Dioptres::new(0.0)? };
    /// let lens = vector.lens()?;
    /// assert_eq!((lens.sphere.get(), lens.cylinder.get(), lens.axis.get()), (2.5, -1.0, 90.0));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Components beyond any lens.
    pub fn lens(self) -> Result<Lens, OutOfRange> {
        let (j0, j45) = (self.straight.get(), self.diagonal.get());
        let cylinder = -2.0 * j0.hypot(j45);
        Ok(Lens {
            sphere: Dioptres::new(self.mean.get() - cylinder / 2.0)?,
            cylinder: Dioptres::new(cylinder)?,
            axis: Axis::of_any((0.5 * j45.atan2(j0)).to_degrees()),
        })
    }
}

/// Which power does the same, moved toward the eye?
///
/// **Formula** F/(1 − xF), x positive toward the eye. **Source** teaching pages
/// on vertex distance (seen). **Range** x −5 to +5 cm, and the lens short of
/// its own focus: xF below 1.
///
/// ```
/// use farpoint::vision::{refraction::at_other_distance, units::{Dioptres, Metres}};
/// let contact = at_other_distance(Dioptres::new(-10.0)?, Metres::new(0.012)?)?;
/// assert!((contact.get() + 8.93).abs() < 0.01);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// Values outside the range.
pub fn at_other_distance(power: Dioptres, moved: Metres) -> Result<Dioptres, OutOfRange> {
    let x = within("move toward the eye", "m", moved.get(), -0.05..=0.05)?;
    let f = within("lens power", "D", power.get(), -60.0..=60.0)?;
    let left = within("room before the focus of the lens", "", 1.0 - x * f, above_zero(10.0))?;
    Dioptres::new(f / left)
}

/// What eyes of one age can accommodate, by the old formulas.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Accommodation {
    /// The least to expect.
    pub minimum: Dioptres,
    /// The average.
    pub average: Dioptres,
    /// The most.
    pub maximum: Dioptres,
}

/// How much can an eye of this age accommodate?
///
/// **Formula** 15 − 0.25 a, 18.5 − 0.30 a, 25 − 0.40 a dioptres. **Source**
/// Hofstetter 1950 as quoted in an encyclopaedia (seen second-hand). A push-up survey of children found less (mean 14.44 D
/// at 9.2 years, seen), and eyes with low vision often have far less: a
/// measured value always replaces this one.
/// **Range** 4 to 60 years, where the minimum reaches zero.
///
/// ```
/// use farpoint::vision::refraction::accommodation_by_age;
/// assert_eq!(accommodation_by_age(8.0)?.minimum.get(), 13.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// An age outside the range.
pub fn accommodation_by_age(years: f64) -> Result<Accommodation, OutOfRange> {
    let age = within("age", "years", years, 4.0..=60.0)?;
    Ok(Accommodation {
        minimum: Dioptres::new(15.0 - 0.25 * age)?,
        average: Dioptres::new(18.5 - 0.30 * age)?,
        maximum: Dioptres::new(25.0 - 0.40 * age)?,
    })
}

/// How much accommodation can be held while reading on?
///
/// **Formula** half the amplitude. **Source** common practice; measure where it
/// matters. **Range** amplitude 0 to 25 D.
///
/// ```
/// use farpoint::vision::{refraction::sustained, units::Dioptres};
/// assert_eq!(sustained(Dioptres::new(13.0)?)?.get(), 6.5);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// An amplitude outside the range.
pub fn sustained(amplitude: Dioptres) -> Result<Dioptres, OutOfRange> {
    Dioptres::new(within("amplitude of accommodation", "D", amplitude.get(), 0.0..=25.0)? / 2.0)
}
