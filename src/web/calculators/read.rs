//! What did somebody type into a calculator?
//!
//! Reads each field into a value that operations take, or says beside it what
//! would be right. Lengths and acuities are read as everywhere else; an acuity
//! goes through its own operation, so that it, too, can be computed again.

use std::collections::BTreeMap;

use serde_json::{Map, Value as Json};

use super::entry::{Calculator, Field, Fill, Takes};
use super::told::exact;
use crate::compute;
use crate::vision::length::{self, METRES_PER_FOOT};
use crate::web::form::{Entry, Faults};

/// The longest value that is read.
const LONGEST: usize = 400;
/// The most numbers of a list.
const MOST_NUMBERS: usize = 60;

/// The operation that reads an acuity, and the key of its text.
pub(super) const READS_ACUITY: (&str, &str) = ("qualitative_to_measured_acuity", "notation");

/// What a field holds.
#[derive(Debug, Clone)]
pub(super) enum Value {
    /// A length in metres; the key it goes to says in which unit it is wanted.
    Metres(f64),
    /// Anything else, as it goes to an operation.
    Plain(Json),
}

impl Value {
    /// The value in the unit that the key names.
    pub(super) fn at(&self, key: &str) -> Json {
        match self {
            Self::Plain(value) => value.clone(),
            Self::Metres(metres) if key.ends_with("_mm") => (metres * 1_000.0).into(),
            Self::Metres(metres) if key.ends_with("_ft") => (metres / METRES_PER_FOOT).into(),
            Self::Metres(metres) => (*metres).into(),
        }
    }
}

/// All that was typed, read.
#[derive(Debug, Default)]
pub(super) struct Read {
    pub(super) values: BTreeMap<&'static str, Value>,
    /// What went in: the label, and what was typed with what it was taken for.
    pub(super) told: Vec<(String, String)>,
    /// The acuities read on the way, as questions to an operation.
    pub(super) asked: Vec<(&'static str, Map<String, Json>)>,
}

/// Reads every field of a calculator.
///
/// # Errors
/// What is wrong, beside each field.
pub(super) fn read(calculator: &Calculator, entry: &Entry) -> Result<Read, Faults> {
    let (mut read, mut faults) = (Read::default(), Faults::default());
    for field in calculator.fields {
        let typed = entry.get(field.name).trim();
        if typed.is_empty() {
            if field.fill == Fill::Needed {
                faults.add(field.name, format!("{} is needed, for example {}.", field.label, field.example));
            }
            continue;
        }
        if let Err(why) = read.take(field, typed) {
            faults.add(field.name, format!("{}: {why}.", field.label));
        }
    }
    one_of(calculator, entry, &mut faults);
    if faults.is_empty() { Ok(read) } else { Err(faults) }
}

/// Of the fields that stand for each other, one is filled in.
fn one_of(calculator: &Calculator, entry: &Entry, faults: &mut Faults) {
    let all: Vec<&Field> = calculator.fields.iter().filter(|field| field.fill == Fill::OneOf).collect();
    let filled: Vec<&&Field> = all.iter().filter(|field| !entry.get(field.name).trim().is_empty()).collect();
    let labels = all.iter().map(|field| field.label).collect::<Vec<_>>().join("; ");
    match (all.first(), filled.as_slice()) {
        (Some(first), []) => faults.add(first.name, format!("Fill in one of these: {labels}.")),
        (_, [_, second, ..]) => faults.add(second.name, format!("Fill in only one of these: {labels}.")),
        _ => {}
    }
}

impl Read {
    fn take(&mut self, field: &Field, typed: &str) -> Result<(), String> {
        if typed.chars().count() > LONGEST {
            return Err(format!("this is too long; up to {LONGEST} characters are read"));
        }
        let plain = |value: Json| (Value::Plain(value), typed.to_owned());
        let (value, told) = match field.takes {
            Takes::Aside if is_nothing(typed) => (Value::Metres(0.0), typed.to_owned()),
            Takes::Far | Takes::Aside | Takes::Near | Takes::Trade => {
                let metres = length::parse(typed).map_err(|error| error.to_string())?.get();
                (Value::Metres(metres), taken_for(typed, &format!("{} m", exact(metres))))
            }
            Takes::Acuity => {
                let (op, key) = READS_ACUITY;
                let inputs = Map::from_iter([(key.to_owned(), Json::from(typed))]);
                let found = compute::answer(op, &inputs).map_err(|refusal| refusal.why().to_owned())?;
                self.asked.push((op, inputs));
                let logmar = found.get("logmar").cloned().unwrap_or_default();
                let told = logmar.as_f64().map(|value| taken_for(typed, &format!("{} logMAR", exact(value))));
                (Value::Plain(logmar), told.unwrap_or_else(|| typed.to_owned()))
            }
            Takes::Text => plain(typed.into()),
            Takes::Number(unit) => (Value::Plain(number(typed, unit)?.into()), with_unit(typed, unit)),
            Takes::Percent => (Value::Plain((number(typed, "%")? / 100.0).into()), with_unit(typed, "%")),
            Takes::Count => {
                plain(typed.parse::<u32>().map_err(|_| "write a whole number of 0 or more".to_owned())?.into())
            }
            Takes::Choice(words) => {
                let (word, told) =
                    words.iter().find(|(word, _)| *word == typed).ok_or("choose one of the answers listed")?;
                (Value::Plain((*word).into()), (*told).to_owned())
            }
            Takes::Numbers(_) => plain(numbers(typed)?.into()),
            Takes::Speeds => {
                let speeds = numbers(typed)?;
                if speeds.iter().any(|speed| *speed <= 0.0) {
                    return Err("write speeds of more than 0 words a minute".to_owned());
                }
                plain(speeds.into_iter().map(f64::log10).collect::<Vec<_>>().into())
            }
            Takes::Colour => plain(colour(typed)?.into()),
        };
        self.told.push((field.label.to_owned(), told));
        self.values.insert(field.name, value);
        Ok(())
    }
}

/// What was typed, with what it was taken for where that reads otherwise.
fn taken_for(typed: &str, meant: &str) -> String {
    let plainly = quantity(typed);
    if plainly.is_some() && plainly == quantity(meant) { typed.to_owned() } else { format!("{typed} (= {meant})") }
}

/// A number and its unit, apart by one space.
fn quantity(text: &str) -> Option<(f64, &str)> {
    let (number, unit) = text.split_once(' ')?;
    Some((number.parse().ok()?, unit))
}

/// Whether this is a length of nothing, with or without its unit.
fn is_nothing(typed: &str) -> bool {
    let unit = typed.trim_start_matches(['0', '.', ',']);
    typed.contains('0') && ["", "m", "cm", "mm", "ft", "in"].contains(&unit.trim())
}

fn with_unit(typed: &str, unit: &str) -> String {
    if unit.is_empty() || typed.ends_with(unit) { typed.to_owned() } else { format!("{typed} {unit}") }
}

/// A number, with or without its unit behind it.
fn number(typed: &str, unit: &str) -> Result<f64, String> {
    let wanted = || {
        let unit = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
        format!("write a number{unit}, in plain digits")
    };
    let also: &[&str] = match unit {
        "\u{d7}" => &["x", "X"],
        "degrees" => &["\u{b0}", "deg"],
        "D" => &["d", "dpt"],
        "seconds" => &["s", "sec"],
        "lux" => &["lx"],
        _ => &[],
    };
    let bare = std::iter::once(&unit).chain(also).find_map(|written| typed.strip_suffix(written)).unwrap_or(typed);
    let bare = bare.trim().replace('\u{2212}', "-");
    if let Some((before, after)) = bare.split_once(',') {
        let three = after.len() == 3 && after.bytes().all(|digit| digit.is_ascii_digit());
        if three && !before.trim_start_matches(['-', '+', '0']).is_empty() {
            return Err(format!(
                "write {before}.{after} or {before}{after}, so that the comma cannot be read two ways"
            ));
        }
    }
    let number: f64 = bare.replace(',', ".").parse().map_err(|_| wanted())?;
    if number.is_finite() { Ok(number) } else { Err(wanted()) }
}

/// Numbers apart by spaces, semicolons or lines.
fn numbers(typed: &str) -> Result<Vec<f64>, String> {
    let apart = typed.split(|c: char| c.is_whitespace() || c == ';').map(|piece| piece.trim_end_matches(','));
    let pieces: Vec<&str> = apart.filter(|piece| !piece.is_empty()).collect();
    if pieces.is_empty() {
        return Err("write numbers with spaces between them".to_owned());
    }
    if pieces.len() > MOST_NUMBERS {
        return Err(format!("up to {MOST_NUMBERS} numbers are read, not {}", pieces.len()));
    }
    let read = |(at, piece): (usize, &&str)| {
        let number = piece.replace('\u{2212}', "-").parse::<f64>().ok().filter(|number| number.is_finite());
        number.ok_or_else(|| {
            format!(
                "number {} cannot be read; put a space between numbers and a point before decimals",
                at.saturating_add(1)
            )
        })
    };
    pieces.iter().enumerate().map(read).collect()
}

/// Red, green and blue of a colour such as #1a2b3c.
fn colour(typed: &str) -> Result<Vec<u32>, String> {
    let digits = typed.strip_prefix('#').unwrap_or(typed);
    if digits.len() != 6 || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
        return Err("write the colour as six hexadecimal digits, for example #1a2b3c".to_owned());
    }
    let all = u32::from_str_radix(digits, 16).map_err(|_| "write the colour as #1a2b3c".to_owned())?;
    Ok(vec![all >> 16, (all >> 8) & 255, all & 255])
}
