//! May a transcribed report be filed, and what does it open (G2)?
//!
//! Both tracks of one report together: what [`super::may_file`] asks of one track
//! is asked of every track that the report recommends a device for. An ordinary
//! eye report is filed as background and opens nothing. Does not know who files.

use jiff::civil::Date;

use super::start::{Transcript, may_file};
use super::{Blocked, Gate};
use crate::care::evaluation::{Evaluation, Paper, Report, TrackAnswer, TrackChoice};
use crate::care::ids::EvaluationId;
use crate::care::journey::fact::{Answer, Safe};
use crate::care::journey::step::Act;
use crate::care::track::Track;

/// G2: this report may be filed, at one version of its draft.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MayFileReport {
    evaluation: EvaluationId,
    report: Report,
    examined_on: Date,
    version: i64,
}

impl MayFileReport {
    /// Which report.
    #[must_use]
    pub const fn evaluation(self) -> EvaluationId {
        self.evaluation
    }

    /// Of which kind.
    #[must_use]
    pub const fn report(self) -> Report {
        self.report
    }

    /// The day of the examination.
    #[must_use]
    pub const fn examined_on(self) -> Date {
        self.examined_on
    }

    /// The version that was looked at.
    #[must_use]
    pub const fn version(self) -> i64 {
        self.version
    }
}

/// What a report still lacks before it can be filed, in words; empty, nothing.
#[must_use]
pub fn missing_for_filing(evaluation: &Evaluation, paper: &Paper) -> Vec<String> {
    let mut missing: Vec<String> = [
        (paper.report.is_some(), "which kind of report it is"),
        (!evaluation.examiner.trim().is_empty(), "the clinician\u{2019}s name"),
        (evaluation.examined_on.is_some(), "the date of the examination"),
        (paper.files > 0, "the report itself as a file"),
    ]
    .into_iter()
    .filter(|(there, _)| !there)
    .map(|(_, what)| what.to_owned())
    .collect();
    if paper.report != Some(Report::LowVision) {
        return missing;
    }
    for track in Track::ALL {
        match evaluation.answer(*track) {
            None => missing.push(format!("an answer for the {} track", track.words())),
            Some(answer) => missing.extend(lacks(evaluation, paper, answer)),
        }
    }
    let silent = evaluation.answers.iter().all(|answer| answer.choice == TrackChoice::NotLookedAt);
    if evaluation.answers.len() == Track::ALL.len() && silent {
        missing.push("a recommended device, or that none is advised, on one track".to_owned());
    }
    missing
}

/// What one track of a report lacks that recommends something for it.
fn lacks(evaluation: &Evaluation, paper: &Paper, answer: &TrackAnswer) -> Vec<String> {
    let given = given(answer);
    if matches!(given, Answer::NoDevice | Answer::NotLookedAt) {
        return Vec::new();
    }
    let transcript = transcript(evaluation, paper, answer.safe, &given);
    if may_file(&transcript).is_ok() {
        return Vec::new();
    }
    let of_the_track = transcript.missing().into_iter().filter(|what| of_a_track(what));
    of_the_track.map(|what| format!("{what}, on the {} track", answer.track.words())).collect()
}

/// Name, date and file are lacking once for both tracks.
fn of_a_track(what: &str) -> bool {
    what.contains("safe to train") || what.contains("device")
}

fn given(answer: &TrackAnswer) -> Answer {
    match answer.choice {
        TrackChoice::Devices => Answer::Devices(answer.devices.iter().map(|device| device.spec.clone()).collect()),
        TrackChoice::KeepOwnDevice => Answer::KeepOwnDevice,
        TrackChoice::None => Answer::NoDevice,
        TrackChoice::NotLookedAt => Answer::NotLookedAt,
    }
}

fn transcript<'a>(evaluation: &'a Evaluation, paper: &Paper, safe: Safe, answer: &'a Answer) -> Transcript<'a> {
    Transcript {
        clinician: &evaluation.examiner,
        examined_on: evaluation.examined_on,
        attached_files: paper.files,
        safe,
        answer,
        report: paper.report.unwrap_or(Report::Eye),
    }
}

/// G2: may this report be filed?
///
/// # Errors
/// Something is missing that a report must state; the message names all of it.
pub fn may_file_report(evaluation: &Evaluation, paper: &Paper) -> Result<MayFileReport, Blocked> {
    let missing = missing_for_filing(evaluation, paper);
    match (paper.report, evaluation.examined_on) {
        (Some(report), Some(examined_on)) if missing.is_empty() => {
            Ok(MayFileReport { evaluation: evaluation.id, report, examined_on, version: evaluation.version })
        }
        _ => Err(Blocked::at(
            Gate::EvaluationFirst,
            Act::CompleteTranscription,
            format!("This report cannot be filed yet. Missing: {}.", missing.join("; ")),
        )),
    }
}
