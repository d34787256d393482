//! Asking for an evaluation: with a purpose (G1), and read by the clinic only
//! once a consent lets it cross (G7).

use farpoint::care::consent::Direction;

use super::setup::Team;

#[tokio::test]
async fn nothing_to_see_named_nothing_asked() {
    let team = Team::without_a_task().await;
    let address = team.at("/evaluations/request");
    team.teacher.opens(&address).await.blocked("Add at least one thing");
    let before = team.world.content().await;
    let day = team.world.day(0);
    let fields = [("question", "Which telescope?"), ("requested_on", day.as_str())];
    team.teacher.submits(&address, &fields).await.blocked("Add at least one thing");
    assert_eq!(team.world.content().await, before);
    team.names_a_task().await;
    team.asks("Which telescope?").await.redirected_to();
    assert_eq!(team.world.count("evaluation_request").await, 1);
}

#[tokio::test]
async fn a_request_waits_for_consent_and_the_clinician_sees_initials_only() {
    let team = Team::new().await;
    let list = team.at("/evaluations");
    team.asks("Can she read the board from her seat?").await.redirected_to();
    team.teacher.opens(&list).await.ok().sees("Waiting for consent").sees("Can she read the board");
    team.parent.opens(&list).await.ok().sees("Waiting for consent").sees("Can she read the board");
    let page = team.clinician.opens(&list).await.ok();
    assert!(page.source().contains(">WA<"), "the initials stand over the page");
    page.sees("Waiting for consent").lacks("Can she read").lacks(&team.pupil.name).lacks("Wren");
    // Before the name is readable nothing can be begun, also not by its address.
    team.clinician.opens(&team.at("/evaluations/new")).await.forbidden();
    team.consents(Direction::SchoolToClinic).await;
    let page = team.clinician.opens(&list).await.ok();
    page.sees("Can she read the board").sees("With the clinic").lacks("Waiting for consent");
}

#[tokio::test]
async fn asking_releases_the_intake() {
    let team = Team::new().await;
    let before = team.world.content().await;
    team.asks("Which telescope?").await.redirected_to();
    assert_ne!(team.world.content().await["intake"], before["intake"]);
}

#[tokio::test]
async fn one_request_is_open_at_a_time_and_the_next_comes_after_it_is_taken_back() {
    let team = Team::new().await;
    team.asks("Which telescope?").await.redirected_to();
    let before = team.world.content().await;
    team.asks("And which magnifier?").await.refused("question").sees("And which magnifier?");
    assert_eq!(team.world.content().await, before);
    team.teacher.presses(&team.at("/evaluations"), "Take the request back", &[]).await.redirected_to();
    team.teacher.opens(&team.at("/evaluations")).await.ok().sees("Taken back");
    team.asks("And which magnifier?").await.redirected_to();
}

#[tokio::test]
async fn the_clinician_says_the_day_and_two_who_say_it_see_both() {
    let team = Team::with_consents().await;
    team.asks("Which telescope?").await.redirected_to();
    let list = team.at("/evaluations");
    let old = team.teacher.opens(&list).await.ok();
    let (first, second) = (team.world.day(20), team.world.day(27));
    team.clinician.presses(&list, "Save the day", &[("appointment_on", &first)]).await.redirected_to();
    team.parent.opens(&list).await.ok().sees("6 October 2026");
    let page = team.teacher.presses_on(&old, "Save the day", &[("appointment_on", &second)]).await;
    page.status(409).sees(&first).sees(&second);
    team.clinician.opens(&list).await.ok().sees("6 October 2026").lacks("13 October 2026");
    // A parent reads the day and does not set it.
    let id = team.clinician.opens(&list).await.filled("Save the day", &[]).0;
    team.parent.submits(&id, &[("appointment_on", &second), ("version", "2")]).await.forbidden();
}

#[tokio::test]
async fn what_is_wrong_with_a_request_is_said_beside_its_field() {
    let team = Team::new().await;
    let address = team.at("/evaluations/request");
    let (long, tomorrow) = ("q".repeat(10_000), team.world.day(1));
    let before = team.world.content().await;
    for (field, value) in [
        ("question", ""),
        ("question", long.as_str()),
        ("requested_on", "1890-01-01"),
        ("requested_on", &tomorrow),
        ("requested_on", "soon"),
    ] {
        let mut fields = vec![("question", "Which telescope? <b>O'Neil</b> \u{1F441}")];
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = team.teacher.presses(&address, "Ask, and release the intake", &fields).await.refused(field);
        assert_eq!(page.value_of(field).as_deref(), Some(value), "{field}");
    }
    assert_eq!(team.world.content().await, before);
}

#[tokio::test]
async fn nobody_else_reads_or_asks() {
    let team = Team::new().await;
    let classroom = team.world.classroom_teacher().await;
    team.world.joins(&classroom, &team.pupil, &team.teacher).await;
    let strangers = [team.world.vision_teacher().await, team.world.clinician().await, team.world.parent().await];
    let before = team.world.content().await;
    for person in strangers.iter().chain([&classroom]) {
        person.opens(&team.at("/evaluations")).await.hidden();
        person.opens(&team.at("/evaluations/request")).await.hidden();
        person.submits(&team.at("/evaluations/request"), &[("question", "Which?")]).await.hidden();
    }
    team.parent.submits(&team.at("/evaluations/request"), &[("question", "Which?")]).await.forbidden();
    team.world.steward().await.opens(&team.at("/evaluations")).await.hidden();
    let after = team.world.content().await;
    assert_eq!(after["evaluation_request"], before["evaluation_request"]);
}
