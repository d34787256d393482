//! Devices as resources: recommended and prescribed ones are requests, lent and
//! owned ones are things, a loan is the use of a thing for a time.
//!
//! A telescope or magnifier is never written as a lens. Every stated part of a
//! specification is a parameter in its own unit; what is not stated is left out.

use super::Builder;
use super::element::{Annotation, Concept, DeviceName, Identifier, Parameter, Period, Property, Quantity, Reference};
use super::resource::{Device, DeviceRequest, DeviceUseStatement, Resource};
use crate::care::device::DeviceSpec;
use crate::care::device_words;
use crate::care::prescription::State;
use crate::care::track::{Eye, Light};
use crate::exchange::record::{self, Evaluation, Loan, Named, Prescription, Standing, Through};

/// Every stated figure of a specification: code, words, value, unit.
fn figures(spec: &DeviceSpec) -> Vec<(&'static str, &'static str, Quantity)> {
    let dioptres = |value: f64| Quantity::of(value, "dioptre", "[diop]");
    let mm = |value: f64| Quantity::of(value, "mm", "mm");
    [
        spec.power.map(|power| ("magnification", "Magnification", Quantity::of(power.get(), "x", "1"))),
        spec.objective.map(|size| ("objective-diameter", "Objective diameter", mm(size.get()))),
        spec.true_field.map(|field| ("field-of-view", "True field of view", Quantity::of(field.get(), "deg", "deg"))),
        spec.near_focus.map(|near| ("near-focus", "Closest focus", Quantity::of(near.get(), "m", "m"))),
        spec.reading_cap.map(|cap| ("reading-cap", "Reading cap", dioptres(cap.get()))),
        spec.equivalent_power.map(|power| ("equivalent-power", "Equivalent power", dioptres(power.get()))),
        spec.lens_diameter.map(|size| ("lens-diameter", "Lens diameter", mm(size.get()))),
        spec.stand_height.map(|height| ("stand-height", "Stand height", mm(height.get()))),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn parameters(to: &Builder<'_>, spec: &DeviceSpec) -> Vec<Parameter> {
    let terms = to.terms();
    let named = |code: &str, words: &str| Concept::of(terms.own("device-parameter", code, words));
    let mut parameters: Vec<Parameter> = figures(spec)
        .into_iter()
        .map(|(code, words, value)| Parameter {
            code: named(code, words),
            value_quantity: Some(value),
            ..Parameter::default()
        })
        .collect();
    parameters.extend(spec.light.map(|light| Parameter {
        code: named("light", "Light built in"),
        value_boolean: Some(light != Light::None),
        ..Parameter::default()
    }));
    parameters.extend(spec.eye.map(|eye| Parameter {
        code: named("preferred-eye", "Eye to be used"),
        value_codeable_concept: Some(match eye {
            Eye::Right | Eye::Left => terms.eye(eye.code()).unwrap_or_default(),
            Eye::Both | Eye::Either => Concept::of(terms.own("eye", eye.code(), eye.words())),
        }),
        ..Parameter::default()
    }));
    parameters.extend(spec.with_glasses.map(|glasses| Parameter {
        code: named("with-glasses", "With the glasses"),
        value_codeable_concept: Some(Concept::of(terms.own("with-glasses", glasses.code(), glasses.words()))),
        ..Parameter::default()
    }));
    parameters
}

fn properties(to: &Builder<'_>, spec: &DeviceSpec) -> Vec<Property> {
    figures(spec)
        .into_iter()
        .map(|(code, words, value)| Property {
            r#type: Concept::of(to.terms().own("device-parameter", code, words)),
            value_quantity: vec![value],
        })
        .collect()
}

fn code(to: &Builder<'_>, named: &Named) -> Concept {
    let line = device_words::line(&named.spec);
    let purpose = if named.purpose.is_empty() { String::new() } else { format!(", for {}", named.purpose) };
    to.terms().device(named.spec.kind, &format!("{line}{purpose}"))
}

/// The part of an evaluation that a recommended device is.
pub(super) fn recommended_part(track: &str, place: usize) -> String {
    format!("{track} device {place}")
}

/// The part of a prescription that a device of it is.
pub(super) fn prescribed_part(place: usize) -> String {
    format!("device {place}")
}

/// What an evaluation recommends: proposals, which order nothing.
pub(super) fn recommended(to: &mut Builder<'_>, evaluation: &Evaluation) {
    let requester = evaluation.examiner_id.as_deref().and_then(|id| to.person(id));
    for answer in &evaluation.answers {
        for (place, named) in answer.devices.iter().enumerate() {
            let mut note = Annotation::of(&answer.limits);
            note.extend(Annotation::of(&named.limits));
            let request = DeviceRequest {
                status: match evaluation.standing {
                    Standing::Final | Standing::Unconfirmed => "active",
                    Standing::Superseded => "revoked",
                    Standing::EnteredInError => "entered-in-error",
                },
                intent: "proposal",
                code_codeable_concept: code(to, named),
                parameter: parameters(to, &named.spec),
                subject: to.subject(),
                authored_on: evaluation.signed_at.to_string(),
                requester: requester.clone(),
                note,
                ..DeviceRequest::default()
            };
            let url = to.derived(&evaluation.id, &recommended_part(answer.track.code(), place));
            to.add(url, Resource::DeviceRequest(Box::new(request)));
        }
    }
}

/// What a prescription orders besides lenses.
pub(super) fn prescribed(to: &mut Builder<'_>, prescription: &Prescription) {
    let before =
        prescription.supersedes.as_deref().and_then(|id| to.record().prescriptions.iter().find(|one| one.id == id));
    let prior: Vec<Reference> = before
        .map(|before| {
            (0..before.devices.len())
                .map(|place| Reference::to(&to.derived(&before.id, &prescribed_part(place))))
                .collect()
        })
        .unwrap_or_default();
    for (place, (_, named)) in prescription.devices.iter().enumerate() {
        let notes = [&prescription.limits, &named.limits, &prescription.lighting, &prescription.seating];
        let request = DeviceRequest {
            identifier: vec![Identifier {
                system: to.terms().ids("device-order"),
                value: format!("{}-{}", prescription.number, place + 1),
            }],
            prior_request: prior.clone(),
            status: match prescription.state {
                State::Draft => "draft",
                State::Active => "active",
                State::Superseded | State::Cancelled => "revoked",
                State::EnteredInError => "entered-in-error",
            },
            intent: "order",
            code_codeable_concept: code(to, named),
            parameter: parameters(to, &named.spec),
            subject: to.subject(),
            authored_on: prescription.signed_at.to_string(),
            requester: to.person(&prescription.prescriber_id),
            note: notes.into_iter().flat_map(|text| Annotation::of(text)).collect(),
        };
        to.add(to.derived(&prescription.id, &prescribed_part(place)), Resource::DeviceRequest(Box::new(request)));
    }
}

/// A device lent or owned. A pool device is nobody's, so it names no patient.
pub(super) fn thing(to: &mut Builder<'_>, device: &record::Device) {
    let name = if device.tag.is_empty() { device_words::short(&device.named.spec) } else { device.tag.clone() };
    let made = Device {
        identifier: if device.tag.is_empty() {
            Vec::new()
        } else {
            vec![Identifier { system: to.terms().ids("device-tag"), value: device.tag.clone() }]
        },
        status: if device.in_error { "entered-in-error" } else { "active" },
        device_name: vec![DeviceName { name, r#type: "user-friendly-name" }],
        r#type: code(to, &device.named),
        property: properties(to, &device.named.spec),
        patient: device.own.then(|| to.subject()),
    };
    to.add(to.url(&device.id), Resource::Device(Box::new(made)));
}

/// The device an acuity was measured through: one of its kind and power, for no
/// chart says which piece it was.
pub(super) fn through(to: &mut Builder<'_>, row: &str, through: &Through) -> Reference {
    let terms = to.terms();
    let mut property = Vec::new();
    let figures = [
        through.power.map(|power| ("magnification", "Magnification", Quantity::of(power, "x", "1"))),
        through
            .equivalent_d
            .map(|power| ("equivalent-power", "Equivalent power", Quantity::of(power, "dioptre", "[diop]"))),
    ];
    for (code, words, value) in figures.into_iter().flatten() {
        property.push(Property {
            r#type: Concept::of(terms.own("device-parameter", code, words)),
            value_quantity: vec![value],
        });
    }
    let device = Device {
        status: "active",
        device_name: vec![DeviceName { name: through.kind.words().to_owned(), r#type: "user-friendly-name" }],
        r#type: terms.device(through.kind, ""),
        property,
        ..Device::default()
    };
    let url = to.derived(row, "device");
    to.add(url.clone(), Resource::Device(Box::new(device)));
    Reference::to(&url)
}

/// A loan.
pub(super) fn loan(to: &mut Builder<'_>, loan: &Loan) {
    let status = match (loan.in_error, loan.returned_on) {
        (true, _) => "entered-in-error",
        (false, Some(_)) => "completed",
        (false, None) => "active",
    };
    let words = format!(
        "Loan for the {} track: {}. Due back on {}. Kept by {}.",
        loan.track.words(),
        loan.purpose.words,
        loan.due_on,
        loan.held_by.words
    );
    let made = DeviceUseStatement {
        status,
        subject: to.subject(),
        timing_period: Period {
            start: Some(loan.lent_on.to_string()),
            end: loan.returned_on.map(|day| day.to_string()),
        },
        device: Reference::to(&to.url(&loan.device_id)),
        note: Annotation::of(&words),
    };
    to.add(to.url(&loan.id), Resource::DeviceUseStatement(Box::new(made)));
}
