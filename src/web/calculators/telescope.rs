//! Calculators of telescopes: by label, by design, focused, before a board.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Takes, Told, ask, show};

pub(super) const OBJECTIVE: Field = Field::dioptres("objective", "Power of the objective", "8");
pub(super) const OCULAR: Field =
    Field::dioptres("ocular", "Power of the ocular", "64").hint("Minus for a Galilean telescope.");
pub(super) const OBJECTIVE_WIDTH: Field = Field::trade("diameter", "Diameter of the objective", "20 mm");
const OBJECT: Field = Field::far("object", "Distance of the object from the objective", "3 m");
const POWER: Field = Field::times("power", "Power", "8");
const TRUE_FIELD: Field = Field::number("field", "True field", "degrees", "7");
const BOARD: Field = Field::far("board", "Width of the board", "2.4 m");
const OVERLAP: Field = Field::percent("overlap", "Overlap of neighbouring views", "20");

const OPTICS: &str = "Derived for thin lenses in line, and traced ray by ray a second way.";
const GEOMETRY: &str = "Geometry (derived).";

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "telescope-lenses",
        title: "Telescope of two lenses",
        question: "Which power, length and exit pupil do these two lenses make?",
        fields: &[OBJECTIVE, OCULAR, OBJECTIVE_WIDTH],
        steps: &[ask(
            "afocal_telescope",
            &[
                ("objective_power_D", Typed("objective")),
                ("ocular_power_D", Typed("ocular")),
                ("objective_diameter_m", Typed("diameter")),
            ],
            &[
                show("power_signed", "Power, minus for an inverted picture without prisms", Told::Times),
                show("tube_length_m", "Length between the lenses", Told::Letter),
                show("exit_pupil_m", "Exit pupil", Told::Millimetres),
                show("exit_pupil_position_behind_ocular_m", "Exit pupil behind the ocular", Told::Millimetres),
            ],
        )],
        how: &[
            "Power of the ocular over power of the objective; the focal lengths added make the length.",
            "The diameter of the objective over the power is the exit pupil.",
        ],
        source: "S. H. Schwartz, Geometrical and Visual Optics, ch. 12 (seen).",
        care: Care::Telescope,
    },
    Calculator {
        word: "exit-pupil",
        title: "Exit pupil",
        question: "How wide is the light that leaves the ocular?",
        fields: &[Field::trade("diameter", "Diameter of the objective", "42 mm"), POWER],
        steps: &[ask(
            "exit_pupil",
            &[("objective_diameter_mm", Typed("diameter")), ("power", Typed("power"))],
            &[show("exit_pupil_mm", "Exit pupil", Told::Millimetres)],
        )],
        how: &["The diameter of the objective over the power."],
        source: "S. H. Schwartz, Geometrical and Visual Optics, ch. 12 (seen).",
        care: Care::Telescope,
    },
    Calculator {
        word: "telescope-brightness",
        title: "Brightness through a telescope",
        question: "How bright does the scene look through it, compared with the bare eye?",
        fields: &[
            Field::trade("exit_pupil", "Exit pupil", "2.5 mm"),
            Field::trade("eye_pupil", "Pupil of the eye", "3 mm"),
            Field::percent("passes", "Light that passes the glass", "85"),
        ],
        steps: &[ask(
            "relative_retinal_illuminance",
            &[
                ("exit_pupil_mm", Typed("exit_pupil")),
                ("eye_pupil_mm", Typed("eye_pupil")),
                ("transmittance", Typed("passes")),
            ],
            &[show("ratio", "Light that reaches the eye", Told::Percent)],
        )],
        how: &["The square of exit pupil over pupil, never more than all of it, times the light that passes."],
        source: "Geometry of the pupils (derived).",
        care: Care::Telescope,
    },
    Calculator {
        word: "telescope-focus",
        title: "Focusing a telescope nearby",
        question: "How is it focused for an object at this distance, and what is its exit pupil then?",
        fields: &[OBJECTIVE, OCULAR, OBJECT, OBJECTIVE_WIDTH.optional()],
        steps: &[
            ask(
                "telescope_finite_focus",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("object_distance_from_objective_m", Typed("object")),
                ],
                &[
                    show("tube_extension_m", "The tube is longer by", Told::Millimetres),
                    show("tube_length_m", "Length between the lenses", Told::Letter),
                    show("power_re_objective", "Power, seen from the objective", Told::Times),
                    show("power_re_eye_at_ocular", "Power, seen from the ocular", Told::Times),
                    show("equivalent_power_D", "Equivalent power", Told::Dioptres),
                ],
            ),
            ask(
                "exit_pupil_focused_near",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("objective_diameter_m", Typed("diameter")),
                    ("object_distance_from_objective_m", Typed("object")),
                ],
                &[
                    show("exit_pupil_m", "Exit pupil", Told::Millimetres),
                    show("exit_pupil_position_behind_ocular_m", "Exit pupil behind the ocular", Told::Millimetres),
                ],
            ),
        ],
        how: &[
            "The objective works with its power less one over the distance; the tube grows by as much as its picture moves.",
        ],
        source: OPTICS,
        care: Care::Telescope,
    },
    Calculator {
        word: "telescope-without-glasses",
        title: "Telescope for an eye without glasses",
        question: "How is it focused for an eye without its glasses?",
        fields: &[
            Field::dioptres("objective", "Power of the objective", "10"),
            Field::dioptres("ocular", "Power of the ocular", "-50").hint("Minus for a Galilean telescope."),
            Field::dioptres("error", "Refractive error at the ocular", "-10").hint("Minus for a myope."),
        ],
        steps: &[ask(
            "telescope_ametropia_by_tube_length",
            &[
                ("objective_power_D", Typed("objective")),
                ("ocular_power_D", Typed("ocular")),
                ("refractive_error_at_ocular_D", Typed("error")),
            ],
            &[
                show("power_signed", "Power, minus for an inverted picture without prisms", Told::Times),
                show("tube_length_m", "Length between the lenses", Told::Letter),
                show("tube_change_m", "Longer (or shorter, with a minus) by", Told::Millimetres),
            ],
        )],
        how: &["The ocular takes over the correction: its power less the error makes the telescope of the rest."],
        source: "S. H. Schwartz, Geometrical and Visual Optics, ch. 12 (seen).",
        care: Care::Telescope,
    },
    Calculator {
        word: "nearest-focus",
        title: "Nearest focus",
        question: "How near does it focus with so much travel?",
        fields: &[
            Field::trade("focal", "Focal length of the objective", "12.5 cm"),
            Field::trade("travel", "Travel of its tube", "10 mm"),
        ],
        steps: &[ask(
            "telescope_near_focus_limit",
            &[("objective_focal_m", Typed("focal")), ("max_tube_extension_m", Typed("travel"))],
            &[show("nearest_object_from_objective_m", "Nearest object, from the objective", Told::Distance)],
        )],
        how: &["The focal length, plus its square over the travel."],
        source: "Derived for thin lenses.",
        care: Care::Telescope,
    },
    Calculator {
        word: "telescope-unfocused",
        title: "Telescope that is not refocused",
        question: "How strongly must the eye focus when the telescope stays set for far away?",
        fields: &[
            Field::dioptres("objective", "Power of the objective", "10"),
            Field::dioptres("ocular", "Power of the ocular", "-20").hint("Minus for a Galilean telescope."),
            Field::far("object", "Distance of the object from the objective", "40 cm"),
            Field::trade("behind", "Eye behind the ocular", "15 mm").optional(),
        ],
        steps: &[
            ask(
                "afocal_exit_vergence",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("object_distance_from_objective_m", Typed("object")),
                ],
                &[
                    show("accommodation_at_ocular_D", "Focusing at the ocular", Told::Dioptres),
                    show("exit_vergence_D", "Vergence that leaves it", Told::Lens),
                    show("approx_M2U_D", "By the rule of the squared power", Told::Lens),
                ],
            ),
            ask(
                "afocal_vergence_at_eye",
                &[
                    ("objective_power_D", Typed("objective")),
                    ("ocular_power_D", Typed("ocular")),
                    ("object_distance_from_objective_m", Typed("object")),
                    ("eye_behind_ocular_m", Typed("behind")),
                ],
                &[show("vergence_at_eye_D", "Vergence at the eye", Told::Lens)],
            ),
        ],
        how: &[
            "The vergence of the object is carried through both lenses; the rule multiplies it by the square of the power.",
        ],
        source: OPTICS,
        care: Care::Telescope,
    },
    Calculator {
        word: "linear-field",
        title: "Width of a field",
        question: "How wide a part of the scene does this true field show?",
        fields: &[TRUE_FIELD, Field::far("distance", "Distance from the eye", "6 m").optional()],
        steps: &[ask(
            "linear_field",
            &[("true_field_deg", Typed("field")), ("distance_m", Typed("distance"))],
            &[
                show("field_width_m", "Seen at once", Told::Distance),
                show("m_at_1000m", "On a label, at 1000 m", Told::Number(0, "metres")),
                show("ft_at_1000yd", "On a label, at 1000 yards", Told::Number(0, "feet")),
            ],
        )],
        how: &["Twice the distance times the tangent of half the true field."],
        source: GEOMETRY,
        care: Care::Telescope,
    },
    Calculator {
        word: "field-of-label",
        title: "True field from a label",
        question: "Which true field is the width on this label?",
        fields: &[
            Field::number("metres", "Metres at 1000 m", "metres", "").one_of(),
            Field::number("feet", "Feet at 1000 yards", "feet", "390").one_of(),
        ],
        steps: &[ask(
            "field_deg_from_linear",
            &[("m_at_1000m", Typed("metres")), ("ft_at_1000yd", Typed("feet"))],
            &[show("true_field_deg", "True field", Told::Number(1, "degrees"))],
        )],
        how: &["Twice the arc tangent of half the width over the distance."],
        source: GEOMETRY,
        care: Care::Telescope,
    },
    Calculator {
        word: "apparent-field",
        title: "Apparent field",
        question: "How wide does the picture look in the ocular?",
        fields: &[POWER, Field::number("field", "True field", "degrees", "7.5")],
        steps: &[ask(
            "apparent_field",
            &[("power", Typed("power")), ("true_field_deg", Typed("field"))],
            &[
                show("apparent_deg_tangent", "By tangents", Told::Number(1, "degrees")),
                show("apparent_deg_simple", "By the simple product", Told::Number(1, "degrees")),
            ],
        )],
        how: &["The tangent of half the true field times the power; labels often give the simple product."],
        source: "The tangent rule of optics, and the convention of labels.",
        care: Care::Telescope,
    },
    Calculator {
        word: "reading-cap",
        title: "Reading cap",
        question: "What do a telescope and a reading cap make together?",
        fields: &[
            Field::times("power", "Power of the telescope", "2"),
            Field::dioptres("cap", "Power of the cap", "2.5"),
        ],
        steps: &[ask(
            "telemicroscope",
            &[("telescope_power", Typed("power")), ("cap_power_D", Typed("cap"))],
            &[
                show("equivalent_power_D", "Equivalent power", Told::Dioptres),
                show("working_distance_from_cap_m", "Page from the cap", Told::Letter),
                show("equivalent_viewing_distance_m", "Works like looking from", Told::Letter),
            ],
        )],
        how: &["The two powers are multiplied; the page lies at the focus of the cap."],
        source: OPTICS,
        care: Care::Telescope,
    },
    Calculator {
        word: "cap-or-tube",
        title: "Cap or longer tube",
        question: "Does a reading cap or a longer tube give more at this distance?",
        fields: &[
            Field::dioptres("objective", "Power of the objective", "10"),
            Field::dioptres("ocular", "Power of the ocular", "-20").hint("Minus for a Galilean telescope."),
            Field::near("object", "Distance of the object", "40 cm"),
        ],
        steps: &[ask(
            "cap_vs_tube_equivalent_power",
            &[
                ("objective_power_D", Typed("objective")),
                ("ocular_power_D", Typed("ocular")),
                ("object_distance_m", Typed("object")),
            ],
            &[
                show("cap_equivalent_power_D", "Equivalent power with a cap", Told::Dioptres),
                show("tube_equivalent_power_D", "Equivalent power with a longer tube", Told::Dioptres),
            ],
        )],
        how: &["A cap whose focus is at the object times the power, against the telescope focused for the object."],
        source: OPTICS,
        care: Care::Telescope,
    },
    Calculator {
        word: "board-coverage",
        title: "Views of a board",
        question: "How many views does a whole board take from straight in front?",
        fields: &[
            BOARD,
            Field::far("height", "Height of the board", "1.2 m"),
            Field::far("distance", "Distance from the eye", "4 m"),
            TRUE_FIELD,
            OVERLAP,
            Field::percent("strip", "Height of a strip, as a part of the field", "70.7")
                .hint("70.7 is the square within the round field."),
        ],
        steps: &[ask(
            "board_coverage",
            &[
                ("board_width_m", Typed("board")),
                ("board_height_m", Typed("height")),
                ("distance_m", Typed("distance")),
                ("true_field_deg", Typed("field")),
                ("overlap_fraction", Typed("overlap")),
                ("strip_height_factor", Typed("strip")),
            ],
            &[
                show("field_width_m", "Seen at once", Told::Distance),
                show("views_across", "Along one line", Told::Count("views")),
                show("views_across_full_cover", "Along one line, in full strips", Told::Count("views")),
                show("strips_down", "From top to bottom", Told::Count("strips")),
                show("fraction_of_board_in_view", "Part of the board seen at once", Told::Percent),
            ],
        )],
        how: &["The board less one overlap, over the field less one overlap, rounded up."],
        source: GEOMETRY,
        care: Care::Telescope,
    },
    Calculator {
        word: "board-views-aside",
        title: "Views of a board from the side",
        question: "How many views does the board take from a seat to the side?",
        fields: &[
            BOARD,
            Field::far("straight", "Distance straight to the wall of the board", "3 m"),
            Field::taking(Takes::Aside, "aside", "To the side of the board's centre", "2.5 m")
                .hint("0 for straight in front."),
            TRUE_FIELD,
            OVERLAP,
        ],
        steps: &[ask(
            "board_views_oblique",
            &[
                ("board_width_m", Typed("board")),
                ("perpendicular_distance_m", Typed("straight")),
                ("offset_to_board_centre_m", Typed("aside")),
                ("true_field_deg", Typed("field")),
                ("overlap_fraction", Typed("overlap")),
            ],
            &[
                show("views_across", "Along one line", Told::Count("views")),
                show("share_of_width", "Part of its width seen at once", Told::Percent),
                show("board_angle_deg", "The board looks wide", Told::Number(0, "degrees")),
            ],
        )],
        how: &[
            "The angle under which the board is seen, less one overlap, over the true field less one overlap, rounded up.",
        ],
        source: GEOMETRY,
        care: Care::Telescope,
    },
    Calculator {
        word: "time-for-views",
        title: "Time for so many views",
        question: "How long do so many views take?",
        fields: &[
            Field::count("views", "Views", "18"),
            Field::number("look", "Time of one look", "seconds", "2"),
            Field::number("next", "Time to move to the next", "seconds", "0.8"),
        ],
        steps: &[ask(
            "scan_time_budget",
            &[("views", Typed("views")), ("dwell_s", Typed("look")), ("move_s", Typed("next"))],
            &[show("time_s", "Time", Told::Number(0, "seconds"))],
        )],
        how: &["Every look, and the moves between them, which are one fewer."],
        source: "Derived. The times are what was seen, or assumed; nothing is published.",
        care: Care::Telescope,
    },
];
