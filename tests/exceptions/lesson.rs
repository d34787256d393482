//! G3: one item of a readiness list passed over with a reason. G5: the reason
//! for a later skill is asked beside its field, kept and told on.

use super::{denied, newest, same};
use crate::lap::{DISTANCE, NEAR, Step, Team, Track};
use crate::people::PASSWORD;
use crate::world::World;

/// The list of the track with one item that is not there yet.
fn but<'a>(track: &'a Track, open: &str, fields: &mut Vec<(String, &'a str)>) {
    fields.extend(
        track.readiness.iter().map(|item| (format!("item_{item}"), if *item == open { "not_yet" } else { "yes" })),
    );
}

/// What no reason passes: the safety rules and the student's own agreement.
const NEVER: [&str; 4] = ["sun_rule", "stand_still_rule", "sun_and_fire_rule", "agrees_to_try"];

#[tokio::test]
async fn g3_one_item_is_passed_over_with_a_reason_and_never_a_safety_rule() {
    for (track, item, words) in [
        (&DISTANCE, "holding_and_bracing", "holds the device and braces the arm"),
        (&NEAR, "light_and_care", "switches the light and takes care of the device"),
    ] {
        let world = World::new().await;
        let team = Team::up_to(&world, track, Step::Lent).await;
        let path = team.at(&format!("/training/readiness/{}", track.code));
        let page = team.teacher.opens(&path).await.ok();
        let offered = page.choices_of("passed");
        assert!(offered.iter().any(|one| one == item) && NEVER.iter().all(|one| !offered.iter().any(|has| has == one)));
        let mut fields = Vec::new();
        but(track, item, &mut fields);
        let list: Vec<(&str, &str)> = fields.iter().map(|(name, mark)| (name.as_str(), *mark)).collect();
        let list = [&list[..], &[("agreed_words", "Yes, show me"), ("do", "sign")]].concat();
        let with = |more: &[(&'static str, &'static str)]| [&list[..], more].concat();
        let before = world.content().await;
        team.teacher.submits(&path, &with(&[])).await.refused(&format!("item_{item}"));
        team.teacher.submits(&path, &with(&[("passed", item)])).await.refused("passed_reason");
        team.teacher.submits(&path, &with(&[("passed", item), ("passed_reason", "  ")])).await.refused("passed_reason");
        team.teacher.submits(&path, &with(&[("passed_reason", "Rests it on the desk")])).await.refused("passed");
        team.teacher.submits(&path, &with(&[("passed", "all_of_it"), ("passed_reason", "No")])).await.refused("passed");
        // Sent straight, what the page does not offer is refused beside the field.
        for never in NEVER.iter().filter(|never| track.readiness.contains(never)) {
            let mut open = Vec::new();
            but(track, never, &mut open);
            let mut open: Vec<(&str, &str)> = open.iter().map(|(name, mark)| (name.as_str(), *mark)).collect();
            open.extend([("agreed_words", "Yes"), ("do", "sign"), ("passed", never), ("passed_reason", "Later")]);
            team.teacher.submits(&path, &open).await.refused("passed").sees("cannot be passed over");
        }
        // One item, not two.
        let second = track.readiness.iter().find(|one| **one != item && !NEVER.contains(one)).expect("another item");
        let mut two = with(&[("passed", item), ("passed_reason", "Rests it on the desk")]);
        let field = format!("item_{second}");
        two.retain(|(name, _)| *name != field);
        two.push((&field, "not_yet"));
        team.teacher.submits(&path, &two).await.refused(&field);
        let good = with(&[("passed", item), ("passed_reason", "Rests it on the desk")]);
        denied(&world, &[&team.classroom, &team.parent, &team.clinician], &path, &good).await;
        same(&world, &before, &path).await;
        team.teacher.submits(&path, &good).await.redirected_to();
        for page in ["/training", &format!("/training/readiness/{}", track.code)] {
            let page = team.teacher.opens(&team.at(page)).await.ok().sees(words);
            page.sees("Passed over with a reason").sees("Rests it on the desk");
        }
        team.trains(track).await;
    }
}

#[tokio::test]
async fn g5_the_reason_stands_in_the_session_in_progress_and_in_the_summary() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::Ready).await;
    let loan = format!("loan:{}", newest(&world, &team, "loan").await);
    let new = team.at("/training/new?track=distance");
    // Beside the field: what is not steady yet, in its order.
    let page = team.teacher.opens(&new).await.ok();
    page.clone().sees("not steady yet: focusing, spotting, scanning, tracing and tracking. The reason is kept.");
    let fields = [
        ("device", loan.as_str()),
        ("minutes", "20"),
        ("place", "gym"),
        ("body", "seated"),
        ("e1_skill", "tracking"),
        ("e1_tries", "6"),
        ("e1_right", "4"),
        ("e1_prompt", "5"),
    ];
    let page = team.teacher.presses_on(&page, "Save the session", &fields).await.refused("order_reason");
    assert!(page.error_for("order_reason").is_some_and(|words| words.contains("Focusing comes before tracking")));
    assert_eq!(page.value_of("e1_right").as_deref(), Some("4"));
    let reason = "The relay race is on Friday";
    let kept = team.teacher.presses_on(&page, "Save the session", &[("order_reason", reason)]).await;
    team.teacher.follows(&kept).await.ok().sees("Why a later skill came first").sees(reason);
    let table = team.teacher.opens(&team.at("/training")).await.ok().table("Sessions, distance track");
    assert!(table.rows[0][3].contains("tracking (out of order: The relay race is on Friday)"), "{:?}", table.rows);
    // A probe with the device and a session without one ask for none.
    let probe = [&fields[..], &[("baseline", "yes")]].concat();
    team.teacher.presses(&new, "Save the session", &probe).await.redirected_to();
    let mut bare = fields.to_vec();
    bare[0].1 = "none";
    team.teacher.presses(&new, "Save the session", &bare).await.redirected_to();
    // In the figures that the clinician reads.
    world.days_later(1).await;
    team.trains(track).await;
    let draft = team.drafts_summary(track).await;
    let page = team.teacher.opens(&format!("{draft}/preview")).await.ok();
    page.sees("A later skill first, with a reason").sees("1 session").sees(reason);
    team.teacher.presses(&format!("{draft}/preview"), "Sign and send", &[("password", PASSWORD)]).await.redirected_to();
    team.clinician.opens(&draft).await.ok().sees("out of order: The relay race is on Friday");
}
