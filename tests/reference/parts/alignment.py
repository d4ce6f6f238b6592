"""Alignment from matching points: affine by numpy, similarity and the direct homography by scikit-image, the refined
homography by scipy, triangles by scikit-image; errors of points left out by fitting anew.

scikit-image's affine estimate is no ordinary least squares (it solves the normalised homogeneous system by SVD), so numpy's
`lstsq` stands for it. All points are whole numbers, or such over 8, by formulas below.
"""

import platform
from importlib import metadata

import numpy as np
from scipy.optimize import least_squares
from scipy.spatial import Delaunay
from skimage.transform import PiecewiseAffineTransform, ProjectiveTransform, SimilarityTransform

from .document import dump

SIX = [(10, 12, 31, 40), (200, 18, 432, 71), (190, 150, 398, 350), (15, 160, 26, 349), (100, 80, 222, 194),
       (60, 120, 131, 270)]


def scattered(n, seed, width, height):
    """Places that a congruence scatters over a picture."""
    value, out = seed, []
    for _ in range(n):
        place = []
        for length in (width, height):
            value = (1103515245 * value + 12345) % 2147483648
            place.append(value // 4096 % length)
        out.append(tuple(place))
    return out


def wobble(x, y, most):
    """A whole number from -most to most, and another."""
    return (7 * x + 3 * y) % (2 * most + 1) - most, (5 * x + 11 * y) % (2 * most + 1) - most


def straight(x, y):
    """Turned a little, twice as large; in eighths."""
    u, v = wobble(x, y, 9)
    return (16 * x - 2 * y) // 1 + 105 + u, 2 * x + 16 * y - 80 + v


def small(x, y):
    """Turned by a right angle, to a twentieth of the size; in eighths."""
    u, v = wobble(x, y, 3)
    return (3000 - 2 * y) // 5 + u, (2 * x) // 5 + 40 + v


def aslant(x, y):
    """A plane seen aslant, to whole eighths."""
    w = 40000 + 6 * x - 3 * y
    return (8 * (21000 * x - 900 * y + 500000)) // w, (8 * (1200 * x + 19000 * y + 100000)) // w


def bent(x, y):
    """A warp of up to some 12 pixels, in eighths."""
    return 4 * x + x * (1000 - x) // 2600, 4 * y + (x - 500) * (y - 350) // 2200


def pairs(places, rule):
    return [(x, y, u / 8, v / 8) for (x, y), (u, v) in zip(places, (rule(*place) for place in places), strict=True)]


def cases():
    """Sets of pairs by name."""
    wide = scattered(14, 5, 1000, 700)
    return {
        "six points": [tuple(map(float, pair)) for pair in SIX],
        "three points": pairs(scattered(3, 77, 900, 700), straight),
        "four points": pairs([(20, 30), (970, 12), (955, 690), (33, 655)], aslant),
        "five points": pairs([(20, 30), (970, 12), (955, 690), (33, 655), (480, 301)], aslant),
        "twelve, straight": pairs(scattered(12, 11, 1000, 700), straight),
        "fourteen, mirrored": [(1000 - x, y, u, v) for x, y, u, v in pairs(wide, straight)],
        "forty, a twentieth of the size": pairs(scattered(40, 23, 4000, 1500), small),
        "nine, aslant": pairs(scattered(9, 31, 1000, 700), aslant),
        "thirty, aslant": pairs(scattered(30, 37, 1000, 700), aslant),
        "far from the origin": [(x + 30000, y + 20000, u, v) for x, y, u, v in pairs(wide, straight)],
        # Some 120 wide on 2000, aslant.
        "a narrow strip": pairs([(x, 2 * y + x // 3) for x, y in scattered(16, 41, 2000, 60)], straight),
        "200 points": pairs(scattered(200, 43, 5000, 4000), aslant),
    }


def places_of(given):
    """Places at which the fitted rules are compared: about the picture, also a little outside."""
    src = np.array([pair[:2] for pair in given], float)
    low, high = src.min(axis=0), src.max(axis=0)
    return [[int(low[0] + (high[0] - low[0]) * i // 4), int(low[1] + (high[1] - low[1]) * k // 4)]
            for i, k in ((0, 0), (4, 0), (2, 2), (5, 4), (-1, 3))]


def split(given):
    given = np.array(given, float)
    return given[:, :2], given[:, 2:]


def affine_at(src, dst, places):
    """Ordinary least squares by numpy, on places less their mean so that no digits are lost."""
    mean = src.mean(axis=0)
    design = np.column_stack([src - mean, np.ones(len(src))])
    rows = np.linalg.lstsq(design, dst, rcond=None)[0]
    return np.column_stack([np.asarray(places, float) - mean, np.ones(len(places))]) @ rows


def similarity_at(src, dst, places):
    return SimilarityTransform.from_estimate(src, dst)(np.asarray(places, float))


def direct_at(src, dst, places):
    return ProjectiveTransform.from_estimate(src, dst)(np.asarray(places, float))


def homography_at(src, dst, places):
    """The smallest reprojection error, from scikit-image's direct solution on, between places less their mean and scaled."""
    centre, size = src.mean(axis=0), np.sqrt(((src - src.mean(axis=0)) ** 2).sum(axis=1).mean())
    target, span = dst.mean(axis=0), np.sqrt(((dst - dst.mean(axis=0)) ** 2).sum(axis=1).mean())
    one, other = (src - centre) / size, (dst - target) / span
    start = ProjectiveTransform.from_estimate(one, other).params
    start = (start / start[2, 2]).ravel()[:8]

    def at(numbers, where):
        lifted = np.column_stack([where, np.ones(len(where))]) @ np.append(numbers, 1.0).reshape(3, 3).T
        return lifted[:, :2] / lifted[:, 2:]

    def slopes(numbers):
        w = one @ numbers[6:8] + 1.0
        row = np.column_stack([one, np.ones(len(one))]) / w[:, None]
        nothing, to = np.zeros_like(row), at(numbers, one)
        across = np.hstack([row, nothing, -to[:, :1] * row[:, :2]])
        down = np.hstack([nothing, row, -to[:, 1:] * row[:, :2]])
        return np.stack([across, down], 1).reshape(-1, 8)

    found = least_squares(lambda h: (at(h, one) - other).ravel(), start, jac=slopes, method="lm",
                          xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=100).x
    return at(found, (np.asarray(places, float) - centre) / size) * span + target


def fitted_rows(name, given, model, at, fewest):
    """What one model gives for one set."""
    src, dst = split(given)
    places = places_of(given)
    row = {"name": name, "model": model, "pairs": [list(pair) for pair in given], "places": places,
           "at": at(src, dst, places).tolist()}
    errors = at(src, dst, src) - dst
    row["rms"] = float(np.sqrt((errors ** 2).sum(axis=1).mean()))
    if len(given) > fewest and len(given) <= 40:
        row["left_out"] = []
        for i in range(len(given)):
            rest = np.arange(len(given)) != i
            row["left_out"].append((at(src[rest], dst[rest], src[i:i + 1])[0] - dst[i]).tolist())
    return row


def linear():
    rows = [fitted_rows(name, given, "affine", affine_at, 3) for name, given in cases().items()]
    rows += [fitted_rows(name, given, "similarity", similarity_at, 2) for name, given in cases().items()
             if "mirrored" not in name]
    return {"tolerance": {"relative": 1e-10, "absolute": 1e-8}, "rows": rows}


def projective():
    """Only sets that the model is held by."""
    chosen = {name: given for name, given in cases().items() if len(given) >= 4 and "strip" not in name}
    direct = [fitted_rows(name, given, "direct", direct_at, 1000) for name, given in chosen.items()]
    refined = [fitted_rows(name, given, "homography", homography_at, 5) for name, given in chosen.items()]
    for row in refined:
        # Near the least of five numbers too many the left-out ones lie on a flat floor: numbers of no use.
        if len(row["pairs"]) < 8:
            row.pop("left_out", None)
    return {"tolerance": {"relative": 1e-7, "absolute": 1e-6}, "rows": direct + refined}


def triangles():
    """Between the points; the outline is four corners, so that no flat triangle lies along it. scikit-image's inverse makes
    triangles of its own between the targets, so that it does not lead back everywhere; it is not compared."""
    rows = []
    for seed, n in ((3, 12), (19, 30), (8, 80)):
        corners = [(0, 0), (1000, 3), (998, 700), (4, 690)]
        inner = [(40 + x, 40 + y) for x, y in scattered(n - 4, seed, 920, 610)]
        given = pairs(corners + inner, bent)
        src, dst = split(given)
        places = np.array([(30 + x, 30 + y) for x, y in scattered(40, seed + 1, 940, 630)], float)
        found = PiecewiseAffineTransform.from_estimate(src, dst)
        row = {"name": f"{n} points", "pairs": [list(pair) for pair in given], "places": places.astype(int).tolist(),
               "at": found(places).tolist(), "left_out": []}
        for i in range(4, n):
            rest = np.arange(n) != i
            other = PiecewiseAffineTransform.from_estimate(src[rest], dst[rest])
            row["left_out"].append((other(src[i:i + 1])[0] - dst[i]).tolist())
        row["triangles"] = len(Delaunay(src).simplices)
        rows.append(row)
    return {"tolerance": {"relative": 1e-10, "absolute": 1e-8}, "rows": rows}


def write(path):
    """All sections, with the versions they were made with."""
    versions = {"python": platform.python_version(), **{n: metadata.version(n) for n in ("numpy", "scipy", "scikit-image")}}
    sections = {"linear": linear(), "projective": projective(), "triangles": triangles()}
    path.write_text(dump({"versions": versions, **sections}) + "\n", encoding="utf-8")
