"""Regions: polygons and patches by scikit-image, growing and shrinking by scipy, masks as PNG by Pillow.

Corners are given in thousandths of a pixel and never lie on a line through pixel centres, where rules for the border differ.
"""

import io
import platform
from importlib import metadata

import numpy as np
from PIL import Image
from scipy import ndimage
from skimage.measure import label, points_in_poly
from skimage.morphology import remove_small_objects

from .arrays import pattern
from .document import dump

WIDTH, HEIGHT = 23, 17


def rows_of(mask):
    """A mask as one text for each row: # inside, . outside."""
    return ["".join("#" if inside else "." for inside in row) for row in mask]


def scattered(corners, seed):
    """Corners in thousandths of a pixel that also lie beside the grid, by a congruence that anyone can follow."""
    value, out = seed, []
    for _ in range(corners):
        pair = []
        for length in (WIDTH, HEIGHT):
            value = (1103515245 * value + 12345) % 2147483648
            place = value // 1024 % (1000 * (length + 6)) - 3000
            # Never on the line of a centre.
            pair.append(place + (1 if place % 500 == 0 else 0))
        out.append(tuple(pair))
    return out


def spiral():
    """A band that winds inward twice."""
    return [(1010, 1020), (21990, 1030), (21980, 15970), (2510, 15960), (2520, 4040), (18030, 4050), (18040, 12060),
            (6070, 12080), (6090, 7110), (13130, 7120), (13140, 9110), (8090, 9130), (8080, 10140), (16030, 10150),
            (16020, 5990), (4510, 5980), (4520, 14030), (20010, 14020), (20030, 2990), (1030, 2980)]


POLYGONS = {
    "triangle": [(2210, 1310), (20730, 4090), (9120, 15840)],
    "star": [(11030, 310), (17210, 15930), (1110, 5870), (21870, 6130), (4930, 16070)],
    "spiral": spiral(),
    "beside the grid": [(-9010, -4030), (14020, -2010), (31070, 26040), (3110, 8020)],
    "thin": [(1010, 1020), (22030, 15040), (1020, 1990)],
    "around the grid": [(-510, -520), (23530, -540), (23550, 17560), (-570, 17580)],
    "twice round": 2 * [(3010, 3020), (19030, 3040), (19050, 13060), (3070, 13080)],
    "60 scattered": scattered(60, 7),
    "7 scattered": scattered(7, 101),
    "200 scattered": scattered(200, 977),
}


def polygons():
    """Pixel centres in polygons by crossing number."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH]
    centres = np.stack([x.ravel() + 0.5, y.ravel() + 0.5], axis=1)
    rows = []
    for name, corners in POLYGONS.items():
        inside = points_in_poly(centres, np.array(corners) / 1000.0).reshape(HEIGHT, WIDTH)
        rows.append({"name": name, "corners": [list(corner) for corner in corners], "mask": rows_of(inside)})
    return {"tolerance": {"absolute": 1e-9}, "width": WIDTH, "height": HEIGHT, "rows": rows}


def morphology():
    """Growing and shrinking by squares; nothing lies beside the grid that would grow in or eat away."""
    square = np.ones((3, 3), dtype=bool)
    rows = []
    for name, mask in (("sparse", pattern(WIDTH, HEIGHT, 29) == 0), ("dense", pattern(WIDTH, HEIGHT, 37) != 5),
                       ("half", pattern(WIDTH, HEIGHT, 11, across=1, down=2, both=0) < 6)):
        for by in (1, 2, 4):
            grown = ndimage.binary_dilation(mask, square, iterations=by, border_value=0)
            shrunk = ndimage.binary_erosion(mask, square, iterations=by, border_value=1)
            rows.append({"name": name, "by": by, "mask": rows_of(mask), "grown": rows_of(grown), "shrunk": rows_of(shrunk)})
    return {"tolerance": {"absolute": 1e-9}, "rows": rows}


def patches():
    """Patches over edges and corners by scikit-image, in order of their first pixels, and without those below a size."""
    rows = []
    for name, mask in (("sparse", pattern(WIDTH, HEIGHT, 29) < 6), ("half", pattern(WIDTH, HEIGHT, 37) < 15),
                       ("dense", pattern(WIDTH, HEIGHT, 11, across=1, down=2, both=0) < 6), ("none", np.zeros((HEIGHT, WIDTH), bool)),
                       ("all", np.ones((HEIGHT, WIDTH), bool)), ("spiral", spiral_of_pixels())):
        labels = label(mask, connectivity=2)
        firsts = np.unique(labels[labels > 0], return_index=True)[1]
        order = np.argsort(firsts) + 1
        sizes = [int((labels == number).sum()) for number in order]
        without = [{"below": below, "mask": rows_of(remove_small_objects(mask, max_size=below - 1, connectivity=2))}
                   for below in (2, 4, 12)]
        middle = labels[HEIGHT // 2, WIDTH // 2]
        rows.append({"name": name, "mask": rows_of(mask), "sizes": sizes, "without": without,
                     "in_the_middle": rows_of((labels == middle) & (middle > 0))})
    return {"tolerance": {"absolute": 1e-9}, "rows": rows}


def spiral_of_pixels():
    """A line one pixel wide that winds inward, with a gap of one pixel."""
    mask = np.zeros((HEIGHT, WIDTH), bool)
    for ring in range(0, HEIGHT // 2, 2):
        mask[ring, ring:WIDTH - ring] = mask[HEIGHT - 1 - ring, ring:WIDTH - ring] = True
        mask[ring:HEIGHT - ring, WIDTH - 1 - ring] = mask[ring + 2:HEIGHT - ring, ring] = True
        # The way to the next ring.
        mask[ring + 2, ring:ring + 3] = True
    return mask


def png(image):
    """The bytes of a picture as hexadecimal text."""
    out = io.BytesIO()
    image.save(out, format="PNG")
    return out.getvalue().hex()


def pictures():
    """Masks as PNG of several sorts, with the pixels that are inside by numpy on the pixels by Pillow."""
    grey = pattern(9, 7, 256, across=37, down=61).astype(np.uint8)
    other = pattern(9, 7, 256, across=101, down=13).astype(np.uint8)
    deep = (grey.astype(np.uint16) << 8) + other
    full = np.full_like(grey, 255)
    by_grey, by_alpha = grey >= 128, other >= 128
    colours = np.dstack([grey, other, 255 - grey])
    mean = colours.astype(int).sum(axis=2) >= 1.5 * 255
    palette = Image.fromarray((grey % 4).astype(np.uint8)).convert("P")
    palette.putpalette([0, 0, 0, 255, 255, 255, 40, 40, 40, 200, 210, 220])
    cases = [
        ("one bit", Image.fromarray(by_grey), by_grey),
        ("grey", Image.fromarray(grey), by_grey),
        ("grey of 16 bits", Image.fromarray(deep), deep >= 32768),
        ("grey with transparency", Image.merge("LA", [Image.fromarray(full), Image.fromarray(other)]), by_alpha),
        ("grey, all opaque", Image.merge("LA", [Image.fromarray(grey), Image.fromarray(full)]), by_grey),
        ("colour", Image.fromarray(colours), mean),
        ("colour with transparency", Image.fromarray(np.dstack([colours, other])), by_alpha),
        ("colour, all opaque", Image.fromarray(np.dstack([colours, full])), mean),
        ("palette", palette, np.isin(grey % 4, (1, 3))),
    ]
    rows = [{"name": name, "mode": image.mode, "png": png(image), "mask": rows_of(mask)} for name, image, mask in cases]
    return {"tolerance": {"absolute": 1e-9}, "rows": rows}


def versions():
    """The libraries that took part."""
    names = ("numpy", "scipy", "scikit-image", "pillow")
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in names}}


def write(path):
    """Writes the sections about regions."""
    values = {"versions": versions(), "polygons": polygons(), "morphology": morphology(), "patches": patches(),
              "pictures": pictures()}
    path.write_text(dump(values) + "\n", encoding="utf-8")
