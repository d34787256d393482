"""References for the fields and the exit pupil that a design gives: fans of rays."""

import math

import numpy as np

from check import Refused, positive, reference
from telescope import LENSES, OBJECT, TRACED, both, draw_lenses, focused, possible
from trace import air, lens, pupil_of, root, system, telescope, tube_for

FAN = "rays through the rims, bisection on the angle at which the last one is cut off"


def draw_kind(rng, sign):
    drawn = draw_lenses(rng)
    return {**drawn, "ocular_power_D": sign * abs(drawn["ocular_power_D"])}


def edges(passes):
    """Half fields in degrees: where `passes` (by how much, at this slope) turns negative."""
    found = {}
    for key, spare in passes.items():
        if spare(0.0) > 0:
            found[key] = math.degrees(math.atan2(root(spare, 0.0, 10.0), 1.0))
    return found


@reference(
    "galilean_field",
    FAN,
    lambda rng: {
        **draw_kind(rng, -1),
        "objective_diameter_m": rng.uniform(0.01, 0.04),
        "eye_pupil_behind_ocular_m": rng.uniform(0.008, 0.025),
        "eye_pupil_m": rng.uniform(0.002, 0.007),
    },
    {**LENSES, "objective_diameter_m": [0, -0.02], "eye_pupil_m": [0, -0.004]},
    TRACED,
)
def galilean(q):
    objective, ocular = both(q)
    rim, pupil = q["objective_diameter_m"] / 2, q["eye_pupil_m"] / 2
    positive(rim, pupil)
    if ocular > 0:
        raise Refused("a Keplerian")
    whole = air(q["eye_pupil_behind_ocular_m"]) @ telescope(objective, ocular, tube_for(objective, ocular))

    def starts(slope, arrives):
        """Where on the objective a ray starts that arrives at this height in the pupil."""
        lands = [(whole @ np.array([height, slope]))[0] for height in (0.0, rim)]
        return rim * (arrives - lands[0]) / (lands[1] - lands[0])

    def spare(pick):
        return lambda slope: rim - pick(abs(starts(slope, at)) for at in (-pupil, pupil))

    return edges({
        "half_field_deg_unvignetted": spare(max),
        "half_field_deg_chief_ray": lambda slope: rim - abs(starts(slope, 0.0)),
        # Straight ahead the smaller of both ends may lie beyond the rim, but not the centre.
        "half_field_deg_any_light": lambda slope: rim - nearest(starts(slope, -pupil), starts(slope, pupil)),
    })


def nearest(one, other):
    """How near to the centre of the objective the fan of one direction comes; less than nothing across it."""
    inside = min(abs(one), abs(other))
    return -inside if one * other < 0 else inside


@reference(
    "keplerian_field_no_stop",
    FAN,
    lambda rng: {
        **draw_kind(rng, 1),
        "objective_diameter_m": rng.uniform(0.01, 0.04),
        "ocular_diameter_m": rng.uniform(0.005, 0.02),
    },
    {**LENSES, "objective_diameter_m": [0, -0.02], "ocular_diameter_m": [0, -0.01]},
    TRACED,
)
def keplerian(q):
    objective, ocular = both(q)
    rim, eyepiece = q["objective_diameter_m"] / 2, q["ocular_diameter_m"] / 2
    positive(rim, eyepiece)
    if ocular < 0:
        raise Refused("a Galilean")
    tube = system(lens(objective), air(tube_for(objective, ocular)))

    def lands(height, slope):
        return (tube @ np.array([height, slope]))[0]

    return edges({
        "half_field_deg_unvignetted": lambda s: eyepiece - max(abs(lands(rim, s)), abs(lands(-rim, s))),
        "half_field_deg_chief_ray": lambda s: eyepiece - abs(lands(0.0, s)),
        "half_field_deg_any_light": lambda s: eyepiece - nearest(lands(rim, s), lands(-rim, s)),
    })


@reference(
    "keplerian_field_stop",
    "root finding for the ray that just passes the rim of the stop, traced on through the ocular",
    lambda rng: {**draw_kind(rng, 1), "field_stop_m": rng.uniform(0.005, 0.02)},
    {**LENSES, "field_stop_m": [0, -0.01]},
    TRACED,
)
def with_stop(q):
    objective, ocular = both(q)
    positive(q["field_stop_m"])
    if ocular < 0:
        raise Refused("a Galilean")
    # The picture plane is where parallel light from the axis crosses it.
    plane = root(lambda d: (air(d) @ lens(objective) @ np.array([1.0, 0.0]))[0], 1e-3, 10)
    slope = root(lambda s: (air(plane) @ lens(objective) @ np.array([0.0, s]))[0] - q["field_stop_m"] / 2, 0, 10)
    leaves = telescope(objective, ocular, tube_for(objective, ocular)) @ np.array([0.0, slope])
    return {
        "true_field_deg": 2 * math.degrees(math.atan2(slope, 1)),
        "apparent_field_deg": 2 * math.degrees(math.atan2(abs(leaves[1]), 1)),
    }


@reference(
    "exit_pupil_focused_near",
    "the image of the objective through the ocular of the traced, focused telescope",
    lambda rng: {
        **draw_lenses(rng),
        "objective_diameter_m": rng.uniform(0.01, 0.04),
        "object_distance_from_objective_m": rng.uniform(0.3, 10),
    },
    {**LENSES, **OBJECT, "objective_diameter_m": [0, -0.02]},
    TRACED,
)
def pupil_near(q):
    objective, ocular = both(q)
    positive(q["objective_diameter_m"])
    length = focused(objective, ocular, q["object_distance_from_objective_m"])
    wide, behind = pupil_of(objective, ocular, length, q["objective_diameter_m"])
    away = q["object_distance_from_objective_m"]
    leaves = abs(float((telescope(objective, ocular, length) @ air(away))[1, 0]))
    possible(leaves * away, leaves * (away + length))
    return {"exit_pupil_m": float(wide), "exit_pupil_position_behind_ocular_m": float(behind)}


@reference(
    "cap_vs_tube_equivalent_power",
    "rays traced through cap and telescope, and through the longer tube",
    lambda rng: {**draw_lenses(rng), "object_distance_m": rng.uniform(0.3, 3)},
    {**LENSES, "object_distance_m": [0, -0.4]},
    TRACED,
)
def cap_or_tube(q):
    objective, ocular = both(q)
    away = q["object_distance_m"]
    longer = telescope(objective, ocular, focused(objective, ocular, away)) @ air(away)
    far = telescope(objective, ocular, tube_for(objective, ocular))
    # The cap that sends light from there on parallel.
    cap = root(lambda power: (lens(power) @ air(away) @ np.array([0.0, 1.0]))[1], 0, 1e3)
    capped = far @ lens(cap) @ air(away)
    return {
        "cap_equivalent_power_D": float(abs(capped[1, 0])),
        "tube_equivalent_power_D": float(abs(longer[1, 0])),
    }


@reference(
    "apparent_field_limit_eye_behind_exit_pupil",
    "bisection on the slope of rays from the rim of the exit pupil into the eye",
    lambda rng: {
        "exit_pupil_m": rng.uniform(0.001, 0.008),
        "eye_pupil_m": rng.uniform(0.002, 0.008),
        "eye_pupil_behind_exit_pupil_m": rng.uniform(0.003, 0.03),
    },
    {"exit_pupil_m": [0, -1e-3], "eye_pupil_m": [0, -1e-3], "eye_pupil_behind_exit_pupil_m": [0, -0.01]},
)
def behind_exit_pupil(q):
    rim, pupil, away = q["exit_pupil_m"] / 2, q["eye_pupil_m"] / 2, q["eye_pupil_behind_exit_pupil_m"]
    positive(rim, pupil, away)

    def reaches(target):
        """The slope at which the lowest ray of the bundle still enters up to here."""
        return root(lambda s: (air(away) @ np.array([-rim, s]))[0] - target, 0.0, 1e3)

    return {
        "half_field_deg_any_light": math.degrees(math.atan2(reaches(pupil), 1)),
        "half_field_deg_pupil_centre_lit": math.degrees(math.atan2(reaches(0.0), 1)),
    }
