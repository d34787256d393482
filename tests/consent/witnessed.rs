//! A consent that somebody else gave: in person with a witness, on paper with its
//! scan. Whatever is missing is said beside its field, and nothing is half stored.

use super::{content, uploads};
use crate::lap::{DISTANCE, Step, Team};
use crate::paper::files::pdf;
use crate::people::{CLINIC, PASSWORD};
use crate::world::World;

const IN_PERSON: &str = "/people/consent/school_to_clinic/in-person";
const PAPER: &str = "/people/consent/school_to_clinic/paper";
const RECORD: &str = "Record the consent";

type Fields<'a> = Vec<(&'a str, &'a str)>;

/// What the vision teacher fills in for a parent of the team.
fn whole(signer: &str) -> Fields<'_> {
    vec![
        ("signer", signer),
        ("categories", "training"),
        ("clinic", CLINIC),
        ("language", "Somali"),
        ("read", "yes"),
        ("password", PASSWORD),
    ]
}

fn with<'a>(mut fields: Fields<'a>, (name, value): (&'a str, &'a str)) -> Fields<'a> {
    fields.retain(|(known, _)| *known != name);
    fields.push((name, value));
    fields
}

/// The parent of the team, as the form names one.
async fn signer(team: &Team) -> String {
    let page = team.teacher.opens(&team.at(IN_PERSON)).await.ok();
    let named = page.choices_named("signer");
    let of = |(value, words): &(String, String)| words.starts_with(&team.parent.name).then(|| value.clone());
    named.iter().find_map(of).unwrap_or_else(|| panic!("{named:?}"))
}

#[tokio::test]
async fn given_in_person_it_names_signer_relation_and_witness_and_lets_what_it_names_across() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    team.clinician.opens(&team.at("/training")).await.hidden();
    let signer = signer(&team).await;
    let fields = with(whole(&signer), ("witness", "Ottoline Brask"));
    let consent = team.teacher.presses(&team.at(IN_PERSON), RECORD, &fields).await.redirected_to();
    let page = team.parent.opens(&consent).await.ok();
    page.sees("In force")
        .sees(&format!("{}, mother", team.parent.name))
        .sees("in person, before a witness")
        .sees("Ottoline Brask")
        .sees(&format!("by {}", team.teacher.name));
    team.clinician.opens(&team.at("/training")).await.ok();
    team.clinician.opens(&team.at("/tasks")).await.hidden();
    team.parent.opens(&team.at("/thread")).await.ok().sees("Consent given in person");
    // It is the family's to take back.
    team.parent.presses(&consent, "Withdraw this consent", &[("password", PASSWORD)]).await.redirected_to();
    team.clinician.opens(&team.at("/training")).await.hidden();
}

#[tokio::test]
async fn given_on_paper_its_scan_is_kept_with_it() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let signer = signer(&team).await;
    let signed = world.day(-20);
    let (path, scan) = (team.at(PAPER), pdf());
    let fields = with(whole(&signer), ("signed_on", &signed));
    let file = Some(("scan", "signed.pdf", scan.as_slice()));
    let consent = uploads(&world, &team.teacher, (&path, RECORD), &fields, file).await.redirected_to();
    let page = team.parent.opens(&consent).await.ok();
    let page = page.sees("27 August 2026, on paper, with a scan");
    let link = page.links().into_iter().find(|(href, _)| href.contains("/attachments/")).expect("its scan").0;
    for person in [&team.parent, &team.teacher, &team.clinician] {
        let page = person.opens(&link).await.status(200);
        assert!(page.header("content-disposition").starts_with("attachment"), "{}", page.asked());
    }
    let steward = world.steward().await;
    steward.opens(&consent).await.ok().lacks("/attachments/");
    steward.opens(&link).await.hidden();
    team.classroom.opens(&link).await.hidden();
    team.clinician.opens(&team.at("/training")).await.ok();
}

#[tokio::test]
async fn what_is_missing_or_wrong_is_said_beside_its_field_and_nothing_is_half_stored() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let signer = signer(&team).await;
    let (path, scan) = (team.at(PAPER), pdf());
    let program = b"MZ\x90\x00 this is a program".to_vec();
    let (long_ago, yesterday, tomorrow) = (world.day(-366), world.day(-1), world.day(1));
    let before = content(&world).await;
    let file = Some(("scan", "signed.pdf", scan.as_slice()));
    for (field, value) in [
        ("signer", "nobody"),
        ("signed_on", long_ago.as_str()),
        ("signed_on", tomorrow.as_str()),
        // Over a year ago; before it was signed; over before it starts; over already.
        ("starts_on", long_ago.as_str()),
        ("starts_on", yesterday.as_str()),
        ("ends_on", yesterday.as_str()),
        ("ends_on", "1999-01-01"),
        ("purpose", ""),
        ("language", ""),
        ("password", "not the password"),
    ] {
        let page = team.teacher.opens(&path).await.ok();
        let (action, mut pairs) = page.filled(RECORD, &whole(&signer));
        pairs.retain(|(name, _)| name != field);
        pairs.push((field.to_owned(), value.to_owned()));
        let page = super::sends_file(&world, &team.teacher, &action, &pairs, file).await.refused(field);
        page.clone().refused("scan").sees("Choose the scan again");
        let kept = if field == "language" { ("purpose", "So that") } else { ("language", "Somali") };
        assert!(
            page.value_of(kept.0).unwrap_or_default().trim().starts_with(kept.1),
            "{field}: what was typed is kept"
        );
        page.lacks(PASSWORD);
    }
    for missing in ["categories", "read", "signer"] {
        let page = team.teacher.opens(&path).await.ok();
        let (action, mut pairs) = page.filled(RECORD, &whole(&signer));
        pairs.retain(|(name, _)| name != missing);
        super::sends_file(&world, &team.teacher, &action, &pairs, file).await.refused(missing);
    }
    // No scan, and one that is none.
    let page = uploads(&world, &team.teacher, (&path, RECORD), &whole(&signer), None).await;
    page.refused("scan").sees("Choose the scan of the signed paper");
    let file = Some(("scan", "signed.pdf", program.as_slice()));
    uploads(&world, &team.teacher, (&path, RECORD), &whole(&signer), file).await.refused("scan");
    // In person, a witness who is not the signer.
    let in_person = team.at(IN_PERSON);
    for witness in ["", team.parent.name.as_str()] {
        let fields = with(whole(&signer), ("witness", witness));
        team.teacher.presses(&in_person, RECORD, &fields).await.refused("witness");
    }
    assert_eq!(content(&world).await, before);
    assert_eq!(world.files(), Vec::<String>::new(), "no file stays behind");
}

#[tokio::test]
async fn only_who_holds_the_rights_is_a_signer() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let path = team.at(IN_PERSON);
    let contact = [("name", "Nkem Ashdown"), ("relation", "grandmother, guardian"), ("phone", "555 0142")];
    team.teacher.presses(&team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    let limited = world.person(Some(farpoint::access::Role::Parent), |new| new.name = "Corwin Vale".to_owned()).await;
    world.joins(&limited, &team.pupil, &team.teacher).await;
    let full = team.teacher.opens(&path).await.ok().choices_named("signer");
    let account =
        full.iter().find(|(_, words)| words.starts_with("Corwin Vale")).expect("still of full rights").0.clone();
    world.limits(&limited, &team.pupil).await;
    let page = team.teacher.opens(&path).await.ok();
    let named: Vec<String> = page.choices_named("signer").into_iter().map(|(_, words)| words).collect();
    assert!(named.iter().any(|words| words == "Nkem Ashdown, grandmother, guardian"), "{named:?}");
    assert!(named.iter().all(|words| !words.starts_with("Corwin Vale")), "{named:?}");
    assert!(named.iter().all(|words| !words.contains("of age")), "the student is eleven: {named:?}");
    let before = content(&world).await;
    let sends = async |changes: &[(&str, &str)]| {
        let (action, mut pairs) = page.filled(RECORD, &with(whole("another"), ("witness", "Ottoline Brask")));
        pairs.retain(|(name, _)| changes.iter().all(|(changed, _)| changed != name));
        pairs.extend(changes.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
        let fields: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        team.teacher.submits(&action, &fields).await
    };
    sends(&[("signer", &account)]).await.refused("signer");
    sends(&[("signer", "student")]).await.refused("signer").sees("The student is 10 years old. Until 18,");
    sends(&[("signer_name", "corwin  VALE"), ("signer_relation", "father")]).await.refused("signer_name");
    sends(&[("signer_name", ""), ("signer_relation", "aunt")]).await.refused("signer_name");
    sends(&[("signer_name", "Ada Lindqvist"), ("signer_relation", "")]).await.refused("signer_relation");
    assert_eq!(content(&world).await, before);
    let to = sends(&[("signer_name", "Ada Lindqvist"), ("signer_relation", "aunt, guardian")]).await.redirected_to();
    team.parent.opens(&to).await.ok().sees("Ada Lindqvist, aunt, guardian");
}

#[tokio::test]
async fn a_student_of_age_signs_for_himself() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    world.days_later(8 * 365).await;
    let fields = with(whole("student"), ("witness", "Ottoline Brask"));
    let consent = team.teacher.presses(&team.at(IN_PERSON), RECORD, &fields).await.redirected_to();
    team.teacher.opens(&consent).await.ok().sees("Wren Ashdown-Lal, the student, of age");
}

#[tokio::test]
async fn only_a_vision_teacher_of_the_team_records_what_others_sign() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let left = world.vision_teacher().await;
    world.joins(&left, &team.pupil, &team.teacher).await;
    world.leaves(&left, &team.pupil, &team.teacher).await;
    let elsewhere = world.vision_teacher().await;
    let steward = world.steward().await;
    let (in_person, paper, scan) = (team.at(IN_PERSON), team.at(PAPER), pdf());
    let page = team.teacher.opens(&in_person).await.ok();
    let (_, pairs) = page.filled(RECORD, &with(whole("another"), ("signer_name", "Ada Lindqvist")));
    let before = content(&world).await;
    for (person, code) in [
        (&left, 404),
        (&elsewhere, 404),
        (&team.classroom, 404),
        (&team.parent, 403),
        (&team.clinician, 403),
        (&steward, 403),
    ] {
        person.opens("/account").await;
        person.opens(&in_person).await.status(code);
        person.opens(&paper).await.status(code);
        let mut own: Vec<(String, String)> = pairs.clone();
        own.retain(|(name, _)| name != "csrf");
        own.push(("csrf".to_owned(), person.known_csrf().unwrap_or_default()));
        let fields: Vec<(&str, &str)> = own.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        person.submits(&in_person, &fields).await.status(code);
        let file = Some(("scan", "signed.pdf", scan.as_slice()));
        super::sends_file(&world, person, &paper, &own, file).await.status(code);
    }
    assert_eq!(content(&world).await, before);
    assert_eq!(world.files(), Vec::<String>::new());
}
