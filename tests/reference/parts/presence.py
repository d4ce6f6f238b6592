"""Presence and ratios of counts by scipy and statsmodels.

Written to `presence.json`. What others publish stands in its own lists, named; the libraries compute everything else.
"""

from importlib import metadata

import numpy as np
from scipy import optimize, stats
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.rates import confint_poisson, test_poisson_2indep

from . import document
from .arrays import counting_arrays

#: Quantile that leaves 5 % above.
K = float(stats.norm.isf(0.05))


def empty_part():
    """Pixels in neither disc nor in the rectangle of the counting arrays."""
    y, x = np.mgrid[0:48, 0:64].astype(np.int64)
    discs = ((x - 18) ** 2 + (y - 16) ** 2 <= 144) | ((x - 46) ** 2 + (y - 30) ** 2 <= 100)
    return ~(discs | rectangle())


def rectangle():
    """Pixels of the rectangle."""
    y, x = np.mgrid[0:48, 0:64].astype(np.int64)
    return (x >= 8) & (x < 30) & (y >= 24) & (y < 44)


def currie_rows():
    """Currie's levels in closed form; a ratio of null is a well-known background."""
    rows = []
    for background in (0, 1, 4, 10, 25, 100, 400):
        for ratio in (1, 10, 100, None):
            for dispersion in (1.0, 1.7):
                variance = dispersion * background * (1.0 + (0.0 if ratio is None else 1.0 / ratio))
                critical = K * np.sqrt(variance)
                limit = optimize.brentq(lambda s, v=variance: s - 10.0 * np.sqrt(s + v), 1.0, 1e5, xtol=1e-11)
                rows.append({
                    "background": float(background), "ratio": ratio, "dispersion": dispersion,
                    "critical": float(critical), "detection_limit": float(K * K + 2.0 * critical),
                    "quantification_limit": float(limit)})
    return rows


def exact_rows():
    """Exact critical counts and detection limits, with the attained chance."""
    rows = []
    for background in (0.0, 0.5, 1.0, 2.0, 5.0, 10.0):
        for alpha in (0.05, 0.001):
            critical = next(n for n in range(1, 1000) if stats.poisson.sf(n - 1, background) <= alpha)
            limit = optimize.brentq(
                lambda s, n=critical, b=background: stats.poisson.cdf(n - 1, b + s) - 0.05, 0.0, 500.0, xtol=1e-12)
            attained = float(stats.poisson.sf(critical - 1, background))
            rows.append({"background": background, "alpha": alpha, "critical": critical, "detection_limit": limit,
                         "attained": attained})
    return rows


def on_off_rows():
    """Binomial test of on against off, as sigmas, and by likelihood ratio (null where a count is 0)."""
    rows = []
    for on, off, tau in ((5, 0, 1.0), (4, 0, 1.0), (10, 3, 1.0), (12, 20, 10.0), (9, 40, 10.0), (0, 7, 2.0),
                         (3000, 20000, 8.0), (40, 90, 0.5)):
        p = float(stats.binom.sf(on - 1, on + off, 1.0 / (1.0 + tau)))
        li_ma = None
        if on > 0 and off > 0:
            first = on * np.log((1 + tau) * on / (on + off))
            second = off * np.log((1 + 1 / tau) * off / (on + off))
            li_ma = float(np.sign(on * tau - off) * np.sqrt(2 * (first + second)))
        rows.append({"on": on, "off": off, "tau": tau, "p": p, "sigmas": float(stats.norm.isf(p)) if p < 1 else None,
                     "li_ma": li_ma})
    return rows


def garwood_rows():
    """Exact intervals by statsmodels (`exact-c`)."""
    rows = []
    for count in (0, 1, 2, 5, 10, 25, 100):
        for level in (0.95, 0.9, 0.99):
            low, high = confint_poisson(count, 1, method="exact-c", alpha=1.0 - level)
            rows.append({"count": count, "level": level, "low": float(low), "high": float(high)})
    return rows


def one_sided_rows():
    """One-sided limits by quantiles of chi squared."""
    one_sigma = float(stats.norm.cdf(1.0))
    return [
        {"count": count, "confidence": confidence,
         "lower": 0.0 if count == 0 else float(stats.chi2.ppf(1.0 - confidence, 2 * count) / 2),
         "upper": float(stats.chi2.ppf(confidence, 2 * count + 2) / 2)}
        for count in (0, 1, 2, 5, 10, 400) for confidence in (one_sigma, 0.95)]


def empty_rows():
    """Mean, interval and dispersion of the empty part of the arrays, and variance by neighbours."""
    rows = []
    part = empty_part()
    for name, values in counting_arrays().items():
        inside = values[part].astype(float)
        mean, pixels, total = inside.mean(), inside.size, int(inside.sum())
        chi = float(((inside - mean) ** 2).sum() / mean)
        low, high = confint_poisson(total, pixels, method="exact-c")
        steps = np.diff(values.astype(float), axis=1)[part[:, 1:] & part[:, :-1]]
        variance = float(0.5 * np.mean(steps**2))
        rows.append({
            "array": name, "pixels": pixels, "sum": total, "mean": float(mean), "low": float(low), "high": float(high),
            "chi_squared": chi, "dispersion": float(inside.var(ddof=1) / mean),
            "p_more": float(stats.chi2.sf(chi, pixels - 1)), "p_less": float(stats.chi2.cdf(chi, pixels - 1)),
            "neighbour_variance": variance, "pairs": int(steps.size), "gain": float(variance / mean)})
    return rows


#: The 15 of Benjamini and Hochberg (1995).
FIFTEEN = [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719, 0.6528, 0.7590,
           1.0]


def discovery_rows():
    """Adjusted chances by statsmodels."""
    ties = [0.04, 0.01, 0.01, 0.9, 0.03, 0.01, 0.2]
    rows = []
    for p in (FIFTEEN, ties, [0.3]):
        for method in ("fdr_bh", "fdr_by"):
            rejected, adjusted, *_ = multipletests(p, 0.05, method)
            rows.append({"method": method, "p": p, "adjusted": [float(v) for v in adjusted],
                         "discovered": int(rejected.sum())})
    return rows


def pixel_rows():
    """The pixels of the array manganese above the background of its empty part (taken as well known)."""
    values = counting_arrays()["manganese"].astype(int)
    background = float(values[empty_part()].mean())
    p = stats.poisson.sf(values - 1, background)
    adjusted = stats.false_discovery_control(p.ravel()).reshape(p.shape)
    critical = next(n for n in range(1, 100) if stats.poisson.sf(n - 1, background) <= 0.001)
    return [{
        "array": "manganese", "background": background, "critical": critical, "above": int((values >= critical).sum()),
        "discovered_05": int((adjusted <= 0.05).sum()), "discovered_01": int((adjusted <= 0.01).sum()),
        "adjusted_30_50": float(adjusted[30, 50]), "adjusted_10_20": float(adjusted[10, 20])}]


def net_ratio_rows():
    """Ratio of net counts to first order."""
    rows = []
    for a, b, bg_a, bg_b, m in ((60, 40, 6.0, 4.0, 100), (500, 90, 31.5, 4.0, 30)):
        net_a, net_b = a - bg_a, b - bg_b
        var_a, var_b = a + bg_a / m, b + bg_b / m
        rows.append({"a": a, "b": b, "background_a": bg_a, "background_b": bg_b, "exposure": m, "ratio": net_a / net_b,
                     "variance": var_a / net_b**2 + net_a**2 * var_b / net_b**4})
    return rows


def pair_rows():
    """Two counts: exact interval of the ratio, its logarithm, and the two-sided conditional test."""
    rows = []
    for a, b, exposure in ((30, 20, 1.0), (3, 0, 1.0), (0, 3, 1.0), (5, 2, 1.0), (120, 400, 1.0), (11, 21, 800 / 3011),
                           (7580, 13392, 1.0), (4, 1, 0.2)):
        share = stats.binomtest(a, a + b).proportion_ci(0.95, "exact")
        ends = [float(p / (1 - p) / exposure) if p < 1 else None for p in (share.low, share.high)]
        test = test_poisson_2indep(a, exposure, b, 1.0, method="exact-cond")
        rows.append({"a": a, "b": b, "exposure": exposure, "low": ends[0], "high": ends[1], "p": float(test.pvalue),
                     "log_ratio": float(np.log((a + 0.5) / (b + 0.5))),
                     "log_sd": float(np.sqrt(1 / (a + 0.5) + 1 / (b + 0.5)))})
    return rows


def bias_rows():
    """How much too large a mean of pixel ratios is for Poisson counts of mean mu in B, by sums over the distribution."""
    rows = []
    for mu in (2.0, 4.0, 10.0, 25.0):
        k = np.arange(0, 400)
        p = stats.poisson.pmf(k, mu)
        rows.append({"mu": mu, "above_zero": float(mu * (p[1:] / k[1:]).sum() / p[1:].sum()),
                     "plus_half": float(mu * (p / (k + 0.5)).sum()), "plus_one": float(mu * (p / (k + 1)).sum())})
    return rows


def field_rows():
    """Zinc over copper in the rectangle and in blocks of 4 x 4."""
    arrays = counting_arrays()
    zinc, copper = arrays["zinc"].astype(int), arrays["copper"].astype(int)
    inside = rectangle()
    sums = int(zinc[inside].sum()), int(copper[inside].sum())
    share = stats.binomtest(sums[0], sum(sums)).proportion_ci(0.95, "exact")
    background = float(copper[empty_part()].mean())

    def blocks(values):
        return values.reshape(12, 4, 16, 4).sum(axis=(1, 3))

    zinc_4, copper_4 = blocks(zinc), blocks(copper)
    critical = next(n for n in range(1, 1000) if stats.poisson.sf(n - 1, 16 * background) <= 0.001)
    return [{
        "pixels": int(inside.sum()), "sum_zinc": sums[0], "sum_copper": sums[1], "ratio": sums[0] / sums[1],
        "mean_of_ratios": float((zinc[inside] / copper[inside]).mean()),
        "low": float(share.low / (1 - share.low)), "high": float(share.high / (1 - share.high)),
        "background_copper": background, "critical_of_block": critical,
        "blocks": int((copper_4 >= critical).sum()), "ratio_of_block_8_4": float(zinc_4[8, 4] / copper_4[8, 4])}]


def sections():
    """Every section with its tolerance."""
    near = {"relative": 1e-9, "absolute": 1e-12}
    return {
        "currie": {"tolerance": near, "rows": currie_rows()},
        "exact": {"tolerance": near, "rows": exact_rows()},
        "on_off": {"tolerance": near, "rows": on_off_rows()},
        "garwood": {"tolerance": near, "rows": garwood_rows()},
        "one_sided": {"tolerance": near, "rows": one_sided_rows()},
        "empty": {"tolerance": near, "rows": empty_rows()},
        "discovery": {"tolerance": near, "rows": discovery_rows()},
        "pixels": {"tolerance": near, "rows": pixel_rows()},
        "net_ratio": {"tolerance": near, "rows": net_ratio_rows()},
        "pairs": {"tolerance": near, "rows": pair_rows()},
        "bias": {"tolerance": near, "rows": bias_rows()},
        "field": {"tolerance": near, "rows": field_rows()},
    }


def write(folder):
    """Writes `presence.json`."""
    names = ("numpy", "scipy", "statsmodels")
    values = {"versions": {name: metadata.version(name) for name in names}, **sections()}
    (folder / "presence.json").write_text(document.dump(values) + "\n", encoding="utf-8")
