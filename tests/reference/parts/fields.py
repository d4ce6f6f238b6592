"""Second scans by numpy and scipy: laying by areas, the ratio in an overlap, a line with errors in both.

Maps are made by whole-number formulas that the test repeats. Written to `fields.json`.
"""

import platform
from importlib import metadata

import numpy as np
from scipy import optimize, stats

from .document import dump


def first_map(width, height):
    """A painted map of whole numbers."""
    y, x = np.mgrid[0:height, 0:width].astype(np.int64)
    disc = (x - 40) ** 2 + (y - 34) ** 2 <= 400
    return 20 + (37 * x + 101 * y + 7 * x * y) % 9 + disc * (30 + x % 5)


def second_map(first):
    """About 0.87 of it, with a pattern of its own."""
    y, x = np.indices(first.shape)
    return (87 * first + (53 * x + 29 * y + 3 * x * y) % 700 - 350) // 100


def shares(cells_in, cells_out, scale, shift):
    """How much of each cell of one axis lies in each of another, as shares of the first."""
    low = scale * np.arange(cells_in) + shift
    edges = np.arange(cells_out)
    overlap = np.minimum(low[:, None] + scale, edges + 1) - np.maximum(low[:, None], edges)
    return np.clip(overlap, 0.0, None) / scale


def along_axes():
    """Scaled along the axes: two matrices of overlaps."""
    source = first_map(31, 23).astype(float)
    rows = []
    for scale_x, shift_x, scale_y, shift_y, width, height in (
            (0.7, 0.0, 0.55, 0.0, 22, 13), (1.3, -2.4, 0.9, 1.6, 30, 25), (0.25, 1.1, 0.25, 0.3, 9, 7)):
        across, down = shares(31, width, scale_x, shift_x), shares(23, height, scale_y, shift_y)
        rows.append({
            "scale_x": scale_x, "shift_x": shift_x, "scale_y": scale_y, "shift_y": shift_y,
            "width": width, "height": height, "beside": float(source.sum() - (down.T @ source @ across).sum()),
            "sums": (down.T @ source @ across).ravel().tolist()})
    return {"tolerance": {"relative": 1e-9, "absolute": 1e-9}, "rows": rows}


def turned():
    """Turned and scaled: each pixel split into 600 x 600 points, whose places are counted (exact to about 1/600)."""
    source = first_map(6, 5).astype(float)
    fine = (np.arange(600) + 0.5) / 600
    rows = []
    for degrees, scale, shift_x, shift_y in ((17.0, 0.8, 3.0, 1.0), (-40.0, 1.4, 1.0, 5.0)):
        c, s = scale * np.cos(np.radians(degrees)), scale * np.sin(np.radians(degrees))
        sums = np.zeros((11, 11))
        for y in range(5):
            for x in range(6):
                px, py = np.meshgrid(x + fine, y + fine)
                at_x = np.floor(c * px - s * py + shift_x).astype(int).ravel()
                at_y = np.floor(s * px + c * py + shift_y).astype(int).ravel()
                inside = (at_x >= 0) & (at_x < 11) & (at_y >= 0) & (at_y < 11)
                np.add.at(sums, (at_y[inside], at_x[inside]), source[y, x] / fine.size ** 2)
        rows.append({"matrix": [c, -s, shift_x, s, c, shift_y, 0.0, 0.0, 1.0], "sums": sums.ravel().tolist()})
    return {"tolerance": {"absolute": 0.15}, "rows": rows}


def overlap_rows():
    """Two maps that lie on each other: sums of inner blocks of 8 x 8, jackknife, counting; a bootstrap beside it."""
    first = first_map(96, 80)
    second = second_map(first)
    blocks = [(slice(8 * j, 8 * j + 8), slice(8 * i, 8 * i + 8)) for j in range(1, 9) for i in range(1, 11)]
    x = np.array([first[b].sum() for b in blocks], dtype=float)
    y = np.array([second[b].sum() for b in blocks], dtype=float)
    n, ratio = len(blocks), y.sum() / x.sum()
    without = (y.sum() - y) / (x.sum() - x)
    jackknife = np.sqrt((n - 1) / n * ((without - without.mean()) ** 2).sum())
    rng = np.random.default_rng(5)
    drawn = rng.integers(0, n, (20000, n))
    bootstrap = (y[drawn].sum(axis=1) / x[drawn].sum(axis=1)).std(ddof=1)
    counting = ratio * np.sqrt(1 / x.sum() + 1 / y.sum())
    reach = max(counting, jackknife) * stats.t.ppf(0.975, n - 1)
    return {"tolerance": {"relative": 1e-5}, "blocks": n, "ratio": ratio, "jackknife": jackknife, "bootstrap": bootstrap,
            "counting": counting, "low": ratio - reach, "high": ratio + reach}


def line_rows():
    """The line of least weighted distance with errors in both, by minimising chi squared with scipy."""
    x = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    cases = [("Pearson's points, York's weights", x, y,
              1 / np.array([1000, 1000, 500, 800, 200, 80, 60, 20, 1.8, 1.0]),
              1 / np.array([1, 1.8, 4, 8, 20, 20, 70, 70, 100, 500.0]))]
    i = np.arange(40)
    u = 20.0 + (37 * i) % 91
    v = 6.0 + 0.87 * u + ((53 * i) % 17 - 8) / 3
    cases.append(("an offset of 6", u, v, u / 4, v / 5))
    rows = []
    for name, a, b, variance_a, variance_b in cases:
        def chi(p, a=a, b=b, va=variance_a, vb=variance_b):
            return ((b - p[0] - p[1] * a) ** 2 / (vb + p[1] ** 2 * va)).sum()
        start = np.polyfit(a, b, 1)[::-1]
        best = optimize.minimize(chi, start, method="Nelder-Mead",
                                 options={"xatol": 1e-12, "fatol": 1e-14, "maxiter": 20000, "maxfev": 20000})
        rows.append({"name": name, "x": a.tolist(), "y": b.tolist(), "variance_x": variance_a.tolist(),
                     "variance_y": variance_b.tolist(), "offset": float(best.x[0]), "slope": float(best.x[1]),
                     "scatter": float(best.fun / (len(a) - 2))})
    return {"tolerance": {"relative": 1e-6}, "rows": rows}


def versions():
    """The libraries that took part."""
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in ("numpy", "scipy")}}


def write(path):
    """Writes the sections about second scans."""
    values = {"versions": versions(), "along axes": along_axes(), "turned": turned(), "overlap": overlap_rows(),
              "line": line_rows()}
    path.write_text(dump(values) + "\n", encoding="utf-8")
