"""Values printed elsewhere, against which the functions of this folder themselves are checked."""

import numpy as np
from scipy import special, stats

from . import counting, light, questions
from .arrays import counting_arrays


def comparisons():
    """Yields (what and where from, computed, expected, absolute tolerance)."""
    low, high = counting.garwood(0)
    yield "no count: 95 % interval ends at 3.689 (documentation of R's epitools)", high, 3.689, 5e-4
    yield "no count: 95 % interval starts at zero", low, 0.0, 0.0
    for level, printed in ((0.95, (16.18, 36.90)), (0.90, (17.38, 34.92)), (0.99, (14.00, 41.00))):
        for end, computed, expected in zip(("low", "high"), counting.garwood(25, level), printed, strict=True):
            yield f"25 counts, {level:.0%} {end} end (GraphPad's guide to counts)", computed, expected, 5e-3
    times = 800 / (1083 + 1050 + 878)
    ratio = counting.ratio_of_counts(11, 6 + 8 + 7)
    yield "11 in 800 against 21 in 3011, low end (R, poisson.test)", ratio["low"] / times, 0.8584264, 5e-7
    yield "11 in 800 against 21 in 3011, high end (R, poisson.test)", ratio["high"] / times, 4.2772659, 5e-7
    yield "detection limit without background is -ln 0.05", counting.detection_limit(0.0, 1), -np.log(0.05), 1e-12
    yield "iron array sums to 61180", float(counting_arrays()["iron"].sum()), 61180.0, 0.0
    yield "white is L* 100", light.lab("#ffffff")[0], 100.0, 1e-9
    yield "red is L* 53.24 (scikit-image 53.2406, colour-science 53.2329)", light.lab("#ff0000")[0], 53.24, 0.03
    yield "sRGB 188 is linear 0.5029", float(light.decode(188 / 255)), 0.50288646, 5e-9

    # The tails once more, as plain sums of single probabilities instead of incomplete gamma and beta functions.
    whole = np.arange(0, 9)
    plain = 1.0 - float(np.exp(-2.0) * np.sum(2.0**whole / special.factorial(whole)))
    yield "Poisson tail P(N >= 9 | 2) as a plain sum", counting.upper_tail(9, 2.0, 0.0), plain, 1e-13
    single = stats.nbinom.pmf(np.arange(0, 11), 400.0, 400.0 / 403.0)
    wide = counting.upper_tail(11, 3.0, 0.0025)
    yield "negative binomial tail P(N >= 11 | 3, 0.0025) as a plain sum", wide, 1.0 - float(single.sum()), 1e-12
    mean, variance = (float(value) for value in stats.nbinom.stats(400.0, 400.0 / 403.0))
    yield "that negative binomial has the mean 3", mean, 3.0, 1e-12
    yield "that negative binomial has the variance 3 + 0.0025 * 9", variance, 3.0225, 1e-12

    # With no uncertainty in y the interval of the ratio is the interval of x divided by y.
    low, high = counting.mover(10.0, (2.0, 3.0), 4.0, (0.0, 0.0))
    yield "ratio with a sure denominator, low end", low, 2.0, 1e-12
    yield "ratio with a sure denominator, high end", high, 3.25, 1e-12
    low, high = counting.mover(100.0, (19.0, 21.0), 50.0, (14.0, 15.0))
    yield "low end solves its equation", (100.0 - 50.0 * low) ** 2 - 19.0**2 - (15.0 * low) ** 2, 0.0, 1e-9
    yield "high end solves its equation", (100.0 - 50.0 * high) ** 2 - 21.0**2 - (14.0 * high) ** 2, 0.0, 1e-9

    # The excess of three pixels against the same sums on paper: B_A = 4, B_B = 5, k from 0.5 to 1.
    a, b = np.array([[60, 19, 4]], dtype="<u2"), np.array([[30, 25, 30]], dtype="<u2")
    rule_a, rule_b = counting.stated(4.0), counting.stated(5.0)
    sigma = questions.excess(a, b, rule_a, rule_b, {"k_low": 0.5, "k_high": 1.0})[0]
    yield "excess above k_high: (56 - 25) / sqrt(4.04 + 25 + 30.0625)", sigma[0], 31 / 59.1025**0.5, 1e-12
    yield "excess between k_low and k_high is zero", sigma[1], 0.0, 0.0
    yield "excess below k_low: -12.5 / sqrt(4.04 + 12.5 + 7.515625)", sigma[2], -12.5 / 24.055625**0.5, 1e-12
