"""Co-location of two maps: coefficients by scipy and scikit-image, spatial numbers by numpy's transforms and by brute force."""

import math

import numpy as np
from scipy import stats
from scipy.spatial import distance
from skimage import measure
from statsmodels.stats.multitest import multipletests

from .arrays import counting_arrays

#: Thresholds of iron and manganese.
IRON_FROM, MANGANESE_FROM = 20, 6


class Congruential:
    """s <- (1664525 s + 1013904223) mod 2^32; a whole number below n is floor(s n / 2^32)."""

    def __init__(self, seed):
        self.state = seed

    def index(self, n):
        self.state = (1664525 * self.state + 1013904223) % 2**32
        return self.state * n // 2**32


def fisher_yates(n, chance):
    """For i from n - 1 down to 1: exchange i with a number below i + 1."""
    order = list(range(n))
    for i in range(n - 1, 0, -1):
        j = chance.index(i + 1)
        order[i], order[j] = order[j], order[i]
    return order


def maps():
    return {name: array.astype(float) for name, array in counting_arrays().items()}


def pearson(a, b):
    return float(np.corrcoef(a.ravel(), b.ravel())[0, 1])


def coefficients(named):
    iron, manganese = named["iron"], named["manganese"]
    x = np.arange(64)[None, :] * np.ones((48, 1))
    middle = (x >= 4) & (x < 60)
    above_iron, above_manganese = iron >= IRON_FROM, manganese >= MANGANESE_FROM
    sides = (iron - iron.mean()) * (manganese - manganese.mean()) > 0
    return {
        "pearson": float(measure.pearson_corr_coeff(iron, manganese)[0]),
        "pearson_masked": float(measure.pearson_corr_coeff(iron, manganese, middle)[0]),
        "pearson_iron_copper": float(measure.pearson_corr_coeff(iron, named["copper"])[0]),
        "spearman": float(stats.spearmanr(iron.ravel(), manganese.ravel()).statistic),
        "kendall_tau_b": float(stats.kendalltau(iron.ravel(), manganese.ravel()).statistic),
        "share_of_iron": float(measure.manders_coloc_coeff(iron, above_manganese)),
        "share_of_manganese": float(measure.manders_coloc_coeff(manganese, above_iron)),
        "cosine": float(measure.manders_overlap_coeff(iron, manganese)),
        "b_for_a": float((iron * manganese).sum() / (iron**2).sum()),
        "a_for_b": float((iron * manganese).sum() / (manganese**2).sum()),
        "same_side": float(sides.mean() - 0.5),
        "iron_in_manganese": float(measure.intersection_coeff(above_iron, above_manganese)),
        "manganese_in_iron": float(measure.intersection_coeff(above_manganese, above_iron)),
        "jaccard": float(1 - distance.jaccard(above_iron.ravel(), above_manganese.ravel())),
        "dice": float(1 - distance.dice(above_iron.ravel(), above_manganese.ravel())),
        "partial_given_zinc": partial(iron, manganese, named["zinc"]),
    }


def partial(a, b, c):
    """Correlation of what is left of A and of B after a straight line in C (numpy's least squares)."""
    line = np.column_stack([np.ones(c.size), c.ravel()])
    left = [v.ravel() - line @ np.linalg.lstsq(line, v.ravel(), rcond=None)[0] for v in (a, b)]
    return pearson(*left)


def parting(a, b):
    """The sequential walk down the orthogonal line; numpy only."""
    a, b = a.ravel(), b.ravel()
    variance_a, variance_b = a.var(ddof=1), b.var(ddof=1)
    covariance = 0.5 * ((a + b).var(ddof=1) - variance_a - variance_b)
    difference = variance_b - variance_a
    slope = (difference + math.sqrt(difference**2 + 4 * covariance**2)) / (2 * covariance)
    offset = b.mean() - slope * a.mean()
    row = {"slope": slope, "offset": offset, "a": None, "b": None, "below": None, "above": None}
    for threshold in range(int(a.max()), int(a.min()), -1):
        below = (a <= threshold) | (b <= slope * threshold + offset)
        if below.sum() > 2 and a[below].std() > 0 and b[below].std() > 0:
            r = pearson(a[below], b[below])
            if r <= 0:
                row.update(a=float(threshold), b=slope * threshold + offset, below=r, above=int((~below).sum()))
                break
    return {name: float(value) if isinstance(value, np.floating) else value for name, value in row.items()}


def blocks_moved(image, side, order):
    moved = np.empty_like(image)
    across = image.shape[1] // side
    for to, source in enumerate(order):
        (y, x), (from_y, from_x) = divmod(to, across), divmod(source, across)
        moved[y * side:(y + 1) * side, x * side:(x + 1) * side] = (
            image[from_y * side:(from_y + 1) * side, from_x * side:(from_x + 1) * side])
    return moved


def shuffling(named):
    iron, manganese, copper = named["iron"], named["manganese"], named["copper"]
    observed = pearson(iron, manganese)
    chance = Congruential(12345)
    shuffled = np.array([
        pearson(iron, blocks_moved(manganese, 8, fisher_yates(48, chance))) for _ in range(199)])
    spreads = []
    for side in (1, 2, 4, 8, 16):
        chance, count = Congruential(777), (48 // side) * (64 // side)
        found = [pearson(iron, blocks_moved(copper, side, fisher_yates(count, chance))) for _ in range(99)]
        spreads.append({"side": side, "spread": float(np.std(found, ddof=1))})
    return {
        "five_i_and_seven": pearson(iron, blocks_moved(manganese, 8, [(5 * i + 7) % 48 for i in range(48)])),
        "eleven_i_and_three": pearson(iron, blocks_moved(manganese, 8, [(11 * i + 3) % 48 for i in range(48)])),
        "mean": float(shuffled.mean()), "spread": float(shuffled.std(ddof=1)), "most": float(shuffled.max()),
        "p": float((1 + (shuffled >= observed).sum()) / 200), "spreads": spreads,
    }


def shifting(named):
    """np.roll for one shift, and every shift by direct sums."""
    iron, manganese, copper = named["iron"], named["manganese"], named["copper"]

    def share(other):
        found = pearson(iron, other)
        every = np.array([pearson(iron, np.roll(other, (dy, dx), (0, 1))) for dy in range(48) for dx in range(64)])
        return float((every >= found - 1e-12).mean())

    return {"three_down_five_right": pearson(iron, np.roll(manganese, (3, 5), (0, 1))),
            "share_manganese": share(manganese), "share_copper": share(copper)}


class Lags:
    """Sums over pairs of pixels by numpy's transforms, padded to twice the size."""

    def __init__(self, a, b, mask):
        self.mask, self.size = mask, (2 * mask.shape[0], 2 * mask.shape[1])
        self.n = int(mask.sum())
        self.transform = np.fft.rfft2(mask.astype(float), self.size)
        self.pairs = np.rint(np.fft.irfft2(np.abs(self.transform) ** 2, self.size))
        dy, dx = (np.minimum(np.arange(s), s - np.arange(s)) for s in self.size)
        self.ring = np.floor(np.hypot(dy[:, None], dx[None, :]) + 0.5).astype(int)
        self.last = int(self.ring[self.pairs > 0].max())
        self.r = pearson(a[mask], b[mask])
        self.products = [self._products(values) for values in (a, b)]

    def _products(self, values):
        centred = np.where(self.mask, values - values[self.mask].mean(), 0.0)
        power = np.abs(np.fft.rfft2(centred, self.size)) ** 2
        return np.fft.irfft2(power, self.size) / values[self.mask].var()

    def rings(self, which, most):
        """Mean correlation in rings 0 to `most`."""
        inside = [(self.pairs > 0) & (self.ring == k) for k in range(most + 1)]
        return [float(self.products[which][ring].sum() / self.pairs[ring].sum()) for ring in inside]

    def effective(self, most=None):
        """1 + tr(P SA) tr(P SB) / tr(P SA P SB)."""
        most, n = self.last if most is None else most, self.n
        kernels, rows = [], []
        for which in (0, 1):
            kernel = np.zeros(self.size)
            for k, value in enumerate(self.rings(which, most)):
                kernel[(self.pairs > 0) & (self.ring == k)] = value
            kernel[0, 0] = 1.0
            spread = np.fft.irfft2(self.transform * np.fft.rfft2(kernel), self.size)
            kernels.append(kernel)
            rows.append(spread[:self.mask.shape[0], :self.mask.shape[1]][self.mask])
        (u, v), squares = rows, (self.pairs * kernels[0] * kernels[1]).sum()
        trace = squares + (u.sum() * v.sum() / n - 2 * (u * v).sum()) / n
        return float(1 + (n - u.sum() / n) * (n - v.sum() / n) / trace)

    def short(self, most=None):
        """1 + 1 / var(r)."""
        some, n = self.pairs > 0, self.n
        if most is None:
            variance = (self.products[0][some] * self.products[1][some] / self.pairs[some]).sum()
        else:
            counts = [self.pairs[some & (self.ring == k)].sum() for k in range(most + 1)]
            variance = sum(n_k * a * b for n_k, a, b in zip(counts, self.rings(0, most), self.rings(1, most), strict=True))
        return float(1 + n * n / variance)


def t_test(r, effective):
    freedom = effective - 2
    return float(stats.f.sf(freedom * r * r / (1 - r * r), 1, freedom))


def brute_force(a, b):
    """The effective number from the matrices themselves, for few pixels."""
    y, x = (axis.ravel() for axis in np.mgrid[0:a.shape[0], 0:a.shape[1]])
    ring = np.floor(np.hypot(y[:, None] - y[None, :], x[:, None] - x[None, :]) + 0.5).astype(int)
    n, diagonal, matrices = a.size, np.eye(a.size, dtype=bool), []
    for values in (a, b):
        centred, matrix = (values - values.mean()).ravel(), np.eye(n)
        for k in range(1, ring.max() + 1):
            inside = (ring == k) & ~diagonal
            matrix[inside] = np.outer(centred, centred)[inside].sum() / inside.sum() / values.var()
        matrices.append(matrix)
    p = np.eye(n) - 1 / n
    one, other = (p @ matrix for matrix in matrices)
    return float(1 + np.trace(one) * np.trace(other) / np.trace(one @ other))


def sums_of_squares(values, side):
    return values.reshape(values.shape[0] // side, side, values.shape[1] // side, side).sum((1, 3))


def effective_rows(named):
    """Every form of the effective number that is checked, with what it is of."""
    rows = []
    disc = ((np.arange(64)[None, :] - 30) ** 2 + (np.arange(48)[:, None] - 24) ** 2) <= 400
    cases = (("iron", "manganese", 1, None, None), ("iron", "copper", 1, None, None),
             ("iron", "manganese", 1, 16, None), ("iron", "manganese", 4, None, None),
             ("iron", "copper", 4, None, None), ("iron", "manganese", 1, None, "disc"),
             ("copper", "zinc", 1, None, "disc"))
    for one, other, side, most, mask in cases:
        a, b = (sums_of_squares(named[name], side) for name in (one, other))
        lags = Lags(a, b, disc if mask else np.ones(a.shape, bool))
        effective = lags.effective(most)
        row = {"a": one, "b": other, "side": side, "most": most, "mask": mask, "n": lags.n, "r": lags.r,
               "effective": effective, "p": t_test(lags.r, effective),
               "short_every_lag": lags.short(), "short_16": lags.short(16) if side == 1 else None}
        if side == 4:
            row["brute_force"] = brute_force(a, b)
        rows.append(row)
    return rows


def corner(named):
    """48 pixels with a gradient put on: the short form by brute force over every pair."""
    a = named["iron"][4:10, 14:22] + 3 * np.arange(8)[None, :]
    b = named["manganese"][4:10, 14:22] + 2 * np.arange(8)[None, :]
    sums, da, db = {}, a - a.mean(), b - b.mean()
    places = [(y, x) for y in range(6) for x in range(8)]
    for here in places:
        for there in places:
            lag = (there[0] - here[0], there[1] - here[1])
            n, one, other = sums.get(lag, (0, 0.0, 0.0))
            sums[lag] = (n + 1, one + da[here] * da[there], other + db[here] * db[there])
    variance = sum(one * other / n for n, one, other in sums.values()) / (48 * 48 * a.var() * b.var())
    return {"a": a.ravel().tolist(), "b": b.ravel().tolist(), "short_every_lag": float(1 + 1 / variance)}


def known():
    """6 x 8 pixels of which the correlation is exp(-distance / 2) exactly, by the matrices."""
    y, x = (axis.ravel() for axis in np.mgrid[0:6, 0:8])
    matrix = np.exp(-np.hypot(y[:, None] - y[None, :], x[:, None] - x[None, :]) / 2)
    off = np.eye(48) - 1 / 48
    part = off @ matrix
    return {"effective": float(1 + np.trace(part) ** 2 / np.trace(part @ part))}


def moran(values):
    centred = values - values.mean()
    products = (centred[:, 1:] * centred[:, :-1]).sum() + (centred[1:] * centred[:-1]).sum()
    weights = values.shape[0] * (values.shape[1] - 1) + (values.shape[0] - 1) * values.shape[1]
    return float(values.size / weights * products / (centred**2).sum())


def neighbours(named):
    iron, manganese = named["iron"], named["manganese"]
    lags = Lags(iron, manganese, np.ones(iron.shape, bool))
    rings = [lags.rings(which, 16) for which in (0, 1)]
    return {
        "rings_iron": rings[0], "rings_manganese": rings[1],
        "length_iron": next(k for k in range(17) if rings[0][k] < math.exp(-1)),
        "length_manganese": next(k for k in range(17) if rings[1][k] < math.exp(-1)),
        "moran": {name: moran(named[name]) for name in ("iron", "manganese", "copper", "ground")},
    }


def transform():
    """A transform of 16 x 8 by numpy, as rows of real and imaginary parts."""
    y, x = np.mgrid[0:8, 0:16]
    values = (7 * x + 3 * y * y) % 11 + 1j * ((5 * x * y + 2 * x) % 13)
    found = np.fft.fft2(values)
    return {"real": found.real.ravel().tolist(), "imaginary": found.imag.ravel().tolist()}


def tails():
    """Student's tail of a correlation, far and near, by scipy."""
    cases = ((0.3, 7.2), (0.9, 3.1), (-0.5, 40.0), (0.01, 1e5), (0.05, 16384.0), (0.999, 12.0), (0.2, 2.001))
    return [{"r": r, "n": n, "p": t_test(r, n)} for r, n in cases]


def many():
    """Chances corrected for their number by statsmodels."""
    rows = []
    fifteen = (0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590,
               1.0)
    for chances in ((0.03, 0.5, 0.01, 0.02), fifteen, (0.9, 0.8, 0.7), (0.05,)):
        adjusted = multipletests(chances, method="holm")[1]
        rows.append({"chances": list(chances), "adjusted": [float(p) for p in adjusted]})
    return rows


def all_sections():
    named = maps()
    tight = {"relative": 1e-9, "absolute": 1e-10}
    return {
        "coefficients": {"tolerance": tight, **coefficients(named)},
        "parting": {"tolerance": tight, "copper_zinc": parting(named["copper"], named["zinc"]),
                    "iron_manganese": parting(named["iron"], named["manganese"])},
        "shuffling": {"tolerance": tight, **shuffling(named)},
        "shifting": {"tolerance": tight, **shifting(named)},
        "effective": {"tolerance": {"relative": 1e-8}, "rows": effective_rows(named), "corner": corner(named),
                      "known": known()},
        "neighbours": {"tolerance": {"absolute": 1e-10}, **neighbours(named)},
        "transform": {"tolerance": {"absolute": 1e-11}, **transform()},
        "many": {"tolerance": {"relative": 1e-12}, "rows": many()},
        "tails": {"tolerance": {"relative": 1e-8}, "rows": tails()},
    }


def comparisons():
    """The arithmetic above against values that were found before and apart from it, to the digits given there:
    (name, computed, expected, tolerance). No coefficient of co-location has a published worked example on open data that
    was found; the effective number has one for a series (see the comparison of regions)."""
    named = maps()
    found, moved = coefficients(named), shuffling(named)
    full = effective_rows(named)
    return (
        ("Pearson, iron and manganese", found["pearson"], 0.859079, 1e-6),
        ("Spearman, iron and manganese", found["spearman"], 0.867141, 1e-6),
        ("Kendall, iron and manganese", found["kendall_tau_b"], 0.769908, 1e-6),
        ("effective number, iron and manganese", full[0]["effective"], 27.198490, 1e-6),
        ("effective number, iron and copper", full[1]["effective"], 24.335093, 1e-6),
        ("effective number, 16 rings", full[2]["effective"], 38.959657, 1e-6),
        ("effective number, binned", full[3]["effective"], 21.218969, 1e-6),
        ("short form, every lag", full[0]["short_every_lag"], 14.3480, 1e-4),
        ("short form, 16 rings", full[0]["short_16"], 39.1716, 1e-4),
        ("effective number, exp(-d / 2) on 6 x 8", known()["effective"], 17.154118, 1e-6),
        ("blocks moved, 5 i + 7", moved["five_i_and_seven"], -0.144083, 1e-6),
        ("blocks moved, 11 i + 3", moved["eleven_i_and_three"], 0.062131, 1e-6),
    )
