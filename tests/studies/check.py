"""Reads a study file with Python's standard library alone: every CRC-32, every SHA-256, the JSON, the masks."""

import hashlib
import json
import struct
import sys
import zipfile
import zlib

with zipfile.ZipFile(sys.argv[1]) as file:
    assert file.testzip() is None
    names = file.namelist()
    assert names[0] == "limner-study.txt" and len(set(names)) == len(names)
    sums = dict(reversed(line.split("  ", 1)) for line in file.read("SHA256SUMS").decode().splitlines())
    assert set(sums) == set(names) - {"SHA256SUMS"}
    for name, wanted in sums.items():
        assert hashlib.sha256(file.read(name)).hexdigest() == wanted, name
    state = json.loads(file.read("study.json"))
    record = state["record"]
    by_hash = {line["sha256"]: line["path"] for line in state["files"]}
    for source in record["inputs"]:
        info = file.getinfo(by_hash[source["sha256"]])
        data = file.read(info)
        assert info.compress_type == zipfile.ZIP_STORED and len(data) == source["size"]
        assert hashlib.sha256(data).hexdigest() == source["sha256"] and zlib.crc32(data) == source["crc32"]
    for finding in record["findings"]:
        folder = f"findings/f{finding['number']}"
        if "answer" in finding:
            answer = json.loads(file.read(f"{folder}/answer.json"))
            assert answer["id"] == finding["answer"] and answer["numbers"] and answer["question"] == finding["question"]
        if "picture" in finding:
            png = file.read(f"{folder}/picture.png")
            assert struct.unpack(">II", png[16:24]) == (finding["picture"]["width"], finding["picture"]["height"])
    told = json.loads(file.read("regions/regions.json"))
    for region in told["regions"]:
        png = file.read(region["mask"])
        width, height = struct.unpack(">II", png[16:24])
        assert (width, height) == (told["grid"]["width"], told["grid"]["height"])
        data, at = b"", 8
        while at < len(png):
            length, kind = struct.unpack(">I4s", png[at : at + 8])
            data += png[at + 8 : at + 8 + length] if kind == b"IDAT" else b""
            at += length + 12
        rows, above, inside = zlib.decompress(data), bytes(width), 0
        for y in range(height):
            way, row = rows[y * (width + 1)], bytearray(rows[y * (width + 1) + 1 : (y + 1) * (width + 1)])
            for x in range(width):  # PNG filters of one byte a pixel (ISO/IEC 15948, 9.2)
                a, b, c = (row[x - 1] if x else 0), above[x], (above[x - 1] if x else 0)
                p = a + b - c
                paeth = min((abs(p - a), 0, a), (abs(p - b), 1, b), (abs(p - c), 2, c))[2]
                row[x] = (row[x] + (0, a, b, (a + b) // 2, paeth)[way]) % 256
            inside += sum(value == 255 for value in row)
            above = bytes(row)
        assert inside == region["pixels"], region["id"]
print("all right")
