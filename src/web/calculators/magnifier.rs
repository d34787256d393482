//! Calculators of magnifiers and reading adds.

use super::entry::Given::{Found, Typed};
use super::entry::{Calculator, Care, Field, Shows, Told, ask, show};

const EYE: Field = Field::near("eye", "Distance from the eye to the lens", "25 cm");
const BOTH: &[Shows] = &[
    show("equivalent_power_D", "Equivalent power", Told::Dioptres),
    show("equivalent_viewing_distance_m", "Works like looking from", Told::Letter),
];

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "equivalent-power",
        title: "Magnifier with a reading add",
        question: "What do a magnifier and a reading add, or accommodation, make together?",
        fields: &[
            Field::dioptres("power", "Power of the magnifier", "20"),
            Field::dioptres("add", "Reading add or accommodation", "4"),
            Field::near("apart", "Distance between the two", "10 cm"),
        ],
        steps: &[ask(
            "equivalent_power",
            &[
                ("magnifier_power_D", Typed("power")),
                ("add_or_accommodation_D", Typed("add")),
                ("separation_m", Typed("apart")),
            ],
            BOTH,
        )],
        how: &[
            "Both powers added, less their product times the distance between them. One metre over it is the viewing distance.",
        ],
        source: "The textbook formula of two thin lenses.",
        care: Care::Magnifier,
    },
    Calculator {
        word: "magnifier-label",
        title: "Labels of a magnifier",
        question: "Which labels may a lens of this power carry?",
        fields: &[Field::dioptres("power", "Power of the magnifier", "12")],
        steps: &[ask(
            "trade_magnification",
            &[("power_D", Typed("power"))],
            &[
                show("F_over_4", "A quarter of the power", Told::Times),
                show("F_over_4_plus_1", "A quarter of the power and 1", Told::Times),
            ],
        )],
        how: &["The trade uses both conventions, so a label alone says too little: ask for the dioptres."],
        source: "The trade's two conventions (seen).",
        care: Care::Magnifier,
    },
    Calculator {
        word: "stand-magnifier",
        title: "Stand magnifier",
        question: "How does a stand magnifier work at this eye distance?",
        fields: &[
            Field::dioptres("power", "Power of the lens", "20"),
            Field::near("height", "Height of the stand, from the page to the lens", "4 cm"),
            EYE,
        ],
        steps: &[ask(
            "stand_magnifier",
            &[("lens_power_D", Typed("power")), ("stand_height_m", Typed("height")), ("eye_to_lens_m", Typed("eye"))],
            &[
                show("equivalent_viewing_distance_m", "Works like looking from", Told::Letter),
                show("equivalent_viewing_power_D", "Equivalent power", Told::Dioptres),
                show("enlargement_ratio", "Enlargement of the picture", Told::Times),
                show("image_distance_below_lens_m", "Picture below the lens", Told::Letter),
                show("eye_to_image_m", "Picture from the eye", Told::Letter),
                show("required_accommodation_D", "Focusing or add needed", Told::Dioptres),
            ],
        )],
        how: &[
            "The lens makes an enlarged picture below the page; the eye looks at that, from its distance over the enlargement.",
        ],
        source: "Derived for a thin lens.",
        care: Care::Magnifier,
    },
    Calculator {
        word: "magnifier-field",
        title: "Field of a hand magnifier",
        question: "How wide a strip of the page does a hand magnifier show?",
        fields: &[
            Field::trade("diameter", "Diameter of the lens", "90 mm"),
            Field::dioptres("power", "Power of the magnifier", "6"),
            EYE,
        ],
        steps: &[ask(
            "hand_magnifier_field",
            &[("lens_diameter_m", Typed("diameter")), ("power_D", Typed("power")), ("eye_to_lens_m", Typed("eye"))],
            &[show("field_width_m", "Seen at once", Told::Letter)],
        )],
        how: &["The diameter over the product of power and eye distance, page at the focus. The edge is not clear."],
        source: "An optometry teaching note's worked example (seen).",
        care: Care::Magnifier,
    },
    Calculator {
        word: "starting-add",
        title: "Starting add",
        question: "Which add reads 1 M, and which this goal, by the old rule at threshold?",
        fields: &[
            Field::acuity("acuity", "Acuity", "decimal 0.1"),
            Field::number("goal", "Print to be read", "M", "2").optional(),
        ],
        steps: &[
            ask("decimal_of_logmar", &[("logmar", Typed("acuity"))], &[]),
            ask(
                "kestenbaum_add_for_1M",
                &[("decimal_acuity", Found(0, "decimal"))],
                &[show("add_D", "Add for 1 M", Told::Dioptres)],
            ),
            ask(
                "add_for_goal",
                &[("add_for_1M_D", Found(1, "add_D")), ("goal_m_units", Typed("goal"))],
                &[show("add_D", "Add for this goal", Told::Dioptres)],
            ),
        ],
        how: &["One over the decimal acuity; divided by the goal in M. There is no reserve in it: reading needs more."],
        source: "Kestenbaum's rule in teaching items (seen).",
        care: Care::Magnifier,
    },
    Calculator {
        word: "reading-power",
        title: "Power for a print size",
        question: "Which equivalent power reads the goal with this reserve?",
        fields: &[
            Field::number("read", "Smallest print read", "M", "2"),
            Field::near("distance", "Reading distance", "40 cm"),
            Field::number("goal", "Print to be read", "M", "1"),
            Field::times("reserve", "Reserve over the smallest print", "2").hint("1 is the threshold."),
        ],
        steps: &[
            ask(
                "required_equivalent_power",
                &[
                    ("read_m_units", Typed("read")),
                    ("at_distance_m", Typed("distance")),
                    ("goal_m_units", Typed("goal")),
                    ("reserve_ratio", Typed("reserve")),
                ],
                &[show("equivalent_power_D", "Equivalent power", Told::Dioptres)],
            ),
            ask(
                "required_evd",
                &[
                    ("read_m_units", Typed("read")),
                    ("at_distance_m", Typed("distance")),
                    ("goal_m_units", Typed("goal")),
                    ("reserve_ratio", Typed("reserve")),
                ],
                &[show("equivalent_viewing_distance_m", "Works like looking from", Told::Letter)],
            ),
        ],
        how: &["Print read over goal, times the reserve, over the reading distance in metres."],
        source: "Derived; without a reserve as in I. L. Bailey's lecture notes (seen).",
        care: Care::Magnifier,
    },
    Calculator {
        word: "power-for-letters",
        title: "Power for letters of a height",
        question: "Which equivalent power shows small letters of this height with this reserve?",
        fields: &[
            Field::acuity("acuity", "Near acuity", "1.0 logMAR"),
            Field::near("height", "Height of the small letters", "2 mm"),
            Field::times("reserve", "Reserve needed", "2").hint("1 is the threshold."),
        ],
        steps: &[ask(
            "equivalent_power_for_height",
            &[
                ("threshold_logmar", Typed("acuity")),
                ("letter_height_m", Typed("height")),
                ("required_reserve_ratio", Typed("reserve")),
            ],
            BOTH,
        )],
        how: &["One over the distance at which the bare eye would have to hold them for this reserve."],
        source: "Definition of equivalent viewing distance.",
        care: Care::Power,
    },
    Calculator {
        word: "stand-field",
        title: "Field of a stand magnifier",
        question: "How wide a strip of print shows through a lens on a stand, by its equivalent power?",
        fields: &[
            Field::trade("diameter", "Diameter of the lens", "60 mm"),
            Field::dioptres("power", "Equivalent power at this distance of the eye", "11.1"),
            EYE,
        ],
        steps: &[ask(
            "window_magnifier_field",
            &[
                ("lens_diameter_m", Typed("diameter")),
                ("equivalent_power_D", Typed("power")),
                ("eye_to_lens_m", Typed("eye")),
            ],
            &[show("field_width_m", "Seen at once", Told::Letter)],
        )],
        how: &["The diameter over the product of equivalent power and eye distance. The edge is not clear."],
        source: "Derived: the rim is a window before the picture.",
        care: Care::Magnifier,
    },
    Calculator {
        word: "enlarged-picture",
        title: "Enlarged picture on a screen",
        question: "What viewing distance does an enlarged picture stand for?",
        fields: &[
            Field::times("enlargement", "Enlargement of the picture", "10"),
            Field::near("distance", "Distance from the eye to the picture", "25 cm"),
        ],
        steps: &[ask(
            "evd_from_enlargement",
            &[("enlargement", Typed("enlargement")), ("viewing_distance_m", Typed("distance"))],
            BOTH,
        )],
        how: &["The viewing distance over the enlargement."],
        source: "I. L. Bailey, lecture notes (seen).",
        care: Care::Power,
    },
    Calculator {
        word: "working-distance",
        title: "Working distance",
        question: "How near does this eye hold the page?",
        fields: &[
            Field::dioptres("add", "Reading add", "10"),
            Field::dioptres("accommodation", "Accommodation used", "0"),
            Field::dioptres("uncorrected", "Refraction left uncorrected", "0").hint("Minus for a myope."),
        ],
        steps: &[ask(
            "working_distance",
            &[
                ("add_D", Typed("add")),
                ("accommodation_D", Typed("accommodation")),
                ("uncorrected_refraction_D", Typed("uncorrected")),
            ],
            &[
                show("working_distance_m", "Page from the eye", Told::Letter),
                show("equivalent_viewing_power_D", "Equivalent power", Told::Dioptres),
            ],
        )],
        how: &["One over the add and the accommodation together, less the refraction left uncorrected."],
        source: "Derived.",
        care: Care::Power,
    },
];
