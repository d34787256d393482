//! The inputs of one question, held against what the operation declares.
//!
//! [`Inputs::checked`] refuses what is unknown, missing, of the wrong kind or
//! given in two ways; the function of an operation then reads each input in
//! the type of its unit, and what that type refuses names the key.

use serde_json::{Map, Value};

use super::refusal::{Fault, Refusal, nearest, repeated, short};
use super::{Input, Kind, Need, Operation};
use crate::vision::acuity::LogMar;
use crate::vision::acuity::near::MUnits;
use crate::vision::units::{
    Degrees, Dioptres, Fraction, Lux, Magnification, Metres, Millimetres, OutOfRange, Ratio, Seconds, count,
};

/// The ends of keys that tell a unit, longest first where one ends in another.
const UNITS: [&str; 42] = [
    "_deg_per_s",
    "_cd_m2",
    "_m_units",
    "_m_s",
    "_cm_s",
    "_ft_s",
    "_rgb8",
    "_metres",
    "_meters",
    "_feet",
    "_inches",
    "_millimetres",
    "_millimeters",
    "_centimetres",
    "_centimeters",
    "_arcmin",
    "_arcsec",
    "_degrees",
    "_radians",
    "_dioptres",
    "_diopters",
    "_seconds",
    "_minutes",
    "_logmar",
    "_percent",
    "_ratio",
    "_fraction",
    "_years",
    "_months",
    "_footcandles",
    "_cm",
    "_mm",
    "_ft",
    "_in",
    "_yd",
    "_deg",
    "_rad",
    "_lux",
    "_ms",
    "_m",
    "_s",
    "_d",
];

/// Checked inputs.
pub(super) struct Inputs<'a> {
    declared: &'static [Input],
    given: &'a Map<String, Value>,
}

impl<'a> Inputs<'a> {
    /// Holds what is given against what the operation declares.
    pub(super) fn checked(operation: &Operation, given: &'a Map<String, Value>) -> Result<Self, Refusal> {
        let inputs = Self { declared: operation.inputs, given };
        for key in given.keys() {
            if !operation.inputs.iter().any(|input| input.key == key) {
                return Err(unknown(key, operation.inputs));
            }
        }
        for input in operation.inputs {
            match inputs.value(input.key) {
                Some(value) => of_kind(input, value)?,
                None if input.need == Need::Required => return Err(missing(input)),
                None => {}
            }
        }
        inputs.one_way()?;
        Ok(inputs)
    }

    /// What stands at a key; null is nothing.
    fn value(&self, key: &str) -> Option<&'a Value> {
        self.given.get(key).filter(|value| !value.is_null())
    }

    pub(super) fn has(&self, key: &str) -> bool {
        self.value(key).is_some()
    }

    /// The keys given, or those declared if none was.
    pub(super) fn keys(&self) -> Vec<&'static str> {
        let given: Vec<_> = self.declared.iter().map(|input| input.key).filter(|key| self.has(key)).collect();
        if given.is_empty() { self.declared.iter().map(|input| input.key).collect() } else { given }
    }

    /// Every number given, those in lists too.
    pub(super) fn given_numbers(&self) -> impl Iterator<Item = (&'static Input, f64)> {
        self.declared.iter().flat_map(|input| {
            let value = self.value(input.key);
            let alone = value.and_then(Value::as_f64);
            let listed = value.and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_f64);
            alone.into_iter().chain(listed).map(move |number| (input, number))
        })
    }

    /// Of several ways to ask, one is taken and given in full.
    fn one_way(&self) -> Result<(), Refusal> {
        let of_a_way = |input: &&'static Input| matches!(input.need, Need::Way(_));
        let all: Vec<_> = self.declared.iter().filter(of_a_way).collect();
        let given: Vec<_> = all.iter().filter(|input| self.has(input.key)).collect();
        let Some(first) = all.first() else { return Ok(()) };
        let Some(begun) = given.first() else {
            return Err(Refusal::at(first.key, format!("missing; give {}", ways(&all))));
        };
        if given.iter().any(|input| input.need != begun.need) {
            let keys: Vec<_> = given.iter().map(|input| input.key).collect();
            return Err(Refusal::at(keys.join(", "), format!("given in two ways; give {}", ways(&all))));
        }
        match all.iter().find(|input| input.need == begun.need && !self.has(input.key)) {
            Some(left_out) => Err(missing(left_out)),
            None => Ok(()),
        }
    }

    fn input(&self, key: &'static str) -> Result<&'a Value, Fault> {
        self.value(key).ok_or_else(|| Fault::at(key, "missing"))
    }

    pub(super) fn number(&self, key: &'static str) -> Result<f64, Fault> {
        self.input(key)?.as_f64().ok_or_else(|| Fault::at(key, "give a number"))
    }

    pub(super) fn count(&self, key: &'static str) -> Result<u32, Fault> {
        count(self.number(key)?).ok_or_else(|| Fault::at(key, "give a whole number of 0 or more"))
    }

    pub(super) fn text(&self, key: &'static str) -> Result<&'a str, Fault> {
        self.input(key)?.as_str().ok_or_else(|| Fault::at(key, "give text"))
    }

    pub(super) fn numbers(&self, key: &'static str) -> Result<Vec<f64>, Fault> {
        let list = self.input(key)?.as_array().ok_or_else(|| Fault::at(key, "give a list"))?;
        list.iter().map(|value| value.as_f64().ok_or_else(|| Fault::at(key, "give a list of numbers"))).collect()
    }

    /// A list or an object, whose inside is the business of the operation.
    pub(super) fn nested(&self, key: &'static str) -> Result<&'a Value, Fault> {
        self.input(key)
    }

    /// A number in the type of its unit.
    pub(super) fn typed<T>(&self, key: &'static str, make: fn(f64) -> Result<T, OutOfRange>) -> Result<T, Fault> {
        make(self.number(key)?).map_err(|refused| Fault::at(key, refused))
    }

    pub(super) fn metres(&self, key: &'static str) -> Result<Metres, Fault> {
        self.typed(key, Metres::new)
    }

    pub(super) fn millimetres(&self, key: &'static str) -> Result<Millimetres, Fault> {
        self.typed(key, Millimetres::new)
    }

    pub(super) fn dioptres(&self, key: &'static str) -> Result<Dioptres, Fault> {
        self.typed(key, Dioptres::new)
    }

    pub(super) fn degrees(&self, key: &'static str) -> Result<Degrees, Fault> {
        self.typed(key, Degrees::new)
    }

    pub(super) fn logmar(&self, key: &'static str) -> Result<LogMar, Fault> {
        self.typed(key, LogMar::new)
    }

    pub(super) fn m_units(&self, key: &'static str) -> Result<MUnits, Fault> {
        self.typed(key, MUnits::new)
    }

    pub(super) fn ratio(&self, key: &'static str) -> Result<Ratio, Fault> {
        self.typed(key, Ratio::new)
    }

    pub(super) fn fraction(&self, key: &'static str) -> Result<Fraction, Fault> {
        self.typed(key, Fraction::new)
    }

    pub(super) fn power(&self, key: &'static str) -> Result<Magnification, Fault> {
        self.typed(key, Magnification::new)
    }

    pub(super) fn seconds(&self, key: &'static str) -> Result<Seconds, Fault> {
        self.typed(key, Seconds::new)
    }

    pub(super) fn lux(&self, key: &'static str) -> Result<Lux, Fault> {
        self.typed(key, Lux::new)
    }
}

fn missing(input: &Input) -> Refusal {
    Refusal::at(input.key, format!("missing; give {}", input.wanted()))
}

/// The ways to ask in words: "a and b (in feet), or c and d (in metres)".
fn ways(all: &[&'static Input]) -> String {
    let mut told: Vec<(&str, Vec<&str>)> = Vec::new();
    for input in all {
        let Need::Way(way) = input.need else { continue };
        match told.iter_mut().find(|(known, _)| *known == way) {
            Some((_, keys)) => keys.push(input.key),
            None => told.push((way, vec![input.key])),
        }
    }
    let told: Vec<_> = told.iter().map(|(way, keys)| format!("{} ({way})", keys.join(" and "))).collect();
    told.join(", or ")
}

/// A key without its unit.
fn stem(key: &str) -> String {
    let key = key.to_lowercase();
    let unit = UNITS.iter().find(|unit| key.ends_with(*unit));
    unit.and_then(|unit| key.strip_suffix(unit)).unwrap_or(&key).to_owned()
}

/// A key that the operation does not know: in another unit, mistyped, or not its business.
fn unknown(key: &str, declared: &'static [Input]) -> Refusal {
    let told = short(key);
    if let Some(input) = declared.iter().find(|input| stem(input.key) == stem(key)) {
        return Refusal::at(told, format!("give {} instead: {}", input.key, input.wanted()));
    }
    let near = nearest(key, declared.iter().map(|input| input.key)).join(", ");
    Refusal::at(told, format!("this operation takes no such input; the nearest are {near}"))
}

/// Whether a value is what may stand there.
fn of_kind(input: &Input, value: &Value) -> Result<(), Refusal> {
    let right = match input.kind {
        Kind::Number => value.is_number(),
        Kind::Count => value.as_f64().and_then(count).is_some(),
        Kind::Word(words) => value.as_str().is_some_and(|word| words.contains(&word)),
        Kind::Text => value.is_string(),
        Kind::Numbers => return listed(input, value),
        Kind::Nested(_) => value.is_array() || value.is_object(),
    };
    if right { Ok(()) } else { Err(Refusal::at(input.key, format!("{}, not {}", wants(input), repeated(value)))) }
}

fn wants(input: &Input) -> String {
    format!("give {}", input.wanted())
}

fn listed(input: &Input, value: &Value) -> Result<(), Refusal> {
    let refuse = |what: String| Err(Refusal::at(input.key, format!("{}, not {what}", wants(input))));
    let Some(list) = value.as_array().filter(|list| !list.is_empty()) else { return refuse(repeated(value)) };
    match list.iter().enumerate().find(|(_, item)| !item.is_number()) {
        Some((at, item)) => refuse(format!("{} at place {}", repeated(item), at.saturating_add(1))),
        None => Ok(()),
    }
}
