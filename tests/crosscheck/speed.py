"""The same arithmetic as benches/speed.rs, vectorised in NumPy, and the threshold of the
same tallies by psignifit; prints both side by side.

    speed.py RESULTS INPUTS    what the Rust half printed; the folder with its inputs
"""

import sys
import time
from pathlib import Path

import numpy as np

import fitted

ROUNDS = 7
# Both halves add a million figures, in another order.
SAME = 1e-9


def acuity(inputs):
    mar = inputs[1] / inputs[0]
    logmar = np.log10(mar)
    return np.sum(logmar + 10.0**-logmar + (100 - 50 * logmar) + 10.0**logmar)


def telescope(inputs):
    objective, ocular, width, away, field = inputs
    power = -ocular / objective
    left = objective - 1 / away
    tube = 1 / left + 1 / ocular
    at_objective = np.abs(ocular) / left
    return np.sum(
        power
        + width / np.abs(power)
        + 2 * away * np.tan(np.radians(field) / 2)
        + tube
        + at_objective
        + at_objective * (away + tube) / away
        + at_objective / away
    )


def median_of(compute, inputs):
    total = compute(inputs)
    times = []
    for _ in range(ROUNDS):
        begun = time.perf_counter()
        total = compute(inputs)
        times.append(time.perf_counter() - begun)
    return sorted(times)[ROUNDS // 2], float(total)


def main():
    results = [line.split("\t") for line in Path(sys.argv[1]).read_text().splitlines() if "\t" in line]
    rust = {name: (int(count), float(seconds), float(total)) for name, count, seconds, total in results}
    failed = False
    print(f"{'on one core':12} {'Farpoint':>16} {'NumPy':>16}")
    for name, compute, columns in (("acuity", acuity, 2), ("telescope", telescope, 5)):
        count, seconds, total = rust[name]
        # One column after another lies best for NumPy.
        rows = np.fromfile(Path(sys.argv[2]) / name, dtype="<f8").reshape(-1, columns)
        other, again = median_of(compute, [np.ascontiguousarray(column) for column in rows.T])
        if abs(again - total) > SAME * abs(total):
            print(f"WRONG {name}: the sums differ, {total} and {again}", file=sys.stderr)
            failed = True
        faster, ratio = ("Farpoint", other / seconds) if seconds < other else ("NumPy", seconds / other)
        print(f"{name:12} {count / seconds / 1e6:14.1f} M/s {count / other / 1e6:14.1f} M/s   {faster} is {ratio:.1f} times as fast")
    count, seconds, mean = rust["threshold"]
    rows = np.fromfile(Path(sys.argv[2]) / "threshold", dtype="<f8").reshape(-1, 3)
    # One fit: it takes longer than all that stands above.
    begun = time.perf_counter()
    theirs = fitted.by_psignifit([tuple(row) for row in rows], 0.04)[0]
    other = time.perf_counter() - begun
    if not abs(theirs - mean) <= fitted.EIGHTEEN:
        print(f"WRONG threshold: {mean:.4f}, and by psignifit {theirs:.4f}", file=sys.stderr)
        failed = True
    each = seconds / count
    print(
        f"{'threshold':12} {each * 1e3:13.2f} ms {other * 1e3:13.0f} ms   of {len(rows)} tallies, by psignifit; "
        f"Farpoint is {other / each:.0f} times as fast ({mean:.3f} and {theirs:.3f})"
    )
    for name, what in (
        ("options", "at their own distance"),
        ("options-all", "from seats before a board, half of them projected, with every power for a clinician"),
    ):
        count, seconds, _ = rust[name]
        print(f"{name:12} {seconds * 1e3:13.2f} ms for {count} tasks and 12 devices, {what}; the budget is 5 ms")
    return failed


if __name__ == "__main__":
    sys.exit(main())
