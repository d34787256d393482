//! Calculators of acuity and print sizes.

use super::entry::Given::{Found, Typed};
use super::entry::{Calculator, Care, Field, Step, Takes, Told, ask, show};

const TOP: Field = Field::number("largest_row", "Largest row of the chart", "logMAR", "1.0");
const STEP: Field = Field::number("row_step", "Step from row to row", "log units", "0.1");
const PER_ROW: Field = Field::count("per_row", "Letters in a row", "5");
const CORRECT: Field =
    Field::count("correct", "Letters read right", "20").hint("All letters of larger rows count as read.");

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "acuity",
        title: "An acuity in the other notations",
        question: "What is this acuity in logMAR, as a fraction, as a decimal and as a VAR score?",
        fields: &[Field::taking(Takes::Text, "acuity", "The acuity as it was written", "20/200")
            .hint("A fraction, decimal 0.1, 1.0 logMAR, VAR 50, or 4M @ 40 cm. A number alone can be read two ways.")],
        steps: &[
            ask(
                "qualitative_to_measured_acuity",
                &[("notation", Typed("acuity"))],
                &[
                    show("logmar", "logMAR", Told::LogMar),
                    show("logmar", "Over 20 feet", Told::OverTwenty),
                    show("logmar", "Over 6 metres", Told::OverSix),
                ],
            ),
            ask(
                "logmar_to_var_and_decimal",
                &[("logmar", Found(0, "logmar"))],
                &[
                    show("decimal", "Decimal", Told::Number(2, "")),
                    show("var_score", "VAR score", Told::Number(1, "points")),
                ],
            ),
        ],
        how: &[
            "logMAR is the logarithm of the letter's distance over the test distance; decimal is one over the minimum angle.",
            "The VAR score is 100 less 50 times the logMAR. A row is named only where the value lies within 0.006 of it.",
        ],
        source: "Definitions; DICOM PS3.17, Annex RR (seen). The rule for naming rows is common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "fraction",
        title: "A fraction in every notation",
        question: "What is a fraction with these two distances, also one that no chart prints?",
        fields: &[
            Field::far("test", "Test distance, above the line", "4 m"),
            Field::far("letter", "Distance of the letter, below the line", "40 m")
                .hint("Where this letter looks as tall as the letter of 20/20."),
        ],
        steps: &[
            ask(
                "snellen_to_all",
                &[("test_distance_m", Typed("test")), ("letter_distance_m", Typed("letter"))],
                &[
                    show("logmar", "logMAR", Told::LogMar),
                    show("logmar", "Over 20 feet", Told::OverTwenty),
                    show("mar_arcmin", "Minimum angle", Told::Number(2, "minutes of arc")),
                    show("decimal", "Decimal", Told::Number(2, "")),
                    show("var_score", "VAR score", Told::Number(1, "points")),
                    show("cycles_per_degree", "Finest grating", Told::Number(1, "cycles a degree")),
                ],
            ),
            ask(
                "snellen_ft_to_6m",
                &[("test_distance_ft", Typed("test")), ("letter_distance_ft", Typed("letter"))],
                &[show("letter_distance_m_at_6m", "Below the line of 6", Told::Number(1, "metres"))],
            ),
        ],
        how: &["The minimum angle in minutes of arc is the letter's distance over the test distance."],
        source: "Definition of the fraction; the conversion chart credited to J. T. Holladay (seen).",
        care: Care::Plain,
    },
    Calculator {
        word: "letters-read",
        title: "Letters read on a chart",
        question: "Which acuity is so many letters read, at the distance for which the rows are named?",
        fields: &[TOP, STEP, PER_ROW, CORRECT],
        steps: &[LETTERS],
        how: LETTERS_HOW,
        source: LETTERS_SOURCE,
        care: Care::Plain,
    },
    Calculator {
        word: "letters-read-elsewhere",
        title: "Letters read nearer or farther",
        question: "Which acuity is it when the chart was not at the distance for which its rows are named?",
        fields: &[
            TOP,
            Field::far("design", "Distance for which the rows are named", "4 m"),
            Field::far("test", "Test distance", "1 m"),
            STEP,
            PER_ROW,
            CORRECT,
        ],
        steps: &[ask(
            "letter_score_with_distance",
            &[
                ("largest_row_logmar_at_design_distance", Typed("largest_row")),
                ("design_distance_m", Typed("design")),
                ("test_distance_m", Typed("test")),
                ("row_step_log", Typed("row_step")),
                ("letters_per_row", Typed("per_row")),
                ("letters_correct", Typed("correct")),
            ],
            SCORE,
        )],
        how: &[
            LETTERS_HOW[0],
            "The logarithm of design distance over test distance is added: half the distance is 0.30.",
        ],
        source: LETTERS_SOURCE,
        care: Care::Plain,
    },
    Calculator {
        word: "print-size",
        title: "Print size in M",
        question: "How tall are small letters of this size, or which size in M are letters this tall?",
        fields: &[
            Field::number("m", "Print size", "M", "1").one_of(),
            Field::near("x_height", "Height of the small letters", "").one_of(),
            Field::number("n", "N size", "points", "").one_of().hint("By the rule for its one reference face."),
        ],
        steps: &[
            ask(
                "m_unit_height_mm",
                &[("m_units", Typed("m"))],
                &[show("height_mm", "Height of the small letters", Told::Number(2, "mm"))],
            ),
            ask(
                "m_units_of_height",
                &[("height_mm", Typed("x_height"))],
                &[show("m_units", "Print size", Told::Number(2, "M"))],
            ),
            ask("n_points_to_m", &[("n_points", Typed("n"))], &[show("m_units", "Print size", Told::Number(2, "M"))]),
        ],
        how: &["1 M subtends 5 minutes of arc at 1 metre: 1.4544 mm. An N size is eight times the size in M."],
        source: "Derived from the definition; N8 = 1 M from a teaching table (seen).",
        care: Care::Plain,
    },
    Calculator {
        word: "type-size",
        title: "Type in points as M",
        question: "Which size in M is type of so many points in this face?",
        fields: &[
            Field::number("points", "Size of the type", "points", "8"),
            Field::percent("x_height", "Height of the small letters, as a part of the size", "51.5")
                .hint("40 to 55 in most faces."),
        ],
        steps: &[ask(
            "point_size_to_m",
            &[("point_size_pt", Typed("points")), ("x_height_ratio", Typed("x_height"))],
            &[
                show("x_height_mm", "Height of the small letters", Told::Number(2, "mm")),
                show("m_units", "Print size", Told::Number(2, "M")),
            ],
        )],
        how: &["A point is 1/72 inch. Its part is the height of the small letters, and 1.4544 mm is 1 M."],
        source: "Definition of the point; the usual heights are common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "near-acuity",
        title: "Acuity from print read",
        question: "Which acuity reads print of this size at this distance?",
        fields: &[
            Field::number("m", "Print size read", "M", "1"),
            Field::near("distance", "Reading distance", "40 cm"),
        ],
        steps: &[ask(
            "near_logmar",
            &[("m_units", Typed("m")), ("distance_m", Typed("distance"))],
            &[
                show("logmar", "logMAR", Told::LogMar),
                show("snellen_20_denominator", "Below the line of 20", Told::Number(0, "feet")),
                show("inverse_V", "Minimum angle", Told::Number(2, "minutes of arc")),
            ],
        )],
        how: &["logMAR is the logarithm of the size in M over the distance in metres."],
        source: "A. Colenbrander, on reading acuity (abstract seen): 1/V = M × 1/distance.",
        care: Care::Plain,
    },
    Calculator {
        word: "print-just-read",
        title: "Print that is just read",
        question: "Which print does this acuity just read at this distance?",
        fields: &[
            Field::acuity("acuity", "Acuity", "0.43 logMAR"),
            Field::near("distance", "Reading distance", "25 cm"),
        ],
        steps: &[ask(
            "near_m_from_logmar",
            &[("logmar", Typed("acuity")), ("distance_m", Typed("distance"))],
            &[show("m_units", "Print just read", Told::Number(2, "M"))],
        )],
        how: &["Distance in metres times ten to the power of the logMAR. Comfortable reading needs larger print."],
        source: "A. Colenbrander, on reading acuity (abstract seen), solved for the print.",
        care: Care::Plain,
    },
];

const SCORE: &[super::entry::Shows] =
    &[show("logmar", "logMAR", Told::LogMar), show("var_score", "VAR score", Told::Number(1, "points"))];

const LETTERS: Step = ask(
    "letter_score_to_logmar",
    &[
        ("largest_row_logmar_at_test_distance", Typed("largest_row")),
        ("row_step_log", Typed("row_step")),
        ("letters_per_row", Typed("per_row")),
        ("letters_correct", Typed("correct")),
    ],
    SCORE,
);

const LETTERS_HOW: &[&str] =
    &["Largest row plus one step, less the step over the letters in a row for every letter read."];

const LETTERS_SOURCE: &str = "Derived; 0.02 a letter for rows of five in steps of 0.1 as published (seen).";
