//! The student's own device: prescribed, received, kept, put aside (G6).
//!
//! Receipts and signatures may be entered in either order; a device comes into
//! force once both are there. Does not know loans; those follow in `outcome`.

use std::cmp::max;

use jiff::civil::Date;

use super::{Aside, Phase, Walk};
use crate::care::device::{self, DeviceSpec};
use crate::care::ids::{OwnDeviceId, PrescriptionId};
use crate::care::journey::fact::{Fact, Receipt, Verdict};
use crate::care::journey::{Basis, OwnDevice, Prescription, Standing};
use crate::care::track::Track;

impl Walk {
    pub(super) fn keep_own(&mut self, fact: &Fact, basis: Basis) {
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

    pub(super) fn put_own_aside(&mut self) {
        for own in &mut self.journey.own_devices {
            if own.in_force().is_some() {
                own.standing = Standing::Held;
            }
        }
    }

    pub(super) fn prescribed(&mut self, id: PrescriptionId, devices: &[DeviceSpec], on: Date) {
        if devices.is_empty() {
            return;
        }
        self.overtake_finalising();
        self.signed_meanwhile = self.journey.with_clinician.is_some();
        self.aside.push(Aside {
            prescription: id,
            phase: self.phase,
            earlier: self.journey.prescription.take(),
            in_force: self.journey.own_in_force().filter_map(|own| Some((own.id, own.in_force()?))).collect(),
        });
        self.phase = Phase::Prescribed;
        // Superseding with the same device keeps it.
        let track = self.journey.track;
        for own in &mut self.journey.own_devices {
            let came_on_one = own.prescription.is_some_and(|earlier| earlier != id);
            let kept = match own.standing {
                Standing::InForce(since) => Some(since),
                Standing::Held if came_on_one => Some(on),
                // A new prescription may settle what differed from the last.
                Standing::Mismatch if own.said == Receipt::AsPrescribed => Some(on),
                _ => None,
            };
            own.standing = match (kept, own.standing) {
                (Some(since), _) if as_prescribed(track, devices, &own.spec) => {
                    self.phase = Phase::Own;
                    Standing::InForce(since)
                }
                (_, Standing::InForce(_)) => Standing::Held,
                (_, standing) => standing,
            };
        }
        self.journey.prescription = Some(Prescription { id, devices: devices.to_vec(), since: on });
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

    pub(super) fn voided(&mut self, id: PrescriptionId) {
        let current = self.journey.prescription.as_ref().is_some_and(|current| current.id == id);
        let Some(place) = self.aside.iter().position(|aside| aside.prescription == id) else {
            return;
        };
        let aside = self.aside.remove(place);
        if !current {
            // What it had put aside lies under the one that came after it now.
            for later in &mut self.aside {
                if later.earlier.as_ref().is_some_and(|earlier| earlier.id == id) {
                    later.earlier.clone_from(&aside.earlier);
                    if later.phase == Phase::Prescribed {
                        later.phase = aside.phase;
                    }
                }
            }
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
    pub(super) fn received(&mut self, id: OwnDeviceId) {
        let track = self.journey.track;
        let kept = self.phase == Phase::Own && self.journey.recommendation.as_ref().is_some_and(|now| now.keeps_own);
        let prescription = self.journey.prescription.clone();
        let Some(own) = self.own(id) else { return };
        let standing = match (own.prescription, prescription) {
            (Some(on_which), Some(now)) => {
                let matches = own.said == Receipt::AsPrescribed && as_prescribed(track, &now.devices, &own.spec);
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

    pub(super) fn settled(&mut self, id: OwnDeviceId, verdict: Verdict, on: Date) {
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

    pub(super) fn own(&mut self, id: OwnDeviceId) -> Option<&mut OwnDevice> {
        self.journey.own_devices.iter_mut().find(|own| own.id == id)
    }
}

/// Whether what arrived is one of the prescribed devices.
fn as_prescribed(track: Track, prescribed: &[DeviceSpec], received: &DeviceSpec) -> bool {
    prescribed.iter().any(|device| device::receipt_differences(track, device, received).is_empty())
}
