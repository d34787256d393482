//! May a clinician finalise a prescription for this track (G8)?
//!
//! Each device needs a summary that covers it, sent after the evaluation or
//! decision that first brought it into force; or the clinician writes why not.
//! Lenses alone need none. What rests on a transcribed report must be confirmed.
//! Does not know passwords or signatures.

use super::{Blocked, Gate, Reason};
use crate::care::device::{self, DeviceSpec};
use crate::care::ids::SummaryId;
use crate::care::journey::fact::Source;
use crate::care::journey::step::Act;
use crate::care::journey::{Journey, Recommendation, SentSummary};

/// G8: the track may be finalised.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MayFinalise {
    evidence: Evidence,
}

/// What finalising rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Evidence {
    /// These summaries cover the devices, one for each, in their order.
    Summaries(Vec<SummaryId>),
    /// The clinician wrote why there is none.
    Reason(Reason),
    /// Only lenses are prescribed.
    LensesAlone,
}

impl MayFinalise {
    /// What it rests on.
    #[must_use]
    pub const fn evidence(&self) -> &Evidence {
        &self.evidence
    }
}

/// G8: may these devices of this track be finalised?
///
/// # Errors
/// The evaluation is transcribed and not confirmed; or a device has no summary
/// sent after it came into force, and no reason is written.
pub fn may_finalise(journey: &Journey, devices: &[DeviceSpec], reason: Option<&str>) -> Result<MayFinalise, Blocked> {
    if devices.is_empty() {
        return Ok(MayFinalise { evidence: Evidence::LensesAlone });
    }
    let unconfirmed = journey
        .recommendation
        .as_ref()
        .and_then(|now| now.safety)
        .is_some_and(|safety| safety.source == Source::Transcribed);
    if unconfirmed {
        return Err(Blocked::at(
            Gate::Finalise,
            Act::ConfirmTranscription,
            "The evaluation is transcribed and not confirmed. Confirm it before finalising.",
        ));
    }
    let summaries: Option<Vec<_>> =
        devices.iter().map(|device| covering(journey, device).map(|summary| summary.id)).collect();
    let evidence = match (summaries, Reason::given(reason)) {
        (Some(summaries), _) => Evidence::Summaries(summaries),
        (None, Some(reason)) => Evidence::Reason(reason),
        (None, None) => {
            return Err(Blocked::at(
                Gate::Finalise,
                Act::SendSummary,
                "No training summary about this device was sent since it was recommended. Wait \
                 for one, or write why there is none.",
            ));
        }
    };
    Ok(MayFinalise { evidence })
}

/// The newest summary that covers a device and was sent after it came into force.
fn covering<'a>(journey: &'a Journey, device: &DeviceSpec) -> Option<&'a SentSummary> {
    let first = brought_into_force(journey, device)?;
    journey.summaries.iter().rev().find(|summary| {
        (summary.on, summary.entered) > (first.since, first.entered)
            && summary.covers.iter().any(|covered| device::matches(journey.track, device, covered, &[]).holds())
    })
}

/// What first brought a device into force.
///
/// The first recommendation of just this device; if it was never recommended
/// with just this power, the newest of one that is near enough for G4, because a
/// summary about an older device near in power says too little.
fn brought_into_force<'a>(journey: &'a Journey, device: &DeviceSpec) -> Option<&'a Recommendation> {
    let near = |wanted: &DeviceSpec| device::matches(journey.track, wanted, device, &[]).holds();
    let just = |wanted: &DeviceSpec| near(wanted) && device::same_strength(journey.track, wanted, device);
    let history = &journey.history;
    history
        .iter()
        .find(|one| one.devices.iter().any(just))
        .or_else(|| history.iter().rev().find(|one| one.devices.iter().any(near)))
}
