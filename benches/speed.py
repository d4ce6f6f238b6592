"""Times the core beside numpy, scipy, scikit-image and tifffile in one run: `cargo xtask bench`.

Called with the path of the compiled example `speed` and an empty folder. Prints milliseconds and the ratio of the core to
the library (below 1: the core is faster). Both use one thread; the best of five runs counts.
"""

import io
import subprocess
import sys
import time
from pathlib import Path

import numpy
import tifffile
from scipy import fft, ndimage, special, stats
from skimage import draw, measure

SIDE = 2048


def best(task):
    times = []
    for _ in range(5):
        start = time.perf_counter()
        task()
        times.append((time.perf_counter() - start) * 1e3)
    return min(times)


def maps():
    """Two maps of Poisson counts with a painted disc in each; the seed is fixed."""
    random = numpy.random.default_rng(1)
    y, x = numpy.mgrid[0:SIDE, 0:SIDE]
    disc = lambda cx, cy, r: (x - cx) ** 2 + (y - cy) ** 2 < r * r
    a = random.poisson(2.5 + 60.0 * disc(900, 1000, 500))
    b = random.poisson(4.0 + 240.0 * disc(1300, 1000, 500))
    return a.astype(numpy.uint16), b.astype(numpy.uint16)


def critical(mean, relative_variance, alpha=0.001):
    shape = 1.0 / relative_variance
    return int(stats.nbinom.isf(alpha, shape, shape / (shape + mean))) + 1


def background(values, floor=0.05):
    ordered = numpy.sort(values.astype(float), axis=None)
    n = ordered.size
    quarter = ordered[(n - 1) // 4]
    kept = int(numpy.searchsorted(ordered, quarter, side="right"))
    mean = special.gammainccinv(quarter + 1, min(kept / n, (n - 0.5) / n))
    for _ in range(100):
        limit = critical(mean, floor**2 + 1 / (kept * mean))
        following = int(numpy.searchsorted(ordered, limit, side="left"))
        mean = ordered[:following].mean()
        if following == kept:
            break
        kept = following
    dispersion = ordered[:kept].var(ddof=1) / mean
    return mean, critical(mean, floor**2 + 1 / (kept * mean) + max(dispersion - 1, 0) / mean)


def classes(a, b, levels):
    has_a, has_b = a >= levels[0][1], b >= levels[1][1]
    out = 1 + has_a * 1 + has_b * 2
    eight = numpy.ones((3, 3), bool)
    out[(out == 2) & ndimage.binary_dilation(has_b, eight)] = 5
    out[(out == 3) & ndimage.binary_dilation(has_a, eight)] = 5
    return out


def ratio(a, b, levels):
    seen = b >= levels[1][1]
    out = numpy.full(a.shape, numpy.nan)
    out[seen] = (a[seen] - levels[0][0]) / (b[seen] - levels[1][0])
    return out, (a[seen] - levels[0][0]).sum() / (b[seen] - levels[1][0]).sum()


def overlay(lights):
    light = 0.0
    for values, (low, high), colour in lights:
        t = numpy.clip((values.astype(numpy.float32) - low) / (high - low), 0, 1) ** 2
        light = light + t[..., None] * numpy.asarray(colour, numpy.float32)
    light = numpy.clip(light, 0, 1)
    encoded = numpy.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** numpy.float32(1 / 2.4) - 0.055)
    return numpy.rint(encoded * 255).astype(numpy.uint8)


def smaller(values, factor=4):
    return values.reshape(SIDE // factor, factor, SIDE // factor, factor).mean((1, 3))


def at_a_glance(values):
    numpy.percentile(values, (0, 50, 99.5, 100))
    return int((values == 65535).sum()), not (values % 1).any()


def smoothed(values, sigma=2.0):
    """Anscombe, Gauss, and the closed form of the unbiased inverse (Mäkitalo and Foi 2011)."""
    d = ndimage.gaussian_filter(2 * numpy.sqrt(values + 0.375), sigma, mode="reflect", truncate=4)
    return d * d / 4 + numpy.sqrt(1.5) / 4 / d - 11 / 8 / d**2 + 5 / 8 * numpy.sqrt(1.5) / d**3 - 1 / 8


def hot_pixels(values):
    """Stabilised distance to the median of the eight neighbours, and how far these agree."""
    ring = numpy.ones((3, 3), bool)
    ring[1, 1] = False
    median = ndimage.rank_filter(values, 4, footprint=ring)
    largest = ndimage.maximum_filter(values, footprint=ring)
    stabilised = lambda v: 2 * numpy.sqrt(v + 0.375)
    z = stabilised(values) - stabilised(median)
    return numpy.argwhere((z > 5) & (stabilised(values) - stabilised(largest) > 5))


def independent(a, b):
    """Effective n after Dutilleul (1993) with correlations averaged in rings, by transforms padded with zeros."""
    height, width = a.shape
    size = [fft.next_fast_len(2 * n - 1, True) for n in (height, width)]
    ones = fft.rfft2(numpy.ones(a.shape), size)
    pairs = numpy.rint(fft.irfft2(abs(ones) ** 2, size))
    lags = [numpy.minimum(numpy.arange(n), n - numpy.arange(n)) for n in size]
    ring = numpy.floor(numpy.hypot(lags[0][:, None], lags[1][None, :]) + 0.5).astype(int)
    used = pairs > 0
    in_ring = numpy.bincount(ring[used], pairs[used])
    kernels, rows = [], []
    for values in (a, b):
        scaled = (values - values.mean()) / values.std()
        products = fft.irfft2(abs(fft.rfft2(scaled, size)) ** 2, size)
        means = numpy.bincount(ring[used], products[used]) / numpy.maximum(in_ring, 1)
        kernel = numpy.where(used, means[numpy.minimum(ring, len(means) - 1)], 0.0)
        kernel[0, 0] = 1.0
        kernels.append(kernel)
        rows.append(fft.irfft2(ones * fft.rfft2(kernel), size)[:height, :width])
    n, (u, v) = a.size, rows
    squares = (pairs * kernels[0] * kernels[1]).sum()
    trace = squares + (u.sum() * v.sum() / n - 2 * (u * v).sum()) / n
    return 1 + (n - u.sum() / n) * (n - v.sum() / n) / trace


def star():
    """The corners of the star that the core draws, as (row, column)."""
    angle = numpy.arange(400) * 2 * numpy.pi / 400
    radius = numpy.where(numpy.arange(400) % 2 == 0, 900.0, 500.0)
    return numpy.stack([1024 + radius * numpy.sin(angle), 1024 + radius * numpy.cos(angle)], 1)


def main(program, folder):
    folder.mkdir(parents=True, exist_ok=True)
    a, b = maps()
    for name, values in (("Ti-K.tif", a), ("Fe-K.tif", b)):
        tifffile.imwrite(folder / name, values, compression="zlib")
    lines = subprocess.run([program, str(folder)], check=True, capture_output=True, text=True).stdout.splitlines()
    core = {name: float(value) for name, value in (line.split("\t") for line in lines)}
    levels = background(a), background(b)
    if core["value critical"] != levels[0][1]:
        sys.exit(f"the core and scipy disagree: {core['value critical']} and {levels[0][1]}")
    cut = numpy.s_[900:1156, 1000:1256]
    expected = independent(a[cut].astype(float), b[cut].astype(float))
    if abs(core["value independent"] / expected - 1) > 1e-9:
        sys.exit(f"the core and numpy disagree: {core['value independent']} and {expected}")
    chances = (numpy.arange(4194304, dtype=numpy.uint64) * numpy.uint64(2654435761) % numpy.uint64(4194304)) / 4194304
    limits = (10, 90), (20, 300)
    colours = (0.79, 0.35, 0.0), (0.09, 0.46, 0.81)
    fa, fb = a.astype(float), b.astype(float)
    library = {
        "read a deflated TIFF": lambda: tifffile.imread(folder / "Ti-K.tif"),
        "write a map as a float TIFF": lambda: tifffile.imwrite(
            io.BytesIO(), a.astype(numpy.float32), resolution=(20.0, 20.0), resolutionunit="CENTIMETER"),
        "background": lambda: background(a),
        "classes with rims": lambda: classes(a, b, levels),
        "ratio of each pixel and of the sums": lambda: ratio(fa, fb, levels),
        "look at a new map: range, median, percentile": lambda: at_a_glance(a),
        "sums of 4 x 4": lambda: measure.block_reduce(fa, (4, 4), numpy.sum),
        "smoothed over 2 px on the stabilised map": lambda: smoothed(fa),
        "median of 3 x 3": lambda: ndimage.median_filter(fa, 3),
        "hot pixels": lambda: hot_pixels(fa),
        "correlation of ranks": lambda: stats.spearmanr(fa, fb, axis=None),
        "independent places of 256 x 256": lambda: independent(fa[cut], fb[cut]),
        "false discoveries among 4 million": lambda: stats.false_discovery_control(chances),
        "mask of a polygon of 400 corners": lambda: draw.polygon2mask((SIDE, SIDE), star()),
        "overlay of two, one to one": lambda: overlay(list(zip((a, b), limits, colours))),
        "overlay of two, a quarter of the size": lambda: overlay(list(zip((smaller(a), smaller(b)), limits, colours))),
    }
    print(f"{'':46}{'core':>9}{'library':>9}{'ratio':>8}   (ms, {SIDE} x {SIDE} counts of 16 bits)")
    for name, task in library.items():
        theirs = best(task)
        print(f"{name:46}{core[name]:9.1f}{theirs:9.1f}{core[name] / theirs:8.2f}")
    for name in core:
        if name.startswith("question "):
            print(f"{name + ', with its trials':46}{core[name]:9.1f}")


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]))
