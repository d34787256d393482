"""References for the everyday acuity: what all cells share is drawn from the
assumptions (quasi-Monte Carlo), every likelihood is SciPy's beta-binomial, and
the threshold is integrated on a dense line. No table, no fixed node of the
program is known here."""

import math
from functools import lru_cache

import numpy as np
from scipy import special, stats

from check import Refused, Tolerance, between, reference

SLIP, MISUSED = 0.02, 0.05
LOW, HIGH, STEP = -0.6, 2.4, 0.02
LINE = np.arange(LOW, HIGH + STEP / 2, STEP)
DAY = 0.08
DRAWS = 512
FEW = 128
SETS = {"none": lambda n: [0], "all": lambda n: [n], "some": lambda n: [k for k in range(1, n) if 2 * k < n],
        "most": lambda n: [k for k in range(1, n) if 2 * k >= n]}  # fmt: skip

PROBABLE = "quadrature on the program's side (0.010 at most), 512 draws on this one"
EVERYDAY = Tolerance(
    abs=0.016,
    why=PROBABLE,
    keys={"theta_": 0.005, "mu_": 0.005, "q": 0.010, "mean": 0.006, "x_next": 0.008},
)


def logs_of_counts(items, counts, p, rho):
    """The logarithm of the beta-binomial chance of these counts, summed."""
    nu = 1 / rho - 1
    alpha, beta = p * nu, (1 - p) * nu
    terms = [
        special.gammaln(items + 1) - special.gammaln(k + 1) - special.gammaln(items - k + 1)
        + special.betaln(k + alpha, items - k + beta) - special.betaln(alpha, beta)
        for k in counts
    ]  # fmt: skip
    return special.logsumexp(terms, axis=0)


def seen(entry):
    """Items, counts that fit, the chance of a slip and of none."""
    if entry["kind"] == "word":
        items = entry["n"] if entry.get("n") and entry["n"] >= 3 else 5
        return items, SETS[entry["word"]](items), MISUSED / 4, 1 - MISUSED
    return entry["n"], [entry["k"]], SLIP / (entry["n"] + 1), 1 - SLIP


def likelihood(entry, p, rho):
    items, counts, slip, sound = seen(entry)
    return sound * np.exp(logs_of_counts(items, counts, p, rho)) + slip


def draw_tally(rng):
    n = rng.randint(1, 20)
    return {"word": rng.choice(sorted(SETS)), "n": rng.choice([None, n]), "p": rng.uniform(0.02, 0.98), "rho": rng.uniform(0.005, 0.5)}


@reference(
    "word_likelihood",
    "SciPy's beta-binomial distribution, summed over the counts that fit",
    draw_tally,
    {"word": ["plenty"], "p": [1.5], "rho": [0]},
    Tolerance(rel=1e-7, abs=1e-9, why="logarithms of factorials two ways"),
)
def word(q):
    if q["word"] not in SETS:
        raise Refused("no such word")
    between(q["p"], 0, 1)
    between(q["rho"], 1e-9, 0.999)
    items = q["n"] if q["n"] and q["n"] >= 3 else 5
    counts, nu = SETS[q["word"]](items), 1 / q["rho"] - 1
    chance = float(stats.betabinom(items, q["p"] * nu, (1 - q["p"]) * nu).pmf(counts).sum())
    robust = (1 - MISUSED) * chance + MISUSED / 4
    return {"set": counts, "prob": chance, "robust_loglik": math.log(robust)}


@reference(
    "size_for_success",
    "root finding on the course of success",
    lambda rng: {
        "theta": rng.uniform(-0.2, 1.6), "sigma": rng.uniform(0.03, 0.4), "lapse": rng.uniform(0, 0.3),
        "guess": rng.choice([0.0, 0.04, 0.1, 0.25]),
    },
    {"sigma": [0, -1], "lapse": [1.5]},
    Tolerance(rel=1e-7, abs=1e-7, why="a root found by halving"),
)  # fmt: skip
def size(q):
    from scipy.optimize import brentq

    g, lapse, s = q["guess"], q["lapse"], q["sigma"]
    if s <= 0 or not 0 <= lapse < 1:
        raise Refused("no course")
    if 1 - lapse <= 0.8 + 1e-12:
        return {"reachable": False}

    def short(z):
        return g + (1 - g - lapse) * special.ndtr(z) - 0.8

    # Within reach only where the course passes it at all.
    if short(8.2) <= 0:
        return {"reachable": False}
    return {"reachable": True, "x80": q["theta"] + s * brentq(short, -12, 8.2, xtol=1e-14)}


@lru_cache(maxsize=4)
def shared(draws):
    """Spread, lapse and likeness as assumed, evenly scattered."""
    points = stats.qmc.Sobol(3, scramble=True, rng=np.random.default_rng(20261126)).random(draws)
    spread = np.exp(stats.norm.ppf(points[:, 0], math.log(0.10), 0.5))
    # The program's spreads end here.
    kept = (0.0265 < spread) & (spread < 0.45)
    lapse, eta = stats.beta.ppf(points[:, 1], 1, 19), stats.beta.ppf(points[:, 2], 2, 6)
    return spread[kept, None], lapse[kept, None], (eta**2).clip(1e-4, 0.98)[kept, None]


def rate(x, g, draws, line=LINE):
    spread, lapse, _ = shared(draws)
    return (g + (1 - g - lapse) * special.ndtr((x - line) / spread)).clip(1e-12, 1 - 1e-12)


def sessions(entries):
    items = {}
    for one in entries:
        items[one["sid"]] = items.get(one["sid"], 0) + seen(one)[0]
    values = np.array(list(items.values()), float)
    return values.sum() ** 2 / (values @ values) if len(values) else 1.0


def bell(deviation):
    """Shares that a place gives to every other, in sum 1 within the line."""
    # Each bin is as wide as a step: the integral of the bell over it.
    edges = (LINE[None, :] - LINE[:, None]) / deviation
    half = STEP / 2 / deviation
    matrix = special.ndtr(edges + half) - special.ndtr(edges - half)
    return matrix / matrix.sum(1, keepdims=True)


def of_days(entries, draws):
    """Logarithms over the mean of a cell's days, for every draw."""
    rho = shared(draws)[2]
    logs = np.zeros((len(rho), len(LINE)))
    for one in entries:
        logs += one.get("w", 1.0) * np.log(likelihood(one, rate(one["x"], one["g"], draws), rho))
    return logs


def assumed(prior, extra=0.0):
    m, sd = prior
    wide = lambda deviation: stats.norm.pdf(LINE, m, math.hypot(deviation, extra))  # noqa: E731
    density = 0.9 * wide(sd) + 0.1 * wide(0.60)
    return density / density.sum()


# Half-normal of 0.10, cut into slices of equal share.
TAUS = stats.halfnorm.ppf((np.arange(8) + 0.5) / 8, scale=0.10)


class OneCell:
    """One device in one setting: a density over draws and thresholds."""

    def __init__(self, entries, prior, draws=DRAWS):
        self.draws, self.entries = draws, entries
        days = of_days(entries, draws)
        self.spread_of_days = bell(DAY / math.sqrt(sessions(entries)))
        self.days = np.exp(days - days.max())
        self.before = sum((bell_of(tau).T @ assumed(prior)) for tau in TAUS) / len(TAUS)
        weight = (self.days @ self.spread_of_days.T) * self.before
        self.weight = weight / weight.sum()
        self.over = self.weight.sum(0)

    def mean(self):
        return float(self.over @ LINE)

    def deviation(self):
        return float(math.sqrt(self.over @ (LINE - self.mean()) ** 2))

    def quantile(self, share):
        return float(np.interp(share, np.concatenate([[0], np.cumsum(self.over)]), np.append(LINE - STEP / 2, HIGH + STEP / 2)))


@lru_cache(maxsize=16)
def bell_of(deviation):
    return bell(deviation)


def draw_entries(rng, most=6):
    threshold = rng.uniform(0.4, 1.2)
    entries = []
    for at in range(rng.randint(1, most)):
        x = round(threshold + rng.uniform(-0.25, 0.3), 2)
        right = 0.04 + 0.93 * float(special.ndtr((x - threshold) / 0.1))
        entry = {"x": x, "g": rng.choice([0.0, 0.04, 0.1]), "sid": at // 2 + 1}
        if rng.random() < 0.25:
            said = "none" if right < 0.1 else "some" if right < 0.5 else "most" if right < 0.9 else "all"
            entry |= {"kind": "word", "word": said, "n": None}
        else:
            n = rng.randint(3, 12)
            entry |= {"kind": "tally", "n": n, "k": sum(rng.random() < right for _ in range(n))}
        entries.append(entry)
    return threshold, entries


def draw_one(rng):
    threshold, entries = draw_entries(rng)
    return threshold, {"observations": entries, "prior": {"mean": round(threshold + rng.uniform(-0.15, 0.15), 3), "sd": 0.2}}


def draw_acuity(rng):
    threshold, one = draw_one(rng)
    n = rng.randint(5, 12)
    query = {"x": round(threshold + rng.uniform(-0.05, 0.2), 2), "guess": 0.04, "crit": 0.8, "next": {"n": n, "k_min": math.ceil(0.8 * n)}}
    return {**one, "query": query}


def prior_of(q):
    between(q["prior"]["sd"], 1e-6, 3)
    return q["prior"]["mean"], q["prior"]["sd"]


def chances(cell, x, g, n, least):
    """Of at least so many on an average day, and on any day."""
    draws = cell.draws
    rho = shared(draws)[2]
    at_least = np.exp(logs_of_counts(n, range(least, n + 1), rate(x, g, draws), rho))
    # A day scatters around the threshold as far as days do.
    around = at_least @ bell_of(DAY).T
    return float((cell.weight * at_least).sum()), float((cell.weight * around).sum())


EMPTY = {"prior": [{"mean": 0.9, "sd": 0}], "observations": [[{"x": 0.9, "kind": "tally", "k": 9, "n": 4, "g": 0.04, "sid": 1}]]}


def check_entries(entries):
    for one in entries:
        if one["kind"] == "tally" and not 0 <= one["k"] <= one["n"]:
            raise Refused("more right than tried")


@reference(
    "everyday_acuity",
    "draws from the assumptions by SciPy's Sobol points, weighted by its beta-binomials; the threshold on a line",
    draw_acuity,
    {**EMPTY, "query": [{"x": 0.9, "guess": 0.04, "crit": 0.8, "next": {"n": 10, "k_min": 11}}]},
    EVERYDAY,
    each=24,
)
def everyday(q):
    check_entries(q["observations"])
    cell, ask = OneCell(q["observations"], prior_of(q)), q["query"]
    n, least = ask["next"]["n"], ask["next"]["k_min"]
    between(least, 1, n)
    spread, lapse, _ = shared(cell.draws)
    g = ask["guess"]
    share = (ask["crit"] - g) / (1 - g - lapse)
    # The largest threshold at which the true rate is still the one wanted.
    far = np.where(share < 1, ask["x"] - spread * special.ndtri(share.clip(1e-12, 1 - 1e-12)), -np.inf)
    within = ((far - LINE) / STEP + 0.5).clip(0, 1)
    average, any_day = chances(cell, ask["x"], g, n, least)
    return {
        "theta_mean": cell.mean(), "theta_sd": cell.deviation(),
        "q05": cell.quantile(0.05), "q50": cell.quantile(0.5), "q95": cell.quantile(0.95),
        "p_rate80": float((cell.weight * within).sum()), "p_next10_ge8": average, "p_next_day_ge8": any_day,
    }  # fmt: skip


def draw_next_day(rng):
    one = draw_acuity(rng)
    ask = one["query"]
    return {**one, "query": {"x": ask["x"], "guess": 0.04, **ask["next"]}}


@reference("next_day_success", "as `everyday_acuity`; a day's scatter laid over it", draw_next_day, EMPTY, EVERYDAY, each=16)
def next_day(q):
    check_entries(q["observations"])
    ask = q["query"]
    return {"p_next_day_ge8": chances(OneCell(q["observations"], prior_of(q)), ask["x"], ask["guess"], ask["n"], ask["k_min"])[1]}


def slip_of(cell, entry):
    """The share of the slip in what was seen, over draws and days."""
    _, _, slip, _ = seen(entry)
    share = slip / likelihood(entry, rate(entry["x"], entry["g"], cell.draws), shared(cell.draws)[2])
    # The days of the cell, given everything: likelihood of the days, and what the assumptions say of them.
    days = cell.days * (cell.before @ cell.spread_of_days)
    return float((days * share).sum() / days.sum())


@reference(
    "suspect_entry",
    "the share of the slip in each likelihood, over the same draws and the days of the cell",
    lambda rng: draw_one(rng)[1],
    {**EMPTY, "observations": [*EMPTY["observations"], []]},
    Tolerance(
        abs=0.02,
        why=PROBABLE + "; a chance below 1 in 8,000 is taken for that, which tells in an entry moved far away",
        keys={"theta_": 0.005, "r_last": 0.10},
    ),
    each=16,
)
def suspect(q):
    check_entries(q["observations"])
    if not q["observations"]:
        raise Refused("nothing was observed")
    cell = OneCell(q["observations"], prior_of(q))
    last = q["observations"][-1]
    answer = {"theta_mean": cell.mean(), "r": [slip_of(cell, one) for one in q["observations"]]}
    if LOW <= last["x"] - 1 <= HIGH:
        answer["r_last_shift_minus_1"] = slip_of(cell, {**last, "x": last["x"] - 1})
    return answer


@reference(
    "next_practice_size",
    "as `everyday_acuity`; Brent's root finding for the size with the mean success wanted",
    lambda rng: {
        **draw_one(rng)[1], "guess": 0.04, "target": rng.choice([0.7, 0.75, 0.8]),
        **rng.choice([{}, {"last": rng.uniform(0.3, 1.5)}, {"last": rng.uniform(0.3, 1.5), "smallest_passed": rng.uniform(0.2, 1.5)}]),
    },
    {**EMPTY, "target": [1.5]},
    Tolerance(abs=0.012, why="both sides integrate the course of success over its spread, from other points", keys={"x_next_rounded": 0.0501}),
    each=16,
)
def next_size(q):
    from scipy.optimize import brentq

    check_entries(q["observations"])
    between(q["target"], 0, 1)
    cell = OneCell(q["observations"], prior_of(q))
    exact = brentq(lambda x: float((cell.weight * rate(x, q["guess"], cell.draws)).sum()) - q["target"], LOW, HIGH, xtol=1e-9)
    near = exact if "last" not in q else min(max(exact, q["last"] - 0.2), q["last"] + 0.2)
    near = max(near, q.get("smallest_passed", -9.0) - 0.1)
    return {"x_next": exact, "x_next_rounded": round(near / 0.05) * 0.05}


class Settings:
    """Several devices in several settings, by draw and by how far settings differ."""

    def __init__(self, cells, priors, draws=FEW):
        self.names = list(cells)
        logs, self.days_logs = {}, {}
        for name, entries in cells.items():
            days = of_days(entries, draws)
            top = days.max(1, keepdims=True)
            logs[name] = (np.exp(days - top).clip(1e-30) @ bell(DAY / math.sqrt(sessions(entries))).T, top[:, 0])
        weights, self.cells, self.devices = [], {name: [] for name in cells}, {name: [] for name in priors}
        self.joint = []
        for tau in TAUS:
            across = bell_of(tau)
            says = {name: logs[name][0] @ across.T for name in cells}
            total, middles = np.zeros(len(shared(draws)[0])), {}
            for device, prior in priors.items():
                own = [name for name in cells if name.split("/")[0] == device]
                middle = assumed(prior) * np.prod([says[name] for name in own], axis=0) if own else np.tile(assumed(prior), (len(total), 1))
                sums = middle.sum(1)
                total += np.log(sums) + sum(logs[name][1] for name in own)
                middles[device] = middle / sums[:, None]
                self.devices[device].append(middles[device])
                for name in own:
                    rest = middles[device] / says[name].clip(1e-300)
                    cell = (rest @ across) * logs[name][0]
                    self.cells[name].append(cell / cell.sum(1, keepdims=True))
            self.joint.append((across, says, middles, {name: logs[name][0] for name in cells}))
            weights.append(total)
        weights = np.array(weights)
        weights = np.exp(weights - weights.max())
        self.weights = weights / weights.sum()

    def over(self, rows):
        return sum((w[:, None] * row).sum(0) for w, row in zip(self.weights, rows))

    def apart(self, one, other):
        """The distribution of the difference, both independent given a draw."""
        found = np.zeros(2 * len(LINE) - 1)
        for w, a, b in zip(self.weights, one, other):
            for place in np.flatnonzero(w > 1e-5):
                found += w[place] * np.convolve(a[place], b[place][::-1])
        return found / found.sum()

    def together(self, one, other):
        """The same for two settings of one device, which lean on one another."""
        device = one.split("/")[0]
        found = np.zeros(2 * len(LINE) - 1)
        places = np.subtract.outer(np.arange(len(LINE)), np.arange(len(LINE))) + len(LINE) - 1
        for w, (across, says, middles, own) in zip(self.weights, self.joint):
            for place in np.flatnonzero(w > 1e-3):
                rest = middles[device][place] / (says[one][place] * says[other][place]).clip(1e-300)
                pair = (across * own[one][place]).T @ (rest[:, None] * across * own[other][place])
                found += w[place] * np.bincount(places.ravel(), pair.ravel() / pair.sum(), len(found))
        return found / found.sum()


def told(found):
    steps = (np.arange(len(found)) - len(LINE) + 1) * STEP
    upto = np.concatenate([[0], np.cumsum(found)])
    quantile = lambda share: float(np.interp(share, upto, np.append(steps - STEP / 2, steps[-1] + STEP / 2)))  # noqa: E731
    middle = len(LINE) - 1
    return {
        "mean": float(found @ steps), "q05": quantile(0.05), "q95": quantile(0.95),
        "p_gt0": float(found[middle + 1 :].sum() + found[middle] / 2),
    }  # fmt: skip


def half_of(found):
    steps = (np.arange(len(found)) - len(LINE) + 1.5) * STEP
    return float(np.interp(0.5, np.cumsum(found), steps))


def at_least(found, value):
    steps = (np.arange(len(found)) - len(LINE) + 1) * STEP
    return float((found * ((steps - value) / STEP + 0.5).clip(0, 1)).sum())


def draw_settings(rng):
    threshold, unaided = draw_entries(rng)
    _, home = draw_entries(rng, 4)
    _, aided = draw_entries(rng, 5)
    shift = threshold - 0.5 - aided[0]["x"]
    aided = [{**one, "x": round(min(max(one["x"] + shift, -0.4), 1.2), 2), "sid": 20 + one["sid"]} for one in aided]
    home = [{**one, "x": round(min(max(one["x"] + threshold - home[0]["x"], -0.2), 1.6), 2), "sid": 10 + one["sid"]} for one in home]
    asked = {
        "cells": {"u/class": unaided, "u/home": home, "t4/class": aided},
        "priors": {"u": [round(threshold + 0.05, 3), 0.2], "t4": [round(threshold - 0.45, 3), 0.25]},
        "contrasts": [["u/class", "t4/class"], ["u/class", "u/home"], ["u", "t4"]],
    }
    if rng.random() < 0.5:
        # Enough in both settings, nearly always: several sizes, two sessions, twelve items each.
        for name, middle in (("u/class", threshold), ("u/home", threshold + rng.uniform(0, 0.3))):
            asked["cells"][name] = [plenty(rng, round(middle + by, 2), middle, 10 * (name == "u/home") + at // 2) for at, by in enumerate((-0.2, -0.05, 0.08, 0.25))]
        asked["settings"] = "compared"
    if rng.random() < 0.5:
        asked["size_for"] = rng.choice([0.7, 0.8])
    if rng.random() < 0.5:
        item = lambda cell: {"cell": cell, "x": round(threshold + rng.uniform(-0.3, 0.3), 2), "guess": 0.04, "crit": 0.8, "n": 10}  # noqa: E731
        asked["tasks"] = {"sums": item("u/class"), "names": {**item("t4/class"), "against": "u/class"}}
    return asked if rng.random() < 0.3 else {**asked, "nominal_power": {"t4": 4.0}}


def plenty(rng, x, threshold, session):
    right = 0.04 + 0.93 * float(special.ndtr((x - threshold) / 0.1))
    return {"x": x, "g": 0.04, "sid": session, "kind": "tally", "n": 12, "k": sum(rng.random() < right for _ in range(12))}


def enough(entries):
    """Three observations in two sessions, 15 items, a size read and another not (common practice)."""
    share = lambda one: one["k"] / one["n"]  # noqa: E731
    passed = {one["x"] for one in entries if share(one) >= 0.7}
    failed = {one["x"] for one in entries if share(one) <= 0.5}
    tried = sum(one["n"] for one in entries)
    counted = len(entries) >= 3 and len({one["sid"] for one in entries}) >= 2 and tried >= 15
    return counted and any(abs(a - b) > 1e-9 for a in passed for b in failed)


def middle_of(over, share):
    """The place below which this share of a distribution over the line lies."""
    return float(np.interp(share, np.concatenate([[0], np.cumsum(over)]), np.append(LINE - STEP / 2, HIGH + STEP / 2)))


def sorted_share(values, weights, share):
    """The value below which this share of the weight lies; endless values are last."""
    order = np.argsort(values, axis=None)
    upto = np.cumsum(weights.ravel()[order])
    return float(values.ravel()[order][np.searchsorted(upto, share * upto[-1])])


class AsOne:
    """One cell of several, as `chances` takes it."""

    def __init__(self, found, name):
        self.draws = FEW
        self.weight = sum(w[:, None] * row for w, row in zip(found.weights, found.cells[name]))


def task(found, ask):
    cell, (spread, lapse, rho) = AsOne(found, ask["cell"]), shared(FEW)
    g, x, n = ask["guess"], ask["x"], ask["n"]
    share = (ask["crit"] - g) / (1 - g - lapse)
    far = np.where(share < 1, x - spread * special.ndtri(share.clip(1e-12, 1 - 1e-12)), -np.inf)
    rates = rate(x, g, FEW)
    told = {
        "usually": float((cell.weight * ((far - LINE) / STEP + 0.5).clip(0, 1)).sum()),
        "on_a_day": chances(cell, x, g, n, math.ceil(ask["crit"] * n - 1e-9))[1],
        "rate": float((cell.weight * rates).sum()),
        "rate_q05": sorted_share(rates, cell.weight, 0.05), "rate_q95": sorted_share(rates, cell.weight, 0.95),
    }  # fmt: skip
    if "against" in ask:
        each = [np.exp(logs_of_counts(n, [k], rates, rho)) @ bell_of(DAY).T for k in range(n + 1)]
        told["better"] = 0.0
        for w, one, other in zip(found.weights, found.cells[ask["cell"]], found.cells[ask["against"]]):
            mine = np.array([(one * chance).sum(1) for chance in each])
            theirs = np.array([(other * chance).sum(1) for chance in each])
            fewer = np.cumsum(theirs, axis=0) - theirs
            told["better"] += float(w @ (mine * (fewer + theirs / 2)).sum(0))
    return told


def size_for(found, name, wanted):
    cell, (spread, lapse, _) = AsOne(found, name), shared(FEW)
    share = wanted / (1 - lapse)
    by = np.where(share < 1, spread * special.ndtri(share.clip(1e-12, 1 - 1e-12)), np.inf)
    never = float(cell.weight[share[:, 0] >= 1].sum())
    told = {"size_never": never}
    for key, part in (("size_q05", 0.05), ("size_q50", 0.5), ("size_q95", 0.95)):
        if part < 1 - never:
            told[key] = sorted_share(LINE + by, cell.weight, part)
    return told


def settings_apart(q):
    """Each setting as a device of its own, on an assumption of 0.30: never leaning on the other."""
    own = [name for name in q["cells"] if name.startswith("u/")]
    if not all(enough(q["cells"][name]) for name in own):
        return {}
    alone = Settings(
        {f"{place}/alone": q["cells"][name] for place, name in enumerate(own)} | {"t4/class": q["cells"]["t4/class"]},
        {str(place): (q["priors"]["u"][0], 0.30) for place in range(2)} | {"t4": (q["priors"]["t4"][0], 0.30)},
    )
    line = told(alone.apart(alone.cells["0/alone"], alone.cells["1/alone"]))
    pair = "|".join(own)
    return {f"settings_p:{pair}": 2 * min(line["p_gt0"], 1 - line["p_gt0"]), f"settings_apart:{pair}": line["mean"]}


@reference(
    "everyday_acuity_by_setting",
    "as `everyday_acuity`, with how far settings differ in equal slices; two settings of one device by their joint table",
    draw_settings,
    {"contrasts": [[["u/class", "nobody/class"]]]},
    Tolerance(
        abs=0.03,
        why="128 draws here; there four nodes of how far settings differ, which tells in the difference of two settings "
        "and most in its ends; a rate moves by up to 0.06 from one place of the line to the next",
        keys={"theta_": 0.008, "mu_": 0.010, "mean": 0.025, "q": 0.06, "rate_q": 0.07, "size_q": 0.06, "p_gt0": 0.05},
        parts={"print_m_": 0.02, "gain_": 0.07},
    ),
    each=20,
)
def by_setting(q):
    for entries in q["cells"].values():
        check_entries(entries)
    known = {*q["cells"], *q["priors"]}
    if any(name not in known for pair in q["contrasts"] for name in pair):
        raise Refused("no such cell")
    found = Settings(q["cells"], {name: tuple(prior) for name, prior in q["priors"].items()})
    answer = {}
    for kind, of in (("theta", found.cells), ("mu", found.devices)):
        for name, rows in of.items():
            over = found.over(rows)
            mean = float(over @ LINE)
            answer |= {f"{kind}_mean:{name}": mean, f"{kind}_sd:{name}": math.sqrt(over @ (LINE - mean) ** 2)}
    for name, rows in found.cells.items():
        for key, part in (("q05", 0.05), ("q50", 0.5), ("q95", 0.95)):
            size = middle_of(found.over(rows), part)
            # Print in M units, held at 40 cm.
            answer |= {f"theta_{key}:{name}": size, f"print_m_{key}:{name}": 0.4 * 10**size}
        if "size_for" in q:
            answer |= {f"{key}:{name}": value for key, value in size_for(found, name, q["size_for"]).items()}
    for name, ask in q.get("tasks", {}).items():
        answer |= {f"{key}:{name}": value for key, value in task(found, ask).items()}
    if "settings" in q:
        answer |= settings_apart(q)
    contrasts = []
    for one, other in q["contrasts"]:
        rows = found.cells if one in found.cells else found.devices
        apart = found.apart(rows[one], rows[other])
        line = told(apart)
        device = other.split("/")[0]
        if one in found.cells and one.split("/")[0] == device:
            line["together"] = told(found.together(one, other))
        powers = q.get("nominal_power", {})
        if device in powers and one.split("/")[0] not in powers:
            line["p_delivers"] = at_least(apart, math.log10(0.8 * powers[device]))
        if device != one.split("/")[0]:
            answer[f"second_better:{one}|{other}"] = line["p_gt0"]
            if "p_delivers" in line:
                answer[f"delivers:{one}|{other}"] = line["p_delivers"]
                for key, place in (("q05", line["q05"]), ("q50", half_of(apart)), ("q95", line["q95"])):
                    answer[f"gain_{key}:{one}|{other}"] = 10**place
        contrasts.append(line)
    return {**answer, "contrasts": contrasts}
