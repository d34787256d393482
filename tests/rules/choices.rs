//! Closed lists keep their promises, and cautions stand where the act is.

use farpoint::care::caution::{Caution, Occasion, cautions};
use farpoint::care::codes::{UnknownCode, sound};
use farpoint::care::consent::{Category, Direction, Given};
use farpoint::care::device::{Condition, Difference, Warning};
use farpoint::care::flag::Sign;
use farpoint::care::gates::Gate;
use farpoint::care::journey::Stage;
use farpoint::care::journey::fact::{Choice, Receipt, Safe, Source, Verdict};
use farpoint::care::journey::overlay::Change;
use farpoint::care::journey::step::{Act, Screen, Whose};
use farpoint::care::readiness::{Item, Mark};
use farpoint::care::skill::{Prompt, Skill};
use farpoint::care::track::{DeviceKind, Eye, Light, Track, WithGlasses};

macro_rules! each_member_keeps_its_code {
    ($($list:ty),+ $(,)?) => {$({
        for member in <$list>::ALL {
            assert_eq!(member.code().parse(), Ok(*member));
            assert_eq!(member.to_string(), member.words());
            let json = serde_json::to_string(member).unwrap();
            assert_eq!(json, format!("\"{}\"", member.code()));
            assert_eq!(serde_json::from_str::<$list>(&json).unwrap(), *member);
        }
        let unknown = "no_such_code".parse::<$list>();
        assert_eq!(unknown, Err(UnknownCode { list: stringify!($list) }));
        assert!(serde_json::from_str::<$list>("\"no_such_code\"").is_err());
    })+};
}

#[test]
fn every_choice_reads_back_from_its_code() {
    each_member_keeps_its_code!(
        Track,
        DeviceKind,
        Eye,
        WithGlasses,
        Light,
        Condition,
        Difference,
        Warning,
        Stage,
        Source,
        Safe,
        Choice,
        Receipt,
        Verdict,
        Change,
        Whose,
        Screen,
        Act,
        Direction,
        Category,
        Given,
        Item,
        Mark,
        Skill,
        Prompt,
        Sign,
        Caution,
        Occasion,
        Gate,
    );
}

#[test]
fn codes_that_repeat_or_are_not_snake_case_are_unsound() {
    assert!(sound(&["quiet_room", "hallway", "rf1"]));
    assert!(!sound(&["hallway", "hallway"]));
    for code in ["", "Quiet", "quiet room", "quiet-room", "caf\u{e9}"] {
        assert!(!sound(&[code]), "{code}");
    }
}

#[test]
fn the_sun_rule_and_the_stand_still_rule_are_everywhere_a_lens_is() {
    for kind in DeviceKind::ALL {
        let lens = kind.is_telescope() || kind.is_magnifier();
        for occasion in Occasion::ALL {
            let shown = cautions(*kind, *occasion);
            for rule in Caution::ALWAYS {
                assert!(!lens || shown.contains(rule), "{rule:?} for {kind} on {occasion}");
            }
            assert!(!shown.contains(&Caution::Seizure), "that one hangs on a medical alert");
        }
    }
}

#[test]
fn each_caution_stands_with_the_devices_and_places_it_is_about() {
    let has = |kind, occasion, caution| cautions(kind, occasion).contains(&caution);
    use DeviceKind::{FilterLens, HandMagnifier, HandheldMonocular};
    assert!(has(HandMagnifier, Occasion::Screen, Caution::Fire));
    assert!(!has(HandheldMonocular, Occasion::Screen, Caution::Fire));
    assert!(has(HandheldMonocular, Occasion::Street, Caution::Cross));
    assert!(!has(HandMagnifier, Occasion::Street, Caution::Cross));
    assert!(has(HandheldMonocular, Occasion::Loan, Caution::Share));
    assert!(has(HandheldMonocular, Occasion::Home, Caution::Adult));
    assert!(has(HandMagnifier, Occasion::Session, Caution::Rest));
    assert!(!has(FilterLens, Occasion::Card, Caution::Sun));
}
