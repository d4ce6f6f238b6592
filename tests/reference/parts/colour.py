"""Colour differences, colour-vision simulation, colour sets, and thresholds of histograms."""

import warnings

import numpy as np
from skimage import filters
from skimage.color import deltaE_ciede2000

from . import light
from .arrays import counting_arrays, pattern

with warnings.catch_warnings():
    # It says at once what optional libraries it would like.
    warnings.simplefilter("ignore")
    from colour.blindness import CVD_MATRICES_MACHADO2010 as MATRICES

DEFICIENCIES = {"protan": "Protanomaly", "deutan": "Deuteranomaly", "tritan": "Tritanomaly"}

#: Sets of colours with what they are. The first is the published palette of Okabe and Ito (2008), the second the corners
#: of the sRGB cube, which are known to fail.
SETS = {
    "okabe and ito": ["#000000", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7"],
    "corners": ["#ff0000", "#00ff00", "#0000ff", "#00ffff", "#ff00ff", "#ffff00"],
    "lights of the program": ["#e69f00", "#56b4e9", "#cc79a7", "#009e73"],
}


def linear(colour):
    return light.decode(np.array(light.channels(colour)) / 255.0)


def seen(vision, amount, severity=1.0):
    """Linear light as it looks with a deficiency."""
    if vision == "normal":
        return np.clip(amount, 0.0, 1.0)
    return np.clip(MATRICES[DEFICIENCIES[vision]][severity] @ amount, 0.0, 1.0)


def lab(amount):
    """CIELAB of linear light; as in `light.lab`."""
    relative = (light.TO_XYZ @ amount) / light.TO_XYZ.sum(axis=1)
    edge = 6.0 / 29.0
    x, y, z = np.where(relative > edge**3, np.cbrt(relative), relative / (3.0 * edge**2) + 4.0 / 29.0)
    return np.array([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)])


def difference_rows():
    """CIEDE2000 of pairs all over the space and of near ones, by scikit-image."""
    lightness, a, b = pattern(20, 12, 101), pattern(20, 12, 161, 37, 11) - 80, pattern(20, 12, 173, 23, 29) - 86
    points = np.stack([lightness.ravel(), a.ravel(), b.ravel()], axis=1).astype(float)
    rows = []
    for place, one in enumerate(points):
        far = points[(place * 7 + 3) % len(points)]
        near = one + [(place % 5) / 4.0 - 0.5, (place % 7) / 3.0 - 1.0, (place % 3) - 1.0]
        for other in (far, near):
            rows.append({"one": one.tolist(), "other": other.tolist(), "value": float(deltaE_ciede2000(one, other))})
    return rows


def vision_rows():
    """Linear light of colours as they look, by the tables that colour-science holds."""
    colours = ("#ff0000", "#00ff00", "#0000ff", "#ffffff", "#808080", "#00a050", "#e69f00", "#2c5c94", "#010203")
    return [
        {"colour": colour, "vision": vision, "severity": severity,
         "light": seen(vision, linear(colour), severity).tolist()}
        for colour in colours for vision in DEFICIENCIES for severity in (0.5, 1.0)
    ]


def set_rows():
    """The smallest difference within a set, for each vision."""
    rows = []
    for name, colours in SETS.items():
        for vision in ("normal", *DEFICIENCIES):
            labs = [lab(seen(vision, linear(colour))) for colour in colours]
            pairs = [
                (float(deltaE_ciede2000(labs[i], labs[j])), [i, j])
                for i in range(len(labs)) for j in range(i + 1, len(labs))
            ]
            value, pair = min(pairs)
            rows.append({"name": name, "colours": colours, "vision": vision, "value": value, "pair": pair})
    return rows


def minimum_error(levels, counts, is_poisson):
    """The level above which dividing has the smallest cost of Kittler and Illingworth, or of its Poisson form."""
    share = counts / counts.sum()
    best = (np.inf, None)
    # Between two humps costs are equal but for rounding: the first of them counts.
    equal = 1e-12
    for place in range(len(levels) - 1):
        cost = 0.0
        for part in (slice(None, place + 1), slice(place + 1, None)):
            weight = share[part].sum()
            mean = (share[part] * levels[part]).sum() / weight if weight > 0.0 else 0.0
            spread = (share[part] * (levels[part] - mean) ** 2).sum() / weight if weight > 0.0 else 0.0
            if weight <= 0.0 or (mean if is_poisson else spread) <= 0.0:
                cost = np.inf
                break
            if is_poisson:
                cost -= weight * (np.log(weight) + mean * np.log(mean))
            else:
                cost += weight * np.log(spread) - 2.0 * weight * np.log(weight)
        if cost < best[0] - equal:
            best = (cost, float(levels[place]))
    return best[1]


def valley(array):
    """Of scikit-image; null where it finds no two humps."""
    try:
        return float(filters.threshold_minimum(array))
    except RuntimeError:
        return None


def threshold_rows():
    """Thresholds of the counting arrays; scikit-image has a level for each whole number."""
    rows = []
    for name in ("iron", "copper", "manganese", "zinc", "lead"):
        array = counting_arrays()[name].astype(np.int64)
        levels = np.arange(array.min(), array.max() + 1).astype(float)
        counts = np.bincount((array - array.min()).ravel()).astype(float)
        rows.append({
            "name": name, "file": f"background/{name}.npy",
            "otsu": float(filters.threshold_otsu(array)),
            "triangle": float(filters.threshold_triangle(array)),
            "isodata": float(filters.threshold_isodata(array)),
            "li": float(filters.threshold_li(array)),
            "minimum_error": minimum_error(levels, counts, is_poisson=False),
            "poisson_minimum_error": minimum_error(levels, counts, is_poisson=True),
            "valley": valley(array),
        })
    return rows


def all_tables():
    """The sections of this module."""
    return {
        "ciede2000": {"tolerance": {"absolute": 1e-9}, "rows": difference_rows()},
        "colour_vision": {"tolerance": {"absolute": 1e-12}, "rows": vision_rows()},
        "colour_sets": {"tolerance": {"absolute": 1e-9}, "rows": set_rows()},
        "thresholds": {"tolerance": {"absolute": 1e-6}, "rows": threshold_rows()},
    }


def comparisons():
    """Values computed apart, as in `published.py`: (what and where from, computed, expected, absolute tolerance)."""
    printed = {
        "iron": (34.0, 13.0, 34.0, 22.76343279272412, 12.0, 25.0, 24.0),
        "copper": (8.0, 9.0, 17.0, 13.822838900319798, 8.0, 8.0, 4.0),
        "manganese": (7.0, 3.0, 7.0, 4.577520754612667, 2.0, 5.0, 16.0),
    }
    keys = ("otsu", "triangle", "isodata", "li", "minimum_error", "poisson_minimum_error", "valley")
    for row in threshold_rows():
        for key, expected in zip(keys, printed.get(row["name"], ()), strict=False):
            yield f"{key} of {row['name']} (computed apart with scikit-image 0.26.0)", row[key], expected, 1e-6
    smallest = {"normal": 21.73, "protan": 12.25, "deutan": 11.61, "tritan": 10.87}
    for row in set_rows():
        if row["name"] == "okabe and ito":
            what = f"Okabe and Ito's palette, {row['vision']} (computed apart with colour-science 0.4.7)"
            yield what, row["value"], smallest[row["vision"]], 0.02
