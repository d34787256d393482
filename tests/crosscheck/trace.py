"""Rays through thin lenses and lines of sight in space.

A ray is (height, angle); a lens and a stretch of air are 2 by 2 matrices, and
a system is their product, the last part first. Nothing in here knows a formula
for a telescope or a magnifier: focus is found by looking for the length at
which light leaves parallel, size by following a ray.
"""

import math

import numpy as np
from scipy.optimize import brentq

ARCMIN = math.pi / 180 / 60


def air(d):
    return np.array([[1.0, d], [0.0, 1.0]])


def lens(power):
    return np.array([[1.0, 0.0], [-power, 1.0]])


def system(*parts):
    """The matrix of parts named in the order in which light meets them."""
    whole = np.eye(2)
    for part in parts:
        whole = part @ whole
    return whole


def root(f, low, high):
    """Where f is nothing, as exactly as numbers allow."""
    return brentq(f, low, high, xtol=1e-300, rtol=8.9e-16, maxiter=500)


def linear_root(f):
    """Where a function that is a straight line is nothing."""
    at0, at1 = f(0.0), f(1.0)
    return at0 / (at0 - at1)


def zero_of_line(f, scale):
    """The same, looked for near `scale`, to keep the digits."""
    guess = scale * linear_root(lambda x: f(x * scale))
    slope = (f(scale) - f(0.0)) / scale
    return guess - f(guess) / slope


def vergence(ray):
    """The vergence of the bundle around an axial ray: minus diverges."""
    return -ray[1] / ray[0]


def angle(one, other):
    """The angle between two lines of sight in space, exact for small ones too."""
    ax, ay, az = one
    bx, by, bz = other
    cross = math.hypot(ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx)
    return math.atan2(cross, ax * bx + ay * by + az * bz)


def seen(size, distance):
    """How large something straight ahead looks, in radians."""
    return angle((0.0, size / 2, distance), (0.0, -size / 2, distance))


def size_that_looks(radians, distance):
    """How large something must be to look this large."""
    return distance * root(lambda size: seen(size, 1.0) - radians, 0.0, 1e4)


def distance_that_looks(radians, size):
    """From how far something looks this large."""
    return size * root(lambda d: seen(1.0, d) - radians, 1e-4, 1e7)


# Small letters of 1 M look five minutes of arc tall from a metre.
M_UNIT_MM = size_that_looks(5 * ARCMIN, 1000.0)


def tube_for(objective, ocular, u=None, leaving=0.0):
    """The tube at which light from u (or from afar) leaves with this vergence."""
    start = np.array([1.0, 0.0 if u is None else 1.0 / u])

    def out(length):
        ray = system(lens(objective), air(length), lens(ocular)) @ start
        # A straight line in the length: the angle that is too much.
        return ray[1] + leaving * ray[0]

    return zero_of_line(out, 1.0 / objective)


def telescope(objective, ocular, length):
    return system(lens(objective), air(length), lens(ocular))


def pupil_of(objective, ocular, length, width):
    """Where the ocular images the objective, and how wide."""
    behind = zero_of_line(lambda x: system(air(length), lens(ocular), air(x))[0, 1], 1.0 / abs(ocular))
    return abs(system(air(length), lens(ocular), air(behind))[0, 0]) * width, behind
