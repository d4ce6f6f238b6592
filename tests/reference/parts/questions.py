"""The questions `ratio` and `apart` on two maps whose backgrounds are known."""

import numpy as np
from scipy import ndimage

from .counting import K_BAND, blank, ratio_of_sums, saturated, valid

#: Class numbers of `apart`.
BLANK, NEITHER, A_ONLY, B_ONLY, BOTH, OPEN = range(6)
#: A pixel further than this above what accompanies B does not help to find k.
OUTLIER = 3.0


def detected(values, rule):
    """Pixels with data whose value reaches the critical level; a saturated pixel does too."""
    with np.errstate(invalid="ignore"):
        return ~blank(values) & (values >= rule["critical_level"])


def ratio(a, b, rule_a, rule_b):
    """The raster of count ratios and the ratio of sums with its interval."""
    where = valid(a) & valid(b) & detected(b, rule_b)
    raster = np.full(a.shape, np.nan)
    net_a = a[where].astype(np.float64) - rule_a["background"]
    raster[where] = net_a / (b[where].astype(np.float64) - rule_b["background"])
    return raster, ratio_of_sums(a, b, rule_a, rule_b, where)


def accompaniment(a, b, rule_a, rule_b):
    """The constant k of accompaniment: a clipped ratio of sums, with its interval and band.

    Every round looks at all pixels again, so that a pixel once dropped may come back.
    """
    candidates = valid(a) & valid(b) & detected(b, rule_b)
    net_a = a[candidates].astype(np.float64) - rule_a["background"]
    net_b = b[candidates].astype(np.float64) - rule_b["background"]
    keep = np.ones(net_a.size, dtype=bool)
    rounds = 0
    for rounds in range(1, 51):
        k = max(net_a[keep].sum() / net_b[keep].sum(), 0.0)
        variance = rule_a["background"] + k * net_b + k * k * (net_b + rule_b["background"])
        new = (net_a - k * net_b) / np.sqrt(variance) < OUTLIER
        settled = bool(np.array_equal(new, keep))
        if settled:
            break
        keep = new
    where = candidates.copy()
    where[candidates] = keep
    sums = ratio_of_sums(a, b, rule_a, rule_b, where)
    return {
        "candidates": int(keep.size), "rounds": rounds, "sums": sums,
        "k": sums["value"], "k_low_95": sums["low"], "k_high_95": sums["high"],
        "k_low": sums["low"] / (1.0 + K_BAND), "k_high": sums["high"] * (1.0 + K_BAND),
    }


def stated_accompaniment(k):
    """The same where the caller states k: the band is all that is left open."""
    return {"k": k, "k_low": k / (1.0 + K_BAND), "k_high": k * (1.0 + K_BAND)}


def rim(mask):
    """The pixels that touch the mask along a side or at a corner, and the mask itself."""
    return ndimage.binary_dilation(mask, structure=np.ones((3, 3), dtype=bool))


def apart(a, b, rule_a, rule_b, constant, pixel_area_mm2):
    """The classes of A without B and the numbers that rest on them.

    Blank comes first, then saturated, then the detected states, then the limit rule, and the rims last.
    """
    has_a, has_b = detected(a, rule_a), detected(b, rule_b)
    classes = np.select([has_a & has_b, has_a, has_b], [BOTH, A_ONLY, B_ONLY], NEITHER).astype(np.uint8)
    closed = blank(a) | blank(b)
    classes[saturated(a) | saturated(b)] = OPEN
    classes[closed] = BLANK
    judged_a = int(np.count_nonzero(has_a & valid(a) & valid(b)))

    with np.errstate(invalid="ignore"):
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
