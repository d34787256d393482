//! Reading the facts of one track in order: what does each one change?
//!
//! One match over the facts moves a [`Phase`]; the stage is the phase with two
//! things laid over it: whether a matching loan is out, and whether a summary
//! lies with the clinician. So `keep going` needs no memory of an earlier stage:
//! the summary is lifted off, and what is below shows again.
//! Does not know today, nor who may enter a fact. Own devices are in `own`, loans
//! and the stage itself in `outcome`.

mod outcome;
mod own;

use std::collections::BTreeMap;

use jiff::civil::Date;

use super::fact::{Answer, Choice, Fact, Safe, Source, What};
use super::{
    Allowance, Basis, Journey, OwnDevice, Prescription, Recommendation, Request, Safety, SentSummary, Stage, Standing,
    WithClinician,
};
use crate::care::device::DeviceSpec;
use crate::care::ids::{DecisionId, DeviceId, OwnDeviceId, PrescriptionId, RequestId};
use crate::care::track::Track;

/// The stage without the loan and without the summary.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Opened,
    Awaiting,
    Recommended,
    NoDevice,
    Prescribed,
    Own,
}

/// What a prescription put aside, should it be voided.
struct Aside {
    prescription: PrescriptionId,
    phase: Phase,
    earlier: Option<Prescription>,
    in_force: Vec<(OwnDeviceId, Date)>,
}

struct Walk {
    journey: Journey,
    phase: Phase,
    /// The phase a request was made in, should it be withdrawn.
    asked_in: Phase,
    /// The newest evaluation's word on safety.
    safety: Option<Safety>,
    /// The day the recommendation last changed or ended.
    changed_on: Option<Date>,
    /// Whether a prescription was signed while the summary was with the clinician.
    signed_meanwhile: bool,
    allowed: Vec<Allowance>,
    /// The day on which leave to lend a device was last taken back.
    taken_back: BTreeMap<DeviceId, Date>,
    aside: Vec<Aside>,
}

pub(super) fn journey(track: Track, facts: &[Fact], day: Date) -> Journey {
    let mut counted: Vec<&Fact> = facts.iter().filter(|fact| fact.counts(day)).collect();
    counted.sort_by_cached_key(|fact| fact.order());
    let mut walk = Walk::new(track, day);
    walk.read_loans(&counted);
    for fact in counted {
        walk.read(fact);
        walk.settle(fact);
    }
    walk.journey
}

impl Walk {
    fn new(track: Track, day: Date) -> Self {
        Self {
            journey: Journey {
                track,
                day,
                stage: Stage::Intake,
                since: None,
                request: None,
                recommendation: None,
                history: Vec::new(),
                loans: Vec::new(),
                own_devices: Vec::new(),
                summaries: Vec::new(),
                with_clinician: None,
                prescription: None,
                allowed: Vec::new(),
            },
            phase: Phase::Opened,
            asked_in: Phase::Opened,
            safety: None,
            changed_on: None,
            signed_meanwhile: false,
            allowed: Vec::new(),
            taken_back: BTreeMap::new(),
            aside: Vec::new(),
        }
    }

    fn read(&mut self, fact: &Fact) {
        match &fact.what {
            // Loans were read beforehand; their day decides below.
            What::RecordOpened | What::LoanOpened { .. } | What::LoanReturned { .. } => {}
            What::EvaluationRequested { request } => self.requested(*request, fact.on),
            What::RequestWithdrawn { request } => self.withdrawn(*request),
            What::EvaluationAnswered { evaluation, source, safe, answer, .. } => {
                let safety = Safety { evaluation: *evaluation, safe: *safe, source: *source };
                self.answered(fact, safety, answer);
            }
            What::DeviceAllowed { device, under, by } => {
                self.allowed.push(Allowance { device: *device, under: *under, by: *by });
            }
            What::AllowanceEnded { device, under } => {
                self.allowed.retain(|given| given.device != *device || given.under != *under);
                self.taken_back.insert(*device, fact.on);
            }
            What::SummarySent { summary, covers } => {
                self.journey.summaries.push(SentSummary {
                    id: *summary,
                    covers: covers.clone(),
                    on: fact.on,
                    entered: fact.entered,
                });
                self.signed_meanwhile = false;
                self.journey.with_clinician = Some(WithClinician { summary: *summary, finalising: None });
            }
            What::Decided { decision, choice, devices } => {
                self.decided(fact, *decision, *choice, devices);
            }
            What::PrescriptionSigned { prescription, devices } => {
                self.prescribed(*prescription, devices, fact.on);
            }
            What::PrescriptionVoided { prescription } => self.voided(*prescription),
            What::OwnDeviceReceived { own_device, prescription, spec, receipt } => {
                let known = self.journey.own_devices.iter().any(|own| own.id == *own_device);
                if !known {
                    self.journey.own_devices.push(OwnDevice {
                        id: *own_device,
                        spec: spec.clone(),
                        prescription: *prescription,
                        received_on: fact.on,
                        standing: Standing::Held,
                        said: *receipt,
                        in_repair: None,
                        repaired_on: None,
                    });
                    self.received(*own_device);
                }
            }
            What::MismatchSettled { own_device, verdict } => {
                self.settled(*own_device, *verdict, fact.on);
            }
            What::RepairStarted { own_device } => {
                if let Some(own) = self.own(*own_device) {
                    own.in_repair = own.in_repair.or(Some(fact.on));
                }
            }
            What::RepairEnded { own_device } => {
                if let Some(own) = self.own(*own_device)
                    && own.in_repair.take().is_some()
                {
                    own.repaired_on = Some(fact.on);
                }
            }
        }
    }

    fn requested(&mut self, request: RequestId, on: Date) {
        self.journey.request = Some(Request { id: request, since: on });
        // In any other phase a recommendation, a prescription or an own device is
        // in force, and asking for the next look puts none of them back.
        if matches!(self.phase, Phase::Opened | Phase::NoDevice) {
            self.asked_in = self.phase;
            self.phase = Phase::Awaiting;
        }
    }

    fn withdrawn(&mut self, request: RequestId) {
        if self.journey.request.is_some_and(|open| open.id == request) {
            self.journey.request = None;
            if self.phase == Phase::Awaiting {
                self.phase = self.asked_in;
            }
        }
    }

    fn answered(&mut self, fact: &Fact, safety: Safety, answer: &Answer) {
        let looked_at = *answer != Answer::NotLookedAt && safety.source != Source::Background;
        // A device without a word on safety opens nothing, and so changes nothing.
        let silent = safety.safe == Safe::NotStated && *answer != Answer::NoDevice;
        if !looked_at || silent {
            return;
        }
        self.safety = Some(safety);
        self.journey.request = None;
        self.overtake_finalising();
        let basis = Basis::Evaluation(safety.evaluation);
        match answer {
            Answer::Devices(devices) if safety.safe.opens() && !devices.is_empty() => {
                self.recommend(fact, basis, devices.clone());
            }
            Answer::KeepOwnDevice if safety.safe.opens() => self.keep_own(fact, basis),
            _ => self.end(fact.on),
        }
    }

    fn decided(&mut self, fact: &Fact, decision: DecisionId, choice: Choice, devices: &[DeviceSpec]) {
        match choice {
            Choice::KeepGoing | Choice::ChangeSeat | Choice::ChangeMaterial => {
                self.journey.with_clinician = None;
            }
            Choice::ChangeDevice => {
                self.journey.with_clinician = None;
                self.recommend(fact, Basis::Decision(decision), devices.to_vec());
            }
            Choice::ReferOrTreatFirst | Choice::Stop => {
                self.journey.with_clinician = None;
                self.end(fact.on);
            }
            Choice::Finalise => {
                if self.signed_meanwhile {
                    self.journey.with_clinician = None;
                } else if let Some(with) = &mut self.journey.with_clinician {
                    with.finalising = Some(decision);
                }
            }
        }
    }

    /// A new recommendation is on trial: an own device no longer excludes loans.
    fn recommend(&mut self, fact: &Fact, basis: Basis, devices: Vec<DeviceSpec>) {
        self.put_own_aside();
        let still_prescribed = self.journey.prescription.as_ref().is_some_and(|prescription| {
            prescription.devices.iter().any(|prescribed| devices.iter().any(|device| self.same(device, prescribed)))
        });
        if !still_prescribed {
            self.journey.prescription = None;
        }
        self.phase = Phase::Recommended;
        self.in_force(fact, basis, devices, false);
    }

    fn in_force(&mut self, fact: &Fact, basis: Basis, devices: Vec<DeviceSpec>, keeps_own: bool) {
        let recommendation =
            Recommendation { basis, devices, keeps_own, safety: self.safety, since: fact.on, entered: fact.entered };
        self.changed_on = Some(fact.on);
        self.journey.history.push(recommendation.clone());
        self.journey.recommendation = Some(recommendation);
    }

    /// No device is advised: what was recommended or prescribed ends.
    fn end(&mut self, on: Date) {
        self.put_own_aside();
        self.journey.recommendation = None;
        self.journey.prescription = None;
        self.changed_on = Some(on);
        self.phase = Phase::NoDevice;
    }

    /// Once a decision to finalise is made, a newer answer overtakes it.
    fn overtake_finalising(&mut self) {
        if self.journey.with_clinician.is_some_and(|with| with.finalising.is_some()) {
            self.journey.with_clinician = None;
        }
    }
}
