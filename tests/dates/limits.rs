//! Access limits: two records officers, and what the adult concerned meets.

use farpoint::web::routes::Method;

use crate::lap::{DISTANCE, Step, Team};
use crate::people::Person;
use crate::world::World;

struct Office {
    team: Team,
    /// The adult a court order is about.
    adult: Person,
    first: Person,
    second: Person,
}

async fn office(world: &World, step: Step) -> Office {
    let team = Team::up_to(world, &DISTANCE, step).await;
    let adult = world.parent().await;
    world.joins(&adult, &team.pupil, &team.teacher).await;
    let (first, second) = (world.steward().await, world.steward().await);
    first.enters_password_again().await;
    second.enters_password_again().await;
    Office { team, adult, first, second }
}

impl Office {
    fn path(&self) -> String {
        self.team.at("/people/limits")
    }

    async fn proposes(&self, world: &World) {
        let (adult, today) = (self.adult.actor().account.to_string(), world.day(0));
        let fields = [
            ("account", adult.as_str()),
            ("rights", "none_by_order"),
            ("document", "Order 41 of the county court"),
            ("starts_on", &today),
        ];
        self.first.presses(&self.path(), "Propose this limit", &fields).await.redirected_to();
    }

    async fn confirms(&self) {
        self.second.presses(&self.path(), "Confirm this limit", &[]).await.redirected_to();
    }
}

#[tokio::test]
async fn a_limit_is_in_force_from_the_moment_a_second_person_confirms_it() {
    let world = World::new().await;
    let office = office(&world, Step::Consented).await;
    office.proposes(&world).await;
    let page = office.first.opens(&office.path()).await.ok();
    page.sees("Waiting for a second records officer").sees("nothing changes for this person");
    office.adult.opens(&office.team.at("/intake")).await.ok();
    office.first.opens("/today").await.ok().lacks("A proposal waits");
    office.second.opens("/today").await.ok().sees("A proposal waits for a second records officer");
    office.second.opens("/steward").await.ok().sees("you can confirm it");

    office.confirms().await;
    // A page that was open a moment ago answers like that at once.
    office.adult.opens(&office.team.at("/intake")).await.asks_to_go_to_the_office();
    office.second.opens(&office.path()).await.ok().sees("In force").sees("Order 41 of the county court");
    // The other parent goes on reading, and is told nothing of it.
    let page = office.team.parent.opens(&office.team.at("/people")).await.ok();
    page.lacks("access limit").lacks("Order 41").sees("Ask the school office.");
}

#[tokio::test]
async fn nobody_confirms_what_they_proposed() {
    let world = World::new().await;
    let office = office(&world, Step::Opened).await;
    office.proposes(&world).await;
    let page = office.first.opens(&office.path()).await.ok().sees("You cannot confirm it yourself.");
    let id = world.newest("access_limit", &office.team.pupil).await.unwrap();
    assert!(!page.source().contains("/confirm"), "no button for it");
    let before = world.content().await;
    let confirm = format!("{}/{id}/confirm", office.path());
    office.first.submits(&confirm, &[]).await.forbidden().sees("Nobody confirms what they proposed");
    assert_eq!(world.content().await, before);
    office.adult.opens(&office.team.at("")).await.ok();

    // Lifting it takes two as well.
    office.confirms().await;
    let lift = format!("{}/{id}/lift", office.path());
    let paper = [("document", "Order 52 ends it")];
    office.second.presses(&lift, "Propose to lift it", &paper).await.redirected_to();
    let before = world.content().await;
    office.second.submits(&format!("{lift}/confirm"), &[]).await.forbidden();
    office.second.submits(&lift, &paper).await.status(409);
    assert_eq!(world.content().await, before);
    office.adult.opens(&office.team.at("")).await.asks_to_go_to_the_office();
    office.first.presses(&office.path(), "Confirm that it is lifted", &[]).await.redirected_to();
    office.adult.opens(&office.team.at("")).await.ok();
    office.first.opens(&office.path()).await.ok().sees("Lifted");
}

#[tokio::test]
async fn nobody_decides_about_themselves() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let adult = world.person(Some(farpoint::access::Role::Parent), |new| new.steward = true).await;
    world.joins(&adult, &team.pupil, &team.teacher).await;
    world.limits(&adult, &team.pupil).await;
    adult.enters_password_again().await;
    let id = world.newest("access_limit", &team.pupil).await.unwrap();
    let before = world.content().await;
    for act in ["", "/withdraw", "/confirm", "/lift", "/lift/confirm"] {
        let path = team.at(&format!("/people/limits/{id}{act}"));
        let page = adult.submits(&path, &[("document", "none")]).await;
        assert!(matches!(page.code(), 403 | 404), "{path}: {}", page.code());
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_proposal_can_be_withdrawn_and_both_sides_are_in_the_log() {
    let world = World::new().await;
    let office = office(&world, Step::Opened).await;
    office.proposes(&world).await;
    office.second.presses(&office.path(), "Withdraw this proposal", &[]).await.redirected_to();
    office.second.opens(&office.path()).await.ok().sees("Withdrawn before it was confirmed");
    let id = world.newest("access_limit", &office.team.pupil).await.unwrap();
    let confirm = format!("{}/{id}/confirm", office.path());
    office.second.submits(&confirm, &[]).await.status(409);
    office.adult.opens(&office.team.at("")).await.ok();
    office.proposes(&world).await;
    office.confirms().await;
    let mut logged = world.logged("AccessLimits").await;
    logged.retain(|(action, _)| action.contains("limit"));
    let account = |person: &Person| person.actor().account.to_string();
    assert_eq!(
        logged,
        [
            ("propose limit".to_owned(), account(&office.first)),
            ("withdraw limit".to_owned(), account(&office.second)),
            ("propose limit".to_owned(), account(&office.first)),
            ("confirm limit".to_owned(), account(&office.second)),
        ]
    );
}

#[tokio::test]
async fn a_limit_counts_from_its_first_to_its_last_day() {
    let world = World::new().await;
    let office = office(&world, Step::Opened).await;
    let (adult, first, last) = (office.adult.actor().account.to_string(), world.day(2), world.day(4));
    let fields = [
        ("account", adult.as_str()),
        ("rights", "education_decisions_only"),
        ("document", "Interim order"),
        ("starts_on", &first),
        ("ends_on", &last),
    ];
    office.first.presses(&office.path(), "Propose this limit", &fields).await.redirected_to();
    office.confirms().await;
    for open in [true, true, false, false, false, true] {
        let page = office.adult.opens(&office.team.at("")).await;
        assert_eq!(page.code() == 200, open, "on {}", world.today());
        world.days_later(1).await;
    }
}

#[tokio::test]
async fn a_limit_that_makes_no_sense_is_said_beside_its_field() {
    let world = World::new().await;
    let office = office(&world, Step::Opened).await;
    let (adult, today, yesterday) = (office.adult.actor().account.to_string(), world.day(0), world.day(-1));
    let teacher = office.team.teacher.actor().account.to_string();
    let before = world.content().await;
    for (field, value) in [
        ("account", ""),
        ("account", teacher.as_str()),
        ("rights", "full"),
        ("document", ""),
        ("starts_on", "tomorrow"),
        ("ends_on", &yesterday),
    ] {
        let mut fields = vec![
            ("account", adult.as_str()),
            ("rights", "none_by_order"),
            ("document", "x"),
            ("starts_on", &today),
            ("ends_on", ""),
        ];
        fields.iter_mut().filter(|(name, _)| *name == field).for_each(|(_, old)| *old = value);
        office.first.submits(&office.path(), &fields).await.refused(field);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn the_team_sees_that_a_limit_is_on_file_and_no_more() {
    let world = World::new().await;
    let office = office(&world, Step::Consented).await;
    office.proposes(&world).await;
    office.team.teacher.opens(&office.team.at("")).await.ok().lacks("limit is on file");
    office.confirms().await;
    for person in [&office.team.teacher, &office.team.classroom] {
        for path in ["", "/people"] {
            let page = person.opens(&office.team.at(path)).await.ok();
            page.sees("An access limit is on file").lacks("Order 41").lacks("by order");
        }
        person.opens(&office.path()).await.hidden();
    }
    for person in [&office.team.parent, &office.team.clinician] {
        for path in ["", "/people"] {
            person.opens(&office.team.at(path)).await.ok().lacks("limit is on file");
        }
        person.opens(&office.path()).await.hidden();
    }
    // Nor does the thread tell of it.
    office.team.teacher.opens(&office.team.at("/thread")).await.ok().lacks("limit");
}

#[tokio::test]
async fn every_page_of_a_limited_parent_is_the_neutral_one() {
    let world = World::new().await;
    let office = office(&world, Step::Trained).await;
    let contact = [("name", "Ravindra Lal"), ("phone", "555 0177"), ("email", "ravindra@example.test")];
    office.team.teacher.presses(&office.team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    office.proposes(&world).await;
    office.confirms().await;
    let today = office.adult.opens("/today").await.ok().sees("Please ask the school office");
    let secrets = [office.team.pupil.name.as_str(), "555 0177", "limit", "order", "court"];
    for secret in secrets {
        today.clone().lacks(secret);
    }
    let before = world.content().await;
    let mut walked = 0;
    for route in farpoint::web::routes(world.app()).recorded().iter().filter(|route| route.path.contains("{student}")) {
        let some = "0198f0a0-0000-7000-8000-000000000000";
        let path = route.path.replace("{student}", &office.team.pupil.id.to_string()).replace("{record}", some);
        let path = path.replace("{word}", "distance");
        let page = match route.method {
            Method::Get => office.adult.opens(&path).await,
            Method::Post => office.adult.submits(&path, &[("version", "1")]).await,
        };
        let page = page.asks_to_go_to_the_office();
        for secret in secrets {
            page.clone().lacks(secret);
        }
        walked += 1;
    }
    assert!(walked > 80, "only {walked}");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn an_attempt_of_a_limited_parent_is_in_the_disclosure_record_once_in_a_while() {
    let world = World::new().await;
    let office = office(&world, Step::Opened).await;
    office.proposes(&world).await;
    office.confirms().await;
    for _ in 0..3 {
        office.adult.opens("/today").await.ok();
        office.adult.opens(&office.team.at("/intake")).await.asks_to_go_to_the_office();
    }
    let lines = async |person: &Person| {
        let page = person.opens(&office.team.at("/history")).await.ok();
        let rows = page.table("What went across").rows;
        rows.into_iter().filter(|row| row.iter().any(|cell| cell.contains("refused: nothing was shown"))).count()
    };
    assert_eq!(lines(&office.first).await, 1);
    world.passes(jiff::SignedDuration::from_mins(16));
    office.adult.opens(&office.team.at("")).await.asks_to_go_to_the_office();
    assert_eq!(lines(&office.first).await, 2);
    assert_eq!(world.logged("record").await.len(), 2);
}

#[tokio::test]
async fn a_site_with_one_records_officer_says_that_a_second_is_needed() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let only = world.steward().await;
    only.enters_password_again().await;
    let page = only.opens(&team.at("/people/limits")).await.ok().sees("A second records officer is needed");
    assert_eq!(page.link("Accounts"), "/steward");
    only.opens("/steward").await.ok().sees("A second records officer is needed");
    world.steward().await;
    only.opens(&team.at("/people/limits")).await.ok().lacks("A second records officer is needed");
}
