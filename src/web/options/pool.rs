//! Which devices could be used for this task, as far as this reader may know?
//!
//! Own and lent devices come with the student's sight. From the pool, everybody
//! but a clinician is shown only what is in, fit to go out and matches the
//! recommendation in force; a clinician is shown every device of the pool that
//! can stand on the track. Whoever may not read the pool is shown none of it.

use super::super::error::Result;
use super::super::guidance::Known;
use super::super::visit::Visit;
use crate::access::Role;
use crate::access::action::Read;
use crate::access::resource::Pool;
use crate::care::device::{DeviceSpec, matches, same_strength};
use crate::care::sight::{AtHand, AtHandAs};
use crate::care::track::{Eye, Track, WithGlasses};
use crate::store::{Snapshot, pool};

/// A device to look through, and what is to be known before it is handed over.
pub(in crate::web) struct Candidate {
    pub(in crate::web) device: AtHand,
    /// The tags of pool devices of this specification.
    pub(in crate::web) tags: Vec<String>,
    /// What comes before it can be handed over.
    pub(in crate::web) before: Vec<&'static str>,
}

/// The devices at hand, then those of the pool.
pub(in crate::web) async fn candidates(
    snapshot: &mut Snapshot,
    visit: &Visit,
    known: &Known,
    track: Track,
) -> Result<Vec<Candidate>> {
    let mut found: Vec<Candidate> = known
        .sight
        .devices
        .iter()
        .map(|device| Candidate { device: device.clone(), tags: Vec::new(), before: Vec::new() })
        .collect();
    let Some(office) = visit.office_if::<Pool, Read>() else { return Ok(found) };
    let clinician = visit.role() == Some(Role::Clinician);
    let recommended: &[DeviceSpec] = visit
        .tracks()
        .iter()
        .filter(|shown| shown.journey.track == track)
        .find_map(|shown| shown.journey.recommendation.as_ref())
        .map_or(&[], |now| now.devices.as_slice());
    let wanted_eye = recommended.iter().find_map(|device| device.eye).unwrap_or(Eye::Either);
    let at_hand = found.len();
    for kept in pool::list(snapshot, &office).await? {
        if !kept.entered.condition.fit_to_lend() || !kept.entered.device.spec.may_stand_on(track) {
            continue;
        }
        let own_eye = kept.entered.device.spec.eye.filter(|own| *own != Eye::Either);
        let mut spec = DeviceSpec { eye: Some(own_eye.unwrap_or(wanted_eye)), ..kept.entered.device.spec.clone() };
        let fits = recommended.iter().find(|wanted| matches(track, wanted, &spec, &[]).holds());
        if !clinician && (kept.out.is_some() || fits.is_none()) {
            continue;
        }
        // Corrected as the recommendation says, where the device leaves it open.
        if matches!(spec.with_glasses, None | Some(WithGlasses::Either)) {
            spec.with_glasses = fits.and_then(|fits| fits.with_glasses).or(spec.with_glasses);
        }
        // The loan that this student has was listed as such.
        let out = kept.out.is_some();
        if out && found[..at_hand].iter().any(|mine| same_strength(track, &mine.device.spec, &spec)) {
            continue;
        }
        let mut before = Vec::new();
        if out {
            before.push("it is out on loan now");
        }
        if !out && !kept.is_clean() {
            before.push("it must be cleaned first");
        }
        let device = AtHand { spec, track, source: AtHandAs::Pool };
        match found[at_hand..].iter_mut().find(|other| other.device == device && other.before == before) {
            Some(same) => same.tags.push(kept.entered.tag),
            None => found.push(Candidate { device, tags: vec![kept.entered.tag], before }),
        }
    }
    Ok(found)
}
