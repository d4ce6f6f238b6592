"""Tables of single numbers: counting levels and intervals, special functions, quantiles and colours."""

import numpy as np
from scipy import special

from . import counting, light
from .arrays import pattern


def critical_rows():
    """Critical levels, with the tail at the level and one count below: how clear each decision is."""
    rows = []
    for alpha in (0.05, 0.001):
        for mean in (0.0, 0.01, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 47.3, 400.0, 12345.6, 1e6):
            for relative_variance in (0.0, 1e-13, 0.0025, 0.01, 0.37):
                level = counting.critical(mean, relative_variance, alpha)
                rows.append({
                    "mean": mean, "relative_variance": relative_variance, "alpha": alpha, "critical": level,
                    "tail": counting.upper_tail(level, mean, relative_variance),
                    "tail_below": counting.upper_tail(level - 1, mean, relative_variance),
                })
    return rows


def detection_rows():
    """Detection limits S: a count of mean background + S stays below the level in beta of all cases."""
    cases = (
        (0.0, 1), (0.5, 3), (1.0, 4), (2.0, 6), (2.0, 9), (3.0, 11), (5.0, 14), (10.0, 22), (400.0, 480), (1e6, 1003100))
    return [
        {"background": background, "critical": level, "beta": beta,
         "limit": counting.detection_limit(background, level, beta)}
        for background, level in cases for beta in (0.05, 0.001)
    ]


def start_rows():
    """The mean B for which the Poisson distribution function at q equals a share."""
    cases = ((0, 0.25), (0, 0.4), (0, 0.9999), (1, 0.3), (2, 0.26), (5, 0.5), (20, 0.251), (1000, 0.25), (65534, 0.25))
    return [{"q": q, "share": share, "mean": float(special.gammainccinv(q + 1.0, share))} for q, share in cases]


def garwood_rows():
    """Exact intervals for the mean of one count."""
    rows = []
    for level in (0.95, 0.9, 0.99):
        for count in (0, 1, 2, 3, 5, 10, 25, 100, 1000, 123456, 10**7, 10**9):
            low, high = counting.garwood(count, level)
            rows.append({"count": count, "level": level, "low": low, "high": high})
    return rows


def ratio_rows():
    """Exact intervals for a ratio of two counts; a high end of null is unbounded."""
    pairs = ((30, 20), (5, 2), (0, 3), (3, 0), (120, 400), (1, 1), (7580, 13392), (3, 100000), (10**7, 3 * 10**6))
    return [
        {"a": a, "b": b, "level": level, **counting.ratio_of_counts(a, b, level)}
        for a, b in pairs for level in (0.95, 0.99)
    ]


def mover_rows():
    """Intervals for a ratio from arms of both parts; an end of null is unbounded."""
    cases = (
        (10.0, (2.0, 2.5), 20.0, (3.0, 3.5)),
        (100.0, (19.0, 21.0), 50.0, (14.0, 15.0)),
        (5.0, (7.0, 9.0), 30.0, (10.0, 11.0)),
        (-4.0, (6.0, 8.0), 30.0, (10.0, 11.0)),
        (0.0, (3.0, 4.0), 12.0, (2.0, 2.0)),
        (10.0, (2.0, 2.0), 5.0, (4.0, 6.0)),
        (10.0, (2.0, 2.0), 5.0, (6.0, 7.0)),
    )
    rows = []
    for x, x_arms, y, y_arms in cases:
        low, high = counting.mover(x, x_arms, y, y_arms)
        rows.append({"x": x, "x_arms": list(x_arms), "y": y, "y_arms": list(y_arms), "low": low, "high": high})
    return rows


def gamma_rows():
    """Regularised incomplete gamma functions, far tails included."""
    points = (
        (0.5, 1e-300), (0.5, 1e-10), (0.5, 0.5), (0.5, 30.0), (0.5, 700.0), (1.0, 0.0), (1.0, 1e-12), (1.0, 1.0),
        (1.0, 50.0), (1e-8, 1.0), (3.0, 0.001), (3.0, 3.0), (10.0, 2.0), (10.0, 10.0), (10.0, 60.0), (100.0, 1.0),
        (100.0, 60.0), (100.0, 100.0), (100.0, 250.0), (1000.0, 900.0), (1000.0, 1000.0), (1000.0, 1200.0),
        (1e6, 996000.0), (1e6, 1e6), (1e6, 1004000.0), (1e9, 999900000.0), (1e9, 1e9), (1e9, 1000100000.0),
    )
    return [
        {"a": a, "x": x, "lower": float(special.gammainc(a, x)), "upper": float(special.gammaincc(a, x))}
        for a, x in points
    ]


def gamma_inverse_rows():
    """The x at which the lower, and at which the upper, incomplete gamma function takes a given value.

    For a of a million and more only the middle is taken: beyond about 4.5 standard deviations below the mean the
    library loses digits there (see the README).
    """
    middle = (0.001, 0.025, 0.25, 0.5, 0.975, 0.999)
    points = [(a, p) for a in (0.5, 1.0, 2.0, 10.0, 1000.0) for p in (1e-12, 1e-6, *middle, 0.999999)]
    points += [(a, p) for a in (1e6, 1e9) for p in middle]
    return [
        {"a": a, "p": p, "lower": float(special.gammaincinv(a, p)), "upper": float(special.gammainccinv(a, p))}
        for a, p in points
    ]


def beta_rows():
    """Regularised incomplete beta functions and their inverses."""
    points = (
        (0.5, 0.5, 0.3), (1.0, 1.0, 0.25), (2.0, 3.0, 0.1), (2.0, 3.0, 0.999), (30.0, 21.0, 0.5), (30.0, 21.0, 0.9),
        (400.0, 9.0, 0.96), (400.0, 9.0, 0.5), (9.0, 400.0, 0.001), (1e5, 4.0, 0.99999), (1e6, 1e6, 0.5),
        (1e6, 1e6, 0.5012), (1e6, 3e6, 0.2495), (5.0, 1e7, 1e-6), (0.001, 1000.0, 1e-6), (1e-3, 1e-3, 0.5),
    )
    return [{"a": a, "b": b, "x": x, "value": float(special.betainc(a, b, x))} for a, b, x in points]


def beta_inverse_rows():
    """The x at which the incomplete beta function takes a given value."""
    shapes = ((1.0, 1.0), (2.0, 3.0), (30.0, 21.0), (400.0, 9.0), (1.0, 50.0), (1e6, 3e6), (5.0, 1e7))
    return [
        {"a": a, "b": b, "p": p, "value": float(special.betaincinv(a, b, p))}
        for a, b in shapes for p in (1e-9, 0.005, 0.025, 0.5, 0.975, 0.995)
    ]


def quantile_sets():
    """Quantiles by linear interpolation between order statistics, as numpy's default does."""
    shares = [0.0, 0.001, 0.005, 0.25, 0.5, 0.75, 0.9, 0.995, 0.999, 1.0]
    values = {
        "one": [4.0],
        "two": [3.0, 1.0],
        "tied": [2.0, 2.0, 2.0, 9.0, 2.0],
        "odd_count": pattern(9, 7, 101).ravel().astype(float).tolist(),
        "even_count": (pattern(8, 8, 97) / 8.0 - 5.0).ravel().tolist(),
    }
    return [
        {"name": name, "values": numbers, "shares": shares, "median": float(np.median(numbers)),
         "quantiles": [float(value) for value in np.quantile(numbers, shares)]}
        for name, numbers in values.items()
    ]


#: Black, white, greys, pure colours, the colours of lights, and some earths and blues.
COLOURS = (
    "#000000", "#ffffff", "#808080", "#010101", "#0a0a0a", "#ff0000", "#00ff00", "#0000ff", "#ffff00", "#00ffff",
    "#ff00ff", "#e69f00", "#56b4e9", "#009e73", "#f0e442", "#0072b2", "#d55e00", "#cc79a7", "#2c5c94", "#7b3f1d",
    "#c8b48c", "#34503a",
)


def all_tables():
    """Every table with its tolerance; whole numbers must agree exactly."""
    steps = np.arange(256) / 255.0
    lights = np.array([0.0, 1e-6, 0.001, 0.0031308, 0.0031309, 0.01, 0.05, 0.18, 0.2140, 0.5, 0.75, 0.99, 1.0])
    return {
        "critical": {"tolerance": {"relative": 1e-9, "absolute": 1e-300}, "rows": critical_rows()},
        "detection_limit": {"tolerance": {"relative": 1e-9}, "rows": detection_rows()},
        "poisson_start": {"tolerance": {"relative": 1e-9}, "rows": start_rows()},
        "garwood": {"tolerance": {"relative": 1e-9}, "rows": garwood_rows()},
        "ratio_of_counts": {"tolerance": {"relative": 1e-9}, "rows": ratio_rows()},
        "mover": {"tolerance": {"relative": 1e-12, "absolute": 1e-12}, "rows": mover_rows()},
        "gamma": {"tolerance": {"relative": 1e-9, "absolute": 1e-300}, "rows": gamma_rows()},
        "gamma_inverse": {"tolerance": {"relative": 1e-9}, "rows": gamma_inverse_rows()},
        "beta": {"tolerance": {"relative": 1e-9, "absolute": 1e-300}, "rows": beta_rows()},
        "beta_inverse": {"tolerance": {"relative": 1e-9}, "rows": beta_inverse_rows()},
        "quantiles": {"tolerance": {"relative": 1e-12, "absolute": 1e-12}, "rows": quantile_sets()},
        "srgb": {
            "tolerance": {"relative": 1e-12},
            "decode_of_each_byte": light.decode(steps).tolist(),
            "encode": [{"linear": float(value), "encoded": float(light.encode(value))} for value in lights],
        },
        "lab": {
            "tolerance": {"absolute": 0.03},
            "rows": [{"colour": colour, "lab": light.lab(colour)} for colour in COLOURS],
        },
    }
