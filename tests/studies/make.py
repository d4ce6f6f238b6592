"""Study files with records of the versions before, for the test that they are still read.

Records of versions 2 to 5 are older than the study file: the page kept them in its own memory. They are written here field by
field as the record of that version had them (the history of `src/study/record.rs` has each), with the files that they name, in
the first layout of the study file. Invented data. What each must come back as stands in `version-N.json`, which was read and
compared with the record by hand. `version-6.zip` is a study file as the program of that version saved it.

Run once: python3 tests/studies/make.py. The committed files are what is tested and are not made again.
"""

import hashlib
import json
import struct
import zipfile
import zlib
from pathlib import Path

HERE = Path(__file__).parent
SIZE = (30, 20)


def npy(bright: int, left: int) -> bytes:
    width, height = SIZE
    header = f"{{'descr': '<u2', 'fortran_order': False, 'shape': ({height}, {width}), }}\n".encode()
    out = b"\x93NUMPY\x01\x00" + struct.pack("<H", len(header)) + header
    for y in range(height):
        for x in range(width):
            painted = left <= x < left + 12 and 4 <= y < 16
            out += struct.pack("<H", (2, 1, 3, 2, 0, 4, 2, 1)[(x * 5 + y * 3) % 8] + bright * painted)
    return out


def png() -> bytes:
    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    rows = b""
    for y in range(40):
        rows += b"\0"
        for x in range(60):
            patch = (180, 60, 50) if (x // 10 + y // 10) % 2 == 0 else (60, 90, 150)
            rows += bytes(v + (x + 2 * y) % 7 for v in patch)
    head = struct.pack(">IIBBBBB", 60, 40, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(rows)) + chunk(b"IEND", b"")


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


TI, FE, PHOTO = npy(80, 8), npy(200, 14), png()
LAID = {"turns": 0, "mirror": False, "width": 30, "height": 20}
NO_SCAN = dict.fromkeys(
    "anode kv current_ua filter dwell_ms beam_um incidence_deg takeoff_deg distance_mm detectors path date".split()
)


def source(name: str, data: bytes, before: list[int]) -> dict:
    return {"name": name, "sha256": sha(data), "size": len(data), "before": before}


ti, fe, photo = f"{sha(TI)}/0", f"{sha(FE)}/0", f"{sha(PHOTO)}/0"

version_2 = {
    "record": 2,
    "inputs": [source("Ti-K.npy", TI, [0, 0]), source("map 7.npy", FE, [1, 0])],
    "grid": {"step_x_um": 500.0, "step_y_um": 250.0},
    "scan": NO_SCAN | {"anode": "Rh", "kv": 40.0, "beam_um": 600.0, "path": "helium"},
    "maps": {
        fe: {"element": "Fe", "line": "Fe K", "kind": "net", "blank_areas": [{"x": 0, "y": 0, "width": 2, "height": 3}]},
        ti: {"name": "titanium", "gain": 1.0, "offset": 0.0},
    },
    "derived": [
        {
            "number": 1,
            "of": [ti],
            "recipe": {"how": "smooth", "sigma_px": 1.0, "filter": "gaussian"},
            "laid": {"step_x_um": None, "step_y_um": None, "turns": 0, "mirror": False},
        }
    ],
}

version_3 = version_2 | {
    "record": 3,
    "grid": {"step_x_um": 500.0, "step_y_um": 250.0, "turns": 1, "mirror": True},
    "regions": [
        {
            "number": 1,
            "name": "left",
            "role": "passage",
            "shape": {"how": "rectangle", "rectangle": {"x": 8.0, "y": 4.0, "width": 6.0, "height": 12.0}, "laid": LAID},
        },
        {
            "number": 2,
            "name": "corner",
            "role": "ground",
            "shape": {"how": "polygon", "polygon": [[0.0, 0.0], [6.3, 0.1], [3.0, 9.7]], "laid": LAID},
        },
        {
            "number": 4,
            "name": "handed in",
            "role": "bare support",
            "shape": {"how": "mask", "runs": "3 2 595", "laid": LAID},
        },
        {
            "number": 5,
            "name": "bright",
            "role": "reference",
            "shape": {"how": "threshold", "map": fe, "low": 50.0, "high": None},
        },
        {
            "number": 6,
            "name": "without",
            "role": "passage",
            "shape": {
                "how": "classes",
                "runs": "128 6 466",
                "laid": LAID,
                "made_from": [ti, fe],
                "text": "Ti K only",
            },
        },
        {
            "number": 7,
            "name": "cloud",
            "role": "passage",
            "shape": {
                "how": "cloud",
                "a": ti,
                "b": fe,
                "a_low": 50.0,
                "a_high": None,
                "b_low": None,
                "b_high": 20.0,
                "within": 1,
            },
        },
        {
            "number": 8,
            "name": "both",
            "role": "passage",
            "shape": {"how": "combine", "operation": "or", "of": [1, 2], "by_px": 0},
        },
    ],
}

version_4 = version_3 | {
    "record": 4,
    "inputs": version_3["inputs"] + [source("recto.png", PHOTO, [2, 0])],
    "photos": {
        photo: {
            "light": "visible",
            "name": "recto in daylight",
            "alignment": {
                "points": [],
                "transform": [0.5, 0.0, 0.1, 0.0, 0.5, 0.0, 0.0, 0.0, 1.0],
                "laid": LAID,
            },
        }
    },
    "object": {
        "corner": "upper left",
        "at": [0.0, 0.0],
        "across": [29.0, 0.0],
        "down": [0.0, 19.0],
        "alignment_px": 0.5,
        "laid": LAID,
    },
    "regions": version_3["regions"]
    + [
        {
            "number": 9,
            "name": "red",
            "role": "passage",
            "shape": {
                "how": "colour",
                "photo": photo,
                "at": [[5.0, 5.0]],
                "alike": 8.0,
                "connected": False,
                "smallest_px": 2,
                "rim": False,
            },
        }
    ],
}

version_5 = version_4 | {
    "record": 5,
    "scan": version_4["scan"] | {"resolution_ev": 145.0, "own_lines": ["Rh L", "Ar K"]},
    "points": [
        {
            "number": 1,
            "name": "R1",
            "at": [9.25, 4.1],
            "laid": LAID,
            "technique": "Raman",
            "result": "band at 400",
            "pigment": "azurite",
            "says": "found",
        },
        {"number": 3, "name": "P3", "at": [20.0, 10.0], "laid": LAID, "technique": "point XRF", "says": "open"},
    ],
    "spectra": [
        {
            "number": 1,
            "name": "sum of left",
            "sha256": sha(b"a spectrum that was read"),
            "region": 1,
            "how": "sum",
            "first_kev": 0.0,
            "step_kev": 0.01,
            "counts": "0*300 5 9 14 9 5 0*700",
        }
    ],
}


def write(version: int, record: dict, files: list[bytes]) -> None:
    paths = [f"inputs/{place + 1:03}-{one['name'].replace(' ', '_')}" for place, one in enumerate(record["inputs"])]
    state = {
        "limner_study": 1,
        "program": "limner 0.1.0",
        "record": record,
        "files": [{"path": path, "sha256": sha(data)} for path, data in zip(paths, files, strict=True)],
    }
    text = f"A study with a record of version {version}.\n".encode()
    entries = [("limner-study.txt", text), ("study.json", json.dumps(state, indent=1).encode())]
    entries += zip(paths, files, strict=True)
    sums = "".join(f"{sha(data)}  {path}\n" for path, data in entries)
    entries.insert(2, ("SHA256SUMS", sums.encode()))
    with zipfile.ZipFile(HERE / f"version-{version}.zip", "w") as out:
        for path, data in entries:
            info = zipfile.ZipInfo(path)
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_DEFLATED if path == "study.json" else zipfile.ZIP_STORED
            out.writestr(info, data)


if __name__ == "__main__":
    write(2, version_2, [TI, FE])
    write(3, version_3, [TI, FE])
    write(4, version_4, [TI, FE, PHOTO])
    write(5, version_5, [TI, FE, PHOTO])
