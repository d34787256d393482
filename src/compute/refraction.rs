//! Operations on refractions.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::refraction::check::{self, RefractionError};
use crate::vision::refraction::{Axis, Lens, PowerVector, accommodation_by_age, at_other_distance};

const TOPIC: &str = "refraction";

const SPHERE: Input = Input::dioptres("sphere_D", "the sphere");
const CYLINDER: Input = Input::dioptres("cylinder_D", "the cylinder");
const AXIS: Input = Input::number("axis_deg", "the axis of the cylinder, from 0 to 180", "degrees");
const MOVED: Input = Input::metres("moved_toward_eye_m", "the move toward the eye");

/// A lens as it is written; the axis may be left out where there is no cylinder.
const LENS: &[Input] = &[SPHERE, CYLINDER, AXIS.optional()];

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "transpose",
        topic: TOPIC,
        question: "What is this lens in the other cylinder form?",
        inputs: LENS,
        answers: transpose,
    },
    Operation {
        name: "power_vector",
        topic: TOPIC,
        question: "What are the components of this lens, for averaging and comparing?",
        inputs: LENS,
        answers: vector,
    },
    Operation {
        name: "power_vector_to_rx",
        topic: TOPIC,
        question: "Which lens in minus-cylinder form has these components?",
        inputs: &[
            Input::dioptres("M_D", "the spherical equivalent, M"),
            Input::dioptres("J0_D", "the cross-cylinder at 180 and 90, J0"),
            Input::dioptres("J45_D", "the cross-cylinder at 45 and 135, J45"),
        ],
        answers: of_vector,
    },
    Operation {
        name: "vertex_compensate",
        topic: TOPIC,
        question: "Which power does the same, moved toward the eye?",
        inputs: &[Input::dioptres("power_D", "the lens power"), MOVED],
        answers: vertex,
    },
    Operation {
        name: "vertex_compensate_toric",
        topic: TOPIC,
        question: "Which lens with a cylinder does the same, moved toward the eye?",
        inputs: &[SPHERE, CYLINDER, AXIS.optional(), MOVED],
        answers: vertex_toric,
    },
    Operation {
        name: "accommodation_by_age",
        topic: TOPIC,
        question: "How much does an eye of this age accommodate, by the old formulas?",
        inputs: &[Input::number("age_years", "the age", "years")],
        answers: by_age,
    },
    Operation {
        name: "normalise_axis",
        topic: TOPIC,
        question: "How is this axis written?",
        inputs: &[AXIS],
        answers: axis_only,
    },
    Operation {
        name: "parse_rx",
        topic: TOPIC,
        question: "Is this a lens that eyes have, and complete?",
        inputs: LENS,
        answers: typed,
    },
];

fn axis(inputs: &Inputs<'_>) -> Result<Axis, Fault> {
    Axis::typed(inputs.degrees("axis_deg")?).map_err(|refused| Fault::at("axis_deg", refused))
}

fn lens(inputs: &Inputs<'_>) -> Result<Lens, Fault> {
    let cylinder = inputs.dioptres("cylinder_D")?;
    let none = cylinder.get().abs() < f64::MIN_POSITIVE;
    let axis = match (inputs.has("axis_deg"), none) {
        (true, false) => axis(inputs)?,
        (false, false) => return Err(Fault::at("axis_deg", RefractionError::AxisMissing)),
        // An axis without a cylinder is checked all the same, and written 180.
        (true, true) => axis(inputs).map(|_| Axis::literal(180.0))?,
        (false, true) => Axis::literal(180.0),
    };
    Ok(Lens { sphere: inputs.dioptres("sphere_D")?, cylinder, axis })
}

fn told(lens: Lens) -> Figures {
    Figures::from([("sphere_D", lens.sphere.get()), ("cylinder_D", lens.cylinder.get()), ("axis_deg", lens.axis.get())])
}

fn transpose(inputs: &Inputs<'_>) -> Found {
    Ok(told(lens(inputs)?.transposed()))
}

fn vector(inputs: &Inputs<'_>) -> Found {
    let vector = lens(inputs)?.power_vector()?;
    Ok(Figures::from([
        ("M_D", vector.mean.get()),
        ("J0_D", vector.straight.get()),
        ("J45_D", vector.diagonal.get()),
        ("blur_strength_D", vector.blur_strength()?.get()),
    ]))
}

fn of_vector(inputs: &Inputs<'_>) -> Found {
    let vector = PowerVector {
        mean: inputs.dioptres("M_D")?,
        straight: inputs.dioptres("J0_D")?,
        diagonal: inputs.dioptres("J45_D")?,
    };
    Ok(told(vector.lens()?))
}

fn vertex(inputs: &Inputs<'_>) -> Found {
    let moved = at_other_distance(inputs.dioptres("power_D")?, inputs.metres("moved_toward_eye_m")?)?;
    Ok(Figures::from([("power_D", moved.get())]))
}

fn vertex_toric(inputs: &Inputs<'_>) -> Found {
    Ok(told(lens(inputs)?.moved_toward_eye(inputs.metres("moved_toward_eye_m")?)?))
}

fn by_age(inputs: &Inputs<'_>) -> Found {
    let able = accommodation_by_age(inputs.number("age_years")?)?;
    Ok(Figures::from([
        ("minimum_D", able.minimum.get()),
        ("average_D", able.average.get()),
        ("maximum_D", able.maximum.get()),
    ]))
}

fn axis_only(inputs: &Inputs<'_>) -> Found {
    Ok(Figures::from([("axis_deg", axis(inputs)?.get())]))
}

/// As a lens is typed into a form, held to what eyes and lenses have.
fn typed(inputs: &Inputs<'_>) -> Found {
    let given = inputs.has("axis_deg").then(|| inputs.degrees("axis_deg")).transpose()?;
    let (lens, _) = check::lens(inputs.dioptres("sphere_D")?, inputs.dioptres("cylinder_D")?, given).map_err(
        |error| match error {
            RefractionError::AxisMissing => Fault::at("axis_deg", error),
            other => other.into(),
        },
    )?;
    Ok(told(lens))
}
