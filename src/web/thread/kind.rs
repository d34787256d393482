//! What a line about a record is called, where it leads, and who may read it.
//!
//! A line is shown to those who may read the record it tells of, as far as they
//! may: the proof for each kind is asked of the thread's own proof. Does not
//! know what the records say.

use std::collections::{BTreeMap, BTreeSet};

use crate::access::action::Read;
use crate::access::resource::{
    Card, ClassObservation, Consents, Contacts, Evaluation, EvaluationRequest, FlagKind, HomeObservation, Identity,
    Intake, LoanDecision, Loans, Pause, Prescription, Receipt, Repair, Resource, SafetyFlag, Stage, Summary, Team,
    Thread, Training, Transcription, TryAtHome, Visits, VisualTasks,
};
use crate::access::{Access, Limits};
use crate::care::ids::ObservationId;
use crate::care::thread::{Group, Setting};
use crate::store::event::Event;
use crate::store::shared_note::{Mark, Sharing};
use crate::store::{Snapshot, sending, shared_note};
use crate::web::error::Result;

/// What a kind of record is called in the thread, and where it is read.
pub(super) struct Kind {
    pub(super) words: &'static str,
    pub(super) path: &'static str,
    pub(super) group: Group,
    pub(super) setting: Option<Setting>,
    pub(super) limits: Limits,
}

/// A kind's words, its screen, its group and its setting.
type About = (&'static str, &'static str, Group, Option<Setting>);

fn kind<R: Resource>(access: &Access<Thread, Read>, (words, path, group, setting): About) -> Option<Kind> {
    access.part::<R>().ok().map(|part| Kind { words, path, group, setting, limits: *part.limits() })
}

/// The screen of another kind of record, or the thread itself for a reader whose
/// consent does not reach that kind.
fn screen<R: Resource>(access: &Access<Thread, Read>, path: &'static str) -> &'static str {
    if access.part::<R>().is_ok() { path } else { "/thread" }
}

/// The kind of an event's record, if this reader may read such records.
pub(super) fn kind_of(access: &Access<Thread, Read>, event: &Event) -> Option<Kind> {
    let clinic = Some(Setting::Clinic);
    let (class, training) = (Some(Setting::Classroom), Some(Setting::Training));
    match event.resource.as_str() {
        "Identity" => kind::<Identity>(
            access,
            ("Student\u{2019}s details", screen::<Intake>(access, "/intake"), Group::Record, None),
        ),
        "Contacts" => {
            kind::<Contacts>(access, ("Family contacts", screen::<Intake>(access, "/intake"), Group::Record, None))
        }
        "Intake" => kind::<Intake>(access, ("Intake", "/intake", Group::Record, None)),
        "EvaluationRequest" | "RequestDate" => {
            kind::<EvaluationRequest>(access, ("Evaluation request", "/evaluations", Group::Evaluations, None))
        }
        "Stage" => kind::<Stage>(access, ("Record", "", Group::Record, None)),
        "Consents" | "Emergency" => kind::<Consents>(access, ("Consent", "/consents", Group::Consent, None)),
        "VisualTasks" => kind::<VisualTasks>(access, ("What to see", "/tasks", Group::Tasks, None)),
        "ClassObservation" => {
            kind::<ClassObservation>(access, ("Observation in class", "/observations", Group::Observations, class))
        }
        "HomeObservation" => kind::<HomeObservation>(
            access,
            ("Observation at home or in the community", "/observations", Group::Observations, None),
        ),
        "Evaluation" => kind::<Evaluation>(access, ("Evaluation", "/evaluations", Group::Evaluations, clinic)),
        "Transcription" => {
            kind::<Transcription>(access, ("Transcribed report", "/evaluations", Group::Evaluations, clinic))
        }
        "Loans" => kind::<Loans>(access, ("Loan", "/devices", Group::Devices, None)),
        "Receipt" => kind::<Receipt>(access, ("Own device", "/devices", Group::Devices, None)),
        "Repair" => kind::<Repair>(access, ("Repair", "/devices", Group::Devices, None)),
        "LoanDecision" => {
            kind::<LoanDecision>(access, ("Clinician\u{2019}s word on a device", "/devices", Group::Devices, clinic))
        }
        "Training" => kind::<Training>(access, ("Training", "/training", Group::Training, training)),
        "Card" => kind::<Card>(access, ("Classroom card", "/card", Group::Card, None)),
        "TryAtHome" => kind::<TryAtHome>(access, ("What to try at home", "/card/at-home", Group::Card, None)),
        "Summary" => kind::<Summary>(access, ("Training summary", "/summaries", Group::Summaries, None)),
        "Prescription" if event.verb.contains("decided") => {
            kind::<Prescription>(access, ("Decision", "/prescription", Group::Decisions, clinic))
        }
        "Prescription" => kind::<Prescription>(access, ("Prescription", "/prescription", Group::Decisions, clinic)),
        "SafetyFlag" => kind::<SafetyFlag>(access, FLAG)
            .filter(|kind| !kind.limits.own_only)
            .or_else(|| kind::<FlagKind>(access, FLAG)),
        "Pause" => kind::<Pause>(access, FLAG),
        "Visits" => kind::<Visits>(access, ("Visit", "/visits", Group::Record, None)),
        "Team" => kind::<Team>(access, ("Team", "/people", Group::Record, None)),
        _ => None,
    }
}

const FLAG: About = ("Red flag", "/safety", Group::Safety, None);

/// What some limits need to know of single records.
#[derive(Default)]
pub(super) struct Reached {
    sent: BTreeSet<String>,
    notes: BTreeMap<ObservationId, Mark>,
}

impl Reached {
    pub(super) async fn load(snapshot: &mut Snapshot, access: &Access<Thread, Read>) -> Result<Self> {
        let sent = sending::reached(snapshot, access).await?;
        let notes = match access.part::<HomeObservation>() {
            Ok(part) => shared_note::marks(snapshot, &part).await?,
            Err(_) => BTreeMap::new(),
        };
        Ok(Self { sent, notes })
    }

    fn note(&self, event: &Event) -> Option<&Mark> {
        let id = event.record.as_deref()?.parse().ok()?;
        self.notes.get(&id).filter(|_| event.resource == "HomeObservation")
    }

    /// Home or community, for a note from there.
    pub(super) fn setting(&self, event: &Event) -> Option<Setting> {
        self.note(event).map(|mark| mark.setting.into())
    }

    /// Whether the line tells of a note that the class may read.
    pub(super) fn is_shared(&self, event: &Event) -> bool {
        self.note(event).is_some_and(|mark| mark.sharing == Sharing::WithClass)
    }
}

/// Whether this very line is within the limits of its kind.
pub(super) fn within(event: &Event, limits: &Limits, access: &Access<Thread, Read>, reached: &Reached) -> bool {
    let record = event.record.as_deref().unwrap_or_default();
    if event.account == Some(access.actor().account) {
        return true;
    }
    !limits.own_only
        && (!limits.sent_only || (reached.sent.contains(record) && !LATER.contains(&event.verb.as_str())))
        && (!limits.shared_only || reached.is_shared(event))
        && (!limits.released_only || RELEASED.contains(&event.verb.as_str()))
}

/// The verbs of an act that makes a record readable to a reader limited to what
/// is released.
const RELEASED: &[&str] = &[
    "released",
    "signed",
    "sent",
    "filed",
    "confirmed",
    "decided",
    "superseded",
    "transcribed",
    "requested",
    "withdrawn",
    "amended",
    "cancelled",
    "entered in error",
    "decided, then amended",
    "decided in error",
];

/// What became of a document later: nothing of it is told to who reads it as it
/// was sent (G7).
const LATER: &[&str] =
    &["superseded", "amended", "cancelled", "entered in error", "decided, then amended", "decided in error"];

/// What happened, in a sentence's beginning: most records and verbs read well
/// one after the other, some need words of their own.
pub(super) fn happened(event: &Event, kind: &Kind, setting: Option<Setting>) -> String {
    match (event.resource.as_str(), event.verb.as_str()) {
        ("Prescription", "decided") => "Decision made".to_owned(),
        ("Prescription", "decided, then amended") => "Decision amended".to_owned(),
        ("Prescription", "decided in error") => "Decision entered in error".to_owned(),
        ("Consents" | "Emergency", "emergency access opened") => "Emergency access opened".to_owned(),
        ("Consents" | "Emergency", "emergency access ended") => "Emergency access ended early".to_owned(),
        ("EvaluationRequest", "requested") => "Evaluation asked for".to_owned(),
        ("Training", "signed readiness") => "Readiness list signed".to_owned(),
        ("Training", "recorded") => "Training session recorded".to_owned(),
        ("Team", "invited") => "Invitation made".to_owned(),
        ("HomeObservation", verb) => match setting {
            Some(Setting::Home) => format!("Observation at home {verb}"),
            Some(Setting::Community) => format!("Observation in the community {verb}"),
            _ => format!("{} {verb}", kind.words),
        },
        (_, verb) => format!("{} {verb}", kind.words),
    }
}
