"""Comparing two regions: rates, means with an effective number of pixels, ranks, blocks, lines.

Everything is on the six integer arrays of `arrays.counting_arrays` or on plain numbers. No random generator: resampling takes
the stated linear congruential generator.
"""

import math

import numpy as np
from scipy import special, stats

from . import arrays, document

ABOUT_DISTANCES = "ring k holds the pairs with floor(distance + 1/2) = k"


def discs():
    """The two discs of the arrays as masks, and the rectangle."""
    y, x = np.mgrid[0:48, 0:64]
    one = (x - 18) ** 2 + (y - 16) ** 2 <= 144
    two = (x - 46) ** 2 + (y - 30) ** 2 <= 100
    return one, two, (x >= 8) & (x < 30) & (y >= 24) & (y < 44)


def rate_rows():
    """Ratios of rates with the exact interval; scipy's binomtest gives the share."""
    rows = []
    for a, of_a, b, of_b in (
            (11, 800, 21, 3011), (4490, 441, 4060, 317), (30, 1, 20, 1), (5, 1, 2, 1), (0, 1, 3, 1), (3, 1, 0, 1),
            (120, 1, 400, 1), (7, 2.5, 9, 0.4)):
        share = stats.binomtest(a, a + b).proportion_ci(0.95, "exact")
        odds = [share.low / (1 - share.low), math.inf if share.high == 1 else share.high / (1 - share.high)]
        low, high = (value * of_b / of_a for value in odds)
        ratio = a / of_a / (b / of_b) if b else None
        rows.append({"a": a, "exposure_a": of_a, "b": b, "exposure_b": of_b, "ratio": ratio, "low": low,
                     "high": high if math.isfinite(high) else None})
    return rows


def means_test_rows():
    """scipy.stats.poisson_means_test."""
    rows = []
    for a, of_a, b, of_b in (
            (0, 100, 3, 100), (3, 100, 0, 100), (20, 10, 12, 10), (4490, 441, 4060, 317), (5, 1, 50, 7), (0, 3, 0, 5),
            (61, 13, 62, 13), (1, 1000, 9, 1000), (2000, 10, 2100, 10)):
        found = stats.poisson_means_test(a, of_a, b, of_b)
        rows.append({"a": a, "exposure_a": of_a, "b": b, "exposure_b": of_b,
                     "statistic": float(found.statistic), "p": float(found.pvalue)})
    return rows


def student_rows():
    """Two-sided tails and quantiles of Student's t."""
    rows = []
    for freedom in (0.7, 1, 2, 3.384, 10, 57.3, 380.45, 5000, 250000, 3e6, 1e9):
        for t in (0.1, 1.0, 1.96, 6.1112, 20.0):
            rows.append({"freedom": freedom, "t": t, "p": float(2 * stats.t.sf(t, freedom))})
        for alpha in (0.5, 0.05, 0.001, 1e-6):
            rows.append({"freedom": freedom, "alpha": alpha, "quantile": float(stats.t.isf(alpha / 2, freedom))})
    return rows


def ring_correlations(values, inside):
    """Pairs and correlations of every ring, by direct sums over all vectors between pixels."""
    values = values.astype(float)
    n = int(inside.sum())
    off = np.where(inside, values - values[inside].mean(), 0.0)
    present = inside.astype(float)
    height, width = values.shape
    products, pairs = {}, {}
    for dy in range(height):
        for dx in range(-width + 1, width):
            if dy == 0 and dx < 0:
                continue
            one = (slice(0, height - dy), slice(max(0, -dx), width - max(0, dx)))
            two = (slice(dy, height), slice(max(0, dx), width - max(0, -dx)))
            k = math.floor(math.hypot(dx, dy) + 0.5)
            twice = 1 if (dx, dy) == (0, 0) else 2
            products[k] = products.get(k, 0.0) + twice * float((off[one] * off[two]).sum())
            pairs[k] = pairs.get(k, 0.0) + twice * float((present[one] * present[two]).sum())
    variance = values[inside].var()
    rings = [(pairs[k], products[k] / pairs[k] / variance) for k in sorted(pairs) if pairs[k] > 0]
    return n, rings


def effective_n(values, inside):
    """n² / sum N_k rho_k, stopped before the first rho_k <= 0."""
    n, rings = ring_correlations(values, inside)
    total, correlations, stopped = 0.0, [], len(rings)
    for k, (pairs, correlation) in enumerate(rings):
        correlations.append(correlation)
        if k > 0 and correlation <= 0:
            stopped = k
            break
        total += pairs * correlation
    return {"n": n, "effective": n * n / total, "stopped_at": stopped, "correlations": correlations}


def effective_rows():
    """On the arrays, whole and in regions."""
    maps = arrays.counting_arrays()
    one, two, rectangle = discs()
    whole = np.ones((48, 64), dtype=bool)
    places = {"disc one": one, "disc two": two, "rectangle": rectangle, "whole": whole}
    return [
        {"map": name, "place": place, **effective_n(maps[name], places[place])}
        for name, place in (("manganese", "disc two"), ("manganese", "disc one"), ("copper", "rectangle"),
                            ("iron", "disc one"), ("iron", "whole"), ("ground", "whole"))
    ]


def ar1_rows():
    """A correlation from each value to the next: by the sum, and by the matrix of all correlations."""
    rows = []
    for n, rho in ((10, 0.26), (100, 0.5), (1, 0.9), (7, -0.4), (1000, 0.99)):
        lags = np.arange(n)
        matrix = float(rho) ** np.abs(lags[:, None] - lags[None, :])
        by_matrix = n * n / matrix.sum()
        by_sum = n / (1 + 2 * sum((1 - k / n) * rho**k for k in range(1, n)))
        assert abs(by_matrix - by_sum) < 1e-9 * by_sum
        rows.append({"n": n, "rho": rho, "effective": by_sum})
    return rows


def matrix_rows():
    """exp(-d / length) between the pixels of a grid: 1'R^-1 1 and n² / 1'R1 by numpy."""
    rows = []
    for width, height, length in ((8, 6, 2.0), (5, 5, 0.3), (10, 3, 7.0)):
        y, x = np.mgrid[0:height, 0:width]
        places = np.c_[y.ravel(), x.ravel()].astype(float)
        matrix = np.exp(-np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1)) / length)
        ones = np.ones(len(matrix))
        rows.append({"width": width, "height": height, "length": length,
                     "of_best_mean": float(ones @ np.linalg.solve(matrix, ones)),
                     "of_plain_mean": float(len(matrix) ** 2 / matrix.sum())})
    return rows


def means_row():
    """The two discs in manganese: scipy's Welch test, U, and effect sizes by their definitions."""
    maps = arrays.counting_arrays()
    one, two, _ = discs()
    a, b = maps["manganese"][one].astype(float), maps["manganese"][two].astype(float)
    found = stats.ttest_ind(a, b, equal_var=False)
    n, m = a.size, b.size
    pooled = math.sqrt(((n - 1) * a.var(ddof=1) + (m - 1) * b.var(ddof=1)) / (n + m - 2))
    d = (a.mean() - b.mean()) / pooled
    u = float(stats.mannwhitneyu(a, b).statistic)
    delta = float((a[:, None] > b[None]).mean() - (a[:, None] < b[None]).mean())
    assert abs(2 * u / (n * m) - 1 - delta) < 1e-12
    # With effective numbers: the same formulas, degrees of freedom of Satterthwaite.
    effective = [effective_n(maps["manganese"], place)["effective"] for place in (one, two)]
    parts = [a.var(ddof=1) / effective[0], b.var(ddof=1) / effective[1]]
    error = math.sqrt(sum(parts))
    freedom = sum(parts) ** 2 / sum(part**2 / (e - 1) for part, e in zip(parts, effective, strict=True))
    t = (a.mean() - b.mean()) / error
    arm = stats.t.isf(0.025, freedom) * error
    return {
        "n": [n, m], "mean": [a.mean(), b.mean()], "variance": [a.var(ddof=1), b.var(ddof=1)],
        "sum": [int(a.sum()), int(b.sum())], "t": float(found.statistic), "freedom": float(found.df),
        "p": float(found.pvalue), "interval": [float(v) for v in found.confidence_interval(0.95)],
        "cohen_d": d, "hedges_g": d * (1 - 3 / (4 * (n + m) - 9)), "u": u, "cliff_delta": delta,
        "effective": effective, "effective_t": t, "effective_freedom": freedom,
        "effective_p": float(2 * stats.t.sf(abs(t), freedom)),
        "effective_interval": [a.mean() - b.mean() - arm, a.mean() - b.mean() + arm],
    }


class Congruential:
    """s <- (1664525 s + 1013904223) mod 2^32; index(n) = floor(s n / 2^32)."""

    def __init__(self, seed):
        self.state = seed

    def index(self, n):
        self.state = (1664525 * self.state + 1013904223) % (1 << 32)
        return (self.state * n) >> 32


def bootstrap_rows():
    """Ratio of sums over resampled blocks, laid from the map's first pixel."""
    maps = arrays.counting_arrays()
    _, two, rectangle = discs()
    rows = []
    for a, b, place, inside, side, draws, seed in (
            ("zinc", "copper", "rectangle", rectangle, 4, 499, 2024),
            ("manganese", "iron", "disc two", two, 5, 200, 7)):
        blocks = []
        for top in range(0, 48, side):
            for left in range(0, 64, side):
                cut = (slice(top, top + side), slice(left, left + side))
                if inside[cut].any():
                    blocks.append([maps[name][cut][inside[cut]].astype(float).sum() for name in (a, b)])
        blocks = np.array(blocks)
        generator = Congruential(seed)
        ratios = []
        for _ in range(draws):
            drawn = blocks[[generator.index(len(blocks)) for _ in blocks]].sum(axis=0)
            ratios.append(drawn[0] / drawn[1])
        low, high = np.percentile(ratios, [2.5, 97.5])
        rows.append({"a": a, "b": b, "place": place, "side": side, "draws": draws, "seed": seed, "blocks": len(blocks),
                     "mean": np.mean(ratios), "sd": np.std(ratios, ddof=1), "low": low, "high": high})
    return rows


def profile_rows():
    """Bands over the lead map: along rows and columns by numpy's means of slices, slanting by many points in each step."""
    lead = arrays.counting_arrays()["lead"].astype(float)
    rows = []

    def row(start, end, width, means, areas):
        rows.append({"from": list(start), "to": list(end), "width": width, "means": [float(v) for v in means],
                     "areas": [float(v) for v in areas]})

    row((5, 20.5), (25, 20.5), 5, lead[18:23, 5:25].mean(axis=0), [5] * 20)
    row((40.5, 48), (40.5, 10), 3, lead[10:48, 39:42].mean(axis=1)[::-1], [3] * 38)
    row((10, 10.5), (20, 10.5), 2, (lead[9, 10:20] * 0.5 + lead[10, 10:20] + lead[11, 10:20] * 0.5) / 2, [2] * 10)
    return rows


def slanting_rows():
    """A slanting band by a lattice of 400 x 400 points in each step: good to a few 1e-4 of a value."""
    lead = arrays.counting_arrays()["lead"].astype(float)
    rows = []
    for start, end, width in (((10.0, 8.0), (40.0, 31.0), 3.5), ((50.3, 40.2), (44.1, 12.7), 1.0)):
        length = math.hypot(end[0] - start[0], end[1] - start[1])
        steps = round(length)
        along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        points = (np.arange(400) + 0.5) / 400
        means = []
        for k in range(steps):
            s = (k + points)[:, None] * length / steps
            t = (points - 0.5)[None, :] * width
            x = start[0] + s * along[0] - t * along[1]
            y = start[1] + s * along[1] + t * along[0]
            means.append(float(lead[np.floor(y).astype(int), np.floor(x).astype(int)].mean()))
        rows.append({"from": list(start), "to": list(end), "width": width, "means": means})
    return rows


def weighted_interval_rows():
    """Garwood's interval scaled to a weighted sum, for three pixels of which the first and last count in part."""
    rows = []
    for counts, weights in (((4, 7, 9), (0.5, 1.0, 0.25)), ((0, 0, 0), (0.5, 1.0, 0.25)), ((120, 80, 3), (0.125, 1.0, 0.875))):
        counts, weights = np.array(counts, dtype=float), np.array(weights)
        total, squares = (weights * counts).sum(), (weights**2 * counts).sum()
        one = squares / total if total > 0 else weights.max()
        low = 0.0 if total == 0 else float(special.gammainccinv(total / one, 0.975))
        high = float(special.gammainccinv(total / one + 1, 0.025))
        rows.append({"counts": counts.tolist(), "weights": weights.tolist(), "low": low * one / weights.sum(),
                     "high": high * one / weights.sum()})
    return rows


def write(folder):
    """`compare.json` in `folder`."""
    values = {
        "rates": {"tolerance": {"relative": 1e-9}, "rows": rate_rows()},
        "means_test": {"tolerance": {"relative": 1e-7, "absolute": 1e-9}, "rows": means_test_rows()},
        "student": {"tolerance": {"relative": 1e-9, "absolute": 1e-40}, "rows": student_rows()},
        "effective": {"tolerance": {"relative": 1e-10, "absolute": 1e-12}, "about": ABOUT_DISTANCES,
                      "rows": effective_rows()},
        "ar1": {"tolerance": {"relative": 1e-11}, "rows": ar1_rows()},
        "matrix": {"tolerance": {"relative": 1e-10}, "rows": matrix_rows()},
        "means": {"tolerance": {"relative": 1e-9}, "row": means_row()},
        "bootstrap": {"tolerance": {"relative": 1e-11}, "rows": bootstrap_rows()},
        "profile": {"tolerance": {"relative": 1e-11}, "rows": profile_rows()},
        "slanting": {"tolerance": {"absolute": 0.02}, "rows": slanting_rows()},
        "weighted": {"tolerance": {"relative": 1e-9}, "rows": weighted_interval_rows()},
    }
    (folder / "compare.json").write_text(document.dump(values) + "\n", encoding="utf-8")
