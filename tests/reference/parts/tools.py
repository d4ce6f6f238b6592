"""Input files by command line tools that may be missing: made once and kept, with their commands.

Each was made from a PGM or a plain TIFF of the formula's pixels, on Debian 12, with libtiff-tools 4.5.0 and ImageMagick
6.9.11-60. `python -m parts.tools FOLDER` in `tests/reference` makes them again where the tools are there.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from .containers import write_tiff
from .raster import integers, one, quarters

TIFFCP, CONVERT = "libtiff tiffcp 4.5.0", "ImageMagick 6.9.11-60"
#: Where the kept files are.
KEPT = Path(__file__).resolve().parent.parent / "files"


def table():
    """(name, line, array, maker, command with {source} and {target})."""
    deep, flat, odd = integers("<u2", 21, 17, 65521), integers("<u1", 22, 15, 251), integers("<u2", 15, 13, 4093)
    floats = quarters("<f4", 19, 18, 997)
    runs = integers("<u1", 33, 9, 3)
    return [
        ("Cu-K_u16_tiffcp_lzw.tif", "Cu K", deep, TIFFCP, "tiffcp -c lzw {source} {target}"),
        ("Cu-K_u16_tiffcp_lzw_predictor.tif", "Cu K", deep, TIFFCP, "tiffcp -c lzw:2 {source} {target}"),
        ("Cu-K_u16_tiffcp_deflate.tif", "Cu K", deep, TIFFCP, "tiffcp -c zip:2 {source} {target}"),
        ("Cu-K_u16_tiffcp_tiles.tif", "Cu K", deep, TIFFCP, "tiffcp -c zip -t -w 16 -l 16 {source} {target}"),
        ("Cu-K_u16_tiffcp_big_endian.tif", "Cu K", deep, TIFFCP, "tiffcp -B -c none -r 4 {source} {target}"),
        ("Cu-K_u16_tiffcp_bigtiff.tif", "Cu K", deep, TIFFCP, "tiffcp -8 -c lzw {source} {target}"),
        ("Cu-K_u8_tiffcp_packbits.tif", "Cu K", runs, TIFFCP, "tiffcp -c packbits -r 2 {source} {target}"),
        ("Pb-L_f32_tiffcp_predictor_3.tif", "Pb L", floats, TIFFCP, "tiffcp -c zip:3 -r 5 {source} {target}"),
        ("Pb-L_f32_tiffcp_lzw_predictor_3_tiles.tif", "Pb L", floats, TIFFCP,
         "tiffcp -c lzw:3 -t -w 32 -l 16 {source} {target}"),
        ("Fe-K_u16_convert_lzw.tif", "Fe K", odd, CONVERT, "convert {pgm} -compress lzw {target}"),
        ("Fe-K_u16_convert_zip_big_endian.tif", "Fe K", odd, CONVERT,
         "convert {pgm} -endian MSB -compress zip {target}"),
        ("Fe-K_u8_convert_rle.tif", "Fe K", flat, CONVERT, "convert {pgm} -compress rle {target}"),
        ("Fe-K_8_convert.png", "Fe K", flat, CONVERT, "convert {pgm} -strip {target}"),
        ("Fe-K_8_convert_interlaced.png", "Fe K", flat, CONVERT, "convert {pgm} -strip -interlace PNG {target}"),
        ("Fe-K_16_convert_interlaced.png", "Fe K", odd, CONVERT, "convert {pgm} -strip -interlace PNG {target}"),
        ("Fe-K_16_convert_every_filter.png", "Fe K", odd, CONVERT, "convert {pgm} -strip -quality 95 {target}"),
    ]


def every_case():
    """The kept files as cases; writing one copies it."""
    def copy(name):
        def write(path):
            if path.resolve() != (KEPT / name).resolve():
                path.write_bytes((KEPT / name).read_bytes())

        return write

    return [one(name, maker, line, copy(name), array, is_kept=True) for name, line, array, maker, _ in table()]


def make(folder):
    """Makes the files with the tools."""
    for name, _, array, _, command in table():
        with tempfile.TemporaryDirectory() as place:
            source, pgm = Path(place) / "source.tif", Path(place) / "source.pgm"
            write_tiff(source, array)
            if array.dtype.kind == "u":
                most = np.iinfo(array.dtype).max
                body = array.astype(array.dtype.newbyteorder(">")).tobytes()
                pgm.write_bytes(f"P5\n{array.shape[1]} {array.shape[0]}\n{most}\n".encode() + body)
            words = command.format(source=source, pgm=pgm, target=folder / name).split()
            subprocess.run(words, check=True)


if __name__ == "__main__":
    make(Path(sys.argv[1]))
