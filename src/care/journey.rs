//! Where does one track of a student stand, and with whom does it wait?
//!
//! The stage is derived from facts, never set by hand: [`journey`] reads the
//! facts of one track in the order of their own dates, then of their entry, and
//! says how things stood at the end of a day. What was entered in error counts
//! as never signed; entering the same facts in another order changes nothing.
//! Does not know consent, rights or the pause: [`overlay`] stands beside the
//! stage, and [`step`] says who moves next. The facts are in [`fact`], the
//! reading of them in `walk`.

pub mod fact;
pub mod overlay;
pub mod step;
mod walk;

use jiff::Timestamp;
use jiff::civil::Date;

use super::codes::codes;
use super::device::DeviceSpec;
use super::ids::{
    AccountId, DecisionId, DeviceId, EvaluationId, LoanId, OwnDeviceId, PrescriptionId, RequestId, SummaryId,
};
use super::track::{DeviceKind, Track};
use fact::{Fact, Receipt, Safe, Source};

/// How long loans stay out after the own device is there. Source: rule G6.
pub const LOAN_DUE_DAYS: i32 = 14;

codes! {
    /// Where one track stands.
    pub enum Stage {
        Intake = "intake" : "intake",
        AwaitingEvaluation = "awaiting_evaluation" : "awaiting evaluation",
        WaitingForLoan = "waiting_for_loan" : "waiting for a loan",
        TrainingOnLoan = "training_on_loan" : "training on loan",
        SummaryWithClinician = "summary_with_clinician" : "summary with clinician",
        Prescribed = "prescribed" : "prescribed, awaiting the device",
        OwnDevice = "own_device" : "own device",
        NoDeviceAdvised = "no_device_advised" : "no device advised",
    }
}

/// The stage of one track at the end of a day, and what it follows from.
#[derive(Debug, Clone, PartialEq)]
pub struct Journey {
    /// The track.
    pub track: Track,
    /// The day whose end this describes.
    pub day: Date,
    /// The stage.
    pub stage: Stage,
    /// The day the stage began; none before the record was opened.
    pub since: Option<Date>,
    /// An evaluation asked for and not yet answered on this track.
    pub request: Option<Request>,
    /// The recommendation in force.
    pub recommendation: Option<Recommendation>,
    /// Every recommendation that ever came into force, oldest first.
    pub history: Vec<Recommendation>,
    /// Every loan of this track, oldest first, returned ones too.
    pub loans: Vec<Loan>,
    /// Every device of the student's own on this track, oldest first.
    pub own_devices: Vec<OwnDevice>,
    /// Every summary sent, oldest first.
    pub summaries: Vec<SentSummary>,
    /// The summary that a clinician has and has not let go of.
    pub with_clinician: Option<WithClinician>,
    /// The prescription in force.
    pub prescription: Option<Prescription>,
    /// The clinician's leave to lend other devices under this recommendation.
    pub allowed: Vec<Allowance>,
}

/// A request to evaluate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Request {
    /// Which request.
    pub id: RequestId,
    /// The day it was made.
    pub since: Date,
}

/// What a recommendation rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// An evaluation's answer for the track.
    Evaluation(EvaluationId),
    /// A decision to change the device.
    Decision(DecisionId),
}

/// An evaluation as a source of safety to train.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Safety {
    /// The newest evaluation that answered for the track.
    pub evaluation: EvaluationId,
    /// Its answer to "safe to train".
    pub safe: Safe,
    /// How it came into the record.
    pub source: Source,
}

/// The devices a clinician recommends for a track.
#[derive(Debug, Clone, PartialEq)]
pub struct Recommendation {
    /// What made it.
    pub basis: Basis,
    /// The devices, any of which will do; for `keep own device`, the own ones.
    pub devices: Vec<DeviceSpec>,
    /// Whether it says to keep the own device.
    pub keeps_own: bool,
    /// The evaluation whose word on safety it carries.
    pub safety: Option<Safety>,
    /// Its own date.
    pub since: Date,
    /// When it was entered, which orders facts of one date.
    pub entered: Timestamp,
}

/// A clinician's leave to lend a device that is not the recommended one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allowance {
    /// The pool device.
    pub device: DeviceId,
    /// The recommendation it was given under; under the next one it is void.
    pub under: Basis,
    /// The clinician.
    pub by: AccountId,
}

/// A loan and whether it may still be trained with.
#[derive(Debug, Clone, PartialEq)]
pub struct Loan {
    /// Which loan.
    pub id: LoanId,
    /// The pool device.
    pub device: DeviceId,
    /// Its specification, with the eye it was lent for.
    pub spec: DeviceSpec,
    /// The day it went out.
    pub opened_on: Date,
    /// The day it came back.
    pub returned_on: Option<Date>,
    /// Why it may be used, or that it may not.
    pub fit: Fit,
    /// The own device that takes its place.
    pub replaced: Option<Replaced>,
    /// The day it is due back for a reason of the rules; none, no such reason.
    pub due: Option<Date>,
}

/// Why a loan may be trained with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// It matches the recommendation in force.
    Recommended,
    /// A clinician allowed it under the recommendation in force.
    Allowed(AccountId),
    /// It stands in for an own device that is being repaired.
    Repair(OwnDeviceId),
    /// It does not, or no longer: it is due back and takes no session.
    Not,
}

/// An own device has taken the place of a loan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Replaced {
    /// The own device.
    pub by: OwnDeviceId,
    /// Entries dated later than this day do not name the loan.
    pub since: Date,
}

/// A device of the student's own.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnDevice {
    /// Which device.
    pub id: OwnDeviceId,
    /// Its specification as received.
    pub spec: DeviceSpec,
    /// The prescription it came on; none if the student brought it along.
    pub prescription: Option<PrescriptionId>,
    /// The day it was received.
    pub received_on: Date,
    /// What its receiver said.
    pub said: Receipt,
    /// How it stands.
    pub standing: Standing,
    /// The day it went into repair, if it is there now.
    pub in_repair: Option<Date>,
    /// The day it last came back from repair.
    pub repaired_on: Option<Date>,
}

/// How an own device stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// It is the device of the track since that day (G6).
    InForce(Date),
    /// The student has it, but something else is recommended or prescribed.
    Held,
    /// It is not as prescribed; a clinician has to settle that.
    Mismatch,
    /// A clinician refused it.
    Refused,
}

/// A summary as it was sent.
#[derive(Debug, Clone, PartialEq)]
pub struct SentSummary {
    /// Which summary.
    pub id: SummaryId,
    /// The devices it covers.
    pub covers: Vec<DeviceSpec>,
    /// The day it was sent.
    pub on: Date,
    /// When it was entered, which orders facts of one date.
    pub entered: Timestamp,
}

/// A summary that waits for a clinician.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WithClinician {
    /// The newest summary sent.
    pub summary: SummaryId,
    /// The decision to finalise, if only the signature is missing.
    pub finalising: Option<DecisionId>,
}

/// A prescription that names devices of this track.
#[derive(Debug, Clone, PartialEq)]
pub struct Prescription {
    /// Which prescription.
    pub id: PrescriptionId,
    /// The devices of this track.
    pub devices: Vec<DeviceSpec>,
    /// The day it was signed.
    pub since: Date,
}

/// How the facts of one track stood at the end of a day.
///
/// Never fails: facts that make no sense together change nothing.
#[must_use]
pub fn journey(track: Track, facts: &[Fact], day: Date) -> Journey {
    walk::journey(track, facts, day)
}

impl Journey {
    /// The own devices that are the device of the track, in repair or not.
    pub fn own_in_force(&self) -> impl Iterator<Item = &OwnDevice> {
        self.own_devices.iter().filter(|own| own.in_force().is_some())
    }

    /// Whether an own device that is in hand takes the place of this kind (G6).
    ///
    /// It takes the place of every loan of the track; with several devices
    /// prescribed, of those of its own kind.
    pub fn replacing(&self, kind: DeviceKind) -> impl Iterator<Item = &OwnDevice> {
        let prescribed = self.prescription.as_ref().map_or(0, |now| now.devices.len());
        let several = prescribed.max(self.own_in_force().count()) > 1;
        self.own_in_force().filter(move |own| own.in_repair.is_none() && (!several || own.spec.kind == kind))
    }

    /// The loans that are out.
    pub fn open_loans(&self) -> impl Iterator<Item = &Loan> {
        self.loans.iter().filter(|loan| loan.returned_on.is_none())
    }

    /// Own devices that are not as prescribed and wait for a clinician.
    pub fn mismatches(&self) -> impl Iterator<Item = &OwnDevice> {
        self.own_devices.iter().filter(|own| own.standing == Standing::Mismatch)
    }
}

impl Loan {
    /// Whether it is out and may be trained with after this day.
    #[must_use]
    pub fn in_use(&self) -> bool {
        self.returned_on.is_none() && self.fit != Fit::Not && self.replaced.is_none()
    }

    /// Whether it was out on that day; the days it went and came back count.
    #[must_use]
    pub fn covers(&self, day: Date) -> bool {
        self.opened_on <= day && self.returned_on.is_none_or(|returned| day <= returned)
    }
}

impl OwnDevice {
    /// The day since when it is the device of the track.
    #[must_use]
    pub const fn in_force(&self) -> Option<Date> {
        match self.standing {
            Standing::InForce(since) => Some(since),
            Standing::Held | Standing::Mismatch | Standing::Refused => None,
        }
    }
}
