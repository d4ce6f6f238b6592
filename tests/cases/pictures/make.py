"""Draws the pictures of this folder with matplotlib 3 and Pillow: maps in the colours of a scale, with and without a bar.

    python tests/cases/pictures/make.py

The map is a formula; nothing is random.
"""

from pathlib import Path

import matplotlib
import numpy as np
from PIL import Image

matplotlib.use("Agg")
import matplotlib.pyplot as plt  # noqa: E402  (after the choice of what draws)

HERE = Path(__file__).resolve().parent
y, x = np.mgrid[0:90, 0:120].astype(float)
SIGNAL = 20 + 12 * np.sin(x / 9) * np.cos(y / 7) + 10 * np.exp(-((x - 70) ** 2 + (y - 30) ** 2) / 300)
#: Whole numbers with a deterministic grain.
COUNTS = np.floor(3 * SIGNAL + (31 * x + 17 * y + x * y) % 7)

for scale, kind in [("viridis", "png"), ("jet", "png"), ("hot", "png"), ("viridis", "jpg"), ("jet", "jpg"), ("hot", "jpg")]:
    # A JPEG of a narrower bar is too smeared to be known.
    figure, axes = plt.subplots(figsize=(6.4, 4.8), dpi=100 if kind == "jpg" else 64)
    figure.colorbar(axes.imshow(COUNTS, cmap=scale))
    axes.set_title("Cu K")
    figure.savefig(HERE / f"bar_{scale}.{kind}")
    plt.close(figure)
for scale in ("viridis", "inferno", "jet"):
    plt.imsave(HERE / f"plain_{scale}.png", COUNTS, cmap=scale)
# What must stay a photo: a gradient over the whole picture, a drawing of few colours.
yy, xx = np.mgrid[0:150, 0:200]
Image.fromarray(np.dstack([100 + yy * 100 // 149, 150 + yy * 70 // 149, 220 + yy * 30 // 149]).astype("u1")).save(
    HERE / "photo_sky.png")
Image.fromarray(np.dstack([xx * 255 // 199, yy * 255 // 149, (xx + yy) % 256]).astype("u1")).save(HERE / "photo_two_gradients.png")
drawing = np.full((150, 200, 3), 255, "u1")
for place in range(9):
    drawing[10 + 15 * place:20 + 15 * place, 20:180] = [(place * 83) % 256, (place * 151 + 40) % 256, (place * 37 + 90) % 256]
Image.fromarray(drawing).save(HERE / "photo_drawing.png")
