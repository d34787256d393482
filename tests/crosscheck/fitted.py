"""Whole programs beside the everyday acuity, on the same invented counts: psignifit
for the threshold of a psychometric function, statsmodels for a probit regression.

They know no days, no settings and no slips of units, so the counts here have
none: each size is a day of its own. What is left apart is said with each
tolerance.
"""

import json
import random
import subprocess
import time
import warnings

import numpy as np
from scipy import special

# Measured in the notes on statistics over 60 data sets each: the two posteriors
# lie apart by an SD of 0.009 with 6 tallies and 0.003 with 18. Four of those.
SIX, EIGHTEEN = 0.036, 0.012
# A probit regression knows neither lapses nor slips, and its threshold is a
# maximum, not a mean: of 18 tallies of 30 that is under half an interval's tenth.
PROBIT = 0.02


def invented(seed, times, items, guess):
    """Counts of a student whose course is a probit of spread 0.10."""
    rng = random.Random(f"fitted {seed}")
    threshold = rng.uniform(0.5, 1.1)
    rows = []
    for at in np.linspace(-0.2, 0.25, 6):
        for _ in range(times):
            x = round(threshold + float(at), 2)
            right = guess + (1 - guess) * float(special.ndtr((x - threshold) / 0.1))
            rows.append((x, sum(rng.random() < right for _ in range(items)), items))
    return rows, round(threshold + rng.uniform(-0.05, 0.05), 3)


def ours(program, rows, guess, middle):
    """The mean and the 90 % interval of the threshold that the program gives."""
    seen = [
        {"x": x, "kind": "tally", "k": k, "n": n, "g": guess, "sid": number} for number, (x, k, n) in enumerate(rows)
    ]
    ask = {"x": middle, "guess": guess, "crit": 0.8, "next": {"n": 10, "k_min": 8}}
    line = {"id": 1, "op": "everyday_acuity", "inputs": {"observations": seen, "prior": {"mean": middle, "sd": 0.5}, "query": ask}}
    said = subprocess.run([program, "compute"], input=json.dumps(line), capture_output=True, text=True, check=True)
    found = json.loads(said.stdout)["result"]
    return found["theta_mean"], found["q05"], found["q95"]


def by_psignifit(rows, guess):
    import psignifit

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = psignifit.psignifit(
            np.array(rows, float), experiment_type="yes/no", sigmoid="norm", fixed_parameters={"gamma": guess}
        )
    low, high = found.confidence_intervals["threshold"]["0.9"]
    return found.parameter_estimate_mean["threshold"], low, high


def by_probit(rows):
    import statsmodels.api as sm

    x, k, n = np.array(rows, float).T
    fit = sm.GLM(
        np.column_stack([k, n - k]), sm.add_constant(x), family=sm.families.Binomial(link=sm.families.links.Probit())
    ).fit()
    return -fit.params[0] / fit.params[1]


def compared(program, complain):
    """Holds the program's thresholds against those of both others."""
    taken = 0.0
    for seed, times, allowed in ((1, 1, SIX), (2, 1, SIX), (3, 3, EIGHTEEN), (4, 3, EIGHTEEN)):
        rows, middle = invented(seed, times, 10, 0.04)
        mean, low, high = ours(program, rows, 0.04, middle)
        began = time.monotonic()
        theirs, from_, to = by_psignifit(rows, 0.04)
        taken += time.monotonic() - began
        apart = abs(mean - theirs)
        print(f"psignifit, {len(rows):2} tallies: {theirs:.3f} ({from_:.3f} to {to:.3f}), ours {mean:.3f} ({low:.3f} to {high:.3f}), apart {apart:.4f}, allowed {allowed}")
        if not apart <= allowed:
            complain(f"everyday_acuity: {mean} and by psignifit {theirs}, apart {apart:.4f}, allowed {allowed}")
        # Ours holds for days and slips too, so it may be wider, and never much narrower.
        if not high - low >= 0.8 * (to - from_):
            complain(f"everyday_acuity: {high - low:.3f} wide and by psignifit {to - from_:.3f}")
    for seed in (5, 6):
        rows, middle = invented(seed, 3, 30, 0.0)
        mean, theirs = ours(program, rows, 0.0, middle)[0], by_probit(rows)
        print(f"statsmodels, probit of {len(rows)} tallies: {theirs:.3f}, ours {mean:.3f}, apart {abs(mean - theirs):.4f}, allowed {PROBIT}")
        if not abs(mean - theirs) <= PROBIT:
            complain(f"everyday_acuity: {mean} and by a probit regression {theirs}, allowed {PROBIT}")
    # A comparison that would take anything is none.
    rows, middle = invented(3, 3, 10, 0.04)
    moved = [(x + 0.05, k, n) for x, k, n in rows]
    if abs(ours(program, moved, 0.04, middle)[0] - by_psignifit(rows, 0.04)[0]) <= EIGHTEEN:
        complain("sizes moved by half a line were not noticed beside psignifit")
    return taken
