//! Odd sets of entries, without a page: a sensible answer or a plain "not enough".

use farpoint::care::evidence::{Entry, Gathered, Helped, Known, Left, Question, Source, gather};
use farpoint::care::ids::{AccountId, ObservationId};
use farpoint::care::observation::{DeviceOut, Graded, Outcome, Setting};
use farpoint::care::sight::Sight;
use farpoint::care::track::Track;
use farpoint::vision::stats::everyday::threshold::Telling;
use farpoint::vision::units::{Metres, Millimetres};
use jiff::civil::date;
use uuid::Uuid;

fn id(number: usize) -> Uuid {
    Uuid::from_u128(number as u128 + 1)
}

/// An entry without a device: so many days after the first, so tall, from 5 m.
fn entry(number: usize, day: i8, height_mm: f64, outcome: Outcome) -> Entry {
    Entry {
        source: Source::Observation(ObservationId::of(id(number))),
        on: date(2026, 9, 1 + day),
        by: AccountId::of(id(0)),
        setting: Setting::Classroom,
        track: Some(Track::Distance),
        task: None,
        device_out: DeviceOut::NotNeeded,
        device: None,
        non_use: None,
        distance: Some(Metres::literal(5.0)),
        x_height: Some(Millimetres::new(height_mm).expect("a height")),
        contrast: None,
        target: None,
        choices: None,
        outcome,
        helped: Helped::Alone,
        comfort: None,
        in_error: false,
        unit_asked: false,
    }
}

fn counted(right: i64, tried: i64) -> Outcome {
    Outcome::counted(right, tried).expect("a count")
}

fn pooled(entries: Vec<Entry>) -> Gathered {
    let known = Known { entries, ..Known::default() };
    let sight = Sight::unknown();
    gather(&Question { track: Track::Distance, known: &known, sight: &sight, tasks: &[], seats: &[] })
}

fn telling(entries: Vec<Entry>) -> Telling {
    let rows = pooled(entries).rows().expect("figures");
    for row in &rows {
        let found = &row.threshold;
        let figures = [found.mean, found.deviation, found.interval.low, found.interval.high, row.needed.never];
        assert!(figures.iter().all(|figure| figure.is_finite()), "{figures:?}");
    }
    rows.into_iter().next().expect("a row").threshold.telling
}

#[test]
fn all_right_is_told_from_one_side() {
    let all = (0..6).map(|at| entry(at, at as i8 / 2, 60.0, counted(10, 10))).collect();
    assert!(matches!(telling(all), Telling::AtLeast(_)));
}

#[test]
fn all_wrong_is_told_from_the_other_side() {
    let all = (0..6).map(|at| entry(at, at as i8 / 2, 60.0, counted(0, 10))).collect();
    assert!(matches!(telling(all), Telling::MoreThan(_)));
}

#[test]
fn one_entry_is_not_enough() {
    assert!(matches!(telling(vec![entry(0, 0, 60.0, counted(6, 10))]), Telling::NotYet(_)));
}

#[test]
fn ten_thousand_alike_are_answered_and_not_enough_to_bracket() {
    let all = (0..10_000).map(|at| entry(at, (at % 25) as i8, 60.0, counted(6, 10))).collect();
    assert!(matches!(telling(all), Telling::NotYet(_)));
}

#[test]
fn nothing_at_all_has_no_row() {
    let found = pooled(Vec::new());
    assert!(!found.is_seen());
    assert!(found.rows().expect("figures").is_empty());
    assert!(found.apart().expect("figures").is_empty());
    assert!(found.overall().expect("figures").is_empty());
}

#[test]
fn settings_that_contradict_each_other_are_said_to_disagree() {
    let mut all = Vec::new();
    for at in 0..24_usize {
        let day = at as i8 / 2;
        let tall = 40.0 + 20.0 * (at % 4) as f64;
        let right = [1, 4, 8, 10][at % 4];
        all.push(entry(at, day, tall, counted(right, 10)));
        // At home the same shares at letters two and a half times as tall.
        let home = Entry { setting: Setting::Home, ..entry(100 + at, day, 2.5 * tall, counted(right, 10)) };
        all.push(home);
    }
    let found = pooled(all).apart().expect("figures");
    let [apart] = &found[..] else { panic!("{} pairs", found.len()) };
    assert_eq!(apart.settings, (Setting::Classroom, Setting::Home));
    assert!(apart.disagree(), "{:?}", apart.compared.finding);
}

#[test]
fn what_may_not_stand_in_a_figure_is_counted_with_its_reason() {
    let base = || entry(0, 0, 60.0, counted(6, 10));
    let mut cases = vec![
        (Entry { helped: Helped::Helped, ..base() }, Left::Helped),
        (Entry { helped: Helped::NotSaid, ..base() }, Left::HelpNotSaid),
        (Entry { in_error: true, ..base() }, Left::InError),
        (Entry { unit_asked: true, ..base() }, Left::UnitAsked),
        (Entry { device_out: DeviceOut::ChoseNot, ..base() }, Left::Refused),
        (Entry { outcome: Outcome::Graded(Graded::DidNotTry), ..base() }, Left::Refused),
        (Entry { outcome: Outcome::Graded(Graded::NotSure), ..base() }, Left::NotSure),
        (Entry { device_out: DeviceOut::Yes, ..base() }, Left::WhichDevice),
        (Entry { distance: None, ..base() }, Left::NoSize),
        (Entry { x_height: None, ..base() }, Left::NoSize),
        (Entry { outcome: counted(300, 400), ..base() }, Left::OffScale),
        (Entry { distance: Some(Metres::literal(0.01)), ..base() }, Left::OffScale),
    ];
    let (alone, _) = cases.swap_remove(0);
    assert!(pooled(vec![Entry { helped: Helped::Alone, ..alone }]).is_seen(), "the entry itself counts");
    for (entry, why) in cases {
        let found = pooled(vec![entry]);
        assert!(!found.is_seen(), "{why}");
        assert_eq!(found.left.keys().collect::<Vec<_>>(), [&why]);
    }
}

#[test]
fn two_adults_who_tallied_one_task_on_one_day_count_half_each() {
    let task = Some(farpoint::care::ids::VisualTaskId::of(id(7)));
    let one = Entry { task, ..entry(0, 0, 60.0, counted(6, 10)) };
    let other = Entry { by: AccountId::of(id(9)), task, ..entry(1, 0, 60.0, counted(5, 10)) };
    let found = pooled(vec![one, other]);
    let weights: Vec<f64> = found
        .lines
        .iter()
        .flat_map(|line| &line.cells)
        .flat_map(|cell| &cell.observations)
        .map(|seen| seen.weight())
        .collect();
    assert_eq!(weights, [0.5, 0.5]);
}
