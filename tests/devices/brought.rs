//! A device that the student had before the record was opened.

use crate::clinic::setup::{FAR, Team};

const TELESCOPE: [(&str, &str); 9] = [
    ("kind", "handheld_monocular"),
    ("power", "4"),
    ("objective", "12"),
    ("field", "12.5"),
    ("near_focus", "20 cm"),
    ("glasses", "over"),
    ("eye", "left"),
    ("condition", "worn"),
    ("received_by", "the clinic of the last district"),
];

#[tokio::test]
async fn a_device_had_before_is_listed_and_counts_once_an_evaluation_says_to_keep_it() {
    let team = Team::with_consents().await;
    let since = team.world.day(-400);
    let form = team
        .parent
        .opens(&team.at("/devices"))
        .await
        .ok()
        .link("Record a device the student already has (distance track)");
    let fields = [&TELESCOPE[..], &[("had_since", since.as_str())]].concat();
    team.parent.presses(&form, "Save the device", &fields).await.redirected_to();
    team.teacher.opens(&team.at("/devices")).await.ok().sees("Not in force").sees("the clinic of the last district");
    let draft = team.begins().await;
    team.adds_row(&draft, &FAR).await.redirected_to();
    let keep = [("answer", "keep_own_device"), ("safe", "yes")];
    team.saves(&draft, "distance", &keep).await.redirected_to();
    team.saves(&draft, "near", &[("answer", "not_looked_at")]).await.redirected_to();
    team.signs(&draft).await.redirected_to();
    let page = team.teacher.opens(&team.at("/devices")).await.ok();
    page.sees("Own device in force").sees("Kept, as an evaluation says");
    let stages = team.teacher.opens(&team.at("")).await.ok().stages();
    assert!(stages.iter().any(|stage| stage == "Distance: own device"), "{stages:?}");
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_the_field_and_nothing_is_kept() {
    let team = Team::with_consents().await;
    let page = team.at("/devices/brought/distance");
    let tomorrow = team.world.day(1);
    let before = team.world.content().await;
    for (field, value, said) in [
        ("had_since", tomorrow.as_str(), "had_since"),
        ("had_since", "", "had_since"),
        ("power", "40", "power"),
        ("kind", "stand_magnifier", "kind"),
        ("condition", "", "condition"),
    ] {
        let mut fields = TELESCOPE.to_vec();
        fields.push(("had_since", "2025-06-02"));
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        team.teacher.submits(&page, &fields).await.refused(said);
    }
    assert_eq!(team.world.content().await, before);
    team.teacher.opens(&team.at("/devices/brought/sideways")).await.hidden();
}
