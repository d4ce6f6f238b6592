"""The questions `ratio` and `apart` on two maps whose backgrounds are known."""

import numpy as np
from scipy import ndimage, stats

from .arrays import counting_arrays
from .counting import (
    FEWEST_PIXELS, FLOOR, K_BAND, background_variance, blank, interval_of_all, quiet_part, ratio_of_sums, saturated,
    sums_of, upper_tail, valid)

#: Class numbers of `apart`.
BLANK, NEITHER, A_ONLY, B_ONLY, BOTH, OPEN = range(6)
#: A pixel further than this from the median ratio, in standard deviations, does not help to find k.
OUTLIER = 3.0
#: The standard deviations above which a twentieth of normal values lie, and above which a quarter lies.
ONE_SIDED, QUARTILE = 1.6448536269514722, 0.6744897501960817
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


def sure_of_b(a, b, rule_a, rule_b):
    """Pixels valid in both with B detected, and B in the mean of their neighbours at its detection limit or more."""
    usable = valid(b)
    over = np.where(usable, b.astype(np.float64) - rule_b["background"], 0.0)
    ring = np.ones((3, 3))
    ring[1, 1] = 0
    number = ndimage.convolve(usable.astype(np.float64), ring, mode="constant")
    total = ndimage.convolve(over, ring, mode="constant")
    around = np.where(number >= 3, total / np.maximum(number, 1), -np.inf)
    return valid(a) & usable & detected(b, rule_b) & (around >= rule_b["detection_limit"]), around


def blocks(a, b, rule_a, rule_b, mask, side):
    """Pixels, net A and net B of blocks at least half in the mask."""
    height, width = (-(-size // side) * side for size in mask.shape)

    def summed(values):
        padded = np.zeros((height, width))
        padded[:mask.shape[0], :mask.shape[1]] = np.where(mask, values, 0.0)
        return padded.reshape(height // side, side, width // side, side).sum((1, 3)).ravel()

    pixels = summed(np.ones(mask.shape))
    used = (pixels > 0) & (2 * pixels >= side * side)
    net_a = summed(a.astype(np.float64) - rule_a["background"])
    net_b = summed(b.astype(np.float64) - rule_b["background"])
    return pixels[used], net_a[used], net_b[used]


def spread_of(pixels, net_b, k, rule_a, rule_b):
    """Standard deviation of A - kB by counting."""
    signal = np.maximum(net_b, 0.0)
    of_b = signal + pixels * background_variance(rule_b)
    return np.sqrt(pixels * background_variance(rule_a) + k * signal + k * k * of_b)


def critical_and_limit(pixels, rule_a):
    """Net A from which a block is detected, and what is detected in 95 % of all cases."""
    noise = pixels * background_variance(rule_a)
    wide = np.sqrt(noise + (FLOOR * pixels * rule_a["background"]) ** 2)
    least = np.where(pixels <= 1, rule_a["critical_level"] - rule_a["background"], EXCESS * wide)
    return least, least + ONE_SIDED * np.sqrt(noise + np.maximum(least, 0.0))


def one_material(pixels, net_a, net_b, rule_a, rule_b):
    """Which blocks k rests on, or none."""
    least, limit = critical_and_limit(pixels, rule_a)
    seen = (net_b > 0) & (net_a >= least)
    if np.count_nonzero(seen) < FEWEST_PIXELS:
        return None
    k = float(np.median(net_a[seen] / net_b[seen]))
    for _ in range(5):
        kept = seen & (k * net_b >= limit)
        if np.count_nonzero(kept) < FEWEST_PIXELS:
            return None
        before, k = k, float(np.median(net_a[kept] / net_b[kept]))
        if abs(k - before) <= 1e-12 * abs(before):
            break
    if 2 * np.count_nonzero(kept) < np.count_nonzero(seen):
        return None

    def arm(factor):
        return OUTLIER * spread_of(pixels, net_b, factor, rule_a, rule_b)

    kept = kept & (net_a >= k / (1 + K_BAND) * net_b - arm(k))
    inside = kept & (net_a - k * (1 + K_BAND) * net_b < arm(k))
    for _ in range(20):
        k = net_a[inside].sum() / net_b[inside].sum()
        after = kept & (net_a - k * (1 + K_BAND) * net_b < arm(k))
        if np.array_equal(after, inside):
            break
        inside = after
    return inside if np.count_nonzero(inside) >= FEWEST_PIXELS else None


def variety(a, b, rule_a, rule_b, sure, around, k, k_high):
    """How far k varies from place to place, and the largest k seen."""
    spread, richest = 0.0, k_high
    for side in (1, 2, 4, 8):
        pixels, net_a, net_b = blocks(a, b, rule_a, rule_b, sure, side)
        if pixels.size < FEWEST_PIXELS:
            break
        least, _ = critical_and_limit(pixels, rule_a)
        bright = (net_a >= least) & (k * net_b >= 2 * least)
        if np.count_nonzero(bright) < FEWEST_PIXELS:
            continue
        ratios = net_a[bright] / (k * net_b[bright])
        noise = float(np.median((spread_of(pixels, net_b, k, rule_a, rule_b) / (k * net_b))[bright]))
        middle = float(np.median(ratios))
        off = float(np.median(np.abs(ratios - middle)))
        spread = max(spread, float(np.sqrt(max((off / QUARTILE) ** 2 - noise**2, 0.0))))
        above = (np.quantile(ratios, 0.95) / middle - 1) ** 2 - (ONE_SIDED * noise) ** 2
        richest = max(richest, float(k * middle * (1 + np.sqrt(max(above, 0.0)))))
    faint = sure & (around < 3 * rule_b["detection_limit"])
    for side in (4, 8):
        _, net_a, net_b = blocks(a, b, rule_a, rule_b, faint, side)
        if net_a.size >= 8:
            held = net_b > 0
            richest = max(richest, float(np.median(net_a[held] / net_b[held])) * (1 + K_BAND))
            break
    return spread, richest


def accompaniment(a, b, rule_a, rule_b):
    """The constant k of accompaniment, A for each B, with its interval and band.

    It rests on blocks of pixels sure of B in which A would be seen and is, of the material that their median names. Where
    there are too few of any size, it rests on all pixels sure of B; where these too are too few, there is no k.
    """
    sure, around = sure_of_b(a, b, rule_a, rule_b)
    found = {"sure_pixels": int(np.count_nonzero(sure)), "bin": 0}
    sums = None
    for side in (1, 2, 4, 8):
        pixels, net_a, net_b = blocks(a, b, rule_a, rule_b, sure, side)
        if pixels.size < FEWEST_PIXELS:
            break
        inside = one_material(pixels, net_a, net_b, rule_a, rule_b)
        if inside is not None:
            of = pixels[inside].sum(), net_a[inside].sum(), net_b[inside].sum()
            sums, found["bin"] = sums_of(*map(float, of), rule_a, rule_b), side
            break
    if sums is None and np.count_nonzero(sure) >= FEWEST_PIXELS:
        of = float(np.count_nonzero(sure)), net(a, rule_a, sure).sum(), net(b, rule_b, sure).sum()
        sums = sums_of(*of, rule_a, rule_b)
    if sums is None:
        return {**found, "k_rests_on": "nothing", "k_pixels": 0, **dict.fromkeys(
            ("sums", "k", "k_low_95", "k_high_95", "k_low", "k_high", "spread", "richest"))}
    low, high = (None if end is None else max(end, 0.0) for end in (sums["low"], sums["high"]))
    k = max(sums["value"], 0.0)
    k_high = None if high is None else high * (1.0 + K_BAND)
    spread, richest = 0.0, k_high
    if found["bin"]:
        spread, richest = variety(a, b, rule_a, rule_b, sure, around, k, k_high)
    return {
        **found, "k_rests_on": "both" if found["bin"] else "b", "k_pixels": sums["pixels"], "sums": sums,
        "k": k, "k_low_95": low, "k_high_95": high,
        "k_low": None if low is None else low / (1.0 + K_BAND), "k_high": k_high,
        "spread": spread, "richest": richest,
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
    return {"k": k, "k_low": k / (1.0 + K_BAND), "k_high": k * (1.0 + K_BAND), "richest": k * (1.0 + K_BAND)}


def rim(mask):
    """The pixels that touch the mask along a side or at a corner, and the mask itself."""
    return ndimage.binary_dilation(mask, structure=np.ones((3, 3), dtype=bool))


def promoted(a, b, rule_a, rule_b, richest):
    """Pixels of A alone, beside the rims of B, in areas of ten or more in which the B expected would be seen as a whole and
    is not there."""
    out = np.zeros(a.shape, dtype=bool)
    if richest is None:
        return out
    has_a, has_b = detected(a, rule_a), detected(b, rule_b)
    usable = valid(a) & valid(b)
    labels, number = ndimage.label(usable & has_a & ~has_b & ~rim(has_b), structure=np.ones((3, 3)))
    var_a, var_b = background_variance(rule_a), background_variance(rule_b)
    for label in range(1, number + 1):
        area = labels == label
        n = int(np.count_nonzero(area))
        if n < 10:
            continue
        in_a, in_b = net(a, rule_a, area).sum(), net(b, rule_b, area).sum()
        floor_a, floor_b = FLOOR * n * rule_a["background"], FLOOR * n * rule_b["background"]
        least = EXCESS * np.sqrt(n * var_b + floor_b**2)
        limit = least + ONE_SIDED * np.sqrt(n * var_b + least)
        signal = max(in_b, 0.0)
        wide = n * var_a + richest * signal + richest**2 * (signal + n * var_b) + floor_a**2 + (richest * floor_b) ** 2
        is_there = in_b > 3 * np.sqrt(n * var_b) + 2 * floor_b and in_b * richest > 0.05 * in_a
        if not is_there and in_a >= richest * limit and in_a - richest * signal >= 5 * np.sqrt(wide):
            out |= area
    return out


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
    if constant["richest"] is not None:
        with np.errstate(invalid="ignore", divide="ignore"):
            expected_b = (a.astype(np.float64) - rule_a["background"]) / constant["richest"]
            unseen = expected_b < rule_b["detection_limit"]
    classes[(classes == A_ONLY) & unseen] = OPEN
    before_rim = int(np.count_nonzero(classes == A_ONLY))

    in_rim = ((classes == A_ONLY) & rim(has_b)) | ((classes == B_ONLY) & rim(has_a))
    classes[in_rim] = OPEN
    classes[(classes == OPEN) & promoted(a, b, rule_a, rule_b, constant["richest"])] = A_ONLY
    inner = int(np.count_nonzero(classes == A_ONLY))

    before_rim = max(before_rim, inner)

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


def discoveries(chances):
    """How many of the chances are discoveries of which a hundredth is false (Benjamini and Hochberg)."""
    return int(np.count_nonzero(stats.false_discovery_control(chances) <= 0.01)) if chances.size else 0


def exact(a, b, rule_a, rule_b, constant):
    """Pixels of A above and below the band by the exact chances, given the count of B."""
    where = valid(a) & valid(b) & detected(b, rule_b)
    in_a, in_b = a[where].astype(np.int64), b[where].astype(np.int64)
    under_a, under_b = rule_a["background"], rule_b["background"]

    def tail(count, shape, k):
        mean = under_a + k * np.maximum(shape - under_b, 0.0)
        more = (background_variance(rule_a) - under_a) + k * k * (background_variance(rule_b) - under_b)
        floor = (FLOOR * under_a) ** 2 + (k * FLOOR * under_b) ** 2
        relative = (k * k * shape + more + floor) / mean**2
        return np.array([upper_tail(*each) for each in zip(count, mean, relative, strict=True)])

    up = tail(in_a, in_b + 1.0, constant["k_high"])
    down = 1.0 - tail(in_a + 1, in_b.astype(np.float64), constant["k_low"])
    return {"excess_pixels": discoveries(up), "deficit_pixels": discoveries(down)}


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
