"""The counting rules, as the definitions in the README of this folder state them, on top of scipy."""

import math

import numpy as np
from scipy import special, stats

#: The floor: how much the background under a line may differ with the paint around it.
FLOOR = 0.05
#: The share of background pixels that may reach the critical level.
ALPHA = 0.001
#: The share of real signals at the detection limit that stay below the critical level.
BETA = 0.05
#: Half the width of a 95 % interval in standard deviations.
SIGMAS = 1.959963984540054
#: Fewer valid pixels than this carry no background.
FEWEST_PIXELS = 30
#: The band that stands for thickness, dilution and cover in the constant of accompaniment.
K_BAND = 0.20


def upper_tail(count, mean, relative_variance):
    """P(N >= count) for counts of the given mean and variance mean + relative_variance * mean^2."""
    if relative_variance <= 1e-12:
        return float(stats.poisson.sf(count - 1, mean))
    size = 1.0 / relative_variance
    return float(stats.nbinom.sf(count - 1, size, size / (size + mean)))


def critical(mean, relative_variance, alpha=ALPHA):
    """The smallest whole number that a count of pure background reaches with a probability of at most alpha."""
    if mean == 0:
        return 1
    low, high = 0, 1
    while upper_tail(high, mean, relative_variance) > alpha:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if upper_tail(middle, mean, relative_variance) > alpha:
            low = middle
        else:
            high = middle
    return high


def detection_limit(background, critical_level, beta=BETA):
    """The mean signal S for which a Poisson count of mean background + S stays below the level in beta of all cases."""
    return float(special.gammainccinv(critical_level, beta)) - background


def blank(values):
    """Pixels without data: everything that is not a finite number."""
    return ~np.isfinite(values)


def saturated(values):
    """Pixels at the largest value of an integer type of 8 or 16 bits; no other type saturates."""
    if values.dtype.kind in "iu" and values.dtype.itemsize <= 2:
        return values == np.iinfo(values.dtype).max
    return np.zeros(values.shape, dtype=bool)


def valid(values):
    """Pixels that may be counted with."""
    return ~blank(values) & ~saturated(values)


def quiet_part(values):
    """Background, critical level and detection limit of a counting map by the rule "quiet part".

    Gives a dictionary with `reason` instead where the rule abstains.
    """
    counts = np.sort(values[valid(values)].astype(np.float64))
    total = counts.size
    if total < FEWEST_PIXELS:
        return {"reason": "fewer than 30 valid pixels", "valid_pixels": total}
    if counts[0] == counts[-1]:
        return {"reason": "all valid pixels are equal", "valid_pixels": total}
    quarter = counts[(total - 1) // 4]
    below = int(np.count_nonzero(counts <= quarter))
    share = min(below / total, (total - 0.5) / total)
    mean = start = float(special.gammainccinv(quarter + 1.0, share))
    kept, rounds = below, 0
    for rounds in range(1, 101):
        level = 1 if mean == 0 else critical(mean, FLOOR**2 + 1.0 / (kept * mean))
        quiet = counts[counts < level]
        if quiet.size == 0:
            return {"reason": "nothing lies below the critical level", "valid_pixels": total}
        before, kept, mean = kept, int(quiet.size), float(np.mean(quiet))
        if kept == before:
            break
    dispersion = 1.0 if mean == 0 or kept < 2 else float(np.var(quiet, ddof=1)) / mean
    level = 1
    relative_variance = None
    if mean > 0:
        relative_variance = FLOOR**2 + 1.0 / (kept * mean) + max(dispersion - 1.0, 0.0) / mean
        level = critical(mean, relative_variance)
    return {
        "valid_pixels": total, "quarter_value": float(quarter), "share_at_quarter": share, "start": start,
        "rounds": rounds, "background": mean, "pixels": kept, "dispersion": dispersion,
        "relative_variance": relative_variance, "critical_level": level,
        "detection_limit": detection_limit(mean, level),
        "detected_pixels": int(np.count_nonzero(counts >= level)),
    }


def stated(background):
    """Critical level and detection limit where the caller states the background: no pixels, no dispersion."""
    level = critical(background, FLOOR**2)
    return {"background": background, "critical_level": level, "detection_limit": detection_limit(background, level)}


def garwood(count, level=0.95):
    """The exact interval for the mean of one Poisson count."""
    outside = (1.0 - level) / 2.0
    low = 0.0 if count == 0 else float(special.gammaincinv(count, outside))
    return low, float(special.gammainccinv(count + 1, outside))


def ratio_of_counts(first, second, level=0.95):
    """Clopper-Pearson for first / second, given the sum of both counts: share and ratio, low and high.

    A ratio without an upper end is given as none.
    """
    outside = (1.0 - level) / 2.0
    low = 0.0 if first == 0 else float(special.betaincinv(first, second + 1, outside))
    high = 1.0 if second == 0 else float(special.betainccinv(first + 1, second, outside))
    ratio_high = None if second == 0 else high / (1.0 - high)
    return {"share_low": low, "share_high": high, "low": low / (1.0 - low), "high": ratio_high}


def mover(x, x_arms, y, y_arms):
    """Interval for x / y from (lower, upper) arms of both, after Donner and Zou (2012).

    The lower end L solves (x - L y)^2 = (lower arm of x)^2 + L^2 (upper arm of y)^2; the upper end takes the other
    arms. For an end below zero the other arm of y works against it: x - L y is then x + |L| y. An end is none where y cannot be told from zero by the arm that belongs to that end.
    """

    def end(x_arm, y_arm, sign):
        leading = y * y - y_arm * y_arm
        if y <= 0 or leading <= 0:
            return None
        root = math.sqrt((x * y) ** 2 - leading * (x * x - x_arm * x_arm))
        return (x * y + sign * root) / leading

    low_arm = y_arms[1] if x >= x_arms[0] else y_arms[0]
    high_arm = y_arms[0] if x + x_arms[1] >= 0 else y_arms[1]
    return end(x_arms[0], low_arm, -1.0), end(x_arms[1], high_arm, 1.0)


def net_arms(raw_sum, pixels, background, background_pixels, floor=0.0):
    """The arms of a net sum: Garwood arms of the raw sum, widened by what its background leaves open.

    That is the uncertainty of the background mean and, where `floor` is given, the floor, which is alike in all pixels.
    `background_pixels` is none for a stated background, whose mean leaves nothing open.
    """
    low, high = garwood(raw_sum)
    of_mean = 0.0 if background_pixels is None else pixels * math.sqrt(background / background_pixels)
    open_part = SIGMAS * math.hypot(of_mean, floor * pixels * background)
    return math.hypot(raw_sum - low, open_part), math.hypot(high - raw_sum, open_part)


def ratio_of_sums(a, b, rule_a, rule_b, where):
    """Ratio of the net sums over the pixels `where`, with its counting interval."""
    pixels = int(np.count_nonzero(where))
    raw_a, raw_b = float(a[where].sum(dtype=np.float64)), float(b[where].sum(dtype=np.float64))
    net_a = raw_a - pixels * rule_a["background"]
    net_b = raw_b - pixels * rule_b["background"]
    return sums_of(pixels, net_a, net_b, rule_a, rule_b)


def sums_of(pixels, net_a, net_b, rule_a, rule_b):
    """The same from the net sums."""
    pixels = int(round(pixels))
    raw_a, raw_b = net_a + pixels * rule_a["background"], net_b + pixels * rule_b["background"]
    arms_a = net_arms(raw_a, pixels, rule_a["background"], rule_a.get("pixels"))
    arms_b = net_arms(raw_b, pixels, rule_b["background"], rule_b.get("pixels"))
    low, high = mover(net_a, arms_a, net_b, arms_b)
    return {
        "pixels": pixels, "raw_sum_a": raw_a, "raw_sum_b": raw_b, "net_sum_a": net_a, "net_sum_b": net_b,
        "arms_a": list(arms_a), "arms_b": list(arms_b), "value": net_a / net_b, "low": low, "high": high,
    }


def interval_of_all(sums, rule_a, rule_b, band=K_BAND):
    """The interval of a ratio of sums in which the floor and the band stand beside the counts."""
    pixels, value = sums["pixels"], sums["value"]
    arms_a = net_arms(sums["raw_sum_a"], pixels, rule_a["background"], rule_a.get("pixels"), FLOOR)
    arms_b = net_arms(sums["raw_sum_b"], pixels, rule_b["background"], rule_b.get("pixels"), FLOOR)
    low, high = mover(sums["net_sum_a"], arms_a, sums["net_sum_b"], arms_b)
    return {
        "arms_all_a": list(arms_a), "arms_all_b": list(arms_b),
        "low_all": None if low is None else value - math.hypot(value - low, band * value),
        "high_all": None if high is None else value + math.hypot(high - value, band * value),
    }


def background_variance(rule):
    """Variance of the background of one pixel: its mean, or more where the quiet pixels scatter more."""
    return rule["background"] * max(rule.get("dispersion", 1.0), 1.0)
