//! Emergency access: one kind of record, one side, 24 hours, seen by everybody
//! whose right it is.

use farpoint::access::Basis;
use farpoint::access::action::Verb;
use farpoint::access::policy::decide;
use farpoint::access::resource::Row;
use farpoint::access::standing::Password;
use farpoint::care::consent::{Category, Direction};
use farpoint::store::standing;
use jiff::SignedDuration;

use super::content;
use crate::lap::{DISTANCE, Step, Team};
use crate::people::{CLINIC, PASSWORD, Person};
use crate::world::World;

const OPEN: &str = "Open it for 24 hours";
const END: &str = "End the emergency access";
const WHY: &str = "Fell on the stairs; the hospital asks about the device";

/// Opens one kind of record; gives the address of the emergency.
async fn opens(team: &Team, person: &Person, category: Category) -> String {
    let fields = [("category", category.code()), ("reason", WHY), ("password", PASSWORD)];
    person.presses(&team.at("/people/emergency"), OPEN, &fields).await.redirected_to()
}

/// The pages on which a clinician reads one kind of record.
const PAGES: [(Category, &str); 5] = [
    (Category::Intake, "/intake"),
    (Category::ClassObservations, "/tasks"),
    (Category::Devices, "/devices"),
    (Category::Training, "/training"),
    (Category::Summary, "/summaries"),
];

/// What of a student this person reads across now, and on which ground.
async fn across(world: &World, person: &Person, team: &Team) -> Vec<(Row, Option<Category>, Basis)> {
    let mut view = world.store().snapshot().await.expect("a view");
    let standing =
        standing::of(&mut view, person.actor(), team.pupil.id, Password::NotEntered).await.expect("a standing");
    let decided = Row::STUDENT.iter().filter_map(|row| {
        let limits = decide(person.actor(), &standing, *row, Verb::Read).ok()?;
        limits.crossing.map(|crossing| (*row, row.category(), crossing.basis))
    });
    decided.filter(|(.., basis)| *basis != Basis::Safety).collect()
}

#[tokio::test]
async fn it_opens_exactly_one_kind_of_record_whichever_it_is() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    for (person, way) in [(&team.clinician, Direction::SchoolToClinic), (&team.teacher, Direction::ClinicToSchool)] {
        assert_eq!(across(&world, person, &team).await, []);
        for category in way.categories() {
            let emergency = opens(&team, person, category).await;
            let reads = across(&world, person, &team).await;
            assert!(reads.iter().any(|(_, of, _)| *of == Some(category)), "{category:?} is open: {reads:?}");
            for (row, of, basis) in reads {
                assert!(of.is_none_or(|of| of == category), "{category:?} opens {row:?}");
                assert!(matches!(basis, Basis::Emergency(_)), "{row:?} on {basis:?}");
            }
            if way == Direction::SchoolToClinic {
                for (of, path) in PAGES {
                    let page = person.opens(&team.at(path)).await;
                    if of == category {
                        page.ok()
                    } else {
                        page.hidden()
                    };
                }
            }
            person.presses(&emergency, END, &[("password", PASSWORD)]).await.redirected_to();
            assert_eq!(across(&world, person, &team).await, [], "{category:?} is closed again");
        }
    }
}

#[tokio::test]
async fn it_ends_by_itself_after_24_hours_to_the_minute() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let emergency = opens(&team, &team.clinician, Category::Training).await;
    let page = team.clinician.opens(&emergency).await.ok();
    page.sees("Emergency access is open until Thursday 10:01").sees("It ends by itself in 24 hours");
    // Past midnight: judged by the instant, not by the day.
    world.passes(SignedDuration::from_hours(23) + SignedDuration::from_mins(59));
    team.clinician.signs_in().await;
    team.clinician.opens(&team.at("/training")).await.ok();
    team.clinician.opens(&emergency).await.ok().sees("It ends by itself in 1 minute");
    world.passes(SignedDuration::from_mins(2));
    team.clinician.opens(&team.at("/training")).await.hidden();
    team.clinician.opens(&emergency).await.ok().sees("It is over").lacks(END);
    let page = team.parent.at_another_browser();
    page.signs_in().await;
    page.opens(&team.at("/consents")).await.ok().sees("ended by itself, 17 September 2026, 10:01");
}

#[tokio::test]
async fn a_vision_teacher_or_a_clinician_opens_it_with_a_reason_and_the_password() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let path = team.at("/people/emergency");
    let whole = [("category", "training"), ("reason", WHY), ("password", PASSWORD)];
    let limited = world.parent().await;
    world.joins(&limited, &team.pupil, &team.teacher).await;
    world.limits(&limited, &team.pupil).await;
    let left = world.clinician().await;
    world.joins(&left, &team.pupil, &team.teacher).await;
    world.leaves(&left, &team.pupil, &team.teacher).await;
    let (elsewhere, steward) = (world.clinician().await, world.steward().await);
    let before = content(&world).await;
    for person in [&team.classroom, &limited, &left, &elsewhere, &world.stranger()] {
        assert_ne!(person.opens(&path).await.code(), 200, "{}", person.name);
        assert_ne!(person.submits(&path, &whole).await.code(), 303, "{}", person.name);
    }
    steward.enters_password_again().await;
    for person in [&team.parent, &steward] {
        person.opens(&path).await.forbidden();
        person.submits(&path, &whole).await.forbidden();
    }
    for (field, wrong) in [("category", "prescription"), ("category", ""), ("reason", "  "), ("password", "wrong")] {
        let fields: Vec<_> =
            whole.iter().map(|(name, value)| (*name, if *name == field { wrong } else { *value })).collect();
        let page = team.clinician.submits(&path, &fields).await.refused(field);
        if field != "reason" {
            assert_eq!(page.value_of("reason").as_deref().map(str::trim), Some(WHY), "what was typed is kept");
        }
        page.lacks(PASSWORD);
    }
    let long = "n".repeat(2_001);
    team.clinician.submits(&path, &[whole[0], ("reason", &long), whole[2]]).await.refused("reason");
    assert_eq!(content(&world).await, before);
    opens(&team, &team.clinician, Category::Training).await;
    opens(&team, &team.teacher, Category::Evaluation).await;
}

#[tokio::test]
async fn everybody_whose_right_it_is_sees_who_opened_what_and_why() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let emergency = opens(&team, &team.clinician, Category::Training).await;
    team.clinician.opens(&team.at("/training")).await.ok();
    let steward = world.steward().await;
    for person in [&team.teacher, &team.parent, &steward, &team.clinician] {
        let page = person.opens(&team.at("/consents")).await.ok();
        page.sees(WHY)
            .sees(&team.clinician.name)
            .sees("Readiness and training")
            .sees(CLINIC)
            .sees("open until Thursday");
        person.opens(&emergency).await.ok().sees(WHY);
        person.opens("/today").await.ok().sees("Emergency access without a consent: opened by");
    }
    team.classroom.opens(&team.at("/consents")).await.hidden();
    team.classroom.opens(&emergency).await.hidden();
    team.classroom.opens("/today").await.ok().lacks("Emergency access");
    for person in [&team.teacher, &team.parent] {
        person.opens(&team.at("/thread")).await.ok().sees("Emergency access opened");
    }
    // Opening it and each read under it stand in the record of what went across.
    let rows = team.parent.opens(&team.at("/history")).await.ok().table("What went across").rows;
    let told = |what: &str| rows.iter().any(|row| row[1] == what && row[3] == "Read on screen: emergency");
    assert!(told("Emergency access opened") && told("Readiness and training"), "{rows:?}");
    assert!(rows.iter().all(|row| !row[3].ends_with(": consent")), "{rows:?}");
}

#[tokio::test]
async fn it_is_for_the_side_that_opened_it_and_its_clinic_alone() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let (same, other) = (world.clinician().await, world.clinician_of("Another Clinic").await);
    for person in [&same, &other] {
        world.joins(person, &team.pupil, &team.teacher).await;
    }
    opens(&team, &team.clinician, Category::Training).await;
    same.opens(&team.at("/training")).await.ok();
    other.opens(&team.at("/training")).await.hidden();
}

#[tokio::test]
async fn a_second_one_is_for_another_kind_or_for_after_the_first() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let path = team.at("/people/emergency");
    opens(&team, &team.clinician, Category::Training).await;
    let same = [("category", "training"), ("reason", WHY), ("password", PASSWORD)];
    team.clinician.presses(&path, OPEN, &same).await.refused("category").sees("open already");
    opens(&team, &team.clinician, Category::Devices).await;
    for page in ["/training", "/devices"] {
        team.clinician.opens(&team.at(page)).await.ok();
    }
    team.clinician.opens(&team.at("/intake")).await.hidden();
    world.passes(SignedDuration::from_hours(25));
    team.clinician.signs_in().await;
    team.clinician.opens(&team.at("/training")).await.hidden();
    opens(&team, &team.clinician, Category::Training).await;
    team.clinician.opens(&team.at("/training")).await.ok();
    team.clinician.opens(&team.at("/devices")).await.hidden();
    assert_eq!(world.count("consent").await, 3);
}

#[tokio::test]
async fn who_opened_it_or_a_rights_holder_ends_it_early_and_nobody_else() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let colleague = world.clinician().await;
    world.joins(&colleague, &team.pupil, &team.teacher).await;
    let emergency = opens(&team, &team.clinician, Category::Training).await;
    let address = format!("{emergency}/end");
    let password = [("password", PASSWORD)];
    let before = content(&world).await;
    for person in [&team.teacher, &colleague, &world.steward().await] {
        person.opens(&emergency).await.ok().lacks(END);
        person.submits(&address, &password).await.forbidden();
    }
    team.classroom.submits(&address, &password).await.hidden();
    team.parent.submits(&address, &[("password", "wrong")]).await.refused("password");
    let mut after = content(&world).await;
    // A steward came, and what the clinic reads of it was noted.
    for table in ["account", "disclosure"] {
        after.remove(table);
    }
    assert!(after.iter().all(|(table, hash)| before.get(table) == Some(hash)));
    colleague.opens(&team.at("/training")).await.ok();
    team.parent.presses(&emergency, END, &password).await.redirected_to();
    for person in [&team.clinician, &colleague] {
        person.opens(&team.at("/training")).await.hidden();
    }
    let page = team.teacher.opens(&team.at("/consents")).await.ok();
    page.sees(&format!("by {}", team.parent.name)).sees("ended early");
    team.teacher.opens(&team.at("/thread")).await.ok().sees("Emergency access ended early");
    // Once over, ending it again changes nothing.
    let before = content(&world).await;
    team.clinician.submits(&address, &password).await.redirected_to();
    assert_eq!(content(&world).await, before);
}

#[tokio::test]
async fn it_sends_no_document_and_opens_no_gate() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    world.withdraws(&team.parent, &team.pupil).await;
    opens(&team, &team.clinician, Category::Summary).await;
    let sent = world.count("sending").await;
    let draft = team.drafts_summary(&DISTANCE).await;
    let fields = [("version", "2"), ("password", PASSWORD)];
    team.teacher.submits(&format!("{draft}/send"), &fields).await.blocked("No consent on file");
    assert_eq!(world.count("sending").await, sent);
    // A request waits for a consent, whatever is open in an emergency.
    opens(&team, &team.clinician, Category::Intake).await;
    team.parent.opens(&team.at("/consents")).await.ok().sees("From the school to the clinic: no consent");
}
