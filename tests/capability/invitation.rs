//! Links by which people join a team: once, for seven days, in one role.

use farpoint::access::Role;
use jiff::SignedDuration;

use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::World;

const NEW_PASSWORD: &str = "a blue door by the canal";

async fn makes_an_account(somebody: &Person, link: &str, sign_in: &str) -> Page {
    let fields = [
        ("name", "Solveig Ashdown-Lal"),
        ("sign_in", sign_in),
        ("password", NEW_PASSWORD),
        ("password_again", NEW_PASSWORD),
    ];
    somebody.presses(link, "Make the account and join", &fields).await
}

#[tokio::test]
async fn a_parent_makes_an_account_by_the_link_and_is_on_the_team() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let link = world.link(&teacher, &pupil, Role::Parent).await;
    let parent = world.stranger();
    let page = parent.opens(&link).await.ok().sees(&teacher.name).sees("parent");
    // Whoever finds the link learns the initials and no more.
    page.lacks(&pupil.name).lacks("Wren").sees("WA");
    let members = world.count("membership").await;
    assert_eq!(makes_an_account(&parent, &link, "solveig").await.redirected_to(), pupil.at(""));
    assert_eq!(world.count("membership").await, members + 1);
    parent.opens("/account").await.ok().sees("solveig").sees("parent");
    // Used once is used up, for everybody.
    for person in [&world.stranger(), &parent, &world.parent().await] {
        person.opens(&link).await.hidden();
    }
    let before = world.content().await;
    let fields =
        [("name", "Second"), ("sign_in", "second"), ("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)];
    world.stranger().submits(&link, &fields).await.hidden();
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field_and_the_link_still_works() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let link = world.link(&teacher, &pupil, Role::ClassroomTeacher).await;
    let before = world.content().await;
    let long = "n".repeat(10_000);
    for (field, value) in [
        ("name", ""),
        ("name", long.as_str()),
        ("sign_in", ""),
        ("sign_in", teacher.sign_in.as_str()),
        ("password", "short"),
        ("password_again", "something else again"),
    ] {
        let mut fields = vec![
            ("name", "Anselm ‘Q’ Quigley"),
            ("sign_in", "anselm"),
            ("password", NEW_PASSWORD),
            ("password_again", NEW_PASSWORD),
        ];
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = world.stranger().presses(&link, "Make the account and join", &fields).await.refused(field);
        let kept = if field == "name" { "sign_in" } else { "name" };
        assert!(page.value_of(kept).is_some_and(|value| value.to_lowercase().starts_with("anselm")));
        page.lacks(NEW_PASSWORD);
    }
    assert_eq!(world.content().await, before);
    makes_an_account(&world.stranger(), &link, "anselm").await.redirected_to();
}

#[tokio::test]
async fn a_link_ends_after_seven_days() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let link = world.link(&teacher, &pupil, Role::Parent).await;
    world.passes(SignedDuration::from_hours(7 * 24 - 1));
    world.stranger().opens(&link).await.ok();
    let page = world.stranger().opens(&link).await;
    world.passes(SignedDuration::from_hours(1));
    world.stranger().opens(&link).await.hidden();
    let fields = [("name", "S"), ("sign_in", "s"), ("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)];
    let before = world.content().await;
    world.stranger().presses_on(&page, "Make the account and join", &fields).await.hidden();
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_link_gives_one_role_and_no_other() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let link = world.link(&teacher, &pupil, Role::Parent).await;
    let before = world.content().await;
    for other in [world.classroom_teacher().await, world.clinician().await, world.steward().await] {
        let before = world.content().await;
        other.opens(&link).await.ok().sees("another role");
        other.submits(&link, &[]).await.hidden();
        assert_eq!(world.content().await, before);
    }
    assert_eq!(before["membership"], world.content().await["membership"]);
}

#[tokio::test]
async fn no_link_makes_an_account_for_a_clinician_or_a_vision_teacher() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    for role in [Role::Clinician, Role::VisionTeacher] {
        let link = world.link(&teacher, &pupil, role).await;
        let before = world.content().await;
        let page = world.stranger().opens(&link).await.ok();
        assert_eq!(page.value_of("password"), None, "no form for an account");
        let fields = [("name", "M"), ("sign_in", "m"), ("password", NEW_PASSWORD), ("password_again", NEW_PASSWORD)];
        world.stranger().submits(&link, &fields).await.hidden();
        assert_eq!(world.content().await, before);
    }
}

#[tokio::test]
async fn a_clinician_with_an_account_joins_and_a_double_click_joins_once() {
    let world = World::new().await;
    let (teacher, clinician) = (world.vision_teacher().await, world.clinician().await);
    let pupil = world.student_of(&teacher).await;
    let link = world.link(&teacher, &pupil, Role::Clinician).await;
    let page = clinician.opens(&link).await.ok();
    let members = world.count("membership").await;
    let first = clinician.presses_on(&page, "Join this team", &[]).await.redirected_to();
    assert_eq!(first, pupil.at(""));
    clinician.presses_on(&page, "Join this team", &[]).await;
    assert_eq!(world.count("membership").await, members + 1);
}

#[tokio::test]
async fn who_is_on_the_team_already_does_not_use_a_link_up() {
    let world = World::new().await;
    let (teacher, parent) = (world.vision_teacher().await, world.parent().await);
    let pupil = world.student_of(&teacher).await;
    world.joins(&parent, &pupil, &teacher).await;
    let link = world.link(&teacher, &pupil, Role::Parent).await;
    let members = world.count("membership").await;
    parent.presses(&link, "Join this team", &[]).await.redirected_to();
    assert_eq!(world.count("membership").await, members);
    let father = world.parent().await;
    father.presses(&link, "Join this team", &[]).await.redirected_to();
    assert_eq!(world.count("membership").await, members + 1);
}

#[tokio::test]
async fn a_link_that_nobody_made_is_no_link() {
    let world = World::new().await;
    for odd in ["x", "%00", "..", "a%2Fb", &"x".repeat(5_000)] {
        world.stranger().opens(&format!("/invite/{odd}")).await.hidden();
        world.stranger().submits(&format!("/invite/{odd}"), &[("password", PASSWORD)]).await.hidden();
    }
}
