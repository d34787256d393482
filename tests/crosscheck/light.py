"""References for contrast and light: sampled patterns, integration, table search."""

import math
from fractions import Fraction

import numpy as np
from scipy.integrate import quad

from acuity import exact, power10
from check import Refused, Tolerance, between, positive, reference
from trace import root

# A matt surface of luminance 1 sends this much into the half space: rings of
# the sky, each with its size and the cosine of its direction, added up.
HALF_SPACE = quad(lambda turn: 2 * math.pi * math.sin(turn) * math.cos(turn), 0, math.pi / 2)[0]

PATTERN = "the pattern sampled: mean and standard deviation of its luminances"


def pattern(target, ground):
    """Weber and Michelson contrast of a target on a ground."""
    both = np.array([target, ground])
    # Half light, half dark: the deviation over the mean.
    michelson = float(np.std(both) / np.mean(both))
    weber = float(np.ptp(both) / ground)
    return weber, michelson


def draw_pair(rng):
    ground = rng.uniform(5, 500)
    target = rng.choice([ground * rng.uniform(0.02, 0.9), ground * rng.uniform(1.1, 8)])
    return {"target_luminance_cd_m2": target, "background_luminance_cd_m2": ground}


def draw_contrasts(rng):
    drawn = draw_pair(rng)
    return {**drawn, "target_area_fraction": rng.uniform(0.02, 0.5)} if rng.random() < 0.8 else drawn


@reference(
    "contrasts",
    PATTERN,
    draw_contrasts,
    {"target_luminance_cd_m2": [-1], "background_luminance_cd_m2": [0, -1], "target_area_fraction": [-0.1, 1.5]},
)
def contrasts(q):
    target, ground = q["target_luminance_cd_m2"], q["background_luminance_cd_m2"]
    positive(ground)
    if target < 0 or target == ground:
        raise Refused("no pattern")
    weber, michelson = pattern(target, ground)
    found = {
        "weber_magnitude": weber,
        "michelson": michelson,
        "polarity": "dark_on_light" if target < ground else "light_on_dark",
        "luminance_ratio": math.exp(abs(math.log(target) - math.log(ground))),
    }
    if "target_area_fraction" in q:
        between(q["target_area_fraction"], 0, 1)
        share = [q["target_area_fraction"], 1 - q["target_area_fraction"]]
        mean = np.average([target, ground], weights=share)
        found["rms"] = float(math.sqrt(np.average((np.array([target, ground]) - mean) ** 2, weights=share)) / mean)
    return found


def draw_surfaces(rng):
    ground = rng.uniform(0.05, 0.9)
    return {"target_reflectance": ground * rng.uniform(0.02, 0.9), "background_reflectance": ground}


@reference(
    "contrast_from_reflectance",
    PATTERN + ", under light integrated over the half space",
    draw_surfaces,
    {"target_reflectance": [-0.1, 1.5], "background_reflectance": [-1, 1.5]},
)
def surfaces(q):
    target, ground = q["target_reflectance"], q["background_reflectance"]
    between(target, 0, 1)
    between(ground, 0, 1)
    weber, michelson = pattern(target * 371 / HALF_SPACE, ground * 371 / HALF_SPACE)
    return {"weber_magnitude": weber, "michelson": michelson}


@reference(
    "michelson_to_weber",
    "root finding for the pattern that has this Michelson contrast",
    lambda rng: {"michelson": rng.uniform(0.05, 0.95), "polarity": rng.choice(["dark_on_light", "light_on_dark"])},
    {"michelson": [-0.1, 1.5], "polarity": ["grey"]},
)
def to_weber(q):
    between(q["michelson"], 0, 1)
    if q["polarity"] == "dark_on_light":
        return {"weber_magnitude": root(lambda w: pattern(1 - w, 1.0)[1] - q["michelson"], 0.0, 1.0)}
    if q["polarity"] == "light_on_dark":
        return {"weber_magnitude": root(lambda w: pattern(1 + w, 1.0)[1] - q["michelson"], 0.0, 1e4)}
    raise Refused("no polarity")


PROJECTOR = {"projector_white_lux": [0, -400], "projector_black_lux": [-1, 2000]}


def draw_projector(rng):
    white = rng.uniform(50, 1500)
    return {"projector_white_lux": white, "projector_black_lux": white * rng.uniform(0.0005, 0.01)}


@reference(
    "projector_contrast",
    "light integrated over the half space, and the pattern sampled",
    lambda rng: {
        **draw_projector(rng),
        "ambient_on_screen_lux": rng.uniform(1, 800),
        "screen_reflectance_or_gain": rng.uniform(0.5, 1.3),
    },
    {**PROJECTOR, "ambient_on_screen_lux": [-1], "screen_reflectance_or_gain": [0, -1]},
)
def projected(q):
    white, black, room = q["projector_white_lux"], q["projector_black_lux"], q["ambient_on_screen_lux"]
    positive(white, q["screen_reflectance_or_gain"])
    if black < 0 or room < 0 or black >= white:
        raise Refused("no picture")
    light, dark = [(lux + room) * q["screen_reflectance_or_gain"] / HALF_SPACE for lux in (white, black)]
    weber, michelson = pattern(dark, light)
    return {
        "white_cd_m2": light,
        "black_cd_m2": dark,
        "system_ratio": math.exp(math.log(light) - math.log(dark)),
        "weber_dark_text": weber,
        "michelson": michelson,
    }


@reference(
    "max_ambient_for_ratio",
    "root finding on the ratio in rising light",
    lambda rng: {**draw_projector(rng), "system_ratio": rng.uniform(2, 50)},
    {**PROJECTOR, "system_ratio": [0, -7, 1e6]},
)
def most_ambient(q):
    white, black, wanted = q["projector_white_lux"], q["projector_black_lux"], q["system_ratio"]
    if black <= 0 or black >= white or wanted <= 1 or white < wanted * black:
        raise Refused("not even in the dark")
    return {"max_ambient_lux": root(lambda room: (white + room) - wanted * (black + room), 0, 1e7)}


def draw_wanted(rng):
    drawn = draw_projector(rng)
    dark = 1 - drawn["projector_black_lux"] / drawn["projector_white_lux"]
    return {**drawn, "weber_dark_text": dark * rng.uniform(0.1, 0.99)}


@reference(
    "max_ambient_for_contrast",
    "root finding on the pattern sampled in rising light",
    draw_wanted,
    {**PROJECTOR, "weber_dark_text": [0, -0.5, 1.5]},
)
def most_ambient_for(q):
    white, black, wanted = q["projector_white_lux"], q["projector_black_lux"], q["weber_dark_text"]
    if not 0 <= black < white or not 0 < wanted <= pattern(black, white)[0]:
        raise Refused("not even in the dark")
    return {"max_ambient_lux": root(lambda room: pattern(black + room, white + room)[0] - wanted, 0, 1e7)}


def draw_readings(rng):
    own, room = draw_projector(rng), rng.uniform(1, 600)
    return {
        "white_reading_lux": own["projector_white_lux"] + room,
        "black_reading_lux": own["projector_black_lux"] + room,
        "off_reading_lux": room,
        "slide_weber": rng.choice([1.0, rng.uniform(0.1, 1)]),
    }


@reference(
    "screen_readings",
    "the slide's grey as light between black and white, integrated over the half space, and the pattern sampled",
    draw_readings,
    {"white_reading_lux": [0, -5], "black_reading_lux": [-1, 1e5], "off_reading_lux": [-1, 1e5], "slide_weber": [-1, 2]},
    Tolerance(rel=1e-9, abs=1e-9, why="the projector's black is a difference of nearly equal readings"),
)
def readings(q):
    white, black, off = q["white_reading_lux"], q["black_reading_lux"], q["off_reading_lux"]
    positive(white)
    between(q["slide_weber"], 0, 1)
    if not 0 <= off <= black < white:
        raise Refused("no such readings")
    grey = np.interp(q["slide_weber"], [0, 1], [white, black])
    found = {
        "weber_writing": pattern(grey / HALF_SPACE, white / HALF_SPACE)[0],
        "projector_white_lux": float(exact(white) - exact(off)),
        "projector_black_lux": float(exact(black) - exact(off)),
    }
    return {**found, "system_ratio": math.exp(math.log(white) - math.log(black))} if black > 0 else found


@reference(
    "log_cs_to_threshold",
    "root finding",
    lambda rng: {"log_cs": rng.uniform(0, 2.4)},
    {"log_cs": [-1, 30]},
)
def threshold(q):
    between(q["log_cs"], 0, 3)
    return {"threshold_weber": root(lambda c: -math.log10(c) - q["log_cs"], 1e-4, 10)}


@reference(
    "log_cs_from_letters",
    "counting letter by letter in exact fractions",
    lambda rng: {
        "letters_in_full_contrast_row": rng.choice([3, 5, 6]),
        "letters_read": rng.randint(6, 48),
        "log_per_letter": rng.choice([0.05, 0.02, 0.04]),
    },
    {"letters_read": [0], "log_per_letter": [0, -0.05]},
)
def letters(q):
    positive(q["log_per_letter"])
    if q["letters_read"] < q["letters_in_full_contrast_row"]:
        raise Refused("the first row was not read")
    value = Fraction(0)
    for _ in range(q["letters_read"] - q["letters_in_full_contrast_row"]):
        value += exact(q["log_per_letter"])
    return {"log_cs": float(value)}


def encoded(linear):
    """The sRGB curve as it is written onto a screen (the way forth, not back)."""
    return 12.92 * linear if linear <= 0.0031308 else 1.055 * linear ** (1 / 2.4) - 0.055


# Light of every level that eight bits can name, looked for on the curve.
LEVELS = [root(lambda light, level=level: encoded(light) - level / 255, -0.01, 1.01) for level in range(256)]
COLOURS = Tolerance(rel=2e-7, abs=1e-10, why="both branches of sRGB's curve meet in rounded constants")


@reference(
    "wcag_ratio",
    "table search: the light of 256 levels by root finding on the curve that writes them",
    lambda rng: {key: [rng.randint(0, 255) for _ in "rgb"] for key in ("foreground_rgb8", "background_rgb8")},
    {"foreground_rgb8": [[0, 0], [0, 0, 256], [0, -1, 0], [0.5, 0, 0]]},
    COLOURS,
)
def colours(q):
    shown = []
    for colour in q.values():
        if len(colour) != 3 or any(level not in range(256) for level in colour):
            raise Refused("no colour")
        shown.append(sum(LEVELS[level] * part for level, part in zip(colour, (0.2126, 0.7152, 0.0722))))
    low, high = sorted(shown)
    found = {
        "ratio": (high + 0.05) / (low + 0.05),
        "relative_luminance_high": high,
        "relative_luminance_low": low,
    }
    return {**found, "michelson_no_flare": pattern(low, high)[1]} if high > 0 else found


@reference(
    "wcag_to_weber",
    "root finding for the text that has this ratio",
    lambda rng: {"ratio": rng.uniform(1.2, 7), "background_relative_luminance": rng.uniform(0.5, 1)},
    {"ratio": [0, -3, 200], "background_relative_luminance": [0, -1, 2]},
    Tolerance(abs=1e-11, why="the text's light is a difference of nearly equal numbers"),
)
def ratio_to_weber(q):
    ground = q["background_relative_luminance"]
    positive(ground)
    between(ground, 0, 1)
    if not 1 <= q["ratio"] <= (ground + 0.05) / 0.05:
        raise Refused("no such text")
    text = root(lambda y: (ground + 0.05) - q["ratio"] * (y + 0.05), -0.01, 1.0)
    return {
        "text_relative_luminance": text,
        "weber_no_flare": pattern(text, ground)[0],
        "weber_with_5pct_flare": pattern(text + 0.05, ground + 0.05)[0],
    }


@reference(
    "log_units_below_full_contrast",
    "powers of 40 digits",
    lambda rng: {"log_units_below_full_contrast": rng.uniform(0, 2.5)},
    {"log_units_below_full_contrast": [-0.5, 30]},
)
def below(q):
    between(q["log_units_below_full_contrast"], 0, 3)
    return {"weber": power10(-q["log_units_below_full_contrast"])}


REFLECTANCE = {"reflectance": [0, -0.5, 1.5]}
HEMISPHERE = "numerical integration of the light that leaves into the half space"


@reference(
    "luminance_from_illuminance",
    HEMISPHERE,
    lambda rng: {"illuminance_lux": rng.uniform(1, 5000), "reflectance": rng.uniform(0.05, 0.95)},
    {**REFLECTANCE, "illuminance_lux": [-1]},
)
def bright(q):
    positive(q["reflectance"])
    between(q["reflectance"], 0, 1)
    if q["illuminance_lux"] < 0:
        raise Refused("less than darkness")
    return {"luminance_cd_m2": q["reflectance"] * q["illuminance_lux"] / HALF_SPACE}


@reference(
    "illuminance_for_luminance",
    HEMISPHERE + ", and root finding",
    lambda rng: {"luminance_cd_m2": rng.uniform(1, 1000), "reflectance": rng.uniform(0.05, 0.95)},
    {**REFLECTANCE, "luminance_cd_m2": [-1]},
)
def light_for(q):
    positive(q["reflectance"])
    between(q["reflectance"], 0, 1)
    if q["luminance_cd_m2"] < 0:
        raise Refused("less than darkness")
    wanted = q["luminance_cd_m2"]
    return {"illuminance_lux": root(lambda lux: q["reflectance"] * lux / HALF_SPACE - wanted, 0, 1e6)}


@reference(
    "footcandle_to_lux",
    "exact fractions of a foot",
    lambda rng: {"footcandles": rng.uniform(0.5, 1000)},
    {"footcandles": [-1]},
)
def footcandles(q):
    if q["footcandles"] < 0:
        raise Refused("less than darkness")
    return {"lux": float(exact(q["footcandles"]) / Fraction(3048, 10000) ** 2)}


def solid_angle(a, b, c):
    """The solid angle of a triangle seen from the origin, by vectors."""
    la, lb, lc = (np.linalg.norm(v) for v in (a, b, c))
    triple = abs(float(np.linalg.det(np.array([a, b, c]))))
    below = la * lb * lc + float(a @ b) * lc + float(a @ c) * lb + float(b @ c) * la
    return 2 * math.atan2(triple, below)


@reference(
    "point_source_illuminance",
    "the solid angle of a small tilted patch, seen from the lamp, by vectors",
    lambda rng: {
        "intensity_cd": rng.uniform(50, 5000),
        "distance_m": rng.uniform(0.3, 4),
        "incidence_deg": rng.uniform(0, 80),
    },
    {"distance_m": [0, -2], "incidence_deg": [90, 120, -5], "intensity_cd": [-1]},
    Tolerance(rel=1e-6, why="the patch is small, not a point"),
)
def lamp(q):
    positive(q["distance_m"])
    if q["intensity_cd"] < 0 or not 0 <= q["incidence_deg"] < 90:
        raise Refused("no light")
    tilt, side, away = math.radians(q["incidence_deg"]), 2e-4 * q["distance_m"], q["distance_m"]
    centre = np.array([0.0, 0.0, away])
    across, along = np.array([side / 2, 0, 0]), side / 2 * np.array([0, math.cos(tilt), math.sin(tilt)])
    corners = [centre + i * across + j * along for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    patch = solid_angle(*corners[:3]) + solid_angle(corners[0], *corners[2:])
    return {"lux": q["intensity_cd"] * patch / side**2}


# The lighting guide's levels as published; a table has no second method.
GUIDE = {"board_vertical": 500, "walls": 75, "ceiling": 50, "faces": 150}


@reference(
    "recommended_illuminance",
    "search in the table of the lighting guide",
    lambda rng: {"surface": rng.choice(sorted(GUIDE))},
    {"surface": ["floor", ""]},
)
def level(q):
    if q["surface"] not in GUIDE:
        raise Refused("not in the guide")
    return {"lux": float(GUIDE[q["surface"]])}
