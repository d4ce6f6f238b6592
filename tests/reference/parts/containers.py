"""Writes an array into a file of a given form, and reads it back, with general-purpose libraries only."""

import csv
import io
import zipfile

import numpy as np
import tifffile
from PIL import Image

from .arrays import CANONICAL_NAN


def write_tiff(path, array, **form):
    """A TIFF without date, program name or description, so that the same pixels give the same bytes."""
    form.setdefault("photometric", "minisblack")
    tifffile.imwrite(path, array, metadata=None, software=False, **form)


def write_npy(path, array, version=(1, 0)):
    """An NPY file with the header version asked for; memory order and byte order are the array's own."""
    with open(path, "wb") as out:
        np.lib.format.write_array(out, array, version=version, allow_pickle=False)


def write_png(path, array):
    """A grey PNG of 8 or 16 bits."""
    Image.fromarray(array).save(path, format="PNG")


def write_text(path, array, delimiter, pattern="%.3f"):
    """Delimited text by numpy.savetxt. A NaN becomes an empty field, which savetxt can write only as text."""
    fields = np.empty(array.shape, dtype=object)
    for place, value in np.ndenumerate(array):
        fields[place] = "" if np.isnan(value) else pattern % value
    np.savetxt(path, fields, fmt="%s", delimiter=delimiter)


def read_tiff(path):
    """The pixels of the only page; a picture in which zero means white is turned over at the type's maximum."""
    with tifffile.TiffFile(path) as opened:
        if len(opened.pages) != 1:
            raise ValueError(f"{path.name} holds {len(opened.pages)} pages instead of one")
        page = opened.pages[0]
        pixels = page.asarray()
        if page.photometric == tifffile.PHOTOMETRIC.MINISWHITE:
            pixels = np.iinfo(pixels.dtype).max - pixels
        return pixels


def read_npy(path):
    """The array of an NPY file; true and false are read as 1 and 0 of one byte."""
    array = np.load(path, allow_pickle=False)
    return array.astype(np.uint8) if array.dtype.kind == "b" else array


def read_png(path):
    """The grey values of a PNG."""
    with Image.open(path) as opened:
        if opened.mode not in ("L", "I;16"):
            raise ValueError(f"{path.name} is not grey: {opened.mode}")
        return np.asarray(opened).copy()


def read_text(path):
    """Delimited text as f64, with the delimiter that its ending or its first line shows."""
    text = path.read_text(encoding="ascii")
    first = text.splitlines()[0]
    delimiter = next(sign for sign in "\t;," if sign in first)
    rows = list(csv.reader(io.StringIO(text), delimiter=delimiter))
    bits = np.empty((len(rows), len(rows[0])), dtype="<u8")
    for y, row in enumerate(rows):
        if len(row) != len(rows[0]):
            raise ValueError(f"{path.name}: line {y + 1} has {len(row)} fields instead of {len(rows[0])}")
        for x, field in enumerate(row):
            bits[y, x] = np.float64(field).view("u8") if field else CANONICAL_NAN
    return bits.view("<f8")


READERS = {".tif": read_tiff, ".npy": read_npy, ".png": read_png, ".csv": read_text, ".txt": read_text}


def read(path):
    """The pixels of any file that this package writes."""
    return READERS[path.suffix](path)


def read_pages(path, entry):
    """Every map of a TIFF: each channel of each page that is no smaller copy, or the one colour picture."""
    found = []
    with tifffile.TiffFile(path) as opened:
        for page in opened.pages:
            if page.is_reduced:
                continue
            pixels = page.asarray()
            is_turned = page.photometric == tifffile.PHOTOMETRIC.MINISWHITE and pixels.dtype.kind == "u"
            pixels = np.iinfo(pixels.dtype).max - pixels if is_turned else pixels
            planar = page.planarconfig == tifffile.PLANARCONFIG.SEPARATE
            if pixels.ndim == 2:
                found.append(pixels)
                continue
            pixels = np.moveaxis(pixels, 0, 2) if planar else pixels
            if "photo" in entry:
                wide = pixels.dtype.itemsize == 2
                pixels = ((pixels.astype(np.uint32) + 128) // 257) if wide else pixels
                found.append(pixels[..., :3].astype(np.uint8))
                continue
            opaque = pixels.shape[2] - sum(kind in (1, 2) for kind in page.extrasamples)
            found.extend(pixels[..., channel] for channel in range(opaque))
    return found


def read_all(path, entry):
    """The arrays of any file of `raster` and `tools`, by the libraries that know the format."""
    if path.suffix == ".tif":
        return read_pages(path, entry)
    if path.suffix == ".png":
        with Image.open(path) as opened:
            pixels = np.asarray(opened)
        keep = 3 if "photo" in entry else 0
        return [pixels if pixels.ndim == 2 else pixels[..., :3] if keep else pixels[..., 0]]
    if path.suffix == ".npy":
        array = np.load(path, allow_pickle=False)
        if "way" not in entry:
            return [array.squeeze() if array.ndim == 3 else array]
        axis = int(entry["way"][-1])
        return [np.take(array, place, axis) for place in range(array.shape[axis])]
    with zipfile.ZipFile(path) as opened:
        inside = []
        for name in sorted(opened.namelist()):
            data = io.BytesIO(opened.read(name))
            inside.append(np.load(data) if name.endswith(".npy") else tifffile.imread(data))
        return inside
