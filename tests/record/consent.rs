//! Two consents, one for each direction: signed, read, withdrawn.

use crate::clinic::setup::Team;
use crate::people::{CLINIC, PASSWORD};

const TO_CLINIC: &str = "/people/consent/school_to_clinic";

/// What a parent fills in; the form itself offers the rest.
fn wanted<'a>() -> Vec<(&'a str, &'a str)> {
    vec![
        ("categories", "intake"),
        ("categories", "class_observations"),
        ("relation", "mother"),
        ("language", "Somali"),
        ("read", "yes"),
        ("password", PASSWORD),
    ]
}

#[tokio::test]
async fn a_parent_signs_on_screen_and_only_what_is_named_reaches_the_clinic() {
    let team = Team::new().await;
    team.clinician.opens(&team.at("/tasks")).await.hidden();
    team.teacher.opens(&team.at("/people")).await.ok().sees("Waiting for").sees(&team.parent.name);
    team.parent.presses(&team.at(TO_CLINIC), "Sign", &wanted()).await.redirected_to();
    let page = team.teacher.opens(&team.at("/people")).await.ok();
    page.sees("From the school to the clinic: in force until 15 September 2027")
        .sees(CLINIC)
        .sees("intake and functional check; what was seen in class, with tasks and seats")
        .sees("From the clinic to the school: no consent");
    team.clinician.opens(&team.at("/tasks")).await.ok().sees("Words on the science board");
    team.clinician.opens(&team.at("/training")).await.hidden();
    team.parent.opens(&team.at("/thread")).await.ok();
    // What the clinician read stands in the record that the family reads.
    let history = team.parent.opens(&team.at("/history")).await.ok();
    history.sees("What to see, and seats").sees(&team.clinician.name).sees("Read on screen: consent");
}

#[tokio::test]
async fn nothing_is_signed_without_the_password_or_with_a_part_missing() {
    let team = Team::new().await;
    let before = team.world.content().await;
    let long = "n".repeat(10_000);
    for (field, value) in [
        ("password", "not the password"),
        ("password", ""),
        ("purpose", ""),
        ("purpose", long.as_str()),
        ("relation", ""),
        ("ends_on", "1890-01-01"),
        ("ends_on", "2040-01-01"),
        ("starts_on", "2026-02-30"),
    ] {
        let mut fields = wanted();
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = team.parent.presses(&team.at(TO_CLINIC), "Sign", &fields).await.refused(field);
        page.lacks(PASSWORD);
    }
    for missing in ["categories", "read"] {
        let fields: Vec<_> = wanted().into_iter().filter(|(name, _)| *name != missing).collect();
        team.parent.presses(&team.at(TO_CLINIC), "Sign", &fields).await.refused(missing);
    }
    // A kind of record that does not go this way.
    let mut fields = wanted();
    fields.push(("categories", "prescription"));
    fields.extend([("purpose", "care"), ("clinic", CLINIC), ("starts_on", "2026-09-16"), ("ends_on", "2027-09-15")]);
    team.parent.submits(&team.at(TO_CLINIC), &fields).await.refused("categories");
    // Known by its failures: the count of wrong passwords is all that moved.
    let mut after = team.world.content().await;
    let mut before = before;
    for content in [&mut after, &mut before] {
        content.remove("account");
    }
    assert_eq!(after, before);
}

#[tokio::test]
async fn only_a_rights_holder_signs_here() {
    let team = Team::new().await;
    let before = team.world.content().await;
    let mut fields = wanted();
    fields.extend([("purpose", "care"), ("clinic", CLINIC), ("starts_on", "2026-09-16"), ("ends_on", "2027-09-15")]);
    team.teacher.opens(&team.at(TO_CLINIC)).await.forbidden();
    team.teacher.submits(&team.at(TO_CLINIC), &fields).await.forbidden();
    for person in [&team.clinician, &team.world.parent().await, &team.world.steward().await] {
        let answer = person.submits(&team.at(TO_CLINIC), &fields).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
    }
    let after = team.world.content().await;
    assert_eq!(after.get("consent"), before.get("consent"));
    assert_eq!(team.world.count("consent").await, 0);
}

#[tokio::test]
async fn withdrawing_stops_what_is_new_at_once_and_needs_the_password() {
    let team = Team::new().await;
    team.parent.presses(&team.at(TO_CLINIC), "Sign", &wanted()).await.redirected_to();
    let consent = team.parent.opens(&team.at("/people")).await.ok();
    let consent = consent.links().into_iter().find(|(to, _)| to.contains("/people/consents/")).expect("its page").0;
    team.teacher.opens(&consent).await.ok().sees("In force").lacks("Withdraw this consent");
    let withdraw = format!("{consent}/withdraw");
    team.parent.presses(&consent, "Withdraw this consent", &[("password", "wrong")]).await.refused("password");
    for person in [&team.teacher, &team.clinician] {
        let answer = person.submits(&withdraw, &[("password", PASSWORD)]).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
    }
    team.clinician.opens(&team.at("/tasks")).await.ok();
    team.parent.presses(&consent, "Withdraw this consent", &[("password", PASSWORD)]).await.redirected_to();
    team.clinician.opens(&team.at("/tasks")).await.hidden();
    team.clinician.opens(&team.at("/people")).await.ok().lacks(&team.pupil.name);
    team.teacher.opens(&consent).await.ok().sees("Withdrawn");
    // Under another student it does not exist.
    let other = team.world.student_of(&team.teacher).await;
    let id = consent.rsplit('/').next().expect("its id");
    team.teacher.opens(&other.at(&format!("/people/consents/{id}"))).await.hidden();
}

#[tokio::test]
async fn a_signature_sent_twice_is_one_consent() {
    let team = Team::new().await;
    let page = team.parent.opens(&team.at(TO_CLINIC)).await.ok();
    team.parent.presses_on(&page, "Sign", &wanted()).await.redirected_to();
    team.parent.presses_on(&page, "Sign", &wanted()).await.redirected_to();
    assert_eq!(team.world.count("consent").await, 1);
}
