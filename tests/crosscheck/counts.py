"""References for the statistics of counts, trends and searches: SciPy where it
has the same question, otherwise sums over every outcome and root finding."""

import itertools
import math

import numpy as np
from scipy import integrate, stats
from scipy.optimize import brentq

from check import Refused, Tolerance, between, reference

Z90 = float(stats.norm.ppf(0.95))
LOOSE = Tolerance(rel=1e-7, abs=1e-9, why="quantiles found by halving, SciPy's by its own way")


def z(level):
    return float(stats.norm.ppf((1 + level) / 2))


@reference(
    "field_demand",
    "the direction of one stroke as a complex number",
    lambda rng: {"letter_height_m": rng.uniform(0.001, 2), "distance_m": rng.uniform(0.1, 60)},
    {"letter_height_m": [0, 3.0], "distance_m": [0, 100]},
)
def field_demand(q):
    h, d = q["letter_height_m"], q["distance_m"]
    between(h, 0.001, 2)
    between(d, 0.1, 60)
    return {"logMAR": float(np.log10(60 * np.angle(complex(d, h / 5), deg=True)))}


def draw_tally(rng):
    n = rng.randint(1, 60)
    return {"k": rng.randint(0, n), "n": n, "p": rng.uniform(0.02, 0.98), "rho": rng.uniform(0.005, 0.5)}


@reference("tally_likelihood", "SciPy's beta-binomial distribution", draw_tally, {"n": [0, 500], "k": [400]}, LOOSE)
def tally(q):
    k, n, nu = q["k"], q["n"], 1 / q["rho"] - 1
    between(n, 1, 200)
    between(k, 0, n)
    pmf = float(stats.betabinom.pmf(k, n, q["p"] * nu, (1 - q["p"]) * nu))
    return {"pmf": pmf, "robust_loglik": math.log(0.98 * pmf + 0.02 / (n + 1))}


@reference(
    "effective_sessions",
    "the variance of a weighted mean of independent sessions",
    lambda rng: {"items_per_session": [rng.randint(1, 40) for _ in range(rng.randint(1, 9))]},
    {"items_per_session": [[], [0, 4]]},
)
def sessions(q):
    items = np.array(q["items_per_session"], float)
    if not len(items) or (items <= 0).any():
        raise Refused("no items")
    weights = items / items.sum()
    return {"S_eff": float(1 / (weights @ weights))}


@reference(
    "effective_magnification",
    "ratios of the two smallest details",
    lambda rng: {"theta_unaided": rng.uniform(0.5, 1.4), "theta_aided": rng.uniform(-0.1, 0.9), "nominal": rng.uniform(1.5, 12)},
    {"nominal": [0, 0.5]},
)
def effective(q):
    between(q["nominal"], 1, 100)
    m = 10 ** q["theta_unaided"] / 10 ** q["theta_aided"]
    return {"M_eff": m, "ratio": m / q["nominal"], "log_efficiency": math.log(m) / math.log(q["nominal"])}


@reference(
    "wilson_interval90",
    "root finding for the rates that a score test just keeps",
    lambda rng: (lambda n: {"k": rng.randint(0, n), "n": n})(rng.randint(1, 80)),
    {"n": [0], "k": [1000]},
    Tolerance(rel=1e-8, abs=1e-9, why="at 0 and 1 the test touches the axis"),
)
def wilson(q):
    k, n = q["k"], q["n"]
    if n < 1 or k > n:
        raise Refused("no trials")
    rate = k / n

    def score(p):
        return (rate - p) ** 2 * n - Z90**2 * p * (1 - p)

    low = brentq(score, 1e-9, min(rate, 1 - 1e-9), xtol=1e-15) if k else 0.0
    high = brentq(score, max(rate, 1e-9), 1 - 1e-9, xtol=1e-15) if k < n else 1.0
    return {"rate": rate, "lo": low, "hi": high}


@reference(
    "rate_interval90",
    "chi-squared quantiles of SciPy",
    lambda rng: {"correct": rng.randint(0, 60), "minutes": rng.uniform(0.2, 30)},
    {"minutes": [0, -1]},
    LOOSE,
)
def rate(q):
    k, t = q["correct"], q["minutes"]
    between(60 * t, 0.1, 86_400)
    low = stats.chi2.ppf(0.05, 2 * k) / 2 / t if k else 0.0
    return {"per_min": k / t, "lo": float(low), "hi": float(stats.chi2.ppf(0.95, 2 * k + 2) / 2 / t)}


def draw_series(rng):
    n = rng.randint(5, 20)
    days = sorted(rng.sample(range(60), n))
    return {"x": days, "y": [rng.choice([rng.randint(0, 9), rng.uniform(0, 9)]) for _ in days]}


@reference(
    "theil_sen",
    "SciPy's theilslopes, intercept by both medians",
    lambda rng: {**draw_series(rng), "level": rng.choice([0.9, 0.95])},
    {"level": [0.5], "x": [[1.0]]},
)
def theil_sen(q):
    if q["level"] not in (0.9, 0.95) or len(q["x"]) != len(q["y"]):
        raise Refused("level or lengths")
    found = stats.theilslopes(q["y"], q["x"], alpha=q["level"], method="separate")
    slope, low, high = float(found[0]), float(found[2]), float(found[3])
    series = sorted(zip(q["x"], q["y"]), key=lambda point: point[0])
    # Where a straight line leaves nothing, neighbours have nothing in common.
    x, y = zip(*series)
    left = np.array(y) - np.polyval(np.polyfit(x, y, 1), x)
    r = lag_one(x, y) if float(left @ left) > 1e-20 else 0.0
    wide = widening(r, len(x))
    return {
        "slope": slope, "intercept": float(found[1]), "lo": low, "hi": high,
        "lo_widened": slope - (slope - low) * wide, "hi_widened": slope + (high - slope) * wide,
    }


@reference("kendall_tau_b", "SciPy's kendalltau; the score by signs of all pairs", draw_series, {"x": [[1.0]]}, LOOSE)
def kendall(q):
    if len(q["x"]) != len(q["y"]) or len(set(q["y"])) < 2:
        raise Refused("alike or of different lengths")
    found = stats.kendalltau(q["x"], q["y"])
    score = sum(
        int(np.sign(b[0] - a[0]) * np.sign(b[1] - a[1])) for a, b in itertools.combinations(list(zip(q["x"], q["y"])), 2)
    )
    return {"S": score, "tau_b": float(found.statistic), "p_two_sided": float(found.pvalue)}


def lag_one(x, y):
    residuals = np.array(y) - np.polyval(np.polyfit(x, y, 1), x)
    return float(residuals[:-1] @ residuals[1:] / (residuals @ residuals))


def widening(r, n):
    shifted = r + 1 / n
    r = 0.2 if n < 12 else (min(shifted, 0.5) if shifted > 0.2 else 0.0)
    return math.sqrt((1 + r) / (1 - r))


def draw_rates(rng):
    days = sorted(rng.sample(range(80), rng.randint(4, 16)))
    return {"days": days, "rate": [rng.uniform(0.5, 12) for _ in days]}


@reference("weekly_growth", "SciPy's linregress and theilslopes on logarithms", draw_rates, {"rate": [[0, 1, 2, 3]]}, LOOSE)
def growth(q):
    if len(q["days"]) != len(q["rate"]) or min(q["rate"]) <= 0:
        raise Refused("rates")
    weeks, logs = np.array(q["days"]) / 7, np.log10(q["rate"])
    fit, n = stats.linregress(weeks, logs), len(weeks)
    half = stats.t.ppf(0.95, n - 2) * fit.stderr
    wide = half * widening(lag_one(weeks, logs), n)
    return {
        "x_per_week": 10**fit.slope,
        "lo90": 10 ** (fit.slope - half),
        "hi90": 10 ** (fit.slope + half),
        "x_per_week_theil_sen": 10 ** float(stats.theilslopes(logs, weeks)[0]),
        "lo90_widened": 10 ** (fit.slope - wide),
        "hi90_widened": 10 ** (fit.slope + wide),
    }


@reference(
    "residual_autocorrelation",
    "NumPy's polynomial fit and a product of residuals",
    lambda rng: {
        "y": [rng.uniform(0, 9) for _ in range(rng.randint(4, 24))], **rng.choice([{}, {"detrend": "OLS on index"}])
    },
    {"y": [[1.0, 2.0]]},
    Tolerance(rel=1e-7, abs=1e-9, why="two ways to fit a line"),
)
def neighbours(q):
    n = len(q["y"])
    if n < 4:
        raise Refused("too few")
    r = lag_one(range(n), q["y"])
    return {"r1": r, "r1_plus_1_over_n": r + 1 / n, "widening": widening(r, n)}


def draw_phases(rng):
    phase = lambda low: [rng.randint(low, low + 8) for _ in range(rng.randint(3, 9))]  # noqa: E731
    return {"A": phase(0), "B": phase(rng.randint(0, 6))}


def share(q):
    return float(stats.mannwhitneyu(q["B"], q["A"]).statistic) / (len(q["A"]) * len(q["B"]))


@reference("nap", "SciPy's Mann-Whitney statistic over the number of pairs", draw_phases, {"A": [[]]})
def nap(q):
    if not q["A"]:
        raise Refused("no sessions")
    return {"NAP": share(q)}


@reference(
    "nap_interval",
    "variance by sums over pairs of pairs that share a session; Brent's root finding",
    lambda rng: {**draw_phases(rng), "level": rng.choice([0.9, 0.95])},
    {"level": [0.5]},
    Tolerance(rel=1e-7, abs=1e-7, why="a variance that is nearly nothing has a root of rounding"),
    each=500,
)
def nap_interval(q):
    if q["level"] not in (0.9, 0.95):
        raise Refused("level")
    m, n, found = len(q["A"]), len(q["B"]), share(q)
    scores = np.array([[(b > a) + 0.5 * (b == a) for b in q["B"]] for a in q["A"]], float)
    q1, q2, q3 = (scores.sum(1) ** 2).sum() / (m * n * n), (scores.sum(0) ** 2).sum() / (m * m * n), (scores**2).mean()
    variance = (found - (m + n - 1) * found**2 + n * q1 + m * q2 - 2 * q3) / ((m - 1) * (n - 1))

    def excess(t):
        h = (m + n) / 2 - 1
        spread = t * (1 - t) * (1 + h * ((1 - t) / (2 - t) + t / (1 + t))) / (m * n)
        return (found - t) ** 2 - z(q["level"]) ** 2 * spread

    # The ends themselves are roots at complete separation; a root of the inside is told.
    low = brentq(excess, 1e-12, min(found, 1 - 1e-9), xtol=1e-15) if found > 0 else 0.0
    high = brentq(excess, max(found, 1e-9), 1 - 1e-12, xtol=1e-15) if found < 1 else 1.0
    apart = 0 < found < 1
    answer = {
        "NAP": found, "lo": low if apart else found, "hi": high if apart else found, "lo_told": low, "hi_told": high
    }
    return {**answer, "SE": math.sqrt(max(variance, 0))} if variance > -1e-12 else answer


def draw_rule(rng):
    return {
        "true_rate": rng.uniform(0.3, 0.95), "items": rng.randint(1, 12), "criterion": rng.choice([0.6, 0.7, 0.8, 0.9]),
        "consecutive": rng.randint(1, 4), "sessions": rng.randint(1, 10), "rho": rng.choice([None, rng.uniform(0.01, 0.2)]),
        **(draw_held(rng) if rng.random() < 0.6 else {}),
    }


def draw_held(rng):
    tried = [rng.randint(1, 20) for _ in range(rng.randint(1, 9))]
    return {"right": [rng.randint(0, items) for items in tried], "tried": tried}


def sure(right, tried, criterion):
    """The share of the posterior above the criterion, by adding up its area."""
    # Items of a session are alike: ten of them are worth 10 / 1.45.
    scale = sum(items / (1 + 0.05 * (items - 1)) for items in tried) / sum(tried)
    good, bad = sum(right) * scale, (sum(tried) - sum(right)) * scale
    density = lambda rate: rate**good * (1 - rate) ** bad  # noqa: E731
    ends = sorted({0.0, good / (good + bad), criterion, 1.0})
    areas = [(low, integrate.quad(density, low, high, epsabs=0, epsrel=1e-11, limit=400)[0]) for low, high in itertools.pairwise(ends)]
    return sum(area for low, area in areas if low >= criterion) / sum(area for _, area in areas)


@reference(
    "mastery_rule", "every course of sessions passed and failed, one by one; the posterior's area by quadrature", draw_rule,
    {"items": [0]}, LOOSE,
)
def mastery(q):
    n, rate = q["items"], q["true_rate"]
    between(n, 1, 200)
    needed = math.ceil(round(q["criterion"] * n, 9))
    if q["rho"] is None:
        one = float(stats.binom.sf(needed - 1, n, rate))
    else:
        nu = 1 / q["rho"] - 1
        one = float(sum(stats.betabinom.pmf(k, n, rate * nu, (1 - rate) * nu) for k in range(needed, n + 1)))
    met = any_order = 0.0
    for course in itertools.product("01", repeat=q["sessions"]):
        passed = course.count("1")
        share = one**passed * (1 - one) ** (len(course) - passed)
        met += share if "1" * q["consecutive"] in "".join(course) else 0.0
        any_order += share if passed >= q["consecutive"] else 0.0
    found = {"p_one_session": one, "p_mastered_by_N": met, "p_met_in_any_order": any_order}
    if "tried" not in q:
        return found
    last = -q["consecutive"]
    return {**found, "p_criterion_reached": sure(q["right"][last:], q["tried"][last:], q["criterion"])}


def draw_searches(rng):
    cap, n = 30.0, rng.randint(3, 12)
    found = [int(rng.random() < 0.7) for _ in range(n)]
    return {"seconds": [float(rng.randint(1, 29)) if f else cap for f in found], "found": found, "cap": cap}


@reference("time_to_spot", "SciPy's survival function and the area below it", draw_searches, {"cap": [0], "found": [[2]]}, LOOSE)
def spotting(q):
    if q["cap"] <= 0 or len(q["found"]) != len(q["seconds"]) or any(f not in (0, 1) for f in q["found"]):
        raise Refused("searches")
    times, found, cap = np.array(q["seconds"]), np.array(q["found"], bool), q["cap"]
    curve = stats.ecdf(stats.CensoredData(uncensored=times[found], right=times[~found])).sf
    edges = np.concatenate([[0.0], np.unique(times[found]), [cap]])
    area = float(sum(curve.evaluate(a) * (b - a) for a, b in itertools.pairwise(edges)))
    answer = {"rmst": area}
    half = [t for t in edges[1:-1] if curve.evaluate(t) <= 0.5 + 1e-12]
    if half:
        answer["km_median"] = float(half[0])
    variance = 0.0
    for t in np.unique(times[found]):
        risk, events = (times >= t).sum(), ((times == t) & found).sum()
        after = sum(curve.evaluate(max(a, t)) * (b - max(a, t)) for a, b in itertools.pairwise(edges) if b > t)
        if risk > events and after > 0:
            variance += float(after) ** 2 * events / (risk * (risk - events))
    if variance > 0:
        half = Z90 * math.sqrt(variance)
        answer |= {"rmst_lo90": max(area - half, 0.0), "rmst_hi90": min(area + half, cap)}
    return answer


def draw_counts(rng):
    n1, n2 = rng.randint(1, 40), rng.randint(1, 40)
    counts = {"k1": rng.randint(0, n1), "n1": n1, "k2": rng.randint(0, n2), "n2": n2}
    return {**counts, **rng.choice([{}, {"prior": "Jeffreys"}])}


@reference(
    "probability_better",
    "adaptive integration over the rank of the second rate",
    draw_counts,
    {"k1": [100]},
    Tolerance(rel=1e-6, abs=1e-8, why="two integrals of a density with poles"),
    each=120,
)
def better(q):
    if q["k1"] > q["n1"] or q["k2"] > q["n2"]:
        raise Refused("more right than tried")
    one = stats.beta(q["k1"] + 0.5, q["n1"] - q["k1"] + 0.5)
    other = stats.beta(q["k2"] + 0.5, q["n2"] - q["k2"] + 0.5)
    return {"P_p1_gt_p2": integrate.quad(lambda u: one.sf(other.ppf(u)), 0, 1, epsabs=1e-11, limit=300)[0]}
