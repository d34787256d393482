//! Acuities as they are written in the trade.

use farpoint::vision::acuity::equivalents::equivalents;
use farpoint::vision::acuity::letters::Chart;
use farpoint::vision::acuity::notation::{Caveat, Notation, Recorded, Setup, parse};
use farpoint::vision::acuity::{Acuity, AcuityError, AcuityQuestion, Category, LogMar, Measured};
use farpoint::vision::length;
use farpoint::vision::units::Metres;

fn at(distance: &str) -> Setup {
    Setup::at(length::parse(distance).expect("a distance of the test"))
}

fn logmar(value: f64) -> LogMar {
    LogMar::new(value).expect("a logMAR of the test")
}

fn read(text: &str, setup: Setup) -> Recorded {
    parse(text, setup).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn asked(text: &str, setup: Setup) -> AcuityQuestion {
    match parse(text, setup) {
        Err(AcuityError::Ask(question)) => question,
        other => panic!("{text} was not asked about: {other:?}"),
    }
}

fn five_a_row() -> Chart {
    Chart::new(logmar(1.0), 0.1, 5).expect("a chart")
}

#[test]
fn every_notation_gives_its_value() {
    let written = [
        ("20/200", "20 ft", 1.0, Notation::Feet),
        ("20/200", "6 m", 1.0, Notation::Feet),
        ("6/60", "6 m", 1.0, Notation::Metres),
        ("6/60", "20 ft", 1.0, Notation::Metres),
        ("10/200", "10 ft", 1.301_03, Notation::Feet),
        ("10/80", "10 ft", 0.903_09, Notation::Feet),
        ("10/80 at 10 ft", "10 ft", 0.903_09, Notation::Feet),
        ("6/9,5", "6 m", 0.199_57, Notation::Metres),
        ("1/40", "1 m", 1.602_06, Notation::Metres),
        ("20 ft / 63 ft", "20 ft", 0.498_31, Notation::Feet),
        ("6 m/60 m", "6 m", 1.0, Notation::Metres),
        ("20\u{2044}30", "20 ft", 0.176_09, Notation::Feet),
        ("decimal 0.1", "6 m", 1.0, Notation::Decimal),
        ("0,4 decimal", "6 m", 0.397_94, Notation::Decimal),
        ("1.0 logMAR", "4 m", 1.0, Notation::LogMar),
        ("LogMAR 0,48", "4 m", 0.48, Notation::LogMar),
        ("-0.1 logMAR", "4 m", -0.1, Notation::LogMar),
        ("logMAR = \u{2212}0.1", "4 m", -0.1, Notation::LogMar),
        ("VAR 50", "4 m", 1.0, Notation::Var),
        ("85 var", "4 m", 0.3, Notation::Var),
        ("4M @ 40 cm", "40 cm", 1.0, Notation::Near),
        ("1.6 M @ 10 cm", "10 cm", 1.204_12, Notation::Near),
        ("4M", "40 cm", 1.0, Notation::Near),
    ];
    for (text, distance, expected, notation) in written {
        let taken = read(text, at(distance));
        let value = taken.acuity.logmar().expect("a measured value").get();
        assert!((value - expected).abs() < 1e-5, "{text}: {value}");
        assert_eq!((taken.notation, taken.caveats), (notation, vec![]), "{text}");
    }
}

#[test]
fn a_bare_number_is_asked_about_and_the_answer_is_taken() {
    for number in ["0.1", "0.2", "1.0", "0,5", "1"] {
        assert_eq!(asked(number, at("6 m")), AcuityQuestion::DecimalOrLogMar { number: number.into() });
    }
    for number in ["50", "-0.1", "37"] {
        assert_eq!(asked(number, at("6 m")), AcuityQuestion::WhichNotation { number: number.into() });
    }
    let decimal = read("0.2", at("6 m").noted_as(Notation::Decimal));
    let logarithm = read("0.2", at("6 m").noted_as(Notation::LogMar));
    let values = [decimal, logarithm].map(|taken| taken.acuity.logmar().expect("a value").get());
    assert!((values[0] - 0.698_97).abs() < 1e-5 && (values[1] - 0.2).abs() < 1e-12);
}

#[test]
fn twenty_over_x_at_ten_feet_is_asked_about() {
    let question = asked("20/200", at("10 ft"));
    assert_eq!(
        question,
        AcuityQuestion::AnotherDistance {
            above: "20".into(),
            below: "200".into(),
            distance: length::parse("10 ft").expect("10 ft"),
            likely: "10/200".into(),
        }
    );
    assert!(question.to_string().contains("10/200"), "{question}");
    // The answers: it was 10/200, or the chart prints it so.
    let other = read("10/200", at("10 ft"));
    let printed = read("20/200", at("10 ft").noted_as(Notation::PrintedFraction));
    assert!((other.acuity.logmar().expect("a value").get() - 1.301).abs() < 1e-3);
    assert!((printed.acuity.logmar().expect("a value").get() - 1.0).abs() < 1e-12);
    for (text, distance) in [("6/60", "3 m"), ("20/40", "4 m"), ("5/125", "6 m"), ("20/20", "40 cm")] {
        assert!(matches!(asked(text, at(distance)), AcuityQuestion::AnotherDistance { .. }), "{text}");
    }
}

#[test]
fn what_contradicts_itself_is_asked_about() {
    assert_eq!(asked("5 m/125 ft", at("5 m")), AcuityQuestion::MixedUnits);
    assert_eq!(asked("20 ft/60 m", at("20 ft")), AcuityQuestion::MixedUnits);
    assert!(matches!(asked("10/80 at 10 ft", at("20 ft")), AcuityQuestion::TwoDistances { .. }));
    assert!(matches!(asked("4M @ 40 cm", at("25 cm")), AcuityQuestion::TwoDistances { .. }));
    assert_eq!(asked("4M", at("6 m")), AcuityQuestion::NearDistance);
    assert_eq!(
        asked("decimal 0.1", at("6 m").noted_as(Notation::LogMar)),
        AcuityQuestion::TwoNotations { written: Notation::Decimal, chosen: Notation::LogMar }
    );
}

#[test]
fn categories_are_kept_as_categories() {
    let metre = Metres::new(1.0).expect("a metre");
    let written = [
        ("CF @ 1 m", Category::CountsFingers { at: Some(metre) }),
        ("cf at 100 cm", Category::CountsFingers { at: Some(metre) }),
        ("CF 1m", Category::CountsFingers { at: Some(metre) }),
        ("Counts fingers", Category::CountsFingers { at: None }),
        ("HM", Category::HandMovement { at: None }),
        ("HM @ 1 m", Category::HandMovement { at: Some(metre) }),
        ("hand motion", Category::HandMovement { at: None }),
        ("LP", Category::LightPerception),
        ("nlp", Category::NoLightPerception),
        ("No light perception", Category::NoLightPerception),
    ];
    for (text, category) in written {
        let taken = read(text, at("6 m"));
        assert_eq!(taken.acuity, Acuity::Category(category), "{text}");
        assert_eq!(taken.acuity.logmar(), None, "no figure comes from {text}");
    }
    assert!(matches!(parse("CF @ 1", at("6 m")), Err(AcuityError::Distance(_))));
}

#[test]
fn letters_after_a_row_are_worth_what_the_chart_says() {
    let taken = read("20/40-2", at("20 ft"));
    assert!((taken.acuity.logmar().expect("a value").get() - 0.341_03).abs() < 1e-5);
    assert_eq!(taken.caveats, vec![Caveat::FiveLettersARow]);
    let gained = read("20/40 +2", at("20 ft").on(five_a_row()));
    assert!((gained.acuity.logmar().expect("a value").get() - 0.261_03).abs() < 1e-5);
    assert_eq!(gained.caveats, vec![]);
    let four_a_row = Chart::new(logmar(1.0), 0.1, 4).expect("a chart");
    let other = read("20/40-2", at("20 ft").on(four_a_row));
    assert!((other.acuity.logmar().expect("a value").get() - 0.351_03).abs() < 1e-5);
    assert_eq!(parse("20/40-5", at("20 ft")), Err(AcuityError::TooManyLetters { given: 5, allowed: 4 }));
    assert_eq!(parse("20/40-", at("20 ft")), Err(AcuityError::Unreadable));
}

#[test]
fn letter_counts_need_their_chart() {
    assert_eq!(parse("37 letters", at("4 m")), Err(AcuityError::ChartNeeded));
    let taken = read("37 letters", at("4 m").on(five_a_row()));
    assert!((taken.acuity.logmar().expect("a value").get() - 0.36).abs() < 1e-9);
    let named_for_four = five_a_row().designed_for(Metres::new(4.0).expect("4 m"));
    let near = read("20 letters", at("1 m").on(named_for_four));
    assert!((near.acuity.logmar().expect("a value").get() - 1.302).abs() < 1e-3);
    let small = five_a_row().with_rows(7);
    assert_eq!(parse("36 letters", at("4 m").on(small)), Err(AcuityError::TooManyLetters { given: 36, allowed: 35 }));
    assert_eq!(parse("0 letters", at("4 m").on(small)), Err(AcuityError::NoLetters));
    assert_eq!(parse("3.5 letters", at("4 m").on(small)), Err(AcuityError::Unreadable));
}

#[test]
fn the_edges_of_what_charts_measure() {
    assert_eq!(parse("2.3 logMAR", at("1 m")), Err(AcuityError::BeyondChart));
    assert_eq!(parse("20/20000", at("20 ft")), Err(AcuityError::BeyondChart));
    assert!(AcuityError::BeyondChart.to_string().contains("CF"));
    assert_eq!(parse("-0.6 logMAR", at("4 m")), Err(AcuityError::TooGood));
    assert_eq!(read("2.0 logMAR", at("1 m")).caveats, vec![]);
    assert_eq!(read("20/10", at("20 ft")).caveats, vec![], "the row of -0.3");
    assert_eq!(read("-0.4 logMAR", at("4 m")).caveats, vec![Caveat::ConfirmSoGood]);
    assert!(Measured::new(logmar(2.001)).is_err());
}

#[test]
fn what_is_no_acuity_is_refused() {
    let refused = [
        ("", AcuityError::Empty),
        ("20/0", AcuityError::ZeroInFraction),
        ("0/20", AcuityError::ZeroInFraction),
        ("20/", AcuityError::Unreadable),
        ("/200", AcuityError::Unreadable),
        ("20/200/2", AcuityError::Unreadable),
        ("20/1e3", AcuityError::Unreadable),
        ("-20/200", AcuityError::Unreadable),
        ("blurry", AcuityError::Unreadable),
        ("NaN logMAR", AcuityError::Unreadable),
        ("inf logMAR", AcuityError::Unreadable),
        ("1e999 logMAR", AcuityError::Unreadable),
        ("J5", AcuityError::NotStandardised),
        ("N8", AcuityError::NotStandardised),
    ];
    for (text, expected) in refused {
        assert_eq!(parse(text, at("20 ft")), Err(expected), "{text}");
    }
    assert!(matches!(parse("decimal 0", at("6 m")), Err(AcuityError::OutOfRange(_))));
    assert!(matches!(parse("decimal -0.1", at("6 m")), Err(AcuityError::OutOfRange(_))));
    assert!(matches!(parse("0M @ 40 cm", at("40 cm")), Err(AcuityError::OutOfRange(_))));
}

#[test]
fn a_row_is_named_only_where_it_is() {
    let cases = [
        (1.0, "20/200", "6/60", "0.1", "50", "1.00"),
        (0.2, "20/32", "6/9.5", "0.63", "90", "0.20"),
        (0.204_12, "20/32", "6/9.5", "0.63", "89.8", "0.20"),
        (0.176_091_26, "20/30", "6/9", "0.667", "91.2", "0.18"),
        (0.477_121_25, "20/60", "6/18", "0.333", "76.1", "0.48"),
        (0.0, "20/20", "6/6", "1", "100", "0.00"),
        (-0.1, "20/16", "6/4.8", "1.25", "105", "-0.10"),
        (1.301_03, "20/400", "6/120", "0.05", "34.9", "1.30"),
        (1.602_06, "20/800", "6/240", "0.025", "19.9", "1.60"),
        (2.0, "20/2000", "6/600", "0.01", "0", "2.00"),
    ];
    for (value, feet, metres, decimal, var, two_decimals) in cases {
        let told = equivalents(logmar(value));
        let got = [told.feet, told.metres, told.decimal, told.var, told.logmar];
        assert_eq!(got, [feet, metres, decimal, var, two_decimals]);
    }
}

#[test]
fn questions_and_refusals_say_what_would_be_right() {
    for text in ["", "0.1", "50", "20/0", "5 m/125 ft", "20/200", "2.4 logMAR", "J5", "what", "0 letters"] {
        let words = parse(text, at("10 ft").on(five_a_row())).expect_err(text).to_string();
        assert!(words.len() > 20 && !words.contains("invalid") && !words.ends_with('.'), "{words}");
    }
}
