//! Which acuity did the person mean who typed this?
//!
//! Reads every notation of the trade. What can be read two ways is answered
//! with an [`AcuityQuestion`]; the answer comes back as the notation chosen in
//! [`Setup`] or as clearer text. Nothing is guessed and nothing is snapped to
//! a row.
//!
//! Does not keep the typed text, nor know eye, glasses or chart type.
//! Read next: [`super::equivalents`] for printing the value in other notations.

use std::fmt;

use super::letters::Chart;
use super::near::MUnits;
use super::{Acuity, AcuityError, AcuityQuestion, LogMar, Measured};
use crate::vision::length::{self, METRES_PER_FOOT};
use crate::vision::units::{Metres, count, within};

mod category;
mod fraction;

/// The notations of the trade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Notation {
    /// A fraction in feet, read at the distance above the line.
    Feet,
    /// A fraction in metres, read at the distance above the line.
    Metres,
    /// A fraction printed on a chart made for a distance other than the one above the line.
    PrintedFraction,
    /// A decimal acuity.
    Decimal,
    /// The logarithm of the minimum angle of resolution.
    LogMar,
    /// The visual acuity rating, 100 at 20/20.
    Var,
    /// Letters counted on a chart.
    Letters,
    /// A print size in M at a distance.
    Near,
    /// Counting fingers and below.
    Category,
}

impl fmt::Display for Notation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Feet => "a fraction in feet",
            Self::Metres => "a fraction in metres",
            Self::PrintedFraction => "a fraction printed on the chart",
            Self::Decimal => "decimal",
            Self::LogMar => "logMAR",
            Self::Var => "VAR",
            Self::Letters => "letters read",
            Self::Near => "M at a distance",
            Self::Category => "a category",
        })
    }
}

/// What stood beside the typed text: the distance, the notation chosen, the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// How far the chart or the page was from the eye.
    pub distance: Metres,
    /// The notation, if somebody chose it.
    pub notation: Option<Notation>,
    /// The letter chart, if its rows are known.
    pub chart: Option<Chart>,
}

impl Setup {
    /// A test at this distance, with nothing else known.
    pub const fn at(distance: Metres) -> Self {
        Self { distance, notation: None, chart: None }
    }

    /// The same test with the notation chosen.
    #[must_use]
    pub const fn noted_as(self, notation: Notation) -> Self {
        Self { notation: Some(notation), ..self }
    }

    /// The same test on a chart with known rows.
    #[must_use]
    pub const fn on(self, chart: Chart) -> Self {
        Self { chart: Some(chart), ..self }
    }
}

/// Something to say beside an acuity that was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caveat {
    /// Better than −0.3 logMAR: somebody must confirm it before it counts.
    ConfirmSoGood,
    /// Letters were counted as 0.02 each, right only for rows of five in 0.1 steps.
    FiveLettersARow,
}

impl fmt::Display for Caveat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::ConfirmSoGood => "unusually good: confirm that it was measured so",
            Self::FiveLettersARow => {
                "each letter counted as 0.02, which holds for rows of five letters in steps of 0.1"
            }
        })
    }
}

/// A typed acuity, understood.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// The value or the category.
    pub acuity: Acuity,
    /// How it was written.
    pub notation: Notation,
    /// The distance of the test; for fingers and hands see the category.
    pub distance: Metres,
    /// What to say beside it.
    pub caveats: Vec<Caveat>,
}

/// Distances this near to each other are the same test: 6 m and 20 ft differ
/// by 1.6 %, 3 m and 10 ft as much.
const SAME_DISTANCE: f64 = 0.03;

/// Reading distances, for print sizes; common practice.
const NEAR: f64 = 0.6;

/// Longer than any acuity a person writes.
const LONGEST: usize = 60;

/// What acuity is this?
///
/// **Formula** the definition of each notation, see [`LogMar`], [`MUnits`] and
/// [`Chart`]; letters added to a row (`20/40-2`) are worth step/n, 0.02 on rows
/// of five in 0.1 steps. **Source** DICOM PS3.17 Annex RR (seen); 0.02 a letter
/// as published (seen); ranges are common practice. **Range** −0.5 to 2.0
/// logMAR, with a caveat below −0.3; CF, HM, LP and NLP are categories.
///
/// ```
/// use farpoint::vision::acuity::notation::{Notation, Setup, parse};
/// use farpoint::vision::length::feet;
/// let far = Setup::at(feet(20.0)?);
/// let read = parse("20/200", far)?;
/// assert_eq!(read.acuity.logmar().map(|l| l.get()), Some(1.0));
/// assert!(parse("CF @ 1 m", far)?.acuity.logmar().is_none());
/// // 0.1 is ten rows away from 0.1: the notation is asked for.
/// let asked = parse("0.1", far).unwrap_err();
/// assert!(asked.to_string().starts_with("is 0.1 decimal or logMAR?"));
/// assert!(parse("0.1", far.noted_as(Notation::Decimal)).is_ok());
/// // 20/200 at 10 ft may have been 10/200.
/// assert!(parse("20/200", Setup::at(feet(10.0)?)).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// A question when the text can be read two ways, otherwise what to write instead.
pub fn parse(text: &str, setup: Setup) -> Result<Recorded, AcuityError> {
    let text = plain(text);
    if text.is_empty() {
        return Err(AcuityError::Empty);
    }
    if text.chars().count() > LONGEST {
        return Err(AcuityError::Unreadable);
    }
    if let Some(category) = category::read(&text)? {
        agree(Notation::Category, setup.notation)?;
        return Ok(Recorded {
            acuity: Acuity::Category(category),
            notation: Notation::Category,
            distance: setup.distance,
            caveats: Vec::new(),
        });
    }
    // Farther or nearer than this no chart and no page is read.
    within("test distance", "m", setup.distance.get(), 0.05..=20.0)?;
    let (value, written) = split_distance(&text)?;
    if let Some(written) = written
        && !same(written, setup.distance)
    {
        return Err(AcuityQuestion::TwoDistances { written, chosen: setup.distance }.into());
    }
    let mut caveats = Vec::new();
    let (logmar, notation) = if value.contains('/') {
        fraction::read(value, setup, &mut caveats)?
    } else {
        let (logmar, notation) = one_number(value, written, setup)?;
        agree(notation, setup.notation)?;
        (logmar, notation)
    };
    let measured = Measured::new(logmar)?;
    if measured.needs_confirming() {
        caveats.push(Caveat::ConfirmSoGood);
    }
    Ok(Recorded { acuity: Acuity::Measured(measured), notation, distance: written.unwrap_or(setup.distance), caveats })
}

/// Lower case, plain signs and single spaces.
fn plain(text: &str) -> String {
    let lower: String = text
        .chars()
        .flat_map(char::to_lowercase)
        .map(|c| match c {
            '\u{2212}' | '\u{2013}' | '\u{2014}' => '-',
            '\u{2044}' | '\u{2215}' => '/',
            c => c,
        })
        .collect();
    lower.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The value and the distance written behind it.
fn split_distance(text: &str) -> Result<(&str, Option<Metres>), AcuityError> {
    let Some((value, distance)) = text.split_once('@').or(text.split_once(" at ")) else {
        return Ok((text, None));
    };
    Ok((value.trim(), Some(length::parse(distance)?)))
}

/// Whether two distances are the same test.
fn same(one: Metres, other: Metres) -> bool {
    (one.get() / other.get() - 1.0).abs() <= SAME_DISTANCE
}

/// Whether the notation in the text is the one that was chosen beside it.
fn agree(written: Notation, chosen: Option<Notation>) -> Result<(), AcuityQuestion> {
    match chosen {
        Some(chosen) if chosen != written => Err(AcuityQuestion::TwoNotations { written, chosen }),
        _ => Ok(()),
    }
}

/// A number with the word of its notation, or a bare one with the notation chosen.
fn one_number(value: &str, written: Option<Metres>, setup: Setup) -> Result<(LogMar, Notation), AcuityError> {
    let (word, figures) = word_and_figures(value);
    let notation = match word {
        "logmar" => Notation::LogMar,
        "decimal" | "dec" | "dec." => Notation::Decimal,
        "var" | "vas" => Notation::Var,
        "letters" | "letter" => Notation::Letters,
        "m" => Notation::Near,
        "n" | "j" | "pt" | "point" | "points" => return Err(AcuityError::NotStandardised),
        "" => {
            let number = number(figures)?;
            setup.notation.ok_or_else(|| bare(figures, number))?
        }
        _ => return Err(AcuityError::Unreadable),
    };
    let number = number(figures)?;
    let logmar = match notation {
        Notation::LogMar => LogMar::new(number)?,
        Notation::Decimal => LogMar::from_decimal(number)?,
        Notation::Var => LogMar::from_var(number)?,
        Notation::Letters => letters(number, setup)?,
        Notation::Near => {
            let distance = match written {
                Some(distance) => distance,
                None if setup.distance.get() <= NEAR => setup.distance,
                None => return Err(AcuityQuestion::NearDistance.into()),
            };
            MUnits::new(number)?.read_at(distance)?
        }
        Notation::Feet | Notation::Metres | Notation::PrintedFraction | Notation::Category => {
            return Err(AcuityError::Unreadable);
        }
    };
    Ok((logmar, notation))
}

/// The question a bare number raises.
fn bare(figures: &str, number: f64) -> AcuityQuestion {
    let figures = figures.to_owned();
    if (0.0..=2.0).contains(&number) {
        AcuityQuestion::DecimalOrLogMar { number: figures }
    } else {
        AcuityQuestion::WhichNotation { number: figures }
    }
}

/// "1.0 logmar", "logmar 1.0" and "4m": the word and the digits.
fn word_and_figures(value: &str) -> (&str, &str) {
    let is_word = |c: char| c.is_alphabetic();
    if value.starts_with(is_word) {
        let end = value.find(|c: char| !is_word(c) && c != '.').unwrap_or(value.len());
        let rest = value[end..].trim_start_matches(['=', ':', ' ']);
        return (value[..end].trim(), rest);
    }
    let start = value.find(is_word).unwrap_or(value.len());
    (value[start..].trim(), value[..start].trim())
}

/// A plain number with a point or a comma.
fn number(figures: &str) -> Result<f64, AcuityError> {
    let digits = figures.strip_prefix(['-', '+']).unwrap_or(figures);
    let marks = digits.matches(['.', ',']).count();
    let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',');
    if !plain || marks > 1 || !digits.contains(|c: char| c.is_ascii_digit()) {
        return Err(AcuityError::Unreadable);
    }
    let number: f64 = figures.replace(',', ".").parse().map_err(|_| AcuityError::Unreadable)?;
    if number.is_finite() { Ok(number) } else { Err(AcuityError::Unreadable) }
}

/// A letter count on the chart of the setup.
fn letters(number: f64, setup: Setup) -> Result<LogMar, AcuityError> {
    let chart = setup.chart.ok_or(AcuityError::ChartNeeded)?;
    let count = count(number).ok_or(AcuityError::Unreadable)?;
    Ok(chart.acuity(count, setup.distance)?.logmar())
}

/// The fraction that would have been written for this distance.
fn fraction_for(distance: Metres, below: &str) -> String {
    let feet = distance.get() / METRES_PER_FOOT;
    let whole = feet.round();
    if whole >= 1.0 && (feet / whole - 1.0).abs() <= SAME_DISTANCE {
        format!("{whole}/{below}")
    } else {
        "another fraction".to_owned()
    }
}
