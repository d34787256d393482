//! Which consents end soon or have ended (30 days ahead is common practice).

use std::collections::BTreeSet;

use farpoint::care::consent::{Category, Consent, Direction, Due, Given, Party, due};
use farpoint::care::ids::ConsentId;
use jiff::civil::{Date, date};
use uuid::Uuid;

use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

const TODAY: Date = date(2026, 9, 16);

fn consent(number: u128, categories: &[Category], (start, end): (Date, Date)) -> Consent {
    let party = |name: &str| Party::new(name).expect("a name");
    Consent {
        id: ConsentId::of(Uuid::from_u128(number)),
        direction: Direction::SchoolToClinic,
        categories: categories.iter().copied().collect::<BTreeSet<_>>(),
        purpose: "low vision care".to_owned(),
        from: party("Brindle Flats"),
        to: party("Saltgrass Clinic"),
        start,
        end: Some(end),
        signer: "Ada Lindqvist".to_owned(),
        given: Given::OnScreen,
        language: "en".to_owned(),
        withdrawn: None,
    }
}

fn said(consents: &[Consent]) -> Vec<(ConsentId, Due)> {
    due(consents, TODAY).into_iter().map(|(consent, due)| (consent.id, due)).collect()
}

#[test]
fn a_consent_is_spoken_of_from_thirty_days_before_its_end() {
    let start = date(2025, 10, 1);
    for (end, expected) in [
        (date(2026, 10, 17), None),
        (date(2026, 10, 16), Some(Due::EndsSoon(date(2026, 10, 16)))),
        (TODAY, Some(Due::EndsSoon(TODAY))),
        (date(2026, 9, 15), Some(Due::Ended(date(2026, 9, 15)))),
        (date(2025, 9, 15), None),
    ] {
        let one = consent(1, &[Category::Training], (start.min(end), end));
        assert_eq!(said(&[one]).first().map(|(_, due)| *due), expected, "{end}");
    }
}

#[test]
fn what_carries_every_category_further_ends_the_matter_and_what_carries_some_does_not() {
    let ending = consent(1, &[Category::Training, Category::Intake], (date(2025, 10, 1), date(2026, 9, 30)));
    let whole = consent(2, &[Category::Training, Category::Intake], (date(2026, 10, 1), date(2027, 9, 30)));
    let part = consent(3, &[Category::Training], (date(2026, 10, 1), date(2027, 9, 30)));
    assert_eq!(said(&[ending.clone(), whole.clone()]), []);
    assert_eq!(said(&[ending.clone(), part]), [(ending.id, Due::EndsSoon(date(2026, 9, 30)))]);
    // To another clinic, or the other way, it carries nothing further.
    let elsewhere = Consent { to: Party::new("Another Clinic").expect("a name"), ..whole.clone() };
    assert_eq!(said(&[ending.clone(), elsewhere]).len(), 1);
    let back = Consent { direction: Direction::ClinicToSchool, ..whole.clone() };
    assert_eq!(said(&[ending.clone(), back]).len(), 1);
    // Renewed and then withdrawn: the family has decided, nobody nags.
    let withdrawn = Consent { withdrawn: Some(TODAY), ..whole };
    assert_eq!(said(&[ending.clone(), withdrawn]), []);
    let given_up = Consent { withdrawn: Some(TODAY), ..ending };
    assert_eq!(said(&[given_up]), []);
}

#[tokio::test]
async fn the_page_of_consents_says_what_ends_soon_and_leads_to_its_renewal() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    page.lacks("the consent ends on").lacks("the consent ended on");
    world.days_later(340).await;
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    let page = page.sees("From the school to the clinic: the consent ends on 15 September 2027");
    let page = team.parent.opens(&page.link("Renew it, from the school to the clinic")).await.ok();
    // It starts from the old one's values, the day after.
    assert_eq!(page.value_of("starts_on").as_deref(), Some("2027-09-16"));
    assert_eq!(page.value_of("relation").as_deref(), Some("mother"));
    let signed = team.parent.presses_on(&page, "Sign", &[("read", "yes"), ("password", PASSWORD)]).await;
    let page = team.parent.follows(&signed).await.ok();
    drop(page);
    let page = team.parent.opens(&team.at("/consents")).await.ok();
    page.lacks("From the school to the clinic: the consent ends on").sees("Starts later");
    // The vision teacher is led to recording one.
    let page = team.teacher.opens(&team.at("/consents")).await.ok();
    team.teacher
        .opens(&page.link("Record its renewal, from the clinic to the school"))
        .await
        .ok()
        .sees("Consent given in person");
    world.days_later(30).await;
    team.parent
        .opens(&team.at("/consents"))
        .await
        .ok()
        .sees("From the clinic to the school: the consent ended on 15 September 2027");
    team.clinician.opens(&team.at("/training")).await.ok();
}
