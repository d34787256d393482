//! Loans, readiness and sessions, as a team uses them, with every gate between.

mod brought;
mod loans;
mod training;

use crate::clinic::setup::Team;

/// A pool device like the one the team's clinician recommends.
const DEVICE: [(&str, &str); 9] = [
    ("tag", "LOAN-T-014"),
    ("owner", "district_pool"),
    ("kind", "handheld_monocular"),
    ("power", "6"),
    ("objective", "16"),
    ("field", "9"),
    ("near_focus", "30 cm"),
    ("eye", "either"),
    ("condition", "good"),
];

/// How a loan goes out; the device is added by the story.
const TERMS: [(&str, &str); 6] = [
    ("eye", "right"),
    ("condition", "good"),
    ("purpose", "trial"),
    ("home_use", "no"),
    ("agreement_by", "school"),
    ("held_by", "student"),
];

/// A team whose clinician signed an evaluation for the distance track.
async fn evaluated() -> Team {
    let team = Team::with_consents().await;
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    team
}

/// Puts a device into the pool; gives its id.
async fn pooled(team: &Team, changes: &[(&str, &str)]) -> String {
    let mut fields = DEVICE.to_vec();
    for (field, value) in changes {
        fields.retain(|(name, _)| name != field);
        fields.push((field, value));
    }
    let place = team.teacher.presses("/devices/new", "Add the device", &fields).await.redirected_to();
    place.rsplit('/').next().unwrap_or_default().to_owned()
}

/// Lends a device on the distance track.
async fn lends(team: &Team, device: &str, changes: &[(&str, &str)]) -> crate::page::Page {
    let fields = [&TERMS[..], &[("device", device)], changes].concat();
    team.teacher.presses(&team.at("/devices/lend/distance"), "Hand it over", &fields).await
}

/// Every item of the distance list as met.
const MET: [(&str, &str); 9] = [
    ("item_parts", "yes"),
    ("item_strap_and_care", "with_help"),
    ("item_holding_and_bracing", "yes"),
    ("item_eye_and_glasses", "yes"),
    ("item_in_focus", "yes"),
    ("item_large_target", "yes"),
    ("item_sun_rule", "yes"),
    ("item_stand_still_rule", "yes"),
    ("item_agrees_to_try", "yes"),
];

/// Signs the distance list.
async fn ready(team: &Team) {
    let fields = [&MET[..], &[("agreed_words", "I want to see the board")]].concat();
    let page = team.teacher.presses(&team.at("/training/readiness/distance"), "Sign the list", &fields).await;
    page.redirected_to();
}
