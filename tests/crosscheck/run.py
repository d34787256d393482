"""Holds every operation of `farpoint compute` against a reference of another method.

    run.py PROGRAM                  ask the program, compare, print a table
    run.py PROGRAM --save FILE      the same, and keep the answers
    run.py PROGRAM --answers FILE   compare answers kept (and perhaps changed)
    run.py PROGRAM --methods        print the table of methods for README.md
"""

import argparse
import json
import multiprocessing
import random
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import acuity  # noqa: F401  (each registers its references)
import board  # noqa: F401
import counts  # noqa: F401
import everyday  # noqa: F401
import field  # noqa: F401
import fitted
import light  # noqa: F401
import magnifier  # noqa: F401
import reading  # noqa: F401
import refraction  # noqa: F401
import skill  # noqa: F401
import telescope  # noqa: F401
from check import ENOUGH, REFERENCES, differences, expected, question, spoiled

SEED = 20260101
# One answer of these references takes so long that they are asked less often: they
# draw from the assumptions, integrate, or take every pair of pairs. None is optics,
# and the list may only shrink.
SLOW = {
    "everyday_acuity",
    "everyday_acuity_by_setting",
    "nap_interval",
    "next_day_success",
    "next_practice_size",
    "probability_better",
    "suspect_entry",
}
# No more of what is wrong is printed for one operation.
SHOWN = 3
HERE = Path(__file__).parent
CASES = HERE.parent / "reference"


def operations(program):
    """The operations the program lists, each with its inputs."""
    told = subprocess.run([program, "compute", "--list"], capture_output=True, text=True, check=True).stdout
    listed = {}
    for line in told.splitlines():
        if re.fullmatch(r"[a-z]\w*", line):
            inputs = listed.setdefault(line, set())
        elif key := re.match(r" {6}(\w+): ", line):
            inputs.add(key[1])
    return listed


def questions(listed):
    """The same random inputs at every run."""
    for op in listed:
        rng = random.Random(f"{SEED} {op}")
        for number in range(REFERENCES[op].each):
            yield {"id": f"{op} {number}", "op": op, "inputs": question(REFERENCES[op], rng)}


def known_of(line):
    """What the reference says to one question."""
    return expected(REFERENCES[line["op"]], line["inputs"])


def asked(program, asked_for):
    """One run of the program for all questions, beside the references; its answers when they are called for."""
    questions = tempfile.TemporaryFile("w+")
    questions.writelines(json.dumps(line) + "\n" for line in asked_for)
    questions.seek(0)
    answers = tempfile.TemporaryFile("w+")
    running = subprocess.Popen([program, "compute"], stdin=questions, stdout=answers, text=True)

    def told():
        if running.wait():
            raise SystemExit(f"{program} compute ended with {running.returncode}")
        answers.seek(0)
        return answers.read()

    return told


def compared(listed, asked_for, known, answers, complain):
    """Compares all answers; prints a line for each operation."""
    print(f"{'operation':44} {'n':>5} {'refused':>7} {'apart':>9} {'relative':>9}  allowed")
    none = {"n": 0, "refused": 0, "faults": 0, "abs": 0.0, "rel": 0.0, "good": None}
    tally = {op: {**none, "keys": set()} for op in listed}
    if len(answers) != len(asked_for):
        complain(f"{len(asked_for)} questions, but {len(answers)} answers")
    for line, wanted, answer in zip(asked_for, known, answers):
        op, entry = line["op"], REFERENCES[line["op"]]
        of = tally[op]
        faults = differences(entry, answer, wanted, of) if answer.get("id") == line["id"] else ["answered out of order"]
        of["n"] += 1
        of["refused"] += wanted is None
        of["keys"] |= line["inputs"].keys()
        if wanted is not None and not faults and (of["good"] is None or len(wanted) > len(of["good"][1])):
            of["good"] = (answer, wanted)
        if faults:
            of["faults"] += 1
            if of["faults"] <= SHOWN:
                complain(f"{op} {json.dumps(line['inputs'])}: " + "; ".join(faults))
    for op, of in tally.items():
        allowed = REFERENCES[op].tolerance
        print(
            f"{op:44} {of['n']:5} {of['refused']:7} {of['abs']:9.1e} {of['rel']:9.1e}"
            f"  {allowed.rel:.0e} of it or {allowed.abs:.0e}: {allowed.why}"
        )
        if of["faults"]:
            complain(f"{op}: {of['faults']} of {of['n']} answers differ")
        if of["good"] is None and not of["faults"]:
            complain(f"{op}: not one answer with figures")
        if left_out := listed[op] - of["keys"]:
            complain(f"{op}: never asked with {', '.join(sorted(left_out))}")
    return {op: of["good"] for op, of in tally.items() if of["good"]}


def mistakes_are_found(good, complain):
    """Spoils a right answer of each operation in every way, and expects a complaint."""
    tried = 0
    for op, (answer, wanted) in good.items():
        entry, result = REFERENCES[op], answer["result"]
        wrong = [("a refusal", {"error": "no"}), ("a further figure", {"result": {**result, "further": 1.0}})]
        for key, value in wanted.items():
            wrong.append((f"{key} spoiled", {"result": {**result, key: spoiled(entry, key, value)}}))
            wrong.append((f"{key} left out", {"result": {k: v for k, v in result.items() if k != key}}))
        for what, changed in wrong:
            tried += 1
            if not differences(entry, {"id": answer["id"], **changed}, wanted):
                complain(f"{op}: {what} was not noticed")
        tried += 1
        if not differences(entry, answer, None):
            complain(f"{op}: an answer where the reference refuses was not noticed")
    print(f"\n{tried} mistakes put in on purpose, each to be noticed")


def methods():
    """The lines of the table of methods."""
    return [f"| `{op}` | {entry.method} |" for op, entry in REFERENCES.items()]


def table_is_true(complain):
    """README.md tells the method of every reference, and of no other."""
    lines = (HERE / "README.md").read_text().splitlines()
    told = {line for line in lines if line.startswith("| `") and ".py" not in line}
    for line in sorted(told ^ set(methods())):
        complain(f"README.md: its table and the references differ in {line}")


def published_cases(listed, complain):
    """The references must reproduce the reference values that the program reproduces."""
    done = others = 0
    for file in sorted(CASES.glob("*.json")):
        for case in json.loads(file.read_text()):
            # What the program does not list is asked of its functions by the other tests.
            if case["op"] not in listed or case["op"] not in REFERENCES:
                others += 1
                continue
            entry = REFERENCES[case["op"]]
            done += 1
            found = expected(entry, case["inputs"])
            for fault in unlike(case, found):
                complain(f"{case['id']}: the reference {fault}")
    print(f"{done} reference values held against the references; {others} are of operations not listed")
    if done == 0:
        complain("no reference values were read")


def unlike(case, found):
    """How a reference misses a published case."""
    if case["expected"] == {"valid": False}:
        return [] if found is None else [f"has {found} for what must be refused"]
    if found is None:
        return ["refuses"]
    return unlike_object(case["expected"], found, case["tolerance"])


def unlike_object(expected, found, tolerance):
    """The same for the figures of one object, and of those inside it."""
    faults = []
    for key, wanted in expected.items():
        bound = bound_of(tolerance, key)
        if wanted is None:
            faults += [f"{key}: {found[key]} where there is none"] if key in found else []
        elif key not in found:
            faults.append(f"lacks {key}")
        elif isinstance(wanted, list):
            faults += [] if len(found[key]) == len(wanted) else [f"{key}: {found[key]} and not {wanted}"]
            for one, other in zip(wanted, found[key]):
                pair = (one, other) if isinstance(one, dict) else ({key: one}, {key: other})
                faults += unlike_object(*pair, bound if isinstance(one, dict) else tolerance)
        elif isinstance(bound, dict) and not isinstance(wanted, (str, bool)):
            wide = bound.get("abs", 0), bound.get("rel", 0)
            faults += unlike_object({key: wanted}, found, {key: max(wide[0], wide[1] * abs(wanted))})
        elif isinstance(wanted, (str, bool)):
            faults += [] if found[key] == wanted else [f"{key}: {found[key]} and not {wanted}"]
        elif not abs(found[key] - wanted) <= bound + 1e-12 and not (key == "axis_deg" and found[key] % 180 == wanted % 180):
            faults.append(f"{key}: {found[key]} and not {wanted} within {bound}")
    return faults


def bound_of(tolerance, key):
    """The bound of a figure: its own, that of the names which begin so, or the one of all."""
    if not isinstance(tolerance, dict):
        return tolerance
    heads = [head for head in tolerance if key.startswith(head)]
    return tolerance[max(heads, key=len)] if heads else tolerance


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("program")
    options.add_argument("--save", type=Path, help="keep the answers here")
    options.add_argument("--answers", type=Path, help="compare these instead of asking")
    options.add_argument("--methods", action="store_true", help="print the table of methods and stop")
    options = options.parse_args()
    if options.methods:
        print("\n".join(methods()))
        return 0
    began = time.monotonic()
    complaints = []
    listed = operations(options.program)
    complaints += [f"{op}: no reference" for op in listed.keys() - REFERENCES.keys()]
    complaints += [f"{op}: a reference, but no operation" for op in REFERENCES.keys() - listed.keys()]
    listed = {op: inputs for op, inputs in listed.items() if op in REFERENCES}
    fewer = {op for op in listed if REFERENCES[op].each < ENOUGH}
    complaints += [f"{op}: asked {REFERENCES[op].each} times, {ENOUGH} are due" for op in sorted(fewer - SLOW)]
    complaints += [f"{op}: asked often enough to leave the list of slow ones" for op in sorted(SLOW - fewer)]
    asked_for = list(questions(listed))
    told = options.answers.read_text if options.answers else asked(options.program, asked_for)
    # The slow ones first, so that no core is left with one of them at the end.
    order = sorted(range(len(asked_for)), key=lambda at: REFERENCES[asked_for[at]["op"]].each)
    with multiprocessing.Pool() as cores:
        found = cores.map(known_of, [asked_for[at] for at in order], chunksize=8)
    known = [None] * len(asked_for)
    for at, wanted in zip(order, found):
        known[at] = wanted
    told = told()
    if options.save:
        options.save.write_text(told)
    answers = [json.loads(line) for line in told.splitlines()]
    good = compared(listed, asked_for, known, answers, complaints.append)
    mistakes_are_found(good, complaints.append)
    published_cases(listed, complaints.append)
    table_is_true(complaints.append)
    if not options.answers:
        fitted.compared(options.program, complaints.append)
    print(f"{len(listed)} operations, {len(asked_for)} questions, {time.monotonic() - began:.0f} s")
    for complaint in complaints:
        print(f"WRONG {complaint}", file=sys.stderr)
    return 1 if complaints or not listed else 0


if __name__ == "__main__":
    sys.exit(main())
