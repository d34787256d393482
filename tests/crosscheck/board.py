"""References for demand, reserve, and the power, seat or letter that a reserve needs."""

import math

import numpy as np

from acuity import exact, power10
from check import Refused, between, positive, reference
from trace import ARCMIN, angle, distance_that_looks, root, seen, size_that_looks

WIDEST = math.radians(120)


def draw_board(rng):
    return {
        "letter_height_m": rng.uniform(0.01, 0.1),
        "letter_width_m": rng.uniform(0.01, 0.1),
        "perpendicular_distance_m": rng.uniform(1.5, 8),
        "lateral_offset_m": rng.choice([0, rng.uniform(-3, 3)]),
    }


@reference(
    "board_letter_demand",
    "lines of sight in space to the edges of the letter, and their angle by vectors",
    draw_board,
    {"perpendicular_distance_m": [0, -2], "letter_height_m": [0, -0.02], "letter_width_m": [0, -0.02]},
)
def board_letter(q):
    h, w = q["letter_height_m"], q["letter_width_m"]
    d, x = q["perpendicular_distance_m"], q["lateral_offset_m"]
    positive(h, w, d)
    tall = angle((x, h / 2, d), (x, -h / 2, d)) / ARCMIN
    wide = angle((x - w / 2, 0, d), (x + w / 2, 0, d)) / ARCMIN
    return {
        "sight_distance_m": float(np.linalg.norm([x, 0, d])),
        "obliquity_deg": math.degrees(angle((x, 0, d), (0, 0, 1))),
        "vertical_arcmin": tall,
        "horizontal_arcmin": wide,
        "logmar_vertical": math.log10(tall / 5),
        "logmar_horizontal": math.log10(wide / 5),
    }


def draw_rows(rng):
    rows, seats = rng.randint(1, 8), rng.randint(1, 8)
    return {
        "rows": rows,
        "row_seats": seats,
        "first_row_m": rng.uniform(1.5, 4),
        "row_gap_m": rng.uniform(0.6, 2),
        "seat_gap_m": rng.uniform(0.5, 2),
        "board_aside_m": rng.choice([0, rng.uniform(-2, 2)]),
        "row": rng.randint(1, rows),
        "seat": rng.randint(1, seats),
    }


@reference(
    "seat_in_rows",
    "walking from seat to seat in exact fractions, and the line of sight by vectors",
    draw_rows,
    {"row": [0, 9], "seat": [0, 9]},
)
def in_rows(q):
    between(q["row"], 1, q["rows"])
    between(q["seat"], 1, q["row_seats"])
    back = exact(q["first_row_m"])
    for _ in range(q["row"] - 1):
        back += exact(q["row_gap_m"])
    # From the left end of the row to its middle and back, seat by seat.
    places = [exact(q["seat_gap_m"]) * n for n in range(q["row_seats"])]
    right = places[q["seat"] - 1] - sum(places) / len(places) - exact(q["board_aside_m"])
    back, right = float(back), float(right)
    return {
        "perpendicular_distance_m": back,
        "lateral_offset_m": right,
        "sight_distance_m": float(np.linalg.norm([right, 0, back])),
        "obliquity_deg": math.degrees(angle((right, 0, back), (0, 0, 1))),
    }


RESERVE = {"required_reserve_ratio": [0, -2.5, 0.5]}


def draw_reserve(rng):
    return {
        "threshold_logmar": rng.uniform(0, 1.6),
        "demand_logmar": rng.uniform(0, 1.6),
        "required_reserve_ratio": rng.uniform(1, 7),
    }


@reference("acuity_reserve", "root finding and powers of 40 digits", draw_reserve, RESERVE)
def acuity_reserve(q):
    threshold, demand, wanted = q["threshold_logmar"], q["demand_logmar"], q["required_reserve_ratio"]
    positive(wanted)
    if wanted < 1:
        raise Refused("less than the threshold is no reserve")
    # The larger the target is seen, the larger the reserve: look for the power that suffices.
    enough = power10(demand) / power10(threshold) >= wanted
    target, limit = power10(demand), power10(threshold)
    power = 1.0 if enough else root(lambda m: m * target / limit - wanted, 1.0, 1e6)
    return {
        "reserve_ratio": target / limit,
        "reserve_log": float(exact(demand) - exact(threshold)),
        "magnification_needed": power,
        "threshold_needed_logmar": root(lambda t: target / 10**t - wanted, -4, 6),
    }


@reference(
    "demand_with_reserve",
    "root finding",
    lambda rng: {"demand_logmar": rng.uniform(0, 1.6), "reserve_ratio": rng.uniform(1, 7)},
    {"reserve_ratio": [0, -1, 0.5]},
)
def with_reserve(q):
    positive(q["reserve_ratio"])
    if q["reserve_ratio"] < 1:
        raise Refused("less than the threshold is no reserve")
    target = power10(q["demand_logmar"])
    needed = root(lambda t: target / 10**t - q["reserve_ratio"], -4, 6)
    return {"threshold_needed_logmar": needed}


@reference(
    "accommodative_demand",
    "a ray traced from the object: the lens that makes it parallel",
    lambda rng: {"distance_m": rng.uniform(0.05, 10)},
    {"distance_m": [0, -0.3]},
)
def focusing(q):
    positive(q["distance_m"])
    height, slope = np.array([[1.0, q["distance_m"]], [0.0, 1.0]]) @ np.array([0.0, 1.0])
    return {"demand_D": float(slope / height)}


def draw_contrast(rng):
    drawn = {"target_weber": rng.uniform(0.05, 1)}
    if rng.random() < 0.5:
        return {**drawn, "log_cs": rng.uniform(0, 2.2)}
    return {**drawn, "threshold_weber": rng.uniform(0.005, 0.5)}


@reference(
    "contrast_reserve", "root finding", draw_contrast, {"target_weber": [0, -0.5]}
)
def contrast(q):
    positive(q["target_weber"])
    threshold = q.get("threshold_weber")
    if threshold is None:
        threshold = root(lambda c: -math.log10(c) - q["log_cs"], 1e-5, 10)
    ratio = root(lambda r: r * threshold - q["target_weber"], 0, 1e6)
    return {"threshold_weber": threshold, "contrast_reserve_ratio": ratio}


def draw_total(rng):
    return {
        "reference_distance_m": rng.uniform(1, 8),
        "new_distance_m": rng.uniform(1, 8),
        "reference_height_m": rng.uniform(0.01, 0.1),
        "new_height_m": rng.uniform(0.01, 0.1),
        "angular_power": rng.choice([1, rng.uniform(1, 10)]),
    }


@reference(
    "total_magnification",
    "tangents of the half angles before and after, in exact fractions",
    draw_total,
    {key: [0, -1] for key in ("reference_distance_m", "new_distance_m", "new_height_m", "angular_power")},
)
def total(q):
    positive(*q.values())
    near, far = exact(q["new_distance_m"]), exact(q["reference_distance_m"])
    tall, short = exact(q["new_height_m"]), exact(q["reference_height_m"])
    before, after = short / 2 / far, exact(q["angular_power"]) * tall / 2 / near
    return {
        "relative_distance": float((short / near) / (short / far)),
        "relative_size": float((tall / far) / (short / far)),
        "total": float(after / before),
    }


def draw_needed(rng, *keys):
    drawn = {
        "threshold_logmar": rng.uniform(0.1, 1.8),
        "letter_height_m": rng.uniform(0.01, 0.1),
        "distance_m": rng.uniform(1, 8),
        "required_reserve_ratio": rng.uniform(1, 4),
        "angular_power": rng.uniform(1, 10),
    }
    return {key: drawn[key] for key in keys}


def looks(q):
    """How large the letter must look for the reserve, without a device."""
    positive(q["required_reserve_ratio"])
    if q["required_reserve_ratio"] < 1:
        raise Refused("less than the threshold is no reserve")
    return 5 * ARCMIN * q["required_reserve_ratio"] * power10(q["threshold_logmar"])


SEAT = "lines of sight in space, and root finding for the seat and the letter"


@reference(
    "required_power_distance_height",
    SEAT,
    lambda rng: draw_needed(rng, "threshold_logmar", "letter_height_m", "distance_m", "required_reserve_ratio"),
    {"letter_height_m": [0, -0.02], "distance_m": [0, -4], **RESERVE},
)
def required(q):
    positive(q["letter_height_m"], q["distance_m"])
    wanted, looked = looks(q), seen(q["letter_height_m"], q["distance_m"])
    found = {"power_needed": root(lambda p: p * looked - wanted, 0, 1e6)}
    if wanted <= WIDEST:
        found["seat_distance_m_no_device"] = distance_that_looks(wanted, q["letter_height_m"])
        found["letter_height_m_no_device"] = size_that_looks(wanted, q["distance_m"])
    return found


@reference(
    "farthest_seat_with_power",
    SEAT,
    lambda rng: draw_needed(rng, "threshold_logmar", "letter_height_m", "angular_power", "required_reserve_ratio"),
    {"letter_height_m": [0, -0.02], "angular_power": [0, -4], **RESERVE},
)
def farthest(q):
    positive(q["letter_height_m"], q["angular_power"])
    return {"distance_m": distance_that_looks(looks(q) / q["angular_power"], q["letter_height_m"])}


@reference(
    "smallest_letter_with_power",
    SEAT,
    lambda rng: draw_needed(rng, "threshold_logmar", "distance_m", "angular_power", "required_reserve_ratio"),
    {"distance_m": [0, -4], "angular_power": [0, -4], **RESERVE},
)
def smallest(q):
    positive(q["distance_m"], q["angular_power"])
    return {"letter_height_m": size_that_looks(looks(q) / q["angular_power"], q["distance_m"])}
