//! Which contrast is left on a projected or lit screen?
//!
//! Ambient light decides on a projection screen; the colours of the slide do
//! not. Ratios of the web guideline are a fourth measure, neither Weber nor
//! Michelson, and no substitute for a reserve.
//!
//! Does not know the room; lux values are inputs.
//! Read next: [`crate::vision::light`].

use std::ops::Bound;

use super::{Weber, within};
use crate::vision::units::{Fraction, Luminance, Lux, OutOfRange, Ratio, above_zero};

/// A projector in a room, by the light that reaches the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Projector {
    /// From the projector where the picture is white.
    pub white: Lux,
    /// From the projector where the picture is black.
    pub black: Lux,
}

/// What is left of a projected picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Projected {
    /// White as it leaves the screen.
    pub white: Luminance,
    /// Black as it leaves the screen.
    pub black: Luminance,
    /// White over black.
    pub system_ratio: f64,
    /// Weber contrast of dark text.
    pub dark_text: Weber,
    /// Michelson contrast.
    pub michelson: Fraction,
}

impl Projector {
    /// What contrast is left in this much ambient light?
    ///
    /// **Formula** white (Ep + Ea)ρ/π, black (Eb + Ea)ρ/π, ratio their
    /// quotient, Weber (Ep − Eb)/(Ep + Ea). **Source** Lambert's law (derived).
    /// **Range** white above black, a millionth of a lux or more on black, gain
    /// 0.05 to 3.
    ///
    /// ```
    /// use farpoint::vision::contrast::screen::Projector;
    /// use farpoint::vision::units::{Lux, Ratio};
    /// let projector = Projector { white: Lux::new(400.0)?, black: Lux::new(1.0)? };
    /// let lights_on = projector.in_room(Lux::new(150.0)?, Ratio::new(1.0)?)?;
    /// assert!((lights_on.system_ratio - 3.64).abs() < 0.01);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Values outside the range.
    pub fn in_room(self, ambient: Lux, gain: Ratio) -> Result<Projected, OutOfRange> {
        let gain = within("screen reflectance or gain", "", gain.get(), 0.05..=3.0)?;
        let (ep, eb) = self.checked()?;
        let dark = within("light on black", "lx", eb + ambient.get(), 0.000_001..=1e7)?;
        let bright = ep + ambient.get();
        let per_lux = gain / std::f64::consts::PI;
        Ok(Projected {
            white: Luminance::new(bright * per_lux)?,
            black: Luminance::new(dark * per_lux)?,
            system_ratio: bright / dark,
            dark_text: Weber::new((ep - eb) / bright)?,
            michelson: Fraction::new((ep - eb) / (bright + dark))?,
        })
    }

    /// How much ambient light does this ratio of white to black allow?
    ///
    /// **Formula** (Ep − R Eb)/(R − 1). **Source** [`Projector::in_room`]
    /// solved for the ambient light (derived). A standard names 7:1 for passive
    /// and 15:1 for basic decision viewing (ANSI/INFOCOMM 3M-2011, seen).
    /// **Range** ratio above 1 and reachable in the dark.
    ///
    /// ```
    /// use farpoint::vision::contrast::screen::Projector;
    /// use farpoint::vision::units::{Lux, Ratio};
    /// let projector = Projector { white: Lux::new(400.0)?, black: Lux::new(1.0)? };
    /// assert_eq!(projector.most_ambient(Ratio::new(7.0)?)?.get(), 65.5);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A ratio that the projector does not reach even in the dark.
    pub fn most_ambient(self, ratio: Ratio) -> Result<Lux, OutOfRange> {
        let (ep, eb) = self.checked()?;
        // A projector with next to no light on black reaches every ratio.
        let most = ep / eb;
        let in_the_dark = if most.is_finite() { Bound::Included(most) } else { Bound::Unbounded };
        let bounds = (Bound::Excluded(1.0), in_the_dark);
        let r = within("ratio of white to black", ": 1", ratio.get(), bounds)?;
        Lux::new((ep - r * eb) / (r - 1.0))
    }

    /// How much ambient light leaves dark text this contrast?
    ///
    /// **Formula** (Ep − Eb)/C − Ep. **Source** [`Projector::in_room`] solved for
    /// the ambient light (derived). **Range** a contrast above 0 that is reached
    /// in the dark, (Ep − Eb)/Ep.
    ///
    /// ```
    /// use farpoint::vision::contrast::{Weber, screen::Projector};
    /// use farpoint::vision::units::Lux;
    /// let projector = Projector { white: Lux::new(400.0)?, black: Lux::new(1.0)? };
    /// let most = projector.most_ambient_for(Weber::new(0.8)?)?;
    /// // 399 / 0.8 is 498.75, less the 400 of the white itself.
    /// assert!((most.get() - 98.75).abs() < 1e-9);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A contrast that the projector does not leave even in the dark.
    pub fn most_ambient_for(self, contrast: Weber) -> Result<Lux, OutOfRange> {
        let (ep, eb) = self.checked()?;
        let bounds = (Bound::Excluded(0.0), Bound::Included((ep - eb) / ep));
        let c = within("contrast wanted", "", contrast.get(), bounds)?;
        // At the contrast of the dark itself rounding may leave a hair below nothing.
        Lux::new(((ep - eb) / c - ep).max(0.0))
    }

    fn checked(self) -> Result<(f64, f64), OutOfRange> {
        let white = within("projector white", "lx", self.white.get(), above_zero(1e6))?;
        let black = within("projector black", "lx", self.black.get(), 0.0..white)?;
        Ok((white, black))
    }
}

/// What a light meter reads on a screen, held against it and facing the projector.
///
/// The light of the room is in all three.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ScreenReadings {
    /// With a white slide.
    pub white: Lux,
    /// With a black slide.
    pub black: Lux,
    /// With the projector off.
    pub off: Lux,
}

impl ScreenReadings {
    /// Which light is the projector's own?
    ///
    /// **Formula** white − off, and black − off. **Source** light adds up
    /// (derived). **Range** off no more than black, black less than white.
    ///
    /// ```
    /// use farpoint::vision::{contrast::screen::ScreenReadings, units::Lux};
    /// let read = ScreenReadings { white: Lux::new(550.0)?, black: Lux::new(151.0)?, off: Lux::new(150.0)? };
    /// let own = read.projector()?;
    /// assert_eq!((own.white.get(), own.black.get()), (400.0, 1.0));
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Readings in another order.
    pub fn projector(self) -> Result<Projector, OutOfRange> {
        let (white, black, off) = self.checked()?;
        Ok(Projector { white: Lux::new(white - off)?, black: Lux::new(black - off)? })
    }

    /// How much of a slide's contrast is left on this screen?
    ///
    /// **Formula** C (W − B)/W, W and B as read, C the contrast on the slide: 1
    /// for black on white, and for white on black as [`super::for_reserve`] counts
    /// it. **Source** Lambert's law; the writing's light lies between white and
    /// black as it does on the slide (derived). **Range** C 0 to 1, readings as
    /// for [`ScreenReadings::projector`].
    ///
    /// ```
    /// use farpoint::vision::contrast::{Weber, screen::ScreenReadings};
    /// use farpoint::vision::units::Lux;
    /// let read = ScreenReadings { white: Lux::new(550.0)?, black: Lux::new(151.0)?, off: Lux::new(150.0)? };
    /// assert!((read.left_of(Weber::new(1.0)?)?.get() - 0.7255).abs() < 0.0001);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Readings in another order, or a slide of more than full contrast.
    pub fn left_of(self, slide: Weber) -> Result<Weber, OutOfRange> {
        let (white, black, _) = self.checked()?;
        let slide = within("contrast on the slide", "", slide.get(), 0.0..=1.0)?;
        Weber::new(slide * (white - black) / white)
    }

    fn checked(self) -> Result<(f64, f64, f64), OutOfRange> {
        let white = within("reading with a white slide", "lx", self.white.get(), above_zero(1e6))?;
        let black = within("reading with a black slide", "lx", self.black.get(), 0.0..white)?;
        let off = within("reading with the projector off", "lx", self.off.get(), 0.0..=black)?;
        Ok((white, black, off))
    }
}

/// Two display colours by the web guideline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ColourPair {
    /// (L₁ + 0.05)/(L₂ + 0.05), 1 to 21.
    pub ratio: f64,
    /// Relative luminance of the lighter.
    pub lighter: Fraction,
    /// Relative luminance of the darker.
    pub darker: Fraction,
    /// Michelson contrast without flare; none for black on black.
    pub michelson_no_flare: Option<Fraction>,
}

/// The flare that the guideline adds to both luminances.
const FLARE: f64 = 0.05;

/// What is the contrast ratio of two display colours?
///
/// **Formula** sRGB channels made linear with the knee at 0.04045, weighted
/// 0.2126, 0.7152, 0.0722; (L₁ + 0.05)/(L₂ + 0.05). **Source** W3C WCAG 2.2
/// (seen). **Range** 8-bit sRGB on a lit screen; a projector in a lit room does
/// not keep it.
///
/// ```
/// use farpoint::vision::contrast::screen::colour_pair;
/// assert_eq!(colour_pair([0, 0, 0], [255, 255, 255])?.ratio, 21.0);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// None for 8-bit colours.
pub fn colour_pair(one: [u8; 3], other: [u8; 3]) -> Result<ColourPair, OutOfRange> {
    let (a, b) = (relative_luminance(one), relative_luminance(other));
    // The lighter and the darker, whichever was named first.
    let (high, low) = (a.max(b), a.min(b));
    let michelson = (high > 0.0).then(|| Fraction::new((high - low) / (high + low)));
    Ok(ColourPair {
        ratio: (high + FLARE) / (low + FLARE),
        lighter: Fraction::new(high)?,
        darker: Fraction::new(low)?,
        michelson_no_flare: michelson.transpose()?,
    })
}

fn relative_luminance(colour: [u8; 3]) -> f64 {
    let [red, green, blue] = colour.map(|channel| {
        let c = f64::from(channel) / 255.0;
        if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
    });
    // White is 1 exactly; the sum of the rounded weights may miss it by a bit.
    (0.2126 * red + 0.7152 * green + 0.0722 * blue).min(1.0)
}

/// A guideline ratio told as Weber contrasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RatioAsWeber {
    /// Relative luminance of the text.
    pub text: Fraction,
    /// Weber contrast if the screen adds no flare.
    pub no_flare: Weber,
    /// Weber contrast if the 0.05 is real flare.
    pub with_flare: Weber,
}

/// Which Weber contrast does a guideline ratio stand for, dark text on light?
///
/// **Formula** Y₂ = (Y₁ + 0.05)/R − 0.05; 1 − Y₂/Y₁ without flare, 1 − 1/R
/// with it. **Source** the definition in WCAG 2.2 solved for the text
/// (derived). **Range** ratio 1 to the largest that this ground allows.
///
/// ```
/// use farpoint::vision::contrast::screen::ratio_as_weber;
/// use farpoint::vision::units::{Fraction, Ratio};
/// let text = ratio_as_weber(Ratio::new(4.5)?, Fraction::new(1.0)?)?;
/// assert!((text.no_flare.get() - 0.817).abs() < 0.001);
/// # Ok::<(), farpoint::vision::units::OutOfRange>(())
/// ```
///
/// # Errors
/// A ratio that no text reaches on this ground.
pub fn ratio_as_weber(ratio: Ratio, ground: Fraction) -> Result<RatioAsWeber, OutOfRange> {
    let y1 = within("ground luminance", "of white", ground.get(), above_zero(1.0))?;
    let r = within("contrast ratio", ": 1", ratio.get(), 1.0..=(y1 + FLARE) / FLARE)?;
    // At the largest ratio rounding may leave a hair below zero.
    let y2 = ((y1 + FLARE) / r - FLARE).max(0.0);
    Ok(RatioAsWeber {
        text: Fraction::new(y2)?,
        no_flare: Weber::new(1.0 - y2 / y1)?,
        with_flare: Weber::new(1.0 - 1.0 / r)?,
    })
}
