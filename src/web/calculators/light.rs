//! Calculators of the light on a task.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Takes, Told, ask, show};

const REFLECTANCE: Field = Field::percent("reflectance", "Reflectance of the surface", "70");

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "surface-brightness",
        title: "Brightness of a lit surface",
        question: "How bright does a matt surface look in this light?",
        fields: &[Field::number("light", "Light on the surface", "lux", "500"), REFLECTANCE],
        steps: &[ask(
            "luminance_from_illuminance",
            &[("illuminance_lux", Typed("light")), ("reflectance", Typed("reflectance"))],
            &[show("luminance_cd_m2", "Luminance", Told::Number(0, "cd/m\u{b2}"))],
        )],
        how: &["Light times reflectance, over pi."],
        source: "Lambert's law.",
        care: Care::Plain,
    },
    Calculator {
        word: "light-needed",
        title: "Light for a brightness",
        question: "How much light makes a matt surface look this bright?",
        fields: &[
            Field::number("wanted", "Luminance wanted", "cd/m\u{b2}", "200"),
            Field::percent("reflectance", "Reflectance of the surface", "80"),
        ],
        steps: &[ask(
            "illuminance_for_luminance",
            &[("luminance_cd_m2", Typed("wanted")), ("reflectance", Typed("reflectance"))],
            &[show("illuminance_lux", "Light on the surface", Told::Number(0, "lux"))],
        )],
        how: &["Luminance times pi, over the reflectance."],
        source: "Lambert's law.",
        care: Care::Plain,
    },
    Calculator {
        word: "footcandles",
        title: "Footcandles as lux",
        question: "How many lux are so many footcandles?",
        fields: &[Field::number("footcandles", "Light on the surface", "footcandles", "50")],
        steps: &[ask(
            "footcandle_to_lux",
            &[("footcandles", Typed("footcandles"))],
            &[show("lux", "Light on the surface", Told::Number(0, "lux"))],
        )],
        how: &["A footcandle is a lumen on a square foot: 10.764 lux."],
        source: "Definition of the foot.",
        care: Care::Plain,
    },
    Calculator {
        word: "task-lamp",
        title: "Light of a lamp",
        question: "How much light does a small lamp throw on the task?",
        fields: &[
            Field::number("intensity", "Intensity of the lamp", "candelas", "1500"),
            Field::far("distance", "Distance to the lamp", "2 m"),
            Field::number("incidence", "Incidence", "degrees", "30").hint("0 for straight on."),
        ],
        steps: &[ask(
            "point_source_illuminance",
            &[
                ("intensity_cd", Typed("intensity")),
                ("distance_m", Typed("distance")),
                ("incidence_deg", Typed("incidence")),
            ],
            &[show("lux", "Light on the task", Told::Number(0, "lux"))],
        )],
        how: &[
            "Intensity times the cosine of the incidence, over the square of the distance: half as far is four times the light.",
        ],
        source: "The inverse-square law.",
        care: Care::Plain,
    },
    Calculator {
        word: "classroom-light",
        title: "Light in a classroom",
        question: "How much light is recommended on this surface of a classroom?",
        fields: &[Field::taking(
            Takes::Choice(&[
                ("board_vertical", "The board"),
                ("walls", "The walls"),
                ("ceiling", "The ceiling"),
                ("faces", "Faces"),
            ]),
            "surface",
            "On which surface?",
            "board_vertical",
        )],
        steps: &[ask(
            "recommended_illuminance",
            &[("surface", Typed("surface"))],
            &[show("lux", "Recommended", Told::Number(0, "lux"))],
        )],
        how: &["A table. It is for everybody; what one eye needs is found by trying."],
        source: "EN 12464-1 as summarised in a lighting guide (seen second-hand).",
        care: Care::Plain,
    },
];
