//! Calculators of reading aloud, its curve over print size, and copying.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Takes, Told, ask, show};

const GREATEST: Field = Field::number("greatest", "Greatest speed", "words a minute", "150");
const WPM: Told = Told::Number(0, "words a minute");

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "reading-speed",
        title: "Reading speed of a passage",
        question: "How fast was a passage read aloud, when words missed or misread do not count?",
        fields: &[
            Field::number("time", "Reading time", "seconds", "4.2"),
            Field::count("errors", "Word errors", "0"),
            Field::number("words", "Standard words of the passage", "", "10")
                .hint("Six characters with spaces are one."),
        ],
        steps: &[ask(
            "passage_reading_speed",
            &[("reading_time_s", Typed("time")), ("word_errors", Typed("errors")), ("standard_words", Typed("words"))],
            &[show("wpm", "Reading speed", WPM)],
        )],
        how: &["Sixty times the words less the errors, over the seconds."],
        source: "Common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "text-speed",
        title: "Reading speed of any text",
        question: "How fast was a text of so many characters read?",
        fields: &[
            Field::count("characters", "Characters with spaces", "612"),
            Field::number("time", "Reading time", "seconds", "95"),
        ],
        steps: &[ask(
            "standard_length_words_per_minute",
            &[("characters_including_spaces", Typed("characters")), ("time_s", Typed("time"))],
            &[show("wpm", "Reading speed", WPM)],
        )],
        how: &["Ten times the characters over the seconds: six characters with spaces are one standard word."],
        source: "The convention of the standard word.",
        care: Care::Plain,
    },
    Calculator {
        word: "speed-of-print",
        title: "Speed at a print size, by angles",
        question: "How fast is this print read, by the curve over the minimum angle?",
        fields: &[
            Field::number("print", "Print size", "minutes of arc", "4"),
            Field::number("threshold", "Threshold size", "minutes of arc", "1.6"),
            Field::number("critical", "Critical size", "minutes of arc", "4"),
            GREATEST,
        ],
        steps: &[ask(
            "reading_speed_exponential_mar",
            &[
                ("print_size_mar_arcmin", Typed("print")),
                ("threshold_mar_arcmin", Typed("threshold")),
                ("critical_mar_arcmin", Typed("critical")),
                ("max_wpm", Typed("greatest")),
            ],
            &[show("wpm", "Reading speed", WPM)],
        )],
        how: &["The greatest speed, less a part of it that falls off as print grows beyond the threshold."],
        source: "An abstract of a meeting on low vision and reading (seen).",
        care: Care::Plain,
    },
    Calculator {
        word: "critical-print",
        title: "Critical print from a curve",
        question: "How fast is this print read, and which print is critical, by the curve over logMAR?",
        fields: &[
            Field::number("greatest", "Greatest speed", "words a minute", "200"),
            Field::number("ln_rate", "Natural logarithm of the rate constant", "", "1.9"),
            Field::number("one_word", "Print read at one word a minute", "logMAR", "-0.25"),
            Field::percent("fast", "Part of the greatest speed that counts as fast", "90"),
            Field::number("print", "Print size", "logMAR", "0.15"),
        ],
        steps: &[ask(
            "reading_curve_log_exponential",
            &[
                ("max_wpm", Typed("greatest")),
                ("ln_rate_constant", Typed("ln_rate")),
                ("x_intercept_logmar", Typed("one_word")),
                ("cps_criterion_fraction", Typed("fast")),
                ("print_size_logmar", Typed("print")),
            ],
            &[show("cps_logmar", "Critical print", Told::LogMar), show("wpm", "Speed at this print", WPM)],
        )],
        how: &["The logarithm of the speed rises toward that of the greatest speed as print grows."],
        source: "S. H. Cheung and others 2008 (from memory).",
        care: Care::Plain,
    },
    Calculator {
        word: "two-limbs",
        title: "Speed at a print size, by two limbs",
        question: "How fast is this print read, by two straight limbs?",
        fields: &[
            Field::number("print", "Print size", "logMAR", "0.5"),
            Field::number("critical", "Critical print", "logMAR", "0.7"),
            Field::number("greatest", "Greatest speed", "words a minute", "140"),
            Field::number("slope", "Slope below it", "words a minute in a log unit", "180"),
        ],
        steps: &[ask(
            "reading_curve_bilinear",
            &[
                ("print_size_logmar", Typed("print")),
                ("cps_logmar", Typed("critical")),
                ("max_wpm", Typed("greatest")),
                ("slope_wpm_per_log", Typed("slope")),
            ],
            &[show("wpm", "Reading speed", WPM)],
        )],
        how: &["Flat from the critical print on, a straight fall below it."],
        source: "A published reading test of 2001 (seen), two limbs on logMAR.",
        care: Care::Plain,
    },
    Calculator {
        word: "fit-a-curve",
        title: "Critical print from passages read",
        question: "Which curve, and which two limbs, fit these passages best?",
        fields: &[
            Field::taking(
                Takes::Numbers("logMAR"),
                "prints",
                "Print size of each passage",
                "0.2 0.3 0.4 0.5 0.6 0.7 0.8 0.9 1.0 1.1 1.2 1.3",
            )
            .hint("With spaces between, a point before decimals."),
            Field::taking(
                Takes::Speeds,
                "speeds",
                "Speed of each passage",
                "2.4 8.9 21 38 57 74 88 99 107 113 117 120",
            )
            .hint("One for each print size, in the same order."),
        ],
        steps: &[
            ask(
                "reading_curve_fit_exponential",
                &[("x", Typed("prints")), ("log10_wpm", Typed("speeds"))],
                &[
                    show("cps90_speed", "Print for 90 % of the greatest speed", Told::LogMar),
                    show("se_cps90", "Its standard error", Told::Number(3, "logMAR")),
                    show("cps80_speed", "Print for 80 % of the greatest speed", Told::LogMar),
                    show("a", "Logarithm of the greatest speed", Told::Number(2, "log units")),
                    show("b", "Natural logarithm of the rate constant", Told::Number(2, "")),
                    show("c", "Print read at one word a minute", Told::LogMar),
                    show("resid_sd", "Scatter about the curve", Told::Number(3, "log units")),
                ],
            ),
            ask(
                "reading_curve_fit_two_limb",
                &[("x", Typed("prints")), ("log10_wpm", Typed("speeds"))],
                &[
                    show("cps", "Critical print by two limbs", Told::LogMar),
                    show("se_cps", "Standard error of that", Told::Number(3, "logMAR")),
                    show("plateau", "Logarithm of the speed above it", Told::Number(2, "log units")),
                    show("slope", "Slope below it", Told::Number(1, "log units in a log unit")),
                ],
            ),
        ],
        how: &[
            "Least squares on the logarithm of the speed. A few passages leave wide errors; the two need not agree.",
        ],
        source: "S. H. Cheung and others 2008 for the curve (from memory); least squares.",
        care: Care::Plain,
    },
    Calculator {
        word: "copying",
        title: "Copying from the board",
        question: "How fast is it copied from the board, and how does that compare with the desk?",
        fields: &[
            Field::count("characters", "Characters copied", "120"),
            Field::number("time", "Time it took", "seconds", "600"),
            Field::count("errors", "Errors among them", "4"),
            Field::number("desk", "Rate at the desk", "characters a minute", "40").optional(),
        ],
        steps: &[ask(
            "copy_rate",
            &[
                ("characters_copied", Typed("characters")),
                ("time_s", Typed("time")),
                ("character_errors", Typed("errors")),
                ("desk_copy_cpm", Typed("desk")),
            ],
            &[
                show("board_cpm", "From the board", Told::Number(1, "characters a minute")),
                show("correct_cpm", "Right ones", Told::Number(1, "characters a minute")),
                show("error_rate", "Errors", Told::Percent),
                show("board_to_desk_ratio", "Board against desk", Told::Percent),
            ],
        )],
        how: &[
            "Sixty times the characters over the seconds; errors over characters; the board's rate over the desk's.",
        ],
        source: "Definitions (derived).",
        care: Care::Plain,
    },
];
