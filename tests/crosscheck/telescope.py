"""References for telescopes: rays traced through two thin lenses."""

import math

import numpy as np
from numpy.polynomial.legendre import leggauss
from scipy.integrate import quad

from acuity import exact
from check import Refused, Tolerance, between, positive, reference
from trace import (
    air,
    angle,
    lens,
    pupil_of,
    root,
    size_that_looks,
    system,
    telescope,
    tube_for,
    vergence,
)

TRACED = Tolerance(rel=1e-8, abs=1e-10, why="lengths are found as differences of traced rays")
TRACE = "rays traced through both lenses, focus by looking for the tube"
LENSES = {"objective_power_D": [0, -10], "ocular_power_D": [0, 1, -1]}
OBJECT = {"object_distance_from_objective_m": [0, -1]}


def draw_lenses(rng):
    objective = rng.uniform(4, 16)
    ocular = objective * rng.uniform(1.5, 10) * rng.choice([1, -1])
    return {"objective_power_D": objective, "ocular_power_D": ocular}


def both(q):
    """The two lenses, if they make a telescope."""
    objective, ocular = q["objective_power_D"], q["ocular_power_D"]
    positive(objective)
    if abs(ocular) <= objective:
        raise Refused("the ocular is too weak")
    return objective, ocular


def afocal_power(objective, ocular):
    """How many times steeper parallel light leaves, with its sign."""
    return float(telescope(objective, ocular, tube_for(objective, ocular))[1, 1])


@reference(
    "afocal_telescope",
    TRACE + "; the exit pupil as the image of the objective",
    lambda rng: {**draw_lenses(rng), "objective_diameter_m": rng.uniform(0.01, 0.05)},
    {**LENSES, "objective_diameter_m": [0, -0.02]},
    TRACED,
)
def afocal(q):
    objective, ocular = both(q)
    positive(q["objective_diameter_m"])
    length = tube_for(objective, ocular)
    wide, behind = pupil_of(objective, ocular, length, q["objective_diameter_m"])
    return {
        "power_signed": afocal_power(objective, ocular),
        "tube_length_m": length,
        "exit_pupil_m": float(wide),
        "exit_pupil_position_behind_ocular_m": behind,
    }


@reference(
    "telescope_ametropia_by_tube_length",
    TRACE + " at which light leaves with the vergence the eye needs",
    lambda rng: {**draw_lenses(rng), "refractive_error_at_ocular_D": rng.uniform(-20, 15)},
    LENSES,
    TRACED,
)
def ametropia(q):
    objective, ocular = both(q)
    error = q["refractive_error_at_ocular_D"]
    if (ocular - error) * ocular <= 0:
        raise Refused("it would become the other kind of telescope")
    length = tube_for(objective, ocular, leaving=error)
    if length <= 0:
        raise Refused("no tube")
    # The eye's own correction behind the ocular makes the light parallel again.
    whole = system(lens(objective), air(length), lens(ocular), lens(-error))
    return {
        "power_signed": float(whole[1, 1]),
        "tube_length_m": length,
        "tube_change_m": length - tube_for(objective, ocular),
    }


def focused(objective, ocular, u):
    """The tube in focus on u."""
    positive(u)
    if lens(objective)[1, 0] + 1 / u >= 0:
        raise Refused("inside the focal length of the objective")
    length = tube_for(objective, ocular, u)
    if length <= 0:
        raise Refused("no tube")
    return length


def possible(*powers):
    """No device magnifies beyond this, and no page could be held still in it."""
    for power in powers:
        between(power, 0.01, 100)


@reference(
    "telescope_finite_focus",
    TRACE + "; powers as the angles of a traced ray",
    lambda rng: {**draw_lenses(rng), "object_distance_from_objective_m": rng.uniform(0.1, 10)},
    {**LENSES, **OBJECT},
    TRACED,
)
def finite_focus(q):
    objective, ocular = both(q)
    u = q["object_distance_from_objective_m"]
    length = focused(objective, ocular, u)
    whole = telescope(objective, ocular, length) @ air(u)
    leaves = abs(float((whole @ np.array([1.0, 0.0]))[1]))
    possible(leaves * u, leaves * (u + length))
    return {
        "tube_length_m": length,
        "tube_extension_m": length - tube_for(objective, ocular),
        "power_re_objective": leaves / (1 / u),
        "power_re_eye_at_ocular": leaves / (1 / (u + length)),
        "equivalent_power_D": leaves,
    }


@reference(
    "telescope_near_focus_limit",
    "root finding for the object whose traced image lies at the end of the travel",
    lambda rng: {"objective_focal_m": rng.uniform(0.05, 0.25), "max_tube_extension_m": rng.uniform(0.001, 0.05)},
    {"objective_focal_m": [0, -0.1], "max_tube_extension_m": [0, -0.01]},
    TRACED,
)
def near_limit(q):
    focal, travel = q["objective_focal_m"], q["max_tube_extension_m"]
    positive(focal, travel)

    def beyond(u):
        height, slope = lens(1 / focal) @ air(u) @ np.array([0.0, 1.0])
        return -height / slope - focal - travel

    return {"nearest_object_from_objective_m": root(beyond, focal * (1 + 1e-7), 1e6)}


def left_alone(q):
    """The axial ray from the object as it leaves a telescope set for far."""
    objective, ocular = both(q)
    u = q["object_distance_from_objective_m"]
    positive(u)
    whole = telescope(objective, ocular, tube_for(objective, ocular))
    ray = whole @ np.array([1.0, 1.0 / u])
    if ray[0] * whole[1, 1] <= 0:
        raise Refused("the picture lies behind the ocular")
    return ray, float(whole[1, 1]), u


def draw_object(rng):
    return {**draw_lenses(rng), "object_distance_from_objective_m": rng.uniform(0.8, 10)}


def in_range(value):
    # A vergence beyond this belongs to a picture within a millimetre of the ocular.
    between(abs(value), 0, 1000)
    return float(value)


@reference(
    "afocal_exit_vergence", "an axial ray traced from the object", draw_object, {**LENSES, **OBJECT}, TRACED
)
def exit_vergence(q):
    ray, power, u = left_alone(q)
    leaves = in_range(vergence(ray))
    return {
        "exit_vergence_D": leaves,
        "approx_M2U_D": in_range(-power * power / u),
        "accommodation_at_ocular_D": -leaves,
    }


@reference(
    "afocal_vergence_at_eye",
    "an axial ray traced from the object to the eye",
    lambda rng: {**draw_object(rng), "eye_behind_ocular_m": rng.uniform(0, 0.03)},
    {**LENSES, **OBJECT, "eye_behind_ocular_m": [-0.01]},
    TRACED,
)
def at_eye(q):
    ray, _, _ = left_alone(q)
    if q["eye_behind_ocular_m"] < 0:
        raise Refused("before the ocular")
    in_range(vergence(ray))
    return {"vergence_at_eye_D": float(vergence(air(q["eye_behind_ocular_m"]) @ ray))}


SIGHT = "two lines of sight in space, and root finding"


def draw_field(rng):
    drawn = {"true_field_deg": rng.uniform(2, 25)}
    return {**drawn, "distance_m": rng.uniform(1, 20)} if rng.random() < 0.7 else drawn


@reference("linear_field", SIGHT, draw_field, {"true_field_deg": [0, -7]})
def linear(q):
    positive(q["true_field_deg"])
    field = math.radians(q["true_field_deg"])
    found = {"m_at_1000m": size_that_looks(field, 1000.0), "ft_at_1000yd": size_that_looks(field, 3000.0)}
    if "distance_m" in q:
        positive(q["distance_m"])
        found["field_width_m"] = size_that_looks(field, q["distance_m"])
    return found


def draw_label(rng):
    if rng.random() < 0.5:
        return {"m_at_1000m": rng.uniform(30, 400)}
    return {"ft_at_1000yd": rng.uniform(90, 1200)}


@reference("field_deg_from_linear", "two lines of sight in space", draw_label)
def from_linear(q):
    width, distance = (q["m_at_1000m"], 1000) if "m_at_1000m" in q else (q["ft_at_1000yd"], 3000)
    positive(width)
    return {"true_field_deg": math.degrees(angle((width / 2, 0, distance), (-width / 2, 0, distance)))}


POWER = {"power": [0, -8]}


@reference(
    "apparent_field",
    "a ray from the edge of the field traced through a telescope of this power",
    lambda rng: {"power": rng.uniform(1.5, 12), "true_field_deg": rng.uniform(2, 20)},
    {**POWER, "true_field_deg": [0, -7]},
)
def apparent(q):
    power, field = q["power"], q["true_field_deg"]
    positive(power, field)
    objective, ocular = 8.0, 8.0 * power
    edge = np.array([0.0, math.tan(math.radians(field / 2))])
    leaves = telescope(objective, ocular, tube_for(objective, ocular)) @ edge
    return {
        "apparent_deg_tangent": 2 * math.degrees(math.atan2(abs(leaves[1]), 1.0)),
        "apparent_deg_simple": float(exact(power) * exact(field)),
    }


@reference(
    "exit_pupil",
    "the image of the objective in a traced telescope of this power",
    lambda rng: {"power": rng.uniform(1.5, 12), "objective_diameter_mm": rng.uniform(8, 50)},
    {**POWER, "objective_diameter_mm": [0, -20]},
    TRACED,
)
def exit_pupil(q):
    positive(q["power"], q["objective_diameter_mm"])
    objective, ocular = 8.0, 8.0 * q["power"]
    length = tube_for(objective, ocular)
    return {"exit_pupil_mm": float(pupil_of(objective, ocular, length, q["objective_diameter_mm"])[0])}


@reference(
    "relative_retinal_illuminance",
    "numerical integration of the lit part of the eye's pupil",
    lambda rng: {
        "exit_pupil_mm": rng.uniform(1, 8),
        "eye_pupil_mm": rng.uniform(2, 8),
        "transmittance": rng.uniform(0.5, 1),
    },
    {"exit_pupil_mm": [0, -2], "eye_pupil_mm": [0, -3], "transmittance": [0, -0.5, 1.5]},
)
def retinal(q):
    positive(*q.values())
    between(q["transmittance"], 0, 1)
    pupil, lit = q["eye_pupil_mm"] / 2, min(q["exit_pupil_mm"], q["eye_pupil_mm"]) / 2
    rings = [quad(lambda r: 2 * math.pi * r, 0, edge)[0] for edge in (lit, pupil)]
    return {"ratio": q["transmittance"] * rings[0] / rings[1]}


@reference(
    "telemicroscope",
    "rays traced through cap and telescope, the working distance by root finding",
    lambda rng: {"telescope_power": rng.uniform(1.5, 8), "cap_power_D": rng.uniform(1, 12)},
    {"telescope_power": [0, -2], "cap_power_D": [0, -2]},
    TRACED,
)
def capped(q):
    positive(q["telescope_power"], q["cap_power_D"])
    objective, ocular = 8.0, 8.0 * q["telescope_power"]
    rest = telescope(objective, ocular, tube_for(objective, ocular)) @ lens(q["cap_power_D"])
    away = root(lambda u: (rest @ air(u) @ np.array([0.0, 1.0]))[1], 1e-4, 1e4)
    leaves = abs((rest @ air(away) @ np.array([1.0, 0.0]))[1])
    return {
        "equivalent_power_D": float(leaves),
        "working_distance_from_cap_m": away,
        # From here the bare eye sees it as large.
        "equivalent_viewing_distance_m": float(1 / leaves),
    }


def walk(whole, field, overlap):
    """Views until the whole is seen, moving on one view at a time."""
    seen_to, views = field, 1
    while seen_to < whole:
        seen_to += field * (1 - overlap)
        views += 1
    return views


POINTS, WEIGHTS = leggauss(24)


def overlap_area(radius, width, height):
    """A circle and a rectangle on one centre: strips added up, in pieces without corners."""
    right = min(radius, width / 2)
    if right <= 0:
        return 0.0
    corners = [0.0, right]
    if height / 2 < radius:
        corners.append(min(right, math.sqrt(radius**2 - (height / 2) ** 2)))
    turns = sorted(math.asin(min(1.0, x / radius)) for x in corners)
    area = 0.0
    for start, end in zip(turns, turns[1:]):
        turn = start + (end - start) * (POINTS + 1) / 2
        half = np.minimum(height / 2, radius * np.cos(turn))
        area += float(np.sum(WEIGHTS * 4 * half * radius * np.cos(turn))) * (end - start) / 2
    return area


def draw_coverage(rng):
    return {
        "board_width_m": rng.uniform(0.2, 4),
        "board_height_m": rng.uniform(0.2, 1.5),
        "distance_m": rng.uniform(2, 8),
        "true_field_deg": rng.uniform(3, 15),
        "overlap_fraction": rng.uniform(0, 0.5),
        "strip_height_factor": rng.choice([0.7071067811865475, rng.uniform(0.5, 0.95)]),
    }


@reference(
    "board_coverage",
    "walking over the board view by view; the part in view by numerical integration",
    draw_coverage,
    {
        "board_width_m": [0, -2],
        "distance_m": [0, -3],
        "true_field_deg": [0, -7],
        "overlap_fraction": [1, -0.1, 1.5],
        "strip_height_factor": [0, -1, 1],
    },
)
def coverage(q):
    width, height, overlap = q["board_width_m"], q["board_height_m"], q["overlap_fraction"]
    positive(width, height, q["distance_m"], q["true_field_deg"], q["strip_height_factor"])
    if not 0 <= overlap < 1 or q["strip_height_factor"] >= 1:
        raise Refused("nothing new in the next view")
    field = size_that_looks(math.radians(q["true_field_deg"]), q["distance_m"])
    # A full view is as wide as the round field still is at the edge of the strip.
    strip = field * q["strip_height_factor"]
    full = root(lambda w: math.hypot(w, strip) - field, 0.0, field)
    return {
        "field_width_m": field,
        "views_across": walk(width, field, overlap),
        "views_across_full_cover": walk(width, full, overlap),
        "strips_down": walk(height, strip, overlap),
        "fraction_of_board_in_view": overlap_area(field / 2, width, height) / (width * height),
    }


@reference(
    "board_views_oblique",
    "the angle of the board by vectors, and walking over it view by view",
    lambda rng: {
        "board_width_m": rng.uniform(0.5, 4),
        "perpendicular_distance_m": rng.uniform(1.5, 8),
        "offset_to_board_centre_m": rng.uniform(-4, 4),
        "true_field_deg": rng.uniform(3, 15),
        "overlap_fraction": rng.uniform(0, 0.5),
    },
    {
        "board_width_m": [0, -2],
        "perpendicular_distance_m": [0, -3],
        "true_field_deg": [0, -7],
        "overlap_fraction": [1, -0.1, 1.5],
    },
)
def oblique(q):
    half, x, d = q["board_width_m"] / 2, q["offset_to_board_centre_m"], q["perpendicular_distance_m"]
    positive(half, d, q["true_field_deg"])
    if not 0 <= q["overlap_fraction"] < 1:
        raise Refused("overlap")
    board = math.degrees(angle((x - half, 0, d), (x + half, 0, d)))
    # The part of the lines of sight to the board that one look holds, in exact fractions.
    share = min(exact(q["true_field_deg"]) / exact(board), exact(1))
    views = walk(board, q["true_field_deg"], q["overlap_fraction"])
    return {"board_angle_deg": board, "views_across": views, "share_of_width": float(share)}


@reference(
    "scan_time_budget",
    "adding up look by look",
    lambda rng: {"views": rng.randint(1, 60), "dwell_s": rng.uniform(0.2, 5), "move_s": rng.uniform(0.1, 2)},
    {"views": [0], "dwell_s": [-1], "move_s": [-1]},
)
def scanning(q):
    if q["views"] < 1 or q["dwell_s"] < 0 or q["move_s"] < 0:
        raise Refused("no look")
    time = q["dwell_s"]
    for _ in range(q["views"] - 1):
        time += q["move_s"] + q["dwell_s"]
    return {"time_s": time}
