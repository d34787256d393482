//! Calculators of refraction.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Shows, Told, ask, show};

const SPHERE: Field = Field::dioptres("sphere", "Sphere", "-3");
const CYLINDER: Field = Field::dioptres("cylinder", "Cylinder", "-2").hint("0 for none.");
const AXIS: Field =
    Field::number("axis", "Axis", "degrees", "180").optional().hint("From 1 to 180; needed where there is a cylinder.");
const LENS: &[Shows] = &[
    show("sphere_D", "Sphere", Told::Lens),
    show("cylinder_D", "Cylinder", Told::Lens),
    show("axis_deg", "Axis", Told::Number(0, "degrees")),
];

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "transpose",
        title: "The other cylinder form",
        question: "What is this lens in the other cylinder form?",
        fields: &[SPHERE, CYLINDER, AXIS],
        steps: &[ask(
            "transpose",
            &[("sphere_D", Typed("sphere")), ("cylinder_D", Typed("cylinder")), ("axis_deg", Typed("axis"))],
            LENS,
        )],
        how: &["Sphere and cylinder are added, the cylinder changes its sign, the axis turns by 90 degrees."],
        source: "Definition.",
        care: Care::Power,
    },
    Calculator {
        word: "spherical-equivalent",
        title: "Spherical equivalent and power vector",
        question: "What are the components of this lens, for averaging and comparing?",
        fields: &[SPHERE, CYLINDER, AXIS],
        steps: &[ask(
            "power_vector",
            &[("sphere_D", Typed("sphere")), ("cylinder_D", Typed("cylinder")), ("axis_deg", Typed("axis"))],
            &[
                show("M_D", "Spherical equivalent, M", Told::Number(3, "D")),
                show("J0_D", "Cross-cylinder at 180 and 90, J0", Told::Number(3, "D")),
                show("J45_D", "Cross-cylinder at 45 and 135, J45", Told::Number(3, "D")),
                show("blur_strength_D", "Length of the vector", Told::Number(3, "D")),
            ],
        )],
        how: &[
            "M is the sphere and half the cylinder; J0 and J45 are minus half the cylinder times cosine and sine of twice the axis.",
        ],
        source: "L. N. Thibos and D. Horner (seen).",
        care: Care::Power,
    },
    Calculator {
        word: "lens-of-vector",
        title: "Lens from a power vector",
        question: "Which lens in minus-cylinder form has these components?",
        fields: &[
            Field::dioptres("m", "Spherical equivalent, M", "-1.25"),
            Field::dioptres("j0", "Cross-cylinder at 180 and 90, J0", "0.433013"),
            Field::dioptres("j45", "Cross-cylinder at 45 and 135, J45", "0.25"),
        ],
        steps: &[ask(
            "power_vector_to_rx",
            &[("M_D", Typed("m")), ("J0_D", Typed("j0")), ("J45_D", Typed("j45"))],
            LENS,
        )],
        how: &[
            "The cylinder is minus twice the length of J0 and J45, the axis half their direction, the sphere M less half the cylinder.",
        ],
        source: "L. N. Thibos and D. Horner (seen), solved for the lens.",
        care: Care::Power,
    },
    Calculator {
        word: "vertex-distance",
        title: "Vertex distance",
        question: "Which lens does the same, moved toward the eye?",
        fields: &[
            Field::dioptres("sphere", "Sphere", "-8"),
            Field::dioptres("cylinder", "Cylinder", "-3").hint("0 for none."),
            AXIS,
            Field::trade("moved", "Moved toward the eye by", "12 mm"),
        ],
        steps: &[
            ask(
                "vertex_compensate_toric",
                &[
                    ("sphere_D", Typed("sphere")),
                    ("cylinder_D", Typed("cylinder")),
                    ("axis_deg", Typed("axis")),
                    ("moved_toward_eye_m", Typed("moved")),
                ],
                LENS,
            ),
            ask(
                "vertex_compensate",
                &[("power_D", Typed("sphere")), ("moved_toward_eye_m", Typed("moved"))],
                &[show("power_D", "The sphere alone", Told::Lens)],
            ),
        ],
        how: &["Each meridian for itself: its power over one less the move times the power."],
        source: "The vertex formula of teaching pages (seen).",
        care: Care::Power,
    },
    Calculator {
        word: "lens-as-written",
        title: "Is this lens complete?",
        question: "Is this a lens that eyes have, and is everything written that belongs to it?",
        fields: &[
            Field::dioptres("sphere", "Sphere", "-2"),
            Field::dioptres("cylinder", "Cylinder", "-1").hint("0 for none."),
            Field::number("axis", "Axis", "degrees", "0").optional().hint(AXIS.hint),
        ],
        steps: &[
            ask(
                "parse_rx",
                &[("sphere_D", Typed("sphere")), ("cylinder_D", Typed("cylinder")), ("axis_deg", Typed("axis"))],
                LENS,
            ),
            ask(
                "normalise_axis",
                &[("axis_deg", Typed("axis"))],
                &[show("axis_deg", "The axis is written", Told::Number(0, "degrees"))],
            ),
        ],
        how: &["Held against what is usual; an axis of 0 is written 180."],
        source: "Common practice.",
        care: Care::Power,
    },
    Calculator {
        word: "accommodation",
        title: "Accommodation by age",
        question: "How much does an eye of this age accommodate, by the old formulas?",
        fields: &[Field::number("age", "Age", "years", "8")],
        steps: &[ask(
            "accommodation_by_age",
            &[("age_years", Typed("age"))],
            &[
                show("minimum_D", "At the least", Told::Number(1, "D")),
                show("average_D", "On average", Told::Number(1, "D")),
                show("maximum_D", "At the most", Told::Number(1, "D")),
            ],
        )],
        how: &[
            "15 less a quarter, 18.5 less 0.3 and 25 less 0.4 dioptres a year. Measure: many young people have less.",
        ],
        source: "H. W. Hofstetter 1950, as quoted in an encyclopaedia.",
        care: Care::Plain,
    },
];
