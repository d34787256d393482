"""References for magnifiers and reading adds: traced rays and root finding."""

import math

import numpy as np

from acuity import exact, power10
from check import Refused, between, positive, reference
from telescope import TRACED
from trace import ARCMIN, air, distance_that_looks, lens, root, system, zero_of_line

UP = np.array([1.0, 0.0])
OUT = np.array([0.0, 1.0])


@reference(
    "equivalent_power",
    "a parallel ray traced through both lenses",
    lambda rng: {
        "magnifier_power_D": rng.uniform(4, 50),
        "add_or_accommodation_D": rng.choice([0, rng.uniform(0, 10)]),
        "separation_m": rng.uniform(0, 0.3),
    },
    {"separation_m": [-0.1], "add_or_accommodation_D": [-3], "magnifier_power_D": [0, -20]},
    TRACED,
)
def equivalent(q):
    positive(q["magnifier_power_D"])
    if q["separation_m"] < 0 or q["add_or_accommodation_D"] < 0:
        raise Refused("less than nothing")
    whole = system(lens(q["magnifier_power_D"]), air(q["separation_m"]), lens(q["add_or_accommodation_D"]))
    power = -float((whole @ UP)[1])
    positive(power)
    return {"equivalent_power_D": power, "equivalent_viewing_distance_m": 1 / power}


@reference(
    "trade_magnification",
    "traced angles with the lens over those without it from 25 cm, root finding for the object",
    lambda rng: {"power_D": rng.uniform(4, 50)},
    {"power_D": [0, -12]},
    TRACED,
)
def labels(q):
    power = q["power_D"]
    positive(power)

    def times(leaving):
        """With the object where light leaves with this vergence."""
        u = root(lambda u: (lens(power) @ air(u) @ OUT) @ np.array([leaving, 1.0]), 1e-6, 10)
        chief = np.array([1.0, -1.0 / u])
        return abs((lens(power) @ air(u) @ chief)[1]) / (1 / 0.25)

    return {"F_over_4": float(times(0.0)), "F_over_4_plus_1": float(times(-4.0))}


def draw_stand(rng):
    power = rng.uniform(8, 40)
    return {
        "lens_power_D": power,
        "stand_height_m": rng.uniform(0.3, 0.95) / power,
        "eye_to_lens_m": rng.uniform(0.02, 0.4),
    }


@reference(
    "stand_magnifier",
    "the image by following two rays back, the eye's share by a ray through its centre",
    draw_stand,
    {"stand_height_m": [0, -0.02, 0.9], "eye_to_lens_m": [0, -0.2], "lens_power_D": [0, -10]},
    TRACED,
)
def stand(q):
    power, height, eye = q["lens_power_D"], q["stand_height_m"], q["eye_to_lens_m"]
    positive(power, height, eye)
    after = lens(power) @ air(height)
    if (after @ OUT)[1] <= 0:
        raise Refused("no virtual image")
    # Two rays from one point of the page seem to come from one point of the image.
    back = -zero_of_line(lambda x: (air(x) @ after @ OUT)[0], height)
    larger = float((air(-back) @ after @ UP)[0])
    to_eye = air(eye) @ after
    # The ray from the edge of a letter of height 1 that passes the centre of the eye.
    slope = zero_of_line(lambda s: (to_eye @ np.array([1.0, s]))[0], 1.0)
    looks = abs(float((to_eye @ np.array([1.0, slope]))[1]))
    fan = to_eye @ OUT
    return {
        "image_distance_below_lens_m": back,
        "enlargement_ratio": larger,
        "eye_to_image_m": float(fan[0] / fan[1]),
        "required_accommodation_D": float(fan[1] / fan[0]),
        "equivalent_viewing_distance_m": 1 / looks,
        "equivalent_viewing_power_D": looks,
    }


@reference(
    "hand_magnifier_field",
    "a ray from the eye past the rim of the lens, traced on to the page at its focus",
    lambda rng: {
        "lens_diameter_m": rng.uniform(0.02, 0.1),
        "power_D": rng.uniform(4, 40),
        "eye_to_lens_m": rng.uniform(0.02, 0.4),
    },
    {"lens_diameter_m": [0, -0.05], "power_D": [0, -12], "eye_to_lens_m": [0, -0.1]},
    TRACED,
)
def hand(q):
    rim, power, eye = q["lens_diameter_m"] / 2, q["power_D"], q["eye_to_lens_m"]
    positive(rim, power, eye)
    focus = root(lambda d: (air(d) @ lens(power) @ UP)[0], 1e-4, 10)
    steep = root(lambda s: (air(eye) @ np.array([0.0, s]))[0] - rim, 0, 1e3)
    page = air(focus) @ lens(power) @ air(eye) @ np.array([0.0, steep])
    return {"field_width_m": 2 * float(page[0])}


@reference(
    "kestenbaum_add_for_1M",
    "root finding for the distance at which this acuity just reads 1 M",
    lambda rng: {"decimal_acuity": rng.uniform(0.02, 1)},
    {"decimal_acuity": [0, -0.1]},
)
def old_rule(q):
    positive(q["decimal_acuity"])
    wanted = -math.log10(q["decimal_acuity"])
    away = root(lambda d: math.log10(1 / d) - wanted, 1e-5, 1e5)
    return {"add_D": 1 / away}


@reference(
    "add_for_goal",
    "exact fractions",
    lambda rng: {"add_for_1M_D": rng.uniform(1, 40), "goal_m_units": rng.uniform(0.4, 8)},
    {"add_for_1M_D": [0, -5], "goal_m_units": [0, -1]},
)
def for_goal(q):
    positive(*q.values())
    return {"add_D": float(exact(q["add_for_1M_D"]) / exact(q["goal_m_units"]))}


def draw_goal(rng):
    read = rng.uniform(1, 8)
    return {
        "read_m_units": read,
        "at_distance_m": rng.uniform(0.1, 0.5),
        "goal_m_units": read * rng.uniform(0.1, 1),
        "reserve_ratio": rng.uniform(1, 4),
    }


GOAL = {
    "read_m_units": [0, -1],
    "at_distance_m": [0, -0.4],
    "goal_m_units": [0, -1],
    "reserve_ratio": [0, -1, 0.5],
}


@reference("required_evd", "root finding on the angle of the goal print", draw_goal, GOAL)
@reference("required_equivalent_power", "root finding on the angle of the goal print", draw_goal, GOAL)
def required(q):
    positive(*q.values())
    if q["reserve_ratio"] < 1 or q["goal_m_units"] < 0.1:
        raise Refused("outside what is read")
    just = q["read_m_units"] / q["at_distance_m"]
    away = root(lambda d: math.log(q["goal_m_units"] / d / just) - math.log(q["reserve_ratio"]), 1e-6, 1e3)
    return {"equivalent_power_D": 1 / away, "equivalent_viewing_distance_m": away}


@reference(
    "evd_from_enlargement",
    "root finding for the distance at which the bare print looks as large",
    lambda rng: {"enlargement": rng.uniform(1, 40), "viewing_distance_m": rng.uniform(0.1, 1)},
    {"enlargement": [0, -2], "viewing_distance_m": [0, -0.3]},
)
def enlarged(q):
    positive(*q.values())
    away = root(lambda d: 1 / d - q["enlargement"] / q["viewing_distance_m"], 1e-6, 1e3)
    return {"equivalent_viewing_distance_m": away, "equivalent_power_D": 1 / away}


@reference(
    "equivalent_power_for_height",
    "lines of sight in space, and root finding for where the bare eye would hold it",
    lambda rng: {
        "threshold_logmar": rng.uniform(0.1, 1.6),
        "letter_height_m": rng.uniform(0.001, 0.01),
        "required_reserve_ratio": rng.uniform(1, 4),
    },
    {"letter_height_m": [0, -0.002], "required_reserve_ratio": [0, -2, 0.5]},
)
def for_height(q):
    positive(*q.values())
    if q["required_reserve_ratio"] < 1:
        raise Refused("less than the threshold is no reserve")
    wanted = 5 * ARCMIN * q["required_reserve_ratio"] * power10(q["threshold_logmar"])
    held = distance_that_looks(wanted, q["letter_height_m"])
    return {"equivalent_power_D": 1 / held, "equivalent_viewing_distance_m": held}


@reference(
    "window_magnifier_field",
    "a ray from the eye past the rim, traced on to the page below a lens of this power, and below a stronger one on a stand",
    lambda rng: {
        "lens_diameter_m": rng.uniform(0.02, 0.1),
        "equivalent_power_D": rng.uniform(3, 30),
        "eye_to_lens_m": rng.uniform(0.02, 0.4),
    },
    {"lens_diameter_m": [0, -0.05], "equivalent_power_D": [0, -12], "eye_to_lens_m": [0, -0.1]},
    TRACED,
)
def window(q):
    rim, power, eye = q["lens_diameter_m"] / 2, q["equivalent_power_D"], q["eye_to_lens_m"]
    positive(rim, power, eye)
    steep = root(lambda s: (air(eye) @ np.array([0.0, s]))[0] - rim, 0, 1e3)

    def strip(glass):
        # The page lies where a letter on it looks as large as at the equivalent viewing distance.
        def looks(height):
            onto = air(height) @ lens(glass) @ air(eye)
            return float((onto @ OUT)[0]) - 1 / power

        height = zero_of_line(looks, 1 / glass)
        page = air(height) @ lens(glass) @ air(eye) @ np.array([0.0, steep])
        return 2 * float(page[0])

    found = [strip(power), strip(1.4 * power)]
    if abs(found[0] - found[1]) > 1e-9 * found[0]:
        raise AssertionError("two lenses of one equivalent power show two strips")
    return {"field_width_m": found[0]}


@reference(
    "working_distance",
    "root finding for the object whose rays, traced through all lenses, leave parallel",
    lambda rng: {
        "add_D": rng.choice([0, rng.uniform(0, 30)]),
        "accommodation_D": rng.uniform(0, 12),
        "uncorrected_refraction_D": rng.uniform(-15, 6),
    },
    {"add_D": [-4], "accommodation_D": [-2]},
    TRACED,
)
def working(q):
    if q["add_D"] < 0 or q["accommodation_D"] < 0:
        raise Refused("less than nothing")
    whole = lens(-q["uncorrected_refraction_D"]) @ lens(q["accommodation_D"]) @ lens(q["add_D"])
    bends = -float((whole @ UP)[1])
    if bends <= 0:
        raise Refused("focused beyond every page")
    away = zero_of_line(lambda u: (whole @ air(u) @ OUT)[1], 1.0)
    between(away, 0, 1e5)
    return {"working_distance_m": away, "equivalent_viewing_power_D": 1 / away}
