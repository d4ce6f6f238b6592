"""The example of 6 x 4 pixels that can be worked out on paper."""

import numpy as np

from . import containers, light, questions
from .arrays import pixel_hash
from .counting import stated

#: Counts of Ti K, the map A.
A = np.array([
    [20, 2, 15, 2, 25, 3],
    [1, 11, 2, 1, 22, 12],
    [2, 0, 4, 2, 30, 2],
    [3, 1, 2, 8, 1, 5],
], dtype="<u2")

#: Counts of Fe K, the map B. The last pixel is saturated.
B = np.array([
    [60, 40, 3, 2, 4, 3],
    [4, 11, 3, 2, 10, 3],
    [2, 3, 1, 6, 3, 4],
    [35, 4, 3, 2, 5, 65535],
], dtype="<u2")

BACKGROUND_A = 2.0
BACKGROUND_B = 3.0
STEP_UM = 500.0
#: The pixel (x, y) of A that is blank in the second form of the example.
HOLE = (4, 0)


def with_hole():
    """A as f32 with one blank pixel."""
    array = A.astype("<f4")
    array[HOLE[1], HOLE[0]] = np.nan
    return array


def nullable(raster):
    """Rows of numbers with null for NaN, as JSON can hold them."""
    return [[None if np.isnan(value) else float(value) for value in row] for row in raster]


def form(a, file_a, k_values):
    """Everything expected of one form of the example."""
    rule_a, rule_b = stated(BACKGROUND_A), stated(BACKGROUND_B)
    raster, sums = questions.ratio(a, B, rule_a, rule_b)
    areas = []
    for k in k_values:
        constant = questions.stated_accompaniment(k)
        classes, found = questions.apart(a, B, rule_a, rule_b, constant, (STEP_UM / 1000.0) ** 2)
        areas.append({"settings": {"k": k}, **constant, "classes": classes.tolist(), **found})
    lights = [
        {"colour": "#e69f00", "low": float(rule_a["critical_level"]), "high": 30.0, "gamma": 1.0},
        {"colour": "#56b4e9", "low": float(rule_b["critical_level"]), "high": 60.0, "gamma": 2.0},
    ]
    coarse = light.block_means(a, 2)
    dark = {"colour": "#e69f00", "low": 0.0, "high": 30.0, "gamma": 2.0}
    return {
        "a": {"file": file_a, "line": "Ti K", "sha256_of_pixels": pixel_hash(a), **rule_a},
        "b": {"file": "hand/Fe-K.npy", "line": "Fe K", "sha256_of_pixels": pixel_hash(B), **rule_b},
        "apart": areas,
        "ratio": {"count_ratio": nullable(raster), "valid_pixels": sums["pixels"], **sums},
        "overlay": {"lights": lights, "rgba": light.overlay([(a, lights[0]), (B, lights[1])]).tolist()},
        "coarse": {
            "lights": [dark], "view": {"x": 0, "y": 0, "width": 6, "height": 4, "out_width": 3},
            "means": nullable(coarse), "rgba": light.overlay([(coarse, dark)]).tolist(),
        },
    }


def write(folder):
    """Writes the maps and gives the expected values of both forms."""
    folder.mkdir(parents=True, exist_ok=True)
    containers.write_npy(folder / "Ti-K.npy", A)
    containers.write_npy(folder / "Fe-K.npy", B)
    containers.write_npy(folder / "Ti-K_blank.npy", with_hole())
    return {
        "tolerance": {"relative": 1e-12, "absolute": 1e-12, "colour_steps": 1},
        "settings": {
            "background_a": BACKGROUND_A, "background_b": BACKGROUND_B, "floor": 0.05, "alpha": 0.001,
            "step_x_um": STEP_UM, "step_y_um": STEP_UM,
        },
        "whole": form(A, "hand/Ti-K.npy", (0.25, 1.0)),
        "blank": form(with_hole(), "hand/Ti-K_blank.npy", (0.25, 1.0)),
    }
