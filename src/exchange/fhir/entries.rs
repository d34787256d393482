//! What the team writes down, as resources: sessions are procedures with an
//! observation for each exercise, entries of people are answered forms, and
//! goals, consents and decisions are what their names say.

use super::Builder;
use super::element::{
    Actor, Annotation, Answer, Coding, Component, Concept, Item, Performer, Period, Provision, Quantity, Reference,
    Target,
};
use super::resource::{ClinicalImpression, Consent, Goal, Observation, Procedure, QuestionnaireResponse, Resource};
use super::terms::Terms;
use crate::exchange::record::{self, Coded, Decision, Exercise, Session};

pub(super) fn session(to: &mut Builder<'_>, session: &Session) {
    let url = to.url(&session.id);
    let status = match (session.in_error, &session.refused) {
        (true, _) => "entered-in-error",
        (false, Some(_)) if session.exercises.is_empty() => "not-done",
        (false, _) => "completed",
    };
    let by = to.person(&session.author_id);
    let felt: Vec<&str> = session.comfort.iter().chain(&session.symptoms).map(|coded| coded.words).collect();
    let mut note = Annotation::of(&session.note);
    note.extend(Annotation::of(&felt.join(", ")));
    note.extend(Annotation::of(&format!("{} minutes, {}", session.minutes, session.place.words)));
    let made = Procedure {
        status,
        status_reason: session
            .refused
            .as_ref()
            .map(|why| Concept::words(if why.is_empty() { "the student refused" } else { why })),
        code: Concept::of(to.terms().own(
            "training",
            if session.baseline { "baseline" } else { "session" },
            if session.baseline { "Probe without teaching" } else { "Device training" },
        )),
        subject: to.subject(),
        performed_date_time: session.on.to_string(),
        performer: by.clone().map(|actor| Performer { actor }).into_iter().collect(),
        note,
        used_reference: session.device_id.iter().map(|id| Reference::to(&to.url(id))).collect(),
    };
    to.add(url.clone(), Resource::Procedure(Box::new(made)));
    for one in &session.exercises {
        let counted = exercise(to, session, one, by.clone());
        to.add(to.url(&one.id), Resource::Observation(Box::new(counted)));
    }
}

fn exercise(to: &Builder<'_>, session: &Session, one: &Exercise, by: Option<Reference>) -> Observation {
    let terms = to.terms();
    let named = |code: &str, words: &str| Concept::of(terms.own("exercise-detail", code, words));
    let amount = |code: &str, words: &str, value: Option<f64>, unit: (&str, &str)| {
        value.map(|value| Component {
            code: named(code, words),
            value_quantity: Some(Quantity::of(value, unit.0, unit.1)),
            ..Component::default()
        })
    };
    let items = ("items", "{items}");
    let component = [
        amount("tries", "Items tried", one.tries.map(f64::from), items),
        amount("right", "Items right", one.right.map(f64::from), items),
        amount("median-time", "Median time of an item", one.median_s, ("s", "s")),
        amount("distance", "Distance", one.distance_m, ("m", "m")),
        amount("x-height", "Height of the small letters", one.x_height_mm, ("mm", "mm")),
        amount("prompts", "Times help was given", one.prompt_count.map(f64::from), ("times", "{times}")),
    ];
    let prompt = Component {
        code: named("prompt-level", "Help it took"),
        value_codeable_concept: Some(terms.coded("prompt-level", one.prompt)),
        ..Component::default()
    };
    Observation {
        part_of: vec![Reference::to(&to.url(&session.id))],
        status: if session.in_error { "entered-in-error" } else { "final" },
        category: Terms::therapy(),
        code: terms.coded("skill", one.skill),
        subject: to.subject(),
        effective_date_time: Some(session.on.to_string()),
        performer: by.into_iter().collect(),
        note: Annotation::of(&one.item),
        component: component.into_iter().flatten().chain([prompt]).collect(),
        ..Observation::default()
    }
}

pub(super) fn observation(to: &mut Builder<'_>, seen: &record::Observation) {
    let terms = to.terms();
    let mut item = vec![
        chosen(terms, "setting", "Where in the student's life?", Some(seen.setting)),
        words("seen-on", "On which day?", &seen.on.to_string()),
    ];
    if let Some(detail) = &seen.detail {
        let figure = |id, text, value: Option<f64>, unit: &str| {
            value.map(|value| Item {
                link_id: id,
                text,
                answer: vec![Answer { value_quantity: Some(Quantity::of(value, unit, unit)), ..Answer::default() }],
            })
        };
        let whole = |id, text, value: Option<i64>| {
            value.map(|value| Item {
                link_id: id,
                text,
                answer: vec![Answer { value_integer: Some(value), ..Answer::default() }],
            })
        };
        item.extend([
            words("what", "What was looked at?", &detail.what),
            words("informant", "Who told of it?", &detail.informant),
            chosen(terms, "place", "Where?", detail.place),
            figure("distance", "From how far?", detail.distance_m, "m"),
            chosen(terms, "distance-band", "About how far?", detail.band),
            figure("x-height", "How tall were the small letters?", detail.x_height_mm, "mm"),
            chosen(terms, "contrast", "How strongly did it stand out?", detail.contrast),
            chosen(terms, "device-out", "Was the device out?", detail.device_out),
            chosen(terms, "non-use", "Why not?", detail.non_use),
            chosen(terms, "result", "How much was right?", detail.graded),
            whole("correct", "How many were right?", detail.correct),
            whole("tried", "Of how many?", detail.tried),
            chosen(terms, "help", "How much help did it take?", detail.help),
            chosen(terms, "comfort", "How did the eyes feel?", detail.comfort),
            chosen(terms, "mood", "How did the student feel?", detail.mood),
            chosen(terms, "tired", "How long before tired?", detail.tired),
            words("note", "Anything else?", &detail.note),
        ]);
    }
    let made = QuestionnaireResponse {
        questionnaire: terms.questionnaire(),
        status: match (seen.in_error, &seen.detail) {
            (true, _) => "entered-in-error",
            (false, Some(_)) => "completed",
            // Its writer may still change it; the rest of it is not told yet.
            (false, None) => "in-progress",
        },
        subject: to.subject(),
        authored: seen.entered_at.to_string(),
        author: to.person(&seen.author_id),
        item: item.into_iter().flatten().collect(),
    };
    to.add(to.url(&seen.id), Resource::QuestionnaireResponse(Box::new(made)));
}

fn words(link_id: &'static str, text: &'static str, said: &str) -> Option<Item> {
    (!said.is_empty()).then(|| Item {
        link_id,
        text,
        answer: vec![Answer { value_string: Some(said.to_owned()), ..Answer::default() }],
    })
}

fn chosen(terms: &Terms, link_id: &'static str, text: &'static str, coded: Option<Coded>) -> Option<Item> {
    coded.map(|coded| Item {
        link_id,
        text,
        answer: vec![Answer { value_coding: Some(terms.own(link_id, coded.code, coded.words)), ..Answer::default() }],
    })
}

pub(super) fn goal(to: &mut Builder<'_>, goal: &record::Goal) {
    let student = to.record().student.id.clone();
    let made = Goal {
        lifecycle_status: "active",
        description: Concept::words(&format!("Reading goal: {}, acuity reserve {}", goal.goal.words, goal.typed)),
        subject: to.subject(),
        start_date: goal.on.to_string(),
        target: vec![Target {
            measure: Concept::of(to.terms().own("reading-goal", goal.goal.code, goal.goal.words)),
            detail_quantity: Some(Quantity::of(goal.reserve, "ratio", "1")),
        }],
        note: Annotation::of(&goal.source),
    };
    to.add(to.derived(&student, &goal_part(goal.goal.code)), Resource::Goal(Box::new(made)));
}

/// The part of a student's record that a reading goal is.
pub(super) fn goal_part(goal: &str) -> String {
    format!("goal {goal}")
}

pub(super) fn consent(to: &mut Builder<'_>, consent: &record::Consent) {
    let system = |name: &str| format!("http://terminology.hl7.org/CodeSystem/{name}");
    let actor = |role: &str, display: &str, party: &str| Actor {
        role: Concept {
            coding: vec![Coding::of(&system("v3-ParticipationType"), role, display)],
            text: display.to_owned(),
        },
        reference: Reference::named(party),
    };
    let last = match (consent.withdrawn, consent.end) {
        (Some(day), _) | (None, Some(day)) => Some(day.to_string()),
        (None, None) => None,
    };
    let made = Consent {
        status: if consent.withdrawn.is_some() { "inactive" } else { "active" },
        scope: Concept::of(Coding::of(&system("consentscope"), "patient-privacy", "Privacy Consent")),
        category: vec![Concept {
            coding: vec![Coding::of("http://loinc.org", "59284-0", "Consent Document")],
            text: consent.direction.words.to_owned(),
        }],
        patient: to.subject(),
        date_time: consent.signed_at.to_string(),
        organization: vec![Reference::named(&consent.from)],
        policy_rule: Concept::words(&format!(
            "{} Signed by {}, {}.",
            consent.purpose, consent.signer, consent.given.words
        )),
        provision: Provision {
            r#type: "permit",
            period: Some(Period { start: Some(consent.start.to_string()), end: last }),
            actor: vec![actor("IRCP", "information recipient", &consent.to)],
            action: vec![Concept::of(Coding::of(&system("consentaction"), "disclose", "Disclose"))],
            code: consent.categories.iter().map(|kind| to.terms().coded("record-category", *kind)).collect(),
        },
    };
    to.add(to.url(&consent.id), Resource::Consent(Box::new(made)));
}

pub(super) fn decision(to: &mut Builder<'_>, decision: &Decision) {
    let next = decision.next_on.map_or_else(String::new, |day| format!("To be looked at again on {day}."));
    let made = ClinicalImpression {
        status: if decision.in_error { "entered-in-error" } else { "completed" },
        code: to.terms().coded("decision", decision.choice),
        subject: to.subject(),
        effective_date_time: Some(decision.on.to_string()),
        assessor: to.named(&decision.by),
        summary: decision.reason.clone(),
        note: Annotation::of(&next),
    };
    to.add(to.url(&decision.id), Resource::ClinicalImpression(Box::new(made)));
}
