//! What acuity is it when so many letters were read on a chart?
//!
//! Counts letters on charts of equal steps. The chart is an input, never a
//! constant. Does not know how the letters were typed; see
//! [`super::notation`].
//! Read next: [`super::change`] for what a second count may say.

use super::{AcuityError, LogMar, Measured};
use crate::vision::units::{Metres, OutOfRange, above_zero, within};

/// A letter chart whose rows shrink in equal logarithmic steps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chart {
    top: LogMar,
    step: f64,
    letters_per_row: u32,
    rows: Option<u32>,
    designed_for: Option<Metres>,
}

impl Chart {
    /// A chart by its largest row, its step in log units and its letters a row.
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, letters::Chart};
    /// let chart = Chart::new(LogMar::new(1.0)?, 0.1, 5)?;
    /// assert_eq!(chart.letter_worth(), 0.02);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A step outside 0.01 to 1 log unit, or letters a row outside 1 to 20.
    pub fn new(top: LogMar, step: f64, letters_per_row: u32) -> Result<Self, OutOfRange> {
        within("step from row to row", "log units", step, 0.01..=1.0)?;
        within("letters in a row", "", f64::from(letters_per_row), 1.0..=20.0)?;
        Ok(Self { top, step, letters_per_row, rows: None, designed_for: None })
    }

    /// The same chart with its number of rows, so that too large a count is noticed.
    #[must_use]
    pub const fn with_rows(self, rows: u32) -> Self {
        Self { rows: Some(rows), ..self }
    }

    /// The same chart with the distance for which its rows are named.
    #[must_use]
    pub const fn designed_for(self, distance: Metres) -> Self {
        Self { designed_for: Some(distance), ..self }
    }

    /// How many log units is one letter worth?
    ///
    /// **Formula** step / letters in a row. **Source** letter scoring
    /// (derived); 0.02 on rows of five in steps of 0.1 as published (seen).
    /// **Range** any chart.
    ///
    /// ```
    /// use farpoint::vision::acuity::{LogMar, letters::Chart};
    /// assert_eq!(Chart::new(LogMar::new(1.3)?, 0.1, 4)?.letter_worth(), 0.025);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    pub fn letter_worth(self) -> f64 {
        self.step / f64::from(self.letters_per_row)
    }

    /// How many letters one row has.
    pub const fn letters_per_row(self) -> u32 {
        self.letters_per_row
    }

    /// What does the largest row ask for at this distance?
    ///
    /// **Formula** L = L₀ + log10(d₀/d). **Source** the geometry of similar
    /// triangles (derived). **Range** d more than zero, up to 100 m. A chart
    /// without a named distance is taken to be named for the distance used.
    ///
    /// ```
    /// use farpoint::vision::{acuity::{LogMar, letters::Chart}, units::Metres};
    /// let chart = Chart::new(LogMar::new(1.0)?, 0.1, 5)?.designed_for(Metres::new(4.0)?);
    /// assert!((chart.top_at(Metres::new(1.0)?)?.get() - 1.60206).abs() < 1e-6);
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A distance outside the range.
    pub fn top_at(self, distance: Metres) -> Result<LogMar, OutOfRange> {
        let d = within("test distance", "m", distance.get(), above_zero(100.0))?;
        match self.designed_for {
            None => Ok(self.top),
            Some(named) => {
                let named = within("design distance", "m", named.get(), above_zero(100.0))?;
                self.top.worse_by((named / d).log10())
            }
        }
    }

    /// What logMAR is so many letters, all larger rows counted as read?
    ///
    /// **Formula** L = L_top + step − (step/n) N. **Source** derived; 0.02 a
    /// letter on charts of five letters and 0.1 steps as published (seen).
    /// **Range** no more letters than the chart has, if its rows are known.
    ///
    /// ```
    /// use farpoint::vision::{acuity::{LogMar, letters::Chart}, units::Metres};
    /// let chart = Chart::new(LogMar::new(1.0)?, 0.1, 5)?;
    /// let score = chart.score(37, Metres::new(4.0)?)?;
    /// assert!((score.get() - 0.36).abs() < 1e-12);
    /// # Ok::<(), farpoint::vision::acuity::AcuityError>(())
    /// ```
    ///
    /// # Errors
    /// More letters than the chart has, or a distance outside the range.
    pub fn score(self, letters: u32, distance: Metres) -> Result<LogMar, AcuityError> {
        if let Some(rows) = self.rows {
            let allowed = rows.saturating_mul(self.letters_per_row);
            if letters > allowed {
                return Err(AcuityError::TooManyLetters { given: letters, allowed });
            }
        }
        let top = self.top_at(distance)?;
        Ok(top.worse_by(self.step - self.letter_worth() * f64::from(letters))?)
    }

    /// Which acuity is measured by so many letters, at least one?
    ///
    /// **Formula** as [`Chart::score`]. **Source** as there (derived). **Range** one letter or
    /// more, and a result that a chart can measure.
    ///
    /// ```
    /// use farpoint::vision::{acuity::{AcuityError, LogMar, letters::Chart}, units::Metres};
    /// let chart = Chart::new(LogMar::new(1.0)?, 0.1, 5)?;
    /// let far = Metres::new(4.0)?;
    /// assert_eq!(chart.acuity(0, far), Err(AcuityError::NoLetters));
    /// assert!(chart.acuity(1, far).is_ok());
    /// # Ok::<(), farpoint::vision::units::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// [`AcuityError::NoLetters`], or those of [`Chart::score`] and [`Measured::new`].
    pub fn acuity(self, letters: u32, distance: Metres) -> Result<Measured, AcuityError> {
        if letters == 0 {
            return Err(AcuityError::NoLetters);
        }
        Measured::new(self.score(letters, distance)?)
    }
}
