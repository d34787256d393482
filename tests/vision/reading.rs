//! Reading: what may be said of few passages, and what may not.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::reading::curve::{ExponentialInMar, LogExponential, TwoLimb};
use farpoint::vision::reading::fit::{FitError, Passage, fit_exponential, fit_two_limb};
use farpoint::vision::reading::performance::{Missing, Performance, performance};
use farpoint::vision::reading::{USUAL_CRITERION, WordsPerMinute, passage_speed, standard_length_speed};
use farpoint::vision::units::{Arcminutes, Seconds};
use proptest::prelude::*;

fn speed(value: f64) -> WordsPerMinute {
    WordsPerMinute::new(value).expect("a speed of the test")
}

fn at(size: f64, words: f64) -> Passage {
    Passage { size: LogMar::new(size).expect("a size of the test"), speed: speed(words) }
}

/// Passages on the curve of a reader, at these sizes.
fn on_curve(reader: LogExponential, sizes: &[f64]) -> Vec<Passage> {
    let words = |size: f64| reader.speed_at(LogMar::new(size).expect("a size")).expect("in range").get();
    sizes.iter().map(|size| at(*size, words(*size))).collect()
}

fn said(passages: &[Passage]) -> Performance {
    performance(passages, USUAL_CRITERION).expect("something was read")
}

const FOUR_TIMES: f64 = 1.386_294_361_119_890_6;

fn reader() -> LogExponential {
    LogExponential {
        greatest: speed(120.0),
        ln_rate: FOUR_TIMES + 0.4,
        one_word_a_minute: LogMar::new(0.1).expect("a size"),
    }
}

#[test]
fn enough_sizes_on_both_limbs_give_a_critical_print_with_its_interval() {
    let mut passages = on_curve(reader(), &[0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1]);
    // A little scatter, so that there is an error to speak of.
    for (index, passage) in passages.iter_mut().enumerate() {
        let off = if index % 2 == 0 { 1.03 } else { 0.97 };
        *passage = at(passage.size.get(), passage.speed.get() * off);
    }
    let found = said(&passages).found.expect("ten sizes");
    let exact = reader().critical_print(USUAL_CRITERION).expect("in range").get();
    assert!((found.critical_print.get() - exact).abs() < 0.1);
    assert!(found.critical_print_within > 0.0 && found.critical_print_within < 0.2);
    assert!(found.greatest.low < found.greatest.speed && found.greatest.speed < found.greatest.high);
    assert!((found.greatest.speed.get() - 120.0).abs() < 6.0);
}

#[test]
fn four_sizes_give_the_highest_median_and_no_critical_print() {
    let said = said(&on_curve(reader(), &[0.3, 0.5, 0.8, 1.1]));
    assert_eq!(said.found.map(|found| found.critical_print), Err(Missing::Sizes { read: 4 }));
    assert_eq!(said.at.get(), 1.1);
}

#[test]
fn sizes_on_the_rising_limb_only_ask_for_larger_print() {
    let said = said(&on_curve(reader(), &[0.2, 0.25, 0.3, 0.35, 0.4, 0.45]));
    assert_eq!(said.found.map(|found| found.critical_print), Err(Missing::LargePrint));
}

#[test]
fn sizes_on_the_plateau_only_ask_for_smaller_print() {
    let flat = [at(0.5, 100.0), at(0.6, 99.0), at(0.7, 101.0), at(0.8, 99.0), at(0.9, 100.0)];
    let nothing = said(&flat).found.expect_err("no bend");
    assert!(matches!(nothing, Missing::SmallPrint | Missing::Certainty), "{nothing:?}");
    let falling = [at(0.5, 100.0), at(0.6, 99.0), at(0.7, 97.0), at(0.8, 93.0), at(0.9, 80.0)];
    let nothing = said(&falling).found.map(|found| found.critical_print);
    assert_eq!(nothing, Err(Missing::SmallPrint));
}

#[test]
fn very_large_print_read_slowly_is_noticed() {
    let mut passages = on_curve(reader(), &[0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0]);
    assert!(!said(&passages).largest_is_slower);
    passages.push(at(1.2, 60.0));
    assert!(said(&passages).largest_is_slower);
}

#[test]
fn a_passage_that_was_not_read_is_counted_and_left_out() {
    let mut passages = on_curve(reader(), &[0.3, 0.4, 0.5, 0.7, 0.9]);
    let before = fit_exponential(&passages).expect("five sizes");
    passages.insert(0, at(0.0, 0.0));
    assert_eq!(fit_exponential(&passages).expect("five sizes"), before);
    assert_eq!((said(&passages).not_read, said(&passages).passages), (1, 5));
    assert!(performance(&[at(0.4, 0.0)], USUAL_CRITERION).is_err());
    assert!(performance(&[], USUAL_CRITERION).is_err());
}

#[test]
fn one_slow_reading_of_three_does_not_move_the_highest_median() {
    let passages = [at(0.8, 90.0), at(0.8, 12.0), at(0.8, 94.0), at(0.6, 70.0)];
    assert_eq!((said(&passages).highest_median.get(), said(&passages).at.get()), (90.0, 0.8));
}

#[test]
fn a_fit_says_what_it_lacks() {
    let three = [at(0.3, 20.0), at(0.5, 60.0), at(0.7, 80.0), at(0.7, 90.0)];
    assert_eq!(fit_exponential(&three), Err(FitError::TooFewSizes { sizes: 3 }));
    assert_eq!(fit_two_limb(&[]), Err(FitError::TooFewSizes { sizes: 0 }));
    let words = fit_exponential(&three).expect_err("three sizes").to_string();
    assert_eq!(words, "a curve needs passages read at four sizes or more, not 3");
    let falling = [at(0.3, 90.0), at(0.5, 60.0), at(0.7, 50.0), at(0.9, 20.0)];
    assert_eq!(fit_exponential(&falling), Err(FitError::NotRising));
    assert!(matches!(fit_exponential(&[at(0.5, 60.0); 1_001]), Err(FitError::OutOfRange(_))));
}

#[test]
fn a_speed_nobody_reads_aloud_is_refused_in_words() {
    let short = Seconds::new(0.8).expect("a time");
    let words = standard_length_speed(60, short).expect_err("too short to time").to_string();
    assert_eq!(words, "reading time must be at least 1 s and at most 86400 s, not 0.8 s");
    let words = passage_speed(10.0, 0, Seconds::new(1.2).expect("a time")).expect_err("500 a minute").to_string();
    assert_eq!(
        words,
        "speed of reading aloud must be at least 0 words/min and at most 400 words/min, not 500 words/min"
    );
}

proptest! {
    #[test]
    fn a_curve_without_noise_comes_back(
        greatest in 20.0_f64..250.0, rate in 3.0_f64..9.0, foot in -0.2_f64..1.0,
    ) {
        let reader = LogExponential {
            greatest: speed(greatest), ln_rate: rate.ln(), one_word_a_minute: LogMar::new(foot).expect("a size"),
        };
        let sizes: Vec<f64> = (1..=12).map(|step| foot + 0.1 * f64::from(step)).collect();
        let fitted = fit_exponential(&on_curve(reader, &sizes)).expect("twelve sizes");
        prop_assert!((10_f64.powf(fitted.log_greatest.value) / greatest - 1.0).abs() < 1e-4);
        prop_assert!((fitted.ln_rate.value - rate.ln()).abs() < 1e-4);
        prop_assert!((fitted.one_word_a_minute.value - foot).abs() < 1e-4);
    }

    #[test]
    fn no_passages_make_the_fits_panic_or_give_what_is_no_number(
        raw in prop::collection::vec((-0.5_f64..2.0, 0.0_f64..400.0), 0..14), rotate in 0_usize..14,
    ) {
        let passages: Vec<Passage> = raw.iter().map(|(size, words)| at(*size, *words)).collect();
        let mut turned = passages.clone();
        turned.rotate_left(rotate.min(passages.len()));
        let one = fit_exponential(&passages);
        prop_assert_eq!(one, fit_exponential(&turned), "the order decides nothing");
        if let Ok(fitted) = one {
            for estimate in [fitted.log_greatest, fitted.ln_rate, fitted.one_word_a_minute] {
                prop_assert!(estimate.value.is_finite());
                prop_assert!(estimate.standard_error.is_none_or(|error| error.is_finite() && error >= 0.0));
            }
        }
        let limbs = fit_two_limb(&passages);
        prop_assert_eq!(limbs, fit_two_limb(&turned));
        if let Ok(limbs) = limbs {
            prop_assert!(limbs.slope.value >= 0.0 && limbs.squares.is_finite());
        }
        if let Ok(said) = performance(&passages, USUAL_CRITERION)
            && let Ok(found) = said.found
        {
            prop_assert!(said.sizes >= 5 && found.two_limbs.sizes_below >= 2);
            prop_assert!(found.greatest.low <= found.greatest.speed);
        }
    }

    #[test]
    fn larger_print_is_never_read_more_slowly_by_any_curve(
        size in -0.3_f64..1.5, more in 0.01_f64..0.5, greatest in 10.0_f64..390.0, critical in 0.1_f64..1.2,
    ) {
        let limbs = TwoLimb {
            critical_print: LogMar::new(critical).expect("a size"), greatest: speed(greatest), slope: 150.0,
        };
        let reader = LogExponential {
            greatest: speed(greatest), ln_rate: 1.6, one_word_a_minute: LogMar::new(critical - 0.6).expect("a size"),
        };
        let in_mar = ExponentialInMar {
            threshold: Arcminutes::new(10_f64.powf(critical - 0.4)).expect("an angle"),
            critical: Arcminutes::new(10_f64.powf(critical)).expect("an angle"),
            greatest: speed(greatest),
        };
        let speeds = |size: f64| {
            let at = LogMar::new(size).expect("a size");
            let angle = Arcminutes::new(at.mar_arcminutes()).expect("an angle");
            [limbs.speed_at(at), reader.speed_at(at), in_mar.speed_at(angle)].map(|found| found.expect("in range"))
        };
        for (small, large) in speeds(size).into_iter().zip(speeds(size + more)) {
            prop_assert!(small <= large && large.get() <= greatest);
        }
    }
}
