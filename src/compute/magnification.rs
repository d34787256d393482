//! Operations on the power, the seat or the letter that a reserve needs.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::{Input, Operation};
use crate::vision::reserve::{Placed, farthest_seat, power_needed, smallest_letter, total_magnification};
use crate::vision::units::Magnification;

const TOPIC: &str = "power, seat and letter";

const ACUITY: Input = Input::logmar("threshold_logmar", "the acuity");
const LETTER: Input = Input::metres("letter_height_m", "the height of the small letters");
const DISTANCE: Input = Input::metres("distance_m", "the distance from the eye");
const POWER: Input = Input::plain("angular_power", "the power of the device, 1 for none");
const RESERVE: Input = Input::plain("required_reserve_ratio", "the reserve needed");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "total_magnification",
        topic: TOPIC,
        question: "How much larger does it look after moving, enlarging and a device?",
        inputs: &[
            Input::metres("reference_distance_m", "the distance before"),
            Input::metres("new_distance_m", "the distance after"),
            Input::metres("reference_height_m", "the height before"),
            Input::metres("new_height_m", "the height after"),
            POWER,
        ],
        answers: total,
    },
    Operation {
        name: "required_power_distance_height",
        topic: TOPIC,
        question: "Which power, or without a device which seat or which letter, gives the reserve?",
        inputs: &[ACUITY, LETTER, DISTANCE, RESERVE],
        answers: required,
    },
    Operation {
        name: "farthest_seat_with_power",
        topic: TOPIC,
        question: "From how far away can writing of this size be read?",
        inputs: &[ACUITY, LETTER, POWER, RESERVE],
        answers: farthest,
    },
    Operation {
        name: "smallest_letter_with_power",
        topic: TOPIC,
        question: "How tall must small letters be to be read from this distance?",
        inputs: &[ACUITY, DISTANCE, POWER, RESERVE],
        answers: smallest,
    },
];

fn total(inputs: &Inputs<'_>) -> Found {
    let before =
        Placed { distance: inputs.metres("reference_distance_m")?, height: inputs.metres("reference_height_m")? };
    let after = Placed { distance: inputs.metres("new_distance_m")?, height: inputs.metres("new_height_m")? };
    let larger = total_magnification(before, after, inputs.power("angular_power")?)?;
    Ok(Figures::from([
        ("relative_distance", larger.relative_distance.get()),
        ("relative_size", larger.relative_size.get()),
        ("total", larger.total.get()),
    ]))
}

fn required(inputs: &Inputs<'_>) -> Found {
    let acuity = inputs.logmar("threshold_logmar")?;
    let height = inputs.metres("letter_height_m")?;
    let distance = inputs.metres("distance_m")?;
    let needed = inputs.ratio("required_reserve_ratio")?;
    let none = Magnification::literal(1.0);
    Ok(Figures::from([("power_needed", power_needed(acuity, height, distance, needed)?.get())])
        // For a very poor acuity the letter would have to fill more than the view: no seat and no letter does it.
        .and_if("seat_distance_m_no_device", farthest_seat(acuity, height, needed, none).ok().map(|seat| seat.get()))
        .and_if(
            "letter_height_m_no_device",
            smallest_letter(acuity, distance, needed, none).ok().map(|letter| letter.get()),
        ))
}

fn farthest(inputs: &Inputs<'_>) -> Found {
    let seat = farthest_seat(
        inputs.logmar("threshold_logmar")?,
        inputs.metres("letter_height_m")?,
        inputs.ratio("required_reserve_ratio")?,
        inputs.power("angular_power")?,
    )?;
    Ok(Figures::from([("distance_m", seat.get())]))
}

fn smallest(inputs: &Inputs<'_>) -> Found {
    let letter = smallest_letter(
        inputs.logmar("threshold_logmar")?,
        inputs.metres("distance_m")?,
        inputs.ratio("required_reserve_ratio")?,
        inputs.power("angular_power")?,
    )?;
    Ok(Figures::from([("letter_height_m", letter.get())]))
}
