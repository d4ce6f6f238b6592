"""Integer formulas that define every invented array, and the hash that stands for the pixels of an array.

No array here comes from a random generator: a reader with a pencil can make any pixel again.
"""

import hashlib

import numpy as np

#: Names of the sample types as the project writes them, beside numpy's names in little-endian order.
SAMPLE_TYPES = {
    "u8": "<u1",
    "i8": "<i1",
    "u16": "<u2",
    "i16": "<i2",
    "u32": "<u4",
    "i32": "<i4",
    "f32": "<f4",
    "f64": "<f8",
}

#: The NaN that stands for an empty field of a text file.
CANONICAL_NAN = 0x7FF8000000000000


def pattern(width, height, modulus, across=31, down=17, both=1, start=0):
    """(start + across*x + down*y + both*x*y) mod modulus, with x along the width and y downward, as int64."""
    y, x = np.mgrid[0:height, 0:width].astype(np.int64)
    return (start + across * x + down * y + both * x * y) % modulus


def pixel_hash(array):
    """SHA-256 over the pixels in row-major order, every sample little-endian, NaN bits as they are."""
    little = array.astype(array.dtype.newbyteorder("<"), order="C")
    return hashlib.sha256(little.tobytes()).hexdigest()


def type_name(array):
    """The project's name of the array's sample type."""
    wanted = array.dtype.newbyteorder("<")
    for name, spelled in SAMPLE_TYPES.items():
        if np.dtype(spelled) == wanted:
            return name
    raise ValueError(f"no name for samples of type {array.dtype}")


def set_bits(array, places, bits):
    """Writes bit patterns into single pixels of a float array: `places` are (x, y), in the order of `bits`."""
    unsigned = array.view(array.dtype.str.replace("f", "u"))
    for (x, y), pattern_of_bits in zip(places, bits, strict=True):
        unsigned[y, x] = pattern_of_bits
    return array


def nan_patterns(array):
    """The distinct NaN bit patterns of a float array as hexadecimal text, sorted; empty for integers."""
    if array.dtype.kind != "f":
        return []
    little = np.ascontiguousarray(array.astype(array.dtype.newbyteorder("<")))
    bits = little.view("<u4" if little.dtype.itemsize == 4 else "<u8")
    digits = 2 * little.dtype.itemsize
    return [f"{int(value):0{digits}x}" for value in np.unique(bits[np.isnan(little)])]


def counting_arrays():
    """Six arrays of 64 x 48 whole numbers: two discs and a rectangle on a patterned ground.

    They stand in for counting maps where a whole map is needed. They are not Poisson draws: they check
    arithmetic, not statistics.
    """
    y, x = np.mgrid[0:48, 0:64].astype(np.int64)

    def ripple(across, down, both, modulus):
        return (across * x + down * y + both * x * y) % modulus

    disc_one = ((x - 18) ** 2 + (y - 16) ** 2 <= 144).astype(np.int64)
    disc_two = ((x - 46) ** 2 + (y - 30) ** 2 <= 100).astype(np.int64)
    rectangle = ((x >= 8) & (x < 30) & (y >= 24) & (y < 44)).astype(np.int64)
    iron = 4 + ripple(37, 101, 7, 9) + disc_one * (24 + 3 * (y - 4)) + disc_two * (15 + 2 * (x - 36))
    manganese = (15 * iron + ripple(53, 29, 3, 100)) // 100 + 12 * disc_two * (x >= 46)
    copper = 2 + ripple(29, 61, 5, 7) + 25 * rectangle
    zinc = 1 + ripple(31, 17, 11, 5) + 14 * rectangle
    lead = 20 + ripple(41, 73, 13, 23) + x
    ground = ripple(19, 47, 9, 4)
    named = {"iron": iron, "manganese": manganese, "copper": copper, "zinc": zinc, "lead": lead, "ground": ground}
    return {name: array.astype("<u2") for name, array in named.items()}
