//! Which figures follow from what was typed?
//!
//! Asks the operations of a calculator one after the other and collects what is
//! told. What an operation refuses is laid beside the fields it came from, in
//! their words and with what was typed. The figures come from [`crate::compute`]
//! and from nowhere else.

use serde_json::{Map, Value as Json};

use super::entry::{Calculator, Field, Given, Step, Takes};
use super::read::{Read, read};
use super::told;
use crate::compute::{self, Need, Refusal};
use crate::vision::length::shown::Units;
use crate::web::form::{Entry, Faults};
use crate::web::outside::{self, Asked};
use crate::web::part::{self, Figure, How};

/// What a calculator found.
pub(super) struct Found {
    /// The figures, in order.
    pub(super) figures: Vec<Figure>,
    /// How they were computed, with the lines to recompute them.
    pub(super) how: How,
}

/// Answers a calculator.
///
/// # Errors
/// What is wrong, beside each field.
pub(super) fn answer(calculator: &Calculator, entry: &Entry, units: Units) -> Result<Found, Faults> {
    let read = read(calculator, entry)?;
    let mut lines: Vec<Asked> = read.asked.iter().map(|(op, inputs)| outside::asked(op, inputs.clone())).collect();
    let mut answers: Vec<Option<Map<String, Json>>> = Vec::new();
    let mut figures = Vec::new();
    for step in calculator.steps {
        let Some(inputs) = inputs(step, &read, &answers) else {
            answers.push(None);
            continue;
        };
        let found = compute::answer(step.op, &inputs).map_err(|refusal| beside(calculator, step, &refusal, entry))?;
        let mut line = outside::asked(step.op, inputs);
        for shows in step.shows {
            // A figure that has no value for these inputs is left out of the answer.
            let Some(value) = found.get(shows.key) else { continue };
            let (figure, stands) = told::figure(shows, value, units);
            figures.push(figure);
            line = stands.into_iter().fold(line, Asked::shows);
        }
        lines.push(line);
        answers.push(Some(found));
    }
    let how = part::how(calculator.how).inputs(&read.told).source(calculator.source).asks_all(lines);
    Ok(Found { figures, how })
}

/// The inputs of a step; none where something it needs was left out.
fn inputs(step: &Step, read: &Read, answers: &[Option<Map<String, Json>>]) -> Option<Map<String, Json>> {
    let mut inputs = Map::new();
    for (key, given) in step.gives {
        let value = match given {
            Given::Typed(name) => read.values.get(name).map(|value| value.at(key)),
            Given::Found(at, key) => {
                answers.get(*at).and_then(Option::as_ref).and_then(|found| found.get(*key)).cloned()
            }
            Given::Fixed(number) => Some((*number).into()),
        };
        match value {
            Some(value) => drop(inputs.insert((*key).to_owned(), value)),
            None if need(step.op, key) == Need::Required => return None,
            None => {}
        }
    }
    let takes_ways = step.gives.iter().any(|(key, _)| matches!(need(step.op, key), Need::Way(_)));
    let has_way = inputs.keys().any(|key| matches!(need(step.op, key), Need::Way(_)));
    (!takes_ways || has_way).then_some(inputs)
}

fn need(op: &str, key: &str) -> Need {
    let operation = compute::operations().iter().find(|operation| operation.name == op);
    let input = operation.and_then(|operation| operation.inputs.iter().find(|input| input.key == key));
    input.map_or(Need::Required, |input| input.need)
}

/// Lays a refusal beside the fields it is about.
fn beside(calculator: &Calculator, step: &Step, refusal: &Refusal, entry: &Entry) -> Faults {
    let mut names = Vec::new();
    for key in refusal.key().split(", ") {
        typed_at(calculator, step, key, &mut names);
    }
    let mut fields: Vec<_> = calculator.fields.iter().filter(|field| names.contains(&field.name)).collect();
    // What was left empty is at fault only where nothing else is.
    let filled = |field: &&Field| !entry.get(field.name).trim().is_empty();
    if fields.iter().any(&filled) {
        fields.retain(filled);
    }
    // Keys are for the command; a person reads labels.
    let why = if refusal.why().contains('_') { "no figure follows from this" } else { refusal.why() };
    let labels = fields.iter().map(|field| field.label).collect::<Vec<_>>().join(", ");
    let wrote: String = fields
        .iter()
        .filter(|field| matches!(field.takes, Takes::Far | Takes::Aside | Takes::Near | Takes::Trade | Takes::Percent))
        .map(|field| format!(" You wrote {}.", entry.get(field.name).trim()))
        .collect();
    match (fields.first(), calculator.fields.first()) {
        (Some(field), _) => Faults::one(field.name, format!("{labels}: {why}.{wrote}")),
        (None, Some(field)) => Faults::one(field.name, format!("{why}.")),
        (None, None) => Faults::one("", why),
    }
}

/// The fields behind an input, also those behind an earlier answer.
fn typed_at(calculator: &Calculator, step: &Step, key: &str, names: &mut Vec<&'static str>) {
    for (_, given) in step.gives.iter().filter(|(known, _)| *known == key) {
        match given {
            Given::Typed(name) => names.push(name),
            Given::Fixed(_) => {}
            Given::Found(at, _) => {
                // Steps look back only, so this ends.
                if let Some(earlier) = calculator.steps.get(*at) {
                    for (key, _) in earlier.gives {
                        typed_at(calculator, earlier, key, names);
                    }
                }
            }
        }
    }
}
