"""References for exercises: intervals by root finding, medians by counting, motion by vectors."""

import math

from scipy.stats import norm

from acuity import exact, log10
from check import Refused, Tolerance, between, positive, reference
from trace import angle, root

Z95 = float(norm.ppf(0.975))


def draw_trials(rng):
    trials = rng.choice([rng.randint(1, 12), rng.randint(1, 200)])
    return {"successes": rng.randint(0, trials), "trials": trials}


@reference(
    "success_rate_interval95",
    "root finding for the rates that a score test at the library's quantile just keeps",
    draw_trials,
    {"trials": [0], "successes": [1000]},
    Tolerance(rel=1e-9, abs=1e-10, why="at 0 and 1 the test touches the axis"),
)
def success(q):
    k, n = q["successes"], q["trials"]
    if n < 1 or k > n:
        raise Refused("no trials")
    rate = k / n

    def score(p):
        return (rate - p) ** 2 * n - Z95**2 * p * (1 - p)

    return {
        "rate": rate,
        # The test keeps what lies between its two roots around the rate.
        "wilson_low": root(score, 1e-9, min(rate, 1 - 1e-9)) if k else 0.0,
        "wilson_high": root(score, max(rate, 1e-9), 1 - 1e-9) if k < n else 1.0,
    }


def draw_times(rng):
    cut = rng.choice([30.0, 60.0])
    trials = rng.randint(1, 15)
    return {"times_s": [min(round(rng.uniform(2, cut * 1.4), 2), cut) for _ in range(trials)], "cutoff_s": cut}


@reference(
    "median_time",
    "counting how many lie below and above each time, cut-off trials above all",
    draw_times,
    {"cutoff_s": [0, -30], "times_s": [[], [-1.0], [1e5]]},
)
def median(q):
    cut = q["cutoff_s"]
    positive(cut)
    if not q["times_s"]:
        raise Refused("no trials")
    for time in q["times_s"]:
        between(time, 0, cut)
    endless = [math.inf if time == cut else time for time in q["times_s"]]
    half = len(endless) / 2
    # The middle: at most half lie below, at most half above.
    middle = [t for t in endless if sum(o < t for o in endless) <= half and sum(o > t for o in endless) <= half]
    value = (min(middle) + max(middle)) / 2
    found = {"censored": sum(math.isinf(time) for time in endless)}
    return found if math.isinf(value) else {**found, "median_s": value}


RATIONAL = "exact fractions"


@reference(
    "scan_score",
    RATIONAL,
    lambda rng: {
        "targets": rng.randint(5, 40),
        "omitted": rng.randint(0, 5),
        "counted_twice": rng.randint(0, 4),
        "time_s": rng.uniform(10, 200),
    },
    {"targets": [0], "omitted": [1000], "time_s": [0, -5]},
)
def scan(q):
    positive(q["targets"], q["time_s"])
    if q["omitted"] > q["targets"]:
        raise Refused("more omitted than there were")
    found = q["targets"] - q["omitted"]
    return {
        "omission_rate": float(1 - exact(found) / q["targets"]),
        "repetition_rate": float(exact(q["counted_twice"]) / q["targets"]),
        "targets_per_min": float(found / (exact(q["time_s"]) / 60)),
    }


def draw_track(rng):
    duration = rng.uniform(20, 180)
    return {"duration_s": duration, "losses": rng.randint(0, 20), "time_lost_s": rng.uniform(0, duration)}


@reference(
    "tracking_score", RATIONAL, draw_track, {"duration_s": [0, -5], "time_lost_s": [-1, 1e5]}
)
def tracking(q):
    positive(q["duration_s"])
    between(q["time_lost_s"], 0, q["duration_s"])
    held = exact(q["duration_s"]) - exact(q["time_lost_s"])
    return {
        "losses_per_min": float(q["losses"] / (exact(q["duration_s"]) / 60)),
        "time_on_target_fraction": float(held / exact(q["duration_s"])),
    }


@reference(
    "log_time_gain",
    "exact fractions, and logarithms of 40 digits",
    lambda rng: {"baseline_median_s": rng.uniform(2, 60), "current_median_s": rng.uniform(2, 60)},
    {"baseline_median_s": [0, -5], "current_median_s": [0, -5]},
)
def gain(q):
    positive(*q.values())
    before, now = exact(q["baseline_median_s"]), exact(q["current_median_s"])
    return {"log10_ratio": float(log10(before / now)), "percent_faster": float(100 * (before - now) / before)}


POWER = {"power": [0, -4]}


@reference(
    "apparent_image_speed",
    RATIONAL,
    lambda rng: {"power": rng.uniform(1, 12), "hand_tremor_deg_per_s": rng.uniform(0.1, 5)},
    {**POWER, "hand_tremor_deg_per_s": [-1]},
)
def shake(q):
    positive(q["power"])
    if q["hand_tremor_deg_per_s"] < 0:
        raise Refused("slower than still")
    return {"image_speed_deg_per_s": float(exact(q["power"]) * exact(q["hand_tremor_deg_per_s"]))}


@reference(
    "apparent_target_speed",
    "two lines of sight to the target, a moment apart, by vectors",
    lambda rng: {
        "power": rng.uniform(1, 12),
        "target_speed_m_s": rng.uniform(0.2, 15),
        "distance_m": rng.uniform(2, 60),
    },
    {**POWER, "target_speed_m_s": [-1], "distance_m": [0, -5]},
    Tolerance(rel=1e-7, why="the moment is short, not none"),
)
def crossing(q):
    positive(*q.values())
    away, moment = q["distance_m"], 1e-4 * q["distance_m"] / q["target_speed_m_s"]
    moved = q["target_speed_m_s"] * moment / 2
    speed = math.degrees(angle((-moved, 0, away), (moved, 0, away))) / moment
    return {"unaided_deg_per_s": speed, "through_device_deg_per_s": q["power"] * speed}
