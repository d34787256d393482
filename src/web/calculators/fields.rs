//! Calculators of the fields that the design of a telescope leaves.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Shows, Told, ask, show};
use super::telescope::{OBJECTIVE, OBJECTIVE_WIDTH, OCULAR};

const EDGES: &[Shows] = &[
    show("half_field_deg_chief_ray", "Half the field, to where half the light is left", Told::Number(1, "degrees")),
    show("half_field_deg_unvignetted", "Half the field in full light", Told::Number(1, "degrees")),
    show("half_field_deg_any_light", "Half the field, to the last light", Told::Number(1, "degrees")),
];
const SOURCE: &str = "Derived for thin lenses in line, and traced ray by ray a second way.";

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "galilean-field",
        title: "Field of a Galilean telescope",
        question: "How wide a field does a Galilean telescope show this eye?",
        fields: &[
            Field::dioptres("objective", "Power of the objective", "10"),
            Field::dioptres("ocular", "Power of the ocular", "-20").hint("Always minus."),
            Field::trade("diameter", "Diameter of the objective", "22 mm"),
            Field::trade("behind", "Pupil of the eye behind the ocular", "12 mm"),
            Field::trade("pupil", "Pupil of the eye", "4 mm"),
        ],
        steps: &[ask(
            "galilean_field",
            &[
                ("objective_power_D", Typed("objective")),
                ("ocular_power_D", Typed("ocular")),
                ("objective_diameter_m", Typed("diameter")),
                ("eye_pupil_behind_ocular_m", Typed("behind")),
                ("eye_pupil_m", Typed("pupil")),
            ],
            EDGES,
        )],
        how: &["The objective limits the field, seen from the pupil of the eye through the ocular."],
        source: SOURCE,
        care: Care::Telescope,
    },
    Calculator {
        word: "keplerian-field",
        title: "Field of a Keplerian telescope",
        question: "How wide a field do the two lenses of a Keplerian telescope, or its field stop, let through?",
        fields: &[
            OBJECTIVE,
            OCULAR,
            OBJECTIVE_WIDTH,
            Field::trade("ocular_diameter", "Diameter of the ocular", "12 mm"),
            Field::trade("stop", "Diameter of the field stop", "16.5 mm").optional(),
        ],
        steps: &[
            ask(
                "keplerian_field_no_stop",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("objective_diameter_m", Typed("diameter")),
                    ("ocular_diameter_m", Typed("ocular_diameter")),
                ],
                EDGES,
            ),
            ask(
                "keplerian_field_stop",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("field_stop_m", Typed("stop")),
                ],
                &[
                    show("true_field_deg", "True field that the stop leaves", Told::Number(1, "degrees")),
                    show("apparent_field_deg", "It looks wide", Told::Number(1, "degrees")),
                ],
            ),
        ],
        how: &[
            "The ocular limits the field, seen from the objective; a stop does so in the plane of the first picture.",
        ],
        source: SOURCE,
        care: Care::Telescope,
    },
    Calculator {
        word: "eye-behind-exit-pupil",
        title: "Eye behind the exit pupil",
        question: "What does an eye behind the exit pupil still see of the field?",
        fields: &[
            Field::trade("exit_pupil", "Exit pupil", "2.5 mm"),
            Field::trade("pupil", "Pupil of the eye", "3 mm"),
            Field::trade("behind", "Pupil of the eye behind the exit pupil", "12 mm"),
        ],
        steps: &[ask(
            "apparent_field_limit_eye_behind_exit_pupil",
            &[
                ("exit_pupil_m", Typed("exit_pupil")),
                ("eye_pupil_m", Typed("pupil")),
                ("eye_pupil_behind_exit_pupil_m", Typed("behind")),
            ],
            &[
                show(
                    "half_field_deg_pupil_centre_lit",
                    "Half the apparent field, with light at the middle of the pupil",
                    Told::Number(1, "degrees"),
                ),
                show(
                    "half_field_deg_any_light",
                    "Half the apparent field, to the last light",
                    Told::Number(1, "degrees"),
                ),
            ],
        )],
        how: &[
            "The arc tangent of half the exit pupil over the distance; for the last light, half of both pupils together.",
        ],
        source: "Ray geometry (derived).",
        care: Care::Telescope,
    },
];
