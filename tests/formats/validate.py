"""Holds what the tests exported against readers and validators that others wrote.

    validate.py FOLDER NODE_SCRIPT EXPECTED

FOLDER holds whole-*.json and broken-*.json, tables, calendars and archives. Fails
when something whole is refused, or something broken is accepted by a validator that
used to refuse it. Tables are read in tables.py, dates in dates.py, archives with all
that is in them in archives.py.
"""

import json
import subprocess
import sys
from pathlib import Path

import archives
import dates
import tables
from fhir.resources import construct_fhir_element


def python_accepts(path):
    """Whether the models of fhir.resources take the bundle, and why not."""
    try:
        construct_fhir_element("Bundle", json.loads(path.read_text()))
        return True, []
    except Exception as refused:  # what it raises differs from rule to rule
        return False, [str(refused).splitlines()[0]]


def node_accepts(script, paths):
    """The same of the npm validator, by the path of the file."""
    lines = subprocess.run(
        ["node", script, *map(str, paths)], check=True, capture_output=True, text=True
    ).stdout
    found = (json.loads(line) for line in lines.splitlines())
    return {one["path"]: (one["accepts"], one["words"]) for one in found}


def bundles(folder, script, expected):
    faults = []
    paths = sorted(folder.glob("*.json"))
    node = node_accepts(script, paths)
    whole = [path for path in paths if path.stem.startswith("whole-")]
    broken = [path for path in paths if path.stem.startswith("broken-")]
    if len(whole) < 3 or len(broken) != 13:
        faults.append(f"{len(whole)} whole and {len(broken)} broken bundles: the tests wrote something else")
    for path in whole:
        for tool, (accepts, words) in (("PyPI", python_accepts(path)), ("npm", node[str(path)])):
            print(f"{path.stem:24} {tool:5} {'accepts' if accepts else 'REFUSES'}")
            if not accepts:
                faults.append(f"{path.stem}: {tool} refuses it: {words[:3]}")
    refused = {"PyPI": set(), "npm": set()}
    print(f"\n{'broken on purpose':24} ours  PyPI  npm")
    for path in broken:
        name = path.stem.removeprefix("broken-")
        answers = {"PyPI": python_accepts(path)[0], "npm": node[str(path)][0]}
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


def accepted(script):
    """Puts bundles out of archives to both validators."""

    def accepts(paths):
        faults = []
        node = node_accepts(script, paths)
        for path in paths:
            for tool, (taken, words) in (("PyPI", python_accepts(path)), ("npm", node[str(path)])):
                if not taken:
                    faults.append(f"{path.parent.parent.name}, {path.name}: {tool} refuses it: {words[:3]}")
        if len(paths) < 6:
            faults.append(f"{len(paths)} bundles in the archives: the tests wrote something else")
        print(f"{len(paths)} bundles in the archives put to both validators")
        return faults

    return accepts


def main():
    folder, script, expected = Path(sys.argv[1]), sys.argv[2], json.loads(Path(sys.argv[3]).read_text())
    faults = bundles(folder, script, expected) + tables.of_sample(folder) + dates.read(folder)
    faults += archives.read(folder, accepted(script))
    for fault in faults[:60]:
        print(f"FAULT {fault[:1_000]}", file=sys.stderr)
    sys.exit(1 if faults else 0)


main()
