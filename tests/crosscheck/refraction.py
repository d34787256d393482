"""References for refractions: dioptric matrices, Fourier analysis, traced rays."""

import math
from fractions import Fraction

import numpy as np

from acuity import straight_line
from check import Refused, Tolerance, between, reference
from trace import air, lens as bend, vergence

TURNS = np.arange(64) * math.pi / 64
AXES = Tolerance(rel=1e-9, abs=1e-8, why="axes come out of an eigenvector")
LENS = {"axis_deg": [-10, 190, None]}
MATRIX = "the 2 by 2 dioptric matrix and its eigenvectors"


def draw_lens(rng):
    quarter = rng.random() < 0.5
    sphere = rng.randint(-60, 40) / 4 if quarter else rng.uniform(-15, 10)
    size = rng.randint(1, 20) / 4 if quarter else rng.uniform(0.1, 5)
    axis = rng.randint(1, 180) if quarter else rng.uniform(0.5, 180)
    return {"sphere_D": sphere, "cylinder_D": size * rng.choice([1, -1]), "axis_deg": axis}


def matrix(q):
    """The lens as a matrix: the power along its axis, and across it."""
    if q.get("axis_deg") is None:
        raise Refused("an axis is missing")
    between(q["axis_deg"], 0, 180)
    turn = math.radians(q["axis_deg"])
    along, across = np.array([math.cos(turn), math.sin(turn)]), np.array([-math.sin(turn), math.cos(turn)])
    sphere = q["sphere_D"]
    return sphere * np.outer(along, along) + (sphere + q["cylinder_D"]) * np.outer(across, across)


def principal(lens, least_first):
    """The power and meridian of one principal direction, and the other power."""
    powers, ways = np.linalg.eigh(lens)
    if powers[1] - powers[0] < 1e-12:
        # No cylinder: every meridian is principal, and 180 is written.
        return float(powers[0]), 180.0, float(powers[1])
    if not least_first:
        powers, ways = powers[::-1], ways[:, ::-1]
    return float(powers[0]), written(math.degrees(math.atan2(ways[1, 0], ways[0, 0]))), float(powers[1])


def written(axis):
    """An axis from 0, which is written 180, to 180."""
    axis %= 180.0
    return axis if axis > 1e-9 else 180.0


@reference("transpose", MATRIX, draw_lens, LENS, AXES)
def transpose(q):
    # What was across the axis becomes the sphere: the least power of a minus cylinder.
    sphere, axis, other = principal(matrix(q), least_first=q["cylinder_D"] < 0)
    return {"sphere_D": sphere, "cylinder_D": other - sphere, "axis_deg": axis}


@reference(
    "power_vector", "Fourier analysis of the power in 64 meridians", draw_lens, LENS, Tolerance(abs=1e-11)
)
def vector(q):
    lens = matrix(q)
    ways = np.array([np.cos(TURNS), np.sin(TURNS)])
    powers = np.sum(ways * (lens @ ways), axis=0)
    mean = float(np.mean(powers))
    return {
        "M_D": mean,
        "J0_D": float(2 * np.mean(powers * np.cos(2 * TURNS))),
        "J45_D": float(2 * np.mean(powers * np.sin(2 * TURNS))),
        "blur_strength_D": math.sqrt(2 * float(np.mean(powers**2)) - mean**2),
    }


@reference(
    "power_vector_to_rx",
    MATRIX,
    lambda rng: {"M_D": rng.uniform(-15, 10), "J0_D": rng.uniform(-2, 2), "J45_D": rng.uniform(-2, 2)},
    {"M_D": [1e6], "J0_D": [1e6]},
    AXES,
)
def of_vector(q):
    if max(map(abs, q.values())) > 1000:
        raise Refused("no lens")
    lens = np.array([[q["M_D"] + q["J0_D"], q["J45_D"]], [q["J45_D"], q["M_D"] - q["J0_D"]]])
    sphere, axis, other = principal(lens, least_first=False)
    return {"sphere_D": sphere, "cylinder_D": other - sphere, "axis_deg": axis}


def moved(power, x):
    """A parallel ray traced through the lens to a place nearer the eye: its vergence there."""
    height, slope = air(x) @ bend(power) @ np.array([1.0, 0.0])
    if height <= 0:
        raise Refused("beyond the focus of the lens")
    return float(vergence((height, slope)))


def draw_moved(rng):
    return {"moved_toward_eye_m": rng.uniform(-0.016, 0.016)}


@reference(
    "vertex_compensate",
    "a parallel ray traced to the new place",
    lambda rng: {"power_D": rng.uniform(-25, 20), **draw_moved(rng)},
    {"moved_toward_eye_m": [0.5], "power_D": [1e5]},
    Tolerance(abs=1e-11),
)
def vertex(q):
    between(abs(q["power_D"]), 0, 60)
    between(abs(q["moved_toward_eye_m"]), 0, 0.05)
    return {"power_D": moved(q["power_D"], q["moved_toward_eye_m"])}


@reference(
    "vertex_compensate_toric",
    MATRIX + ", each principal power traced to the new place",
    lambda rng: {**draw_lens(rng), **draw_moved(rng)},
    {**LENS, "moved_toward_eye_m": [0.5]},
    AXES,
)
def vertex_toric(q):
    between(abs(q["moved_toward_eye_m"]), 0, 0.05)
    sphere, axis, other = principal(matrix(q), least_first=q["cylinder_D"] > 0)
    here, across = moved(sphere, q["moved_toward_eye_m"]), moved(other, q["moved_toward_eye_m"])
    return {"sphere_D": here, "cylinder_D": across - here, "axis_deg": axis}


@reference(
    "accommodation_by_age",
    "the straight lines through two ages each",
    lambda rng: {"age_years": rng.choice([rng.randint(5, 19), rng.uniform(5, 40)])},
    {"age_years": [-3, 200]},
)
def by_age(q):
    between(q["age_years"], 4, 60)
    lines = {"minimum_D": (15, 0), "average_D": (Fraction(37, 2), Fraction(1, 2)), "maximum_D": (25, 1)}
    return {key: straight_line(q["age_years"], (0, born), (60, old)) for key, (born, old) in lines.items()}


@reference(
    "normalise_axis",
    "stepping by half turns until it is more than 0",
    lambda rng: {"axis_deg": rng.choice([0, 180, rng.randint(0, 180), rng.uniform(0, 180)])},
    {"axis_deg": [-10, 190, 400]},
)
def axis_only(q):
    between(q["axis_deg"], 0, 180)
    axis = float(q["axis_deg"])
    while axis <= 0:
        axis += 180
    return {"axis_deg": axis}


@reference("parse_rx", MATRIX + ": taken apart and put together", draw_lens, {
    **LENS, "sphere_D": [-60, 60], "cylinder_D": [-14, 14]
}, AXES)
def typed(q):
    between(q["sphere_D"], -40, 35)
    between(abs(q["cylinder_D"]), 0, 10)
    sphere, axis, other = principal(matrix(q), least_first=q["cylinder_D"] > 0)
    return {"sphere_D": sphere, "cylinder_D": other - sphere, "axis_deg": axis}
