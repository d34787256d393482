"""References for reading, its curves and their fits, and copying."""

import math

import numpy as np
from scipy.optimize import curve_fit

from acuity import exact
from check import Refused, Tolerance, between, positive, reference
from trace import root

RATIONAL = "exact fractions"


@reference(
    "passage_reading_speed",
    RATIONAL,
    lambda rng: {
        "reading_time_s": rng.uniform(3, 120),
        "word_errors": rng.randint(0, 12),
        "standard_words": rng.choice([10, rng.randint(5, 100)]),
    },
    {"reading_time_s": [0, -4], "standard_words": [0, -10]},
)
def passage(q):
    if q["reading_time_s"] < 1 or q["standard_words"] < 1:
        raise Refused("nothing was read")
    right = max(exact(q["standard_words"]) - q["word_errors"], 0)
    speed = float(60 * right / exact(q["reading_time_s"]))
    between(speed, 0, 400)
    return {"wpm": speed}


@reference(
    "standard_length_words_per_minute",
    RATIONAL,
    lambda rng: {"characters_including_spaces": rng.randint(50, 2000), "time_s": rng.uniform(60, 400)},
    {"time_s": [0, -4], "characters_including_spaces": [0]},
)
def standard(q):
    if q["time_s"] < 1 or q["characters_including_spaces"] < 1:
        raise Refused("nothing was read")
    words = exact(q["characters_including_spaces"]) / 6
    speed = float(words / (exact(q["time_s"]) / 60))
    between(speed, 0, 400)
    return {"wpm": speed}


def rising(rate, along, limit):
    """What rises from nothing to its limit at a rate of what is left.

    The equation y' = rate (limit - y) in very many small steps, each by
    Taylor's series; two equal steps are one of twice the length.
    """
    halvings = 20
    short = rate * along / 2**halvings
    # One step keeps this part of y and adds this part of the limit.
    term, lost = 1.0, 0.0
    for order in range(1, 8):
        term *= -short / order
        lost -= term
    for _ in range(halvings):
        lost = lost * (2 - lost)
    return limit * lost


DIFFERENTIAL = "the differential equation of the curve, solved in a million steps of a series"


def draw_mar(rng):
    threshold = rng.uniform(0.8, 10)
    return {
        "print_size_mar_arcmin": threshold * rng.uniform(0.8, 6),
        "threshold_mar_arcmin": threshold,
        "critical_mar_arcmin": threshold * rng.uniform(1.2, 5),
        "max_wpm": rng.uniform(20, 300),
    }


@reference(
    "reading_speed_exponential_mar",
    DIFFERENTIAL,
    draw_mar,
    {"print_size_mar_arcmin": [0, -1], "critical_mar_arcmin": [0, -3], "max_wpm": [0, -100]},
)
def in_mar(q):
    start, critical = q["threshold_mar_arcmin"], q["critical_mar_arcmin"]
    positive(q["print_size_mar_arcmin"], start, q["max_wpm"])
    positive(critical - start)
    # The published form rounds the logarithm of ten.
    along = max(q["print_size_mar_arcmin"] - start, 0.0)
    return {"wpm": rising(2.3 / (critical - start), along, q["max_wpm"])}


def draw_log(rng):
    start = rng.uniform(-0.3, 1)
    return {
        "max_wpm": rng.uniform(20, 300),
        "ln_rate_constant": rng.uniform(0.5, 2.5),
        "x_intercept_logmar": start,
        "cps_criterion_fraction": rng.choice([0.8, 0.9, rng.uniform(0.6, 0.95)]),
        "print_size_logmar": start + rng.uniform(0.05, 1.2),
    }


@reference(
    "reading_curve_log_exponential",
    DIFFERENTIAL + "; the critical print by root finding",
    draw_log,
    {"max_wpm": [0, -100], "cps_criterion_fraction": [0, 1, -0.5]},
    Tolerance(rel=1e-8, abs=1e-9, why="the steps of the equation add up their rounding"),
)
def in_logmar(q):
    positive(q["max_wpm"])
    between(q["cps_criterion_fraction"], 0.5, 0.99)
    limit, start = math.log10(q["max_wpm"]), q["x_intercept_logmar"]
    rate = math.exp(q["ln_rate_constant"])
    wanted = math.log10(q["cps_criterion_fraction"] * q["max_wpm"])
    critical = root(lambda x: limit - limit * math.exp(-rate * x) - wanted, 0.0, 30.0)
    return {
        "wpm": 10 ** rising(rate, q["print_size_logmar"] - start, limit),
        "cps_logmar": start + critical,
    }


@reference(
    "reading_curve_bilinear",
    "interpolation between the corners of the curve",
    lambda rng: {
        "print_size_logmar": rng.uniform(0, 1.4),
        "cps_logmar": rng.uniform(0.2, 1.2),
        "max_wpm": rng.uniform(20, 300),
        "slope_wpm_per_log": rng.uniform(20, 400),
    },
    {"max_wpm": [0, -100], "slope_wpm_per_log": [-5]},
    Tolerance(abs=1e-10, why="near the foot of the slope the speed is a difference"),
)
def two_limbs(q):
    positive(q["max_wpm"])
    if q["slope_wpm_per_log"] < 0:
        raise Refused("falling")
    foot = q["cps_logmar"] - q["max_wpm"] / q["slope_wpm_per_log"]
    corners = [foot, q["cps_logmar"]]
    return {"wpm": float(np.interp(q["print_size_logmar"], corners, [0.0, q["max_wpm"]]))}


def draw_copy(rng):
    drawn = {
        "characters_copied": rng.randint(40, 400),
        "time_s": rng.uniform(120, 900),
        "character_errors": rng.randint(0, 20),
    }
    return {**drawn, "desk_copy_cpm": rng.uniform(10, 120)} if rng.random() < 0.8 else drawn


@reference(
    "copy_rate",
    RATIONAL,
    draw_copy,
    {"characters_copied": [0], "time_s": [0, -5], "character_errors": [1000], "desk_copy_cpm": [0, -4]},
)
def copying(q):
    copied, errors = q["characters_copied"], q["character_errors"]
    positive(copied)
    if errors > copied or q["time_s"] < 1:
        raise Refused("more errors than characters")
    minutes = exact(q["time_s"]) / 60
    found = {
        "board_cpm": float(copied / minutes),
        "correct_cpm": float((copied - errors) / minutes),
        "error_rate": float(exact(errors) / copied),
    }
    if "desk_copy_cpm" in q:
        positive(q["desk_copy_cpm"])
        found["board_to_desk_ratio"] = float(copied / minutes / exact(q["desk_copy_cpm"]))
    return found


def draw_passages(rng, speed, start):
    sizes = [round(start + 0.1 * step, 1) for step in range(rng.randint(8, 12))]
    noise = rng.choice([0.01, 0.03])
    return {"x": sizes, "log10_wpm": [round(speed(x) + rng.gauss(0, noise), 6) for x in sizes]}


def draw_curve(rng):
    start, a, rate = rng.choice([0.1, 0.2, 0.3]), rng.uniform(1.7, 2.3), rng.uniform(3, 8)
    c = start - rng.uniform(0.03, 0.12)
    return draw_passages(rng, lambda x: a * (1 - math.exp(-rate * (x - c))), start)


def draw_limbs(rng):
    plateau, slope, edge = rng.uniform(1.7, 2.3), rng.uniform(1.5, 4), rng.uniform(0.5, 0.75)
    return draw_passages(rng, lambda x: plateau - slope * max(edge - x, 0), rng.choice([0.1, 0.2, 0.3]))


def points(q):
    x, y = np.array(q["x"], float), np.array(q["log10_wpm"], float)
    if len(x) != len(y) or len(set(q["x"])) < 4:
        raise Refused("too few sizes")
    return x, y


def curve(x, a, b, c):
    return a * (1 - np.exp(-np.exp(b) * (x - c)))


def critical_print(a, b, c, part):
    return c - math.log(-math.log10(part) / a) / math.exp(b)


PASSAGES = {"log10_wpm": [[2.0], [5.0] * 12], "x": [[0.1], [0.1, 0.2, 0.3]]}


@reference(
    "reading_curve_fit_exponential",
    "Levenberg-Marquardt by a general library, standard errors from its covariance",
    draw_curve,
    PASSAGES,
    Tolerance(rel=2e-5, abs=1e-7, why="the library takes slopes from small steps"),
)
def fit_exponential(q):
    x, y = points(q)
    if np.any(y > math.log10(400)):
        raise Refused("faster than anybody reads aloud")

    def slopes(x, a, b, c):
        left = np.exp(-np.exp(b) * (x - c))
        return np.stack([1 - left, a * left * np.exp(b) * (x - c), -a * left * np.exp(b)], axis=1)

    start = [max(y), 1.5, min(x) - 0.05]
    best, spread = curve_fit(curve, x, y, p0=start, jac=slopes, ftol=1e-14, xtol=1e-14, gtol=1e-14, maxfev=4000)
    a, b, c = best
    # The bounds of the published fit; at one of them nothing is determined.
    inside = 0.5 <= a <= 3 and 0.5 < math.exp(b) < 30 and -1 <= c <= max(x)
    if not inside or not np.all(np.isfinite(spread)):
        raise Refused("not determined")
    found = {"resid_sd": math.sqrt(float(np.sum((curve(x, *best) - y) ** 2)) / (len(x) - 3))}
    for key, value, error in zip("abc", best, np.sqrt(np.diag(spread))):
        found[key], found[f"se_{key}"] = float(value), float(error)
    for part in (0.9, 0.8):
        # How the critical print follows the parameters, from small steps both ways.
        steps = []
        for place in range(3):
            step = np.zeros(3)
            step[place] = 1e-5
            one, other = critical_print(*(best + step), part), critical_print(*(best - step), part)
            steps.append((one - other) / 2e-5)
        key = f"cps{round(100 * part)}"
        found[f"{key}_speed"] = critical_print(*best, part)
        found[f"se_{key}"] = float(math.sqrt(np.array(steps) @ spread @ np.array(steps)))
    return found


@reference(
    "reading_curve_fit_two_limb",
    "a dense grid of break points, each solved by the normal equations at once",
    draw_limbs,
    PASSAGES,
    Tolerance(rel=1e-6, abs=1e-9, why="the sums of squares are small differences"),
)
def fit_two_limb(q):
    x, y = points(q)
    if np.any(y > math.log10(400)):
        raise Refused("faster than anybody reads aloud")
    edges = np.min(x) + 0.0005 * np.arange(1, math.floor((np.max(x) - np.min(x)) / 0.0005 + 1e-12) + 1)
    short = np.maximum(edges[:, None] - x[None, :], 0.0)
    centred, deviates = short - short.mean(axis=1, keepdims=True), y - y.mean()
    slopes = -(centred @ deviates) / np.sum(centred**2, axis=1)
    plateaus = y.mean() + slopes * short.mean(axis=1)
    misfits = np.sum((plateaus[:, None] - slopes[:, None] * short - y) ** 2, axis=1)
    misfits[slopes < 0] = np.inf
    best = int(np.argmin(misfits))
    slope, edge, below = float(slopes[best]), float(edges[best]), short[best]
    jacobian = np.stack([np.ones_like(x), -below, np.where(below > 0, -slope, 0.0)], axis=1)
    spread = float(misfits[best]) / (len(x) - 3) * np.linalg.pinv(jacobian.T @ jacobian)
    errors = np.sqrt(np.diag(spread))
    return {
        "sse": float(misfits[best]),
        "cps": edge,
        "plateau": float(plateaus[best]),
        "slope": slope,
        "se_plateau": float(errors[0]),
        "se_slope": float(errors[1]),
        "se_cps": float(errors[2]),
    }
