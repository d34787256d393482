//! Operations on exercises: counts, rates and times.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::{Input, Operation};
use crate::vision::skill::{
    Level, image_speed, median_time, scan_score, success_rate, target_speed, time_gain, tracking_score,
};
use crate::vision::units::Seconds;

const TOPIC: &str = "exercises";

const POWER: Input = Input::plain("power", "the power of the device");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "success_rate_interval95",
        topic: TOPIC,
        question: "Which true success rates are compatible with so many right of so many?",
        inputs: &[Input::count("successes", "the right ones"), Input::count("trials", "the trials")],
        answers: success,
    },
    Operation {
        name: "median_time",
        topic: TOPIC,
        question: "What is the median time when trials stop at a cut-off?",
        inputs: &[
            Input::numbers("times_s", "the time of every trial, the cut-off for those without success", "seconds"),
            Input::number("cutoff_s", "the cut-off", "seconds"),
        ],
        answers: median,
    },
    Operation {
        name: "scan_score",
        topic: TOPIC,
        question: "How thoroughly and how fast was the area scanned?",
        inputs: &[
            Input::count("targets", "the targets there were"),
            Input::count("omitted", "the targets omitted"),
            Input::count("counted_twice", "the targets counted twice"),
            Input::number("time_s", "the time it took", "seconds"),
        ],
        answers: scan,
    },
    Operation {
        name: "tracking_score",
        topic: TOPIC,
        question: "How well was the moving target followed?",
        inputs: &[
            Input::number("duration_s", "the duration", "seconds"),
            Input::count("losses", "how often it was lost"),
            Input::number("time_lost_s", "the time it was lost", "seconds"),
        ],
        answers: tracking,
    },
    Operation {
        name: "log_time_gain",
        topic: TOPIC,
        question: "How much faster is it now than at the baseline?",
        inputs: &[
            Input::number("baseline_median_s", "the median time at the baseline", "seconds"),
            Input::number("current_median_s", "the present median time", "seconds"),
        ],
        answers: gain,
    },
    Operation {
        name: "apparent_image_speed",
        topic: TOPIC,
        question: "How fast does the picture shake in the ocular?",
        inputs: &[POWER, Input::number("hand_tremor_deg_per_s", "the motion of the hand", "degrees a second")],
        answers: shake,
    },
    Operation {
        name: "apparent_target_speed",
        topic: TOPIC,
        question: "How fast does somebody crossing the line of sight move through the device?",
        inputs: &[
            POWER,
            Input::number("target_speed_m_s", "the speed of the target", "metres a second"),
            Input::metres("distance_m", "the distance from the eye"),
        ],
        answers: crossing,
    },
];

fn success(inputs: &Inputs<'_>) -> Found {
    let found = success_rate(inputs.count("successes")?, inputs.count("trials")?, Level::NinetyFive)?;
    Ok(Figures::from([("rate", found.rate.get()), ("wilson_low", found.low.get()), ("wilson_high", found.high.get())]))
}

fn median(inputs: &Inputs<'_>) -> Found {
    let times: Vec<Seconds> = inputs.numbers("times_s")?.into_iter().map(Seconds::new).collect::<Result<_, _>>()?;
    let found = median_time(&times, inputs.seconds("cutoff_s")?)?;
    Ok(Figures::default().count("censored", found.cut_off).and_if("median_s", found.median.map(|median| median.get())))
}

fn scan(inputs: &Inputs<'_>) -> Found {
    let score = scan_score(
        inputs.count("targets")?,
        inputs.count("omitted")?,
        inputs.count("counted_twice")?,
        inputs.seconds("time_s")?,
    )?;
    Ok(Figures::from([
        ("omission_rate", score.omission_rate.get()),
        ("repetition_rate", score.repetition_rate),
        ("targets_per_min", score.targets_per_minute),
    ]))
}

fn tracking(inputs: &Inputs<'_>) -> Found {
    let score = tracking_score(inputs.seconds("duration_s")?, inputs.count("losses")?, inputs.seconds("time_lost_s")?)?;
    Ok(Figures::from([("losses_per_min", score.losses_per_minute), ("time_on_target_fraction", score.on_target.get())]))
}

fn gain(inputs: &Inputs<'_>) -> Found {
    let gain = time_gain(inputs.seconds("baseline_median_s")?, inputs.seconds("current_median_s")?)?;
    Ok(Figures::from([("log10_ratio", gain.log10_ratio), ("percent_faster", gain.percent_faster)]))
}

fn shake(inputs: &Inputs<'_>) -> Found {
    let speed = image_speed(inputs.power("power")?, inputs.number("hand_tremor_deg_per_s")?)?;
    Ok(Figures::from([("image_speed_deg_per_s", speed)]))
}

fn crossing(inputs: &Inputs<'_>) -> Found {
    let speed = target_speed(inputs.power("power")?, inputs.number("target_speed_m_s")?, inputs.metres("distance_m")?)?;
    Ok(Figures::from([("unaided_deg_per_s", speed.unaided), ("through_device_deg_per_s", speed.through_device)]))
}
