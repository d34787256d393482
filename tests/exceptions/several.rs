//! Several devices recommended, lent, prescribed and received on one track, both
//! tracks at once, and a second prescription.

use super::{closed, id_in, lends, newest, session, tag_of};
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

/// Besides the stand magnifier of the near lap: a dome for pages lying flat.
const DOME: [(&str, &str); 4] = [("kind", "dome_magnifier"), ("equivalent", "8"), ("lens", "65"), ("eye", "both")];

fn prefixed(prefix: &str, fields: &[(&'static str, &'static str)]) -> Vec<(String, &'static str)> {
    fields.iter().map(|(name, value)| (format!("{prefix}{name}"), *value)).collect()
}

fn borrowed<'a>(fields: &'a [(String, &'static str)]) -> Vec<(&'a str, &'a str)> {
    fields.iter().map(|(name, value)| (name.as_str(), *value)).collect()
}

/// A team whose clinician recommends two devices on the near track, and both lent.
/// Gives the codes of the two loans: the stand, then the dome.
async fn with_two(world: &World) -> (Team, String, String) {
    let team = Team::up_to(world, &NEAR, Step::Asked).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let draft = team.evaluates(&NEAR).await;
    let second = prefixed("device_2_", &DOME);
    team.clinician.presses(&format!("{draft}/edit/near"), "Save and go on", &borrowed(&second)).await.redirected_to();
    team.signs_evaluation(&draft).await;
    let stand = team.stocks_match(world, &NEAR).await;
    let dome = team.stocks(world, &DOME).await;
    lends(&team, &NEAR, id_in(&stand), &[]).await.redirected_to();
    let stand = format!("loan:{}", newest(world, &team, "loan").await);
    lends(&team, &NEAR, id_in(&dome), &[]).await.redirected_to();
    let dome = format!("loan:{}", newest(world, &team, "loan").await);
    assert_ne!(stand, dome);
    (team, stand, dome)
}

#[tokio::test]
async fn any_of_several_recommended_devices_will_do_and_every_form_names_which_is_which() {
    let world = World::new().await;
    let (team, stand, dome) = with_two(&world).await;
    let page = team.teacher.opens(&team.at("/devices")).await.ok().sees("Any of these will do.");
    page.sees("16 D stand magnifier").sees("8 D dome magnifier");
    // A third kind that was not recommended is none of them.
    let other = team.stocks(&world, NEAR.other_device).await;
    let (today, due) = (world.day(0), world.day(30));
    let terms = [("device", id_in(&other)), ("eye", "both"), ("lent_on", &today), ("due_on", &due)];
    let terms = [
        &terms[..],
        &[("condition", "good"), ("purpose", "trial"), ("home_use", "no")],
        &[("agreement_by", "school"), ("held_by", "student")],
    ]
    .concat();
    closed(&world, &team, (&team.teacher, "/devices/lend/near"), &terms, "the kind is another").await;
    team.is_ready(&NEAR).await;
    let form = team.teacher.opens(&team.at("/training/new?track=near")).await.ok();
    let offered = form.choices_named("device");
    let of = |code: &str| offered.iter().find(|(value, _)| value == code).map(|(_, words)| words.clone());
    assert!(of(&stand).is_some_and(|words| words.starts_with("16 D stand magnifier, loan ")), "{offered:?}");
    assert!(of(&dome).is_some_and(|words| words.starts_with("8 D dome magnifier, loan ")), "{offered:?}");
    for device in [&stand, &dome] {
        session(&team, &NEAR, device, &today).await.redirected_to();
    }
    // A class and a family read the word without the figure, and still which is which.
    for person in [&team.classroom, &team.parent] {
        let form = person.opens(&team.at("/observations/new")).await.ok();
        let words: Vec<String> = form.choices_named("device").into_iter().map(|(_, words)| words).collect();
        assert_eq!(words.len(), 2, "{words:?}");
        assert!(words.iter().any(|one| one.starts_with("Stand magnifier")), "{words:?}");
        assert!(words.iter().any(|one| one.starts_with("Dome magnifier")), "{words:?}");
    }
}

#[tokio::test]
async fn each_of_several_prescribed_devices_is_received_on_its_own_and_replaces_its_own_kind() {
    let world = World::new().await;
    let (team, stand, dome) = with_two(&world).await;
    team.is_ready(&NEAR).await;
    for device in [&stand, &dome] {
        session(&team, &NEAR, device, &world.day(0)).await.redirected_to();
    }
    world.passes(jiff::SignedDuration::from_mins(1));
    let summary = team.drafts_summary(&NEAR).await;
    team.sends_summary(&summary).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    team.decides(&world, &NEAR, "finalise").await;
    let draft = team.drafts_prescription(&world).await;
    team.signs_prescription(&draft).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let form = team.parent.opens(&team.at("/devices")).await.ok().link("Record a device that arrived");
    let came = [("received_by", "Solveig"), ("condition", "new")];
    let receives = async |device: &[(&str, &str)], tag: &str| {
        let fields = [device, &came, &[("tag", tag)]].concat();
        team.parent.presses(&form, "Save what arrived", &fields).await.redirected_to();
        format!("own:{}", newest(&world, &team, "own_device").await)
    };
    // A stand of another power is nearest to the stand prescribed, not to the dome.
    let wrong = [("kind", "stand_magnifier"), ("equivalent", "20"), ("eye", "both")];
    let own_wrong = receives(&wrong, "ST-0").await;
    team.parent.opens(&team.at("/devices")).await.ok().sees("Not as prescribed: the power is another");
    let settle = team.at(&format!("/devices/own/{}/settle", own_wrong.trim_start_matches("own:")));
    let page = team.clinician.opens(&settle).await.ok().sees("What arrived beside prescribed device 2");
    let refused = [("verdict", "refused"), ("reason", "Too strong for a whole line")];
    team.clinician.presses_on(&page, "Settle it", &refused).await.redirected_to();
    let own_stand = receives(NEAR.device, "ST-1").await;
    let page = team.teacher.opens(&team.at("/devices")).await.ok().sees("16 D stand magnifier, ST-1");
    assert_eq!(page.seen().matches("Own device instead").count(), 1);
    assert_eq!(page.seen().matches("Matches the recommendation").count(), 1);
    world.days_later(1).await;
    let today = world.day(0);
    session(&team, &NEAR, &stand, &today).await.blocked("own device now");
    session(&team, &NEAR, &dome, &today).await.redirected_to();
    session(&team, &NEAR, &own_stand, &today).await.redirected_to();
    // The dome arrives; its loan is due, too, and all three pages name both.
    let own_dome = receives(&DOME, "DO-2").await;
    world.days_later(1).await;
    let today = world.day(0);
    session(&team, &NEAR, &dome, &today).await.blocked("own device now");
    for device in [&own_stand, &own_dome] {
        session(&team, &NEAR, device, &today).await.redirected_to();
    }
    let form = team.teacher.opens(&team.at("/training/new?track=near")).await.ok();
    let offered = form.choices_named("device");
    assert!(offered.contains(&(own_stand.clone(), "Own 16 D stand magnifier".to_owned())), "{offered:?}");
    assert!(offered.contains(&(own_dome.clone(), "Own 8 D dome magnifier".to_owned())), "{offered:?}");
    let form = team.classroom.opens(&team.at("/observations/new")).await.ok();
    let words: Vec<String> = form.choices_named("device").into_iter().map(|(_, words)| words).collect();
    assert_eq!(words.iter().filter(|one| one.starts_with("Own ")).count(), 2, "{words:?}");
    // One in repair: training goes on with the other, and its loan alone is open.
    let id = own_dome.trim_start_matches("own:");
    let repair = team.at(&format!("/devices/own/{id}/repair"));
    team.parent.presses(&repair, "Record the repair", &[("reason", "Scratched")]).await.redirected_to();
    world.days_later(1).await;
    let today = world.day(0);
    session(&team, &NEAR, &dome, &today).await.redirected_to();
    session(&team, &NEAR, &stand, &today).await.blocked("own device now");
    session(&team, &NEAR, &own_stand, &today).await.redirected_to();
    session(&team, &NEAR, &own_dome, &today).await.blocked("in repair on that day");
}

#[tokio::test]
async fn both_tracks_go_on_side_by_side_and_neither_touches_the_other() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    let telescope = format!("loan:{}", newest(&world, &team, "loan").await);
    world.passes(jiff::SignedDuration::from_mins(1));
    // The next evaluation looks at the near track only.
    let draft = team.evaluates(&NEAR).await;
    team.signs_evaluation(&draft).await;
    let page = team.teacher.opens(&team.at("")).await.ok().lacks("A loan is due back");
    assert_eq!(page.stages(), ["Distance: training on loan", "Near: waiting for a loan"]);
    let stand = team.stocks_match(&world, &NEAR).await;
    lends(&team, &NEAR, id_in(&stand), &[]).await.redirected_to();
    let near = format!("loan:{}", newest(&world, &team, "loan").await);
    let today = world.day(0);
    session(&team, &DISTANCE, &telescope, &today).await.redirected_to();
    // G3 stands on each track; and a loan of one is no device of the other.
    session(&team, &NEAR, &near, &today).await.blocked("Finish and sign the readiness list of this track");
    team.is_ready(&NEAR).await;
    session(&team, &NEAR, &near, &today).await.redirected_to();
    session(&team, &NEAR, &telescope, &today).await.blocked("not on loan");
    let form = team.teacher.opens(&team.at("/training/new?track=near")).await.ok();
    assert_eq!(form.choices_of("device"), [near.as_str(), "none"]);
    // Each is told with its track, and their tags are their own.
    let tag = tag_of(&team, &stand).await;
    let page = team.teacher.opens(&team.at("/devices")).await.ok().sees(&tag);
    page.sees("Distance track").sees("Near track");
}

#[tokio::test]
async fn a_second_prescription_with_the_same_device_keeps_it_and_another_waits_for_its_own() {
    let world = World::new().await;
    let track = &DISTANCE;
    let team = Team::up_to(&world, track, Step::OwnDevice).await;
    world.days_later(3).await;
    let own = format!("own:{}", newest(&world, &team, "own_device").await);
    // The same device once more: it stays the device of the track.
    let draft = team.drafts_prescription(&world).await;
    team.signs_prescription(&draft).await;
    team.teacher.opens(&team.at("")).await.ok().sees("Own device.");
    session(&team, track, &own, &world.day(0)).await.redirected_to();
    world.passes(jiff::SignedDuration::from_mins(1));
    // Another device, with a reason, since no summary covers it.
    let draft = team.drafts_prescription(&world).await;
    let stronger = [
        ("distance_first_power", "8"),
        ("distance_first_objective", "21"),
        ("distance_first_field", "7"),
        ("no_summary_reason", "Tried in the clinic for an hour"),
    ];
    team.clinician.presses(&draft, "Save the draft", &stronger).await.redirected_to();
    let fields = [("password", PASSWORD)];
    let preview = format!("{draft}/preview");
    team.clinician.presses(&preview, "Sign the prescription", &fields).await.redirected_to();
    let page = team.teacher.opens(&team.at("")).await.ok().sees("Prescribed, awaiting the device");
    page.sees("Record the device when it arrives");
    let page = team.parent.opens(&team.at("/devices")).await.ok().sees("Not in force");
    let form = page.link("Record a device that arrived");
    let arrived = [
        ("kind", "handheld_monocular"),
        ("power", "8"),
        ("objective", "21"),
        ("eye", "right"),
        ("tag", "SN-9000"),
        ("received_by", "Solveig"),
        ("condition", "new"),
    ];
    team.parent.presses(&form, "Save what arrived", &arrived).await.redirected_to();
    let page = team.parent.opens(&team.at("/devices")).await.ok();
    assert_eq!(page.seen().matches("Own device in force").count(), 1);
    page.sees("8× telescope, SN-9000").sees("6× telescope, SN-4711").sees("Not in force");
    world.days_later(1).await;
    let second = format!("own:{}", newest(&world, &team, "own_device").await);
    session(&team, track, &second, &world.day(0)).await.redirected_to();
    session(&team, track, &own, &world.day(0)).await.blocked("Another device of the student's own");
}
