//! Operations on the everyday acuity: many observations of one student at once.
//!
//! Observations, priors and questions are lists and objects; what is wrong
//! inside one is named with its place.

use serde_json::{Map, Value, json};

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::statistics::word_of;
use super::{Input, Operation};
use crate::vision::acuity::LogMar;
use crate::vision::stats::everyday::gain::Difference;
use crate::vision::stats::everyday::next::SoFar;
use crate::vision::stats::everyday::task::Task;
use crate::vision::stats::everyday::{Cell, Device, Guess, Observation, Posterior, Prior, Saw, everyday};
use crate::vision::stats::observing::Tally;
use crate::vision::units::{Fraction, count};

const TOPIC: &str = "everyday acuity";

const SHAPE: &str = "a list of objects with x, kind (tally or word), k and n or word, g and sid";
const OBSERVATIONS: Input = Input::nested("observations", "the observations", SHAPE);
const PRIOR: Input = Input::nested("prior", "what is assumed before", "an object with mean and sd");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "everyday_acuity",
        topic: TOPIC,
        question: "Which size does the student just see, and how probable is success at a size?",
        inputs: &[
            OBSERVATIONS,
            PRIOR,
            Input::nested("query", "the task", "an object with x, guess, crit and next, an object with n and k_min"),
        ],
        answers: acuity,
    },
    Operation {
        name: "next_day_success",
        topic: TOPIC,
        question: "How probable is success on a day like any other?",
        inputs: &[OBSERVATIONS, PRIOR, Input::nested("query", "the task", "an object with x, guess, n and k_min")],
        answers: next_day,
    },
    Operation {
        name: "suspect_entry",
        topic: TOPIC,
        question: "How probable is it of each entry that it is a slip?",
        inputs: &[OBSERVATIONS, PRIOR],
        answers: suspect,
    },
    Operation {
        name: "everyday_acuity_by_setting",
        topic: TOPIC,
        question: "Which sizes does the student just see, by device and setting, and how far apart are they?",
        inputs: &[
            Input::nested("cells", "the observations by device/setting", "an object of lists of observations"),
            Input::nested("priors", "what is assumed of each device", "an object of pairs: mean and sd"),
            Input::nested("contrasts", "what is to be compared", "a list of pairs of names"),
            Input::nested("nominal_power", "the power of each device", "an object of numbers").optional(),
        ],
        answers: by_setting,
    },
    Operation {
        name: "next_practice_size",
        topic: TOPIC,
        question: "Which size should be practised next?",
        inputs: &[
            OBSERVATIONS,
            PRIOR,
            Input::plain("guess", "the guess rate"),
            Input::plain("target", "the success aimed at"),
            Input::logmar("last", "the size practised last").optional(),
            Input::logmar("smallest_passed", "the smallest size passed with four of five").optional(),
        ],
        answers: next_size,
    },
];

const ONLY: Cell = Cell { device: 0, setting: 0 };

/// A part of an input, with the words for where it is.
struct Part<'a> {
    key: &'static str,
    place: String,
    value: &'a Value,
}

impl<'a> Part<'a> {
    const fn whole(key: &'static str, value: &'a Value) -> Self {
        Self { key, place: String::new(), value }
    }

    fn fault(&self, why: impl std::fmt::Display) -> Fault {
        let gap = if self.place.is_empty() { "" } else { ": " };
        Fault::at(self.key, format!("{}{gap}{why}", self.place))
    }

    /// What stands at a name inside; null is nothing.
    fn has(&self, name: &str) -> Option<Self> {
        let value = self.value.get(name).filter(|value| !value.is_null())?;
        let gap = if self.place.is_empty() { "" } else { " " };
        Some(Self { key: self.key, place: format!("{}{gap}{name}", self.place), value })
    }

    fn at(&self, name: &str) -> Result<Self, Fault> {
        self.has(name).ok_or_else(|| self.fault(format!("{name} is missing")))
    }

    fn list(&self) -> Result<Vec<Self>, Fault> {
        let list = self.value.as_array().ok_or_else(|| self.fault("give a list"))?;
        let gap = if self.place.is_empty() { "" } else { " " };
        let part = |(at, value)| Self { key: self.key, place: format!("{}{gap}entry {}", self.place, at + 1), value };
        Ok(list.iter().enumerate().map(part).collect())
    }

    fn object(&self) -> Result<&'a Map<String, Value>, Fault> {
        self.value.as_object().ok_or_else(|| self.fault("give an object"))
    }

    fn number(&self) -> Result<f64, Fault> {
        self.value.as_f64().ok_or_else(|| self.fault("give a number"))
    }

    fn count(&self) -> Result<u32, Fault> {
        count(self.number()?).ok_or_else(|| self.fault("give a whole number of 0 or more"))
    }

    fn text(&self) -> Result<&'a str, Fault> {
        self.value.as_str().ok_or_else(|| self.fault("give text"))
    }

    fn typed<T, E: std::fmt::Display>(&self, make: impl FnOnce(f64) -> Result<T, E>) -> Result<T, Fault> {
        make(self.number()?).map_err(|refused| self.fault(refused))
    }

    fn observation(&self) -> Result<Observation, Fault> {
        let saw = match self.at("kind")?.text()? {
            "tally" => {
                let (right, tried) = (self.at("k")?.count()?, self.at("n")?.count()?);
                Saw::Tally(Tally::new(right, tried).map_err(|refused| self.fault(refused))?)
            }
            "word" => {
                let word = self.at("word")?;
                let said = word_of(word.text()?).ok_or_else(|| word.fault("give one of none, some, most, all"))?;
                Saw::Word(said, self.has("n").map(|items| items.count()).transpose()?)
            }
            _ => return Err(self.fault("kind is tally or word")),
        };
        let session = self.at("sid")?;
        let number = session.value.as_u64().ok_or_else(|| session.fault("give a whole number of 0 or more"))?;
        let (size, guess) = (self.at("x")?.typed(LogMar::new)?, self.at("g")?.typed(Guess::new)?);
        let seen = Observation::new(size, guess, number, saw).map_err(|refused| self.fault(refused))?;
        match self.has("w") {
            Some(weight) => weight.typed(|weight| seen.weighing(weight)),
            None => Ok(seen),
        }
    }

    fn observations(&self) -> Result<Vec<Observation>, Fault> {
        self.list()?.iter().map(Part::observation).collect()
    }

    fn prior(&self, mean: &Part<'_>, deviation: &Part<'_>) -> Result<Prior, Fault> {
        let deviation = deviation.number()?;
        Prior::new(mean.typed(LogMar::new)?, deviation).map_err(|refused| self.fault(refused))
    }
}

fn part<'a>(inputs: &Inputs<'a>, key: &'static str) -> Result<Part<'a>, Fault> {
    Ok(Part::whole(key, inputs.nested(key)?))
}

fn one_device(inputs: &Inputs<'_>) -> Result<Device, Fault> {
    let prior = part(inputs, "prior")?;
    let assumed = prior.prior(&prior.at("mean")?, &prior.at("sd")?)?;
    Ok(Device { prior: assumed, settings: vec![part(inputs, "observations")?.observations()?] })
}

/// A task, with the right ones it asks for as the share of its items.
fn task(query: &Part<'_>, of: &Part<'_>) -> Result<Task, Fault> {
    let (items, least) = (of.at("n")?.count()?, of.at("k_min")?.count()?);
    if !(1..=200).contains(&items) || !(1..=items).contains(&least) {
        return Err(of.fault("n is 1 to 200 and k_min 1 to n"));
    }
    // Certainty is asked of no task; all of the items is the share just below it.
    let share = (f64::from(least) / f64::from(items)).min(0.99);
    let wanted = match query.has("crit") {
        Some(crit) => crit.typed(Fraction::new)?,
        None => Fraction::new(share).map_err(|refused| of.fault(refused))?,
    };
    let (size, guess) = (query.at("x")?.typed(LogMar::new)?, query.at("guess")?.typed(Guess::new)?);
    Ok(Task { size, guess, items, wanted })
}

fn acuity(inputs: &Inputs<'_>) -> Found {
    let (device, query) = (one_device(inputs)?, part(inputs, "query")?);
    let next = query.at("next")?;
    let task = task(&query, &next)?;
    let least = next.at("k_min")?.count()?;
    let found = everyday(&[device])?;
    let success = found.success(ONLY, task).map_err(|refused| query.fault(refused))?;
    let threshold = found.threshold(ONLY)?;
    // The right ones wanted next time may be others than the usual share gives.
    let (average, any) = found.at_least(ONLY, task, least).map_err(|refused| query.fault(refused))?;
    Ok(Figures::from([
        ("theta_mean", threshold.mean),
        ("theta_sd", threshold.deviation),
        ("q05", threshold.interval.low),
        ("q50", threshold.median.get()),
        ("q95", threshold.interval.high),
        ("p_rate80", success.usually),
        ("p_next10_ge8", average),
        ("p_next_day_ge8", any),
    ]))
}

fn next_day(inputs: &Inputs<'_>) -> Found {
    let (device, query) = (one_device(inputs)?, part(inputs, "query")?);
    let task = task(&query, &query)?;
    let least = query.at("k_min")?.count()?;
    let (_, any) = everyday(&[device])?.at_least(ONLY, task, least).map_err(|refused| query.fault(refused))?;
    Ok(Figures::from([("p_next_day_ge8", any)]))
}

fn suspect(inputs: &Inputs<'_>) -> Found {
    let found = everyday(&[one_device(inputs)?])?;
    let slips = found.slips(ONLY)?;
    let last = slips.len().checked_sub(1).ok_or_else(|| Fault::at("observations", "give at least one"))?;
    let moved = found.slip_if_moved(ONLY, last, -1.0)?;
    Ok(Figures::from([("theta_mean", found.threshold(ONLY)?.mean)])
        .value("r", slips.into())
        .and_if("r_last_shift_minus_1", moved))
}

fn next_size(inputs: &Inputs<'_>) -> Found {
    let (device, guess) = (one_device(inputs)?, inputs.typed("guess", Guess::new)?);
    let aim = inputs.fraction("target")?;
    let practised = |key| if inputs.has(key) { inputs.logmar(key).map(Some) } else { Ok(None) };
    let so_far = SoFar { last: practised("last")?, smallest_passed: practised("smallest_passed")? };
    let next = everyday(&[device])?.next_size(ONLY, guess, aim, so_far)?;
    match next {
        Some(next) => Ok(Figures::from([("x_next", next.exact.get()), ("x_next_rounded", next.practical.get())])),
        None => Err(Fault::at("target", "no size is expected to reach it")),
    }
}

/// Devices and cells by the names that the inputs give them.
struct Named {
    devices: Vec<(String, Device)>,
    cells: Vec<(String, Cell)>,
}

impl Named {
    fn of(inputs: &Inputs<'_>) -> Result<Self, Fault> {
        let (priors, cells) = (part(inputs, "priors")?, part(inputs, "cells")?);
        let mut named = Self { devices: Vec::new(), cells: Vec::new() };
        for name in priors.object()?.keys() {
            let pair = priors.at(name)?;
            let [mean, deviation] = &pair.list()?[..] else { return Err(pair.fault("give the mean and the sd")) };
            named.devices.push((name.clone(), Device { prior: pair.prior(mean, deviation)?, settings: Vec::new() }));
        }
        for name in cells.object()?.keys() {
            let entries = cells.at(name)?;
            let of = device_of(name);
            let found = named.devices.iter_mut().enumerate().find(|(_, (device, _))| device == of);
            let (device, (_, known)) = found.ok_or_else(|| entries.fault("priors name no such device"))?;
            named.cells.push((name.clone(), Cell { device, setting: known.settings.len() }));
            known.settings.push(entries.observations()?);
        }
        // A device that was never used is told from its assumption.
        for (_, device) in named.devices.iter_mut().filter(|(_, device)| device.settings.is_empty()) {
            device.settings.push(Vec::new());
        }
        Ok(named)
    }

    fn cell(&self, name: &str) -> Option<Cell> {
        self.cells.iter().find(|(known, _)| known == name).map(|(_, cell)| *cell)
    }

    fn device(&self, name: &str) -> Option<usize> {
        self.devices.iter().position(|(known, _)| known == name)
    }
}

fn device_of(name: &str) -> &str {
    name.split('/').next().unwrap_or(name)
}

fn by_setting(inputs: &Inputs<'_>) -> Found {
    let named = Named::of(inputs)?;
    let mut pairs = Vec::new();
    for pair in part(inputs, "contrasts")?.list()? {
        let [first, second] = &pair.list()?[..] else { return Err(pair.fault("give two names")) };
        pairs.push((
            Part { key: pair.key, place: pair.place.clone(), value: pair.value },
            first.text()?,
            second.text()?,
        ));
    }
    let powers = if inputs.has("nominal_power") { Some(part(inputs, "nominal_power")?) } else { None };
    if let Some(powers) = &powers {
        for name in powers.object()?.keys() {
            powers.at(name)?.typed(crate::vision::units::Magnification::new)?;
        }
    }
    let devices: Vec<Device> = named.devices.iter().map(|(_, device)| device.clone()).collect();
    let posterior = everyday(&devices)?;
    let mut figures = Figures::default();
    for (name, cell) in &named.cells {
        let found = posterior.threshold(*cell)?;
        figures = figures.value(format!("theta_mean:{name}"), found.mean.into());
        figures = figures.value(format!("theta_sd:{name}"), found.deviation.into());
    }
    for (device, (name, _)) in named.devices.iter().enumerate() {
        let found = posterior.over_settings(device)?;
        figures = figures.value(format!("mu_mean:{name}"), found.mean.into());
        figures = figures.value(format!("mu_sd:{name}"), found.deviation.into());
    }
    let mut contrasts = Vec::new();
    for (pair, first, second) in pairs {
        contrasts.push(contrast(&posterior, &named, &pair, (first, second), powers.as_ref())?);
    }
    Ok(figures.value("contrasts", contrasts.into()))
}

/// Two cells, or two devices over their settings.
fn contrast(
    posterior: &Posterior,
    named: &Named,
    pair: &Part<'_>,
    (first, second): (&str, &str),
    powers: Option<&Part<'_>>,
) -> Result<Value, Fault> {
    let (apart, together) = match (named.cell(first), named.cell(second), named.device(first), named.device(second)) {
        (Some(one), Some(other), ..) => {
            // Settings of one device lean on one another; their difference is
            // given as other programs take it, and as it is.
            let together = (one.device == other.device).then(|| posterior.difference(one, other)).transpose()?;
            (posterior.difference_alone(one, other)?, together)
        }
        (None, None, Some(one), Some(other)) => (posterior.difference_over_settings(one, other)?, None),
        _ => return Err(pair.fault("give two names of cells, or two of devices")),
    };
    let mut told = told(&apart);
    if let Some(together) = together {
        told.insert("together".into(), self::told(&together).into());
    }
    let power = powers.and_then(|powers| powers.has(device_of(second))).map(|power| power.number()).transpose()?;
    let unaided = powers.is_some_and(|powers| powers.has(device_of(first)).is_none());
    if let Some(power) = power.filter(|_| unaided) {
        told.insert("p_delivers".into(), json!(apart.at_least((0.8 * power).log10())));
    }
    Ok(told.into())
}

fn told(apart: &Difference) -> Map<String, Value> {
    let figures = [
        ("mean", apart.mean),
        ("q05", apart.interval.low),
        ("q95", apart.interval.high),
        ("p_gt0", apart.first_larger),
    ];
    figures.into_iter().map(|(key, figure)| (key.to_owned(), json!(figure))).collect()
}
