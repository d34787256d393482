//! When is a length of an entry odd enough to ask its writer: 5 mm or 5 cm?
//!
//! The rule and its bounds are common practice; the kinds of slip (ten times,
//! inches, feet, a hundred times) are those of the project's notes on statistics.

use farpoint::care::observation::possible::{distance_refused, pair_refused, x_height_refused};
use farpoint::care::observation::suspect::{Doubt, Known, Lengths, Which, Why, questions};
use farpoint::care::observation::{Graded, Length, Outcome};
use farpoint::care::track::Track;
use farpoint::vision::length::parse;
use farpoint::vision::length::shown::Units;
use farpoint::vision::units::Metres;
use proptest::prelude::*;

fn metres(typed: &str) -> Metres {
    parse(typed).expect("a length")
}

fn entry(track: Track, x_height: Option<&str>, distance: Option<&str>, outcome: Outcome) -> Lengths {
    Lengths {
        track,
        x_height: x_height.map(|typed| Length {
            typed: typed.to_owned(),
            value: metres(typed).in_millimetres(),
            from_task: false,
        }),
        distance: distance.map(|typed| Length { typed: typed.to_owned(), value: metres(typed), from_task: false }),
        outcome,
    }
}

const SOME: Outcome = Outcome::Graded(Graded::Some);

fn board(x_height: &str, distance: &str) -> Lengths {
    entry(Track::Distance, Some(x_height), Some(distance), SOME)
}

fn rest(entries: &[Lengths]) -> Known {
    let mut known = Known::default();
    entries.iter().for_each(|one| known.add(one));
    known
}

/// What is asked, in words.
fn asked(entry: &Lengths, known: &Known) -> Vec<String> {
    questions(entry, known).iter().map(farpoint::care::observation::suspect::Question::words).collect()
}

#[test]
fn five_millimetres_where_the_rest_says_five_centimetres_is_asked() {
    let others = [board("5 cm", "6 m"), board("4.5 cm", "6 m"), board("5 cm", "5.5 m")];
    assert_eq!(asked(&board("5 mm", "6 m"), &rest(&others)), ["5 mm or 5 cm?"]);
    assert_eq!(asked(&board("5mm", "6 m"), &rest(&others)), ["5mm or 5 cm?"]);
    assert_eq!(asked(&board("5 cm", "6 ft"), &rest(&others)), ["6 ft or 6 m?"]);
    assert_eq!(asked(&board("5 cm", "6 cm"), &rest(&others)), ["6 cm or 6 m?"]);
    let both = board("5 mm", "6 ft");
    assert_eq!(asked(&both, &rest(&others)), ["5 mm or 5 cm?", "6 ft or 6 m?"]);
    assert!(questions(&both, &rest(&others)).iter().all(|one| one.why == Why::Rest));
}

#[test]
fn another_size_or_seat_is_no_slip_of_a_unit() {
    let others = [board("5 cm", "6 m"), board("5 cm", "6 m"), board("5 cm", "6 m")];
    for (height, far) in [("3 cm", "6 m"), ("2.5 cm", "6 m"), ("8 cm", "6 m"), ("5 cm", "3 m"), ("5 cm", "20 ft")] {
        assert_eq!(asked(&board(height, far), &rest(&others)), [""; 0], "{height} from {far}");
    }
    // Two sizes are in use: neither differs from the rest.
    let mixed = [board("5 mm", "60 cm"), board("5 cm", "6 m")];
    assert_eq!(asked(&board("5 mm", "60 cm"), &rest(&mixed)), [""; 0]);
    assert_eq!(asked(&board("5 cm", "6 m"), &rest(&mixed)), [""; 0]);
    // One other entry is no rest.
    assert_eq!(asked(&board("5 mm", "1 m"), &rest(&[board("5 cm", "1 m")])), [""; 0]);
}

#[test]
fn a_measured_task_is_rest_enough_and_what_came_from_it_is_not_asked() {
    let known = Known { task_x_height: Some(metres("5 cm")), task_distance: Some(metres("6 m")), ..Known::default() };
    assert_eq!(asked(&board("5 mm", "6 m"), &known), ["5 mm or 5 cm?"]);
    let mut copied = board("5 mm", "6 m");
    if let Some(length) = &mut copied.x_height {
        length.from_task = true;
    }
    assert_eq!(asked(&copied, &known), [""; 0]);
}

#[test]
fn what_a_thing_of_its_kind_seldom_is_is_asked_and_both_ways_are_offered() {
    let none = Known::default();
    let page = |height: &str, far: &str| entry(Track::Near, Some(height), Some(far), SOME);
    assert_eq!(asked(&page("12 cm", "30 cm"), &none), ["12 cm or 12 mm?"]);
    assert_eq!(asked(&page("3 mm", "25 m"), &none), ["25 m, 25 cm or 25 in?"]);
    assert_eq!(asked(&board("1.5 m", "6 m"), &none)[0], "1.5 m, 1.5 in or 1.5 cm?");
    assert_eq!(asked(&board("5 cm", "400 m"), &none)[0], "400 m, 400 cm or 400 in?");
    assert_eq!(questions(&board("5 cm", "400 m"), &none)[0].why, Why::Kind);
    // A page held to a strong magnifier, a label, a bus across the square.
    for ordinary in [page("1 mm", "4 cm"), page("1.5 mm", "40 cm"), board("15 cm", "60 m"), board("2 cm", "30 cm")] {
        assert_eq!(asked(&ordinary, &none), [""; 0], "{ordinary:?}");
    }
}

#[test]
fn writing_finer_than_full_sight_reads_is_asked_only_if_it_was_read() {
    let none = Known::default();
    let read = |outcome| entry(Track::Distance, Some("5 mm"), Some("6 m"), outcome);
    let right = Outcome::counted(7, 8).expect("a count");
    assert_eq!(asked(&read(right), &none), ["5 mm, 5 cm or 5 in?"]);
    assert_eq!(asked(&read(Outcome::Graded(Graded::Most)), &none), ["5 mm, 5 cm or 5 in?"]);
    // Too small to read is what it looks like, and honest.
    let wrong = Outcome::counted(0, 8).expect("a count");
    for outcome in [wrong, SOME, Outcome::Graded(Graded::None), Outcome::Graded(Graded::DidNotTry)] {
        assert_eq!(asked(&read(outcome), &none), [""; 0], "{outcome:?}");
    }
}

#[test]
fn nobody_is_asked_twice_about_the_same_words() {
    let none = Known::default();
    let far = board("5 cm", "400 m");
    let first = Doubt::default().renewed(questions(&far, &none));
    assert!(first.waits());
    let answered = first.answering(Which::Distance);
    assert!(!answered.waits() && !answered.questions.is_empty());
    assert_eq!(answered.renewed(questions(&far, &none)), answered);
    // Other words are another question.
    assert!(answered.renewed(questions(&board("5 cm", "300 m"), &none)).waits());
    assert!(first.answering(Which::XHeight).waits(), "another length was answered");
}

#[test]
fn what_cannot_be_is_refused_in_the_units_of_whoever_typed_it() {
    let (metric, imperial) = (Units::Metric, Units::Imperial);
    let told = distance_refused(metres("900 m"), metric).expect("too far");
    assert_eq!(told, "900 m is farther than anything is seen from. From 2 cm to 500 m fits here. Check the unit");
    let told = distance_refused(metres("3000 ft"), imperial).expect("too far");
    assert!(told.starts_with("3000 ft is farther") && !told.contains(" m "), "{told}");
    assert!(distance_refused(metres("1 cm"), metric).is_some());
    assert!(x_height_refused(metres("0.5 mm"), metric).is_some_and(|told| told.starts_with("0.5 mm is smaller")));
    assert!(x_height_refused(metres("4 m"), metric).is_some());
    let told = pair_refused(metres("5 mm"), metres("30 m"), metric).expect("too fine");
    assert!(told.starts_with("Small letters of 5 mm from 30 m away would be finer than any eye sees."), "{told}");
    assert!(pair_refused(metres("2 m"), metres("30 cm"), metric).is_some_and(|told| told.contains("too large")));
    for (height, far) in [("1 mm", "2 cm"), ("3 cm", "10 cm"), ("5 cm", "6 m"), ("5 mm", "6 m"), ("1 m", "60 m")] {
        assert_eq!(pair_refused(metres(height), metres(far), metric), None, "{height} from {far}");
        assert_eq!(distance_refused(metres(far), metric), None);
        assert_eq!(x_height_refused(metres(height), metric), None);
    }
}

proptest! {
    /// What agrees with the rest is never asked about, in whatever unit it is typed.
    #[test]
    fn what_agrees_with_the_rest_is_never_in_doubt(mm in 20.0..200.0_f64, m in 2.0..20.0_f64, n in 2_usize..9) {
        let (cm, feet) = (format!("{:.3} cm", mm / 10.0), format!("{:.4} ft", m / 0.3048));
        let one = board(&cm, &feet);
        let others = vec![board(&format!("{mm:.2} mm"), &format!("{m:.3} m")); n];
        prop_assert_eq!(asked(&one, &rest(&others)), Vec::<String>::new());
    }

    /// Whatever is asked offers lengths that can be read back, and never the same.
    #[test]
    fn every_way_that_is_offered_is_a_length(mm in 1.0..3000.0_f64, m in 0.02..500.0_f64, near in any::<bool>()) {
        let track = if near { Track::Near } else { Track::Distance };
        let one = entry(track, Some(&format!("{mm:.1} mm")), Some(&format!("{m:.2} m")), Outcome::Graded(Graded::All));
        for question in questions(&one, &Known::default()) {
            prop_assert!(question.others.len() <= 2);
            let stands = metres(&question.typed).get();
            for other in &question.others {
                prop_assert!((metres(other).get() / stands).ln().abs() > 1e-6, "{other} is {}", question.typed);
            }
        }
    }
}
