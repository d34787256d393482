//! Operations on the field and the exit pupil that a design gives.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::telescope::{OBJECT, OBJECTIVE, OBJECTIVE_WIDTH, OCULAR, device, of_object};
use super::{Input, Operation};
use crate::vision::telescope::field::{HalfField, left_behind_exit_pupil};
use crate::vision::telescope::near;
use crate::vision::telescope::optics::OpticsError;

use super::refusal::Fault;

const TOPIC: &str = "fields by design";

const EYE_PUPIL: Input = Input::metres("eye_pupil_m", "the pupil of the eye");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "galilean_field",
        topic: TOPIC,
        question: "How wide a field does a Galilean telescope show this eye?",
        inputs: &[
            OBJECTIVE,
            OCULAR,
            OBJECTIVE_WIDTH,
            Input::metres("eye_pupil_behind_ocular_m", "the pupil of the eye behind the ocular"),
            EYE_PUPIL,
        ],
        answers: galilean,
    },
    Operation {
        name: "keplerian_field_no_stop",
        topic: TOPIC,
        question: "How wide a field do the two lenses of a Keplerian telescope let through?",
        inputs: &[OBJECTIVE, OCULAR, OBJECTIVE_WIDTH, Input::metres("ocular_diameter_m", "the diameter of the ocular")],
        answers: keplerian,
    },
    Operation {
        name: "keplerian_field_stop",
        topic: TOPIC,
        question: "Which field does a stop in the picture plane leave?",
        inputs: &[OBJECTIVE, OCULAR, Input::metres("field_stop_m", "the diameter of the field stop")],
        answers: with_stop,
    },
    Operation {
        name: "exit_pupil_focused_near",
        topic: TOPIC,
        question: "How wide is the exit pupil, and where, when it is focused nearby?",
        inputs: &[OBJECTIVE, OCULAR, OBJECTIVE_WIDTH, OBJECT],
        answers: pupil_near,
    },
    Operation {
        name: "cap_vs_tube_equivalent_power",
        topic: TOPIC,
        question: "Does a reading cap or a longer tube give more at this distance?",
        inputs: &[OBJECTIVE, OCULAR, Input::metres("object_distance_m", "the distance of the object")],
        answers: cap_or_tube,
    },
    Operation {
        name: "apparent_field_limit_eye_behind_exit_pupil",
        topic: TOPIC,
        question: "What does an eye behind the exit pupil still see of the field?",
        inputs: &[
            Input::metres("exit_pupil_m", "the exit pupil"),
            EYE_PUPIL,
            Input::metres("eye_pupil_behind_exit_pupil_m", "the pupil of the eye behind the exit pupil"),
        ],
        answers: behind_exit_pupil,
    },
];

fn edges(field: HalfField) -> Figures {
    Figures::from([
        ("half_field_deg_chief_ray", field.central_ray.get()),
        ("half_field_deg_any_light", field.last_light.get()),
    ])
    .and_if("half_field_deg_unvignetted", field.full_light.map(|full| full.get()))
}

fn galilean(inputs: &Inputs<'_>) -> Found {
    Ok(edges(device(inputs)?.galilean_field(
        inputs.metres("objective_diameter_m")?,
        inputs.metres("eye_pupil_behind_ocular_m")?,
        inputs.metres("eye_pupil_m")?,
    )?))
}

fn keplerian(inputs: &Inputs<'_>) -> Found {
    let (objective, ocular) = (inputs.metres("objective_diameter_m")?, inputs.metres("ocular_diameter_m")?);
    Ok(edges(device(inputs)?.keplerian_field(objective, ocular)?))
}

fn with_stop(inputs: &Inputs<'_>) -> Found {
    let (seen, looks) = device(inputs)?.field_through_stop(inputs.metres("field_stop_m")?)?;
    Ok(Figures::from([("true_field_deg", seen.get()), ("apparent_field_deg", looks.get())]))
}

fn pupil_near(inputs: &Inputs<'_>) -> Found {
    let (wide, behind) = device(inputs)?
        .exit_pupil_focused_for(
            inputs.metres("objective_diameter_m")?,
            inputs.metres("object_distance_from_objective_m")?,
        )
        .map_err(of_object)?;
    Ok(Figures::from([("exit_pupil_m", wide.get()), ("exit_pupil_position_behind_ocular_m", behind.get())]))
}

fn cap_or_tube(inputs: &Inputs<'_>) -> Found {
    let (device, distance) = (device(inputs)?, inputs.metres("object_distance_m")?);
    let of_distance = |error: OpticsError| match error {
        OpticsError::InsideFocalLength { .. } => Fault::at("object_distance_m", error),
        other => other.into(),
    };
    let both = near::cap_or_tube(device, distance).map_err(of_distance)?;
    Ok(Figures::from([("cap_equivalent_power_D", both.cap.get()), ("tube_equivalent_power_D", both.tube.get())]))
}

fn behind_exit_pupil(inputs: &Inputs<'_>) -> Found {
    let left = left_behind_exit_pupil(
        inputs.metres("exit_pupil_m")?,
        inputs.metres("eye_pupil_m")?,
        inputs.metres("eye_pupil_behind_exit_pupil_m")?,
    )?;
    Ok(Figures::from([
        ("half_field_deg_any_light", left.last_light.get()),
        ("half_field_deg_pupil_centre_lit", left.pupil_centre.get()),
    ]))
}
