"""Collects the published files of this folder out of installed or unpacked packages, and decodes them independently.

    python tests/published/collect.py PYPNG_SOURCE

With the packages of README.md installed; PYPNG_SOURCE is the unpacked source archive of pypng. Writes `files/` and
`decoded.csv`: what numpy, Pillow, imagecodecs (libpng) and tifffile make of each file. Nothing of the program takes part.
"""

import csv
import hashlib
import importlib.util
import shutil
import sys
from importlib import metadata
from pathlib import Path

import imagecodecs
import numpy as np
import tifffile
from PIL import Image

HERE = Path(__file__).resolve().parent
SMALL = 70_000
#: Package, folder in it, what to take.
TAKEN = [
    ("numpy", "numpy/lib/tests/data", ["*.npy", "*.npz"]),
    ("scipy", "scipy/interpolate/tests/data", ["*.npy", "*.npz"]),
    ("scipy", "scipy/spatial/tests/data", ["*.npz"]),
    ("scipy", "scipy/sparse/tests/data", ["*.npz"]),
    ("scipy", "scipy/stats/tests/data/levy_stable", ["*.npy"]),
    ("scipy", "scipy/linalg/tests/data", ["carex_6_data.npz"]),
    ("scikit-image", "skimage/data", ["chessboard_*.png", "color.png", "phantom.png", "multipage*.tif", "horse.png",
                                      "text.png", "cell.png", "microaneurysms.png", "clock_motion.png"]),
    ("scikit-image", "skimage/morphology", ["disk_decompositions.npy", "ball_decompositions.npy"]),
    ("matplotlib", "matplotlib/mpl-data/sample_data", ["*.jpg", "*.png", "axes_grid/*.npy"]),
]


def decoded(path):
    """(what, list of arrays as they must be read), or None where numpy, Pillow and the others make no map of it."""
    try:
        if path.suffix == ".npy":
            array = np.load(path, allow_pickle=False)
            return ("maps", [array]) if array.ndim == 2 else None
        if path.suffix == ".npz":
            with np.load(path, allow_pickle=False) as opened:
                arrays = {name: opened[name] for name in opened.files}
            return "maps", [arrays[name] for name in sorted(arrays, key=lambda name: name + ".npy")
                            if arrays[name].ndim == 2 and arrays[name].size and arrays[name].dtype.kind in "biuf"]
        if path.suffix == ".tif":
            with tifffile.TiffFile(path) as opened:
                pages = [page.asarray() for page in opened.pages]
            return ("maps", pages) if all(page.ndim == 2 for page in pages) else None
        with Image.open(path) as opened:
            palette = opened.mode == "P"
            picture = np.asarray(opened.convert("RGBA" if palette else opened.mode))
        # Pillow brings colours of 16 bits down to 8 in its own way.
        if path.suffix == ".png" and not palette and path.read_bytes()[24] == 16:
            picture = imagecodecs.png_decode(path.read_bytes())
        if picture.ndim == 3 and picture.shape[2] < 3:
            picture = picture[..., 0]
        if picture.ndim == 3:
            deep = picture.dtype.itemsize == 2
            picture = (picture.astype(np.uint32) + 128) // 257 if deep else picture
            return "photo", [picture[..., :3].astype(np.uint8)]
        return "maps", [picture]
    except (ValueError, OSError, EOFError, KeyError, TypeError, imagecodecs.PngError) as error:
        print(f"{path.name}: {error}")
        return None


def kept(array):
    """The array in a type that maps have."""
    if array.dtype.kind == "b":
        return array.astype("<u1")
    if array.dtype.itemsize == 8 and array.dtype.kind in "iu":
        for narrow in ("<u4", "<i4", "<f8"):
            if np.array_equal(array.astype(narrow).astype(array.dtype), array):
                return array.astype(narrow)
    return array.astype(array.dtype.newbyteorder("<"))


def main(pypng):
    folder = HERE / "files"
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    rows = []
    spec = importlib.util.spec_from_file_location("pngsuite", pypng / "code" / "pngsuite.py")
    suite = importlib.util.module_from_spec(spec)
    sys.modules["pngsuite"] = suite
    spec.loader.exec_module(suite)
    for name, data in sorted(suite.png.items()):
        (folder / f"pngsuite-{name}.png").write_bytes(data)
        rows.append((f"pngsuite-{name}.png", f"pypng {pypng.name.split('-')[-1]}"))
    for package, inside, patterns in TAKEN:
        root = Path(metadata.distribution(package).locate_file(inside))
        for pattern in patterns:
            for path in sorted(root.glob(pattern)):
                if path.stat().st_size <= SMALL:
                    shutil.copy(path, folder / f"{package}-{path.name}")
                    rows.append((f"{package}-{path.name}", f"{package} {metadata.version(package)}"))
    with open(HERE / "decoded.csv", "w", newline="", encoding="utf-8") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(["file", "package", "what", "number", "width", "height", "sha256_of_pixels", "mean"])
        for name, package in rows:
            found = decoded(folder / name)
            if found is None or not found[1]:
                table.writerow([name, package, "nothing", 0, "", "", "", ""])
                continue
            what, arrays = found
            digest = hashlib.sha256(b"".join(np.ascontiguousarray(kept(a)).tobytes() for a in arrays)).hexdigest()
            table.writerow([name, package, what, len(arrays), arrays[0].shape[1], arrays[0].shape[0], digest,
                            f"{arrays[0].mean():.3f}" if what == "photo" else ""])


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve())
