//! Before any training: is there something to see (G1), an evaluation that says
//! training is safe (G2), and a student who is ready (G3)?
//!
//! Does not know which device; that is [`super::loan`].

use std::collections::BTreeMap;
use std::fmt;

use jiff::civil::Date;

use super::{Blocked, Gate, Reason};
pub use crate::care::evaluation::Report;
use crate::care::ids::{EvaluationId, ReadinessId, VisualTaskId};
use crate::care::journey::fact::{Answer, Safe, Source};
use crate::care::journey::step::Act;
use crate::care::journey::{Basis, Journey, Safety, Stage};
use crate::care::readiness::{Item, Marks, Pass, SignedReadiness};
use crate::care::track::Track;

/// G1: the intake names something the student needs or wants to see.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Purposeful {
    tasks: Vec<VisualTaskId>,
}

impl Purposeful {
    /// The tasks that the request is for; never empty.
    #[must_use]
    pub fn tasks(&self) -> &[VisualTaskId] {
        &self.tasks
    }
}

/// G1: may an evaluation be requested?
///
/// # Errors
/// The intake names nothing the student needs to see.
pub fn ask_with_purpose(tasks: &[VisualTaskId]) -> Result<Purposeful, Blocked> {
    if tasks.is_empty() {
        return Err(Blocked::at(
            Gate::AskWithPurpose,
            Act::NameATask,
            "Add at least one thing the student needs or wants to see.",
        ));
    }
    Ok(Purposeful { tasks: tasks.to_vec() })
}

/// A paper report as a vision teacher transcribes it, for one track.
#[derive(Clone, Copy, PartialEq)]
pub struct Transcript<'a> {
    /// The clinician's name as on the report.
    pub clinician: &'a str,
    /// The day of the examination.
    pub examined_on: Option<Date>,
    /// Files attached: the report itself.
    pub attached_files: usize,
    /// The report's answer to "safe to train".
    pub safe: Safe,
    /// The report's answer for this track.
    pub answer: &'a Answer,
    /// What kind of report it is; an ordinary eye report never opens G2.
    pub report: Report,
}

impl fmt::Debug for Transcript<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Transcript(..)")
    }
}

impl Transcript<'_> {
    /// What this report lacks before it can open G2, in words; empty, nothing.
    #[must_use]
    pub fn missing(&self) -> Vec<&'static str> {
        let devices = match self.answer {
            Answer::Devices(devices) => !devices.is_empty(),
            Answer::KeepOwnDevice => true,
            Answer::NoDevice | Answer::NotLookedAt => false,
        };
        [
            (self.report == Report::LowVision, "a low-vision report, not an ordinary eye report"),
            (!self.clinician.trim().is_empty(), "the clinician's name"),
            (self.examined_on.is_some(), "the date of the examination"),
            (self.attached_files > 0, "the report itself as a file"),
            (self.safe != Safe::NotStated, "an answer to \u{201c}safe to train\u{201d}"),
            (devices, "a recommended device"),
        ]
        .into_iter()
        .filter_map(|(there, what)| (!there).then_some(what))
        .collect()
    }

    /// How this report enters the facts of the track.
    ///
    /// Only a complete one counts as an evaluation's answer. One that says
    /// plainly "no device" counts too: it opens nothing, and ends what was open.
    #[must_use]
    pub fn source(&self) -> Source {
        let report = self.report == Report::LowVision && self.attached_files > 0;
        let says_no = *self.answer == Answer::NoDevice
            && report
            && self.examined_on.is_some()
            && !self.clinician.trim().is_empty();
        if says_no || self.missing().is_empty() { Source::Transcribed } else { Source::Background }
    }
}

/// G2: a transcript is complete enough to open the gate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MayFile {
    examined_on: Date,
}

impl MayFile {
    /// The day of the examination, which is the answer's own date.
    #[must_use]
    pub const fn examined_on(self) -> Date {
        self.examined_on
    }
}

/// G2: may this transcript be filed as an evaluation that opens training?
///
/// # Errors
/// Something that a report must state is missing; the message names it.
pub fn may_file(transcript: &Transcript<'_>) -> Result<MayFile, Blocked> {
    let missing = transcript.missing();
    match transcript.examined_on {
        Some(examined_on) if missing.is_empty() => Ok(MayFile { examined_on }),
        _ => Err(Blocked::at(
            Gate::EvaluationFirst,
            Act::CompleteTranscription,
            format!("This report cannot open training yet. Missing: {}.", missing.join("; ")),
        )),
    }
}

/// G2: a signed evaluation says that training on this track is safe and
/// recommends a device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SafeToTrain {
    track: Track,
    day: Date,
    evaluation: EvaluationId,
    basis: Basis,
    source: Source,
    safe: Safe,
}

impl SafeToTrain {
    /// The track it holds for.
    #[must_use]
    pub const fn track(self) -> Track {
        self.track
    }

    /// The day it holds for.
    #[must_use]
    pub const fn day(self) -> Date {
        self.day
    }

    /// The evaluation that says so.
    #[must_use]
    pub const fn evaluation(self) -> EvaluationId {
        self.evaluation
    }

    /// The recommendation in force.
    #[must_use]
    pub const fn basis(self) -> Basis {
        self.basis
    }

    /// Whether the evaluation is still `transcribed, not confirmed`.
    #[must_use]
    pub const fn source(self) -> Source {
        self.source
    }

    /// Whether there are limits to keep.
    #[must_use]
    pub const fn safe(self) -> Safe {
        self.safe
    }
}

/// G2: may readiness be signed, a loan opened or a device trained with on this day?
///
/// # Errors
/// No evaluation answered for the track yet, or what was recommended has ended,
/// or it is not safe.
pub fn safe_to_train(journey: &Journey) -> Result<SafeToTrain, Blocked> {
    let blocked = |first, message: &str| Blocked::at(Gate::EvaluationFirst, first, message);
    let Some(now) = &journey.recommendation else {
        return Err(if journey.history.is_empty() && journey.stage != Stage::NoDeviceAdvised {
            let first = match journey.request {
                Some(_) => Act::SignEvaluation,
                None => Act::RequestEvaluation,
            };
            blocked(
                first,
                "Training can start after a clinician signs an evaluation that says it is safe \
                 and recommends a device.",
            )
        } else {
            blocked(
                Act::RequestEvaluation,
                "No device is advised now. Training needs a new evaluation that says it is safe.",
            )
        });
    };
    match now.safety {
        Some(Safety { evaluation, safe, source }) if safe.opens() => {
            Ok(SafeToTrain { track: journey.track, day: journey.day, evaluation, basis: now.basis, source, safe })
        }
        _ => Err(blocked(
            Act::SignEvaluation,
            "A device is recommended, but no signed evaluation says that training is safe.",
        )),
    }
}

/// G3: a readiness list is complete and may be signed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MaySignReadiness {
    safe: SafeToTrain,
    marks: Marks,
    passed: Option<(Item, Reason)>,
}

impl MaySignReadiness {
    /// The track of the list.
    #[must_use]
    pub const fn track(&self) -> Track {
        self.safe.track
    }

    /// The evaluation that came first.
    #[must_use]
    pub const fn evaluation(&self) -> EvaluationId {
        self.safe.evaluation
    }

    /// The marks, those of the list only.
    #[must_use]
    pub const fn marks(&self) -> &Marks {
        &self.marks
    }

    /// The item passed over and why.
    #[must_use]
    pub fn passed(&self) -> Option<(Item, &str)> {
        self.passed.as_ref().map(|(item, reason)| (*item, reason.as_str()))
    }
}

/// G3: may this readiness list be signed?
///
/// Every item is `yes` or `with help`; two may not apply to a device. One item
/// may be passed with a reason, never a safety rule or the student's agreement.
///
/// # Errors
/// An item is not there yet; the message names each.
pub fn may_sign_readiness(
    safe: SafeToTrain,
    marks: &Marks,
    pass: Option<Pass<'_>>,
) -> Result<MaySignReadiness, Blocked> {
    let blocked = |message: String| Blocked::at(Gate::ReadinessFirst, Act::SignReadiness, message);
    let passed = match pass {
        None => None,
        Some(pass) if !pass.item.passable() => {
            return Err(blocked(format!("\u{201c}{}\u{201d} cannot be passed over.", pass.item.words())));
        }
        Some(pass) => match Reason::given(Some(pass.reason)) {
            Some(reason) => Some((pass.item, reason)),
            None => return Err(blocked("Write why this item is passed over.".to_owned())),
        },
    };
    let list = Item::list(safe.track);
    let open: Vec<_> = list
        .iter()
        .filter(|item| passed.as_ref().is_none_or(|(passed, _)| passed != *item))
        .filter(|item| !marks.get(item).is_some_and(|mark| item.met_by(*mark)))
        .map(|item| item.words())
        .collect();
    if !open.is_empty() {
        return Err(blocked(format!("Finish the readiness list first. Not there yet: {}.", open.join("; "))));
    }
    let marks: BTreeMap<_, _> = marks.iter().filter(|(item, _)| list.contains(item)).map(|(i, m)| (*i, *m)).collect();
    Ok(MaySignReadiness { safe, marks, passed })
}

/// G3: the readiness list of the track is signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ready {
    readiness: ReadinessId,
    track: Track,
}

impl Ready {
    /// The signed list.
    #[must_use]
    pub const fn readiness(self) -> ReadinessId {
        self.readiness
    }

    /// Its track.
    #[must_use]
    pub const fn track(self) -> Track {
        self.track
    }
}

/// G3: was the student ready on the day that this evaluation token is for?
///
/// # Errors
/// No list of the track was signed by that day.
pub fn ready(safe: SafeToTrain, signed: &[SignedReadiness]) -> Result<Ready, Blocked> {
    signed
        .iter()
        .filter(|list| list.track == safe.track && list.signed_on <= safe.day)
        .max_by_key(|list| (list.signed_on, list.id))
        .map(|list| Ready { readiness: list.id, track: list.track })
        .ok_or_else(|| {
            Blocked::at(
                Gate::ReadinessFirst,
                Act::SignReadiness,
                "Finish and sign the readiness list of this track first.",
            )
        })
}
