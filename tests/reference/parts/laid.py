"""Photos laid on the grid: bilinear by scipy and scikit-image, means by area by scikit-image and by plain counting.

A photo place is p, a grid place q, both with pixel centres at half-integers; a matrix takes p to q. Light is sRGB decoded after
IEC 61966-2-1 and encoded again, floor(255 x + 0.5).
"""

import io

import numpy as np
from PIL import Image
from scipy import ndimage
from skimage.measure import block_reduce
from skimage.transform import ProjectiveTransform, warp

from .arrays import pattern
from .document import dump

WIDTH, HEIGHT = 61, 45
#: Looks along each side of a picture pixel, for a mean by plain counting.
LOOKS = 40


def photo():
    """Edges, ramps and single pixels."""
    edges = np.where(pattern(WIDTH, HEIGHT, 2, across=1, down=1, both=0, start=0) == 0, 230, 25)
    blocks = np.where((np.arange(WIDTH)[None, :] // 7 + np.arange(HEIGHT)[:, None] // 5) % 2 == 0, 210, 40)
    return np.dstack([pattern(WIDTH, HEIGHT, 256, across=5, down=3, both=0), blocks, edges]).astype(np.uint8)


def decoded(steps):
    value = steps / 255.0
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


def encoded(light):
    value = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.clip(light, 0, None) ** (1 / 2.4) - 0.055)
    return np.floor(255.0 * np.clip(value, 0.0, 1.0) + 0.5).astype(np.uint8)


def places(matrix, view, offset=(0.5, 0.5)):
    """Photo places of the picture pixels, at a place within each."""
    x, y, width, height, out_width, out_height = view
    across, down = np.meshgrid(x + (np.arange(out_width) + offset[0]) * width / out_width,
                               y + (np.arange(out_height) + offset[1]) * height / out_height)
    grid = np.stack([across.ravel(), down.ravel(), np.ones(across.size)])
    back = np.linalg.inv(matrix) @ grid
    return (back[0] / back[2]).reshape(across.shape), (back[1] / back[2]).reshape(across.shape)


def reached(u, v):
    return (u >= 0) & (u < WIDTH) & (v >= 0) & (v < HEIGHT)


def bilinear(matrix, view):
    """Light by scipy's linear interpolation, the border's colour going on; scikit-image must say the same inside."""
    u, v = places(matrix, view)
    light = decoded(photo())
    out = np.dstack([ndimage.map_coordinates(light[..., c], [v - 0.5, u - 0.5], order=1, mode="nearest") for c in range(3)])
    x, y, width, height, out_width, out_height = view
    # scikit-image counts pixel centres at whole numbers.
    scale = np.array([[width / out_width, 0, x], [0, height / out_height, y], [0, 0, 1]])
    shift = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1]])
    to_photo = np.linalg.inv(shift) @ np.linalg.inv(matrix) @ scale @ shift
    other = warp(light, ProjectiveTransform(to_photo / to_photo[2, 2]), output_shape=(out_height, out_width), order=1,
                 mode="edge")
    if np.abs(out - other).max() > 1e-9:
        raise ValueError(f"scipy and scikit-image differ by {np.abs(out - other).max()}")
    return out, reached(u, v)


def counted(matrix, view):
    """Light by counting the pixels under many places of each picture pixel: its mean by area."""
    light = decoded(photo())
    sums, hits = 0.0, 0
    for i in range(LOOKS):
        for j in range(LOOKS):
            u, v = places(matrix, view, ((i + 0.5) / LOOKS, (j + 0.5) / LOOKS))
            inside = reached(u, v)
            column = np.clip(np.floor(u).astype(int), 0, WIDTH - 1)
            row = np.clip(np.floor(v).astype(int), 0, HEIGHT - 1)
            sums = sums + np.where(inside[..., None], light[row, column], 0.0)
            hits = hits + inside
    with np.errstate(invalid="ignore"):
        return sums / np.maximum(hits, 1)[..., None], reached(*places(matrix, view))


def bytes_of(light, inside):
    """RGBA as hexadecimal text; nothing where the photo does not reach."""
    rgba = np.dstack([encoded(light), np.full(inside.shape, 255, dtype=np.uint8)])
    return np.where(inside[..., None], rgba, 0).astype(np.uint8).tobytes().hex()


def settings(name, matrix, view):
    keys = ("x", "y", "width", "height", "out_width", "out_height")
    return {"name": name, "matrix": [float(value) for value in matrix.ravel()], "view": dict(zip(keys, view, strict=True))}


def turned(scale, angle, shift):
    c, s = scale * np.cos(angle), scale * np.sin(angle)
    return np.array([[c, -s, shift[0]], [s, c, shift[1]], [0, 0, 1.0]])


def enlarged():
    cases = [
        ("affine", np.array([[2.3, -0.21, 4.0], [0.19, 2.4, 3.0], [0, 0, 1.0]]), (-3.5, 2.25, 80.0, 60.0, 80, 60)),
        ("seen aslant", np.array([[2.1, -0.1, 12.5], [0.12, 2.1, 11.7], [6e-5, -3e-6, 1.0]]), (8.0, 6.0, 70.0, 50.0, 70, 50)),
        ("mirrored and large", np.array([[-3.0, 0.4, 190.0], [0.3, 3.2, 5.0], [0, 0, 1.0]]), (60.0, 40.0, 20.0, 15.0, 60, 45)),
    ]
    rows = []
    for name, matrix, view in cases:
        rows.append({**settings(name, matrix, view), "rgba": bytes_of(*bilinear(matrix, view))})
    return {"tolerance": {"absolute": 1.0}, "rows": rows}


def reduced():
    """By whole numbers: the means of blocks."""
    light = decoded(photo())
    rows = []
    for across, down in ((3, 3), (2, 5), (1, 4)):
        matrix = np.diag([1 / across, 1 / down, 1.0])
        view = (0.0, 0.0, float(WIDTH // across), float(HEIGHT // down), WIDTH // across, HEIGHT // down)
        whole = light[:view[5] * down, :view[4] * across]
        means = block_reduce(whole, (down, across, 1), np.mean)
        rows.append({**settings(f"by {across} and {down}", matrix, view),
                     "rgba": bytes_of(means, np.ones(means.shape[:2], dtype=bool))})
    return {"tolerance": {"absolute": 1.0}, "rows": rows}


def reduced_between():
    """Not by whole numbers, and turned. `turned` is 0 where the box lies as the picture pixel does: then only counting is
    inexact."""
    rows = []
    for name, scale, angle in (("by 2.6", 1 / 2.6, 0.0), ("by 1.3", 1 / 1.3, 0.0), ("by 2.6, turned by 0.01", 1 / 2.6, 0.01),
                               ("by 3.1, turned by 0.2", 1 / 3.1, 0.2), ("by 2, turned by 0.7", 0.5, 0.7)):
        matrix = turned(scale, angle, (6.0, 2.0))
        view = (0.0, 0.0, 30.0, 24.0, 30, 24)
        light, inside = counted(matrix, view)
        rows.append({**settings(name, matrix, view), "turned": angle,
                     "inside": "".join("#" if one else "." for one in inside.ravel()),
                     "light": [round(float(value), 6) for value in light[inside].ravel()]})
    return {"tolerance": {"absolute": 0.15}, "mean_apart": 0.025, "unturned": 0.004, "rows": rows}


def png():
    out = io.BytesIO()
    Image.fromarray(photo()).save(out, format="PNG")
    return out.getvalue().hex()


def write(path):
    sections = {"photo": png(), "enlarged": enlarged(), "reduced": reduced(), "reduced_between": reduced_between()}
    path.write_text(dump(sections) + "\n", encoding="utf-8")
