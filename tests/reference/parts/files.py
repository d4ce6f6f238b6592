"""The input files: one small map in each form that a stack may come in, with the hash of its pixels."""

import hashlib

import numpy as np

from . import containers, raster, tools
from .arrays import CANONICAL_NAN, SAMPLE_TYPES, nan_patterns, pattern, pixel_hash, set_bits, type_name

#: NaNs of 32 bits that a careless reader would change: quiet, negative quiet, with payload, signalling.
NAN_BITS_32 = (0x7FC00000, 0xFFC00000, 0x7FC12345, 0xFFFFFFFF, 0x7F800001)
#: The same for 64 bits.
NAN_BITS_64 = (CANONICAL_NAN, 0xFFF8000000000000, 0x7FF8000000ABCDEF, 0xFFFFFFFFFFFFFFFF, 0x7FF0000000000001)
#: Infinity, minus infinity, minus zero, the smallest subnormal and a larger negative subnormal.
ODD_BITS_32 = (0x7F800000, 0xFF800000, 0x80000000, 0x00000001, 0x80012345)
ODD_BITS_64 = (0x7FF0000000000000, 0xFFF0000000000000, 1 << 63, 1, (1 << 63) | 0x12345678)


def integers(dtype, width, height, modulus, shift=0):
    """The pattern in a whole-number type; `shift` is taken off, for types with a sign."""
    return (pattern(width, height, modulus) - shift).astype(dtype)


def extremes(dtype, width, height):
    """The pattern spread over the whole range of the type, with both ends of the range in the first two pixels."""
    ends = np.iinfo(dtype)
    span = int(ends.max) - int(ends.min)
    array = (pattern(width, height, 9973) * (span // 9973) + int(ends.min)).astype(dtype)
    array[0, 0], array[0, 1] = ends.min, ends.max
    return array


def fractions(dtype, width, height, modulus):
    """Quarters: the pattern divided by four, less 20, exact in both float types."""
    return (pattern(width, height, modulus) / 4.0 - 20.0).astype(dtype)


def odd_floats(dtype, width, height):
    """Quarters with five different NaNs on the diagonal and five odd numbers in the last row."""
    array = fractions(dtype, width, height, 251)
    narrow = array.dtype.itemsize == 4
    diagonal = [(place, place) for place in range(5)]
    last_row = [(place, height - 1) for place in range(5)]
    set_bits(array, diagonal, NAN_BITS_32 if narrow else NAN_BITS_64)
    return set_bits(array, last_row, ODD_BITS_32 if narrow else ODD_BITS_64)


def text_numbers(width, height, empty):
    """Eighths with a sign, as three decimals hold them exactly, and canonical NaN at the `empty` (x, y).

    Neither the first row nor the first column rises or falls all along, so that neither looks like an axis.
    """
    array = pattern(width, height, 997, across=313, down=411) / 8.0 - 30.0
    return set_bits(array, empty, [CANONICAL_NAN] * len(empty))


def every_file():
    """(name, maker, element line or none, array as it must be read, writer) of each file."""
    tiff, npy, png, text = (
        containers.write_tiff, containers.write_npy, containers.write_png, containers.write_text)

    def by(maker, name, line, array, write, stored=None, **form):
        pixels = array if stored is None else stored
        return name, maker, line, array, lambda path: write(path, pixels, **form)

    def tif(name, line, array, stored=None, **form):
        return by("tifffile", name, line, array, tiff, stored, **form)

    def numpy_file(name, line, array, stored=None, **form):
        return by("numpy", name, line, array, npy, stored, **form)

    yes_and_no = integers("<u1", 9, 6, 2)
    turned = integers("<u1", 11, 7, 256)
    fortran = integers("<u2", 8, 5, 4093)
    return [
        tif("Ca-K_u8_plain.tif", "Ca K", extremes("<u1", 7, 5)),
        tif("Cu-K_u16_plain.tif", "Cu K", integers("<u2", 13, 9, 4093)),
        tif("Cu-K_u16_deflate.tif", "Cu K", integers("<u2", 13, 9, 251), compression="zlib"),
        tif("Fe-K_u16_lzw.tif", "Fe K", extremes("<u2", 15, 11), compression="lzw"),
        tif("Fe-K_u16_lzw_predictor.tif", "Fe K", integers("<u2", 17, 9, 60013), compression="lzw", predictor=True),
        tif("Mn-K_u32_deflate.tif", "Mn K", extremes("<u4", 7, 9), compression="zlib"),
        tif("Ti-K_i8_plain.tif", "Ti K", extremes("<i1", 9, 5)),
        tif("Zn-K_i16_lzw.tif", "Zn K", extremes("<i2", 11, 5), compression="lzw"),
        tif("Sr-K_i32_deflate.tif", "Sr K", extremes("<i4", 5, 7), compression="zlib"),
        tif("Pb-L_f32_plain.tif", "Pb L", odd_floats("<f4", 13, 9)),
        tif("Pb-L_f32_deflate_predictor.tif", "Pb L", odd_floats("<f4", 11, 8), compression="zlib", predictor=True),
        tif("Hg-L_f64_deflate.tif", "Hg L", odd_floats("<f8", 9, 7), compression="zlib"),
        tif("Sn-L_u16_big_endian.tif", "Sn L", extremes("<u2", 9, 5), byteorder=">"),
        tif("Hg-L_f32_big_endian.tif", "Hg L", odd_floats("<f4", 7, 11), byteorder=">"),
        tif("Ba-L_u16_tiled.tif", "Ba L", integers("<u2", 37, 21, 4093), tile=(16, 16), compression="zlib"),
        tif("Cr-K_u16_strips.tif", "Cr K", integers("<u2", 13, 10, 4093), rowsperstrip=3),
        tif("Co-K_u16_bigtiff.tif", "Co K", integers("<u2", 11, 9, 4093), bigtiff=True),
        tif("As-K_u8_white_is_zero.tif", "As K", turned, stored=255 - turned, photometric="miniswhite"),
        tif("Ni-K_u16_per_centimetre.tif", "Ni K", integers("<u2", 9, 7, 509),
            resolution=(20, 20), resolutionunit="CENTIMETER"),
        tif("Ni-K_u16_72_dpi.tif", "Ni K", integers("<u2", 9, 7, 503), resolution=(72, 72), resolutionunit="INCH"),
        numpy_file("Ca-K_u8.npy", "Ca K", extremes("|u1", 7, 5)),
        numpy_file("Ti-K_i8.npy", "Ti K", extremes("|i1", 5, 9)),
        numpy_file("Cu-K_u16.npy", "Cu K", extremes("<u2", 13, 9)),
        numpy_file("Zn-K_i16.npy", "Zn K", extremes("<i2", 9, 5)),
        numpy_file("Mn-K_u32.npy", "Mn K", extremes("<u4", 7, 6)),
        numpy_file("Sr-K_i32.npy", "Sr K", extremes("<i4", 6, 7)),
        numpy_file("Pb-L_f32.npy", "Pb L", odd_floats("<f4", 9, 7)),
        numpy_file("Hg-L_f64.npy", "Hg L", odd_floats("<f8", 7, 9)),
        numpy_file("Sn-L_u16_big_endian.npy", "Sn L", extremes(">u2", 9, 6)),
        numpy_file("Sb-L_f32_big_endian.npy", "Sb L", odd_floats(">f4", 9, 8)),
        numpy_file("Fe-K_u16_fortran.npy", "Fe K", fortran, stored=np.asfortranarray(fortran)),
        numpy_file("Pb-M_yes_and_no.npy", "Pb M", yes_and_no, stored=yes_and_no.astype(bool)),
        numpy_file("Co-K_u16_second_header.npy", "Co K", integers("<u2", 7, 5, 251), version=(2, 0)),
        by("pillow", "Ca-K_grey_8.png", "Ca K", integers("<u1", 13, 7, 256), png),
        by("pillow", "Cu-K_grey_16.png", "Cu K", extremes("<u2", 9, 11), png),
        by("numpy", "Fe-K_comma.csv", "Fe K", text_numbers(9, 6, [(4, 2)]), text, delimiter=","),
        by("numpy", "Ti-K_semicolon.csv", "Ti K", text_numbers(7, 5, [(0, 1), (3, 3)]), text, delimiter=";"),
        by("numpy", "Zn-K_tab.txt", "Zn K", text_numbers(8, 5, [(7, 2)]), text, delimiter="\t"),
        by("numpy", "nothing_said.csv", None, text_numbers(5, 7, []), text, delimiter=","),
    ]


#: What the resolution tags of two files say of the step, in micrometres; a printer's resolution says nothing.
STEPS = {"Ni-K_u16_per_centimetre.tif": 500.0, "Ni-K_u16_72_dpi.tif": None}


def entry_of(name, maker, line, array):
    """The manifest's entry for one file."""
    entry = {
        "file": name, "maker": maker, "line": line,
        "width": int(array.shape[1]), "height": int(array.shape[0]), "dtype": type_name(array),
        "sha256_of_pixels": pixel_hash(array),
    }
    if array.dtype.kind == "f":
        entry["blank_pixels"] = int(np.count_nonzero(~np.isfinite(array)))
        entry["nan_patterns"] = nan_patterns(array)
    if name in STEPS:
        entry["step_um"] = STEPS[name]
    return entry


def entry_of_case(case):
    """The manifest's entry for a file with several maps, a title, a way, a photo or findings."""
    entry = {"file": case.name, "maker": case.maker}
    lines = case.more.get("lines", [case.line] * len(case.maps))
    maps = []
    for place, (title, array) in enumerate(case.maps):
        array = array.astype(case.more.get("kept_as", array.dtype))
        one = {
            "title": title, "width": int(array.shape[1]), "height": int(array.shape[0]),
            "dtype": type_name(array), "sha256_of_pixels": pixel_hash(array),
        }
        if not case.more.get("is_photo"):
            one["line"] = lines[place]
        if "entries" in case.more:
            one["entry"] = case.more["entries"][place]
        maps.append(one)
    entry["photo" if case.more.get("is_photo") else "maps"] = maps[0] if case.more.get("is_photo") else maps
    entry["findings"] = case.more.get("findings", [])
    for key in ("way", "steps"):
        if key in case.more:
            entry[key] = case.more[key]
    if isinstance(entry.get("steps"), tuple):
        entry["steps"] = list(entry["steps"])
    if case.more.get("is_kept"):
        entry["sha256_of_file"] = hashlib.sha256((tools.KEPT / case.name).read_bytes()).hexdigest()
    return entry


def every_case():
    """Files that hold more than one plain map, or were made by command line tools."""
    return raster.every_case() + tools.every_case()


def write(folder):
    """Writes every file into `folder` and gives the manifest, whose hashes come from the formulas alone."""
    folder.mkdir(parents=True, exist_ok=True)
    manifest = []
    for name, maker, line, array, write_to in every_file():
        write_to(folder / name)
        manifest.append(entry_of(name, maker, line, array))
    for case in every_case():
        case.write(folder / case.name)
        manifest.append(entry_of_case(case))
    return manifest


def as_read(path, entry):
    """What differs between the manifest's entry and the file as its library reads it: a text, or none."""
    if "maps" in entry or "photo" in entry:
        return case_as_read(path, entry)
    pixels = containers.read(path)
    found = {
        "width": int(pixels.shape[1]), "height": int(pixels.shape[0]),
        "dtype": type_name(pixels), "sha256_of_pixels": pixel_hash(pixels),
    }
    wrong = [f"{key} is {found[key]}, not {entry[key]}" for key in found if found[key] != entry[key]]
    return "; ".join(wrong) or None


def case_as_read(path, entry):
    """The same for a file of several maps or with a photo."""
    wanted = entry.get("maps") or [entry["photo"]]
    if "sha256_of_file" in entry and hashlib.sha256(path.read_bytes()).hexdigest() != entry["sha256_of_file"]:
        return "is not the file that was kept"
    read = containers.read_all(path, entry)
    if len(read) != len(wanted):
        return f"holds {len(read)} arrays, not {len(wanted)}"
    wrong = []
    for place, (pixels, one) in enumerate(zip(read, wanted, strict=True)):
        kept = pixels.astype(SAMPLE_TYPES[one["dtype"]])
        if not np.array_equal(kept, pixels):
            wrong.append(f"map {place} does not fit {one['dtype']}")
        if kept.shape[:2] != (one["height"], one["width"]) or pixel_hash(kept) != one["sha256_of_pixels"]:
            wrong.append(f"map {place} differs")
    return "; ".join(wrong) or None
