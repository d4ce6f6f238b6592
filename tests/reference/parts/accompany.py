"""Lines A = b + k B, residuals, exact excess and deficit: numpy, scipy and statsmodels on the arrays of integer formulas.

Counts of A are the manganese of `counting_arrays`, counts of B its iron.
"""

import math
import warnings

import numpy as np
from scipy import ndimage, stats

from . import document
from .arrays import counting_arrays

#: A residual this far up leaves a pixel out of the clipped ratio.
CLIP = 3.0
MOST_ROUNDS = 20


def arrays():
    """Manganese, iron, and where iron is detected at one in a thousand above its background."""
    named = counting_arrays()
    iron, manganese = (named[name].astype(np.int64) for name in ("iron", "manganese"))
    y, x = np.mgrid[0:48, 0:64]
    discs = ((x - 18) ** 2 + (y - 16) ** 2 <= 144) | ((x - 46) ** 2 + (y - 30) ** 2 <= 100)
    empty = ~discs & ~((x >= 8) & (x < 30) & (y >= 24) & (y < 44))
    background = float(iron[empty].mean())
    critical = int(stats.poisson.ppf(1 - 0.001, background)) + 1
    return manganese, iron, background, critical, iron >= critical


def clipped_ratio(a, b):
    """Ratio of sums without what lies three standard deviations up, until that stays the same."""
    kept = np.ones(a.size, bool)
    for rounds in range(1, MOST_ROUNDS + 1):
        k = a[kept].sum() / b[kept].sum()
        after = (a - k * b) / np.sqrt(k * b + k * k * b) < CLIP
        if np.array_equal(after, kept):
            break
        kept = after
    return float(k), int(kept.sum()), rounds


def lines():
    """One row for each estimator."""
    import statsmodels.api as sm

    manganese, iron, background, critical, where = arrays()
    a, b = manganese[where].astype(float), iron[where].astype(float)
    design = np.column_stack([np.ones_like(b), b])
    straight = np.linalg.lstsq(design, a, rcond=None)[0]
    weighted = sm.WLS(a, design, weights=1.0 / np.maximum(a, 1.0)).fit().params
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        family = sm.families.Poisson(sm.families.links.Identity())
        poisson = sm.GLM(a, design, family=family).fit(tol=1e-13, maxiter=500)
    sen = stats.theilslopes(a, b)
    robust = sm.RLM(a, design, M=sm.robust.norms.HuberT(1.345)).fit(tol=1e-13, maxiter=500)
    k, kept, rounds = clipped_ratio(a, b)
    return {
        "background": background, "critical": critical, "pixels": int(where.sum()),
        "ratio_of_sums": float(a.sum() / b.sum()),
        "least_squares": {"b": float(straight[0]), "k": float(straight[1])},
        "weighted": {"b": float(weighted[0]), "k": float(weighted[1])},
        "poisson": {
            "b": float(poisson.params[0]), "k": float(poisson.params[1]), "error_b": float(poisson.bse[0]),
            "error_k": float(poisson.bse[1]), "deviance": float(poisson.deviance),
            "pearson": float(poisson.pearson_chi2)},
        "sen": {
            "b": float(sen.intercept), "k": float(sen.slope), "low": float(sen.low_slope),
            "high": float(sen.high_slope)},
        "huber": {"b": float(robust.params[0]), "k": float(robust.params[1]), "scale": float(robust.scale)},
        "clipped": {"k": k, "kept": kept, "rounds": rounds},
        "attenuation": [{"variance": 100.0, "noise": 50.0, "factor": 100.0 / 150.0}],
    }


def beyond():
    """Residuals and exact chances at two pixels, and how many pixels stand out; areas of those."""
    manganese, iron, _, _, where = arrays()
    k, _, _ = clipped_ratio(manganese[where].astype(float), iron[where].astype(float))
    share = k / (1 + k)
    z = (manganese - k * iron) / np.sqrt(k * iron + k * k * iron)
    up = stats.binom.sf(manganese - 1, manganese + iron, share)
    down = stats.binom.cdf(manganese, manganese + iron, share)
    adjusted = stats.false_discovery_control(up[where])
    found = np.zeros_like(where)
    found[where] = adjusted <= 0.01
    labels, number = ndimage.label(found, structure=np.ones((3, 3)))
    sizes = np.bincount(labels.ravel())[1:]
    return {
        "k": k,
        "pixels": [
            {"y": y, "x": x, "a": int(manganese[y, x]), "b": int(iron[y, x]), "z": float(z[y, x]),
             "p": float(up[y, x]), "p_deficit": float(down[y, x])}
            for y, x in ((30, 50), (10, 20), (16, 18), (30, 40))],
        "residuals_above_3": int((z[where] > 3).sum()),
        "discoveries_at_1_percent": int((adjusted <= 0.01).sum()),
        "deficits_at_1_percent": int((stats.false_discovery_control(down[where]) <= 0.01).sum()),
        "areas_of_10": int((sizes >= 10).sum()), "pixels_in_areas_of_10": int(sizes[sizes >= 10].sum()),
        "areas": int(number),
    }


def mixed_tails():
    """Chances where A and B have backgrounds: the count of A summed over what B may be (gamma with shape B + 1)."""
    rows = []
    for a, b, k, under_a, under_b in ((30, 60, 0.3, 2.0, 3.0), (60, 100, 0.3, 5.0, 4.0), (12, 20, 0.5, 1.5, 6.0)):
        # A = Poisson(under_a + k max(G - under_b, 0)), G gamma distributed: by numerical integration.
        shape = b + 1
        nodes = stats.gamma.ppf((np.arange(20000) + 0.5) / 20000, shape)
        means = under_a + k * np.maximum(nodes - under_b, 0.0)
        rows.append({"a": a, "b": b, "k": k, "under_a": under_a, "under_b": under_b,
                     "p": float(stats.poisson.sf(a - 1, means).mean())})
    return rows


def sections():
    """Everything of `accompany.json`."""
    return {
        "lines": {"tolerance": {"relative": 1e-7}, "rows": [lines()]},
        "beyond": {"tolerance": {"relative": 1e-9}, "rows": [beyond()]},
        # The core matches the first two moments of this mixture: p within a fifth of it.
        "mixed": {"tolerance": {"relative": 0.2}, "rows": mixed_tails()},
    }


def write(path):
    """Writes the sections."""
    path.write_text(document.dump(sections()) + "\n", encoding="utf-8")
