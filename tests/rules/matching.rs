//! When one device may stand for another (G4), and when it is the one
//! prescribed (G6).

use farpoint::care::device::{DeviceSpec, Difference, Match, Warning, matches, receipt_differences};
use farpoint::care::track::{DeviceKind, Eye, Track};
use farpoint::vision::units::{Degrees, Dioptres, Magnification, Metres};

use super::story::{magnifier, telescope};

fn far(recommended: &DeviceSpec, lent: &DeviceSpec) -> Match {
    matches(Track::Distance, recommended, lent, &[])
}

fn near(recommended: &DeviceSpec, lent: &DeviceSpec) -> Match {
    matches(Track::Near, recommended, lent, &[])
}

#[test]
fn the_power_may_lie_from_0_8_to_1_25_times_and_no_further() {
    for recommended in [2.75, 3.0, 4.0, 6.0, 7.0, 8.0, 10.0] {
        for (share, holds) in
            [(0.8, true), (1.0, true), (1.25, true), (0.799_999, false), (1.250_001, false), (0.5, false), (2.0, false)]
        {
            let lent = telescope(recommended * share, 16.0);
            assert_eq!(far(&telescope(recommended, 16.0), &lent).holds(), holds, "{recommended} times {share}");
        }
    }
    // As the trade writes them: 4.8 for 6, 7.5 for 6.
    assert!(far(&telescope(6.0, 16.0), &telescope(4.8, 16.0)).holds());
    assert!(far(&telescope(6.0, 16.0), &telescope(7.5, 16.0)).holds());
    assert!(!far(&telescope(6.0, 16.0), &telescope(8.0, 16.0)).holds());
}

#[test]
fn a_magnifier_is_compared_by_its_equivalent_power() {
    let twenty = magnifier(DeviceKind::HandMagnifier, 20.0);
    for (dioptres, holds) in [(16.0, true), (25.0, true), (15.9, false), (25.1, false)] {
        assert_eq!(near(&twenty, &magnifier(DeviceKind::HandMagnifier, dioptres)).holds(), holds);
    }
    // A label says 5x; it is compared with nothing.
    let mut labelled = DeviceSpec::of(DeviceKind::HandMagnifier);
    labelled.power = Some(Magnification::literal(5.0));
    assert_eq!(near(&twenty, &labelled), Match::Differs(vec![Difference::PowerNotStated]));
}

#[test]
fn another_kind_never_matches() {
    assert_eq!(
        near(&magnifier(DeviceKind::HandMagnifier, 20.0), &magnifier(DeviceKind::StandMagnifier, 20.0)),
        Match::Differs(vec![Difference::Kind])
    );
}

#[test]
fn a_power_not_stated_on_either_side_does_not_match() {
    let six = telescope(6.0, 16.0);
    let mut silent = six.clone();
    silent.power = None;
    let differs = Match::Differs(vec![Difference::PowerNotStated]);
    assert_eq!(far(&six, &silent), differs);
    assert_eq!(far(&silent, &six), differs);
    assert_eq!(far(&silent, &silent), differs);
}

#[test]
fn other_parts_not_stated_are_not_compared() {
    let six = telescope(6.0, 16.0);
    let mut bare = DeviceSpec::of(DeviceKind::HandheldMonocular);
    bare.power = six.power;
    assert_eq!(far(&bare, &six), Match::Matches(vec![]));
    assert_eq!(far(&six, &bare), Match::Matches(vec![]));
}

#[test]
fn the_eye_is_the_same_unless_one_says_either() {
    use Eye::*;
    for (wanted, given, holds) in [
        (Some(Right), Some(Right), true),
        (Some(Right), Some(Left), false),
        (Some(Right), Some(Both), false),
        (Some(Both), Some(Both), true),
        (Some(Either), Some(Left), true),
        (Some(Left), Some(Either), true),
        (None, Some(Left), true),
        (Some(Left), None, true),
    ] {
        let mut recommended = telescope(6.0, 16.0);
        recommended.eye = wanted;
        let mut lent = telescope(6.0, 16.0);
        lent.eye = given;
        assert_eq!(far(&recommended, &lent).holds(), holds, "{wanted:?} {given:?}");
    }
}

#[test]
fn a_field_that_differs_by_more_than_two_degrees_warns_and_does_not_stop() {
    let mut lent = telescope(6.0, 16.0);
    for (field, warns) in [(8.0, false), (12.0, false), (7.9, true), (12.1, true)] {
        lent.true_field = Some(Degrees::new(field).unwrap());
        let expected = if warns { vec![Warning::Field] } else { vec![] };
        assert_eq!(far(&telescope(6.0, 16.0), &lent), Match::Matches(expected), "{field}");
    }
}

#[test]
fn a_nearest_focus_beyond_the_task_warns_and_does_not_stop() {
    let six = telescope(6.0, 16.0);
    let mut lent = six.clone();
    lent.near_focus = Some(Metres::literal(2.0));
    let at = |tasks: &[Metres]| matches(Track::Distance, &six, &lent, tasks);
    let (board, desk) = (Metres::literal(4.0), Metres::literal(1.5));
    assert_eq!(at(&[board]), Match::Matches(vec![]));
    assert_eq!(at(&[Metres::literal(2.0)]), Match::Matches(vec![]));
    assert_eq!(at(&[board, desk]), Match::Matches(vec![Warning::NearFocus]));
    lent.near_focus = None;
    assert_eq!(matches(Track::Distance, &six, &lent, &[desk]), Match::Matches(vec![]));
}

#[test]
fn what_arrived_is_the_prescribed_device_only_if_every_named_part_is() {
    let six = telescope(6.0, 16.0);
    let differ = |received: &DeviceSpec| receipt_differences(Track::Distance, &six, received);
    assert_eq!(differ(&six), vec![]);
    // Within the tolerance of a loan, but not what was prescribed.
    assert_eq!(differ(&telescope(6.5, 16.0)), vec![Difference::Power]);
    assert_eq!(differ(&telescope(6.0, 17.0)), vec![Difference::Objective]);
    let mut other = six.clone();
    other.eye = Some(Eye::Left);
    assert_eq!(differ(&other), vec![Difference::Eye]);
    other = six.clone();
    other.objective = None;
    assert_eq!(differ(&other), vec![Difference::ObjectiveNotStated]);
    other = six.clone();
    other.power = None;
    assert_eq!(differ(&other), vec![Difference::PowerNotStated]);
    // The field is no part of the comparison.
    other = six.clone();
    other.true_field = Some(Degrees::literal(4.0));
    assert_eq!(differ(&other), vec![]);
}

#[test]
fn a_near_device_is_received_by_its_equivalent_power() {
    let twelve = magnifier(DeviceKind::StandMagnifier, 12.0);
    let differ = |received: &DeviceSpec| receipt_differences(Track::Near, &twelve, received);
    assert_eq!(differ(&twelve), vec![]);
    assert_eq!(differ(&magnifier(DeviceKind::StandMagnifier, 12.5)), vec![Difference::Power]);
    assert_eq!(differ(&magnifier(DeviceKind::DomeMagnifier, 12.0)), vec![Difference::Kind]);
}

#[test]
fn a_kind_stands_on_the_tracks_of_the_contract() {
    let on =
        |spec: &DeviceSpec| Track::ALL.iter().copied().filter(|track| spec.may_stand_on(*track)).collect::<Vec<_>>();
    let mut scope = telescope(6.0, 16.0);
    assert_eq!(on(&scope), [Track::Distance]);
    scope.reading_cap = Some(Dioptres::literal(4.0));
    assert_eq!(on(&scope), [Track::Distance, Track::Near]);
    for kind in
        [DeviceKind::HandMagnifier, DeviceKind::HighAdd, DeviceKind::ElectronicHandheld, DeviceKind::DomeMagnifier]
    {
        assert_eq!(on(&DeviceSpec::of(kind)), [Track::Near], "{kind}");
    }
    assert_eq!(on(&DeviceSpec::of(DeviceKind::FilterLens)), []);
}
