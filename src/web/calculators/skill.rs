//! Calculators of exercises: counts, rates and times.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Takes, Told, ask, show};

const TIME: Field = Field::number("time", "Time it took", "seconds", "95");

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "success-rate",
        title: "Success rate and its interval",
        question: "Which true success rates are compatible with so many right of so many?",
        fields: &[Field::count("right", "Right", "4"), Field::count("trials", "Trials", "5")],
        steps: &[ask(
            "success_rate_interval95",
            &[("successes", Typed("right")), ("trials", Typed("trials"))],
            &[
                show("rate", "Success rate", Told::Percent),
                show("wilson_low", "Interval of 95 %, from", Told::Percent),
                show("wilson_high", "Interval of 95 %, to", Told::Percent),
            ],
        )],
        how: &["Right over trials, with the score interval of Wilson. Few trials leave a wide interval."],
        source: "E. B. Wilson 1927 (from memory), recomputed independently.",
        care: Care::Plain,
    },
    Calculator {
        word: "median-time",
        title: "Median time with a cut-off",
        question: "What is the median time when trials stop at a cut-off?",
        fields: &[
            Field::taking(Takes::Numbers("seconds"), "times", "Time of every trial", "14 9.5 11 7.5 22")
                .hint("The cut-off for those without success, with spaces between."),
            Field::number("cutoff", "Cut-off", "seconds", "30"),
        ],
        steps: &[ask(
            "median_time",
            &[("times_s", Typed("times")), ("cutoff_s", Typed("cutoff"))],
            &[
                show("median_s", "Median time", Told::Number(1, "seconds")),
                show("censored", "Stopped at the cut-off", Told::Count("trials")),
            ],
        )],
        how: &[
            "The middle one; a trial that was cut off counts as longer than all others. Where it falls there, no median is told.",
        ],
        source: "Definition.",
        care: Care::Plain,
    },
    Calculator {
        word: "scanning",
        title: "Scanning",
        question: "How thoroughly and how fast was the area scanned?",
        fields: &[
            Field::count("targets", "Targets there were", "20"),
            Field::count("omitted", "Targets omitted", "3"),
            Field::count("twice", "Targets counted twice", "1"),
            TIME,
        ],
        steps: &[ask(
            "scan_score",
            &[
                ("targets", Typed("targets")),
                ("omitted", Typed("omitted")),
                ("counted_twice", Typed("twice")),
                ("time_s", Typed("time")),
            ],
            &[
                show("omission_rate", "Omitted", Told::Percent),
                show("repetition_rate", "Counted twice", Told::Percent),
                show("targets_per_min", "Found", Told::Number(1, "targets a minute")),
            ],
        )],
        how: &["Omitted and counted twice, over the targets; those found, over the minutes."],
        source: "Common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "tracking",
        title: "Tracking",
        question: "How well was the moving target followed?",
        fields: &[
            Field::number("duration", "Duration", "seconds", "60"),
            Field::count("losses", "How often it was lost", "4"),
            Field::number("lost", "Time it was lost", "seconds", "9"),
        ],
        steps: &[ask(
            "tracking_score",
            &[("duration_s", Typed("duration")), ("losses", Typed("losses")), ("time_lost_s", Typed("lost"))],
            &[
                show("time_on_target_fraction", "Time on the target", Told::Percent),
                show("losses_per_min", "Lost", Told::Number(1, "times a minute")),
            ],
        )],
        how: &["Losses over minutes; one less the time lost over the duration."],
        source: "Common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "time-gain",
        title: "Faster than at the baseline",
        question: "How much faster is it now than at the baseline?",
        fields: &[
            Field::number("before", "Median time at the baseline", "seconds", "24"),
            Field::number("now", "Present median time", "seconds", "9"),
        ],
        steps: &[ask(
            "log_time_gain",
            &[("baseline_median_s", Typed("before")), ("current_median_s", Typed("now"))],
            &[
                show("percent_faster", "Faster by", Told::Number(0, "%")),
                show("log10_ratio", "As a logarithm", Told::Number(2, "log units")),
            ],
        )],
        how: &["The difference over the baseline; the logarithm of their ratio."],
        source: "Definition.",
        care: Care::Plain,
    },
    Calculator {
        word: "shaking-picture",
        title: "Shaking picture",
        question: "How fast does the picture shake in the ocular?",
        fields: &[
            Field::times("power", "Power of the device", "8"),
            Field::number("hand", "Motion of the hand", "degrees a second", "1.5"),
        ],
        steps: &[ask(
            "apparent_image_speed",
            &[("power", Typed("power")), ("hand_tremor_deg_per_s", Typed("hand"))],
            &[show("image_speed_deg_per_s", "The picture moves", Told::Number(1, "degrees a second"))],
        )],
        how: &["The power times the motion of the hand."],
        source: "Definition of angular magnification.",
        care: Care::Telescope,
    },
    Calculator {
        word: "crossing-target",
        title: "Somebody crossing the line of sight",
        question: "How fast does somebody crossing the line of sight move through the device?",
        fields: &[
            Field::times("power", "Power of the device", "4"),
            Field::number("speed", "Speed of the target", "metres a second", "1.4").hint("Walking is about 1.4."),
            Field::far("distance", "Distance from the eye", "10 m"),
        ],
        steps: &[ask(
            "apparent_target_speed",
            &[("power", Typed("power")), ("target_speed_m_s", Typed("speed")), ("distance_m", Typed("distance"))],
            &[
                show("through_device_deg_per_s", "Through the device", Told::Number(1, "degrees a second")),
                show("unaided_deg_per_s", "With the bare eye", Told::Number(1, "degrees a second")),
            ],
        )],
        how: &["Speed over distance as an angle; times the power through the device."],
        source: "Geometry; the speed of walking is common practice.",
        care: Care::Telescope,
    },
];
