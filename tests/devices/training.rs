//! Readiness and sessions: G2, G3, G5 and the lock on the screens.

use jiff::SignedDuration;

use super::{MET, evaluated, lends, pooled, ready};
use crate::clinic::setup::Team;
use crate::page::Page;

const FOCUSING: [(&str, &str); 7] = [
    ("minutes", "25"),
    ("place", "own_class"),
    ("body", "seated"),
    ("e1_skill", "focusing"),
    ("e1_tries", "5"),
    ("e1_right", "4"),
    ("e1_prompt", "5"),
];

async fn records(team: &Team, device: &str, changes: &[(&str, &str)]) -> Page {
    let mut fields = [&FOCUSING[..], &[("device", device)]].concat();
    for (field, value) in changes {
        fields.retain(|(name, _)| name != field);
        fields.push((field, value));
    }
    team.teacher.presses(&team.at("/training/new?track=distance"), "Save the session", &fields).await
}

/// A team with a loan; gives the code that names it.
async fn with_loan() -> (Team, String) {
    let team = evaluated().await;
    let device = pooled(&team, &[]).await;
    lends(&team, &device, &[]).await.redirected_to();
    let page = team.teacher.opens(&team.at("/devices")).await.ok();
    let loan = page.link("Take LOAN-T-014, 6× telescope back").rsplit('/').next().map(|id| format!("loan:{id}"));
    (team, loan.unwrap_or_default())
}

#[tokio::test]
async fn readiness_needs_an_evaluation_and_every_item_of_the_list() {
    let team = Team::with_consents().await;
    let list = team.at("/training/readiness/distance");
    let words = [("agreed_words", "Yes please")];
    team.teacher.presses(&list, "Sign the list", &[&MET[..], &words].concat()).await.blocked("after a clinician signs");
    let draft = team.writes().await;
    team.signs(&draft).await.redirected_to();
    let before = team.world.content().await;
    for rule in ["item_sun_rule", "item_stand_still_rule", "item_agrees_to_try"] {
        let mut fields = [&MET[..], &words].concat();
        fields.retain(|(name, _)| *name != rule);
        fields.push((rule, "not_yet"));
        team.teacher.presses(&list, "Sign the list", &fields).await.refused(rule);
    }
    team.teacher.presses(&list, "Sign the list", &MET).await.refused("agreed_words");
    assert_eq!(team.world.content().await, before);
    team.teacher.presses(&list, "Sign the list", &[&MET[..], &words].concat()).await.redirected_to();
    team.teacher.opens(&list).await.ok().sees("Signed on").sees("Yes please");
}

#[tokio::test]
async fn a_session_with_a_device_waits_for_readiness_and_one_without_does_not() {
    let (team, loan) = with_loan().await;
    let before = team.world.content().await;
    records(&team, &loan, &[]).await.blocked("sign the readiness list");
    assert_eq!(team.world.content().await, before);
    records(&team, "none", &[("e1_skill", "tracking")]).await.redirected_to();
    ready(&team).await;
    let place = records(&team, &loan, &[]).await.redirected_to();
    // Wilson's interval for 4 of 5 at 95 %: 0.376 to 0.964 (Wilson 1927, recomputed).
    team.teacher
        .opens(&place)
        .await
        .ok()
        .sees("Focusing: 4 of 5 right, no prompts (true rate between 38 % and 96 %, 95 % Wilson interval, 5 tries).");
}

#[tokio::test]
async fn a_later_skill_asks_for_a_reason_and_a_baseline_probe_does_not() {
    let (team, loan) = with_loan().await;
    ready(&team).await;
    records(&team, &loan, &[("e1_skill", "spotting")]).await.refused("order_reason");
    let reason = [("e1_skill", "spotting"), ("order_reason", "The bus comes today")];
    let place = records(&team, &loan, &reason).await.redirected_to();
    team.teacher.opens(&place).await.ok().sees("The bus comes today");
    records(&team, &loan, &[("e1_skill", "tracking"), ("baseline", "yes")]).await.redirected_to();
}

#[tokio::test]
async fn nobody_walks_and_streets_are_for_a_mobility_specialist() {
    let (team, loan) = with_loan().await;
    ready(&team).await;
    let form = team.teacher.opens(&team.at("/training/new?track=distance")).await.ok();
    for word in ["value=\"walking\"", "value=\"street\""] {
        assert!(!form.source().contains(word), "{word}");
    }
    let day = team.world.day(0);
    for (field, value) in [("body", "walking"), ("place", "street"), ("e1_right", "6")] {
        let mut fields =
            [&FOCUSING[..], &[("device", loan.as_str()), ("track", "distance"), ("held_on", &day)]].concat();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        team.teacher.submits(&team.at("/training/new"), &fields).await.refused(field);
    }
}

#[tokio::test]
async fn a_parent_reads_a_session_a_day_later_and_counts_it_at_once() {
    let (team, loan) = with_loan().await;
    ready(&team).await;
    let place = records(&team, &loan, &[("note", "Found the clock")]).await.redirected_to();
    team.parent.opens(&place).await.hidden();
    team.parent.opens(&team.at("/training")).await.ok().sees("One session more was held");
    team.world.passes(SignedDuration::from_hours(25));
    team.parent.signs_in().await;
    team.parent.opens(&place).await.ok().sees("Found the clock");
}

#[tokio::test]
async fn a_red_flag_in_a_session_says_what_to_do_now() {
    let (team, loan) = with_loan().await;
    ready(&team).await;
    let place = records(&team, &loan, &[("signs", "rf4")]).await.redirected_to();
    let page = team.teacher.opens(&place).await.ok().sees("Get eye care today");
    assert!(page.links().iter().any(|(href, _)| *href == team.at("/safety")));
}
