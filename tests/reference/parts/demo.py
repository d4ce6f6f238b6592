"""The invented Tern Sound chart: backgrounds, questions and pictures on the maps that the project ships."""

import numpy as np
import tifffile

from . import light, questions
from .arrays import pixel_hash, type_name
from .counting import quiet_part

LINES = ("Ca K", "Ti K", "Mn K", "Fe K", "Cu K", "Zn K", "Pb L", "Hg L")
STEP_UM = 500.0
#: Pairs of which no line of one comes near the other, since the core does not judge what overlaps explain and this script knows
#: none: not Fe K with Mn K (its K beta), not Ti K with Fe K (its escape peak), not Pb L with Hg L (its flanks).
APART = (("Ti K", "Mn K"), ("Zn K", "Fe K"), ("Pb L", "Ti K"))
EXCESS = (("Ti K", "Mn K"), ("Zn K", "Fe K"))
RATIOS = (("Ti K", "Mn K"), ("Zn K", "Fe K"))
LIGHTS = (("Fe K", "#e69f00"), ("Pb L", "#56b4e9"), ("Hg L", "#cc79a7"))
#: The coarse picture takes this part of the field, which falls into whole blocks of 3 x 3 pixels.
COARSE_VIEW = {"x": 0, "y": 0, "width": 300, "height": 219, "out_width": 100}


def file_of(line):
    return f"tern_{line.replace(' ', '-')}.tif"


def slug(a, b):
    """The part of a raster's file name that says which pair it belongs to."""
    return f"{a}_{b}".replace(" ", "-")


def maps_of(folder):
    """The eight maps, by line."""
    return {line: tifffile.imread(folder / file_of(line)) for line in LINES}


def raster(folder, name, array):
    """Writes one raster and gives the entry that stands for it in the values."""
    np.save(folder / name, array, allow_pickle=False)
    return f"{folder.name}/{name}"


def excess_of(a, b, rule_a, rule_b):
    """The excess of A over what accompanies B: the count, and single values from the whole range of the raster.

    The samples are the pixels at even steps through the sorted values, those on either side of the limit, the first
    pixel that is exactly zero and the first that is not judged.
    """
    constant = questions.accompaniment(a, b, rule_a, rule_b)
    sigma = questions.excess(a, b, rule_a, rule_b, constant)
    judged = np.isfinite(sigma)
    ordered = np.argsort(sigma, axis=None, kind="stable")[:int(np.count_nonzero(judged))]
    values = sigma.ravel()[ordered]
    above = int(np.count_nonzero(values > questions.EXCESS))
    steps = np.linspace(0, values.size - 1, 9).astype(int).tolist()
    beside = [place for place in (values.size - above - 1, values.size - above) if 0 <= place < values.size]
    chosen = [int(ordered[place]) for place in (*steps, *beside)]
    chosen += [int(np.flatnonzero(mask)[0]) for mask in (sigma == 0, ~judged) if mask.any()]
    samples = [
        {"x": place % sigma.shape[1], "y": place // sigma.shape[1],
         "sigma": float(sigma.flat[place]) if judged.flat[place] else None}
        for place in sorted(set(chosen))
    ]
    return {
        "k_low": constant["k_low"], "k_high": constant["k_high"], "limit": questions.EXCESS,
        "judged_pixels": int(values.size), "above_limit_pixels": above,
        **questions.exact(a, b, rule_a, rule_b, constant),
        "zero_pixels": int(np.count_nonzero(values == 0)), "negative_pixels": int(np.count_nonzero(values < 0)),
        "samples": samples,
    }


def write(folder, maps_folder):
    """Writes the rasters into `folder` and gives every expected number."""
    folder.mkdir(parents=True, exist_ok=True)
    maps = maps_of(maps_folder)
    rules = {line: quiet_part(values) for line, values in maps.items()}
    backgrounds = [
        {"line": line, "file": file_of(line), "dtype": type_name(maps[line]), "width": int(maps[line].shape[1]),
         "height": int(maps[line].shape[0]), "sha256_of_pixels": pixel_hash(maps[line]), **rules[line]}
        for line in LINES
    ]

    pixel_area = (STEP_UM / 1000.0) ** 2
    apart = []
    for a, b in APART:
        constant = questions.accompaniment(maps[a], maps[b], rules[a], rules[b])
        classes, found = questions.apart(maps[a], maps[b], rules[a], rules[b], constant, pixel_area)
        apart.append({
            "a": a, "b": b, **constant, **found, "classes_sha256": pixel_hash(classes),
            "classes": raster(folder, f"classes_{slug(a, b)}.npy", classes),
        })

    ratios = []
    for a, b in RATIOS:
        quotients, sums = questions.ratio(maps[a], maps[b], rules[a], rules[b])
        ratios.append({
            "a": a, "b": b, "valid_pixels": sums["pixels"], **sums,
            "count_ratio": raster(folder, f"count_ratio_{slug(a, b)}.npy", quotients),
        })

    excess = [{"a": a, "b": b, **excess_of(maps[a], maps[b], rules[a], rules[b])} for a, b in EXCESS]

    lights = [
        {"map": line, "colour": colour, "low": float(rules[line]["critical_level"]),
         "high": float(np.quantile(maps[line], 0.995)), "gamma": 2.0}
        for line, colour in LIGHTS
    ]
    whole = light.overlay([(maps[settings["map"]], settings) for settings in lights])
    part = slice(0, COARSE_VIEW["height"]), slice(0, COARSE_VIEW["width"])
    side = COARSE_VIEW["width"] // COARSE_VIEW["out_width"]
    coarse = light.overlay([(light.block_means(maps[settings["map"]][part], side), settings) for settings in lights])
    return {
        "tolerance": {"relative": 1e-9, "raster_relative": 1e-12, "colour_steps": 1},
        "backgrounds": backgrounds,
        "apart": apart,
        "ratio": ratios,
        "excess": excess,
        "overlay": {"lights": lights, "rgba": raster(folder, "overlay.npy", whole)},
        "coarse": {"lights": lights, "view": COARSE_VIEW, "rgba": raster(folder, "overlay_coarse.npy", coarse)},
    }
