"""What a reference is, and how an answer is held against it.

An operation of `farpoint compute` is checked by a reference that reaches the
same figures by another method. A reference is registered with the inputs it
draws, the inputs that must be refused, its method in words and its tolerance.
"""

import math
from dataclasses import dataclass, field
from typing import Callable


# Questions to every operation; fewer to the few that `run.py` names.
ENOUGH = 2_000


class Refused(Exception):
    """The reference has no value for these inputs."""


@dataclass
class Tolerance:
    """The larger of the two bounds counts."""

    rel: float = 1e-9
    abs: float = 1e-12
    why: str = "rounding of double precision"
    # Another absolute bound for the figures whose names begin so.
    keys: dict = field(default_factory=dict)
    # Another relative bound for those, where a place of the line is told as a size or a power.
    parts: dict = field(default_factory=dict)

    def allows(self, key, wanted):
        """By how much a figure of this name may differ from this one."""
        for head, part in self.parts.items():
            if key.startswith(head):
                return part * abs(wanted)
        heads = [head for head in self.keys if key.startswith(head)]
        return self.keys[max(heads, key=len)] if heads else max(self.abs, self.rel * abs(wanted))


@dataclass
class Reference:
    op: str
    method: str
    draw: Callable
    answer: Callable
    wrong: dict = field(default_factory=dict)
    tolerance: Tolerance = field(default_factory=Tolerance)
    # How many questions.
    each: int = ENOUGH


REFERENCES: dict[str, Reference] = {}


def reference(op, method, draw, wrong=None, tolerance=None, each=ENOUGH):
    """Registers the decorated function as the reference of an operation."""

    def register(answer):
        if op in REFERENCES:
            raise ValueError(f"{op} has two references")
        REFERENCES[op] = Reference(op, method, draw, answer, wrong or {}, tolerance or Tolerance(), each)
        return answer

    return register


def positive(*values):
    """Lengths, times and the like are more than nothing."""
    for value in values:
        if not value > 0:
            raise Refused(f"{value} is not more than 0")


def between(value, low, high):
    """A value within its bounds, both included."""
    if not low <= value <= high:
        raise Refused(f"{value} is not from {low} to {high}")


def question(entry, rng, refusals=0.04):
    """One set of inputs; now and then one of them is made impossible."""
    inputs = entry.draw(rng)
    if entry.wrong and rng.random() < refusals:
        key = rng.choice(sorted(entry.wrong))
        inputs = {**inputs, key: rng.choice(entry.wrong[key])}
    return inputs


def expected(entry, inputs):
    """What the reference says: its figures, or None where there are none."""
    try:
        return entry.answer(inputs)
    except Refused:
        return None


def axis_apart(one, other):
    """Axes repeat after half a turn."""
    apart = abs(one - other) % 180.0
    return min(apart, 180.0 - apart)


def differences(entry, answer, wanted, seen=None):
    """Every complaint about an answer line; none if it agrees.

    `seen` gathers the largest absolute and relative difference.
    """
    if "error" in answer:
        if wanted is None:
            return []
        return [f"refused ({answer['error']}), but the reference has {wanted}"]
    found = answer.get("result")
    if not isinstance(found, dict):
        return ["neither a result nor an error"]
    if wanted is None:
        return [f"answered {found}, but the reference refuses"]
    faults = [f"{key}: the reference does not know this figure" for key in found.keys() - wanted.keys()]
    faults += [f"{key}: missing, the reference has {wanted[key]}" for key in wanted.keys() - found.keys()]
    for key in sorted(found.keys() & wanted.keys()):
        fault = difference(entry, key, found[key], wanted[key], seen)
        if fault:
            faults.append(f"{key}: {fault}")
    return faults


def difference(entry, key, found, wanted, seen=None):
    """How one figure differs, in words, or None; lists and objects by what is in them."""
    if isinstance(wanted, list) or isinstance(found, list):
        if not isinstance(found, list) or not isinstance(wanted, list) or len(found) != len(wanted):
            return f"{found} and not {wanted}"
        faults = [difference(entry, key, one, other, seen) for one, other in zip(found, wanted)]
        return "; ".join(fault for fault in faults if fault) or None
    if isinstance(wanted, dict) or isinstance(found, dict):
        if not isinstance(found, dict) or not isinstance(wanted, dict) or found.keys() != wanted.keys():
            return f"{found} and not {wanted}"
        faults = [(name, difference(entry, name, found[name], wanted[name], seen)) for name in sorted(wanted)]
        return "; ".join(f"{name}: {fault}" for name, fault in faults if fault) or None
    if isinstance(wanted, (str, bool)) or isinstance(found, str):
        return None if found == wanted else f"{found!r} and not {wanted!r}"
    if isinstance(wanted, int) and not isinstance(wanted, bool):
        return None if found == wanted else f"{found} and not {wanted}"
    if isinstance(found, bool) or not math.isfinite(found) or not math.isfinite(wanted):
        return f"{found} is no figure to compare with {wanted}"
    apart = axis_apart(found, wanted) if key == "axis_deg" else abs(found - wanted)
    allowed = entry.tolerance.allows(key, wanted)
    if seen is not None:
        seen["abs"] = max(seen["abs"], apart)
        # A relative difference of what is nearly nothing says nothing.
        if abs(wanted) > 1e-6:
            seen["rel"] = max(seen["rel"], apart / abs(wanted))
    if apart <= allowed:
        return None
    return f"{found!r} and not {wanted!r}; apart {apart:.3g}, allowed {allowed:.3g}"


def spoiled(entry, key, value):
    """The same figure with a mistake of one part in a thousand, or of twice what is allowed where that is more."""
    if isinstance(value, list):
        return [*value[:-1], spoiled(entry, key, value[-1])] if value else [0]
    if isinstance(value, dict):
        last = sorted(value)[-1]
        return {**value, last: spoiled(entry, last, value[last])}
    if isinstance(value, bool):
        return not value
    if isinstance(value, str):
        return value + "?"
    if isinstance(value, int):
        return value + 1
    return value + max(1e-3 * (abs(value) or 1.0), 2 * entry.tolerance.allows(key, value))
