//! What follows from the facts read so far: which loans may be used, which are
//! due, and the stage.
//!
//! Brought up to date after each fact, so that a stage knows since when.
//! Changes nothing that a fact decides.

use std::cmp::max;

use jiff::ToSpan;
use jiff::civil::Date;

use super::{Phase, Walk};
use crate::care::device::{self, DeviceSpec};
use crate::care::journey::fact::{Fact, What};
use crate::care::journey::{Fit, LOAN_DUE_DAYS, Loan, Replaced, Stage};

impl Walk {
    /// A loan that came back before it went out is a slip of dates, and not out.
    pub(super) fn read_loans(&mut self, facts: &[&Fact]) {
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
    pub(super) fn settle(&mut self, fact: &Fact) {
        self.refresh_kept();
        let basis = self.journey.recommendation.as_ref().map(|now| now.basis);
        self.journey.allowed = self.allowed.iter().copied().filter(|given| Some(given.under) == basis).collect();
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
        let specs: Vec<_> = self.journey.own_in_force().map(|own| own.spec.clone()).collect();
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
        let out = |loan: &Loan| {
            loan.fit != Fit::Not && loan.opened_on <= on && loan.returned_on.is_none_or(|returned| on < returned)
        };
        match self.phase {
            Phase::Opened => Stage::Intake,
            Phase::Awaiting => Stage::AwaitingEvaluation,
            Phase::Recommended if self.journey.loans.iter().any(out) => Stage::TrainingOnLoan,
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
        if now.devices.iter().any(|device| self.same(device, &loan.spec)) {
            return Fit::Recommended;
        }
        if let Some(given) = self.journey.allowed.iter().find(|given| given.device == loan.device) {
            return Fit::Allowed(given.by);
        }
        // G6: a repair record reopens the loan that the own device replaced.
        self.journey
            .own_in_force()
            .find(|own| own.in_repair.is_some() && self.same(&own.spec, &loan.spec))
            .map_or(Fit::Not, |own| Fit::Repair(own.id))
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
            Some(replaced) => Some(max(replaced.since, loan.opened_on).saturating_add(LOAN_DUE_DAYS.days())),
            None if fit == Fit::Not => {
                let ended = max(self.changed_on, self.taken_back.get(&loan.device).copied());
                Some(ended.map_or(loan.opened_on, |on| max(on, loan.opened_on)))
            }
            None => None,
        }
    }

    pub(super) fn same(&self, wanted: &DeviceSpec, lent: &DeviceSpec) -> bool {
        device::matches(self.journey.track, wanted, lent, &[]).holds()
    }
}
