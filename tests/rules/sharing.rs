//! G7: consent in each direction.

use std::collections::BTreeSet;

use farpoint::care::consent::{Category, Consent, Direction, Emergency, Given, Party};
use farpoint::care::gates::{Crossing, Gate, Ground, may_cross};
use farpoint::care::ids::ConsentId;
use farpoint::care::journey::step::{Act, Whose};
use jiff::{SignedDuration, Timestamp};

use super::story::{account, at, day, id};

fn clinic() -> Party {
    Party::new("Saltgrass Low Vision Clinic").expect("a name")
}

fn consent(n: u128, categories: &[Category]) -> Consent {
    Consent {
        id: id(ConsentId::of, n),
        direction: Direction::SchoolToClinic,
        categories: categories.iter().copied().collect(),
        purpose: "low-vision care".to_owned(),
        from: Party::new("Brindle Flats School District").expect("a name"),
        to: clinic(),
        start: day("2027-01-10"),
        end: Some(day("2027-06-30")),
        signer: "R. Q., grandmother".to_owned(),
        given: Given::OnScreen,
        language: "es".to_owned(),
        withdrawn: None,
    }
}

fn crossing(on: &str) -> Crossing {
    Crossing {
        direction: Direction::SchoolToClinic,
        category: Some(Category::Training),
        to: clinic(),
        on: day(on),
        at: at(0),
    }
}

fn crosses(consent: &Consent, crossing: Crossing) -> bool {
    may_cross(std::slice::from_ref(consent), &[], crossing).is_ok()
}

#[test]
fn a_consent_counts_from_its_first_to_its_last_day() {
    let given = consent(1, &[Category::Training]);
    for (on, allowed) in [("2027-01-09", false), ("2027-01-10", true), ("2027-06-30", true), ("2027-07-01", false)] {
        assert_eq!(crosses(&given, crossing(on)), allowed, "{on}");
    }
    let mut endless = given;
    endless.end = None;
    assert!(crosses(&endless, crossing("2040-01-01")));
}

#[test]
fn withdrawing_stops_the_flow_that_same_day() {
    let mut given = consent(1, &[Category::Training]);
    given.withdrawn = Some(day("2027-03-01"));
    assert!(crosses(&given, crossing("2027-02-28")));
    assert!(!crosses(&given, crossing("2027-03-01")));
    assert!(!crosses(&given, crossing("2027-03-02")));
}

#[test]
fn a_consent_covers_its_categories_its_direction_and_its_party_only() {
    let given = consent(1, &[Category::Training]);
    let there = crossing("2027-02-01");
    assert!(crosses(&given, there.clone()));
    let other_category = Crossing { category: Some(Category::Summary), ..there.clone() };
    assert!(!crosses(&given, other_category));
    let other_way = Crossing { direction: Direction::ClinicToSchool, ..there.clone() };
    assert!(!crosses(&given, other_way));
    let other_clinic = Crossing { to: Party::new("Another Clinic").unwrap(), ..there.clone() };
    assert!(!crosses(&given, other_clinic));
    let same_clinic = Crossing { to: Party::new(" saltgrass  low vision clinic ").unwrap(), ..there };
    assert!(crosses(&given, same_clinic));
}

#[test]
fn a_category_ticked_in_the_wrong_direction_lets_nothing_through() {
    let given = consent(1, &[Category::Prescription]);
    let wrong_way = Crossing { category: Some(Category::Prescription), ..crossing("2027-02-01") };
    assert!(!crosses(&given, wrong_way));
}

#[test]
fn rows_without_a_category_need_any_consent_that_way() {
    let given = consent(1, &[Category::Summary]);
    let stage = Crossing { category: None, ..crossing("2027-02-01") };
    assert!(crosses(&given, stage.clone()));
    let back = Crossing { direction: Direction::ClinicToSchool, ..stage };
    assert!(!crosses(&given, back));
}

#[test]
fn a_sending_names_the_newest_consent_it_crosses_under() {
    let mut newer = consent(2, &[Category::Training, Category::Summary]);
    newer.start = day("2027-02-01");
    let both = [newer, consent(1, &[Category::Training])];
    let under = |on: &str| may_cross(&both, &[], crossing(on)).unwrap().ground();
    assert_eq!(under("2027-01-20"), Ground::Consent(id(ConsentId::of, 1)));
    assert_eq!(under("2027-02-01"), Ground::Consent(id(ConsentId::of, 2)));
}

#[test]
fn without_a_consent_the_rights_holder_comes_first() {
    let blocked = may_cross(&[], &[], crossing("2027-02-01")).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::Consent, Act::SignConsent));
    assert_eq!(blocked.first.whose(), Whose::Parent);
}

#[test]
fn an_emergency_opens_one_category_one_way_for_24_hours() {
    let emergency = |reason: &str| Emergency {
        by: account(3),
        direction: Direction::SchoolToClinic,
        category: Category::Training,
        reason: reason.to_owned(),
        from: at(0),
    };
    let crosses = |emergency: &Emergency, at: Timestamp, category| {
        let crossing = Crossing { at, category, ..crossing("2027-02-01") };
        may_cross(&[], std::slice::from_ref(emergency), crossing).map(|token| token.ground())
    };
    let opened = emergency("seizure at school");
    let training = Some(Category::Training);
    let after = |time: SignedDuration| at(0) + time;
    assert_eq!(crosses(&opened, at(0), training), Ok(Ground::Emergency(account(3))));
    assert!(crosses(&opened, after(SignedDuration::from_secs(24 * 3600 - 1)), training).is_ok());
    assert!(crosses(&opened, after(SignedDuration::from_hours(24)), training).is_err());
    assert!(crosses(&opened, at(-1), training).is_err());
    assert!(crosses(&opened, at(0), Some(Category::Summary)).is_err());
    assert!(crosses(&opened, at(0), None).is_ok());
    assert!(crosses(&emergency("  "), at(0), training).is_err());
}

#[test]
fn a_consent_is_named_before_an_emergency() {
    let emergency = Emergency {
        by: account(3),
        direction: Direction::SchoolToClinic,
        category: Category::Training,
        reason: "seizure".to_owned(),
        from: at(0),
    };
    let given = consent(1, &[Category::Training]);
    let token = may_cross(&[given], &[emergency], crossing("2027-02-01")).unwrap();
    assert_eq!(token.ground(), Ground::Consent(id(ConsentId::of, 1)));
}

#[test]
fn categories_flow_the_way_the_contract_says() {
    let of = |direction: Direction| direction.categories().collect::<BTreeSet<_>>();
    let back = of(Direction::ClinicToSchool);
    assert_eq!(back, BTreeSet::from([Category::Evaluation, Category::Prescription]));
    let there = of(Direction::SchoolToClinic);
    assert_eq!(there.len(), 8);
    assert!(!there.contains(&Category::Prescription));
}

#[test]
fn a_party_without_a_name_is_refused() {
    assert!(Party::new(" \t ").is_err());
    assert_eq!(Party::new("  A   B ").unwrap().name(), "A B");
}

#[test]
fn names_and_reasons_stay_out_of_debug_output() {
    let shown = format!("{:?} {:?}", consent(1, &[]), clinic());
    for private in ["grandmother", "Saltgrass", "Brindle", "low-vision care"] {
        assert!(!shown.contains(private), "{shown}");
    }
}
