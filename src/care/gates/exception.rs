//! The ways past G4 and G6: may a clinician be asked about this device, may a
//! receipt that does not match be settled, may a repair begin, may a loan go on
//! beyond its day?
//!
//! Each is a gate like the others: a token that the write demands, or the step
//! that comes first. Does not know who may do it, nor what the reason says.

use jiff::civil::Date;

use super::loan::{PoolDevice, own_device_first};
use super::{Blocked, Gate, SafeToTrain};
use crate::care::device::{self, DeviceSpec, Difference, Match};
use crate::care::ids::{DeviceId, LoanId, OwnDeviceId};
use crate::care::journey::step::Act;
use crate::care::journey::{Basis, Fit, Journey, Standing};
use crate::care::track::Track;
use crate::vision::units::Metres;

/// The recommended device that this one comes nearest to, and how it compares;
/// none when nothing is recommended.
///
/// A match comes before a difference, fewer warnings or differences before more.
#[must_use]
pub fn nearest<'j>(journey: &'j Journey, spec: &DeviceSpec, tasks: &[Metres]) -> Option<(&'j DeviceSpec, Match)> {
    let recommended = journey.recommendation.iter().flat_map(|now| &now.devices);
    recommended.map(|wanted| (wanted, device::matches(journey.track, wanted, spec, tasks))).min_by_key(|(_, found)| {
        match found {
            Match::Matches(warnings) => (0, (false, warnings.len())),
            Match::Differs(parts) => (1, device::apart(parts)),
        }
    })
}

/// G4: a clinician may be asked about this device, and may allow it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnotherDevice {
    device: DeviceId,
    track: Track,
    under: Basis,
    differs: Vec<Difference>,
}

impl AnotherDevice {
    /// The pool device.
    #[must_use]
    pub const fn device(&self) -> DeviceId {
        self.device
    }

    /// The track it would be lent for.
    #[must_use]
    pub const fn track(&self) -> Track {
        self.track
    }

    /// The recommendation in force, under which alone the leave holds.
    #[must_use]
    pub const fn under(&self) -> Basis {
        self.under
    }

    /// How it differs from the recommended device it comes nearest to.
    #[must_use]
    pub fn differs(&self) -> &[Difference] {
        &self.differs
    }
}

/// G4: is this a device that a clinician has to allow?
///
/// `asked_under` is the recommendation in force when the question was asked, if
/// one was.
///
/// # Errors
/// It matches, or is allowed already; the own device takes its place (G6); or
/// the recommendation changed since the question.
pub fn another_device(
    journey: &Journey,
    safe: SafeToTrain,
    device: &PoolDevice,
    asked_under: Option<Basis>,
) -> Result<AnotherDevice, Blocked> {
    let blocked = |first, message: &str| Blocked::at(Gate::RightLoan, first, message);
    let under = safe.basis();
    if asked_under.is_some_and(|asked| asked != under) {
        return Err(blocked(
            Act::ChooseAnotherDevice,
            "The recommendation changed since this was asked. The vision teacher can ask again under the new one.",
        ));
    }
    own_device_first(journey, device)?;
    let differs = match nearest(journey, &device.spec, &[]) {
        Some((_, Match::Matches(_))) => {
            return Err(blocked(
                Act::OpenLoan,
                "This device matches what is recommended. It can be lent without asking.",
            ));
        }
        Some((_, Match::Differs(parts))) => parts,
        None => Vec::new(),
    };
    if journey.allowed.iter().any(|given| given.device == device.id) {
        return Err(blocked(Act::OpenLoan, "A clinician allowed this device already. It can be lent."));
    }
    Ok(AnotherDevice { device: device.id, track: journey.track, under, differs })
}

/// G6: a device that is not as prescribed may be settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MaySettle {
    own_device: OwnDeviceId,
}

impl MaySettle {
    /// The device.
    #[must_use]
    pub const fn own_device(self) -> OwnDeviceId {
        self.own_device
    }
}

/// G6: does this device wait for a clinician?
///
/// # Errors
/// It was settled, or a newer prescription settled it, or it never differed.
pub fn may_settle(journey: &Journey, id: OwnDeviceId) -> Result<MaySettle, Blocked> {
    if journey.mismatches().any(|own| own.id == id) {
        return Ok(MaySettle { own_device: id });
    }
    Err(Blocked::at(
        Gate::OwnDeviceOnly,
        Act::TrainOwn,
        "Nothing about this device waits for a clinician: it is as prescribed, or it was settled.",
    ))
}

/// G6: the own device may go to be repaired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MayRepair {
    own_device: OwnDeviceId,
    from: Date,
}

impl MayRepair {
    /// The device.
    #[must_use]
    pub const fn own_device(self) -> OwnDeviceId {
        self.own_device
    }

    /// The day it goes.
    #[must_use]
    pub const fn from(self) -> Date {
        self.from
    }
}

/// G6: may a repair of this device begin on the journey's day?
///
/// # Errors
/// It had not arrived by then, waits for a clinician, was refused, or is in
/// repair.
pub fn may_repair(journey: &Journey, id: OwnDeviceId) -> Result<MayRepair, Blocked> {
    let blocked = |first, message: &str| Blocked::at(Gate::OwnDeviceOnly, first, message);
    let Some(own) = journey.own_devices.iter().find(|own| own.id == id) else {
        return Err(blocked(
            Act::RecordReceipt,
            "The student did not have this device on that day. Record when it arrived.",
        ));
    };
    match own.standing {
        Standing::Mismatch => Err(blocked(
            Act::SettleMismatch,
            "This device is not as prescribed. It waits for the clinician, and no repair changes that.",
        )),
        Standing::Refused => Err(blocked(Act::ChooseAnotherDevice, "The clinician refused this device.")),
        Standing::InForce(_) | Standing::Held if own.in_repair.is_some() => {
            Err(blocked(Act::EndRepair, "This device is in repair. Record it back first."))
        }
        Standing::InForce(_) | Standing::Held => Ok(MayRepair { own_device: id, from: journey.day }),
    }
}

/// G4: a loan may go on beyond the day it is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MayExtend {
    loan: LoanId,
}

impl MayExtend {
    /// The loan.
    #[must_use]
    pub const fn loan(self) -> LoanId {
        self.loan
    }
}

/// G4 and G6: may this loan be given a later due date?
///
/// # Errors
/// It is due for a reason of the rules: it no longer matches, or the own device
/// is there.
pub fn may_extend(journey: &Journey, id: LoanId) -> Result<MayExtend, Blocked> {
    let back = |gate, message: &str| Err(Blocked::at(gate, Act::ReturnLoan, message));
    match journey.open_loans().find(|loan| loan.id == id) {
        None => back(Gate::RightLoan, "This loan is not out today."),
        Some(loan) if loan.replaced.is_some() => {
            back(Gate::OwnDeviceOnly, "The own device takes the place of this loan. It is due back and cannot go on.")
        }
        Some(loan) if loan.fit == Fit::Not => {
            back(Gate::RightLoan, "This loan does not match what is recommended now. It is due back and cannot go on.")
        }
        Some(_) => Ok(MayExtend { loan: id }),
    }
}
