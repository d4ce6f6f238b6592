"""Finding a photo on maps: information, shifts and smaller pictures by scikit-image, transforms of any length by numpy."""

import numpy as np
from scipy import ndimage
from skimage.metrics import normalized_mutual_information
from skimage.registration import phase_cross_correlation
from skimage.transform import pyramid_reduce

from .arrays import counting_arrays


def maps():
    return {name: array.astype(float) for name, array in counting_arrays().items()}


def mutual(a, b, bins=32):
    """The definition, on numpy's joint histogram."""
    joint, _, _ = np.histogram2d(a.ravel(), b.ravel(), bins=bins)
    p = joint / joint.sum()
    across, down = p.sum(axis=1, keepdims=True), p.sum(axis=0, keepdims=True)
    there = p > 0
    return float((p[there] * np.log(p[there] / (across * down)[there])).sum())


def information(named):
    rows = []
    for a, b, roll, bins in (("iron", "manganese", 0, 32), ("iron", "manganese", 1, 32), ("copper", "zinc", 0, 32),
                             ("iron", "copper", 0, 16), ("lead", "ground", 0, 64)):
        one, other = named[a], np.roll(named[b], roll, axis=0)
        rows.append({"a": a, "b": b, "rows_down": roll, "bins": bins, "mutual": mutual(one, other, bins),
                     "normalised": float(normalized_mutual_information(one, other, bins=bins))})
    return rows


def shifts(named):
    """(x, y) that lays the moving map on iron."""
    iron = named["iron"]
    between = np.real(np.fft.ifft2(ndimage.fourier_shift(np.fft.fft2(iron), (2.25, -1.5))))
    moving = {"rolled": np.roll(iron, (5, -3), axis=(0, 1)), "between": between,
              "other": np.roll(named["manganese"], (4, 6), axis=(0, 1))}
    rows = []
    for name, upsample in (("rolled", 1), ("between", 1), ("between", 10), ("between", 100), ("other", 1), ("other", 20)):
        for phase in (True, False):
            found, _, _ = phase_cross_correlation(
                iron, moving[name], upsample_factor=upsample, normalization="phase" if phase else None)
            rows.append({"moving": name, "upsample": float(upsample), "phase": phase,
                         "x": float(found[1]), "y": float(found[0])})
    return rows


def halves(named):
    """Half as large; 64 x 48, and 63 x 47 without the last column and row."""
    rows = []
    for name in ("iron", "lead"):
        for cut in (0, 1):
            given = named[name][:48 - cut, :64 - cut]
            half = pyramid_reduce(given, downscale=2, preserve_range=True)
            rows.append({"map": name, "cut": float(cut), "width": float(half.shape[1]), "height": float(half.shape[0]),
                         "pixels": [float(v) for v in half.ravel()[::37]]})
    return rows


def transforms():
    """Lengths that are no powers of two: (7 i mod 11) + (5 i mod 3) i, every fifth frequency."""
    rows = []
    for n in (3, 48, 97, 150, 1000):
        i = np.arange(n)
        turned = np.fft.fft((7 * i) % 11 + 1j * ((5 * i) % 3))[::5]
        rows.append({"length": float(n), "re": turned.real.tolist(), "im": turned.imag.tolist()})
    return rows


def all_sections():
    named = maps()
    return {
        "information": {"tolerance": {"relative": 1e-9, "absolute": 1e-10}, "rows": information(named)},
        "shifts": {"tolerance": {"absolute": 1e-9}, "rows": shifts(named)},
        "halves": {"tolerance": {"relative": 1e-9}, "rows": halves(named)},
        "transforms": {"tolerance": {"absolute": 1e-9}, "rows": transforms()},
    }


def comparisons():
    """Against values that were found before and apart from this: (name, computed, expected, tolerance)."""
    named = maps()
    rows, moved = information(named), {(r["moving"], r["upsample"], r["phase"]): r for r in shifts(named)}
    return (
        ("mutual information, iron and manganese", rows[0]["mutual"], 1.244133, 1e-6),
        ("normalised, iron and manganese", rows[0]["normalised"], 1.448108, 5e-6),
        ("normalised, one row aside", rows[1]["normalised"], 1.254172, 5e-6),
        ("shift of a tenth, down", moved["between", 10.0, True]["y"], -2.2, 1e-9),
        ("shift of a hundredth, down", moved["between", 100.0, False]["y"], -2.24, 0.02),
        ("shift of a hundredth, across", moved["between", 100.0, False]["x"], 1.5, 0.02),
    )
