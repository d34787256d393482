//! Which contrast does this marker have on that ground?
//!
//! Nobody measures luminance in a lesson, so a table stands in for it. Its
//! figures are common practice, starting points that a site may change; they
//! are never shown as published. Where colour vision is
//! lost the table says nothing; the student shows which marker is clearest.
//!
//! Does not know the site's changes; they come in as a [`MarkerTable`].
//! Read next: [`super::screen`], where light takes contrast away.

use std::fmt;

use super::Weber;

/// A marker and the ground it writes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Marker {
    /// Black on a white board or paper.
    BlackOnWhite,
    /// Blue on white.
    BlueOnWhite,
    /// Green on white.
    GreenOnWhite,
    /// Red on white.
    RedOnWhite,
    /// A marker running dry, pale ink, a board grey from wiping.
    Faint,
    /// Chalk on a dark board, light letters on a dark screen.
    WhiteOnDark,
}

impl Marker {
    /// Every marker, from dark to special, in the order of forms.
    pub const ALL: [Self; 6] =
        [Self::BlackOnWhite, Self::BlueOnWhite, Self::GreenOnWhite, Self::RedOnWhite, Self::Faint, Self::WhiteOnDark];
}

impl fmt::Display for Marker {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::BlackOnWhite => "black on white",
            Self::BlueOnWhite => "blue on white",
            Self::GreenOnWhite => "green on white",
            Self::RedOnWhite => "red on white",
            Self::Faint => "faint",
            Self::WhiteOnDark => "white on dark",
        })
    }
}

/// The contrast of each marker, for computing a reserve.
///
/// White on dark is kept as the dark-on-light contrast of the same Michelson
/// contrast, see [`super::for_reserve`], and is an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MarkerTable([Weber; 6]);

impl MarkerTable {
    /// Which contrast does this marker have?
    ///
    /// **Formula** a table. **Source** common practice, from memory; a site may
    /// replace each figure. **Range** clean boards in even light, normal colour
    /// vision.
    ///
    /// ```
    /// use farpoint::vision::contrast::marker::{Marker, MarkerTable};
    /// let table = MarkerTable::default();
    /// assert!(table.contrast(Marker::BlackOnWhite) > table.contrast(Marker::Faint));
    /// ```
    pub const fn contrast(&self, marker: Marker) -> Weber {
        self.0[marker.place()]
    }

    /// What does the table say once a site has changed one figure?
    ///
    /// **Formula** the table with that figure replaced. **Source** whoever
    /// measured it (common practice). **Range** any contrast.
    ///
    /// ```
    /// use farpoint::vision::contrast::{Weber, marker::{Marker, MarkerTable}};
    /// let table = MarkerTable::default().with(Marker::RedOnWhite, Weber::new(0.5)?);
    /// assert_eq!(table.contrast(Marker::RedOnWhite).get(), 0.5);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    #[must_use]
    pub const fn with(mut self, marker: Marker, contrast: Weber) -> Self {
        self.0[marker.place()] = contrast;
        self
    }
}

impl Marker {
    const fn place(self) -> usize {
        match self {
            Self::BlackOnWhite => 0,
            Self::BlueOnWhite => 1,
            Self::GreenOnWhite => 2,
            Self::RedOnWhite => 3,
            Self::Faint => 4,
            Self::WhiteOnDark => 5,
        }
    }
}

impl Default for MarkerTable {
    /// Common practice, from memory; no published table was at hand.
    fn default() -> Self {
        Self([
            Weber::literal(0.9),
            Weber::literal(0.75),
            Weber::literal(0.6),
            Weber::literal(0.6),
            Weber::literal(0.3),
            Weber::literal(0.75),
        ])
    }
}
