"""Repaired and derived maps on the integer arrays: filters, bins, line factors, moved lines, errors.

Each value is what numpy, scipy or scikit-image gives for the definition in the README; nothing here is drawn at random.
"""

import math
import platform
from importlib import metadata

import numpy as np
from scipy import ndimage, optimize, stats
from skimage.measure import block_reduce
from skimage.registration import phase_cross_correlation

from .arrays import counting_arrays
from .document import dump

#: The eight neighbours of a pixel.
RING = np.array([[1, 1, 1], [1, 0, 1], [1, 1, 1]])


def anscombe(n):
    return 2.0 * np.sqrt(np.asarray(n, dtype=np.float64) + 0.375)


def closed_form(d):
    """Makitalo and Foi (2011), the closed form of the unbiased inverse; 0 below the value of no counts."""
    if d < 1.2247:
        return 0.0
    return d * d / 4 + math.sqrt(1.5) / (4 * d) - 11 / (8 * d * d) + 5 * math.sqrt(1.5) / (8 * d**3) - 1 / 8


def exact_inverse(d):
    """The Poisson mean whose stabilised counts have the mean d."""
    counts = np.arange(0, 600)

    def off(mean):
        return float((stats.poisson.pmf(counts, mean) * anscombe(counts)).sum() - d)

    return 0.0 if d <= float(anscombe(0)) else float(optimize.brentq(off, 0, 400))


def stabilised():
    counts = [0, 1, 2, 5, 10, 100]
    rows = [{"n": n, "anscombe": float(anscombe(n)), "freeman_tukey": math.sqrt(n) + math.sqrt(n + 1)} for n in counts]
    back = [{"d": d, "algebraic": (d / 2) ** 2 - 0.375, "closed_form": closed_form(d), "exact": exact_inverse(d)}
            for d in (1.0, 1.2246, 1.5, 2.0, 3.0, 5.0, 10.0)]
    return {"tolerance": {"relative": 1e-12, "absolute": 1e-12}, "forward": rows, "back": back}


def filters(iron):
    plain = ndimage.gaussian_filter(iron.astype(np.float64), 1.0)
    stable = ndimage.gaussian_filter(anscombe(iron), 1.0)
    wide = ndimage.gaussian_filter(iron.astype(np.float64), 13.0)
    median = ndimage.median_filter(iron, size=3)
    places = [(10, 20), (0, 0), (47, 63), (24, 40), (0, 33)]
    return {
        "tolerance": {"relative": 1e-12},
        "plain_sum": float(plain.sum()), "median_sum": int(median.sum()),
        "rows": [{
            "y": y, "x": x, "plain": float(plain[y, x]), "wide": float(wide[y, x]), "median": int(median[y, x]),
            "on_stabilised": closed_form(float(stable[y, x])),
        } for y, x in places],
    }


def bins(iron):
    rows = []
    for by in (2, 3, 5):
        whole = iron[: iron.shape[0] // by * by, : iron.shape[1] // by * by].astype(np.float64)
        sums = block_reduce(whole, (by, by), np.sum)
        padded = block_reduce(iron, (by, by), np.sum)
        rows.append({"by": by, "height": sums.shape[0], "width": sums.shape[1], "sum": int(sums.sum()),
                     "first": [int(v) for v in sums[0, :4]], "last": [int(v) for v in sums[-1, -4:]],
                     "sum_with_partial_blocks": int(padded.sum())})
    return {"tolerance": {"relative": 1e-12}, "rows": rows}


def hot(iron):
    """Inside the map only: at its edge scipy mirrors the pixel itself into its neighbourhood."""
    map_ = iron.astype(np.int64)
    map_[20, 50] += 90
    ring = ndimage.median_filter(map_, footprint=RING)
    z = anscombe(map_) - anscombe(ring)
    largest = anscombe(ndimage.maximum_filter(map_, footprint=RING))
    spread = largest - anscombe(ndimage.minimum_filter(map_, footprint=RING))
    inside = np.zeros(map_.shape, dtype=bool)
    inside[1:-1, 1:-1] = True
    listed = (z > 5) & inside & ((spread <= 5) | (anscombe(map_) - largest > 5))
    rows = [{"x": int(x), "y": int(y), "value": int(map_[y, x]), "replacement": int(ring[y, x]), "z": float(z[y, x])}
            for y, x in np.argwhere(listed)]
    return {"tolerance": {"relative": 1e-12}, "above_five": int(((z > 5)).sum()), "rows": rows}


def line_levels(lead):
    map_ = lead.astype(np.float64)
    map_[7] *= 1.25
    map_[31] *= 0.8
    medians = np.median(map_, axis=1)
    factors = medians / ndimage.median_filter(medians, size=9, mode="reflect")
    return {"tolerance": {"relative": 1e-12}, "factors": [float(f) for f in factors],
            "corrected": float(map_[7, 10] / factors[7])}


def moved(copper):
    rows = []
    for shift in (0.25, -0.43, 1.3, -2.0, 0.0):
        line = ndimage.shift(copper[25].astype(np.float64), shift, order=1, mode="constant", cval=np.nan, prefilter=False)
        rows.append({"shift": shift, "sum": float(np.nansum(line)), "line": [None if math.isnan(v) else float(v) for v in line]})
    return {"tolerance": {"relative": 1e-12, "absolute": 1e-9}, "rows": rows}


def displaced_scan():
    """The iron map, softened, with odd lines displaced to the right by 0.4 of a pixel; 100 times the counts, whole."""
    soft = ndimage.gaussian_filter(100.0 * counting_arrays()["iron"], 0.8)
    soft[1::2] = ndimage.shift(soft, (0, 0.4), order=3, mode="nearest")[1::2]
    return np.rint(soft).astype("<u2")


def shift_of(scan):
    """By scikit-image: the odd lines against the mean of those above and below; what brings them back."""
    whole = scan.astype(np.float64)
    odd, even = whole[1:-1:2], 0.5 * (whole[0:-2:2] + whole[2::2])
    window = np.hanning(whole.shape[1])[None, :]
    centred = [(part - part.mean(axis=1, keepdims=True)) * window for part in (even, odd)]
    found = phase_cross_correlation(*centred, upsample_factor=100, normalization=None)[0]
    return {"tolerance": {"absolute": 0.05}, "put_in": 0.4, "move_px": float(found[1])}


def errors(arrays):
    """Variances by first order on three pixels."""
    a, b = arrays["zinc"].astype(np.float64), arrays["copper"].astype(np.float64)
    rows = []
    for y, x in ((10, 20), (30, 15), (40, 60)):
        n, m = float(a[y, x]), float(b[y, x])
        rate = n / 0.05
        dead = 1.0 - rate * 2e-6
        rows.append({
            "y": y, "x": x, "sum": n + m, "sum_sigma": math.sqrt(n + m), "difference": n - 0.3 * m,
            "difference_sigma": math.sqrt(n + 0.09 * m), "ratio": n / m,
            "ratio_sigma": math.sqrt(n / m**2 + n**2 * m / m**4), "rate": rate, "rate_sigma": math.sqrt(n) / 0.05,
            "true_rate": rate / dead, "true_rate_sigma": math.sqrt(n) / 0.05 / dead**2,
        })
    dead = [{"measured": m, "tau_us": 2.0, "true": m / (1.0 - m * 2e-6)} for m in (1e4, 1e5)]
    return {"tolerance": {"relative": 1e-12}, "rows": rows, "dead_time": dead}


def versions():
    names = ("numpy", "scipy", "scikit-image")
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in names}}


def write(folder):
    """Writes `values.json` and the displaced scan."""
    folder.mkdir(parents=True, exist_ok=True)
    arrays = counting_arrays()
    scan = displaced_scan()
    np.save(folder / "displaced.npy", scan)
    values = {
        "versions": versions(), "stabilised": stabilised(), "filters": filters(arrays["iron"]),
        "bins": bins(arrays["iron"]), "hot": hot(arrays["iron"]), "line_levels": line_levels(arrays["lead"]),
        "moved": moved(arrays["copper"]), "shift": shift_of(scan), "errors": errors(arrays),
    }
    (folder / "values.json").write_text(dump(values) + "\n", encoding="utf-8")
