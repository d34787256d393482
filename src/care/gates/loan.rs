//! Which device: may this one be lent (G4), and may this entry name it (G6)?
//!
//! Loans are judged by the journey of the day the entry is dated. From the day
//! after the own device came into force, entries name it or no device.
//! Does not know how a device is kept in the pool.

use jiff::civil::Date;

use super::exception::nearest;
use super::{Blocked, Gate, SafeToTrain};
use crate::care::device::{self, Condition, DeviceSpec, Match, Warning};
use crate::care::ids::{AccountId, DeviceId, LoanId, OwnDeviceId};
use crate::care::journey::step::Act;
use crate::care::journey::{Basis, Fit, Journey, OwnDevice, Standing};
use crate::vision::units::Metres;

/// A device of the pool, as G4 needs it.
#[derive(Debug, Clone, PartialEq)]
pub struct PoolDevice {
    /// Which device.
    pub id: DeviceId,
    /// Its specification, with the eye it would be lent for.
    pub spec: DeviceSpec,
    /// Its condition.
    pub condition: Condition,
    /// The day it was last cleaned.
    pub cleaned_on: Option<Date>,
    /// The day it last came back; none, it was never lent.
    pub last_returned: Option<Date>,
    /// Its open loan, to whichever student.
    pub open_loan: Option<LoanId>,
}

impl PoolDevice {
    /// Whether it was cleaned since it last came back.
    #[must_use]
    pub fn is_clean(&self) -> bool {
        match (self.last_returned, self.cleaned_on) {
            (None, _) => true,
            (Some(returned), Some(cleaned)) => returned <= cleaned,
            (Some(_), None) => false,
        }
    }
}

/// G4: this device may be lent for this track.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RightLoan {
    device: DeviceId,
    basis: Basis,
    why: Why,
    warnings: Vec<Warning>,
}

/// Why a device may be lent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It matches the recommendation in force.
    Matches,
    /// A clinician allowed it.
    Allowed(AccountId),
    /// It stands in for an own device that is being repaired.
    Repair(OwnDeviceId),
}

impl RightLoan {
    /// The device.
    #[must_use]
    pub const fn device(&self) -> DeviceId {
        self.device
    }

    /// The recommendation in force.
    #[must_use]
    pub const fn basis(&self) -> Basis {
        self.basis
    }

    /// Why it may be lent.
    #[must_use]
    pub const fn why(&self) -> Why {
        self.why
    }

    /// What is worth knowing before lending it.
    #[must_use]
    pub fn warnings(&self) -> &[Warning] {
        &self.warnings
    }
}

/// G4: may this device be lent for this track?
///
/// `tasks` are the distances the student needs it at.
///
/// # Errors
/// It is lost, broken, not clean or out; the own device is there (G6); or it
/// matches no recommended device and no clinician allowed it.
pub fn right_loan(
    journey: &Journey,
    safe: SafeToTrain,
    device: &PoolDevice,
    tasks: &[Metres],
) -> Result<RightLoan, Blocked> {
    let blocked = |first, message: &str| Blocked::at(Gate::RightLoan, first, message);
    let basis = same_day(journey, safe)?;
    if !device.condition.fit_to_lend() {
        return Err(blocked(
            Act::ChooseAnotherDevice,
            &format!("This device is {}. Choose another.", device.condition.words()),
        ));
    }
    if device.open_loan.is_some() {
        return Err(blocked(
            Act::ChooseAnotherDevice,
            "This device is out on loan. Choose another, or take it back first.",
        ));
    }
    if !device.is_clean() {
        return Err(blocked(
            Act::CleanDevice,
            "This device was not cleaned since it came back. Clean it and enter the date.",
        ));
    }
    own_device_first(journey, device)?;
    let (why, warnings) = why(journey, device, tasks)?;
    Ok(RightLoan { device: device.id, basis, why, warnings })
}

/// The journey and the token must speak of one track, day and recommendation.
fn same_day(journey: &Journey, safe: SafeToTrain) -> Result<Basis, Blocked> {
    let now = journey.recommendation.as_ref().map(|now| now.basis);
    if safe.track() == journey.track && safe.day() == journey.day && now == Some(safe.basis()) {
        return Ok(safe.basis());
    }
    Err(Blocked::at(
        Gate::EvaluationFirst,
        Act::SignEvaluation,
        "The evaluation that was checked is not the one in force on this track and day.",
    ))
}

/// G6: where the own device is in hand, nothing of its kind is lent.
pub(super) fn own_device_first(journey: &Journey, device: &PoolDevice) -> Result<(), Blocked> {
    let replaced = journey.replacing(device.spec.kind).next().is_some();
    if replaced {
        return Err(Blocked::at(
            Gate::OwnDeviceOnly,
            Act::StartRepair,
            "The student has the own device. If it is in repair, start a repair record.",
        ));
    }
    Ok(())
}

fn why(journey: &Journey, device: &PoolDevice, tasks: &[Metres]) -> Result<(Why, Vec<Warning>), Blocked> {
    let differences = match nearest(journey, &device.spec, tasks) {
        Some((_, Match::Matches(warnings))) => return Ok((Why::Matches, warnings)),
        Some((_, Match::Differs(parts))) => parts,
        None => Vec::new(),
    };
    if let Some(given) = journey.allowed.iter().find(|given| given.device == device.id) {
        return Ok((Why::Allowed(given.by), Vec::new()));
    }
    for own in journey.own_in_force().filter(|own| own.in_repair.is_some()) {
        if let Match::Matches(warnings) = device::matches(journey.track, &own.spec, &device.spec, tasks) {
            return Ok((Why::Repair(own.id), warnings));
        }
    }
    let parts: Vec<_> = differences.iter().map(|part| part.words()).collect();
    let what = if parts.is_empty() { "no device is recommended".to_owned() } else { parts.join("; ") };
    Err(Blocked::at(
        Gate::RightLoan,
        Act::ChooseAnotherDevice,
        format!(
            "This device is not the one recommended: {what}. Choose another, or ask the clinician \
             to allow it."
        ),
    ))
}

/// The device that an entry names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Named {
    /// None: eyes and glasses only.
    NoDevice,
    /// A loan.
    Loan(LoanId),
    /// The student's own device.
    Own(OwnDeviceId),
}

/// What an entry is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// A training session, or a probe: a device that no longer matches takes none.
    Session,
    /// What somebody saw: it is kept as it was, with whatever was in hand.
    Observation,
}

/// G4 and G6: an entry of this day may name this device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DeviceOfTheTrack {
    named: Named,
    day: Date,
}

impl DeviceOfTheTrack {
    /// The device named.
    #[must_use]
    pub const fn named(self) -> Named {
        self.named
    }

    /// The day of the entry.
    #[must_use]
    pub const fn day(self) -> Date {
        self.day
    }
}

/// G4 and G6: may an entry dated on the journey's day name this device?
///
/// # Errors
/// The own device is there and the loan is named; the loan was not out, or no
/// longer matches; the own device was not there, is in repair or not settled.
pub fn device_of_the_track(journey: &Journey, named: Named, purpose: Purpose) -> Result<DeviceOfTheTrack, Blocked> {
    match named {
        Named::NoDevice => {}
        Named::Loan(id) => loan_named(journey, id, purpose)?,
        Named::Own(id) => own_named(journey, id, purpose)?,
    }
    Ok(DeviceOfTheTrack { named, day: journey.day })
}

fn loan_named(journey: &Journey, id: LoanId, purpose: Purpose) -> Result<(), Blocked> {
    let loan = journey.loans.iter().find(|loan| loan.id == id && loan.covers(journey.day));
    let Some(loan) = loan else {
        return Err(Blocked::at(
            Gate::RightLoan,
            Act::OpenLoan,
            "This device was not on loan to the student on that day.",
        ));
    };
    // G6: entries dated later than the day the own device was there.
    if loan.replaced.is_some_and(|replaced| replaced.since < journey.day) {
        return Err(Blocked::at(
            Gate::OwnDeviceOnly,
            Act::StartRepair,
            "Use the student's own device now. If it is in repair, start a repair record.",
        ));
    }
    if purpose == Purpose::Session && loan.fit == Fit::Not {
        return Err(Blocked::at(
            Gate::RightLoan,
            Act::ReturnLoan,
            "This loan does not match what is recommended now. It is due back and takes no \
             session.",
        ));
    }
    Ok(())
}

fn own_named(journey: &Journey, id: OwnDeviceId, purpose: Purpose) -> Result<(), Blocked> {
    let blocked = |first, message: &str| Blocked::at(Gate::OwnDeviceOnly, first, message);
    let Some(own) = journey.own_devices.iter().find(|own| own.id == id) else {
        return Err(blocked(
            Act::RecordReceipt,
            "The student did not have this device on that day. Record when it arrived.",
        ));
    };
    match own.standing {
        Standing::Mismatch => {
            return Err(blocked(Act::SettleMismatch, "This device is not as prescribed. It waits for the clinician."));
        }
        Standing::Refused => {
            return Err(blocked(Act::ChooseAnotherDevice, "The clinician refused this device."));
        }
        Standing::InForce(_) | Standing::Held => {}
    }
    // On the day it went to repair it may have been used before.
    if own.in_repair.is_some_and(|since| since < journey.day) {
        return Err(blocked(
            Act::EndRepair,
            "This device is in repair on that day. Record it back first, or name the loan.",
        ));
    }
    if own.standing == Standing::Held {
        held_named(journey, own, purpose)?;
    }
    Ok(())
}

/// The student has it, but it is not the device of the track.
fn held_named(journey: &Journey, own: &OwnDevice, purpose: Purpose) -> Result<(), Blocked> {
    let another = journey.own_in_force().filter_map(OwnDevice::in_force).any(|since| since < journey.day);
    if another {
        return Err(Blocked::at(
            Gate::OwnDeviceOnly,
            Act::TrainOwn,
            "Another device of the student's own is the one in force now.",
        ));
    }
    let recommended = journey
        .recommendation
        .iter()
        .flat_map(|now| &now.devices)
        .any(|wanted| device::matches(journey.track, wanted, &own.spec, &[]).holds());
    if purpose == Purpose::Session && !recommended {
        return Err(Blocked::at(
            Gate::RightLoan,
            Act::OpenLoan,
            "This device is not what is recommended now, so it takes no session.",
        ));
    }
    Ok(())
}
