"""Reads the files that `tests/exports.rs` writes, with numpy, tifffile, Pillow, csv, json and zipfile.

    LIMNER_EXPORTS=target/exports cargo test --test exports
    python tests/reference/exports.py target/exports

What each file must hold is computed here from the integer formulas of its inputs; nothing of the program is asked.
"""

import csv
import hashlib
import io
import json
import sys
import zipfile
from pathlib import Path

import numpy as np
import tifffile
from PIL import Image

WIDTH, HEIGHT = 30, 20
STEP_X, STEP_Y = 250.0, 400.0
RESOLUTION_UNIT_CM = 3


class Report:
    """Counts checks; each compares one thing of one file."""

    def __init__(self):
        self.passed, self.failed = 0, 0

    def check(self, name, held, why=""):
        if held:
            self.passed += 1
        else:
            self.failed += 1
            print(f"FAIL  {name}: {why}")

    def equal(self, name, got, want):
        self.check(name, got == want, f"{got!r} instead of {want!r}")

    def same(self, name, got, want):
        """Two arrays of one type, NaN in the same places."""
        if got.shape != want.shape or got.dtype != want.dtype:
            self.check(name, False, f"{got.dtype} {got.shape} instead of {want.dtype} {want.shape}")
            return
        equal_nan = got.dtype.kind == "f"
        self.check(name, np.array_equal(got, want, equal_nan=equal_nan), f"{int((got != want).sum())} pixels differ")


# The inputs, as their files hold them. x and y count from 0.

def grid(width=WIDTH, height=HEIGHT):
    y, x = np.mgrid[0:height, 0:width]
    return x, y


def painted(left, bright):
    x, y = grid()
    background = np.array([2, 1, 3, 2, 0, 4, 2, 1])[(x * 5 + y * 3) % 8]
    inside = (x >= left) & (x < left + 12) & (y >= 4) & (y < 16)
    return (background + bright * inside).astype("<u2")


def lead():
    x, y = grid()
    return np.where((x + y) % 5 == 0, np.nan, (3 * x - 5 * y) / 8.0).astype("<f4")


def raw():
    x, y = grid()
    zx, zy = grid(34, 23)
    cx, cy = grid(27, 18)
    return {
        "Ti K": painted(8, 80),
        "Fe K": painted(14, 200),
        "Pb L": lead(),
        "Cu K": (2 + 4 * ((3 * x + y) % 50)).astype("<u2"),
        "Zn K": ((7 * zx + 13 * zy + zx * zy) % 97).astype("<u2"),
        "Ca K": ((5 * cx + 11 * cy + 3) % 61).astype("<u2"),
        "Hg L": ((2 * x + 7 * y) % 90).astype("<u2"),
    }


FILES = {name: f"{name.replace(' ', '-')}.npy" for name in raw()}


def used():
    """The maps on the grid, not yet turned: framed, scaled, blanks as NaN."""
    of = raw()
    stored = of["Cu K"].astype(float)
    padded = np.full((HEIGHT, WIDTH), np.nan)
    # The frame begins at (-2, -1) of the file.
    padded[1:19, 2:29] = of["Ca K"]
    return {
        "Ti K": of["Ti K"],
        "Fe K": of["Fe K"],
        "Pb L": of["Pb L"],
        "Cu K": np.where(stored == 198, np.nan, (stored - 2) / 4),
        # The frame begins at (3, 2) of the file.
        "Zn K": of["Zn K"][2:22, 3:33],
        "Ca K": padded,
        # Mirrored left to right, then turned by half a turn, on its own.
        "Hg L": np.rot90(np.fliplr(of["Hg L"]), 2),
        "Ti less Fe": of["Ti K"].astype(float) - 0.5 * of["Fe K"].astype(float),
    }


def sigma_of_difference():
    of = raw()
    return np.sqrt(of["Ti K"].astype(float) + 0.25 * of["Fe K"].astype(float))


def turned(array, entry):
    """Mirrored left to right (or not), then turned clockwise."""
    mirrored = np.fliplr(array) if entry["mirror"] else array
    return np.ascontiguousarray(np.rot90(mirrored, -entry["turns"]))


def steps(entry):
    return (STEP_Y, STEP_X) if entry["turns"] % 2 else (STEP_X, STEP_Y)


def regions():
    """The regions on the grid, not yet turned."""
    wedge = np.nan_to_num(lead(), nan=-1e9) >= 2.5
    x, y = grid()
    box = (x >= 1) & (x < 6) & (y >= 2) & (y < 9)
    return {"wedge": wedge, "=box": box, "Blätter <b>": wedge & ~box}


def on_file(mask, map_name):
    """A mask of the grid, not turned, on the pixels of a map's file."""
    if map_name == "Zn K":
        out = np.zeros((23, 34), bool)
        out[2:22, 3:33] = mask
        return out
    if map_name == "Ca K":
        return np.ascontiguousarray(mask[1:19, 2:29])
    if map_name == "Hg L":
        # Half a turn and a mirror left to right are a mirror top to bottom, which undoes itself.
        return np.ascontiguousarray(np.flipud(mask))
    return mask


# Readers.

def sha256(data):
    return hashlib.sha256(data).hexdigest()


def read_tiff(report, name, path, size, step):
    """The pixels and the record of a TIFF, its resolution checked."""
    with tifffile.TiffFile(path) as file:
        report.equal(f"{name}: pages, byte order", (len(file.pages), file.byteorder), (1, "<"))
        page = file.pages[0]
        unit = int(page.tags["ResolutionUnit"].value)
        per_unit = [page.tags[tag].value for tag in ("XResolution", "YResolution")]
        if step is None:
            report.equal(f"{name}: no resolution", (unit, per_unit), (1, [(1, 1), (1, 1)]))
        else:
            # Pixels in a centimetre, as a fraction; 10 000 µm are a centimetre.
            found = tuple(10_000 * bottom / top for top, bottom in per_unit)
            report.equal(f"{name}: step by resolution tags", (unit, found), (RESOLUTION_UNIT_CM, step))
        record = json.loads(page.description)
        array = page.asarray()
    report.equal(f"{name}: size", array.shape, size)
    with Image.open(path) as image:
        report.same(f"{name}: Pillow reads the same", np.asarray(image), array)
        if step is not None:
            dots = tuple(round(float(v), 6) for v in image.info["dpi"])
            report.equal(f"{name}: Pillow's dpi", dots, tuple(round(25_400 / v, 6) for v in step))
    return array, record


def read_npz(path, name):
    with np.load(path) as file:
        arrays = {key: file[key] for key in file.files if key != "record.json"}
    with zipfile.ZipFile(path) as file:
        assert file.testzip() is None
        record = json.loads(file.read("record.json"))
        assert set(file.namelist()) == {f"{key}.npy" for key in arrays} | {"record.json"}, name
    return arrays, record


def read_csv(path):
    """Rows as Python's csv reads them, and the record, if there is one; RFC 4180 wants CRLF and lines of one length."""
    data = path.read_bytes()
    text = data.decode("utf-8")
    rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    assert text.endswith("\r\n") and all(len(row) == len(rows[0]) for row in rows), path
    if rows[0][-1] != "record":
        return rows, None
    assert all(row[-1] == "" for row in rows[2:]), path
    record = json.loads(rows[1][-1])
    return [row[:-1] for row in rows], record


def hashes(record):
    """Names of files and their hashes, as a record gives them."""
    key = lambda item: (item.get("file", item.get("name")), item.get("file_sha256", item.get("sha256")))
    return {key(item) for item in record["inputs"]}


def expected_hashes(folder, names):
    return {(FILES[name], sha256((folder / "inputs" / FILES[name]).read_bytes())) for name in names}


# Checks of each kind of file.

def check_map(report, folder, entry):
    name, path = entry["file"], folder / entry["file"]
    want = turned(used()[entry["map"]], entry)
    inputs = {"Ti less Fe": ["Ti K", "Fe K"]}.get(entry["map"], [entry["map"]])
    form = entry["options"]["format"]
    if form == "tiff":
        array, record = read_tiff(report, name, path, want.shape, steps(entry))
        report.same(f"{name}: pixels", array, want.astype("<f4"))
        report.equal(f"{name}: said to be rounded", record["values"]["rounded"],
                     bool((want.astype("<f4").astype(float) != want)[~np.isnan(want.astype(float))].any()))
    elif form == "npy":
        report.same(f"{name}: pixels", np.load(path, allow_pickle=False), want)
        return
    else:
        arrays, record = read_npz(path, name)
        report.same(f"{name}: pixels", arrays["map"], want)
        if entry["map"] == "Ti less Fe":
            report.same(f"{name}: sigma", arrays["sigma"], turned(sigma_of_difference(), entry))
        else:
            report.equal(f"{name}: arrays", set(arrays), {"map"})
    report.equal(f"{name}: hashes of the inputs", hashes(record), expected_hashes(folder, inputs))
    report.equal(f"{name}: what it is", (record["export"], record["map"]["label"]), ("map", entry["map"]))
    report.equal(f"{name}: step in the record", record["step"], dict(zip(("x_um", "y_um"), steps(entry))))
    if entry["map"] == "Cu K":
        stated = next(iter(record["stated"].values()))
        report.equal(f"{name}: what was stated", (stated["gain"], stated["offset"]), (4.0, 2.0))
    if entry["map"] == "Ti less Fe":
        recipe = record["derived"][0]["recipe"]
        report.equal(f"{name}: how it was derived", (recipe["how"], recipe["k"]), ("subtract", 0.5))


def check_mask(report, folder, entry):
    name, path, options = entry["file"], folder / entry["file"], entry["options"]
    mask = regions()[options["region"]]
    of = options["as_file_of"]
    want = on_file(mask, of) if of else turned(mask, entry)
    step = (STEP_X, STEP_Y) if of else steps(entry)
    form = options["format"]
    if form == "png":
        with Image.open(path) as image:
            array, text, dots = np.asarray(image), image.text, image.info["dpi"]
        report.same(f"{name}: pixels", array, (want * 255).astype("u1"))
        report.check(f"{name}: resolution", np.allclose(dots, [25_400 / v for v in step], rtol=1e-6), f"{dots}")
        report.equal(f"{name}: title", text["Title"], options["region"])
        record = json.loads(text["Settings"])
    elif form == "tiff":
        array, record = read_tiff(report, name, path, want.shape, step)
        report.same(f"{name}: pixels", array, (want * 255).astype("u1"))
    elif form == "npy":
        report.same(f"{name}: pixels", np.load(path, allow_pickle=False), want)
        return
    elif form == "npz":
        arrays, record = read_npz(path, name)
        report.same(f"{name}: pixels", arrays["mask"], want)
        if of:
            # What it is for: picking the pixels of the file itself.
            source = np.load(folder / "inputs" / FILES[of])
            report.equal(f"{name}: picks the file's pixels", float(source[arrays["mask"]].sum()), float(source[want].sum()))
    else:
        rows, record = read_csv(path)
        report.equal(f"{name}: headings", rows[0], ["row from 0", "column from 0"])
        found = np.zeros(want.shape, bool)
        for row in rows[1:]:
            found[int(row[0]), int(row[1])] = True
        report.same(f"{name}: pixels", found, want)
        report.equal(f"{name}: each once", len(rows) - 1, int(want.sum()))
        plain = np.loadtxt(path, delimiter=",", skiprows=1, usecols=(0, 1), dtype=int, encoding="utf-8")
        report.equal(f"{name}: numpy.loadtxt", plain.shape, (int(want.sum()), 2))
    report.equal(f"{name}: pixels counted", record["pixels_inside"], int(want.sum()))
    report.equal(f"{name}: pixels beside the file", record["pixels_beside_the_file"], int(mask.sum() - want.sum()))
    report.equal(f"{name}: way up", record["lies"]["as"], "in the file" if of else "as the maps are shown")
    makers = [] if options["region"] == "=box" else ["Pb L"]
    report.equal(f"{name}: hashes of what made it", hashes(record), expected_hashes(folder, makers))
    report.equal(f"{name}: region", record["region"]["name"], options["region"])
    if of:
        report.equal(f"{name}: whose pixels", record["lies"]["file"]["file_sha256"],
                     sha256((folder / "inputs" / FILES[of]).read_bytes()))


def check_raster(report, folder, entry, seen):
    name, path, raster = entry["file"], folder / entry["file"], entry["options"]["raster"]
    form = entry["options"]["format"]
    size = turned(np.zeros((HEIGHT, WIDTH)), entry).shape
    if form == "npy":
        array = np.load(path, allow_pickle=False)
        record = None
    elif form == "npz":
        arrays, record = read_npz(path, name)
        array = arrays["raster"]
    else:
        array, record = read_tiff(report, name, path, size, steps(entry))
    x, y = grid()
    rows = (y >= 4) & (y < 16)
    titanium, iron = rows & (x >= 8) & (x < 20), rows & (x >= 14) & (x < 26)
    both = turned(titanium & iron, entry)
    if raster == "classes":
        report.equal(f"{name}: type", array.dtype, np.dtype("u1"))
        # One pixel beside a strong feature of the other element is its rim, where nothing is judged.
        rim = rows & ((x == 13) | (x == 20))
        expected = ((1, ~titanium & ~iron), (2, titanium & ~iron & ~rim), (3, iron & ~titanium & ~rim), (4, titanium & iron), (5, rim))
        for number, where in expected:
            report.same(f"{name}: class {number}", array == number, turned(where, entry))
        if record is not None:
            meaning = record["values"]["meaning"]
            report.check(f"{name}: meaning", meaning["2"].startswith("Ti K") and "Fe K" in meaning["3"], f"{meaning}")
    else:
        report.equal(f"{name}: type", array.dtype, np.dtype("<f4" if form == "tiff" else "<f8"))
        report.equal(f"{name}: size", array.shape, size)
        # The formats agree among themselves.
        key = (raster, entry["turns"], entry["mirror"])
        first = seen.setdefault(key, array)
        report.same(f"{name}: the same in every format", array.astype("<f4"), first.astype("<f4"))
        if raster == "count_ratio":
            # Where both are painted, about 82 over 202 less the background of about 2 each.
            inner = array[both]
            report.check(f"{name}: values", bool(np.all(np.abs(inner - 0.4) < 0.03)), f"{inner.min()} to {inner.max()}")
            report.check(f"{name}: none where nothing is", bool(np.isnan(array[~turned(iron, entry)]).all()), "numbers there")
    if record is not None:
        report.equal(f"{name}: hashes of the inputs", hashes(record), expected_hashes(folder, ["Ti K", "Fe K"]))
        report.equal(f"{name}: answer", record["answer"], entry["options"]["answer"])


def check_picture(report, folder, entry):
    name = entry["file"]
    with Image.open(folder / name) as image:
        dots, text, width = image.info["dpi"], image.text, image.width
    report.check(f"{name}: resolution", np.allclose(dots, 300, rtol=1e-4), f"{dots}")
    report.check(f"{name}: width", abs(width - 80 / 25.4 * 300) < 1, f"{width}")
    record = json.loads(text["Settings"])
    roots = {(item["file"], item["file_sha256"]) for item in record["inputs"][0]["roots"]}
    report.equal(f"{name}: hashes of the inputs", roots, expected_hashes(folder, ["Ti K", "Fe K"]))
    report.equal(f"{name}: settings", record["settings"], entry["options"]["settings"])


def number(text):
    return float(text) if text else None


def check_table(report, folder, entry, answer):
    name = entry["file"]
    rows, record = read_csv(folder / name)
    by_name = {row[0]: dict(zip(rows[0], row)) for row in rows[1:]}
    of = used()
    for map_name in ("Ti K", "Fe K"):
        for region, shown in (("wedge", "wedge"), ("=box", "=box")):
            mask = regions()[region]
            row = by_name[f"{map_name}, “{shown}”"]
            report.equal(f"{name}: pixels of {region}", number(row["pixels"]), float(mask.sum()))
            report.equal(f"{name}: sum of {map_name} in {region}", number(row["sum (counts)"]),
                         float(of[map_name][mask].sum()))
    check_answers_record(report, folder, name, entry, record, answer)


def check_answers_record(report, folder, name, entry, record, answer):
    if entry["options"].get("record") is False:
        report.equal(f"{name}: no record", record, None)
        return
    report.equal(f"{name}: answer", record["answer"], answer["id"])
    report.check(f"{name}: hashes of the inputs",
                 expected_hashes(folder, ["Ti K", "Fe K"]) <= hashes(record), f"{hashes(record)}")


def check_profile(report, folder, entry, answer):
    name = entry["file"]
    rows, record = read_csv(folder / name)
    report.equal(f"{name}: rows", len(rows), 1 + WIDTH)
    column = {heading: [number(row[i]) for row in rows[1:]] for i, heading in enumerate(rows[0])}
    report.equal(f"{name}: distance", column["distance (pixels)"], [i + 0.5 for i in range(WIDTH)])
    report.check(f"{name}: distance in mm", np.allclose(column["distance (mm)"], [(i + 0.5) * 0.25 for i in range(WIDTH)]),
                 f"{column['distance (mm)'][:3]}")
    for map_name in ("Ti K", "Fe K"):
        means = column[f"{map_name} mean (counts per pixel)"]
        report.check(f"{name}: {map_name}", np.allclose(means, used()[map_name][8].astype(float)), f"{means}")
    check_answers_record(report, folder, name, entry, record, answer)


def check_answer(report, folder, entry):
    name = entry["file"]
    data = (folder / name).read_bytes()
    answer = json.loads(data)
    report.equal(f"{name}: id", answer["id"], entry["options"]["answer"])
    # The id is the hash of the same text with an empty id.
    bare = data.replace(f'"id":"{answer["id"]}"'.encode(), b'"id":""', 1)
    report.equal(f"{name}: id by content", sha256(bare), answer["id"])
    report.equal(f"{name}: hashes of the inputs", hashes({"inputs": answer["inputs"]}), expected_hashes(folder, ["Ti K", "Fe K"]))


def check_lists(report, folder, entry):
    name, what = entry["file"], entry["what"]
    rows, record = read_csv(folder / name)
    table = [dict(zip(rows[0], row)) for row in rows[1:]]
    if what == "regions_table":
        for row, (region, mask) in zip(table, regions().items(), strict=True):
            # A leading "=" would be computed by a spreadsheet; an apostrophe keeps it a text.
            report.equal(f"{name}: name", row["name"], f"'{region}" if region.startswith("=") else region)
            report.equal(f"{name}: pixels", int(row["pixels"]), int(mask.sum()))
            report.check(f"{name}: area", abs(float(row["area (mm²)"]) - mask.sum() * 0.25 * 0.4) < 1e-9, row["area (mm²)"])
            ys, xs = np.nonzero(mask)
            found = [int(row[f"{side} (pixels)"]) for side in ("left", "top", "width", "height")]
            report.equal(f"{name}: bounds", found,
                         [int(v) for v in (xs.min(), ys.min(), np.ptp(xs) + 1, np.ptp(ys) + 1)])
        report.equal(f"{name}: maker", table[0]["made from maps"], "Pb L")
    elif what == "points":
        first, second = table
        report.equal(f"{name}: first", [first[key] for key in ("name", "x (mm)", "y (mm)", "x (pixels)", "y (pixels)", "technique")],
                     ["'=1+1", "3", "2", "12", "5", "Raman"])
        report.equal(f"{name}: text with quotes and a line end", first["result"], 'a band, "253"\nand more')
        report.check(f"{name}: second", np.allclose([float(second[key]) for key in ("x (mm)", "y (mm)")],
                                                    [20.5 * 0.25, 10.25 * 0.4], rtol=1e-14), f"{second}")
    else:
        by_file = {row["file"]: row for row in table}
        for map_name, file in FILES.items():
            data, row = (folder / "inputs" / file).read_bytes(), by_file[file]
            report.equal(f"{name}: {file}", (row["SHA-256"], int(row["bytes"]), row["line"]), (sha256(data), len(data), map_name))
            values = used()[map_name].astype(float)
            report.equal(f"{name}: range of {map_name}", (float(row["smallest"]), float(row["largest"]), int(row["blank (pixels)"])),
                         (float(np.nanmin(values)), float(np.nanmax(values)), int(np.isnan(values).sum())))
        derived = by_file[""]
        report.equal(f"{name}: derived", (derived["name"], derived["SHA-256"]), ("Ti less Fe", ""))
    report.equal(f"{name}: hashes of the inputs", hashes(record), expected_hashes(folder, FILES))


def check_spectrum(report, folder, entry):
    name = entry["file"]
    rows, record = read_csv(folder / name)
    report.equal(f"{name}: headings", rows[0], ["energy (keV)", "counts"])
    energies, counts = (np.array([float(row[i]) for row in rows[1:]]) for i in (0, 1))
    channel = np.arange(400)
    report.check(f"{name}: energies", np.allclose(energies, channel * 0.02 + 0.1, atol=1e-9), f"{energies[:3]}")
    report.same(f"{name}: counts", counts, (channel**2 % 37).astype(float))
    data = (folder / "inputs" / "wedge sum.txt").read_bytes()
    report.equal(f"{name}: hash of its file", hashes(record), {("wedge sum.txt", sha256(data))})


def check_record(report, folder, entry):
    record = json.loads((folder / entry["file"]).read_bytes())
    report.equal("record: hashes of the inputs", hashes(record), expected_hashes(folder, FILES))
    report.equal("record: regions", [region["name"] for region in record["regions"]], list(regions()))


TYPES = {".png": "image/png", ".tif": "image/tiff", ".csv": "text/csv", ".json": "application/json", ".npz": "application/zip",
         ".npy": "application/octet-stream"}


def check(folder, report):
    for name, array in raw().items():
        report.same(f"inputs/{FILES[name]}", np.load(folder / "inputs" / FILES[name]), array)
    entries = json.loads((folder / "list.json").read_text(encoding="utf-8"))
    kinds = {entry["what"] for entry in entries}
    report.equal("kinds of files", kinds, {"picture", "map", "raster", "mask", "answer", "table", "profile", "regions_table",
                                          "points", "files", "spectrum", "record"})
    answer, seen = json.loads((folder / "answer.json").read_bytes()), {}
    for entry in entries:
        report.equal(f"{entry['file']}: media type", entry["type"], TYPES[Path(entry["file"]).suffix])
        what = entry["what"]
        try:
            if what == "map":
                check_map(report, folder, entry)
            elif what == "mask":
                check_mask(report, folder, entry)
            elif what == "raster":
                check_raster(report, folder, entry, seen)
            elif what == "picture":
                check_picture(report, folder, entry)
            elif what == "answer":
                check_answer(report, folder, entry)
            elif what == "table":
                check_table(report, folder, entry, answer)
            elif what == "profile":
                check_profile(report, folder, entry, answer)
            elif what == "spectrum":
                check_spectrum(report, folder, entry)
            elif what == "record":
                check_record(report, folder, entry)
            else:
                check_lists(report, folder, entry)
        except (OSError, ValueError, KeyError, TypeError, IndexError, AssertionError) as error:
            # A file that cannot be read is a failure, not the end.
            report.check(entry["file"], False, f"{type(error).__name__}: {error}")


def main():
    report = Report()
    check(Path(sys.argv[1]), report)
    print(f"exports: {report.passed} passed, {report.failed} failed")
    sys.exit(1 if report.failed else 0)


if __name__ == "__main__":
    main()
