//! Evaluations as resources: a panel with an observation for each acuity row,
//! one for each refraction, the diagnosis, and what is recommended.
//!
//! What was recorded stands in a component beside the value; a category gets no
//! value. The time is that of the examination, not of the entry.

use super::element::{Annotation, Component, Concept, Quantity, Reference};
use super::resource::{Condition, Observation, Resource};
use super::terms::Terms;
use super::{Builder, device};
use crate::exchange::record::{Acuity, Evaluation, Refraction, Standing};

pub(super) fn evaluation(to: &mut Builder<'_>, evaluation: &Evaluation) {
    let by = examiner(to, evaluation);
    let mut members = Vec::new();
    for row in &evaluation.acuities {
        let url = to.url(&row.id);
        let acuity = acuity(to, evaluation, row, by.clone());
        to.add(url.clone(), Resource::Observation(Box::new(acuity)));
        members.push(Reference::to(&url));
    }
    let panel = Observation {
        status: status(evaluation.standing),
        category: Terms::exam(),
        code: Terms::panel(),
        subject: to.subject(),
        effective_date_time: evaluation.examined_on.map(|day| day.to_string()),
        performer: by.clone(),
        // A panel of no rows says so itself.
        data_absent_reason: members.is_empty().then(|| Concept::words("no acuity was measured")),
        has_member: members,
        ..Observation::default()
    };
    to.add(to.url(&evaluation.id), Resource::Observation(Box::new(panel)));
    for one in &evaluation.refractions {
        let found = refraction(to, evaluation, one, by.clone());
        to.add(to.derived(&evaluation.id, refraction_part(one.right)), Resource::Observation(Box::new(found)));
    }
    if !evaluation.diagnosis.is_empty() {
        let diagnosis = Condition {
            code: Concept::words(&evaluation.diagnosis),
            subject: to.subject(),
            recorded_date: Some(evaluation.signed_at.to_string()),
            recorder: to.person(&evaluation.author_id),
        };
        to.add(to.derived(&evaluation.id, "diagnosis"), Resource::Condition(diagnosis));
    }
    device::recommended(to, evaluation);
}

/// Which part of an evaluation the refraction of an eye is.
pub(super) const fn refraction_part(right: bool) -> &'static str {
    if right { "refraction right" } else { "refraction left" }
}

fn examiner(to: &Builder<'_>, evaluation: &Evaluation) -> Vec<Reference> {
    let known = evaluation.examiner_id.as_deref().and_then(|id| to.person(id));
    let named = || (!evaluation.examiner.is_empty()).then(|| Reference::named(&evaluation.examiner));
    known.or_else(named).into_iter().collect()
}

/// R4 knows no status for a document whose place another took: it was final.
const fn status(standing: Standing) -> &'static str {
    match standing {
        Standing::Final | Standing::Superseded => "final",
        Standing::Unconfirmed => "preliminary",
        Standing::EnteredInError => "entered-in-error",
    }
}

fn acuity(to: &mut Builder<'_>, evaluation: &Evaluation, row: &Acuity, by: Vec<Reference>) -> Observation {
    let terms = to.terms();
    let mut component = vec![
        Component {
            code: Concept::of(terms.own("va-detail", "as-recorded", "Acuity as recorded")),
            value_string: Some(row.as_recorded.clone()),
            ..Component::default()
        },
        Component {
            code: Concept::of(terms.own("va-detail", "test-distance", "Test distance")),
            value_quantity: Some(Quantity::of(row.distance_m, "m", "m")),
            ..Component::default()
        },
        Component {
            code: Concept::of(terms.own("va-detail", "notation", "How it was written down")),
            value_codeable_concept: Some(terms.coded("va-notation", row.notation)),
            ..Component::default()
        },
    ];
    let said = [("light", "Light of the room", row.light), ("effort", "How far it may be relied on", row.effort)];
    for (code, words, value) in said {
        component.extend(value.map(|value| Component {
            code: Concept::of(terms.own("va-detail", code, words)),
            value_codeable_concept: Some(terms.coded("va-detail-value", value)),
            ..Component::default()
        }));
    }
    let nothing = row.logmar.is_none() && row.category.is_none();
    let standing = match evaluation.standing {
        Standing::Unconfirmed => "Transcribed from a report on paper, not confirmed by a clinician.",
        Standing::Superseded => "A newer evaluation has taken the place of this one.",
        Standing::Final | Standing::EnteredInError => "",
    };
    let mut note = Annotation::of(&row.note);
    note.extend(Annotation::of(standing));
    let (code, category, eye) =
        (terms.acuity(row), row.category.map(|sight| terms.category(sight)), terms.eye(row.eye.code));
    let method = row.target.map(|target| terms.coded("va-target", target));
    Observation {
        status: status(evaluation.standing),
        category: Terms::exam(),
        code,
        subject: to.subject(),
        effective_date_time: evaluation.examined_on.map(|day| day.to_string()),
        performer: by,
        value_quantity: row.logmar.map(|logmar| Quantity::of(logmar, "logMAR", "{logMAR}")),
        value_codeable_concept: if row.logmar.is_none() { category } else { None },
        data_absent_reason: nothing.then(|| Concept::words("no figure follows from what was recorded")),
        note,
        body_site: eye,
        method,
        device: row.through.map(|through| device::through(to, &row.id, &through)),
        component,
        ..Observation::default()
    }
}

fn refraction(to: &Builder<'_>, evaluation: &Evaluation, one: &Refraction, by: Vec<Reference>) -> Observation {
    let terms = to.terms();
    let part = |code: &str, words: &str, value: Option<f64>, unit: (&str, &str)| {
        value.map(|value| Component {
            code: Concept::of(terms.own("refraction-detail", code, words)),
            value_quantity: Some(Quantity::of(value, unit.0, unit.1)),
            ..Component::default()
        })
    };
    let dioptres = ("dioptre", "[diop]");
    let component = [
        part("sphere", "Sphere", Some(one.sphere_d), dioptres),
        part("cylinder", "Cylinder", one.cylinder_d, dioptres),
        part("axis", "Axis", one.axis_deg.map(f64::from), ("degree", "deg")),
        part("addition", "Reading addition", one.add_d, dioptres),
        part("prism", "Prism", one.prism_d, ("prism dioptre", "[p'diop]")),
    ];
    let base = one.prism_base.map(|base| Component {
        code: Concept::of(terms.own("refraction-detail", "prism-base", "Base of the prism")),
        value_codeable_concept: Some(terms.coded("prism-base", base)),
        ..Component::default()
    });
    let eye = if one.right { "right" } else { "left" };
    Observation {
        status: status(evaluation.standing),
        category: Terms::exam(),
        code: Concept::of(terms.own(
            "refraction",
            eye,
            if one.right { "Refraction, right eye" } else { "Refraction, left eye" },
        )),
        subject: to.subject(),
        effective_date_time: evaluation.examined_on.map(|day| day.to_string()),
        performer: by,
        body_site: terms.eye(eye),
        method: one.method.map(|method| terms.coded("refraction-method", method)),
        note: Annotation::of(&one.typed),
        component: component.into_iter().flatten().chain(base).collect(),
        ..Observation::default()
    }
}
