"""Makes the photos of this folder and what Pillow and numpy make of them.

    target/venv/bin/python tests/cases/photos/make.py

Pictures follow integer formulas. `expected.json` has for each file its size and its pixels (three bytes each, in
hexadecimal) as Pillow decodes them, laid by `ImageOps.exif_transpose`; and means in linear light of cells of a larger
picture, by numpy in double precision with the curve of IEC 61966-2-1. The larger picture itself is made by the test.
"""

import json
import struct
from io import BytesIO
from pathlib import Path

import imagecodecs
import numpy as np
from PIL import Image, ImageOps

HERE = Path(__file__).resolve().parent
ORIENTATION = 274


def base(width=13, height=9):
    """Smooth, so that a JPEG keeps it, and without any symmetry."""
    y, x = np.mgrid[0:height, 0:width]
    return np.stack([15 * x + 20, 20 * y + 30, 200 - 7 * x - 9 * y], axis=-1).astype(np.uint8)


def profile(name):
    """The smallest ICC profile with a name (textDescriptionType)."""
    text = name.encode("ascii") + b"\0"
    tag = b"desc" + bytes(4) + struct.pack(">I", len(text)) + text + bytes(78)
    body = struct.pack(">I", 1) + b"desc" + struct.pack(">II", 144, len(tag)) + tag
    head = bytearray(128)
    head[0:4] = struct.pack(">I", 128 + len(body))
    head[8] = 2
    head[12:16], head[16:20], head[20:24], head[36:40] = b"mntr", b"RGB ", b"XYZ ", b"acsp"
    return bytes(head) + body


def tagged(number):
    exif = Image.Exif()
    exif[ORIENTATION] = number
    return exif


def files():
    """Name, bytes and, where it must be chosen, the way to read it."""
    def saved(image, name, **options):
        out = BytesIO()
        image.save(out, {"jpg": "JPEG", "png": "PNG", "tif": "TIFF"}[name.rsplit(".", 1)[1]], **options)
        return name, out.getvalue()

    image = Image.fromarray(base())
    for number in range(1, 9):
        yield *saved(image, f"laid_{number}.jpg", quality=95, subsampling=0, exif=tagged(number)), None
        yield *saved(image, f"laid_{number}.png", exif=tagged(number)), None
        yield *saved(image, f"laid_{number}.tif", compression="tiff_lzw", tiffinfo={ORIENTATION: number}), None
    large = Image.fromarray(base(24, 17) // 2 + 40)
    yield *saved(large, "progressive.jpg", quality=95, subsampling=0, progressive=True), None
    yield *saved(large, "chroma_halved.jpg", quality=95, subsampling=2), None
    yield *saved(large, "wide_gamut.jpg", quality=95, subsampling=0, icc_profile=profile("Invented wide gamut")), None
    yield *saved(large, "srgb_profile.png", icc_profile=profile("sRGB by name")), None
    yield *saved(large, "wide_gamut.png", icc_profile=profile("Invented wide gamut")), None
    yield *saved(large, "wide_gamut.tif", icc_profile=profile("Invented wide gamut")), None
    inks = np.concatenate([base(24, 17), (base(24, 17)[..., :1] // 4)], axis=-1)
    printed = Image.fromarray(inks, "CMYK")
    yield *saved(printed, "print_colours.jpg", quality=95), None
    # The same inks with the luminance and chroma form of them (Adobe's transform 2).
    ycck = imagecodecs.jpeg8_encode(255 - inks, level=95, colorspace="CMYK", outcolorspace="YCCK", subsampling="444")
    yield "print_colours_ycck.jpg", bytes(ycck), None
    yield *saved(image.convert("L"), "grey.jpg", quality=95, exif=tagged(6)), "photo"
    yield *saved(image.convert("L"), "grey.png", exif=tagged(6)), "photo"
    deep = (base()[..., 0].astype(np.uint16) << 8) + base()[..., 1]
    yield *saved(Image.fromarray(deep), "grey_16.png"), "photo"
    yield *saved(Image.fromarray(deep), "grey_16.tif"), "photo"
    yield *saved(image.convert("P", palette=Image.Palette.ADAPTIVE, colors=90), "palette.png", exif=tagged(8)), None
    clear = Image.fromarray(np.concatenate([base(), base()[..., :1]], axis=-1))
    yield *saved(clear, "transparent.png", exif=tagged(3)), None


def pixels(data, name):
    image = ImageOps.exif_transpose(Image.open(BytesIO(data)))
    array = np.asarray(image)
    if array.dtype == np.uint16 or image.mode.startswith("I"):
        # To the nearest of 255 steps: 65535 / 255 = 257.
        array = ((array.astype(np.int64) + 128) // 257).astype(np.uint8)
        image = Image.fromarray(array)
    if image.mode == "RGBA":
        image = Image.fromarray(np.asarray(image)[..., :3])  # transparency left out, colours as they stand
    return np.asarray(image.convert("RGB"))


def wide(x, y):
    """The larger picture: 5003 x 5011 pixels."""
    return np.stack([(x * 7 + y * 3) % 256, (x * x + y) % 251, (x // 9 + y // 5) % 256], axis=-1)


def decode(step):
    v = step / 255.0
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def encode(light):
    return np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055) * 255.0


def means():
    """Cells of 2 x 2 pixels of the larger picture laid as orientation 6 says, smaller at its right and lower border."""
    width, height, factor = 5003, 5011, 2
    y, x = np.mgrid[0:height, 0:width]
    laid = np.rot90(wide(x, y), -1)  # clockwise
    rows, columns = laid.shape[:2]
    cells = [(0, 0), (1, 1), (1000, 77), (2505, 0), (0, 2501), (2505, 2501), (2504, 2500), (1234, 2501), (2505, 999)]
    out = []
    for cx, cy in cells:
        inside = laid[cy * factor:(cy + 1) * factor, cx * factor:(cx + 1) * factor].reshape(-1, 3)
        assert len(inside) > 0, (cx, cy)
        out.append({"x": cx, "y": cy, "steps": encode(decode(inside).mean(axis=0)).tolist()})
    return {"size": [columns, rows], "kept": [-(-columns // factor), -(-rows // factor)], "factor": factor, "cells": out}


def main():
    expected = {}
    for name, data, way in files():
        assert len(data) < 3000, (name, len(data))
        (HERE / name).write_bytes(data)
        laid = pixels(data, name)
        expected[name] = {"width": laid.shape[1], "height": laid.shape[0], "pixels": laid.tobytes().hex()}
        if way is not None:
            expected[name]["way"] = way
    text = json.dumps({"files": expected, "means": means()}, indent=1)
    (HERE / "expected.json").write_text(text + "\n", encoding="utf-8")
    print(f"{len(expected)} files, {sum((HERE / name).stat().st_size for name in expected)} bytes")


if __name__ == "__main__":
    main()
