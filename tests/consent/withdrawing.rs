//! Withdrawing: live pages close at once, what was sent stays as it was sent.

use crate::lap::{DISTANCE, Step, Team};
use crate::people::{PASSWORD, Person};
use crate::world::World;

/// Every page that a clinician reads live, by the consent.
async fn live(world: &World, team: &Team) -> Vec<String> {
    let mut pages: Vec<String> = [
        "/intake",
        "/tasks",
        "/devices",
        "/training",
        "/training/readiness/distance",
        "/observations",
        "/card",
        "/thread",
    ]
    .map(|path| team.at(path))
    .to_vec();
    for (table, path) in [
        ("training_session", "/training"),
        ("observation:setting:classroom", "/observations"),
        ("observation:setting:home", "/observations"),
    ] {
        let id = world.newest(table, &team.pupil).await.unwrap_or_else(|| panic!("no {table}"));
        pages.push(team.at(&format!("{path}/{id}")));
    }
    pages
}

/// What a page says of the document itself. Whose it is stands over it, and is
/// read as the name or as initials by the consent in force now.
async fn as_read(person: &Person, path: &str, team: &Team) -> String {
    person.opens(path).await.ok().seen().replace(&team.pupil.name, "WA")
}

/// Documents on their readers' pages: the reader, and the address.
async fn documents<'a>(world: &World, team: &'a Team) -> Vec<(&'a Person, String)> {
    let id = async |table: &str| world.newest(table, &team.pupil).await.expect("one was signed");
    let (summary, evaluation) = (id("summary").await, id("evaluation").await);
    let prescription = id("prescription").await;
    vec![
        (&team.clinician, team.at(&format!("/summaries/{summary}"))),
        (&team.clinician, team.at(&format!("/summaries/{summary}/print"))),
        (&team.teacher, team.at(&format!("/evaluations/{evaluation}"))),
        (&team.teacher, team.at(&format!("/prescription/{prescription}"))),
        (&team.parent, team.at(&format!("/evaluations/{evaluation}"))),
        (&team.parent, team.at(&format!("/prescription/{prescription}"))),
    ]
}

#[tokio::test]
async fn every_live_page_closes_and_every_document_reads_as_it_was_sent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    team.releases_card().await;
    // What was seen is locked by now, and open to the clinic.
    world.days_later(2).await;
    let pages = live(&world, &team).await;
    for page in &pages {
        team.clinician.opens(page).await.ok();
    }
    let mut before = Vec::new();
    for (reader, path) in documents(&world, &team).await {
        before.push(as_read(reader, &path, &team).await);
    }
    world.withdraws(&team.parent, &team.pupil).await;
    for page in &pages {
        team.clinician.opens(page).await.hidden();
    }
    for ((reader, path), before) in documents(&world, &team).await.into_iter().zip(before) {
        assert_eq!(as_read(reader, &path, &team).await, before, "{path} by {}", reader.name);
    }
    // Time passes, and more is written: neither comes across.
    world.days_later(3).await;
    team.trains(&DISTANCE).await;
    let session = world.newest("training_session", &team.pupil).await.expect("the new one");
    team.clinician.opens(&team.at(&format!("/training/{session}"))).await.hidden();
    for page in &pages {
        team.clinician.opens(page).await.hidden();
    }
}

#[tokio::test]
async fn the_page_lists_each_document_with_date_recipient_and_consent() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Prescribed).await;
    world.withdraws(&team.parent, &team.pupil).await;
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    let sent = page.table("What was sent");
    let told: Vec<(&str, &str, &str)> =
        sent.rows.iter().map(|row| (row[0].as_str(), row[2].as_str(), row[3].as_str())).collect();
    let owner = "this school service";
    assert_eq!(
        told,
        [
            (
                "Prescription signed on 17 September 2026",
                owner,
                "from the clinic to the school, signed on 16 September 2026"
            ),
            (
                "Decision signed on 17 September 2026",
                owner,
                "from the clinic to the school, signed on 16 September 2026"
            ),
            (
                "Training summary signed on 17 September 2026",
                crate::people::CLINIC,
                "from the school to the clinic, signed on 16 September 2026"
            ),
            (
                "Evaluation signed on 16 September 2026",
                owner,
                "from the clinic to the school, signed on 16 September 2026"
            ),
        ]
    );
    assert!(sent.rows.iter().all(|row| row[1].contains("September 2026, 1")), "{:?}", sent.rows);
    // Each leads to the document and to the consent, which lists the same.
    for (href, _) in
        page.links().into_iter().filter(|(href, _)| href.contains("/evaluations/") || href.contains("/summaries/"))
    {
        team.parent.opens(&href).await.ok();
    }
    let consent =
        page.links().into_iter().find(|(_, words)| words.starts_with("from the school to the clinic, signed"));
    let consent = team.parent.opens(&consent.expect("its consent").0).await.ok().sees("Withdrawn");
    assert_eq!(consent.table("What was sent under it").rows.len(), 1);
    // Everybody with rights and the vision teacher are told.
    let other = world.parent().await;
    world.joins(&other, &team.pupil, &team.teacher).await;
    for person in [&team.teacher, &other] {
        person.opens(&team.at("/thread")).await.ok().sees("Consent withdrawn");
    }
}

#[tokio::test]
async fn any_rights_holder_withdraws_what_another_signed_and_nobody_else_does() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let other = world.parent().await;
    let limited = world.parent().await;
    for person in [&other, &limited] {
        world.joins(person, &team.pupil, &team.teacher).await;
    }
    world.limits(&limited, &team.pupil).await;
    let left = world.parent().await;
    world.joins(&left, &team.pupil, &team.teacher).await;
    world.leaves(&left, &team.pupil, &team.teacher).await;
    let elsewhere = world.parent().await;
    let steward = world.steward().await;
    let id = world.newest("consent", &team.pupil).await.expect("a consent");
    let path = team.at(&format!("/people/consents/{id}/withdraw"));
    let fields = [("password", PASSWORD)];
    let before = super::content(&world).await;
    limited.submits(&path, &fields).await.asks_to_go_to_the_office();
    for person in [&left, &elsewhere, &team.classroom] {
        person.submits(&path, &fields).await.hidden();
    }
    for person in [&team.teacher, &team.clinician, &steward] {
        person.submits(&path, &fields).await.forbidden();
    }
    other.submits(&path, &[("password", "not the password")]).await.refused("password");
    assert_eq!(super::content(&world).await, before);
    other.submits(&path, &fields).await.redirected_to();
    team.parent.opens(&team.at(&format!("/people/consents/{id}"))).await.ok().sees(&format!("by {}", other.name));
    // A second one finds it done.
    team.parent.submits(&path, &fields).await.redirected_to();
}

#[tokio::test]
async fn what_was_told_in_person_is_recorded_at_once_with_who_and_a_witness() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let page = team.teacher.opens(&team.at("/consents")).await.ok();
    let consent = page.links().into_iter().find(|(_, words)| words.starts_with("From the school to the clinic, by"));
    let consent = consent.expect("its page").0;
    let whole = [("told_by", "Ada Lindqvist, mother"), ("witness", "Ottoline Brask"), ("password", PASSWORD)];
    let before = super::content(&world).await;
    for (field, wrong) in [("told_by", ""), ("witness", ""), ("witness", "ada lindqvist"), ("password", "wrong")] {
        let fields: Vec<_> =
            whole.iter().map(|(name, value)| (*name, if *name == field { wrong } else { *value })).collect();
        let page = team.teacher.presses(&consent, "Record the withdrawal", &fields).await.refused(field);
        let kept = if field == "told_by" { ("witness", whole[1].1) } else { ("told_by", whole[0].1) };
        assert_eq!(page.value_of(kept.0).as_deref(), Some(kept.1));
    }
    let address = format!("{consent}/withdrawn");
    for person in [&team.parent, &team.clinician] {
        person.submits(&address, &whole).await.forbidden();
    }
    team.classroom.submits(&address, &whole).await.hidden();
    assert_eq!(super::content(&world).await, before);
    team.clinician.opens(&team.at("/training")).await.ok();
    team.teacher.presses(&consent, "Record the withdrawal", &whole).await.redirected_to();
    team.clinician.opens(&team.at("/training")).await.hidden();
    team.parent
        .opens(&consent)
        .await
        .ok()
        .sees("told in person by Ada Lindqvist, mother before Ottoline Brask")
        .lacks("Withdraw this consent");
    team.parent.opens(&team.at("/thread")).await.ok().sees("Consent withdrawn");
}

#[tokio::test]
async fn renewing_sends_what_was_signed_meanwhile() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    world.withdraws(&team.parent, &team.pupil).await;
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    let of = |way: &str| {
        let found = page.links().into_iter().find(|(_, words)| words.starts_with(&format!("{way}, by")));
        found.expect("its page").0
    };
    let renews = async |consent: &str| {
        let page = team.parent.opens(consent).await.ok();
        let form = page.link("Renew it: sign one that carries on");
        let fields = [("read", "yes"), ("password", PASSWORD)];
        team.parent.presses(&form, "Sign", &fields).await.redirected_to();
    };
    renews(&of("From the school to the clinic")).await;
    let draft = team.evaluates(&DISTANCE).await;
    team.signs_evaluation(&draft).await;
    team.teacher.opens(&draft).await.hidden();
    renews(&of("From the clinic to the school")).await;
    team.teacher.opens(&draft).await.ok();
    assert_eq!(world.count("sending").await, 1);
    // Only this student's, and only that way.
    let wrong = team.at(&format!(
        "/people/consent/clinic_to_school?from={}",
        of("From the school to the clinic").rsplit('/').next().expect("its id")
    ));
    team.parent.opens(&wrong).await.hidden();
}

#[tokio::test]
async fn a_page_of_many_parts_is_written_down_once_for_each_kind_it_shows() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Sent).await;
    let before = world.count("disclosure").await;
    team.clinician.opens(&team.at("/review/distance")).await.ok().sees("Summary");
    let rows = world.count("disclosure").await - before;
    let mut view = world.store().db().begin_read().await.expect("a view");
    let mut kinds: Vec<String> = sqlx::query_scalar("select what from disclosure order by id desc limit $1")
        .bind(i64::try_from(rows).expect("a page has few parts"))
        .fetch_all(&mut *view)
        .await
        .expect("the record");
    kinds.sort();
    let each = ["ClassObservation", "Guidance", "HomeObservation", "Intake", "LoanGlimpse", "Loans"];
    let more = ["Summary", "Thread", "Training", "Transcription", "VisualTasks"];
    assert_eq!(kinds, [&each[..], &more].concat(), "none is missing, and none is there twice");
}
