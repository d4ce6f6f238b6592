"""The rule "quiet part" on invented maps, the cases where it abstains included."""

import numpy as np

from . import containers
from .arrays import counting_arrays, pattern, pixel_hash, type_name
from .counting import quiet_part


def cases():
    """Named maps. Each is written as NPY, for the program to read and judge."""
    named = dict(counting_arrays())
    zeros = pattern(20, 15, 10)
    named["zeros_and_hundreds"] = np.where(zeros < 4, 0, 100 + zeros).astype("<u2")
    few = pattern(7, 5, 6).astype("<u1")
    few.ravel()[:6] = 255
    named["too_few_pixels"] = few
    named["constant"] = np.full((9, 8), 5, dtype="<u2")
    # With this many pixels the share at the quarter comes so close to one that no observed value lies below the level.
    nothing = np.full((100, 100), 5, dtype="<u1")
    nothing[40, 60] = 9
    named["nothing_quiet"] = nothing
    bright = pattern(25, 20, 12)
    bright[(bright == 11) & (pattern(25, 20, 3) == 0)] = 255
    named["saturated_bytes"] = bright.astype("<u1")
    holes = pattern(21, 16, 14).astype("<f4")
    holes[pattern(21, 16, 11) == 0] = np.nan
    holes[3, 3] = np.inf
    named["holes"] = holes
    lumpy = pattern(30, 22, 5) + 12 * (pattern(30, 22, 7, across=2, down=3, both=0) == 0)
    named["dispersed"] = lumpy.astype("<u2")
    return named


def write(folder):
    """Writes the maps and gives what the rule makes of each."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for name, array in cases().items():
        containers.write_npy(folder / f"{name}.npy", array)
        rows.append({
            "name": name, "file": f"{folder.name}/{name}.npy", "dtype": type_name(array),
            "sha256_of_pixels": pixel_hash(array), **quiet_part(array),
        })
    return {"tolerance": {"relative": 1e-9}, "rows": rows}
