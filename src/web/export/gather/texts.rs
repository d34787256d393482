//! Words of forms that have no table of their own: one row for each field that
//! was filled in, so that none of what this reader may read is missing.

use super::Whole;
use crate::access::resource::{
    Card, Contacts, EvaluationRequest, Intake, SafetyFlag, Training, TryAtHome, VisualTasks,
};
use crate::care::evaluation::Evaluation;
use crate::exchange::table::{Cell, Table};
use crate::exchange::tables::SCHEMA;
use crate::store::{Snapshot, card, contact, intake, readiness, request, safety, seat, try_at_home};
use crate::web::error::Result;
use crate::web::evaluation::view;
use crate::web::task::seats;

/// Collects the rows of one student.
struct Texts {
    student: String,
    rows: Vec<Vec<Cell>>,
}

impl Texts {
    fn add(&mut self, kind: &'static str, id: &str, at: Cell, field: &str, words: &str) {
        if words.trim().is_empty() {
            return;
        }
        let key = format!("{kind}-{id}-{}", self.rows.len() + 1);
        self.rows.push(vec![
            Cell::Whole(SCHEMA),
            Cell::code(&key),
            Cell::code(&self.student),
            Cell::code(kind),
            Cell::code(id),
            at,
            Cell::code(field),
            Cell::from(words),
        ]);
    }
}

pub(super) async fn gather(snapshot: &mut Snapshot, access: &Whole, evaluations: Vec<Evaluation>) -> Result<Table> {
    let mut texts = Texts { student: access.student().to_string(), rows: Vec::new() };
    for one in evaluations {
        let (id, at) = (one.id.to_string(), Cell::from(one.signed_at));
        for (field, words) in view::beside_acuity(&one.findings) {
            texts.add("evaluation", &id, at.clone(), &field, &words);
        }
    }
    if let Ok(access) = access.part::<VisualTasks>() {
        for one in seat::all(snapshot, &access).await? {
            let id = one.id.to_string();
            for (field, words) in seats::told(&one) {
                texts.add("seat", &id, Cell::Empty, &field, &words);
            }
        }
    }
    if let Ok(access) = access.part::<Intake>()
        && let Some(known) = intake::of(snapshot, &access).await?
    {
        let student = texts.student.clone();
        for (field, words) in known.eyes.told().into_iter().chain(known.plan.told()) {
            texts.add("intake", &student, Cell::from(known.changed_at), field, &words);
        }
    }
    if let Ok(access) = access.part::<Contacts>() {
        for one in contact::list(snapshot, &access).await? {
            let id = one.id.to_string();
            let fields = [
                ("Name", &one.what.name),
                ("Relation", &one.what.relation),
                ("Telephone", &one.what.phone),
                ("E-mail", &one.what.email),
                ("Language", &one.what.language),
                ("Needs", &one.what.access_needs),
            ];
            for (field, words) in fields {
                texts.add("contact", &id, Cell::Empty, field, words);
            }
        }
    }
    if let Ok(access) = access.part::<EvaluationRequest>() {
        for one in request::list(snapshot, &access).await? {
            let id = one.id.to_string();
            let at = || Cell::from(one.entered_at);
            texts.add("evaluation_request", &id, at(), "Question", &one.what.question);
            texts.add("evaluation_request", &id, at(), "How urgent", &one.what.urgency);
            texts.add("evaluation_request", &id, at(), "Asked on", &one.what.requested_on.to_string());
            let appointment = one.appointment_on.map(|day| day.to_string()).unwrap_or_default();
            texts.add("evaluation_request", &id, at(), "Appointment on", &appointment);
        }
    }
    if let Ok(access) = access.part::<Training>() {
        for one in readiness::lists(snapshot, &access).await? {
            let Some((signed_at, by)) = &one.signed else { continue };
            let id = one.id.to_string();
            let at = || Cell::from(*signed_at);
            texts.add("readiness", &id, at(), "Track", one.track.words());
            texts.add("readiness", &id, at(), "Signed by", by);
            texts.add("readiness", &id, at(), "Agreed to try", &one.agreed_words);
            if let Some((item, why)) = &one.passed {
                texts.add("readiness", &id, at(), item.words(), &format!("passed over: {why}"));
            }
            for (item, mark) in one.marks.iter() {
                texts.add("readiness", &id, at(), item.words(), mark.words());
            }
        }
    }
    released(snapshot, access, &mut texts).await?;
    if let Ok(access) = access.part::<SafetyFlag>() {
        for one in safety::flags(snapshot, &access).await? {
            let id = one.noticed.id.to_string();
            let at = || Cell::from(one.noticed.raised_at);
            texts.add("red_flag", &id, at(), "What was noticed", one.noticed.sign.words());
            texts.add("red_flag", &id, at(), "Noticed on", &one.noticed.noticed_on.to_string());
            texts.add("red_flag", &id, at(), "Note", &one.note);
            let cleared = one.noticed.cleared_at.map(|at| at.to_string()).unwrap_or_default();
            texts.add("red_flag", &id, at(), "Cleared at", &cleared);
            texts.add("red_flag", &id, at(), "Note on clearing", &one.cleared_note);
        }
    }
    Ok(Table {
        name: "texts",
        columns: &["schema", "text_id", "student_id", "kind", "record_id", "at", "field", "words"],
        rows: texts.rows,
    })
}

/// The classroom card and what to try at home, edition by edition.
async fn released(snapshot: &mut Snapshot, access: &Whole, texts: &mut Texts) -> Result<()> {
    if let Ok(access) = access.part::<Card>() {
        for one in card::editions(snapshot, &access).await? {
            let Some(released_at) = one.released_at else { continue };
            let id = one.id.to_string();
            let wording = &one.wording;
            let fields = [
                ("Seat", &wording.seat),
                ("Board", &wording.board),
                ("Letters", &wording.letters),
                ("Light", &wording.light),
                ("Print on paper", &wording.print_size),
                ("Device", &wording.device),
                ("When it is used", &wording.device_when),
                ("Glasses", &wording.glasses),
                ("Head", &wording.head_turn),
                ("Breaks", &wording.rest),
                ("Tests", &wording.tests),
                ("Whom to call", &wording.call),
            ];
            for (field, words) in fields {
                texts.add("classroom_card", &id, Cell::from(released_at), field, words);
            }
            if let Some(withdrawn) = &one.withdrawn {
                texts.add("classroom_card", &id, Cell::from(withdrawn.at), "Withdrawn", &withdrawn.reason);
            }
        }
    }
    if let Ok(access) = access.part::<TryAtHome>() {
        for one in try_at_home::editions(snapshot, &access).await? {
            let Some(released_at) = one.released_at else { continue };
            texts.add("try_at_home", &one.id.to_string(), Cell::from(released_at), "What to try", &one.body);
        }
    }
    Ok(())
}
