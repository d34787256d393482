//! Operations on the light that falls on a task.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::light::{Surface, from_lamp, illuminance, luminance, lux_of_footcandles, recommended};
use crate::vision::units::Luminance;

const TOPIC: &str = "light";

const REFLECTANCE: Input = Input::plain("reflectance", "the reflectance of the surface");

/// The surfaces by their names here.
const SURFACES: [(&str, Surface); 5] = [
    ("board_vertical", Surface::Board),
    ("walls", Surface::Walls),
    ("ceiling", Surface::Ceiling),
    ("faces", Surface::Faces),
    ("desk_horizontal", Surface::Desk),
];

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "luminance_from_illuminance",
        topic: TOPIC,
        question: "How bright does a matt surface look in this light?",
        inputs: &[Input::number("illuminance_lux", "the light on the surface", "lux"), REFLECTANCE],
        answers: bright,
    },
    Operation {
        name: "footcandle_to_lux",
        topic: TOPIC,
        question: "How many lux are so many footcandles?",
        inputs: &[Input::number("footcandles", "the light on the surface", "footcandles")],
        answers: footcandles,
    },
    Operation {
        name: "point_source_illuminance",
        topic: TOPIC,
        question: "How much light does a small lamp throw on the task?",
        inputs: &[
            Input::number("intensity_cd", "the intensity of the lamp", "candelas"),
            Input::metres("distance_m", "the distance to the lamp"),
            Input::number("incidence_deg", "the incidence, 0 for straight on", "degrees"),
        ],
        answers: lamp,
    },
    Operation {
        name: "illuminance_for_luminance",
        topic: TOPIC,
        question: "How much light makes a matt surface look this bright?",
        inputs: &[Input::number("luminance_cd_m2", "the luminance wanted", "candelas per square metre"), REFLECTANCE],
        answers: light_for,
    },
    Operation {
        name: "recommended_illuminance",
        topic: TOPIC,
        question: "How much light is recommended on this surface of a classroom?",
        inputs: &[Input::word("surface", "the surface", &["board_vertical", "walls", "ceiling", "faces"])],
        answers: level,
    },
];

fn bright(inputs: &Inputs<'_>) -> Found {
    let surface = luminance(inputs.lux("illuminance_lux")?, inputs.fraction("reflectance")?)?;
    Ok(Figures::from([("luminance_cd_m2", surface.get())]))
}

fn footcandles(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("lux", lux_of_footcandles(inputs.number("footcandles")?)?.get())]))
}

fn lamp(inputs: &Inputs<'_>) -> Found {
    let light =
        from_lamp(inputs.number("intensity_cd")?, inputs.metres("distance_m")?, inputs.degrees("incidence_deg")?)?;
    Ok(Figures::from([("lux", light.get())]))
}

fn light_for(inputs: &Inputs<'_>) -> Found {
    let wanted = inputs.typed("luminance_cd_m2", Luminance::new)?;
    Ok(Figures::from([("illuminance_lux", illuminance(wanted, inputs.fraction("reflectance")?)?.get())]))
}

fn level(inputs: &Inputs<'_>) -> Found {
    let named = inputs.text("surface")?;
    let surface = SURFACES.iter().find(|(name, _)| *name == named);
    let (_, surface) = surface.ok_or_else(|| Fault::at("surface", "give the name of a surface"))?;
    Ok(Figures::from([("lux", recommended(*surface).get())]))
}
