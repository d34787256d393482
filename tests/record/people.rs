//! The team, its links, and how to reach the family.

use crate::page::Page;
use crate::world::World;

/// The link that the answer shows.
fn link_on(page: &Page) -> String {
    let seen = page.seen();
    let from = seen.find("/invite/").expect("the link");
    seen[from..].split_whitespace().next().expect("its path").to_owned()
}

#[tokio::test]
async fn a_link_is_shown_once_and_can_be_withdrawn() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let people = pupil.at("/people");
    let form = teacher.opens(&people).await.ok();
    let fields = [("role", "parent"), ("invited_name", "Solveig"), ("relation", "mother")];
    let made = teacher.presses_on(&form, "Make the link", &fields).await.ok().sees("shown only now");
    let link = link_on(&made);
    // Sent again, the form leads to the list, and the list does not show it.
    let again = teacher.presses_on(&form, "Make the link", &fields).await;
    let list = teacher.follows(&again).await.ok();
    assert!(!list.source().contains("/invite/"));
    assert_eq!(world.count("invitation").await, 1);
    world.stranger().opens(&link).await.ok();
    teacher.presses(&people, "Withdraw this link", &[]).await.redirected_to();
    world.stranger().opens(&link).await.hidden();
    let before = world.content().await;
    for fields in
        [vec![("role", "parent"), ("invited_name", "Solveig"), ("relation", "")], vec![("invited_name", "Solveig")]]
    {
        let field = if fields.len() == 3 { "relation" } else { "role" };
        teacher.presses(&people, "Make the link", &fields).await.refused(field);
    }
    teacher
        .submits(&pupil.at("/people/invitations"), &[("role", "steward"), ("invited_name", "x")])
        .await
        .refused("role");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_membership_ended_is_a_record_that_does_not_exist_and_a_lead_is_not_left_unnamed() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let classroom = world.classroom_teacher().await;
    world.joins(&classroom, &pupil, &teacher).await;
    classroom.opens(&pupil.at("/tasks")).await.ok();
    let people = teacher.opens(&pupil.at("/people")).await.ok().sees("leads the record");
    let of = |name: &str| people.link(&format!("End the membership of {name}"));
    let (end, lead) = (of(&classroom.name), of(&teacher.name));
    // Nobody else could lead it, so the page asks who sees to it.
    teacher.presses(&lead, "End the membership", &[]).await.refused("taker");
    for person in [&classroom, &world.parent().await] {
        let answer = person.submits(&end, &[]).await;
        assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
    }
    classroom.opens(&pupil.at("/tasks")).await.ok();
    teacher.presses(&end, "End the membership", &[]).await.redirected_to();
    classroom.opens(&pupil.at("/tasks")).await.hidden();
    teacher.opens(&pupil.at("/people")).await.ok().sees("Formerly on the team (1)");
    teacher.submits(&end, &[]).await.hidden();
}

#[tokio::test]
async fn a_parent_keeps_the_own_contact_up_to_date_and_sees_no_other() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let (mother, father) = (world.parent().await, world.parent().await);
    for parent in [&mother, &father] {
        world.joins(parent, &pupil, &teacher).await;
    }
    let new = pupil.at("/people/contacts/new");
    for (parent, phone) in [(&mother, "555-0101"), (&father, "555-0202")] {
        let account = parent.actor().account.to_string();
        let fields = [("name", parent.name.as_str()), ("phone", phone), ("account", account.as_str())];
        teacher.presses(&new, "Save", &fields).await.redirected_to();
    }
    let page = mother.opens(&pupil.at("/people")).await.ok().sees("555-0101").lacks("555-0202");
    let own = page.links().into_iter().find(|(to, _)| to.contains("/people/contacts/")).expect("her own").0;
    mother.presses(&own, "Save", &[("phone", "555-0303")]).await.redirected_to();
    teacher.opens(&pupil.at("/people")).await.ok().sees("555-0303").sees("555-0202");
    let stranger = world.parent().await;
    let before = world.content().await;
    father.opens(&own).await.hidden();
    father.submits(&own, &[("name", "forged"), ("version", "2")]).await.hidden();
    let account = stranger.actor().account.to_string();
    let fields = [("name", "Nobody"), ("account", account.as_str())];
    teacher.submits(&pupil.at("/people/contacts"), &fields).await.refused("account");
    assert_eq!(world.content().await, before);
    // Two on one entry: the second sees both.
    let old = teacher.opens(&own).await.ok();
    mother.presses(&own, "Save", &[("phone", "555-0404")]).await.redirected_to();
    teacher.presses_on(&old, "Save", &[("phone", "555-0505")]).await.status(409).sees("555-0404").sees("555-0505");
}

#[tokio::test]
async fn who_the_student_is_changes_and_the_second_of_two_people_sees_both_texts() {
    let world = World::new().await;
    let (first, second) = (world.vision_teacher().await, world.vision_teacher().await);
    let pupil = world.student_of(&first).await;
    world.joins(&second, &pupil, &first).await;
    let identity = pupil.at("/identity");
    let old = second.opens(&identity).await.ok();
    first.presses(&identity, "Save", &[("school", "Heron Creek"), ("grade", "7")]).await.redirected_to();
    let page = second.presses_on(&old, "Save", &[("school", "Otter Bend")]).await.status(409);
    page.sees("Heron Creek").sees("Otter Bend");
    first.opens(&pupil.at("/intake")).await.ok().sees("Heron Creek").sees("Grade 7").sees("rint 18 pt");
    let parent = world.parent().await;
    world.joins(&parent, &pupil, &first).await;
    assert!([403, 404].contains(&parent.opens(&identity).await.code()));
}
