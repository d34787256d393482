//! Odd numbers for skill, reading, copying and what is advised.

use farpoint::vision::acuity::LogMar;
use farpoint::vision::demand::Seat;
use farpoint::vision::length::shown::Units;
use farpoint::vision::readable::{AcuityUsed, Basis, Goal, Goals, Viewer};
use farpoint::vision::reading::copying::{
    CharactersPerMinute, Copied, board_to_desk, characters_per_glance, copy_rate,
};
use farpoint::vision::reading::curve::{ExponentialInMar, LogExponential, TwoLimb};
use farpoint::vision::reading::fit::{Passage, fit_exponential, fit_two_limb};
use farpoint::vision::reading::performance::performance;
use farpoint::vision::reading::{
    ReadDown, WordsPerMinute, passage_speed, reading_acuity, speed_changed, standard_length_speed,
};
use farpoint::vision::seat_print::{BoardWriting, Question as SeatQuestion, SeatAndPrint, seat_and_print};
use farpoint::vision::skill::{
    Level, image_speed, median_time, scan_score, success_rate, target_speed, time_gain, tracking_score,
};
use farpoint::vision::units::{Arcminutes, Fraction, Magnification, Metres, OutOfRange, Seconds};

use super::{Answer, Question, whole};

fn m(value: f64) -> Result<Metres, OutOfRange> {
    Metres::new(value)
}

fn l(value: f64) -> Result<LogMar, OutOfRange> {
    LogMar::new(value)
}

fn s(value: f64) -> Result<Seconds, OutOfRange> {
    Seconds::new(value)
}

fn wpm(value: f64) -> Result<WordsPerMinute, OutOfRange> {
    WordsPerMinute::new(value)
}

fn cpm(value: f64) -> Result<CharactersPerMinute, OutOfRange> {
    CharactersPerMinute::new(value)
}

/// Six passages; the numbers are the size and the speed of the third.
fn passages(x: &[f64]) -> Result<Vec<Passage>, OutOfRange> {
    [(0.2, 4.5), (0.4, 32.8), (x[0], x[1]), (0.8, 95.3), (1.0, 100.3), (1.2, 114.1)]
        .into_iter()
        .map(|(size, speed)| Ok(Passage { size: l(size)?, speed: wpm(speed)? }))
        .collect()
}

const fn question(name: &'static str, usual: &'static [f64], ask: fn(&[f64]) -> Answer) -> Question {
    Question { name, usual, ask }
}

pub(super) const QUESTIONS: &[Question] = &[
    question("skill::success_rate", &[4.0, 5.0], |x| {
        let rate = success_rate(whole(x[0])?, whole(x[1])?, Level::Ninety)?;
        Ok(vec![rate.rate.get(), rate.low.get(), rate.high.get()])
    }),
    question("skill::median_time", &[14.0, 9.5, 30.0], |x| {
        let found = median_time(&[s(x[0])?, s(x[1])?], s(x[2])?)?;
        Ok(vec![found.median.map_or(0.0, Seconds::get), f64::from(found.cut_off)])
    }),
    question("skill::scan_score", &[20.0, 3.0, 1.0, 95.0], |x| {
        let score = scan_score(whole(x[0])?, whole(x[1])?, whole(x[2])?, s(x[3])?)?;
        Ok(vec![score.omission_rate.get(), score.repetition_rate, score.targets_per_minute])
    }),
    question("skill::tracking_score", &[60.0, 4.0, 9.0], |x| {
        let score = tracking_score(s(x[0])?, whole(x[1])?, s(x[2])?)?;
        Ok(vec![score.losses_per_minute, score.on_target.get()])
    }),
    question("skill::time_gain", &[24.0, 9.0], |x| {
        let gain = time_gain(s(x[0])?, s(x[1])?)?;
        Ok(vec![gain.log10_ratio, gain.percent_faster])
    }),
    question("skill::image_speed", &[8.0, 1.5], |x| Ok(vec![image_speed(Magnification::new(x[0])?, x[1])?])),
    question("skill::target_speed", &[4.0, 1.4, 10.0], |x| {
        let speed = target_speed(Magnification::new(x[0])?, x[1], m(x[2])?)?;
        Ok(vec![speed.unaided, speed.through_device])
    }),
    question("reading::standard_length_speed", &[612.0, 95.0], |x| {
        Ok(vec![standard_length_speed(whole(x[0])?, s(x[1])?)?.get()])
    }),
    question("reading::passage_speed", &[10.0, 2.0, 6.5], |x| {
        Ok(vec![passage_speed(x[0], whole(x[1])?, s(x[2])?)?.get()])
    }),
    question("reading::reading_acuity", &[0.8, 0.1, 10.0, 3.0, 0.4, 0.2], |x| {
        let page = ReadDown {
            smallest: l(x[0])?,
            step: x[1],
            words_a_size: whole(x[2])?,
            word_errors: whole(x[3])?,
            named_for: m(x[4])?,
            read_at: m(x[5])?,
        };
        Ok(vec![reading_acuity(page)?.get()])
    }),
    question("reading::speed_changed", &[80.0, 98.0], |x| {
        Ok(vec![f64::from(u8::from(speed_changed(wpm(x[0])?, wpm(x[1])?)?))])
    }),
    question("reading::copying::copy_rate", &[120.0, 4.0, 600.0], |x| {
        let rate = copy_rate(Copied { characters: whole(x[0])?, errors: whole(x[1])?, time: s(x[2])? })?;
        Ok(vec![rate.all.get(), rate.correct.get(), rate.error_rate.get()])
    }),
    question("reading::copying::board_to_desk", &[12.0, 40.0], |x| {
        Ok(vec![board_to_desk(cpm(x[0])?, cpm(x[1])?)?.get()])
    }),
    question("reading::copying::characters_per_glance", &[120.0, 48.0], |x| {
        Ok(vec![characters_per_glance(whole(x[0])?, whole(x[1])?)?])
    }),
    question("reading::curve::speed_at", &[0.7, 140.0, 180.0, 0.5], |x| {
        let curve = TwoLimb { critical_print: l(x[0])?, greatest: wpm(x[1])?, slope: x[2] };
        Ok(vec![curve.speed_at(l(x[3])?)?.get()])
    }),
    question("reading::curve::speed_at in MAR", &[1.6, 4.0, 150.0, 3.0], |x| {
        let curve = ExponentialInMar {
            threshold: Arcminutes::new(x[0])?,
            critical: Arcminutes::new(x[1])?,
            greatest: wpm(x[2])?,
        };
        Ok(vec![curve.speed_at(Arcminutes::new(x[3])?)?.get()])
    }),
    question("reading::curve::speed_at in logMAR", &[200.0, 1.9, -0.25, 0.15], |x| {
        let curve = LogExponential { greatest: wpm(x[0])?, ln_rate: x[1], one_word_a_minute: l(x[2])? };
        Ok(vec![curve.speed_at(l(x[3])?)?.get()])
    }),
    question("reading::curve::critical_print", &[200.0, 1.9, -0.25, 0.9], |x| {
        let curve = LogExponential { greatest: wpm(x[0])?, ln_rate: x[1], one_word_a_minute: l(x[2])? };
        Ok(vec![curve.critical_print(Fraction::new(x[3])?)?.get()])
    }),
    question("reading::fit::critical_print", &[0.6, 76.9, 0.9], |x| {
        let fitted = fit_exponential(&passages(x)?)?;
        let critical = fitted.critical_print(Fraction::new(x[2])?)?;
        Ok(vec![critical.value, critical.standard_error.unwrap_or(0.0), fitted.log_greatest.value])
    }),
    question("reading::fit::fit_two_limb", &[0.6, 76.9], |x| {
        let fitted = fit_two_limb(&passages(x)?)?;
        Ok(vec![fitted.critical_print.value, fitted.plateau.value, fitted.slope.value, fitted.squares])
    }),
    question("reading::performance::performance", &[0.6, 76.9, 0.9], |x| {
        let said = performance(&passages(x)?, Fraction::new(x[2])?)?;
        let found = said.found.map_or(0.0, |found| found.critical_print.get());
        Ok(vec![said.highest_median.get(), said.at.get(), found])
    }),
    question("seat_print::seat_and_print", &[0.8, 0.035, 4.0, 1.0], |x| {
        let question = SeatQuestion {
            writing: BoardWriting { x_height: m(x[1])?, goal: Goal::Copy, contrast: None },
            seat: Seat { to_the_board: m(x[2])?, aside: m(x[3])? },
            viewer: Viewer { acuity: AcuityUsed { acuity: l(x[0])?, basis: Basis::BothEyesAsWorn }, sensitivity: None },
            device: None,
        };
        Ok(match seat_and_print(&question, &Goals::default())? {
            SeatAndPrint::Advice(advice) => {
                advice.unaided.words(Units::Metric)?;
                vec![advice.unaided.farthest_seat.get(), advice.unaided.letter.get()]
            }
            SeatAndPrint::MoveTheSeat { obliquity } => vec![obliquity.get()],
            SeatAndPrint::MendContrastFirst { reserve, .. } => vec![reserve.get()],
        })
    }),
];
