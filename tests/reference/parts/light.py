"""Colour: sRGB after IEC 61966-2-1, CIELAB after CIE 15, and maps shown as added lights."""

import numpy as np

#: Linear sRGB to CIE XYZ, the matrix of four decimals as IEC 61966-2-1 prints it.
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def decode(encoded):
    """Linear light of an encoded value between 0 and 1."""
    encoded = np.asarray(encoded, dtype=np.float64)
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def encode(linear):
    """Encoded value of linear light between 0 and 1."""
    linear = np.asarray(linear, dtype=np.float64)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1.0 / 2.4) - 0.055)


def to_byte(encoded):
    """The nearest of 256 steps; a half goes up."""
    return np.floor(255.0 * np.asarray(encoded) + 0.5).astype(np.uint8)


def channels(colour):
    """The three bytes of a colour written as #rrggbb."""
    return [int(colour[place : place + 2], 16) for place in (1, 3, 5)]


def lab(colour):
    """L*, a* and b* of a colour written as #rrggbb; white is the matrix's own, so that greys have no hue."""
    xyz = TO_XYZ @ decode(np.array(channels(colour)) / 255.0)
    relative = xyz / TO_XYZ.sum(axis=1)
    edge = 6.0 / 29.0
    x, y, z = np.where(relative > edge**3, np.cbrt(relative), relative / (3.0 * edge**2) + 4.0 / 29.0)
    return [float(116.0 * y - 16.0), float(500.0 * (x - y)), float(200.0 * (y - z))]


def overlay(lights):
    """RGBA of maps shown at once.

    `lights` holds (values, settings) with colour, low, high and gamma in the settings. A blank pixel of a map gives
    no light of that map.
    """
    shape = lights[0][0].shape
    total = np.zeros((*shape, 3))
    for values, settings in lights:
        position = (values.astype(np.float64) - settings["low"]) / (settings["high"] - settings["low"])
        intensity = np.nan_to_num(np.clip(position, 0.0, 1.0) ** settings["gamma"], nan=0.0)
        total += intensity[..., np.newaxis] * decode(np.array(channels(settings["colour"])) / 255.0)
    picture = np.full((*shape, 4), 255, dtype=np.uint8)
    picture[..., :3] = to_byte(encode(np.minimum(total, 1.0)))
    return picture


def block_means(values, side):
    """The mean of the pixels with data in each block of side x side pixels; NaN where a block has none.

    The map's own values are averaged, before any tone: the picture of a coarse map, not a coarse picture.
    """
    height, width = values.shape
    if height % side or width % side:
        raise ValueError(f"{width} x {height} pixels do not fall into blocks of {side}")
    blocks = values.astype(np.float64).reshape(height // side, side, width // side, side).swapaxes(1, 2)
    filled = np.isfinite(blocks)
    sums = np.where(filled, blocks, 0.0).sum(axis=(2, 3))
    counts = filled.sum(axis=(2, 3))
    return np.where(counts > 0, sums / np.maximum(counts, 1), np.nan)
