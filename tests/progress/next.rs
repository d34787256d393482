//! The next size, by its limits: aimed at four of five, near the last, never far
//! below what was passed, and said where it rests on nothing.

use std::collections::BTreeSet;

use farpoint::care::device::DeviceSpec;
use farpoint::care::progress::next::{FEW_TARGETS, NoSize, Question, TARGETS, WhySkill, WhyTargets, proposals};
use farpoint::care::sight::{AtHand, AtHandAs, Sight};
use farpoint::care::skill::{Prompt, Skill};
use farpoint::care::track::{DeviceKind, Track};
use farpoint::care::training::{Comfort, Session};
use farpoint::vision::units::Metres;

use super::{held, loan, spots};

fn question<'a>(sessions: &'a [Session], steady: &'a BTreeSet<Skill>, sight: &'a Sight) -> Question<'a> {
    Question { track: Track::Distance, sessions, steady, device: loan(), alike: &[], at_hand: None, sight, tasks: &[] }
}

#[test]
fn the_next_size_grows_after_failures_and_shrinks_after_passes() {
    let (steady, sight) = (BTreeSet::from([Skill::Focusing]), Sight::unknown());
    let alike = [loan()];
    let height = |right: u32| {
        let sessions: Vec<Session> = (0..4).map(|at| held(at, vec![spots(right, 10, 5.0, Prompt::None)])).collect();
        let asked = Question { alike: &alike, ..question(&sessions, &steady, &sight) };
        let found = proposals(&asked);
        assert_eq!((found.len(), found[0].skill, found[0].why), (1, Skill::Spotting, WhySkill::NextInOrder));
        assert_eq!((found[0].targets, found[0].why_targets), (TARGETS, WhyTargets::ToTell));
        let size = found[0].size.clone().expect("four exercises without help");
        assert!(!size.from_clinic && size.observed.len() == 4);
        assert_eq!(size.distance, Some(Metres::literal(4.0)));
        // From 4 m at 4 cm: no more than 0.2 away, in steps of 0.05 (and its rounding).
        let last = size.so_far.last.expect("a size");
        assert!((size.next.practical.get() - last.get()).abs() <= 0.2 + 0.025 + 1e-9);
        size.height.get()
    };
    let (failed, half, passed) = (height(1), height(5), height(10));
    assert!(failed > half && half > passed, "{failed} {half} {passed}");
    assert!(failed > 0.05 && passed < 0.036, "{failed} {passed}");
}

#[test]
fn a_tired_student_gets_few_targets_and_the_skill_practised_last_is_offered_too() {
    let (steady, sight) = (BTreeSet::new(), Sight::unknown());
    let alike = [loan()];
    let mut sessions = vec![held(0, vec![spots(8, 10, 5.0, Prompt::None)])];
    sessions[0].entered.comfort = Some(Comfort::Tired);
    let asked = Question { alike: &alike, ..question(&sessions, &steady, &sight) };
    let found = proposals(&asked);
    let skills: Vec<_> = found.iter().map(|one| (one.skill, one.why)).collect();
    assert_eq!(skills, [(Skill::Focusing, WhySkill::NextInOrder), (Skill::Spotting, WhySkill::PractisedLast)]);
    assert!(found.iter().all(|one| one.targets == FEW_TARGETS && one.why_targets == WhyTargets::Tired));
    // Nothing is known of focusing: no size is made up.
    assert_eq!(found[0].size.clone().err(), Some(NoSize::NothingKnown));
}

#[test]
fn exercises_with_help_and_refused_ones_move_no_size() {
    let (steady, sight) = (BTreeSet::from([Skill::Focusing]), Sight::unknown());
    let alike = [loan()];
    let plain = vec![held(0, vec![spots(8, 10, 5.0, Prompt::None)]), held(7, vec![spots(7, 10, 5.0, Prompt::None)])];
    let mut with = plain.clone();
    with.push(held(3, vec![spots(0, 10, 5.0, Prompt::Hint), spots(10, 10, 1.0, Prompt::HandOverHand)]));
    let mut refused = held(4, vec![spots(0, 10, 5.0, Prompt::None)]);
    refused.entered.refused = Some(String::new());
    with.push(refused);
    let size = |sessions: &[Session]| {
        let asked = Question { alike: &alike, ..question(sessions, &steady, &sight) };
        proposals(&asked)[0].size.clone().expect("a size").next
    };
    assert_eq!(size(&with), size(&plain));
}

#[test]
fn no_target_is_put_nearer_than_the_device_can_be_focused() {
    let (steady, sight) = (BTreeSet::from([Skill::Focusing]), Sight::unknown());
    let alike = [loan()];
    let sessions = [held(0, vec![spots(8, 10, 5.0, Prompt::None)])];
    let spec = DeviceSpec { near_focus: Metres::new(6.0).ok(), ..DeviceSpec::of(DeviceKind::HandheldMonocular) };
    let at_hand = AtHand { spec, track: Track::Distance, source: AtHandAs::Loan };
    let asked = Question { alike: &alike, at_hand: Some(&at_hand), ..question(&sessions, &steady, &sight) };
    let size = proposals(&asked)[0].size.clone().expect("a size");
    assert_eq!((size.distance, size.pushed_out), (Some(Metres::literal(6.0)), true));
}
