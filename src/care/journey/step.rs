//! What happens next on a track, and with whom does it wait?
//!
//! One [`Act`] for each next move, worded so that it reads both ways: "Sign the
//! evaluation" to the clinician, "Waiting for the clinician to sign the
//! evaluation" to everyone else. A refused gate names its first step the same way.
//! Does not know URLs; a [`Screen`] is a name that `web` turns into one.

use jiff::civil::Date;

use crate::care::codes::codes;
use crate::care::flag::PAUSED;
use crate::care::ids::SummaryId;

use super::overlay::Overlay;
use super::{Journey, Stage};

codes! {
    /// Who makes a move. Rights are decided elsewhere; this is only whose turn it is.
    pub enum Whose {
        VisionTeacher = "vision_teacher" : "the vision teacher",
        ClassroomTeacher = "classroom_teacher" : "the classroom teacher",
        Parent = "parent" : "a parent, or the student if of age",
        Clinician = "clinician" : "the clinician",
        Steward = "steward" : "the steward",
    }

    /// A screen where a move is made.
    pub enum Screen {
        Intake = "intake" : "intake",
        Evaluations = "evaluations" : "evaluations",
        Training = "training" : "training",
        Devices = "devices" : "devices",
        People = "people" : "team and consent",
        Summaries = "summaries" : "training summary",
        Review = "review" : "clinician\u{2019}s review",
        Prescription = "prescription" : "prescription",
        Safety = "safety" : "red flag",
        Overview = "overview" : "overview",
    }

    /// A move that comes first or next; its words follow "to".
    pub enum Act {
        NameATask = "name_a_task" : "name at least one thing the student wants to see",
        RequestEvaluation = "request_evaluation" : "request an evaluation",
        SignConsent = "sign_consent" : "sign the consent",
        SignEvaluation = "sign_evaluation" : "sign the evaluation",
        CompleteTranscription = "complete_transcription" : "complete the transcribed report",
        ConfirmTranscription = "confirm_transcription" : "confirm the transcribed report",
        SignReadiness = "sign_readiness" : "sign the readiness list",
        OpenLoan = "open_loan" : "lend a matching device",
        ChooseAnotherDevice = "choose_another_device" : "choose another device",
        ReturnLoan = "return_loan" : "take the loan back",
        CleanDevice = "clean_device" : "clean the device and enter the date",
        AllowLoan = "allow_loan" : "allow another device",
        Train = "train" : "train with the loan",
        TrainOwn = "train_own" : "train with the student\u{2019}s own device",
        PractiseEarlier = "practise_earlier" : "practise the earlier skill first",
        SendSummary = "send_summary" : "send the training summary",
        Decide = "decide" : "decide on the training summary",
        SignPrescription = "sign_prescription" : "sign the prescription",
        RecordReceipt = "record_receipt" : "record the device when it arrives",
        RecordOwnDevice = "record_own_device" : "record the student\u{2019}s own device",
        SettleMismatch = "settle_mismatch" : "settle what differs from the prescription",
        StartRepair = "start_repair" : "start a repair record",
        EndRepair = "end_repair" : "record that the device is back from repair",
        ClearFlag = "clear_flag" : "clear the red flag",
        AttachNote = "attach_note" : "attach an eye doctor\u{2019}s written note",
        Resume = "resume" : "take the student off hold",
    }
}

impl Act {
    /// Where the move is made.
    #[must_use]
    pub const fn screen(self) -> Screen {
        match self {
            Self::NameATask => Screen::Intake,
            Self::RequestEvaluation
            | Self::SignEvaluation
            | Self::CompleteTranscription
            | Self::ConfirmTranscription => Screen::Evaluations,
            Self::SignConsent => Screen::People,
            Self::SignReadiness | Self::Train | Self::TrainOwn | Self::PractiseEarlier => Screen::Training,
            Self::OpenLoan
            | Self::ChooseAnotherDevice
            | Self::ReturnLoan
            | Self::CleanDevice
            | Self::AllowLoan
            | Self::RecordReceipt
            | Self::RecordOwnDevice
            | Self::SettleMismatch
            | Self::StartRepair
            | Self::EndRepair => Screen::Devices,
            Self::SendSummary => Screen::Summaries,
            Self::Decide => Screen::Review,
            Self::SignPrescription => Screen::Prescription,
            Self::ClearFlag | Self::AttachNote => Screen::Safety,
            Self::Resume => Screen::Overview,
        }
    }

    /// Whose move it is.
    #[must_use]
    pub const fn whose(self) -> Whose {
        match self {
            Self::SignConsent => Whose::Parent,
            Self::SignEvaluation
            | Self::ConfirmTranscription
            | Self::AllowLoan
            | Self::Decide
            | Self::SignPrescription
            | Self::SettleMismatch
            | Self::ClearFlag => Whose::Clinician,
            Self::AttachNote => Whose::Steward,
            _ => Whose::VisionTeacher,
        }
    }
}

/// What the next step needs to know beside the journey.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Around {
    /// What stands beside the stage.
    pub overlay: Overlay,
    /// Whether the intake names something the student needs to see (G1).
    pub purpose: Purpose,
    /// The day since when something waits for a consent; none, nothing does.
    pub waits_for_consent: Option<Date>,
    /// The day the readiness list of this track was signed.
    pub readiness_signed: Option<Date>,
}

/// Whether the intake names at least one thing the student needs to see.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// It does.
    Named,
    /// It does not yet.
    Missing,
}

/// The next step on a track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// The move; none when nothing is waited for.
    pub act: Option<Act>,
    /// The day since when it is waited for.
    pub since: Option<Date>,
    /// What to say when nothing is waited for, or beside the move.
    pub note: Option<&'static str>,
}

impl Step {
    /// Whose turn it is.
    #[must_use]
    pub fn whose(&self) -> Option<Whose> {
        self.act.map(Act::whose)
    }

    /// The step in words for a reader: an order to the one whose turn it is,
    /// and to everyone else whom it waits for.
    #[must_use]
    pub fn words_for(&self, reader: Whose) -> String {
        match self.act {
            Some(act) if act.whose() == reader => capitalised(act.words()),
            Some(act) => format!("Waiting for {} to {}", act.whose().words(), act.words()),
            None => self.note.unwrap_or("Nothing is waiting.").to_owned(),
        }
    }
}

/// Who moves next on this track, what they do, and since when it is waited for.
#[must_use]
pub fn next_step(journey: &Journey, around: &Around) -> Step {
    let beside = &around.overlay;
    let step = |act, since| Step { act: Some(act), since, note: None };
    if beside.closed.is_some() {
        return Step { act: None, since: beside.closed, note: Some("The service is closed.") };
    }
    if beside.paused.is_some() {
        return Step { note: Some(PAUSED), ..step(Act::ClearFlag, beside.paused) };
    }
    if beside.on_hold.is_some() {
        return step(Act::Resume, beside.on_hold);
    }
    if let Some(own) = journey.mismatches().next() {
        return step(Act::SettleMismatch, Some(own.received_on));
    }
    let since = journey.since;
    match journey.stage {
        Stage::Intake => match around.purpose {
            Purpose::Missing => step(Act::NameATask, since),
            Purpose::Named => step(Act::RequestEvaluation, since),
        },
        Stage::AwaitingEvaluation | Stage::SummaryWithClinician if around.waits_for_consent.is_some() => {
            step(Act::SignConsent, around.waits_for_consent)
        }
        Stage::AwaitingEvaluation => step(Act::SignEvaluation, since),
        Stage::WaitingForLoan => step(Act::OpenLoan, since),
        Stage::TrainingOnLoan => match around.readiness_signed {
            None => step(Act::SignReadiness, since),
            Some(_) => step(Act::Train, since),
        },
        Stage::SummaryWithClinician => {
            let finalising = journey.with_clinician.and_then(|with| with.finalising);
            step(if finalising.is_some() { Act::SignPrescription } else { Act::Decide }, since)
        }
        Stage::Prescribed => step(Act::RecordReceipt, since),
        Stage::OwnDevice => own_device_step(journey, around),
        // What was lent for a recommendation that ended is due back first.
        Stage::NoDeviceAdvised if journey.open_loans().next().is_some() => step(Act::ReturnLoan, since),
        Stage::NoDeviceAdvised => Step {
            act: None,
            since,
            note: Some("No device is advised. Ask for a new evaluation if something changes."),
        },
    }
}

fn own_device_step(journey: &Journey, around: &Around) -> Step {
    let step = |act, since| Step { act: Some(act), since, note: None };
    let Some(own) = journey.own_in_force().next() else {
        return step(Act::RecordOwnDevice, journey.since);
    };
    if around.readiness_signed.is_none() {
        return step(Act::SignReadiness, journey.since);
    }
    let all_in_repair = journey.own_in_force().all(|own| own.in_repair.is_some());
    match own.in_repair {
        Some(since) if all_in_repair => {
            let lent = journey.open_loans().any(|loan| loan.in_use());
            step(if lent { Act::EndRepair } else { Act::OpenLoan }, Some(since))
        }
        _ => step(Act::TrainOwn, journey.since),
    }
}

/// The newest summary that lies with the clinician, for a list of what to decide.
#[must_use]
pub fn to_decide(journey: &Journey) -> Option<SummaryId> {
    journey.with_clinician.filter(|with| with.finalising.is_none()).map(|with| with.summary)
}

fn capitalised(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().collect::<String>() + letters.as_str())
}
