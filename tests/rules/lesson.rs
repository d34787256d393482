//! G5 order of skills with the mastery rule, and G9 the safety pause.

use std::collections::BTreeSet;

use farpoint::care::flag::{Clearing, NOW, Note, PAUSED, Pause, SPLASH, Sign};
use farpoint::care::gates::{Gate, InOrder, Lesson, may_clear, not_paused, ready, safe_to_train, skill_in_order};
use farpoint::care::ids::{FlagId, ReadinessId, SessionId};
use farpoint::care::journey::step::Act;
use farpoint::care::readiness::SignedReadiness;
use farpoint::care::skill::{Exercise, MasteryRule, Prompt, Skill};
use farpoint::care::track::Track;

use super::story::{Story, at, day, id};

fn steady(skills: &[Skill]) -> BTreeSet<Skill> {
    skills.iter().copied().collect()
}

#[test]
fn skills_come_in_their_order() {
    for (place, skill) in Skill::ORDER.iter().enumerate() {
        let before = steady(&Skill::ORDER[..place]);
        let token = skill_in_order(*skill, Lesson::WithDevice, &before, None).unwrap();
        assert_eq!((token.skill(), token.order()), (*skill, &InOrder::EarlierSteady));
        // Any one of the earlier ones missing, and the earliest is named.
        for missing in &before {
            let mut some = before.clone();
            some.remove(missing);
            let blocked = skill_in_order(*skill, Lesson::WithDevice, &some, None).unwrap_err();
            assert_eq!(blocked.gate, Gate::OrderOfSkills);
            assert!(blocked.message.starts_with(missing.words()));
        }
    }
}

#[test]
fn a_later_skill_goes_on_with_a_reason_that_is_kept() {
    let go = |reason| skill_in_order(Skill::Tracing, Lesson::WithDevice, &steady(&[Skill::Focusing]), reason);
    let token = go(Some(" ball game on Friday ")).unwrap();
    match token.order() {
        InOrder::Reason { before, reason } => {
            assert_eq!((*before, reason.as_str()), (Skill::Spotting, "ball game on Friday"));
        }
        other => panic!("{other:?}"),
    }
    assert!(go(Some("   ")).is_err());
    assert!(go(None).is_err());
}

#[test]
fn probes_after_readiness_and_sessions_without_a_device_need_no_order() {
    let safe = safe_to_train(&Story::in_training().end()).unwrap();
    let list = SignedReadiness { id: id(ReadinessId::of, 1), track: Track::Distance, signed_on: day("2027-01-25") };
    let baseline = Lesson::Baseline(ready(safe, &[list]).unwrap());
    for lesson in [baseline, Lesson::WithoutDevice] {
        let token = skill_in_order(Skill::RealSetting, lesson, &BTreeSet::new(), None).unwrap();
        assert_eq!(token.order(), &InOrder::NoOrder);
    }
    // Without a signed list there is no token to make a probe of.
    assert!(ready(safe, &[]).is_err());
}

#[test]
fn handling_copying_stamina_and_choosing_have_no_order() {
    for skill in [Skill::Handling, Skill::Copying, Skill::Stamina, Skill::Choosing] {
        let token = skill_in_order(skill, Lesson::WithDevice, &BTreeSet::new(), None).unwrap();
        assert_eq!(token.order(), &InOrder::NoOrder);
    }
}

/// `(session, day, place, level, right, tried)` of spotting.
fn met(rows: &[(u128, &str, &'static str, Prompt, u32, u32)]) -> bool {
    let exercises: Vec<_> = rows
        .iter()
        .map(|(session, on, place, prompt, right, tried)| Exercise {
            session: id(SessionId::of, *session),
            on: day(on),
            place: *place,
            skill: Skill::Spotting,
            prompt: *prompt,
            tried: *tried,
            right: *right,
        })
        .collect();
    MasteryRule::default().met(Skill::Spotting, &exercises)
}

#[test]
fn steady_is_four_of_five_in_three_sessions_two_places_and_two_dates() {
    use Prompt::{Hint, None as Alone, Told};
    let steady = [
        (1, "2027-02-01", "quiet room", Alone, 4, 5),
        (2, "2027-02-01", "hallway", Hint, 5, 5),
        (3, "2027-02-02", "quiet room", Alone, 8, 10),
    ];
    assert!(met(&steady));
    // Take away one thing at a time.
    assert!(!met(&steady[..2]));
    let mut one_place = steady;
    one_place[1].2 = "quiet room";
    assert!(!met(&one_place));
    let mut one_date = steady;
    one_date[2].1 = "2027-02-01";
    assert!(!met(&one_date));
    let mut too_much_help = steady;
    too_much_help[0].3 = Told;
    assert!(!met(&too_much_help));
    let mut three_of_five = steady;
    three_of_five[0].4 = 3;
    assert!(!met(&three_of_five));
    let mut seventy_nine = steady;
    (seventy_nine[2].4, seventy_nine[2].5) = (79, 100);
    assert!(!met(&seventy_nine));
    let mut two_of_two = steady;
    (two_of_two[0].4, two_of_two[0].5) = (2, 2);
    assert!(!met(&two_of_two));
}

#[test]
fn exercises_of_one_session_are_counted_together() {
    use Prompt::None as Alone;
    assert!(met(&[
        (1, "2027-02-01", "quiet room", Alone, 1, 2),
        (1, "2027-02-01", "quiet room", Alone, 3, 3),
        (2, "2027-02-02", "hallway", Alone, 5, 5),
        (3, "2027-02-03", "hallway", Alone, 5, 5),
    ]));
    // Three good exercises of one session are one session.
    assert!(!met(&[
        (1, "2027-02-01", "quiet room", Alone, 5, 5),
        (1, "2027-02-01", "hallway", Alone, 5, 5),
        (2, "2027-02-02", "quiet room", Alone, 5, 5),
    ]));
}

#[test]
fn a_skill_is_steady_only_by_its_own_exercises() {
    let exercises: Vec<_> = (1..=3)
        .map(|n| Exercise {
            session: id(SessionId::of, n),
            on: day(&format!("2027-02-0{n}")),
            place: n % 2,
            skill: Skill::Focusing,
            prompt: Prompt::None,
            tried: 5,
            right: 5,
        })
        .collect();
    let rule = MasteryRule::default();
    assert_eq!(rule.steady(&exercises), steady(&[Skill::Focusing]));
    assert!(!rule.met(Skill::Spotting, &exercises));
    let stricter = MasteryRule { items: 10, ..rule };
    assert!(stricter.steady(&exercises).is_empty());
}

fn raised(on: &str, cleared: Option<&str>) -> Pause {
    Pause { flag: id(FlagId::of, 1), raised_on: day(on), raised_at: at(3600), cleared_on: cleared.map(day) }
}

#[test]
fn a_red_flag_pauses_from_its_day_until_it_is_cleared() {
    let open = [raised("2027-03-08", None)];
    for (on, allowed) in [("2027-03-07", true), ("2027-03-08", false), ("2028-03-08", false)] {
        assert_eq!(not_paused(&open, day(on), None).is_ok(), allowed, "{on}");
    }
    let cleared = [raised("2027-03-08", Some("2027-03-12"))];
    assert!(not_paused(&cleared, day("2027-03-11"), None).is_err());
    assert!(not_paused(&cleared, day("2027-03-12"), None).is_ok());
    assert!(not_paused(&[raised("2027-03-08", Some("2027-03-08"))], day("2027-03-08"), None).is_ok());
    let blocked = not_paused(&open, day("2027-03-09"), None).unwrap_err();
    assert_eq!((blocked.gate, blocked.first), (Gate::SafetyPause, Act::ClearFlag));
    assert_eq!(blocked.message, PAUSED);
}

#[test]
fn one_open_flag_among_cleared_ones_still_pauses() {
    let flags = [raised("2027-03-01", Some("2027-03-02")), raised("2027-03-08", None)];
    assert!(not_paused(&flags, day("2027-03-05"), None).is_ok());
    assert!(not_paused(&flags, day("2027-03-09"), None).is_err());
}

#[test]
fn the_session_in_which_a_flag_came_up_can_be_written_down() {
    let open = [raised("2027-03-08", None)];
    assert!(not_paused(&open, day("2027-03-08"), Some(at(3599))).is_ok());
    assert!(not_paused(&open, day("2027-03-08"), Some(at(3600))).is_err());
    // An early hour of a later day is no way round.
    assert!(not_paused(&open, day("2027-03-09"), Some(at(0))).is_err());
}

#[test]
fn a_clinician_clears_a_flag_and_a_steward_only_with_a_note() {
    assert!(may_clear(Clearing::ByClinician).is_ok());
    assert!(may_clear(Clearing::BySteward(Note::Attached)).is_ok());
    let blocked = may_clear(Clearing::BySteward(Note::Missing)).unwrap_err();
    assert_eq!(blocked.first, Act::AttachNote);
}

#[test]
fn every_flag_says_the_same_and_a_splash_says_water_first() {
    assert_eq!(Sign::ALL.len(), 12);
    for sign in Sign::ALL {
        assert_eq!(sign.now().last(), Some(&NOW));
        assert_eq!(sign.now().first() == Some(&SPLASH), *sign == Sign::HitOrSplash);
    }
    for words in ["eye care today", "emergency number", "Stop using the device", "at night"] {
        assert!(NOW.contains(words), "{words}");
    }
}
