//! Operations on telescopes: by label, by design, focused, before a board.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::demand::Seat;
use crate::vision::telescope::coverage::{Board, board_coverage, scan_time, views_from_the_side};
use crate::vision::telescope::near::{nearest_focus, reading_cap};
use crate::vision::telescope::optics::{Afocal, OpticsError};
use crate::vision::telescope::{FarWidth, apparent_field, brightness, exit_pupil, field_width};

const TOPIC: &str = "telescopes";

pub(super) const OBJECTIVE: Input = Input::dioptres("objective_power_D", "the power of the objective");
pub(super) const OCULAR: Input =
    Input::dioptres("ocular_power_D", "the power of the ocular, minus for a Galilean telescope");
pub(super) const OBJECTIVE_WIDTH: Input = Input::metres("objective_diameter_m", "the diameter of the objective");
pub(super) const OBJECT: Input =
    Input::metres("object_distance_from_objective_m", "the distance of the object from the objective");
const TRUE_FIELD: Input = Input::number("true_field_deg", "the true field", "degrees");
const DISTANCE: Input = Input::metres("distance_m", "the distance from the eye");
const BOARD_WIDTH: Input = Input::metres("board_width_m", "the width of the board");
const OVERLAP: Input = Input::plain("overlap_fraction", "the overlap of neighbouring views as a part of the field");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "afocal_telescope",
        topic: TOPIC,
        question: "Which power, length and exit pupil do these two lenses make?",
        inputs: &[OBJECTIVE, OCULAR, OBJECTIVE_WIDTH],
        answers: afocal,
    },
    Operation {
        name: "telescope_ametropia_by_tube_length",
        topic: TOPIC,
        question: "How is it focused for an eye without its glasses?",
        inputs: &[
            OBJECTIVE,
            OCULAR,
            Input::dioptres("refractive_error_at_ocular_D", "the refractive error at the ocular, minus for a myope"),
        ],
        answers: ametropia,
    },
    Operation {
        name: "telescope_finite_focus",
        topic: TOPIC,
        question: "How is it focused for an object at this distance?",
        inputs: &[OBJECTIVE, OCULAR, OBJECT],
        answers: finite_focus,
    },
    Operation {
        name: "telescope_near_focus_limit",
        topic: TOPIC,
        question: "How near does it focus with so much travel?",
        inputs: &[
            Input::metres("objective_focal_m", "the focal length of the objective"),
            Input::metres("max_tube_extension_m", "the travel of its tube"),
        ],
        answers: near_limit,
    },
    Operation {
        name: "afocal_exit_vergence",
        topic: TOPIC,
        question: "How strongly must the eye focus when the telescope is not refocused?",
        inputs: &[OBJECTIVE, OCULAR, OBJECT],
        answers: exit_vergence,
    },
    Operation {
        name: "afocal_vergence_at_eye",
        topic: TOPIC,
        question: "Which vergence reaches an eye behind the ocular when it is not refocused?",
        inputs: &[OBJECTIVE, OCULAR, OBJECT, Input::metres("eye_behind_ocular_m", "the eye behind the ocular")],
        answers: at_eye,
    },
    Operation {
        name: "linear_field",
        topic: TOPIC,
        question: "How wide a part of the scene does this true field show?",
        inputs: &[TRUE_FIELD, DISTANCE.optional()],
        answers: linear,
    },
    Operation {
        name: "field_deg_from_linear",
        topic: TOPIC,
        question: "Which true field is the width on this label?",
        inputs: &[
            Input::number("m_at_1000m", "the field width at 1000 m", "metres").way("metres at 1000 m"),
            Input::number("ft_at_1000yd", "the field width at 1000 yards", "feet").way("feet at 1000 yards"),
        ],
        answers: from_linear,
    },
    Operation {
        name: "apparent_field",
        topic: TOPIC,
        question: "How wide does the picture look in the ocular?",
        inputs: &[Input::plain("power", "the power"), TRUE_FIELD],
        answers: apparent,
    },
    Operation {
        name: "exit_pupil",
        topic: TOPIC,
        question: "How wide is the light that leaves the ocular?",
        inputs: &[
            Input::number("objective_diameter_mm", "the diameter of the objective", "millimetres"),
            Input::plain("power", "the power"),
        ],
        answers: pupil,
    },
    Operation {
        name: "relative_retinal_illuminance",
        topic: TOPIC,
        question: "How bright does the scene look through it, compared with the bare eye?",
        inputs: &[
            Input::number("exit_pupil_mm", "the exit pupil", "millimetres"),
            Input::number("eye_pupil_mm", "the pupil of the eye", "millimetres"),
            Input::plain("transmittance", "the part of the light that passes the glass"),
        ],
        answers: light,
    },
    Operation {
        name: "telemicroscope",
        topic: TOPIC,
        question: "What do a telescope and a reading cap make together?",
        inputs: &[
            Input::plain("telescope_power", "the power of the telescope"),
            Input::dioptres("cap_power_D", "the power of the cap"),
        ],
        answers: capped,
    },
    Operation {
        name: "board_coverage",
        topic: TOPIC,
        question: "How many views does a whole board take from straight in front?",
        inputs: &[
            BOARD_WIDTH,
            Input::metres("board_height_m", "the height of the board"),
            DISTANCE,
            TRUE_FIELD,
            OVERLAP,
            Input::plain("strip_height_factor", "the height of a strip as a part of the field"),
        ],
        answers: coverage,
    },
    Operation {
        name: "board_views_oblique",
        topic: TOPIC,
        question: "How many views does the board take from a seat to the side?",
        inputs: &[
            BOARD_WIDTH,
            Input::metres("perpendicular_distance_m", "the distance straight to the wall of the board"),
            Input::metres("offset_to_board_centre_m", "the offset to the side of the board's centre"),
            TRUE_FIELD,
            OVERLAP,
        ],
        answers: oblique,
    },
    Operation {
        name: "scan_time_budget",
        topic: TOPIC,
        question: "How long do so many views take?",
        inputs: &[
            Input::count("views", "the views"),
            Input::number("dwell_s", "the time of one look", "seconds"),
            Input::number("move_s", "the time to move to the next", "seconds"),
        ],
        answers: scanning,
    },
];

/// The telescope of the two lenses.
pub(super) fn device(inputs: &Inputs<'_>) -> Result<Afocal, Fault> {
    Ok(Afocal::new(inputs.dioptres("objective_power_D")?, inputs.dioptres("ocular_power_D")?)?)
}

/// The distance of the object, to which everything that can fail is due once the lenses are good.
pub(super) fn of_object(error: OpticsError) -> Fault {
    match error {
        OpticsError::InsideFocalLength { .. } | OpticsError::NoPicture => {
            Fault::at("object_distance_from_objective_m", error)
        }
        other => other.into(),
    }
}

fn afocal(inputs: &Inputs<'_>) -> Found {
    let device = device(inputs)?;
    Ok(Figures::from([
        ("power_signed", device.signed_power()),
        ("tube_length_m", device.tube_length()?.get()),
        ("exit_pupil_m", device.exit_pupil(inputs.metres("objective_diameter_m")?)?.get()),
        ("exit_pupil_position_behind_ocular_m", device.exit_pupil_position()?.get()),
    ]))
}

fn ametropia(inputs: &Inputs<'_>) -> Found {
    let error = inputs.dioptres("refractive_error_at_ocular_D")?;
    let set = device(inputs)?.for_ametropia(error).map_err(|refused| match refused {
        OpticsError::NoTube => Fault::at("refractive_error_at_ocular_D", refused),
        other => other.into(),
    })?;
    Ok(Figures::from([
        ("power_signed", set.signed_power),
        ("tube_length_m", set.tube.get()),
        ("tube_change_m", set.change.get()),
    ]))
}

fn finite_focus(inputs: &Inputs<'_>) -> Found {
    let near = device(inputs)?.focused_for(inputs.metres("object_distance_from_objective_m")?).map_err(of_object)?;
    Ok(Figures::from([
        ("tube_length_m", near.tube.get()),
        ("tube_extension_m", near.extension.get()),
        ("power_re_objective", near.power_at_objective.get()),
        ("power_re_eye_at_ocular", near.power_at_ocular.get()),
        ("equivalent_power_D", near.equivalent.get()),
    ]))
}

fn near_limit(inputs: &Inputs<'_>) -> Found {
    let nearest = nearest_focus(inputs.metres("objective_focal_m")?, inputs.metres("max_tube_extension_m")?)?;
    Ok(Figures::from([("nearest_object_from_objective_m", nearest.get())]))
}

fn exit_vergence(inputs: &Inputs<'_>) -> Found {
    let leaving =
        device(inputs)?.exit_vergence(inputs.metres("object_distance_from_objective_m")?).map_err(of_object)?;
    Ok(Figures::from([
        ("exit_vergence_D", leaving.exact.get()),
        ("approx_M2U_D", leaving.approximate.get()),
        ("accommodation_at_ocular_D", -leaving.exact.get()),
    ]))
}

fn at_eye(inputs: &Inputs<'_>) -> Found {
    let object = inputs.metres("object_distance_from_objective_m")?;
    let vergence = device(inputs)?.vergence_at_eye(object, inputs.metres("eye_behind_ocular_m")?).map_err(of_object)?;
    Ok(Figures::from([("vergence_at_eye_D", vergence.get())]))
}

fn linear(inputs: &Inputs<'_>) -> Found {
    let field = inputs.degrees("true_field_deg")?;
    let found = Figures::from([
        ("m_at_1000m", FarWidth::MetresAt1000Metres.of(field)?),
        ("ft_at_1000yd", FarWidth::FeetAt1000Yards.of(field)?),
    ]);
    if !inputs.has("distance_m") {
        return Ok(found);
    }
    Ok(found.and("field_width_m", field_width(field, inputs.metres("distance_m")?)?.get()))
}

fn from_linear(inputs: &Inputs<'_>) -> Found {
    let field = if inputs.has("m_at_1000m") {
        FarWidth::MetresAt1000Metres.true_field(inputs.number("m_at_1000m")?)?
    } else {
        FarWidth::FeetAt1000Yards.true_field(inputs.number("ft_at_1000yd")?)?
    };
    Ok(Figures::from([("true_field_deg", field.get())]))
}

fn apparent(inputs: &Inputs<'_>) -> Found {
    let seen = apparent_field(inputs.power("power")?, inputs.degrees("true_field_deg")?)?;
    Ok(Figures::from([("apparent_deg_tangent", seen.by_tangent.get()), ("apparent_deg_simple", seen.simple.get())]))
}

fn pupil(inputs: &Inputs<'_>) -> Found {
    let pupil = exit_pupil(inputs.millimetres("objective_diameter_mm")?, inputs.power("power")?)?;
    Ok(Figures::from([("exit_pupil_mm", pupil.get())]))
}

fn light(inputs: &Inputs<'_>) -> Found {
    let ratio = brightness(
        inputs.millimetres("exit_pupil_mm")?,
        inputs.millimetres("eye_pupil_mm")?,
        inputs.fraction("transmittance")?,
    )?;
    Ok(Figures::from([("ratio", ratio.get())]))
}

fn capped(inputs: &Inputs<'_>) -> Found {
    let capped = reading_cap(inputs.power("telescope_power")?, inputs.dioptres("cap_power_D")?)?;
    Ok(Figures::from([
        ("equivalent_power_D", capped.equivalent.get()),
        ("working_distance_from_cap_m", capped.working_distance.get()),
        ("equivalent_viewing_distance_m", capped.viewing_distance.get()),
    ]))
}

fn coverage(inputs: &Inputs<'_>) -> Found {
    let board = Board { width: inputs.metres("board_width_m")?, height: inputs.metres("board_height_m")? };
    let looks = board_coverage(
        board,
        inputs.metres("distance_m")?,
        inputs.degrees("true_field_deg")?,
        inputs.fraction("overlap_fraction")?,
        inputs.fraction("strip_height_factor")?,
    )?;
    Ok(Figures::from([
        ("field_width_m", looks.field_width.get()),
        ("fraction_of_board_in_view", looks.seen_at_once.get()),
    ])
    .count("views_across", looks.views_across)
    .count("views_across_full_cover", looks.views_across_full)
    .count("strips_down", looks.strips_down))
}

fn oblique(inputs: &Inputs<'_>) -> Found {
    let seat = Seat {
        to_the_board: inputs.metres("perpendicular_distance_m")?,
        aside: inputs.metres("offset_to_board_centre_m")?,
    };
    let field = inputs.degrees("true_field_deg")?;
    let looks =
        views_from_the_side(inputs.metres("board_width_m")?, seat, field, inputs.fraction("overlap_fraction")?)?;
    Ok(Figures::from([("board_angle_deg", looks.board.get()), ("share_of_width", looks.share_of_width(field)?.get())])
        .count("views_across", looks.views_across))
}

fn scanning(inputs: &Inputs<'_>) -> Found {
    let time = scan_time(inputs.count("views")?, inputs.seconds("dwell_s")?, inputs.seconds("move_s")?)?;
    Ok(Figures::from([("time_s", time.get())]))
}
