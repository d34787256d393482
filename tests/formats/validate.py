"""Holds what the tests exported against two validators and a CSV reader.

    validate.py FOLDER NODE_SCRIPT EXPECTED

FOLDER holds whole-*.json and broken-*.json. Fails when a whole bundle is
refused, or a broken one is accepted by a validator that used to refuse it.
"""

import csv
import json
import subprocess
import sys
from pathlib import Path

import icalendar
from fhir.resources import construct_fhir_element

RISKY = ("=", "+", "-", "@", "\t", "\r")


def python_accepts(path):
    """Whether the models of fhir.resources take the bundle, and why not."""
    try:
        construct_fhir_element("Bundle", json.loads(path.read_text()))
        return True, []
    except Exception as refused:  # what it raises differs from rule to rule
        return False, [str(refused).splitlines()[0]]


def node_accepts(script, paths):
    """The same of the npm validator, by the name of the file."""
    lines = subprocess.run(
        ["node", script, *map(str, paths)], check=True, capture_output=True, text=True
    ).stdout
    found = (json.loads(line) for line in lines.splitlines())
    return {one["name"]: (one["accepts"], one["words"]) for one in found}


def bundles(folder, script, expected):
    faults = []
    paths = sorted(folder.glob("*.json"))
    node = node_accepts(script, paths)
    whole = [path for path in paths if path.stem.startswith("whole-")]
    broken = [path for path in paths if path.stem.startswith("broken-")]
    if len(whole) < 3 or len(broken) != 13:
        faults.append(f"{len(whole)} whole and {len(broken)} broken bundles: the tests wrote something else")
    for path in whole:
        for tool, (accepts, words) in (("PyPI", python_accepts(path)), ("npm", node[path.stem])):
            print(f"{path.stem:24} {tool:5} {'accepts' if accepts else 'REFUSES'}")
            if not accepts:
                faults.append(f"{path.stem}: {tool} refuses it: {words[:3]}")
    refused = {"PyPI": set(), "npm": set()}
    print(f"\n{'broken on purpose':24} ours  PyPI  npm")
    for path in broken:
        name = path.stem.removeprefix("broken-")
        answers = {"PyPI": python_accepts(path)[0], "npm": node[path.stem][0]}
        for tool, accepts in answers.items():
            if not accepts:
                refused[tool].add(name)
        marks = ["-" if answers[tool] else "x" for tool in ("PyPI", "npm")]
        print(f"{name:24} x     {marks[0]:5} {marks[1]}")
    for tool, names in expected.items():
        silent = sorted(set(names) - refused[tool])
        if silent:
            faults.append(f"{tool} no longer refuses {', '.join(silent)}")
    return faults


def tables(folder):
    faults = []
    paths = sorted(folder.glob("*.csv"))
    if len(paths) < 15:
        faults.append(f"{len(paths)} tables: the tests wrote something else")
    for path in paths:
        with path.open(newline="", encoding="utf-8") as file:
            rows = list(csv.reader(file, strict=True))
        head, body = rows[0], rows[1:]
        if head[0] != "schema" or not body:
            faults.append(f"{path.name}: no head or no rows")
        for row in body:
            if len(row) != len(head):
                faults.append(f"{path.name}: a row of {len(row)} fields under a head of {len(head)}")
            for cell in row:
                if cell.startswith(RISKY) and not is_number(cell):
                    faults.append(f"{path.name}: a spreadsheet would run {cell[:20]!r}")
    print(f"\n{len(paths)} tables read back")
    return faults


def dates(folder):
    """The feed, read by a library that did not write it: whole private days, one name each."""
    events = icalendar.Calendar.from_ical((folder / "dates.ics").read_bytes()).walk("VEVENT")
    faults = [f"dates.ics: {fault}" for event in events for fault in event.errors]
    days = [str(event.decoded("DTSTART")) for event in events]
    if days != ["2026-12-01", "2026-12-02"]:
        faults.append(f"dates.ics: read as {days}")
    if any(event["CLASS"] != "PRIVATE" or "DTSTAMP" not in event for event in events):
        faults.append("dates.ics: an event that is not private, or without its time")
    if len({str(event["UID"]) for event in events}) != len(events):
        faults.append("dates.ics: a name twice")
    print(f"\n{len(events)} dates read back")
    return faults


def is_number(cell):
    try:
        float(cell)
        return True
    except ValueError:
        return False


def main():
    folder, script, expected = Path(sys.argv[1]), sys.argv[2], json.loads(Path(sys.argv[3]).read_text())
    faults = bundles(folder, script, expected) + tables(folder) + dates(folder)
    for fault in faults:
        print(f"FAULT {fault}", file=sys.stderr)
    sys.exit(1 if faults else 0)


main()
