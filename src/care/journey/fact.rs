//! What can happen on one track, as facts with their own date.
//!
//! A fact's own date is the day it is about: the examination, the day a loan
//! went out, the day a device was received. Its entry orders facts of one date.
//! Does not know what follows from a fact; that is [`super::journey`].

use jiff::Timestamp;
use jiff::civil::Date;

use crate::care::codes::codes;
use crate::care::device::DeviceSpec;
use crate::care::ids::{
    AccountId, DecisionId, DeviceId, EvaluationId, LoanId, OwnDeviceId, PrescriptionId, RequestId, SummaryId,
};

use super::Basis;

/// Something that happened on one track.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Its own date.
    pub on: Date,
    /// When it was entered or signed.
    pub entered: Timestamp,
    /// Whether it was marked entered in error; then it counts as never signed.
    pub entered_in_error: bool,
    /// What happened.
    pub what: What,
}

/// What happened. A list of devices holds those of this track only.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// The record was opened.
    RecordOpened,
    /// A vision teacher asked for an evaluation.
    EvaluationRequested {
        /// Which request.
        request: RequestId,
    },
    /// A request was taken back.
    RequestWithdrawn {
        /// Which request.
        request: RequestId,
    },
    /// An evaluation was signed, or a transcribed report filed. Its own date is
    /// the day of the examination.
    EvaluationAnswered {
        /// Which evaluation.
        evaluation: EvaluationId,
        /// How it came into the record.
        source: Source,
        /// The day it was signed or filed; before it, it opens nothing.
        signed_on: Date,
        /// Its answer to "safe to train".
        safe: Safe,
        /// Its answer for this track.
        answer: Answer,
    },
    /// A pool device went out to the student.
    LoanOpened {
        /// Which loan.
        loan: LoanId,
        /// The pool device.
        device: DeviceId,
        /// Its specification, with the eye it is lent for.
        spec: DeviceSpec,
    },
    /// A loan came back.
    LoanReturned {
        /// Which loan.
        loan: LoanId,
    },
    /// A clinician allowed lending a device that does not match.
    DeviceAllowed {
        /// The pool device.
        device: DeviceId,
        /// The recommendation in force when it was allowed.
        under: Basis,
        /// The clinician.
        by: AccountId,
    },
    /// A clinician took that leave back.
    AllowanceEnded {
        /// The pool device.
        device: DeviceId,
        /// The recommendation it was given under.
        under: Basis,
    },
    /// A training summary was sent to the clinician.
    SummarySent {
        /// Which summary.
        summary: SummaryId,
        /// The devices its figures are about.
        covers: Vec<DeviceSpec>,
    },
    /// A clinician decided for this track.
    Decided {
        /// Which decision.
        decision: DecisionId,
        /// What was decided.
        choice: Choice,
        /// The devices named, for a change of device.
        devices: Vec<DeviceSpec>,
    },
    /// A prescription that names devices of this track was signed.
    PrescriptionSigned {
        /// Which prescription.
        prescription: PrescriptionId,
        /// Its devices of this track.
        devices: Vec<DeviceSpec>,
    },
    /// A prescription was cancelled, or superseded by one that names no device
    /// of this track. A device already received stays the student's.
    PrescriptionVoided {
        /// Which prescription.
        prescription: PrescriptionId,
    },
    /// The student's own device is there.
    OwnDeviceReceived {
        /// Which device.
        own_device: OwnDeviceId,
        /// The prescription it came on; none if the student brought it along.
        prescription: Option<PrescriptionId>,
        /// Its specification as received.
        spec: DeviceSpec,
        /// What the receiver says.
        receipt: Receipt,
    },
    /// A clinician settled a device that is not as prescribed.
    MismatchSettled {
        /// Which device.
        own_device: OwnDeviceId,
        /// How.
        verdict: Verdict,
    },
    /// The own device went to be repaired.
    RepairStarted {
        /// Which device.
        own_device: OwnDeviceId,
    },
    /// The own device came back from repair.
    RepairEnded {
        /// Which device.
        own_device: OwnDeviceId,
    },
}

/// What an evaluation answers for one track.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// These devices, any of which will do.
    Devices(Vec<DeviceSpec>),
    /// The device the student has.
    KeepOwnDevice,
    /// No device.
    NoDevice,
    /// The track was not looked at; changes nothing.
    NotLookedAt,
}

codes! {
    /// How an evaluation came into the record.
    pub enum Source {
        Signed = "signed" : "signed by the clinician",
        Transcribed = "transcribed" : "transcribed, not confirmed",
        Confirmed = "confirmed" : "transcribed, confirmed by a clinician",
        Background = "background" : "an eye report that opens nothing",
    }

    /// The answer to "safe to train?".
    pub enum Safe {
        Yes = "yes" : "yes",
        WithLimits = "with_limits" : "yes, with limits",
        No = "no" : "no",
        NotStated = "not_stated" : "not stated on the report",
    }

    /// What a clinician decides for a track.
    pub enum Choice {
        KeepGoing = "keep_going" : "keep going",
        ChangeDevice = "change_device" : "change device",
        ChangeSeat = "change_seat" : "change seat",
        ChangeMaterial = "change_material" : "change material",
        ReferOrTreatFirst = "refer_or_treat_first" : "refer or treat first",
        Stop = "stop" : "stop",
        Finalise = "finalise" : "finalise",
    }

    /// What the receiver of a device says about it.
    pub enum Receipt {
        AsPrescribed = "as_prescribed" : "as prescribed",
        Differs = "differs" : "not as prescribed",
    }

    /// How a clinician settles a device that is not as prescribed.
    pub enum Verdict {
        Accepted = "accepted" : "accepted as it is",
        Refused = "refused" : "refused",
    }
}

impl Safe {
    /// Whether training may begin.
    #[must_use]
    pub const fn opens(self) -> bool {
        matches!(self, Self::Yes | Self::WithLimits)
    }
}

impl Fact {
    /// Whether it counted at the end of that day.
    pub(super) fn counts(&self, day: Date) -> bool {
        let signed = match &self.what {
            What::EvaluationAnswered { signed_on, .. } => *signed_on <= day,
            _ => true,
        };
        !self.entered_in_error && self.on <= day && signed
    }

    /// The order facts are read in: own date, entry, then what usually comes
    /// first, so that two facts of one instant read the same in any order.
    pub(super) fn order(&self) -> (Date, Timestamp, u8, String) {
        let (rank, id) = self.what.rank();
        (self.on, self.entered, rank, id)
    }
}

impl What {
    fn rank(&self) -> (u8, String) {
        match self {
            Self::RecordOpened => (0, String::new()),
            Self::EvaluationRequested { request } => (1, request.to_string()),
            Self::RequestWithdrawn { request } => (2, request.to_string()),
            Self::EvaluationAnswered { evaluation, .. } => (3, evaluation.to_string()),
            Self::DeviceAllowed { device, .. } => (4, device.to_string()),
            Self::LoanOpened { loan, .. } => (5, loan.to_string()),
            Self::SummarySent { summary, .. } => (6, summary.to_string()),
            Self::Decided { decision, .. } => (7, decision.to_string()),
            Self::PrescriptionSigned { prescription, .. } => (8, prescription.to_string()),
            Self::OwnDeviceReceived { own_device, .. } => (9, own_device.to_string()),
            Self::MismatchSettled { own_device, .. } => (10, own_device.to_string()),
            Self::RepairStarted { own_device } => (11, own_device.to_string()),
            Self::RepairEnded { own_device } => (12, own_device.to_string()),
            Self::LoanReturned { loan } => (13, loan.to_string()),
            Self::PrescriptionVoided { prescription } => (14, prescription.to_string()),
            Self::AllowanceEnded { device, .. } => (15, device.to_string()),
        }
    }
}
