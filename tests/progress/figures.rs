//! Figures worked by hand, what never enters one, and numbers that say nothing.

use farpoint::care::progress::finding::{NotYet, Verdict, finding};
use farpoint::care::progress::measure::Measure;
use farpoint::care::progress::rule::{fading, steady};
use farpoint::care::progress::{Apart, Phase, Time, practised};
use farpoint::care::skill::{Prompt, Skill};
use farpoint::care::track::Track;
use farpoint::care::training::{Place, Session};
use farpoint::care::typed::Typed;
use farpoint::vision::stats::mastery::{Rule, chances};
use farpoint::vision::units::{Fraction, Metres};

use super::{held, of, probe, spots};

/// One session a week, all right, of these seconds.
fn weekly(seconds: &[f64]) -> Vec<Session> {
    (0..).zip(seconds).map(|(week, time)| held(7 * week, vec![spots(10, 10, *time, Prompt::None)])).collect()
}

#[test]
fn the_trend_is_the_median_of_all_slopes_and_its_interval_is_widened() {
    // Fifteen pairs: ten of the line at −1 a week, five with the odd session at
    // 8/3, 9/2, 10, −12 and −13/2. Sorted, the eighth is −1.
    let found = finding(&of(&weekly(&[12.0, 11.0, 10.0, 20.0, 8.0, 7.0])));
    assert_eq!(found.measure, Measure::Seconds);
    let trend = found.trend.expect("six sessions over five weeks");
    assert!((trend.line.slope + 1.0).abs() < 1e-12, "{trend:?}");
    // Six sessions: r is taken as 0.2, so each half is √(1.2/0.8) times as long.
    let half = trend.line.interval.high - trend.line.slope;
    assert!(half > 0.0);
    assert!((trend.widened.high - trend.line.slope - half * 1.5_f64.sqrt()).abs() < 1e-12);
    // The odd session holds both ways open.
    assert_eq!(found.verdict, Verdict::NoChangeSeen);
}

#[test]
fn a_steady_gain_in_pace_is_progress_and_its_factor_is_that_of_a_week() {
    let halving: Vec<f64> = [16.0, 12.7, 10.1, 8.0, 6.3, 5.0].into();
    let found = finding(&of(&weekly(&halving)));
    assert_eq!(found.verdict, Verdict::Improving);
    // 16 to 5 s in five weeks: the pace grows by (16/5)^(1/5) = 1.262 a week.
    let (growth, ..) = found.growth.expect("a growth");
    assert!((growth.per_week - 1.262).abs() < 0.003, "{}", growth.per_week);
    assert!(growth.widened.low > 1.0 && growth.widened.width() > growth.interval.width());
}

#[test]
fn faster_with_fewer_found_is_not_told_as_progress() {
    let rights = [10, 10, 9, 8, 7, 6, 6, 6];
    let times = [16.0, 12.7, 10.1, 8.0, 6.3, 5.0, 4.0, 3.2];
    let sessions: Vec<Session> = (0..)
        .zip(rights.iter().zip(times))
        .map(|(week, (right, time))| held(7 * week, vec![spots(*right, 10, time, Prompt::None)]))
        .collect();
    assert_eq!(finding(&of(&sessions)).verdict, Verdict::FasterLessAccurate);
}

#[test]
fn every_probe_is_compared_with_every_session_and_what_was_not_reached_is_longest() {
    let mut sessions: Vec<Session> =
        [20.0, 22.0].iter().zip(0..).map(|(time, at)| probe(at, vec![spots(10, 10, *time, Prompt::None)])).collect();
    // Two of ten found, those within 3 s: no typical time, so longer than all others.
    sessions.push(probe(2, vec![spots(2, 10, 3.0, Prompt::None)]));
    for (time, at) in [10.0, 21.0, 8.0].iter().zip(10..) {
        sessions.push(held(at, vec![spots(10, 10, *time, Prompt::None)]));
    }
    let found = finding(&of(&sessions));
    // 10 s beats three probes, 21 s two, 8 s three: 8 of 9 pairs.
    let compared = found.compared.expect("three probes and three sessions");
    assert!((compared.overlap.share - 8.0 / 9.0).abs() < 1e-12);
    assert_eq!((compared.overlap.before, compared.overlap.during), (3, 3));
    assert!(found.was_before && found.was.is_some_and(|was| was.right == 22 && was.time != Time::NotReached));
}

#[test]
fn probes_of_another_size_are_not_compared() {
    let mut sessions: Vec<Session> = (0..3).map(|at| probe(at, vec![spots(10, 10, 20.0, Prompt::None)])).collect();
    for at in 10..16 {
        let mut larger = spots(10, 10, 5.0, Prompt::None);
        // log10(5.5/4) = 0.138: more than a tenth.
        larger.x_height = Some(Typed::new("5.5 cm", Metres::literal(0.055)));
        sessions.push(held(at, vec![larger]));
    }
    let practised = of(&sessions);
    assert_eq!(practised.bands.len(), 2);
    let found = finding(&practised);
    assert_eq!((found.band, found.compared.clone().err()), (1, Some(NotYet::ProbeOfAnotherSize)));
    assert!(!found.was_before, "where it was is said of the same size, too");
    // A quarter larger is the same size: log10(4.9/4) = 0.088.
    for session in sessions.iter_mut().skip(3) {
        session.entered.exercises[0].x_height = Some(Typed::new("4.9 cm", Metres::literal(0.049)));
    }
    assert!(finding(&of(&sessions)).compared.is_ok());
}

#[test]
fn a_probe_after_teaching_began_is_no_baseline() {
    let sessions = [held(0, vec![spots(5, 10, 12.0, Prompt::Told)]), probe(3, vec![spots(9, 10, 9.0, Prompt::None)])];
    let practised = of(&sessions);
    assert_eq!(practised.alone(0, Phase::Before).count(), 0);
    assert_eq!(practised.alone(0, Phase::During).count(), 1);
    // Probes on the first day of teaching come before it.
    let same_day = [held(0, vec![spots(5, 10, 12.0, Prompt::Told)]), probe(0, vec![spots(2, 10, 9.0, Prompt::None)])];
    assert_eq!(of(&same_day).alone(0, Phase::Before).count(), 1);
}

#[test]
fn what_took_help_was_refused_or_entered_in_error_changes_no_figure() {
    let plain = weekly(&[12.0, 11.0, 10.0, 9.5, 8.0, 7.0]);
    let expected = finding(&of(&plain));
    let mut with = plain.clone();
    with.push(held(3, vec![spots(1, 10, 60.0, Prompt::Hint), spots(10, 10, 1.0, Prompt::HandOverHand)]));
    with.push(held(17, vec![spots(2, 10, 50.0, Prompt::PartHelp)]));
    let mut refused = held(20, vec![spots(0, 10, 90.0, Prompt::None), spots(10, 10, 1.0, Prompt::None)]);
    refused.entered.refused = Some("Not today".to_owned());
    with.push(refused);
    let errors = [held(5, vec![spots(0, 10, 200.0, Prompt::None)])];
    let all = practised(Track::Distance, (&with, &errors), |named| format!("{named:?}"));
    assert_eq!(all[0].apart, Apart { helped: 2, led: 1, refused: 2, in_error: 1 });
    assert_eq!(finding(&all[0]), expected);
}

#[test]
fn numbers_that_say_nothing_get_a_plain_answer() {
    // Nothing counted and no time; a time of 0 s was not taken; nothing tried.
    let mut bare = spots(0, 1, 0.0, Prompt::None);
    (bare.tries, bare.right) = (None, None);
    let mut none_tried = spots(0, 1, 0.0, Prompt::None);
    (none_tried.tries, none_tried.right) = (Some(0), Some(0));
    for exercise in [bare, none_tried] {
        let practised = of(&[held(0, vec![exercise])]);
        assert_eq!(practised.marks[0].time, Time::NotTaken);
        let found = finding(&practised);
        assert_eq!((found.sessions, found.is), (0, None));
        assert_eq!(found.verdict, Verdict::NotYet(NotYet::Nothing));
    }
    // One session: where it is, and no more.
    let one = finding(&of(&[held(0, vec![spots(7, 10, 9.0, Prompt::None)])]));
    assert!(one.was.is_some() && one.is.is_none());
    assert!(
        matches!(one.verdict, Verdict::NotYet(NotYet::Lacks(ref lacking)) if lacking.len() == 2),
        "{:?}",
        one.verdict
    );
    // All right and all wrong, always the same: no interval of no width.
    for right in [0, 10] {
        let same: Vec<Session> =
            (0..8).map(|week| held(7 * week, vec![spots(right, 10, 300.0, Prompt::None)])).collect();
        let found = finding(&of(&same));
        assert_eq!(found.trend.err(), Some(NotYet::Alike));
        assert!(found.is.is_some_and(|is| is.right == 3 * right));
    }
    // Ten thousand identical entries of one day are one day.
    let many: Vec<Session> = (0..10_000).map(|_| held(0, vec![spots(8, 10, 6.0, Prompt::None)])).collect();
    let found = finding(&of(&many));
    assert_eq!(found.sessions, 10_000);
    assert!(matches!(found.verdict, Verdict::NotYet(NotYet::Lacks(_))), "{:?}", found.verdict);
}

#[test]
fn sizes_that_were_not_noted_make_no_trend_and_handling_needs_none() {
    let unsized_sessions = |skill| -> Vec<Session> {
        let mut sessions = weekly(&[12.0, 11.0, 10.0, 9.5, 8.0, 7.0]);
        for exercise in sessions.iter_mut().flat_map(|session| &mut session.entered.exercises) {
            (exercise.skill, exercise.x_height) = (skill, None);
        }
        sessions
    };
    let spotting = finding(&of(&unsized_sessions(Skill::Spotting)));
    assert_eq!(spotting.trend.err(), Some(NotYet::NoSize));
    assert_ne!(finding(&of(&unsized_sessions(Skill::Handling))).trend.err(), Some(NotYet::NoSize));
}

#[test]
fn the_rule_of_the_order_tells_its_own_error() {
    // Four of five at a true rate of 0.7: p = 5 · 0.7⁴ · 0.3 + 0.7⁵ = 0.52822. Three of
    // six such sessions in any order: 1 − q⁶ − 6pq⁵ − 15p²q⁴ with q = 0.47178.
    let rule = Rule { items: 5, criterion: Fraction::literal(0.8), running: 3, days: 1 };
    let (p, q) = (0.528_22_f64, 0.471_78_f64);
    let by_hand = 1.0 - q.powi(6) - 6.0 * p * q.powi(5) - 15.0 * p * p * q.powi(4);
    let found = chances(rule, Fraction::literal(0.7), None, 6).expect("in range");
    assert!((found.in_any_order - by_hand).abs() < 1e-9 && (by_hand - 0.7076).abs() < 1e-4);
    // A run is harder to come by than three in any order, and two sessions are not three.
    assert!(found.within_sessions < found.in_any_order);
    assert!(chances(rule, Fraction::literal(0.7), None, 2).expect("in range").in_any_order.abs() < 1e-12);

    let mut sessions: Vec<Session> = (0..6).map(|week| held(7 * week, vec![spots(4, 5, 5.0, Prompt::Hint)])).collect();
    let unmet = steady(Track::Distance, Skill::Spotting, &sessions).expect("six sessions");
    assert!(!unmet.met, "one place only");
    sessions[5].entered.place = Place::OwnClass;
    let met = steady(Track::Distance, Skill::Spotting, &sessions).expect("six sessions");
    assert!(met.met && (met.sessions, met.rule.items) == (6, 5));
    // Items of a session are alike, so good sessions come more by chance, not less.
    assert!(met.by_chance > 0.5, "{}", met.by_chance);
    // With help that the rule does not allow there is nothing to judge.
    let helped: Vec<Session> = (0..6).map(|week| held(7 * week, vec![spots(5, 5, 5.0, Prompt::Told)])).collect();
    assert!(steady(Track::Distance, Skill::Spotting, &helped).is_none());
}

#[test]
fn help_fades_from_the_first_three_sessions_to_the_last_three() {
    let prompts = [
        Prompt::Told,
        Prompt::Shown,
        Prompt::Told,
        Prompt::Hint,
        Prompt::None,
        Prompt::Hint,
        Prompt::None,
        Prompt::None,
    ];
    let mut sessions: Vec<Session> =
        (0..).zip(prompts).map(|(week, prompt)| held(7 * week, vec![spots(8, 10, 9.0, prompt)])).collect();
    // A probe is no teaching and takes no help.
    sessions.push(probe(-7, vec![spots(1, 10, 9.0, Prompt::None)]));
    let found = fading(&of(&sessions)).expect("sessions with teaching");
    assert_eq!((found.first, found.last, found.sessions), (Prompt::Told, Prompt::None, 8));
    assert_eq!(found.alone_running, 2);
    assert!(found.is_apart());
    // An easy exercise beside a helped one does not hide the help.
    sessions.push(held(70, vec![spots(8, 10, 9.0, Prompt::None), spots(3, 10, 20.0, Prompt::Shown)]));
    assert_eq!(fading(&of(&sessions)).expect("the same").alone_running, 0);
}
