"""References for acuity, print sizes and angles."""

import math
from decimal import Decimal, getcontext
from fractions import Fraction

from check import Refused, between, positive, reference
from trace import ARCMIN, M_UNIT_MM, distance_that_looks, root, seen, size_that_looks

getcontext().prec = 40

RATIONAL = "exact fractions, and logarithms of 40 digits"
FEET = {"test_distance_ft": [0, -20], "letter_distance_ft": [0, -1]}


def exact(value):
    """The decimal that was written, as a fraction."""
    return Fraction(repr(value)) if isinstance(value, float) else Fraction(value)


def log10(fraction):
    if fraction <= 0:
        raise Refused("no logarithm")
    return (Decimal(fraction.numerator) / Decimal(fraction.denominator)).log10()


def power10(exponent):
    return float(Decimal(10) ** Decimal(repr(float(exponent))))


def straight_line(x, one, other):
    """The line through two points, in exact fractions."""
    (x0, y0), (x1, y1) = one, other
    return float(y0 + (exact(x) - x0) * Fraction(y1 - y0) / (x1 - x0))


def notations(mar):
    logmar = log10(mar)
    return {
        "mar_arcmin": float(mar),
        "logmar": float(logmar),
        "decimal": float(1 / mar),
        "var_score": float(100 - 50 * logmar),
        "cycles_per_degree": float(30 / mar),
    }


def draw_fraction(rng):
    unit, low, high = rng.choice([("ft", 1, 20), ("m", 0.5, 6)])
    test = rng.choice([round(rng.uniform(low, high), 2), rng.randint(1, int(high))])
    letter = round(test * 10 ** rng.uniform(-0.3, 2.0), 3)
    return {f"test_distance_{unit}": test, f"letter_distance_{unit}": max(letter, 0.1)}


def draw_feet(rng):
    test = rng.choice([20, 10, 5, round(rng.uniform(1, 20), 2)])
    return {"test_distance_ft": test, "letter_distance_ft": round(test * 10 ** rng.uniform(-0.3, 2.0), 3)}


@reference("snellen_to_all", RATIONAL, draw_fraction, {"test_distance_m": [6], "letter_distance_ft": [0, -5, 40]})
def snellen(q):
    # Impossible: nothing, less, or one unit above the line and another below.
    ways = [unit for unit in ("ft", "m") if f"test_distance_{unit}" in q or f"letter_distance_{unit}" in q]
    if len(ways) != 1 or len(q) != 2:
        raise Refused("two units")
    test, letter = exact(q[f"test_distance_{ways[0]}"]), exact(q[f"letter_distance_{ways[0]}"])
    positive(test, letter)
    return notations(letter / test)


@reference("snellen_ft_to_6m", RATIONAL, draw_feet, FEET)
def at_six(q):
    test, letter = exact(q["test_distance_ft"]), exact(q["letter_distance_ft"])
    positive(test, letter)
    return {"letter_distance_m_at_6m": float(letter / test * 6)}


def draw_logmar(rng):
    return {"logmar": rng.choice([round(rng.uniform(-0.3, 2), 2), rng.uniform(-0.3, 2)])}


LOGMAR = "the straight line through two published pairs, and root finding for the decimal"


@reference("logmar_to_var_and_decimal", LOGMAR, draw_logmar, {"logmar": [60, -60]})
@reference("decimal_of_logmar", LOGMAR, draw_logmar, {"logmar": [60, -60]})
def of_logmar(q):
    between(q["logmar"], -3, 5)
    decimal = root(lambda v: -math.log10(v) - q["logmar"], 1e-6, 1e4)
    return {"var_score": straight_line(q["logmar"], (0, 100), (2, 0)), "decimal": decimal}


def draw_letters(rng, key="largest_row_logmar_at_test_distance"):
    return {
        key: rng.choice([1.0, round(rng.uniform(0.5, 1.3), 2)]),
        "row_step_log": rng.choice([0.1, 0.15, 0.05]),
        "letters_per_row": rng.randint(2, 10),
        "letters_correct": rng.randint(1, 20),
    }


@reference(
    "letter_score_to_logmar",
    "counting letter by letter in exact fractions",
    draw_letters,
    {"letters_per_row": [0], "row_step_log": [0, -0.1]},
)
def letters(q):
    positive(q["row_step_log"], q["letters_per_row"])
    step = exact(q["row_step_log"])
    value = exact(q["largest_row_logmar_at_test_distance"]) + step
    for _ in range(q["letters_correct"]):
        value -= step / q["letters_per_row"]
    return {"logmar": float(value), "var_score": straight_line(float(value), (0, 100), (2, 0))}


def draw_letters_elsewhere(rng):
    design, test = rng.choice([4.0, 3.0, 6.0]), round(rng.uniform(0.5, 6), 2)
    drawn = draw_letters(rng, "largest_row_logmar_at_design_distance")
    return {**drawn, "design_distance_m": design, "test_distance_m": test}


@reference(
    "letter_score_with_distance",
    "the rows as drawn letters of so many millimetres, their detail as an angle from the seat",
    draw_letters_elsewhere,
    {"test_distance_m": [0, -1], "design_distance_m": [0, -4], "letters_per_row": [0]},
)
def letters_elsewhere(q):
    positive(q["test_distance_m"], q["design_distance_m"], q["letters_per_row"])
    # An angle of nothing else but the ratio, as the notation has it.
    detail = 10 ** q["largest_row_logmar_at_design_distance"] * q["design_distance_m"]
    each = 10 ** (q["row_step_log"] / q["letters_per_row"])
    detail *= 10 ** q["row_step_log"]
    for _ in range(q["letters_correct"]):
        detail /= each
    logmar = math.log10(detail / q["test_distance_m"])
    return {"logmar": logmar, "var_score": straight_line(logmar, (0, 100), (2, 0))}


def draw_m(rng):
    return {"m_units": rng.choice([0.4, 0.5, 0.8, 1.0, 1.6, 2.0, 4.0, 8.0, round(rng.uniform(0.3, 20), 3)])}


SIGHT = "two lines of sight in space, and root finding"


@reference("m_unit_height_mm", SIGHT, draw_m, {"m_units": [0, -1]})
def m_height(q):
    positive(q["m_units"])
    return {"height_mm": M_UNIT_MM * q["m_units"]}


@reference(
    "m_units_of_height", SIGHT, lambda rng: {"height_mm": rng.uniform(0.5, 40)}, {"height_mm": [0, -2, 1e9]}
)
def m_of_height(q):
    positive(q["height_mm"])
    between(q["height_mm"], 0, 14_000)
    # The distance at which it looks as 1 M does at one metre, as a multiple of that.
    return {"m_units": distance_that_looks(5 * ARCMIN, q["height_mm"]) / 1000.0}


def draw_near(rng):
    return {"distance_m": round(rng.uniform(0.05, 1), 3)}


@reference(
    "near_m_from_logmar",
    "root finding",
    lambda rng: {**draw_near(rng), **draw_logmar(rng)},
    {"distance_m": [0, -0.4]},
)
def near_m(q):
    positive(q["distance_m"])
    return {"m_units": root(lambda m: math.log10(m / q["distance_m"]) - q["logmar"], 1e-6, 1e5)}


@reference(
    "near_logmar",
    RATIONAL,
    lambda rng: {**draw_near(rng), **draw_m(rng)},
    {"distance_m": [0, -0.4], "m_units": [0, -1]},
)
def near_logmar(q):
    positive(q["distance_m"], q["m_units"])
    mar = exact(q["m_units"]) / exact(q["distance_m"])
    return {"logmar": float(log10(mar)), "snellen_20_denominator": float(20 * mar), "inverse_V": float(mar)}


@reference(
    "n_points_to_m",
    "search in a table of N sizes in eighths",
    lambda rng: {"n_points": rng.choice([5, 6, 8, 12, 18, 36, 48, round(rng.uniform(4, 80), 2)])},
    {"n_points": [0, -8]},
)
def n_points(q):
    positive(q["n_points"])
    return {"m_units": straight_line(q["n_points"], (8, 1), (48, 6))}


@reference(
    "point_size_to_m",
    "exact fractions of an inch, and root finding for the M",
    lambda rng: {"point_size_pt": round(rng.uniform(4, 72), 2), "x_height_ratio": round(rng.uniform(0.4, 0.55), 3)},
    {"point_size_pt": [0, -12], "x_height_ratio": [0, -0.5, 5]},
)
def points(q):
    positive(q["point_size_pt"], q["x_height_ratio"])
    between(q["x_height_ratio"], 0, 1)
    height = float(exact(q["point_size_pt"]) * exact(q["x_height_ratio"]) * Fraction(254, 10) / 72)
    return {"x_height_mm": height, "m_units": height / M_UNIT_MM}


CATEGORIES = ["NLP", "LP", "HM", "CF", "nlp", "CF at 30 cm"]


def draw_written(rng):
    if rng.random() < 0.3:
        return {"notation": rng.choice(CATEGORIES)}
    return {"notation": f"20/{rng.choice([20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 400])}"}


@reference("qualitative_to_measured_acuity", "search in a table of categories; exact fractions", draw_written)
def written(q):
    if q["notation"] in CATEGORIES:
        raise Refused("a category is no measurement")
    above, below = q["notation"].split("/")
    return {"logmar": float(log10(Fraction(below) / Fraction(above)))}


def draw_angle(rng):
    distance = rng.uniform(0.2, 10)
    return {"distance_m": distance, "size_m": distance * 10 ** rng.uniform(-2.5, 0.4)}


TURN = 180 / math.pi


@reference(
    "visual_angle",
    "two lines of sight in space; the small angle as the length of an arc",
    draw_angle,
    {"distance_m": [0, -1], "size_m": [0, -1]},
)
def visual_angle(q):
    positive(q["distance_m"], q["size_m"])
    degrees = seen(q["size_m"], q["distance_m"]) * TURN
    between(degrees, 0, 120)
    arc = 360.0 * q["size_m"] / (2 * math.pi * q["distance_m"])
    return {
        "angle_deg": degrees,
        "angle_arcmin": degrees * 60,
        "small_angle_deg": arc,
        "small_angle_error_pct": 100.0 * (arc - degrees) / degrees,
    }


@reference(
    "letter_height",
    SIGHT,
    lambda rng: {"mar_arcmin": 10 ** rng.uniform(-0.3, 2), "distance_m": rng.uniform(0.2, 10)},
    {"distance_m": [0, -6], "mar_arcmin": [0, -1]},
)
def letter_height(q):
    positive(q["distance_m"], q["mar_arcmin"])
    height = 1000.0 * size_that_looks(5 * q["mar_arcmin"] * ARCMIN, q["distance_m"])
    return {"letter_height_mm": height, "critical_detail_mm": height / 5}


@reference("degrees_per_mm", SIGHT, lambda rng: {"distance_m": rng.uniform(0.05, 10)}, {"distance_m": [0, -1]})
def per_millimetre(q):
    positive(q["distance_m"])
    return {
        "deg_per_mm": seen(0.001, q["distance_m"]) * TURN,
        "mm_per_deg_centred": 1000.0 * size_that_looks(1 / TURN, q["distance_m"]),
    }


@reference(
    "x_height_demand",
    "two lines of sight in space",
    lambda rng: {
        "cap_height_m": rng.uniform(0.01, 0.1),
        "distance_m": rng.uniform(1, 8),
        "x_to_cap_ratio": rng.uniform(0.5, 0.9),
    },
    {"distance_m": [0, -1], "cap_height_m": [0, -0.1], "x_to_cap_ratio": [0, -0.7, 3]},
)
def x_height(q):
    positive(q["cap_height_m"], q["distance_m"], q["x_to_cap_ratio"])
    between(q["x_to_cap_ratio"], 0, 1)
    tall = seen(q["cap_height_m"], q["distance_m"]) / ARCMIN / 5
    small = seen(q["cap_height_m"] * q["x_to_cap_ratio"], q["distance_m"]) / ARCMIN / 5
    return {"logmar_caps": math.log10(tall), "logmar_lowercase": math.log10(small)}
