"""Makes the reference values of this folder, or makes them again and compares.

    python tests/reference/generate.py --write
    python tests/reference/generate.py --check --out target/reference

The README beside this file says what is made, by which definitions, and with which tolerances.
"""

import argparse
import json
import platform
import sys
from importlib import metadata
from pathlib import Path

import numpy as np

from parts import (
    accompany, alignment, areas, background, colour, compare, condition, containers, demo, document, fields, files, finding,
    formats, hand, laid, physics, presence, published, questions, tables, text_files, together, zones)

HERE = Path(__file__).resolve().parent
FORMATS = HERE.parent.parent / "docs" / "FORMATS.md"
TEXT_FILES = HERE.parent / "cases" / "text"
DEMO_MAPS = HERE.parent.parent / "demo-data" / "tern-sound"
XRAY = HERE.parent.parent / "src" / "physics" / "data" / "xray.bin"
LIBRARIES = ("numpy", "scipy", "tifffile", "imagecodecs", "pillow", "scikit-image", "colour-science", "statsmodels",
             "xraylib", "xraydb")


def versions():
    """The libraries that took part."""
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in LIBRARIES}}


def make(folder):
    """Makes everything in `folder`: the input files, the rasters and both JSON files."""
    folder.mkdir(parents=True, exist_ok=True)
    manifest = files.write(folder / "files")
    values = {
        "versions": versions(),
        **tables.all_tables(),
        **colour.all_tables(),
        "background": background.write(folder / "background"),
        "accompaniment": {"tolerance": {"relative": 1e-9}, "rows": questions.accompaniment_rows()},
        "hand": hand.write(folder / "hand"),
        "demo": demo.write(folder / "demo", DEMO_MAPS),
    }
    condition.write(folder / "condition")
    alignment.write(folder / "alignment.json")
    areas.write(folder / "areas.json")
    fields.write(folder / "fields.json")
    laid.write(folder / "laid.json")
    physics.write(folder / "physics.json")
    presence.write(folder)
    accompany.write(folder / "accompany.json")
    compare.write(folder)
    zones.write(folder, HERE / "zones" / "labels.txt")
    (folder / "together.json").write_text(document.dump(together.all_sections()) + "\n", encoding="utf-8")
    (folder / "finding.json").write_text(document.dump(finding.all_sections()) + "\n", encoding="utf-8")
    text_files.write(TEXT_FILES if folder == HERE else folder / "text")
    (folder / "files" / "manifest.json").write_text(document.dump(manifest) + "\n", encoding="utf-8")
    (folder / "values.json").write_text(document.dump(values) + "\n", encoding="utf-8")


def load(path):
    return json.loads(path.read_text(encoding="utf-8"))


class Report:
    """Prints one line for each check and counts."""

    def __init__(self):
        self.passed = 0
        self.failed = 0

    def line(self, name, wrong):
        """One check: `wrong` is the text of what is wrong, or none."""
        if wrong is None:
            self.passed += 1
            print(f"ok    {name}")
        else:
            self.failed += 1
            print(f"FAIL  {name}: {wrong}")

    def attempt(self, name, check):
        """As `line`, for a check that may raise: a file that cannot be read is a failure, not the end."""
        try:
            wrong = check()
        except (OSError, ValueError, KeyError, TypeError) as error:
            wrong = f"{type(error).__name__}: {error}"
        self.line(name, wrong)


def compare_values(fresh, committed, report):
    """Each section of the values, each with the tolerance it states."""
    for section in sorted((fresh.keys() | committed.keys()) - {"versions"}):
        name = f"values.json, {section}"
        if section not in fresh or section not in committed:
            report.line(name, "is not in both the computed and the committed values")
            continue
        if not isinstance(fresh[section], dict):
            report.line(name, None if fresh[section] == committed[section] else "differs")
            continue
        leaves, wrong = 0, []
        for path, text in document.differences(fresh[section], committed[section], fresh[section]["tolerance"]):
            leaves += 1
            if text is not None:
                wrong.append(f"{path} {text}")
        more = f" (and {len(wrong) - 3} more)" if len(wrong) > 3 else ""
        report.line(f"{name}: {leaves} values", "; ".join(wrong[:3]) + more if wrong else None)


def compare_rasters(fresh, committed):
    """What differs between two NPY files: bytes of a picture by one step, classes exactly, ratios relatively."""
    one, other = np.load(fresh), np.load(committed)
    if one.shape != other.shape or one.dtype != other.dtype:
        return f"is {one.dtype} {one.shape}, committed is {other.dtype} {other.shape}"
    if one.ndim == 3:
        largest = int(np.abs(one.astype(int) - other.astype(int)).max())
        return None if largest <= 1 else f"differs by up to {largest} steps"
    if one.dtype.kind == "f":
        agree = np.isclose(one, other, rtol=1e-12, atol=0.0, equal_nan=True)
    else:
        agree = one == other
    missed = int(np.count_nonzero(~agree))
    return None if missed == 0 else f"{missed} of {one.size} pixels differ"


def check(folder):
    """Makes everything again in `folder` and compares with what is committed."""
    make(folder)
    report = Report()

    for name, computed, expected, tolerance in (*published.comparisons(), *colour.comparisons(), *together.comparisons(),
                                                *finding.comparisons(), *physics.comparisons()):
        agree = abs(computed - expected) <= tolerance
        report.line(f"published: {name}", None if agree else f"{computed!r} instead of {expected!r}")

    manifest = load(HERE / "files" / "manifest.json")
    described = FORMATS.read_text(encoding="utf-8")
    report.line("docs/FORMATS.md holds the table of variants",
                None if described == formats.with_table(described, manifest) else "differs from the manifest")
    remade = load(folder / "files" / "manifest.json")
    report.line(f"files/manifest.json: {len(manifest)} files", None if manifest == remade else "differs from the formulas")
    listed = {entry["file"] for entry in manifest}
    present = {path.name for path in (HERE / "files").iterdir()} - {"manifest.json"}
    report.line("files/ holds what the manifest lists", None if listed == present else f"{sorted(listed ^ present)}")
    for entry in manifest:
        for kind, place in (("committed", HERE), ("made again", folder)):
            path = place / "files" / entry["file"]
            report.attempt(f"files/{entry['file']}, {kind}", lambda path=path, entry=entry: files.as_read(path, entry))

    wrong = text_files.differing(folder / "text", TEXT_FILES)
    report.line("cases/text, made again", f"{wrong} differ" if wrong else None)

    fresh, committed = load(folder / "values.json"), load(HERE / "values.json")
    compare_values(fresh, committed, report)
    compare_values(load(folder / "together.json"), load(HERE / "together.json"), report)
    compare_values(load(folder / "finding.json"), load(HERE / "finding.json"), report)
    compare_values(load(folder / "condition" / "values.json"), load(HERE / "condition" / "values.json"), report)
    compare_values(load(folder / "presence.json"), load(HERE / "presence.json"), report)

    compare_values(load(folder / "areas.json"), load(HERE / "areas.json"), report)
    compare_values(load(folder / "fields.json"), load(HERE / "fields.json"), report)
    compare_values(load(folder / "laid.json"), load(HERE / "laid.json"), report)
    compare_values(load(folder / "physics.json"), load(HERE / "physics.json"), report)
    compare_values(load(folder / "alignment.json"), load(HERE / "alignment.json"), report)

    compare_values(load(folder / "accompany.json"), load(HERE / "accompany.json"), report)
    compare_values(load(folder / "compare.json"), load(HERE / "compare.json"), report)
    compare_values(load(folder / "zones.json"), load(HERE / "zones.json"), report)

    report.attempt("src/physics/data/xray.bin, made again",
                   lambda: None if XRAY.read_bytes() == physics.data_script(XRAY).make() else "the bytes differ")

    for part in ("background", "condition", "hand"):
        for path in sorted((folder / part).glob("*.npy")):
            def same(path=path, part=part):
                one, other = containers.read(path), containers.read(HERE / part / path.name)
                return None if one.dtype == other.dtype and one.tobytes() == other.tobytes() else "pixels differ"
            report.attempt(f"{part}/{path.name}", same)
    for path in sorted((folder / "demo").glob("*.npy")):
        report.attempt(f"demo/{path.name}", lambda path=path: compare_rasters(path, HERE / "demo" / path.name))

    for name, version in fresh["versions"].items():
        before = committed["versions"].get(name)
        if before != version:
            print(f"note  {name} is {version}; the committed values were made with {before}")
    print(f"reference: {report.passed} passed, {report.failed} failed")
    return report.failed == 0


def main():
    parser = argparse.ArgumentParser(description="Makes or checks the reference values.")
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--write", action="store_true", help="make the committed files anew")
    what.add_argument("--check", action="store_true", help="make them again in --out and compare")
    parser.add_argument("--out", type=Path, help="folder for what --check makes")
    given = parser.parse_args()
    if given.write:
        make(HERE)
        described = FORMATS.read_text(encoding="utf-8")
        FORMATS.write_text(formats.with_table(described, load(HERE / "files" / "manifest.json")), encoding="utf-8")
        return 0
    if given.out is None:
        parser.error("--check needs --out")
    return 0 if check(given.out.resolve()) else 1


if __name__ == "__main__":
    sys.exit(main())
