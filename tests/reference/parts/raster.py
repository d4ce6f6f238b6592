"""More input files of raster formats, by several independent encoders: what the manifest adds to the plain ones.

A case is one file with what must be read out of it: one or several maps, or a photo. Files by command line tools that
may be missing are made once (`tools.py`) and kept; their pixels follow from the formulas all the same.
"""

import io
import struct
import zipfile

import numpy as np
import tifffile
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from .arrays import pattern
from .containers import write_npy, write_png, write_tiff


def integers(dtype, width, height, modulus, shift=0):
    """The pattern in a whole-number type; `shift` is taken off, for types with a sign."""
    return (pattern(width, height, modulus) - shift).astype(dtype)


def quarters(dtype, width, height, modulus):
    """The pattern divided by four, less 20, exact in every float type for a modulus of at most 1024."""
    return (pattern(width, height, modulus) / 4.0 - 20.0).astype(dtype)


class Case:
    """A file: how it is written, and what must be read out of it."""

    def __init__(self, name, maker, line, write, maps, **more):
        self.name, self.maker, self.line, self.write, self.maps = name, maker, line, write, maps
        self.more = more


def one(name, maker, line, write, array, **more):
    """A file of one map without a title."""
    return Case(name, maker, line, write, [("", array)], **more)


def tif(name, line, array, stored=None, expected=None, maker="tifffile", more=None, **form):
    """A TIFF by tifffile; `stored` is what is written where that differs from what is read."""
    pixels = array if stored is None else stored
    return one(name, maker, line, lambda path: write_tiff(path, pixels, **form), array, **(more or {}))


def patched(write, old, new):
    """Writes a file and puts other bytes in the place of the only occurrence of some."""

    def patch(path):
        write(path)
        data = path.read_bytes()
        if data.count(old) != 1:
            raise ValueError(f"{path.name}: the bytes to replace occur {data.count(old)} times")
        path.write_bytes(data.replace(old, new))

    return patch


def pages_with_names(path, arrays, names):
    """A TIFF of several pages with PageName (tag 285)."""
    with tifffile.TiffWriter(path) as out:
        for array, name in zip(arrays, names, strict=True):
            out.write(array, photometric="minisblack", metadata=None, software=False,
                      extratags=[(285, 2, None, name, True)])


def pages_with_descriptions(path, arrays, texts):
    """A TIFF of several pages with ImageDescription (tag 270)."""
    with tifffile.TiffWriter(path) as out:
        for array, text in zip(arrays, texts, strict=True):
            out.write(array, photometric="minisblack", metadata=None, software=False, description=text)


def page_with_copy(path, array):
    """A TIFF whose second page is a smaller copy of the first."""
    with tifffile.TiffWriter(path) as out:
        out.write(array, photometric="minisblack", metadata=None, software=False)
        out.write(array[::2, ::2].copy(), photometric="minisblack", metadata=None, software=False, subfiletype=1)


def open_microscopy(path, stack, names):
    """OME-TIFF: channel names stand in its XML."""
    tifffile.imwrite(path, stack, photometric="minisblack", ome=True, software=False,
                     metadata={"axes": "CYX", "Channel": {"Name": names}})


def pillow(array, format_name, **form):
    """A writer by Pillow."""
    return lambda path: Image.fromarray(array).save(path, format=format_name, **form)


def archive(path, files, method, force_zip64=False):
    """A ZIP with a fixed date; `files` are (name, bytes)."""
    with zipfile.ZipFile(path, "w") as out:
        for name, data in files:
            info = zipfile.ZipInfo(name, date_time=(2000, 1, 1, 0, 0, 0))
            info.compress_type = method
            with out.open(info, "w", force_zip64=force_zip64) as entry:
                entry.write(data)


def npy_bytes(array):
    """An NPY file in memory."""
    out = io.BytesIO()
    np.lib.format.write_array(out, array, version=(1, 0), allow_pickle=False)
    return out.getvalue()


def tiff_bytes(array, **form):
    """A TIFF file in memory."""
    out = io.BytesIO()
    write_tiff(out, array, **form)
    return out.getvalue()


def tiff_cases():
    """TIFF by tifffile and Pillow."""
    channels = np.stack([integers("<u2", 9, 7, 4093), integers("<u2", 9, 7, 251), integers("<u2", 9, 7, 60013)])
    floats = np.stack([quarters("<f4", 21, 18, 251), quarters("<f4", 21, 18, 509)])
    named = [integers("<u2", 8, 6, 509), integers("<u2", 8, 6, 251), integers("<u2", 8, 6, 1021)]
    grey = integers("<u1", 12, 9, 251)
    with_alpha = np.dstack([grey, np.full_like(grey, 255)])
    signed = integers("<i2", 9, 6, 4093, 2000)
    wide = integers("<u4", 7, 6, 4294967291)
    turned16 = integers("<u2", 9, 6, 65521)
    turned_float = quarters("<f4", 9, 6, 251)
    undefined = integers("<u2", 10, 7, 4093)
    large64 = integers("<i8", 6, 5, 251) * 2**40 - 2**44 + 1
    rgb = np.dstack([integers("<u1", 11, 9, m) for m in (251, 241, 239)])
    rgb16 = np.dstack([integers("<u2", 7, 5, 509) * np.uint16(k) for k in (1, 37, 101)])
    rgb16_as_8 = ((rgb16.astype(np.uint32) + 128) // 257).astype(np.uint8)
    numbered = [f"channel {n}" for n in (1, 2, 3)]

    def multi(name, titles, arrays, write, line=None, **more):
        return Case(name, "tifffile", line, write, list(zip(titles, arrays, strict=True)), **more)

    def photo(name, maker, write, pixels, **more):
        return Case(name, maker, None, write, [("", pixels)], is_photo=True, **more)

    return [
        tif("Cu-K_u8_packbits.tif", "Cu K", integers("<u1", 40, 9, 7), compression="packbits"),
        tif("Cu-K_u16_packbits.tif", "Cu K", integers("<u2", 13, 9, 4093), compression="packbits"),
        one("Fe-K_u16_old_deflate.tif", "tifffile", "Fe K",
            patched(lambda path: write_tiff(path, integers("<u2", 13, 9, 251), compression="zlib"),
                    struct.pack("<HHIHH", 259, 3, 1, 8, 0), struct.pack("<HHIHH", 259, 3, 1, 32946, 0)),
            integers("<u2", 13, 9, 251)),
        tif("Zn-K_u8_deflate_predictor.tif", "Zn K", integers("<u1", 17, 9, 251), compression="zlib", predictor=2),
        tif("Zn-K_u32_lzw_predictor.tif", "Zn K", wide, compression="lzw", predictor=2),
        tif("Zn-K_i16_deflate_predictor.tif", "Zn K", signed, compression="zlib", predictor=2),
        tif("Zn-K_u16_big_endian_predictor.tif", "Zn K", integers("<u2", 13, 7, 60013), byteorder=">",
            compression="lzw", predictor=2),
        tif("Pb-L_f16_plain.tif", "Pb L", quarters("<f2", 11, 7, 251).astype("<f4"),
            stored=quarters("<f2", 11, 7, 251)),
        tif("Pb-L_f16_deflate_predictor.tif", "Pb L", quarters("<f2", 12, 8, 509).astype("<f4"),
            stored=quarters("<f2", 12, 8, 509), compression="zlib", predictor=3),
        tif("Pb-L_f32_predictor_3_big_endian.tif", "Pb L", quarters("<f4", 11, 6, 997), byteorder=">",
            compression="zlib", predictor=3),
        tif("Pb-L_f32_predictor_3_tiles.tif", "Pb L", quarters("<f4", 37, 21, 997), tile=(16, 16),
            compression="lzw", predictor=3),
        tif("Hg-L_f64_predictor_3.tif", "Hg L", quarters("<f8", 9, 7, 997), compression="zlib", predictor=3),
        tif("Hg-L_f64_big_endian.tif", "Hg L", quarters("<f8", 9, 7, 509), byteorder=">"),
        tif("Sr-K_i32_big_endian.tif", "Sr K", integers("<i4", 8, 7, 99991, 50000), byteorder=">"),
        tif("Sr-K_i8_packbits.tif", "Sr K", integers("<i1", 20, 6, 11, 5), compression="packbits"),
        tif("Mn-K_u64_small.tif", "Mn K", integers("<u4", 7, 5, 99991), stored=integers("<u8", 7, 5, 99991)),
        tif("Mn-K_i64_small.tif", "Mn K", integers("<i4", 7, 5, 99991, 500), stored=integers("<i8", 7, 5, 99991, 500)),
        tif("Mn-K_i64_large.tif", "Mn K", large64.astype("<f8"), stored=large64, compression="zlib"),
        tif("Co-K_u16_bigtiff_big_endian.tif", "Co K", integers("<u2", 11, 9, 509), bigtiff=True, byteorder=">"),
        tif("Co-K_f32_bigtiff_tiles.tif", "Co K", quarters("<f4", 35, 19, 251), bigtiff=True, tile=(16, 16),
            compression="zlib"),
        tif("Cr-K_u16_row_strips.tif", "Cr K", integers("<u2", 13, 10, 509), rowsperstrip=1, compression="lzw"),
        tif("Cr-K_u32_tiles_plain.tif", "Cr K", integers("<u4", 20, 33, 99991), tile=(32, 16)),
        tif("Cr-K_u8_one_row.tif", "Cr K", integers("<u1", 50, 1, 251)),
        tif("Cr-K_u8_one_column.tif", "Cr K", integers("<u1", 1, 50, 251), compression="zlib"),
        tif("As-K_u16_white_is_zero.tif", "As K", turned16, stored=65535 - turned16, photometric="miniswhite",
            more={"findings": ["white_is_zero"]}),
        tif("As-K_u32_white_is_zero.tif", "As K", wide, stored=4294967295 - wide, photometric="miniswhite",
            compression="zlib", more={"findings": ["white_is_zero"]}),
        tif("As-K_i16_white_is_zero.tif", "As K", signed, photometric="miniswhite",
            more={"findings": ["white_is_zero_kept"]}),
        tif("As-K_f32_white_is_zero.tif", "As K", turned_float, photometric="miniswhite",
            more={"findings": ["white_is_zero_kept"]}),
        one("As-K_u16_undefined_type.tif", "tifffile", "As K",
            patched(lambda path: write_tiff(path, undefined.astype("<i2")), struct.pack("<HHIHH", 339, 3, 1, 2, 0),
                    struct.pack("<HHIHH", 339, 3, 1, 4, 0)), undefined),
        tif("Ni-K_u16_two_steps.tif", "Ni K", integers("<u2", 9, 7, 499), resolution=(20, 40),
            resolutionunit="CENTIMETER", more={"steps": (500.0, 250.0)}),
        tif("Ni-K_u16_per_inch.tif", "Ni K", integers("<u2", 9, 7, 491), resolution=(254, 254),
            resolutionunit="INCH", more={"steps": (100.0, 100.0)}),
        tif("Ni-K_u16_300_dpi_in_cm.tif", "Ni K", integers("<u2", 9, 7, 487), resolution=(11811 / 100, 11811 / 100),
            resolutionunit="CENTIMETER", more={"steps": None, "findings": ["screen_resolution"]}),
        multi("channels_u16_chunky.tif", numbered, channels,
              lambda path: write_tiff(path, np.moveaxis(channels, 0, 2).copy(), planarconfig="contig")),
        multi("channels_u16_planar.tif", numbered, channels,
              lambda path: write_tiff(path, channels, planarconfig="separate")),
        multi("channels_u16_chunky_predictor.tif", numbered, channels,
              lambda path: write_tiff(path, np.moveaxis(channels, 0, 2).copy(), planarconfig="contig",
                                      compression="zlib", predictor=2)),
        multi("channels_f32_planar_tiles.tif", numbered[:2], floats,
              lambda path: write_tiff(path, floats, planarconfig="separate", tile=(16, 16), compression="lzw")),
        multi("pages_by_name.tif", ["Cu K", "Fe K", "Pb L"], named,
              lambda path: pages_with_names(path, named, ["Cu K", "Fe K", "Pb L"]), lines=["Cu K", "Fe K", "Pb L"]),
        multi("pages_by_description.tif", ["Zn K", "Ca K", "Hg L"], named,
              lambda path: pages_with_descriptions(path, named, ["Zn K", "Ca K", "Hg L"]),
              lines=["Zn K", "Ca K", "Hg L"]),
        multi("pages_of_one_description.tif", ["", "", ""], named,
              lambda path: pages_with_descriptions(path, named, ["a scan"] * 3)),
        multi("pages_open_microscopy.tif", ["Mn K", "Ni K", "A & B"], named,
              lambda path: open_microscopy(path, np.stack(named), ["Mn K", "Ni K", "A & B"]),
              lines=["Mn K", "Ni K", None]),
        one("Ti-K_with_small_copy.tif", "tifffile", "Ti K", lambda path: page_with_copy(path, undefined), undefined),
        tif("Ti-K_grey_and_alpha.tif", "Ti K", grey, stored=with_alpha, extrasamples=["unassalpha"],
            planarconfig="contig", more={"findings": ["transparency_dropped"]}),
        one("Ti-K_u8_lzw_by_pillow.tif", "pillow", "Ti K", pillow(grey, "TIFF", compression="tiff_lzw"), grey),
        one("Ti-K_u8_packbits_by_pillow.tif", "pillow", "Ti K", pillow(grey, "TIFF", compression="packbits"), grey),
        one("Ti-K_u16_deflate_by_pillow.tif", "pillow", "Ti K",
            pillow(undefined, "TIFF", compression="tiff_adobe_deflate"), undefined),
        one("Ti-K_i32_by_pillow.tif", "pillow", "Ti K", pillow(integers("<i4", 9, 5, 99991, 50000), "TIFF"),
            integers("<i4", 9, 5, 99991, 50000)),
        one("Ti-K_f32_old_deflate_by_pillow.tif", "pillow", "Ti K",
            pillow(quarters("<f4", 9, 5, 251), "TIFF", compression="tiff_deflate"), quarters("<f4", 9, 5, 251)),
        photo("photo_rgb_lzw_predictor.tif", "tifffile",
              lambda path: write_tiff(path, rgb, photometric="rgb", compression="lzw", predictor=2), rgb),
        photo("photo_rgb_planar.tif", "tifffile",
              lambda path: write_tiff(path, np.moveaxis(rgb, 2, 0).copy(), photometric="rgb",
                                      planarconfig="separate"), rgb),
        photo("photo_rgb_16_bits.tif", "tifffile", lambda path: write_tiff(path, rgb16, photometric="rgb"),
              rgb16_as_8),
        photo("photo_rgb_and_alpha.png", "pillow",
              pillow(np.dstack([rgb, np.full(rgb.shape[:2], 255, np.uint8)]), "PNG"), rgb,
              findings=["transparency_dropped"]),
    ]


def png_cases():
    """PNG by Pillow."""
    grey, deep = integers("<u1", 13, 7, 251), integers("<u2", 9, 8, 65521)
    with_alpha = np.dstack([grey, np.full_like(grey, 200)])
    gamma = PngInfo()
    gamma.add(b"gAMA", struct.pack(">I", 45455))
    return [
        one("Ca-K_8_unpacked.png", "pillow", "Ca K", pillow(grey, "PNG", compress_level=0), grey),
        one("Ca-K_16_step.png", "pillow", "Ca K", pillow(deep, "PNG", dpi=(50.8, 50.8)), deep, steps=(500.0, 500.0)),
        one("Ca-K_16_screen.png", "pillow", "Ca K", pillow(deep, "PNG", dpi=(96, 96)), deep, steps=None,
            findings=["screen_resolution"]),
        one("Ca-K_8_brightness_curve.png", "pillow", "Ca K", pillow(grey, "PNG", pnginfo=gamma), grey),
        one("Ca-K_8_and_alpha.png", "pillow", "Ca K", pillow(with_alpha, "PNG"), grey,
            findings=["transparency_dropped"]),
        one("Ca-K_8_one_row.png", "pillow", "Ca K", pillow(grey[:1], "PNG"), grey[:1]),
    ]


def numpy_cases():
    """NPY and NPZ by numpy, ZIP by Python's zipfile."""
    def npy(name, line, array, stored=None, version=(1, 0), **more):
        pixels = array if stored is None else stored
        return one(name, "numpy", line, lambda path: write_npy(path, pixels, version), array, **more)

    stack = np.stack([integers("<u2", 6, 5, m) for m in (4093, 251, 60013, 509)])
    halves = quarters("<f2", 9, 7, 509)
    large = integers("<u8", 6, 5, 251) * np.uint64(2**40) + np.uint64(1)
    signed = integers("<i8", 8, 5, 99991, 50000)

    def cube(name, pixels, axis, **more):
        maps = [("", np.take(np.ascontiguousarray(pixels), n, axis)) for n in range(pixels.shape[axis])]
        return Case(name, "numpy", None, lambda path: write_npy(path, pixels), maps, way=f"axis{axis}", **more)

    def npz(path, compressed):
        (np.savez_compressed if compressed else np.savez)(path, **{"Cu-K": stack[0], "Fe-K": halves})

    folder = [("scan/Cu-K.npy", npy_bytes(stack[0])), ("scan/Fe-K.tif", tiff_bytes(stack[1], compression="zlib"))]
    in_folder = [("", stack[0]), ("", stack[1])]
    lines = {"lines": ["Cu K", "Fe K"], "entries": ["scan/Cu-K.npy", "scan/Fe-K.tif"]}
    in_npz = {"lines": ["Cu K", "Fe K"], "entries": ["Cu-K.npy", "Fe-K.npy"]}
    both = [("", stack[0]), ("", halves.astype("<f4"))]
    return [
        npy("Cu-K_i64.npy", "Cu K", signed.astype("<i4"), stored=signed),
        npy("Cu-K_i64_big_endian.npy", "Cu K", signed.astype("<i4"), stored=signed.astype(">i8")),
        npy("Cu-K_u64_large.npy", "Cu K", large.astype("<f8"), stored=large),
        npy("Pb-L_f16.npy", "Pb L", halves.astype("<f4"), stored=halves),
        npy("Pb-L_f16_big_endian.npy", "Pb L", halves.astype("<f4"), stored=halves.astype(">f2")),
        npy("Pb-L_f64_fortran_big_endian.npy", "Pb L", quarters("<f8", 7, 5, 997),
            stored=np.asfortranarray(quarters("<f8", 7, 5, 997).astype(">f8"))),
        npy("Sr-K_i32_third_header.npy", "Sr K", integers("<i4", 6, 7, 99991, 500), version=(3, 0)),
        npy("Sr-K_u16_one_map_of_three_axes.npy", "Sr K", stack[0], stored=stack[:1]),
        npy("Sr-K_u16_last_axis_single.npy", "Sr K", stack[0], stored=stack[0][:, :, None]),
        cube("stack_first_axis.npy", stack, 0),
        cube("stack_middle_axis.npy", np.moveaxis(stack, 0, 1).copy(), 1),
        cube("stack_last_axis.npy", np.moveaxis(stack, 0, 2).copy(), 2),
        cube("stack_last_axis_fortran.npy", np.asfortranarray(np.moveaxis(stack, 0, 2)), 2),
        cube("stack_f16_first_axis.npy", np.stack([halves, halves * 2]), 0,
             kept_as="<f4"),
        Case("two_maps.npz", "numpy", None, lambda path: npz(path, False), both, **in_npz),
        Case("two_maps_deflated.npz", "numpy", None, lambda path: npz(path, True), both, **in_npz),
        Case("folder_stored.zip", "zipfile", None, lambda path: archive(path, folder, zipfile.ZIP_STORED), in_folder,
             **lines),
        Case("folder_deflated.zip", "zipfile", None, lambda path: archive(path, folder, zipfile.ZIP_DEFLATED),
             in_folder, **lines),
        Case("folder_64.zip", "zipfile", None,
             lambda path: archive(path, folder, zipfile.ZIP_DEFLATED, force_zip64=True), in_folder, **lines),
    ]


def every_case():
    """All cases of this module."""
    return tiff_cases() + png_cases() + numpy_cases()
