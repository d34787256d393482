//! Calculators of contrast, on paper, on charts and on screens.

use super::entry::Given::{Found, Typed};
use super::entry::{Calculator, Care, Field, Shows, Takes, Told, ask, show};

const MEASURES: &[Shows] =
    &[show("weber_magnitude", "Weber contrast", Told::Percent), show("michelson", "Michelson contrast", Told::Percent)];

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "contrast",
        title: "Contrast from luminances",
        question: "How much does the target stand out, in every measure?",
        fields: &[
            Field::number("target", "Luminance of the target", "cd/m\u{b2}", "8"),
            Field::number("ground", "Luminance of the ground", "cd/m\u{b2}", "80"),
            Field::percent("area", "Part of the area that the target covers", "10").optional(),
        ],
        steps: &[ask(
            "contrasts",
            &[
                ("target_luminance_cd_m2", Typed("target")),
                ("background_luminance_cd_m2", Typed("ground")),
                ("target_area_fraction", Typed("area")),
            ],
            &[
                show("weber_magnitude", "Weber contrast", Told::Percent),
                show("michelson", "Michelson contrast", Told::Percent),
                show("luminance_ratio", "Ratio of the two", Told::Number(1, "to 1")),
                show("rms", "Root mean square contrast", Told::Percent),
                show("polarity", "Which way", Told::Word),
            ],
        )],
        how: &[
            "Weber: the difference over the ground. Michelson: the difference over the sum. They are never interchangeable.",
        ],
        source: "Definitions.",
        care: Care::Plain,
    },
    Calculator {
        word: "contrast-of-surfaces",
        title: "Contrast of two surfaces",
        question: "How much does a matt surface stand out from another in the same light?",
        fields: &[
            Field::percent("target", "Reflectance of the target", "5").hint("Black ink is about 5."),
            Field::percent("ground", "Reflectance of the ground", "80").hint("White paper is about 80."),
        ],
        steps: &[ask(
            "contrast_from_reflectance",
            &[("target_reflectance", Typed("target")), ("background_reflectance", Typed("ground"))],
            MEASURES,
        )],
        how: &["In the same light matt surfaces differ as their reflectances do."],
        source: "Lambert's law (derived); the two reflectances in the hints are common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "michelson-to-weber",
        title: "Michelson as Weber contrast",
        question: "What is this Michelson contrast as Weber contrast?",
        fields: &[
            Field::percent("michelson", "Michelson contrast", "50"),
            Field::taking(
                Takes::Choice(&[("dark_on_light", "Dark on light"), ("light_on_dark", "Light on dark")]),
                "polarity",
                "Which is the darker?",
                "dark_on_light",
            ),
        ],
        steps: &[ask(
            "michelson_to_weber",
            &[("michelson", Typed("michelson")), ("polarity", Typed("polarity"))],
            &[show("weber_magnitude", "Weber contrast", Told::Percent)],
        )],
        how: &["Dark on light 2C/(1 + C), light on dark 2C/(1 \u{2212} C)."],
        source: "Definitions (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "contrast-threshold",
        title: "Contrast that is just seen",
        question: "Which contrast is just seen with this sensitivity?",
        fields: &[Field::number("log_cs", "Contrast sensitivity", "log units", "1.65")],
        steps: &[ask(
            "log_cs_to_threshold",
            &[("log_cs", Typed("log_cs"))],
            &[show("threshold_weber", "Threshold, as Weber contrast", Told::Number(4, "of 1"))],
        )],
        how: &["Ten to the power of minus the sensitivity."],
        source: "Definition (D. G. Pelli, J. G. Robson and A. J. Wilkins 1988).",
        care: Care::Plain,
    },
    Calculator {
        word: "contrast-reserve",
        title: "Contrast reserve",
        question: "How many times more contrast than the threshold does the target have?",
        fields: &[
            Field::percent("target", "Weber contrast of the target", "80"),
            Field::number("log_cs", "Contrast sensitivity", "log units", "1.35").one_of(),
            Field::percent("threshold", "Threshold, as Weber contrast", "").one_of(),
        ],
        steps: &[ask(
            "contrast_reserve",
            &[("target_weber", Typed("target")), ("log_cs", Typed("log_cs")), ("threshold_weber", Typed("threshold"))],
            &[
                show("contrast_reserve_ratio", "Contrast reserve", Told::Number(1, "times the threshold")),
                show("threshold_weber", "Threshold, as Weber contrast", Told::Percent),
            ],
        )],
        how: &["The contrast of the target over the threshold contrast."],
        source: "Definition (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "contrast-letters",
        title: "Letters on a contrast chart",
        question: "Which sensitivity is so many letters on a contrast chart?",
        fields: &[
            Field::count("letters", "Letters read", "33"),
            Field::count("full", "Letters printed in full contrast", "3"),
            Field::number("worth", "What one letter is worth", "log units", "0.05")
                .hint("0.05 where groups of three differ by 0.15."),
        ],
        steps: &[ask(
            "log_cs_from_letters",
            &[
                ("letters_read", Typed("letters")),
                ("letters_in_full_contrast_row", Typed("full")),
                ("log_per_letter", Typed("worth")),
            ],
            &[show("log_cs", "Contrast sensitivity", Told::Number(2, "log units"))],
        )],
        how: &["The letters beyond those in full contrast, each times its worth."],
        source: "D. G. Pelli, J. G. Robson and A. J. Wilkins 1988 for the groups of three; letter scoring (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "contrast-matched",
        title: "Contrast on a matching chart",
        question: "Which contrast is so far below full contrast on a matching chart?",
        fields: &[Field::number("below", "How far below full contrast", "log units", "0.6")],
        steps: &[ask(
            "log_units_below_full_contrast",
            &[("log_units_below_full_contrast", Typed("below"))],
            &[show("weber", "Weber contrast", Told::Percent)],
        )],
        how: &["Ten to the power of minus so many log units."],
        source: "Definition (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "projector",
        title: "Projector in a room with light",
        question: "Which contrast is left on a screen in this room, and how much light may fall on it?",
        fields: &[
            Field::number("white", "The projector's white on the screen", "lux", "400"),
            Field::number("black", "The projector's black on the screen", "lux", "1"),
            Field::number("room", "Light of the room on the screen", "lux", "20"),
            Field::number("gain", "The screen's reflectance or gain", "", "1").hint("1 for a white matt screen."),
            Field::number("ratio", "Ratio of white to black wanted", "", "7").optional(),
        ],
        steps: &[
            ask(
                "projector_contrast",
                &[
                    ("projector_white_lux", Typed("white")),
                    ("projector_black_lux", Typed("black")),
                    ("ambient_on_screen_lux", Typed("room")),
                    ("screen_reflectance_or_gain", Typed("gain")),
                ],
                &[
                    show("system_ratio", "White to black", Told::Number(1, "to 1")),
                    show("weber_dark_text", "Weber contrast of dark text", Told::Percent),
                    show("michelson", "Michelson contrast", Told::Percent),
                    show("white_cd_m2", "White looks", Told::Number(0, "cd/m\u{b2}")),
                    show("black_cd_m2", "Black looks", Told::Number(1, "cd/m\u{b2}")),
                ],
            ),
            ask(
                "max_ambient_for_ratio",
                &[
                    ("projector_white_lux", Typed("white")),
                    ("projector_black_lux", Typed("black")),
                    ("system_ratio", Typed("ratio")),
                ],
                &[show("max_ambient_lux", "For this ratio, light of the room at most", Told::Number(0, "lux"))],
            ),
        ],
        how: &["The light of the room is added to white and to black alike."],
        source: "Lambert's law (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "screen-readings",
        title: "Projector by three readings of a meter",
        question: "Which contrast does projected writing have in this room, and how dark would the room have to be?",
        fields: &[
            Field::number("white", "Reading with a white slide", "lux", "550")
                .hint("The meter held against the screen, facing the projector."),
            Field::number("black", "Reading with a black slide", "lux", "151"),
            Field::number("off", "Reading with the projector off", "lux", "150"),
            Field::percent("slide", "Contrast of the writing on the slide", "100").hint("100 for black and white."),
            Field::percent("wanted", "Weber contrast wanted of black writing", "90").optional(),
        ],
        steps: &[
            ask(
                "screen_readings",
                &[
                    ("white_reading_lux", Typed("white")),
                    ("black_reading_lux", Typed("black")),
                    ("off_reading_lux", Typed("off")),
                    ("slide_weber", Typed("slide")),
                ],
                &[
                    show("weber_writing", "Weber contrast of the writing", Told::Percent),
                    show("system_ratio", "White to black", Told::Number(1, "to 1")),
                    show("projector_white_lux", "The projector's own white", Told::Number(0, "lux")),
                    show("projector_black_lux", "The projector's own black", Told::Number(1, "lux")),
                ],
            ),
            ask(
                "max_ambient_for_contrast",
                &[
                    ("projector_white_lux", Found(0, "projector_white_lux")),
                    ("projector_black_lux", Found(0, "projector_black_lux")),
                    ("weber_dark_text", Typed("wanted")),
                ],
                &[show("max_ambient_lux", "For this contrast, light of the room at most", Told::Number(1, "lux"))],
            ),
        ],
        how: &[
            "Contrast of the slide times the difference of white and black over white, as read: the light of the room is in both.",
            "Light of the room at most: the difference over the contrast wanted, less the projector's own white.",
        ],
        source: "Lambert's law (derived).",
        care: Care::Plain,
    },
    Calculator {
        word: "screen-colours",
        title: "Two colours on a screen",
        question: "Which contrast do two screen colours have, by the ratio of the web guideline and as Weber contrast?",
        fields: &[
            Field::taking(Takes::Colour, "text", "Colour of the text", "#595959").hint("As six hexadecimal digits."),
            Field::taking(Takes::Colour, "ground", "Colour behind it", "#ffffff").hint("As six hexadecimal digits."),
        ],
        steps: &[
            ask(
                "wcag_ratio",
                &[("foreground_rgb8", Typed("text")), ("background_rgb8", Typed("ground"))],
                &[
                    show("ratio", "Ratio of the guideline", Told::Number(1, "to 1")),
                    show("michelson_no_flare", "Michelson contrast in a dark room", Told::Percent),
                ],
            ),
            ask(
                "wcag_to_weber",
                &[("ratio", Found(0, "ratio")), ("background_relative_luminance", Found(0, "relative_luminance_high"))],
                &[
                    show("weber_no_flare", "Darker on lighter, Weber contrast in a dark room", Told::Percent),
                    show("weber_with_5pct_flare", "The same with 5 % of stray light", Told::Percent),
                ],
            ),
        ],
        how: &[
            "Relative luminances, each and 0.05, one over the other. The guideline's ratio is no contrast of vision science.",
        ],
        source: "W3C, WCAG 2.2, relative luminance and contrast ratio.",
        care: Care::Plain,
    },
];
