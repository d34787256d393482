//! Coming of age (G10): from the birthday in the settings on, parents' access
//! waits for what the student says, by kind of record.

use farpoint::care::consent::Category;
use farpoint::care::student::{age, of_age_on};
use jiff::ToSpan;
use jiff::civil::date;

use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

/// A page for each kind of record. Of evaluations it is the signed one itself:
/// their list also holds the requests, which belong to the intake.
const PAGES: [(Category, &str); 8] = [
    (Category::Intake, "/intake"),
    (Category::ClassObservations, "/tasks"),
    (Category::HomeObservations, "/observations/new"),
    (Category::Evaluation, "/evaluations"),
    (Category::Devices, "/devices"),
    (Category::Training, "/training"),
    (Category::Summary, "/summaries"),
    (Category::Prescription, "/prescription"),
];

#[test]
fn the_day_of_age_is_the_first_on_which_somebody_is_that_old() {
    let mut born = date(2004, 1, 1);
    // Every birthday of a leap cycle, 29 February among them.
    while born < date(2008, 3, 2) {
        for years in [16, 18, 19, 21] {
            let day = of_age_on(born, years);
            assert_eq!(age(born, day), i64::from(years), "{born} at {years}");
            assert_eq!(age(born, day.yesterday().unwrap()), i64::from(years) - 1, "{born} at {years}");
        }
        born = born.checked_add(1.day()).unwrap();
    }
}

#[tokio::test]
async fn on_the_eighteenth_birthday_a_parents_access_waits_and_not_a_day_before() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let tomorrow = world.day(1);
    let born = tomorrow.replacen("2026", "2008", 1);
    world.was_born(&born, &team.pupil, &team.teacher).await;

    team.parent.opens(&team.at("")).await.ok();
    team.parent.opens(&team.at("/people")).await.ok().sees("On 17 September 2026 your child comes of age");
    world.days_later(1).await;
    for path in ["", "/people", "/intake", "/thread", "/history", "/safety"] {
        team.parent.opens(&team.at(path)).await.waits_for_the_student().lacks(&team.pupil.name);
    }
    let before = world.content().await;
    team.parent.submits(&team.at("/thread"), &[("body", "May I?")]).await.waits_for_the_student();
    assert_eq!(world.content().await, before);
    let today = team.parent.opens("/today").await.ok();
    today.sees("Your child is now the one who decides").lacks(&team.pupil.name).lacks(&team.pupil.id.to_string());
    // The team goes on, and what the parent signed goes on.
    let people = team.teacher.opens(&team.at("/people")).await.ok();
    people.sees("The rights are the student's").sees("has not said what this parent may see").sees("in force until");
    team.clinician.opens(&team.at("")).await.ok().sees(&team.pupil.name);
}

#[tokio::test]
async fn one_born_on_29_february_comes_of_age_on_1_march() {
    // 2026 is no leap year.
    let world = World::on("2026-02-28").await;
    let team = Team::around_a_student(&world).await;
    world.was_born("2008-02-29", &team.pupil, &team.teacher).await;
    team.parent.opens(&team.at("")).await.ok();
    world.days_later(1).await;
    team.parent.opens(&team.at("")).await.waits_for_the_student();
}

#[tokio::test]
async fn a_clock_that_runs_ahead_hands_the_rights_over_for_just_as_long() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let born = world.day(30).replacen("2026", "2008", 1);
    world.was_born(&born, &team.pupil, &team.teacher).await;
    let before = world.content().await;
    world.days_later(40).await;
    team.parent.opens(&team.at("")).await.waits_for_the_student();
    world.days_later(-40).await;
    team.parent.opens(&team.at("")).await.ok().sees(&team.pupil.name);
    assert_eq!(world.content().await, before, "nothing was stored that says whose rights they are");
}

#[tokio::test]
async fn the_team_is_told_a_year_before() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let told = "Rights pass to the student on 17 September 2027";
    world.was_born("2009-09-17", &team.pupil, &team.teacher).await;
    for page in ["/today".to_owned(), team.at(""), team.at("/people")] {
        team.teacher.opens(&page).await.ok().lacks("Rights pass");
    }
    world.days_later(1).await;
    steward.enters_password_again().await;
    for page in ["/today".to_owned(), team.at(""), team.at("/people")] {
        team.teacher.opens(&page).await.ok().sees(told);
        team.clinician.opens(&page).await.ok().sees(told);
    }
    steward.opens("/steward").await.ok().sees("rights pass to the student on 17 September 2027");
    steward.opens(&team.at("/people/age")).await.ok().sees("can be recorded from that day on");
    // Nothing can be chosen before, whatever address a form is sent to.
    let before = world.content().await;
    let adult = team.parent.actor().account.to_string();
    let early = [("account", adult.as_str()), ("lets", "nothing"), ("words", "no"), ("how", "said")];
    steward.submits(&team.at("/people/age"), &early).await.status(409).sees("17 September 2027");
    assert_eq!(world.content().await, before);
    // Not to a teacher who may know the age, not the birth date.
    team.classroom.opens(&team.at("")).await.ok().lacks("2027");
}

#[tokio::test]
async fn a_parent_reads_exactly_the_kinds_that_the_student_chose() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    world.turns(18, &team.pupil, &team.teacher).await;
    let evaluation = world.newest("evaluation", &team.pupil).await.unwrap();
    for chosen in PAGES.map(|(category, _)| category) {
        world.lets(&steward, &team.parent, &team.pupil, &[chosen]).await;
        for (category, path) in PAGES {
            let one = if category == Category::Evaluation { format!("{path}/{evaluation}") } else { path.to_owned() };
            let page = team.parent.opens(&team.at(&one)).await;
            // The page of observations is asked for to enter one from home.
            let wanted = if category == chosen { 200 } else { 404 };
            assert_eq!(page.code(), wanted, "{path} when {} was chosen", chosen.code());
        }
        // What is of no kind is read by whoever may read any.
        for path in ["", "/people", "/thread", "/history", "/safety"] {
            team.parent.opens(&team.at(path)).await.ok();
        }
    }
    // The newest word counts, and all of them stay readable.
    world.lets(&steward, &team.parent, &team.pupil, &[]).await;
    team.parent.opens(&team.at("/summaries")).await.waits_for_the_student();
    let page = steward.opens(&team.at("/people/age")).await.ok().sees("May read nothing");
    assert_eq!(page.seen().matches("replaced by a newer one").count(), PAGES.len());
    assert_eq!(world.count("age_choice").await, PAGES.len() + 1);
}

#[tokio::test]
async fn family_contacts_are_a_kind_of_their_own() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let adult = team.parent.actor().account.to_string();
    let contact = [("name", "Solveig"), ("phone", "555 0142"), ("account", adult.as_str())];
    team.teacher.presses(&team.at("/people/contacts/new"), "Save", &contact).await.redirected_to();
    world.turns(18, &team.pupil, &team.teacher).await;
    world.lets(&steward, &team.parent, &team.pupil, &[Category::Training]).await;
    team.parent.opens(&team.at("/people")).await.ok().lacks("555 0142");
    world.lets(&steward, &team.parent, &team.pupil, &[Category::Contacts]).await;
    team.parent.opens(&team.at("/people")).await.ok().sees("555 0142");
}

#[tokio::test]
async fn one_parent_is_not_told_what_the_student_said_about_another() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let (other, steward) = (world.parent().await, world.steward().await);
    world.joins(&other, &team.pupil, &team.teacher).await;
    steward.enters_password_again().await;
    world.turns(18, &team.pupil, &team.teacher).await;
    world.lets(&steward, &team.parent, &team.pupil, &[Category::Training]).await;
    world.lets(&steward, &other, &team.pupil, &[Category::Summary]).await;
    let page = team.parent.opens(&team.at("/people")).await.ok();
    page.sees("said: readiness and training").lacks("training summaries.");
    team.teacher.opens(&team.at("/people")).await.ok().sees("said: training summaries");
}

#[tokio::test]
async fn a_choice_that_makes_no_sense_is_said_beside_its_field() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    world.turns(18, &team.pupil, &team.teacher).await;
    let (adult, today, yesterday) = (team.parent.actor().account.to_string(), world.day(0), world.day(-1));
    let stranger = world.parent().await.actor().account.to_string();
    let whole = [
        ("account", adult.as_str()),
        ("lets", "these"),
        ("categories", "summary"),
        ("words", "She can read the summaries."),
        ("how", "said"),
        ("decided_on", &today),
        ("witness", "Marlow Pike"),
    ];
    let before = world.content().await;
    for (field, value, beside) in [
        ("account", stranger.as_str(), "account"),
        ("lets", "nothing", "categories"),
        ("words", "", "words"),
        ("decided_on", &yesterday, "decided_on"),
        ("witness", "", "witness"),
    ] {
        let mut fields = whole.to_vec();
        fields.iter_mut().filter(|(name, _)| *name == field).for_each(|(_, old)| *old = value);
        let page = steward.submits(&team.at("/people/age"), &fields).await.refused(beside);
        assert_eq!(page.value_of("how").as_deref(), Some("said"));
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn the_age_is_a_setting_of_the_site_and_nonsense_is_refused() {
    let world = World::new().await;
    let team = Team::around_a_student(&world).await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let wanted = [("owner", "Kestrel Ridge"), ("help", "Hildegard"), ("emergency_number", "911")];
    let with = |age: &'static str| [&wanted[..], &[("transfer_age", age)]].concat();
    let before = world.content().await;
    for age in ["", "0", "-18", "15", "22", "18.5", "eighteen", "1e9"] {
        let page = steward.presses("/steward", "Save the settings", &with(age)).await.refused("transfer_age");
        assert_eq!(page.value_of("transfer_age").as_deref(), Some(age));
    }
    assert_eq!(world.content().await, before);
    world.turns(18, &team.pupil, &team.teacher).await;
    team.parent.opens(&team.at("")).await.waits_for_the_student();
    steward.presses("/steward", "Save the settings", &with("19")).await.redirected_to();
    team.parent.opens(&team.at("")).await.ok();
}
