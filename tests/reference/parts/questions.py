"""The questions `ratio` and `apart` on two maps whose backgrounds are known."""

import numpy as np
from scipy import ndimage

from .arrays import counting_arrays
from .counting import (
    FEWEST_PIXELS, FLOOR, K_BAND, background_variance, blank, interval_of_all, quiet_part, ratio_of_sums, saturated,
    valid)

#: Class numbers of `apart`.
BLANK, NEITHER, A_ONLY, B_ONLY, BOTH, OPEN = range(6)
#: A pixel further than this from the median ratio, in standard deviations, does not help to find k.
OUTLIER = 3.0
#: An excess above this many standard deviations counts: one in a thousand of one side.
EXCESS = 3.090232306167813


def detected(values, rule):
    """Pixels with data whose value reaches the critical level; a saturated pixel does too."""
    with np.errstate(invalid="ignore"):
        return ~blank(values) & (values >= rule["critical_level"])


def ratio(a, b, rule_a, rule_b):
    """The raster of count ratios, and the ratio of sums with both its intervals."""
    where = valid(a) & valid(b) & detected(b, rule_b)
    raster = np.full(a.shape, np.nan)
    net_a = a[where].astype(np.float64) - rule_a["background"]
    raster[where] = net_a / (b[where].astype(np.float64) - rule_b["background"])
    sums = ratio_of_sums(a, b, rule_a, rule_b, where)
    return raster, {**sums, **interval_of_all(sums, rule_a, rule_b)}


def net(values, rule, where):
    """Counts above the background in the pixels `where`."""
    return values[where].astype(np.float64) - rule["background"]


def near_median(a, b, rule_a, rule_b, both):
    """The median ratio of the pixels `both`, and those of them that agree with it."""
    net_a, net_b = net(a, rule_a, both), net(b, rule_b, both)
    middle = float(np.median(net_a / net_b))
    var_a, var_b = background_variance(rule_a), background_variance(rule_b)
    spread = np.sqrt(var_a + middle * net_b + middle**2 * (net_b + var_b))
    kept = both.copy()
    kept[both] = np.abs(net_a - middle * net_b) < OUTLIER * spread
    return middle, kept


def accompaniment(a, b, rule_a, rule_b):
    """The constant k of accompaniment, A for each B, with its interval and band.

    It rests on the pixels that hold both and agree with their median ratio. Where too few hold both, it rests on those
    that hold B alone; where these too are too few, there is no k.
    """
    usable = valid(a) & valid(b)
    has_a, has_b = detected(a, rule_a), detected(b, rule_b)
    both, b_alone = usable & has_a & has_b, usable & has_b & ~has_a
    found = {
        "both_pixels": int(np.count_nonzero(both)), "b_alone_pixels": int(np.count_nonzero(b_alone)), "k_median": None}
    if found["both_pixels"] >= FEWEST_PIXELS:
        found["k_median"], where = near_median(a, b, rule_a, rule_b, both)
        if np.count_nonzero(where) < FEWEST_PIXELS:
            where = both
        rests_on = "both"
    elif found["b_alone_pixels"] >= FEWEST_PIXELS:
        where, rests_on = b_alone, "b_alone"
    else:
        return {**found, "k_rests_on": "nothing", "k_pixels": 0, **dict.fromkeys(
            ("sums", "k", "k_low_95", "k_high_95", "k_low", "k_high"))}
    sums = ratio_of_sums(a, b, rule_a, rule_b, where)
    low, high = (None if end is None else max(end, 0.0) for end in (sums["low"], sums["high"]))
    return {
        **found, "k_rests_on": rests_on, "k_pixels": sums["pixels"], "sums": sums,
        "k": max(sums["value"], 0.0), "k_low_95": low, "k_high_95": high,
        "k_low": None if low is None else low / (1.0 + K_BAND),
        "k_high": None if high is None else high * (1.0 + K_BAND),
    }


def accompaniment_rows():
    """k for pairs of the maps in `background/`, such that every branch of its rule is taken."""
    maps = counting_arrays()
    pairs = (
        ("manganese", "iron"), ("copper", "zinc"), ("lead", "iron"), ("ground", "iron"), ("ground", "manganese"),
        ("lead", "copper"), ("iron", "lead"))
    return [
        {"a": f"background/{a}.npy", "b": f"background/{b}.npy",
         **accompaniment(maps[a], maps[b], quiet_part(maps[a]), quiet_part(maps[b]))}
        for a, b in pairs
    ]


def stated_accompaniment(k):
    """The same where the caller states k: the band is all that is left open."""
    return {"k": k, "k_low": k / (1.0 + K_BAND), "k_high": k * (1.0 + K_BAND)}


def rim(mask):
    """The pixels that touch the mask along a side or at a corner, and the mask itself."""
    return ndimage.binary_dilation(mask, structure=np.ones((3, 3), dtype=bool))


def apart(a, b, rule_a, rule_b, constant, pixel_area_mm2):
    """The classes of A without B and the numbers that rest on them.

    Blank comes first, then saturated, then the detected states, then the limit rule, and the rims last. Where k has no
    upper end, or where there is no k, B cannot be expected anywhere and the limit rule takes every pixel of A only.
    """
    has_a, has_b = detected(a, rule_a), detected(b, rule_b)
    classes = np.select([has_a & has_b, has_a, has_b], [BOTH, A_ONLY, B_ONLY], NEITHER).astype(np.uint8)
    closed = blank(a) | blank(b)
    classes[saturated(a) | saturated(b)] = OPEN
    classes[closed] = BLANK
    judged_a = int(np.count_nonzero(has_a & valid(a) & valid(b)))

    unseen = np.ones(a.shape, dtype=bool)
    if constant["k_high"] is not None:
        with np.errstate(invalid="ignore", divide="ignore"):
            expected_b = (a.astype(np.float64) - rule_a["background"]) / constant["k_high"]
            unseen = expected_b < rule_b["detection_limit"]
    classes[(classes == A_ONLY) & unseen] = OPEN
    before_rim = int(np.count_nonzero(classes == A_ONLY))

    in_rim = ((classes == A_ONLY) & rim(has_b)) | ((classes == B_ONLY) & rim(has_a))
    classes[in_rim] = OPEN
    inner = int(np.count_nonzero(classes == A_ONLY))

    def share(pixels):
        return pixels / judged_a if judged_a else None

    numbers = {
        "a_detected_pixels": judged_a,
        "a_without_b_pixels": before_rim,
        "a_without_b_area_mm2": before_rim * pixel_area_mm2,
        "a_without_b_share": share(before_rim),
        "a_without_b_pixels_inner": inner,
        "a_without_b_area_mm2_inner": inner * pixel_area_mm2,
        "a_without_b_share_inner": share(inner),
    }
    counts = [int(count) for count in np.bincount(classes.ravel(), minlength=6)]
    return classes, {"class_counts": counts, "numbers": numbers}


def excess(a, b, rule_a, rule_b, constant):
    """How far A lies from what accompanies B, in standard deviations: above k_high, below k_low, else zero.

    Elsewhere than where both are valid and B is detected the raster is NaN.
    """
    where = valid(a) & valid(b) & detected(b, rule_b)
    own, other = net(a, rule_a, where), np.maximum(net(b, rule_b, where), 0.0)
    of_a = background_variance(rule_a) + (FLOOR * rule_a["background"]) ** 2
    of_b = background_variance(rule_b) + (FLOOR * rule_b["background"]) ** 2

    def score(k):
        return (own - k * other) / np.sqrt(of_a + k * other + k * k * (other + of_b))

    raster = np.full(a.shape, np.nan)
    raster[where] = np.maximum(score(constant["k_high"]), 0.0) + np.minimum(score(constant["k_low"]), 0.0)
    return raster
