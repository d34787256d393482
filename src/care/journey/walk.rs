//! Reading the facts of one track in order: what does each one change?
//!
//! One match over the facts moves a [`Phase`]; the stage is the phase with two
//! things laid over it: whether a matching loan is out, and whether a summary
//! lies with the clinician. So `keep going` needs no memory of an earlier stage:
//! the summary is lifted off, and what is below shows again.
//! Does not know today, nor who may enter a fact.

use std::cmp::max;

use jiff::ToSpan;
use jiff::civil::Date;

use super::fact::{Answer, Choice, Fact, Receipt, Safe, Source, Verdict, What};
use super::{
    Allowance, Basis, Fit, Journey, LOAN_DUE_DAYS, Loan, OwnDevice, Prescription, Recommendation,
    Replaced, Request, Safety, SentSummary, Stage, Standing, WithClinician,
};
use crate::care::device::{self, DeviceSpec};
use crate::care::ids::{DecisionId, OwnDeviceId, PrescriptionId, RequestId};
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
    aside: Vec<Aside>,
}

pub(super) fn journey(track: Track, facts: &[Fact], day: Date) -> Journey {
    let mut counted: Vec<&Fact> = facts.iter().filter(|fact| fact.counts(day)).collect();
    counted.sort_by_cached_key(|fact| fact.order());
    let mut walk = Walk::new(track, day);
    // Loans that came back before they went out are a slip of dates, not out.
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
            aside: Vec::new(),
        }
    }

    fn read(&mut self, fact: &Fact) {
        match &fact.what {
            // Loans were read beforehand; their day decides below.
            What::RecordOpened | What::LoanOpened { .. } | What::LoanReturned { .. } => {}
            What::EvaluationRequested { request } => self.requested(*request, fact.on),
            What::RequestWithdrawn { request } => self.withdrawn(*request),
            What::EvaluationAnswered {
                evaluation,
                source,
                safe,
                answer,
                ..
            } => {
                let safety = Safety {
                    evaluation: *evaluation,
                    safe: *safe,
                    source: *source,
                };
                self.answered(fact, safety, answer);
            }
            What::DeviceAllowed { device, under, by } => {
                self.allowed.push(Allowance {
                    device: *device,
                    under: *under,
                    by: *by,
                });
            }
            What::SummarySent { summary, covers } => {
                self.journey.summaries.push(SentSummary {
                    id: *summary,
                    covers: covers.clone(),
                    on: fact.on,
                    entered: fact.entered,
                });
                self.signed_meanwhile = false;
                self.journey.with_clinician = Some(WithClinician {
                    summary: *summary,
                    finalising: None,
                });
            }
            What::Decided {
                decision,
                choice,
                devices,
            } => {
                self.decided(fact, *decision, *choice, devices);
            }
            What::PrescriptionSigned {
                prescription,
                devices,
            } => {
                self.prescribed(*prescription, devices, fact.on);
            }
            What::PrescriptionVoided { prescription } => self.voided(*prescription),
            What::OwnDeviceReceived {
                own_device,
                prescription,
                spec,
                receipt,
            } => {
                let known = self
                    .journey
                    .own_devices
                    .iter()
                    .any(|own| own.id == *own_device);
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
            What::MismatchSettled {
                own_device,
                verdict,
            } => {
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
        self.journey.request = Some(Request {
            id: request,
            since: on,
        });
        let in_force =
            self.journey.recommendation.is_some() || self.journey.own_in_force().next().is_some();
        // A prescription on its way is not put back by asking for the next look.
        if !in_force && matches!(self.phase, Phase::Opened | Phase::NoDevice) {
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

    fn decided(
        &mut self,
        fact: &Fact,
        decision: DecisionId,
        choice: Choice,
        devices: &[DeviceSpec],
    ) {
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
        let still_prescribed =
            self.journey
                .prescription
                .as_ref()
                .is_some_and(|prescription| {
                    prescription.devices.iter().any(|prescribed| {
                        devices.iter().any(|device| self.same(device, prescribed))
                    })
                });
        if !still_prescribed {
            self.journey.prescription = None;
        }
        self.phase = Phase::Recommended;
        self.in_force(fact, basis, devices, false);
    }

    fn keep_own(&mut self, fact: &Fact, basis: Basis) {
        let keeps_some = self.journey.own_in_force().next().is_some();
        if !keeps_some {
            for own in &mut self.journey.own_devices {
                if own.standing == Standing::Held {
                    own.standing = Standing::InForce(fact.on);
                }
            }
        }
        self.phase = Phase::Own;
        self.in_force(fact, basis, Vec::new(), true);
    }

    fn in_force(&mut self, fact: &Fact, basis: Basis, devices: Vec<DeviceSpec>, keeps_own: bool) {
        let recommendation = Recommendation {
            basis,
            devices,
            keeps_own,
            safety: self.safety,
            since: fact.on,
            entered: fact.entered,
        };
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

    fn put_own_aside(&mut self) {
        for own in &mut self.journey.own_devices {
            if own.in_force().is_some() {
                own.standing = Standing::Held;
            }
        }
    }

    /// Once a decision to finalise is made, a newer answer overtakes it.
    fn overtake_finalising(&mut self) {
        if self
            .journey
            .with_clinician
            .is_some_and(|with| with.finalising.is_some())
        {
            self.journey.with_clinician = None;
        }
    }

    fn prescribed(&mut self, id: PrescriptionId, devices: &[DeviceSpec], on: Date) {
        if devices.is_empty() {
            return;
        }
        self.overtake_finalising();
        self.signed_meanwhile = self.journey.with_clinician.is_some();
        self.aside.push(Aside {
            prescription: id,
            phase: self.phase,
            earlier: self.journey.prescription.take(),
            in_force: self
                .journey
                .own_in_force()
                .filter_map(|own| Some((own.id, own.in_force()?)))
                .collect(),
        });
        self.phase = Phase::Prescribed;
        // Superseding with the same device keeps it.
        let track = self.journey.track;
        for own in &mut self.journey.own_devices {
            let came_on_one = own.prescription.is_some_and(|earlier| earlier != id);
            let kept = match own.standing {
                Standing::InForce(since) => Some(since),
                Standing::Held if came_on_one => Some(on),
                _ => None,
            };
            own.standing = match (kept, own.standing) {
                (Some(since), _) if as_prescribed(track, devices, &own.spec) => {
                    self.phase = Phase::Own;
                    Standing::InForce(since)
                }
                (Some(_), _) => Standing::Held,
                (None, standing) => standing,
            };
        }
        self.journey.prescription = Some(Prescription {
            id,
            devices: devices.to_vec(),
            since: on,
        });
        // A receipt may be dated, or entered, before the signature.
        let waiting: Vec<_> = self
            .journey
            .own_devices
            .iter()
            .filter(|own| own.prescription == Some(id) && own.standing == Standing::Held)
            .map(|own| own.id)
            .collect();
        for own in waiting {
            self.received(own);
        }
    }

    fn voided(&mut self, id: PrescriptionId) {
        let current = self
            .journey
            .prescription
            .as_ref()
            .is_some_and(|current| current.id == id);
        for aside in &mut self.aside {
            aside.earlier.take_if(|earlier| earlier.id == id);
        }
        let Some(place) = self.aside.iter().position(|aside| aside.prescription == id) else {
            return;
        };
        let aside = self.aside.remove(place);
        if !current {
            return;
        }
        self.journey.prescription = aside.earlier;
        // A device that arrived stays the student's own.
        if self.phase == Phase::Prescribed {
            self.phase = aside.phase;
            for (id, since) in aside.in_force {
                if let Some(own) = self.own(id) {
                    own.standing = Standing::InForce(since);
                }
            }
        }
    }

    /// Compares what arrived with what is prescribed now.
    fn received(&mut self, id: OwnDeviceId) {
        let track = self.journey.track;
        let kept = self.phase == Phase::Own
            && self
                .journey
                .recommendation
                .as_ref()
                .is_some_and(|now| now.keeps_own);
        let prescription = self.journey.prescription.clone();
        let Some(own) = self.own(id) else { return };
        let standing = match (own.prescription, prescription) {
            (Some(on_which), Some(now)) => {
                let matches = own.said == Receipt::AsPrescribed
                    && as_prescribed(track, &now.devices, &own.spec);
                if matches {
                    Standing::InForce(max(own.received_on, now.since))
                } else if on_which == now.id {
                    Standing::Mismatch
                } else {
                    Standing::Held
                }
            }
            // Brought along, and the evaluation says to keep it.
            (None, _) if kept => Standing::InForce(own.received_on),
            _ => Standing::Held,
        };
        own.standing = standing;
        if matches!(standing, Standing::InForce(_)) {
            self.phase = Phase::Own;
        }
    }

    fn settled(&mut self, id: OwnDeviceId, verdict: Verdict, on: Date) {
        let Some(own) = self.own(id) else { return };
        if own.standing != Standing::Mismatch {
            return;
        }
        match verdict {
            Verdict::Refused => own.standing = Standing::Refused,
            Verdict::Accepted => {
                own.standing = Standing::InForce(on);
                self.phase = Phase::Own;
            }
        }
    }

    fn own(&mut self, id: OwnDeviceId) -> Option<&mut OwnDevice> {
        self.journey.own_devices.iter_mut().find(|own| own.id == id)
    }

    fn read_loans(&mut self, facts: &[&Fact]) {
        for fact in facts {
            if let What::LoanOpened { loan, device, spec } = &fact.what
                && self.journey.loans.iter().all(|known| known.id != *loan)
            {
                let returned_on = facts.iter().find_map(|other| match other.what {
                    What::LoanReturned { loan: back } if back == *loan => Some(other.on),
                    _ => None,
                });
                self.journey.loans.push(Loan {
                    id: *loan,
                    device: *device,
                    spec: spec.clone(),
                    opened_on: fact.on,
                    returned_on,
                    fit: Fit::Not,
                    replaced: None,
                    due: None,
                });
            }
        }
    }

    /// Brings what follows from the facts so far up to date.
    fn settle(&mut self, fact: &Fact) {
        self.refresh_kept();
        let basis = self.journey.recommendation.as_ref().map(|now| now.basis);
        self.journey.allowed = self
            .allowed
            .iter()
            .copied()
            .filter(|given| Some(given.under) == basis)
            .collect();
        let judged: Vec<_> = self
            .journey
            .loans
            .iter()
            .map(|loan| {
                let fit = self.fit(loan);
                let replaced = self.replaced(loan);
                (fit, replaced, self.due(loan, fit, replaced))
            })
            .collect();
        for (loan, (fit, replaced, due)) in self.journey.loans.iter_mut().zip(judged) {
            (loan.fit, loan.replaced, loan.due) = (fit, replaced, due);
        }
        let stage = self.stage(fact.on);
        let opened = fact.what == What::RecordOpened && stage == Stage::Intake;
        if stage != self.journey.stage || opened {
            self.journey.since = Some(fact.on);
            self.journey.stage = stage;
        }
    }

    /// `Keep own device` recommends whatever the own devices are.
    fn refresh_kept(&mut self) {
        let specs: Vec<_> = self
            .journey
            .own_in_force()
            .map(|own| own.spec.clone())
            .collect();
        if let Some(now) = &mut self.journey.recommendation
            && now.keeps_own
        {
            now.devices = specs;
            if let Some(last) = self.journey.history.last_mut() {
                last.devices.clone_from(&now.devices);
            }
        }
    }

    fn stage(&self, on: Date) -> Stage {
        if self.journey.with_clinician.is_some() {
            return Stage::SummaryWithClinician;
        }
        let out = |loan: &&Loan| {
            loan.fit != Fit::Not
                && loan.opened_on <= on
                && loan.returned_on.is_none_or(|returned| on < returned)
        };
        match self.phase {
            Phase::Opened => Stage::Intake,
            Phase::Awaiting => Stage::AwaitingEvaluation,
            Phase::Recommended if self.journey.loans.iter().any(|loan| out(&loan)) => {
                Stage::TrainingOnLoan
            }
            Phase::Recommended => Stage::WaitingForLoan,
            Phase::NoDevice => Stage::NoDeviceAdvised,
            Phase::Prescribed => Stage::Prescribed,
            Phase::Own => Stage::OwnDevice,
        }
    }

    fn fit(&self, loan: &Loan) -> Fit {
        let Some(now) = &self.journey.recommendation else {
            return Fit::Not;
        };
        if now
            .devices
            .iter()
            .any(|device| self.same(device, &loan.spec))
        {
            return Fit::Recommended;
        }
        if let Some(given) = self
            .journey
            .allowed
            .iter()
            .find(|given| given.device == loan.device)
        {
            return Fit::Allowed(given.by);
        }
        // G6: a repair record reopens the loan that the own device replaced.
        self.journey
            .own_in_force()
            .find(|own| own.in_repair.is_some() && self.same(&own.spec, &loan.spec))
            .map_or(Fit::Not, |own| Fit::Repair(own.id))
    }

    fn same(&self, wanted: &DeviceSpec, lent: &DeviceSpec) -> bool {
        device::matches(self.journey.track, wanted, lent, &[]).holds()
    }

    fn replaced(&self, loan: &Loan) -> Option<Replaced> {
        self.journey
            .replacing(loan.spec.kind)
            .filter_map(|own| {
                let since = max(own.in_force()?, own.repaired_on.unwrap_or(own.received_on));
                Some(Replaced { by: own.id, since })
            })
            .min_by_key(|replaced| replaced.since)
    }

    fn due(&self, loan: &Loan, fit: Fit, replaced: Option<Replaced>) -> Option<Date> {
        if loan.returned_on.is_some() {
            return None;
        }
        match replaced {
            Some(replaced) => {
                Some(max(replaced.since, loan.opened_on).saturating_add(LOAN_DUE_DAYS.days()))
            }
            None if fit == Fit::Not => Some(
                self.changed_on
                    .map_or(loan.opened_on, |on| max(on, loan.opened_on)),
            ),
            None => None,
        }
    }
}

/// Whether what arrived is one of the prescribed devices.
fn as_prescribed(track: Track, prescribed: &[DeviceSpec], received: &DeviceSpec) -> bool {
    prescribed
        .iter()
        .any(|device| device::receipt_differences(track, device, received).is_empty())
}
