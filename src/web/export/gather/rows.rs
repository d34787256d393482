//! Each kind of record as a row of the exchange: the same facts in plain units.

use super::Devices;
use crate::care::amendment::{Amendment, Kind};
use crate::care::document::Mark;
use crate::care::evaluation::{self as clinic, Finding, State};
use crate::care::goal::Own;
use crate::care::loan::LoanRecord;
use crate::care::named_device::NamedDevice;
use crate::care::observation::Outcome;
use crate::care::prescription::{self, Prescription};
use crate::care::task::VisualTask;
use crate::care::training;
use crate::coded;
use crate::exchange::record;
use crate::store::consent::Listed as ListedConsent;
use crate::store::decision::Decision;
use crate::store::disclosure::Disclosure;
use crate::store::evaluation::Listed;
use crate::store::observation::Entry;
use crate::store::own_device::Kept;
use crate::store::post::Post;
use crate::store::summary::Summary;
use crate::store::team::Member;

pub(super) fn person(member: Member) -> record::Person {
    record::Person {
        id: member.account.to_string(),
        name: member.name,
        role: coded!(member.role),
        relation: member.relation,
        organisation: member.clinic.unwrap_or_default(),
        from: member.starts_on,
        to: member.ends_on,
    }
}

pub(super) fn evaluation(listed: &Listed, whole: &clinic::Evaluation) -> Option<record::Evaluation> {
    let by_clinician = whole.paper.is_none();
    Some(record::Evaluation {
        id: whole.id.to_string(),
        examined_on: whole.examined_on,
        examiner: whole.examiner.clone(),
        examiner_id: by_clinician.then(|| whole.created_by.to_string()),
        author_id: whole.created_by.to_string(),
        signed_at: whole.signed_at?,
        standing: match listed.state {
            State::EnteredInError => record::Standing::EnteredInError,
            _ if listed.superseded => record::Standing::Superseded,
            State::Filed => record::Standing::Unconfirmed,
            State::Draft | State::Signed | State::Confirmed => record::Standing::Final,
        },
        diagnosis: whole.findings.diagnosis.clone(),
        acuities: whole.acuities.iter().map(acuity).collect(),
        refractions: [(true, &whole.right), (false, &whole.left)]
            .into_iter()
            .filter_map(|(right, found)| found.as_ref().map(|found| refraction(right, found)))
            .collect(),
        answers: whole
            .answers
            .iter()
            .map(|answer| record::Answer {
                track: answer.track,
                choice: coded!(answer.choice),
                safe: coded!(answer.safe),
                limits: answer.limits.clone(),
                devices: answer.devices.iter().map(named).collect(),
            })
            .collect(),
        version: whole.version,
    })
}

fn acuity(row: &clinic::AcuityRow) -> record::Acuity {
    let one = &row.row;
    let (logmar, category) = match one.finding {
        Finding::Measured(value) => (Some(value.get()), None),
        Finding::Category(sight) => (None, Some(coded!(sight))),
    };
    record::Acuity {
        id: row.id.to_string(),
        eye: coded!(one.eye),
        correction: coded!(one.correction),
        distance_m: one.distance.value.get(),
        distance_typed: one.distance.typed.clone(),
        near: one.is_near(),
        notation: coded!(one.notation),
        as_recorded: one.as_recorded.clone(),
        logmar,
        category,
        target: one.chart.map(|chart| coded!(chart)),
        light: one.light.map(|light| coded!(light)),
        effort: one.effort.map(|effort| coded!(effort)),
        through: one.device.map(|device| record::Through {
            kind: device.kind,
            power: device.power.map(|power| power.get()),
            equivalent_d: device.equivalent.map(|power| power.get()),
        }),
        note: one.note.clone(),
    }
}

fn refraction(right: bool, found: &clinic::Refraction) -> record::Refraction {
    let cylinder = Some(found.lens.cylinder.get()).filter(|cylinder| cylinder.abs() >= f64::MIN_POSITIVE);
    // An axis is typed in whole degrees; without a cylinder it says nothing.
    let axis = (1..=180_u16).find(|axis| (f64::from(*axis) - found.lens.axis.get()).abs() < 0.5);
    record::Refraction {
        right,
        sphere_d: found.lens.sphere.get(),
        cylinder_d: cylinder,
        axis_deg: cylinder.and(axis),
        add_d: found.add.map(|add| add.get()),
        prism_d: found.prism.map(|(amount, _)| amount),
        prism_base: found.prism.map(|(_, base)| coded!(base)),
        method: found.method.map(|method| coded!(method)),
        typed: found.typed.clone(),
    }
}

fn named(device: &NamedDevice) -> record::Named {
    record::Named {
        spec: device.spec.clone(),
        label: device.label.clone(),
        purpose: device.purpose.clone(),
        limits: device.limits.clone(),
    }
}

/// A signed one; a draft is not taken along.
pub(super) fn prescription(one: Prescription) -> Option<record::Prescription> {
    let (signed_at, written_on) = (one.signed_at?, one.written_on?);
    if one.state == prescription::State::Draft {
        return None;
    }
    let lens = |right: bool, found: &Option<clinic::Refraction>| found.as_ref().map(|found| refraction(right, found));
    Some(record::Prescription {
        id: one.id.to_string(),
        number: one.number,
        state: one.state,
        lenses: lens(true, &one.contents.right).into_iter().chain(lens(false, &one.contents.left)).collect(),
        lens_note: one.contents.lens_note.clone(),
        devices: one.contents.named().map(|(track, device)| (track, named(device))).collect(),
        limits: one.contents.limits.clone(),
        lighting: one.contents.lighting.clone(),
        seating: one.contents.seating.clone(),
        supersedes: one.supersedes.map(|id| id.to_string()),
        written_on,
        signed_at,
        review_on: one.contents.review_on,
        expires_on: one.contents.expires_on,
        prescriber_id: one.author.to_string(),
        prescriber_line: one.prescriber_line,
    })
}

pub(super) fn decision(one: Decision) -> record::Decision {
    record::Decision {
        id: one.id.to_string(),
        track: one.track,
        choice: coded!(one.choice),
        in_error: one.after.is(Mark::EnteredInError),
        reason: one.reason,
        on: one.decided_on,
        next_on: one.next_on,
        by: one.by,
        summary_id: one.summary.map(|id| id.to_string()),
    }
}

pub(super) fn lent(one: &LoanRecord) -> record::Device {
    let named =
        record::Named { spec: one.spec.clone(), label: String::new(), purpose: String::new(), limits: String::new() };
    record::Device {
        id: one.device.to_string(),
        own: false,
        tag: one.tag.clone(),
        named,
        received_on: None,
        condition: None,
        prescription_id: None,
        in_error: false,
    }
}

pub(super) fn owned(one: Kept, in_error: bool) -> record::Device {
    record::Device {
        id: one.id.to_string(),
        own: true,
        tag: one.tag,
        named: named(&one.device),
        received_on: Some(one.received_on),
        condition: Some(coded!(one.condition)),
        prescription_id: one.prescription.map(|id| id.to_string()),
        in_error,
    }
}

pub(super) fn loan(one: &LoanRecord, in_error: bool) -> record::Loan {
    let entered = &one.entered;
    record::Loan {
        id: one.id.to_string(),
        device_id: one.device.to_string(),
        tag: one.tag.clone(),
        track: entered.track,
        eye: coded!(entered.eye),
        lent_on: entered.lent_on,
        due_on: entered.due_on,
        returned_on: one.returned_on,
        condition_out: coded!(entered.condition_out),
        condition_in: one.condition_in.map(|condition| coded!(condition)),
        purpose: coded!(entered.purpose),
        held_by: coded!(entered.held_by),
        agreed_by: coded!(entered.agreement_by),
        home_use: entered.home_use,
        in_error,
        version: one.version,
    }
}

pub(super) fn session(one: &training::Session, in_error: bool, devices: &Devices) -> record::Session {
    let entered = &one.entered;
    record::Session {
        id: one.id.to_string(),
        track: entered.track,
        on: entered.held_on,
        minutes: entered.minutes,
        place: coded!(entered.place),
        light: entered.light.map(|light| coded!(light)),
        baseline: entered.baseline,
        device_id: devices.of(entered.device),
        comfort: entered.comfort.map(|comfort| coded!(comfort)),
        symptoms: entered.symptoms.iter().map(|symptom| coded!(*symptom)).collect(),
        refused: entered.refused.clone(),
        note: entered.note.clone(),
        exercises: one
            .exercises()
            .map(|(id, exercise)| record::Exercise {
                id: id.to_string(),
                skill: coded!(exercise.skill),
                item: exercise.item.clone(),
                task_id: exercise.task.map(|task| task.to_string()),
                distance_m: exercise.distance.as_ref().map(|distance| distance.value.get()),
                x_height_mm: exercise.x_height.as_ref().map(|height| height.value.get() * 1000.0),
                tries: exercise.tries,
                right: exercise.right,
                median_s: exercise.median.map(|median| median.get()),
                prompt: coded!(exercise.prompt),
                prompt_count: exercise.prompt_count,
            })
            .collect(),
        author_id: one.by.to_string(),
        entered_at: one.entered_at,
        in_error,
    }
}

pub(super) fn observation(one: Entry, shared: Option<bool>, devices: &Devices) -> record::Observation {
    let fact = one.fact;
    let detail = one.detail.map(|detail| {
        let (correct, tried, graded) = match detail.outcome {
            Outcome::Counted { right, tried } => (Some(right), Some(tried), None),
            Outcome::Graded(graded) => (None, None, Some(coded!(graded))),
        };
        record::Detail {
            task_id: detail.task.map(|task| task.to_string()),
            what: detail.what,
            informant: detail.informant,
            place: detail.place.map(|place| coded!(place)),
            distance_m: detail.distance.map(|distance| distance.value.get()),
            band: detail.band.map(|band| coded!(band)),
            x_height_mm: detail.x_height.map(|height| height.value.get()),
            contrast: detail.contrast.map(|contrast| coded!(contrast)),
            device_out: Some(coded!(detail.device_out)),
            device_id: devices.of(detail.device),
            non_use: detail.non_use.map(|reason| coded!(reason)),
            graded,
            correct,
            tried,
            help: detail.help.map(|help| coded!(help)),
            comfort: detail.comfort.map(|comfort| coded!(comfort)),
            mood: detail.mood.map(|mood| coded!(mood)),
            tired: detail.tired.map(|tired| coded!(tired)),
            shared_with_class: shared,
            note: detail.note,
            version: detail.version,
        }
    });
    record::Observation {
        id: fact.id.to_string(),
        setting: coded!(fact.setting),
        on: fact.seen_on,
        role: fact.by_role.map(|role| coded!(role)),
        author_id: fact.account.to_string(),
        entered_at: fact.entered_at,
        in_error: fact.in_error,
        detail,
    }
}

pub(super) fn task(one: &VisualTask) -> record::Task {
    let distance = one.distance();
    record::Task {
        id: one.id.to_string(),
        name: one.what.name.clone(),
        kind: coded!(one.what.code),
        track: one.what.track,
        goal: coded!(one.what.goal),
        place: one.place().to_owned(),
        distance_m: distance.map(|distance| distance.value.get()),
        distance_typed: distance.map(|distance| distance.typed.clone()).unwrap_or_default(),
        x_height_mm: one.what.x_height.as_ref().map(|height| height.value.get()),
        x_height_typed: one.what.x_height.as_ref().map(|height| height.typed.clone()).unwrap_or_default(),
    }
}

pub(super) fn goal(one: Own) -> record::Goal {
    record::Goal {
        goal: coded!(one.goal),
        reserve: one.reserve.value.get(),
        typed: one.reserve.typed,
        source: one.source,
        by: one.by,
        on: one.on,
    }
}

pub(super) fn consent(one: ListedConsent) -> record::Consent {
    let signed = one.consent;
    record::Consent {
        id: signed.id.to_string(),
        direction: coded!(signed.direction),
        categories: signed.categories.iter().map(|category| coded!(*category)).collect(),
        purpose: signed.purpose,
        from: signed.from.name().to_owned(),
        to: signed.to.name().to_owned(),
        start: signed.start,
        end: signed.end,
        withdrawn: signed.withdrawn,
        signer: if one.relation.is_empty() { signed.signer } else { format!("{}, {}", signed.signer, one.relation) },
        given: coded!(signed.given),
        language: signed.language,
        signed_at: one.signed_at,
    }
}

/// One that was sent; a draft is not taken along.
pub(super) fn summary(one: Summary) -> Option<record::Summary> {
    let sent_at = one.sent_at?;
    let texts = one.texts;
    let mut parts = vec![
        ("The teacher\u{2019}s account".to_owned(), texts.words),
        ("The student\u{2019}s words".to_owned(), texts.student_words),
        ("Questions to the clinician".to_owned(), texts.questions),
        ("What to look at".to_owned(), texts.look_at),
        ("Why so few sessions".to_owned(), texts.few_reason),
    ];
    parts.retain(|(_, words)| !words.trim().is_empty());
    Some(record::Summary {
        id: one.id.to_string(),
        track: one.track,
        from: one.from,
        to: one.to,
        parts,
        author_id: one.author.to_string(),
        sent_at,
        in_error: one.after.is(Mark::EnteredInError),
    })
}

pub(super) fn post(one: Post) -> record::Post {
    record::Post {
        id: one.id.to_string(),
        kind: coded!(one.kind),
        to: one.to.map(|role| coded!(role)),
        answers: one.answers.map(|id| id.to_string()),
        body: one.body,
        at: one.at,
        author_id: one.account.to_string(),
        in_error: one.in_error,
    }
}

pub(super) fn amended(kind: Kind, id: &str, one: Amendment) -> record::Amended {
    record::Amended {
        kind: coded!(kind),
        record_id: id.to_owned(),
        field: one.field,
        before: one.before,
        after: one.after,
        reason: one.reason,
        at: one.at,
        by: one.by,
    }
}

pub(super) fn disclosure(one: Disclosure) -> record::Disclosure {
    record::Disclosure {
        at: one.at,
        recipient: one.recipient,
        organisation: one.organisation,
        to_side: coded!(one.to_side),
        what: one.what,
        basis: one.basis,
        channel: one.channel,
        refused: one.refused,
    }
}
