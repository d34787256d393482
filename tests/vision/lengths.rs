//! Lengths as people type them, and as they are told.

use farpoint::vision::length::shown::{Units, distance, letter_height, letter_rounded_up, seat_rounded_down};
use farpoint::vision::length::{LengthError, parse};
use farpoint::vision::units::Metres;

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

#[test]
fn every_way_of_writing_a_length_is_read() {
    let written = [
        ("15 ft", 4.572),
        ("15'", 4.572),
        ("15\u{2019}", 4.572),
        ("15 feet", 4.572),
        ("1 foot", 0.3048),
        ("15 ft 6 in", 4.7244),
        ("15' 6\"", 4.7244),
        ("15'6\"", 4.7244),
        ("15'-6\"", 4.7244),
        ("15\u{2032} 6\u{2033}", 4.7244),
        ("15ft6in", 4.7244),
        ("15 ft. 6 in.", 4.7244),
        ("5' 11 1/2\"", 1.8161),
        ("4.6 m", 4.6),
        ("4,6 m", 4.6),
        ("4.6M", 4.6),
        ("  4.6   metres ", 4.6),
        ("4.6 meters", 4.6),
        ("460 cm", 4.6),
        ("460 CM", 4.6),
        ("4 m 60 cm", 4.6),
        ("45 mm", 0.045),
        (".5 m", 0.5),
        ("0,125 m", 0.125),
        ("3/4 in", 0.01905),
        ("\u{be} in", 0.01905),
        ("1 1/2\"", 0.0381),
        ("1-1/2 in", 0.0381),
        ("1\u{bd} inches", 0.0381),
        ("1/2 ft", 0.1524),
        ("10 INCHES", 0.254),
    ];
    for (text, expected) in written {
        let read = parse(text).unwrap_or_else(|error| panic!("{text}: {error}"));
        assert!((read.get() - expected).abs() < 1e-9, "{text} was read as {read}");
    }
}

#[test]
fn a_unit_is_asked_for_and_never_guessed() {
    for number in ["15", "4.6", "0.4", "3/4", "1 1/2"] {
        let asked = parse(number).expect_err("a bare number has no unit");
        assert_eq!(asked, LengthError::MissingUnit { number: number.into() });
        let words = asked.to_string();
        assert!(words.contains(&format!("{number} m")) && words.contains(&format!("{number} ft")));
    }
    let half_said = parse("15' 6").expect_err("six of what?");
    assert_eq!(half_said, LengthError::MissingSecondUnit { number: "6".into() });
}

#[test]
fn what_is_no_length_is_refused_with_what_would_be_right() {
    let refused = [
        ("", LengthError::Empty),
        ("   ", LengthError::Empty),
        ("0", LengthError::NotPositive),
        ("0.0", LengthError::NotPositive),
        ("0 m", LengthError::NotPositive),
        ("0 ft 0 in", LengthError::NotPositive),
        ("-3 m", LengthError::NotPositive),
        ("\u{2212}3 m", LengthError::NotPositive),
        ("1e999", LengthError::Unreadable),
        ("1e999 m", LengthError::Unreadable),
        ("1e3 m", LengthError::Unreadable),
        ("NaN", LengthError::Unreadable),
        ("NaN m", LengthError::Unreadable),
        ("inf m", LengthError::Unreadable),
        ("-inf m", LengthError::Unreadable),
        ("about 3 m", LengthError::Unreadable),
        ("1.2.3 m", LengthError::Unreadable),
        ("m", LengthError::Unreadable),
        ("3/0 in", LengthError::NothingBelowTheLine),
        ("4 m 6 ft", LengthError::MixedUnits),
        ("6 in 15 ft", LengthError::MixedUnits),
        ("5.5 ft 6 in", LengthError::MixedUnits),
        ("1 m 2 cm 3 mm", LengthError::MixedUnits),
        ("5 ft 12 in", LengthError::SecondPartTooLarge),
        ("4 m 100 cm", LengthError::SecondPartTooLarge),
        ("3 yd", LengthError::UnknownUnit { unit: "yd".into() }),
    ];
    for (text, expected) in refused {
        assert_eq!(parse(text), Err(expected), "{text}");
    }
    assert!(matches!(parse("999999 m"), Err(LengthError::OutOfRange(_))));
    assert!(matches!(parse(&"9".repeat(400)), Err(LengthError::Unreadable)));
}

#[test]
fn a_comma_before_three_digits_is_asked_about() {
    let asked = parse("1,500 mm").expect_err("1.5 or 1500?");
    assert_eq!(asked, LengthError::AmbiguousComma { decimal: "1.500".into(), thousands: "1500".into() });
    assert!(asked.to_string().contains("1500"));
}

#[test]
fn every_refusal_speaks_plainly() {
    for text in ["", "15", "3 yd", "1e9 m", "0 m", "1,500 m", "3/0 in", "4 m 6 ft", "5 ft 13 in", "15' 6", "99999 m"] {
        let words = parse(text).expect_err(text).to_string();
        assert!(words.starts_with(char::is_lowercase), "{words}");
        assert!(!words.ends_with('.') && !words.contains("invalid"), "{words}");
    }
}

#[test]
fn distances_are_told_in_the_readers_units() {
    let told = [
        (2.6, "2.6 m", "8 ft 6 in"),
        (2.65, "2.65 m", "8 ft 8 in"),
        (6.096, "6.1 m", "20 ft"),
        (0.4, "40 cm", "15 3/4 in"),
        (0.125, "12.5 cm", "5 in"),
        (0.9999, "1 m", "3 ft 3 in"),
        (3.6574, "3.66 m", "12 ft"),
    ];
    for (length, metric, imperial) in told {
        assert_eq!(distance(metres(length), Units::Metric), metric);
        assert_eq!(distance(metres(length), Units::Imperial), imperial);
    }
}

#[test]
fn letter_heights_are_told_in_the_readers_units() {
    let told = [
        (0.035, "3.5 cm", "1 3/8 in"),
        (0.045, "4.5 cm", "1 3/4 in"),
        (0.0254, "2.5 cm", "1 in"),
        (0.008, "8 mm", "3/8 in"),
        (0.0015, "1.5 mm", "less than 1/8 in"),
    ];
    for (length, metric, imperial) in told {
        assert_eq!(letter_height(metres(length), Units::Metric), metric);
        assert_eq!(letter_height(metres(length), Units::Imperial), imperial);
    }
}

#[test]
fn an_advised_seat_is_never_farther_and_an_advised_letter_never_smaller() {
    for thousandths in 100..8_000 {
        let exact = metres(f64::from(thousandths) / 1_000.0);
        for (units, step) in [(Units::Metric, 0.1), (Units::Imperial, 0.1524)] {
            if let Some(seat) = seat_rounded_down(exact, units) {
                let lost = exact.get() - seat.get();
                assert!(lost > -1e-9 && lost < step + 1e-9, "{exact} became {seat}");
            } else {
                assert!(exact.get() < step, "{exact} has a seat");
            }
        }
        for (units, step) in [(Units::Metric, 0.005), (Units::Imperial, 0.00635)] {
            let letter = letter_rounded_up(exact, units).expect("a letter");
            let gained = letter.get() - exact.get();
            assert!(gained > -1e-9 && gained < step + 1e-9, "{exact} became {letter}");
        }
    }
}

#[test]
fn a_length_already_on_a_step_stays_there() {
    // 2.6 is not a binary number; rounding down must not make it 2.5.
    let seat = seat_rounded_down(metres(0.1 * 26.0), Units::Metric).expect("a seat");
    assert_eq!(distance(seat, Units::Metric), "2.6 m");
    let letter = letter_rounded_up(metres(0.07), Units::Metric).expect("a letter");
    assert_eq!(letter_height(letter, Units::Metric), "7 cm");
    assert_eq!(seat_rounded_down(metres(0.06), Units::Metric), None);
}
