//! The statistics on odd input, by laws, and against simulation elsewhere.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::skill::Level;
use farpoint::vision::stats::better::{Count, best, compare};
use farpoint::vision::stats::everyday::gain::Which;
use farpoint::vision::stats::everyday::next::{AIM, SoFar};
use farpoint::vision::stats::everyday::settings::Finding;
use farpoint::vision::stats::everyday::suspect::Slip;
use farpoint::vision::stats::everyday::task::Task;
use farpoint::vision::stats::everyday::threshold::Telling;
use farpoint::vision::stats::everyday::{Cell, Device, Guess, Observation, Posterior, Prior, Saw, everyday};
use farpoint::vision::stats::growth::{Direction, RateOnDay, autocorrelation, direction, weekly_growth};
use farpoint::vision::stats::mastery::{Practice, Rule, mastery};
use farpoint::vision::stats::observing::{Tally, Word};
use farpoint::vision::stats::overlap::{Better, all_pairs};
use farpoint::vision::stats::rate::per_minute;
use farpoint::vision::stats::spotting::{Search, spotted_sooner, time_to_spot};
use farpoint::vision::stats::trend::{Point, kendall, theil_sen};
use farpoint::vision::units::{Fraction, Seconds};
use proptest::prelude::*;

const HERE: Cell = Cell { device: 0, setting: 0 };
const THERE: Cell = Cell { device: 0, setting: 1 };

fn seen(size: f64, session: u64, right: u32, tried: u32) -> Observation {
    let tally = Tally::new(right, tried).expect("a tally of the test");
    Observation::new(LogMar::new(size).expect("a size"), Guess::LETTERS, session, Saw::Tally(tally))
        .expect("on the scale")
}

fn device(settings: Vec<Vec<Observation>>) -> Device {
    Device { prior: Prior::new(LogMar::new(0.95).expect("a mean"), 0.2).expect("a prior"), settings }
}

fn only(entries: Vec<Observation>) -> Posterior {
    everyday(&[device(vec![entries])]).expect("a posterior")
}

fn task(size: f64) -> Task {
    let (size, wanted) = (LogMar::new(size).expect("a size"), Fraction::new(0.8).expect("a share"));
    Task { size, guess: Guess::LETTERS, items: 10, wanted }
}

fn points(values: &[(f64, f64)]) -> Vec<Point> {
    values.iter().map(|(at, value)| Point::new(*at, *value).expect("a point")).collect()
}

fn seconds(value: f64) -> Seconds {
    Seconds::new(value).expect("a time")
}

/// Every figure of a posterior, all of which must be finite and in order.
fn is_sound(posterior: &Posterior, cell: Cell) {
    let threshold = posterior.threshold(cell).expect("a threshold");
    let interval = threshold.interval;
    assert!(threshold.mean.is_finite() && threshold.deviation > 0.0, "{threshold:?}");
    assert!(interval.low < threshold.median.get() && threshold.median.get() < interval.high, "{threshold:?}");
    let success = posterior.success(cell, task(1.0)).expect("a success");
    for share in [success.usually, success.on_a_day, success.on_an_average_day, success.rate] {
        assert!((0.0..=1.0).contains(&share), "{success:?}");
    }
    assert!(success.rates.low <= success.rates.high);
    let next = posterior.next_size(cell, Guess::LETTERS, AIM, SoFar::default()).expect("a size or none");
    assert!(next.is_none_or(|next| next.exact.get().is_finite()));
    assert!(posterior.slips(cell).expect("slips").iter().all(|slip| (0.0..=1.0).contains(slip)));
}

#[test]
fn all_right_is_told_from_one_side() {
    let posterior = only(vec![seen(1.1, 1, 10, 10), seen(0.9, 2, 10, 10), seen(0.8, 3, 10, 10)]);
    is_sound(&posterior, HERE);
    let found = posterior.threshold(HERE).expect("a threshold");
    let Telling::AtLeast(size) = found.telling else { panic!("{:?}", found.telling) };
    assert!(size.get() < 0.9, "it was read at 0.8: {size}");
}

#[test]
fn all_wrong_is_told_from_one_side() {
    let posterior = only(vec![seen(0.3, 1, 0, 10), seen(0.5, 2, 0, 10), seen(0.7, 3, 0, 10)]);
    is_sound(&posterior, HERE);
    let found = posterior.threshold(HERE).expect("a threshold");
    let Telling::MoreThan(size) = found.telling else { panic!("{:?}", found.telling) };
    assert!(size.get() > 0.6, "it was not read at 0.7: {size}");
}

#[test]
fn one_observation_and_none_say_what_would_be_enough() {
    let one = only(vec![seen(0.9, 1, 6, 10)]);
    is_sound(&one, HERE);
    let Telling::NotYet(lacking) = one.threshold(HERE).expect("a threshold").telling else { panic!("told from one") };
    let words = format!("{lacking:?}");
    assert!(words.contains("observations") && words.contains("sessions") && words.contains("items tried"), "{words}");
    let none = only(vec![]);
    is_sound(&none, HERE);
    let found = none.threshold(HERE).expect("a threshold");
    assert_eq!(found.behind.observations, 0);
    assert!((found.mean - 0.95).abs() < 0.01, "without observations it is the assumption");
}

#[test]
fn ten_thousand_alike_stay_within_reason() {
    let posterior = only((0..10_000).map(|session| seen(0.9, session, 6, 10)).collect());
    is_sound(&posterior, HERE);
    let found = posterior.threshold(HERE).expect("a threshold");
    assert!(!matches!(found.telling, Telling::Measured), "one size alone brackets nothing: {:?}", found.telling);
    assert_eq!(found.behind.items, 100_000);
}

#[test]
fn contradictory_settings_disagree_and_like_ones_do_not() {
    let steep = |by: f64, from: u64| -> Vec<Observation> {
        (0..6)
            .flat_map(|day| {
                let at = from + day;
                [seen(1.1 + by, at, 9, 10), seen(0.9 + by, at, 5, 10), seen(0.75 + by, at, 1, 10)]
            })
            .collect()
    };
    let apart = everyday(&[device(vec![steep(0.0, 0), steep(0.6, 100)])]).expect("a posterior");
    is_sound(&apart, HERE);
    is_sound(&apart, THERE);
    let found = apart.disagreements().expect("pairs");
    assert_eq!((found.len(), &found[0].finding), (1, &Finding::Disagree));
    assert!(
        found[0].apart.as_ref().is_some_and(|apart| apart.mean < -0.4) && found[0].adjusted.is_some_and(|p| p < 0.01)
    );
    let alike = everyday(&[device(vec![steep(0.0, 0), steep(0.0, 100)])]).expect("a posterior");
    let found = alike.disagreements().expect("pairs");
    assert_eq!(found[0].finding, Finding::NoneSeen);
}

#[test]
fn settings_of_one_device_are_compared_together_as_sampling_says() {
    let class = vec![seen(1.1, 1, 8, 10), seen(0.95, 1, 4, 10), seen(0.8, 2, 1, 10)];
    let home = vec![seen(1.0, 3, 10, 10), seen(0.85, 3, 8, 10), seen(0.7, 4, 4, 10)];
    let found = everyday(&[device(vec![class, home])]).expect("a posterior").difference(HERE, THERE).expect("apart");
    // Importance sampling of the same model, 3 million draws (derived): mean 0.147,
    // 5 and 95 hundredths −0.007 and 0.334, probability of more than 0 0.927.
    assert!((found.mean - 0.147).abs() < 0.005, "{found:?}");
    assert!((found.interval.low + 0.007).abs() < 0.01 && (found.interval.high - 0.334).abs() < 0.01, "{found:?}");
    assert!((found.first_larger - 0.927).abs() < 0.01, "{found:?}");
}

#[test]
fn a_factor_of_ten_is_asked_about_and_moves_nothing() {
    let sane = vec![seen(1.1, 1, 9, 10), seen(0.9, 1, 6, 10), seen(0.7, 2, 1, 10), seen(1.0, 3, 8, 10)];
    let mut slipped = sane.clone();
    slipped.push(seen(1.75, 4, 1, 10));
    let (before, after) = (only(sane), only(slipped));
    let mean = |of: &Posterior| of.threshold(HERE).expect("a threshold").mean;
    assert!((mean(&before) - mean(&after)).abs() < 0.02);
    assert!(before.suspects().expect("none").is_empty());
    let asked = after.suspects().expect("one");
    assert_eq!((asked.len(), asked[0].entry), (1, 4));
    assert!(asked[0].shifts.iter().any(|shift| shift.slip == Slip::TenTimes && shift.by < 0.0), "{asked:?}");
}

#[test]
fn two_tallies_of_one_session_count_as_one() {
    let single = vec![seen(1.1, 1, 9, 10), seen(0.9, 1, 6, 10), seen(0.7, 2, 1, 10)];
    let half = |entry: &Observation| entry.weighing(0.5).expect("a weight");
    let doubled: Vec<Observation> = single.iter().chain(&single).map(half).collect();
    let (one, two) = (only(single), only(doubled));
    let (one, two) = (one.threshold(HERE).expect("one"), two.threshold(HERE).expect("two"));
    assert!((one.mean - two.mean).abs() < 1e-4 && (one.deviation - two.deviation).abs() < 1e-4);
}

#[test]
fn words_pull_less_than_counts_and_odd_words_are_refused() {
    let word = |size: f64, session, word| {
        Observation::new(LogMar::new(size).expect("a size"), Guess::LETTERS, session, Saw::Word(word, None))
            .expect("seen")
    };
    let words = only(vec![
        word(1.1, 1, Word::All),
        word(0.9, 1, Word::Most),
        word(0.8, 2, Word::Some),
        word(0.6, 3, Word::None),
    ]);
    is_sound(&words, HERE);
    assert!(words.threshold(HERE).expect("a threshold").deviation > 0.06);
    let size = LogMar::new(0.9).expect("a size");
    assert!(Observation::new(size, Guess::LETTERS, 1, Saw::Word(Word::All, Some(0))).is_err());
    let off = Observation::new(LogMar::new(2.5).expect("a logMAR"), Guess::LETTERS, 1, Saw::Word(Word::All, None));
    assert!(off.unwrap_err().to_string().starts_with("size of the target must be at least -0.6"));
    assert!(Tally::new(3, 2).is_err() && Tally::new(0, 0).is_err() && Tally::new(1, 201).is_err());
}

#[test]
fn what_there_is_not_is_refused_by_name() {
    let posterior = only(vec![]);
    let nowhere = Cell { device: 1, setting: 0 };
    assert!(posterior.threshold(nowhere).unwrap_err().to_string().starts_with("place of the device"));
    assert!(posterior.threshold(THERE).unwrap_err().to_string().starts_with("place of the setting"));
    assert!(everyday(&[]).unwrap_err().to_string().starts_with("devices must be at least 1"));
    assert!(posterior.success(HERE, Task { items: 0, ..task(1.0) }).is_err());
    assert!(
        posterior.size_needed(HERE, Guess::new(0.5).expect("a rate"), Fraction::new(0.5).expect("a share")).is_err()
    );
    // Seven of ten however large the print: nothing is expected to bring 95 of 100.
    let lapsing = only((0..8).map(|day| seen(1.6 + 0.08 * day as f64, day, 7, 10)).collect());
    let certain = Fraction::new(0.95).expect("a share");
    assert!(lapsing.next_size(HERE, Guess::OPEN, certain, SoFar::default()).expect("in range").is_none());
}

#[test]
fn with_nothing_seen_no_device_is_called_better() {
    let posterior = everyday(&[device(vec![vec![]]), device(vec![vec![]])]).expect("a posterior");
    let other = Cell { device: 1, setting: 0 };
    let (which, apart) = posterior.which(HERE, other).expect("a comparison");
    assert!(matches!(which, Which::NotYet(..)));
    assert!((apart.first_larger - 0.5).abs() < 1e-3);
    assert!((posterior.better_at(HERE, other, task(1.0)).expect("a probability") - 0.5).abs() < 1e-3);
    let best = posterior.best_of(&[HERE, other]).expect("the best");
    assert!((best[0] - 0.5).abs() < 1e-6);
}

#[test]
fn practice_sizes_stay_near_the_last_and_above_what_was_passed() {
    let posterior = only(vec![seen(1.0, 1, 9, 10), seen(0.8, 1, 5, 10), seen(0.6, 2, 1, 10)]);
    let size = |value| Some(LogMar::new(value).expect("a size"));
    let next = |so_far| {
        let next = posterior.next_size(HERE, Guess::LETTERS, AIM, so_far).expect("in range").expect("a size");
        next.practical.get()
    };
    let free = next(SoFar::default());
    assert!((free * 20.0 - (free * 20.0).round()).abs() < 1e-9, "in steps of 0.05: {free}");
    assert_eq!(next(SoFar { last: size(1.5), smallest_passed: None }), 1.3);
    assert_eq!(next(SoFar { last: None, smallest_passed: size(1.4) }), 1.3);
}

#[test]
fn series_of_nothing_of_one_and_of_ten_thousand_are_refused_in_words() {
    assert!(theil_sen(&[], Level::Ninety).unwrap_err().to_string().contains("at least 2, not 0"));
    assert!(kendall(&points(&[(0.0, 1.0)])).unwrap_err().to_string().contains("at least 2, not 1"));
    let alike = points(&vec![(1.0, 1.0); 10_000]);
    assert!(theil_sen(&alike, Level::Ninety).unwrap_err().to_string().contains("at most 3000, not 10000"));
    assert!(kendall(&alike[..50]).unwrap_err().to_string().contains("must not all be alike"));
    assert!(theil_sen(&alike[..50], Level::Ninety).unwrap_err().to_string().contains("times must not all be alike"));
    assert!(autocorrelation(&[1.0, 2.0, 3.0, 4.0]).is_err(), "a straight line leaves nothing");
    assert!(all_pairs(&[], &[1.0], Better::Higher, Level::Ninety).is_err());
    assert!(weekly_growth(&[], Level::Ninety).is_err());
    assert!(mastery(&[], Rule::USUAL).is_err());
    assert!(time_to_spot(&[], seconds(30.0), Level::Ninety).is_err());
    assert!(per_minute(3, seconds(0.0), Level::Ninety).unwrap_err().to_string().starts_with("time must be at least"));
    assert!(RateOnDay::counted(0.0, 0, seconds(0.0)).is_err());
    assert!(time_to_spot(&[Search::Found(seconds(0.0))], seconds(30.0), Level::Ninety).is_err());
    assert!(Point::new(0.0, f64::NAN).is_err() && RateOnDay::new(0.0, 0.0).is_err());
}

#[test]
fn a_series_that_never_changes_has_a_slope_of_nothing() {
    let flat: Vec<(f64, f64)> = (0..12).map(|day| (f64::from(day), 4.0)).collect();
    let line = theil_sen(&points(&flat), Level::Ninety).expect("a line");
    assert_eq!((line.slope, line.intercept), (0.0, 4.0));
    let rates: Vec<RateOnDay> =
        flat.iter().map(|(day, rate)| RateOnDay::new(day * 3.0, *rate).expect("a rate")).collect();
    let growth = weekly_growth(&rates, Level::Ninety).expect("a growth");
    assert!((growth.per_week - 1.0).abs() < 1e-12 && growth.agree);
    assert_eq!(direction(&growth, &line), Direction::NoChangeSeen);
}

#[test]
fn complete_separation_of_few_sessions_proves_little() {
    let found = all_pairs(&[1.0, 2.0, 3.0], &[7.0, 8.0, 9.0], Better::Higher, Level::Ninety).expect("an overlap");
    assert_eq!((found.share, found.interval.high), (1.0, 1.0));
    // The inner root of the equation, by hand: t where (1−t) = z² t/9 · (1 + 2((1−t)/(2−t) + t/(1+t))).
    assert!(found.interval.low < 0.65 && found.interval.low > 0.5, "{:?}", found.interval);
    let turned = all_pairs(&[1.0, 2.0, 3.0], &[7.0, 8.0, 9.0], Better::Lower, Level::Ninety).expect("an overlap");
    assert_eq!((turned.share, turned.interval.low), (0.0, 0.0));
    assert!((turned.interval.high - (1.0 - found.interval.low)).abs() < 1e-12);
    let single = all_pairs(&[1.0], &[2.0], Better::Higher, Level::Ninety).expect("an overlap");
    assert!(single.error.is_none() && !single.enough.is_met() && single.interval.low < 0.3);
}

#[test]
fn nothing_found_has_no_time_and_no_false_certainty() {
    let never = vec![Search::Stopped(seconds(20.0)); 3];
    let found = time_to_spot(&never, seconds(20.0), Level::Ninety).expect("a time");
    assert_eq!((found.median, found.interval), (None, None));
    assert_eq!(found.median_between, (None, None));
    assert!(found.found.high.get() > 0.4, "three failures exclude little");
    let (none, p) = (&never, spotted_sooner(&never, &never).expect("a comparison").p_two_sided);
    assert!(p.is_none() && none.len() == 3);
}

#[test]
fn the_log_rank_test_is_that_of_the_remission_trial() {
    // Weeks of remission of Freireich et al. 1963, in many textbooks: χ² 16.79.
    let treated = [
        (6, 1),
        (6, 1),
        (6, 1),
        (6, 0),
        (7, 1),
        (9, 0),
        (10, 1),
        (10, 0),
        (11, 0),
        (13, 1),
        (16, 1),
        (17, 0),
        (19, 0),
        (20, 0),
        (22, 1),
        (23, 1),
        (25, 0),
        (32, 0),
        (32, 0),
        (34, 0),
        (35, 0),
    ];
    let control = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23].map(|week| (week, 1));
    let of = |all: &[(i32, i32)]| -> Vec<Search> {
        let one = |(week, found): &(i32, i32)| {
            let time = seconds(f64::from(*week));
            if *found == 1 { Search::Found(time) } else { Search::Stopped(time) }
        };
        all.iter().map(one).collect()
    };
    let found = spotted_sooner(&of(&control), &of(&treated)).expect("a comparison");
    // P(χ² with one degree > 16.79) = 0.0000417.
    assert!(found.excess > 0.0 && found.p_two_sided.is_some_and(|p| (p - 4.17e-5).abs() < 2e-7), "{found:?}");
    let times = time_to_spot(&of(&treated), seconds(35.0), Level::NinetyFive).expect("a time");
    assert_eq!(times.median, Some(seconds(23.0)));
}

#[test]
fn mastery_by_luck_is_told() {
    let sessions = |rights: &[u32]| -> Vec<Practice> {
        (0..).zip(rights).map(|(day, right)| Practice { day, right: *right, tried: 10 }).collect()
    };
    assert_eq!(mastery(&sessions(&[9, 7, 9, 8]), Rule::USUAL).expect("a finding").met_with, None);
    let sure = mastery(&sessions(&[10, 10, 10, 10]), Rule::USUAL).expect("a finding");
    assert!(sure.met_with == Some(2) && !sure.could_be_chance);
    let one_day: Vec<Practice> = vec![Practice { day: 4, right: 10, tried: 10 }; 3];
    assert_eq!(mastery(&one_day, Rule::USUAL).expect("a finding").met_with, None, "three sessions of one day");
    assert!(mastery(&[Practice { day: 0, right: 0, tried: 0 }], Rule::USUAL).is_err());
}

fn entries() -> impl Strategy<Value = Vec<Observation>> {
    let one = (-0.6..2.4_f64, 0_u64..6, 1_u32..30, 0.0..1.0_f64);
    prop::collection::vec(one, 0..8).prop_map(|all| {
        all.into_iter().map(|(size, session, n, share)| seen(size, session, (share * f64::from(n)) as u32, n)).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn any_entries_give_sound_figures(class in entries(), home in entries()) {
        let posterior = everyday(&[device(vec![class, home])]).expect("a posterior");
        is_sound(&posterior, HERE);
        is_sound(&posterior, THERE);
        prop_assert!(posterior.disagreements().is_ok() && posterior.suspects().is_ok());
    }
}

proptest! {
    #[test]
    fn comparisons_are_fair(k in 0_u32..40, n in 0_u32..40, m in 0_u32..40, l in 0_u32..40) {
        let (one, other) = (Count::new(k.min(n), n).expect("a count"), Count::new(l.min(m), m).expect("a count"));
        let (there, back) = (compare(one, other).first_higher, compare(other, one).first_higher);
        prop_assert!((there + back - 1.0).abs() < 1e-6, "{there} and {back}");
        let both = best(&[one, other]).expect("two");
        prop_assert!((both[0] - there).abs() < 1e-3, "{} and {there}", both[0]);
    }

    #[test]
    fn a_trend_turns_with_its_values(values in prop::collection::vec(-50.0..50.0_f64, 5..20)) {
        let series = |sign: f64| {
            let all: Vec<(f64, f64)> = (0..).zip(&values).map(|(day, value)| (f64::from(day), sign * value)).collect();
            points(&all)
        };
        let (up, down) = (theil_sen(&series(1.0), Level::Ninety).expect("a line"), theil_sen(&series(-1.0), Level::Ninety).expect("a line"));
        prop_assert!((up.slope + down.slope).abs() < 1e-9);
        prop_assert!(up.interval.low <= up.slope && up.slope <= up.interval.high);
        let (up, down) = (kendall(&series(1.0)).expect("tau"), kendall(&series(-1.0)).expect("tau"));
        prop_assert!((up.tau_b + down.tau_b).abs() < 1e-12 && (up.p_two_sided - down.p_two_sided).abs() < 1e-12);
        prop_assert!((0.0..=1.0).contains(&up.p_two_sided));
    }

    #[test]
    fn an_overlap_lies_in_its_interval(before in prop::collection::vec(0_u8..9, 1..9), during in prop::collection::vec(0_u8..9, 1..9)) {
        let of = |all: &[u8]| all.iter().map(|value| f64::from(*value)).collect::<Vec<f64>>();
        let found = all_pairs(&of(&before), &of(&during), Better::Higher, Level::Ninety).expect("an overlap");
        prop_assert!(found.interval.low <= found.share && found.share <= found.interval.high, "{found:?}");
        prop_assert!((0.0..=1.0).contains(&found.interval.low) && (0.0..=1.0).contains(&found.interval.high));
    }
}
