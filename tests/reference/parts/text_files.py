"""Files of delimited text in every form, with what must be read from each.

Those whose maker is numpy, csv or pandas are written by that library. Those "by hand" follow RFC 4180 and what
spreadsheets and Fortran programs write (common practice, no source). What is expected comes from the arrays, never from
reading the file again. No random numbers: every array and every order is an integer formula.
"""

import csv
import io
import json

import numpy as np
import pandas as pd

from .arrays import pattern, pixel_hash

#: What an empty field, a word for "no value" and a pixel that is not in the file are read as.
BLANK = np.float64(np.nan)


def numbers(width, height, modulus=997, scale=8.0, shift=30.0):
    """Eighths with a sign; neither the first row nor the first column rises or falls all along."""
    return pattern(width, height, modulus, across=313, down=411) / scale - shift


def counts(width, height, modulus=997):
    """Whole numbers, in no order along the first row or column."""
    return pattern(width, height, modulus, across=313, down=411).astype(np.float64)


def a_map(array, title="", step_um=None):
    """The expectation of one map."""
    array = np.array(array, dtype="<f8")
    array[~np.isfinite(array)] = BLANK
    return {"title": title, "width": int(array.shape[1]), "height": int(array.shape[0]),
            "sha256_of_pixels": pixel_hash(array), "step_um": step_um}


def maps(*which, findings=()):
    return {"maps": list(which), "findings": sorted(findings)}


def one(array, *findings, title="", step_um=None):
    return maps(a_map(array, title, step_um), findings=findings)


def ask(**ways):
    """Keys in their order, each with the maps that it makes; a dot is written as two underscores."""
    return {"ways": [{"key": key.replace("__", "."), **expected} for key, expected in ways.items()]}


def error(code, *lines):
    """An error with its code; the sentence names these numbers."""
    return {"error": code, "says": [str(line) for line in lines]}


def by_numpy(array, **form):
    def write(path):
        form.setdefault("fmt", "%.6g")
        np.savetxt(path, array, **form)
    return write


def by_csv(rows, **form):
    def write(path):
        encoding = form.pop("encoding", "utf-8")
        with path.open("w", newline="", encoding=encoding) as file:
            csv.writer(file, **form).writerows(rows)
    return write


def by_pandas(frame, **form):
    form.setdefault("lineterminator", "\n")
    return lambda path: frame.to_csv(path, **form)


def by_hand(text, encoding="utf-8"):
    return lambda path: path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))


def comma(value, digits=3):
    """A number with a decimal comma."""
    return f"{value:.{digits}f}".replace(".", ",")


def raster(width, height, serpentine=False):
    """(x, y) of the pixels in the order of a scan whose x runs fastest; every other line backwards if serpentine."""
    out = []
    for y in range(height):
        line = list(range(width))
        out += [(x, y) for x in (line[::-1] if serpentine and y % 2 else line)]
    return out


def shuffled(rows, stride=8):
    """Another order: every stride-th row from the start on, around and around; the stride shares no divisor."""
    return [rows[index * stride % len(rows)] for index in range(len(rows))]


def frame(names, arrays, order, place=lambda x, y: (x, y), titles=("x", "y")):
    """A pandas table with one row a pixel."""
    data = {titles[0]: [place(x, y)[0] for x, y in order], titles[1]: [place(x, y)[1] for x, y in order]}
    for name, array in zip(names, arrays, strict=True):
        data[name] = [array[y, x] for x, y in order]
    return pd.DataFrame(data)


def lines(rows):
    return "\n".join(rows) + "\n"


def matrices():
    """One line of the map a line of the file."""
    plain, whole = numbers(7, 5), counts(6, 4)
    sevenths = pattern(6, 9, 991, across=313, down=411) / 7.0
    extreme = np.array([[1e-300, 2.5e300, -3e-5], [7.25, -0.0, 1e22], [123456789012345678.0, 5e-324, 0.1]])
    holes = numbers(6, 5)
    holes[1, 2], holes[3, 0], holes[4, 5] = np.nan, np.inf, -np.inf
    wide = counts(40, 3)
    small = numbers(5, 4, scale=4.0)
    thousands = counts(6, 5) * 1411.0 + 0.5
    return [
        ("numpy_default_form.txt", "numpy", by_numpy(sevenths, fmt="%.18e"), one(sevenths)),
        ("numpy_all_digits.csv", "numpy", by_numpy(sevenths, fmt="%.17g", delimiter=","), one(sevenths)),
        ("numpy_extremes.txt", "numpy", by_numpy(extreme, fmt="%.17e", delimiter="\t"), one(extreme)),
        ("numpy_comma_titled.csv", "numpy",
         by_numpy(plain, delimiter=",", header="Fe K, counts", footer="end of the map"), one(plain, title="Fe K, counts")),
        ("numpy_tab_whole.txt", "numpy", by_numpy(whole, fmt="%d", delimiter="\t"), one(whole)),
        ("numpy_semicolon_percent.csv", "numpy",
         by_numpy(plain, delimiter=";", header="made by a script", comments="% "), one(plain)),
        ("numpy_nan_and_infinite.txt", "numpy", by_numpy(holes, delimiter=" "), one(holes)),
        ("numpy_carriage_returns.csv", "numpy", by_numpy(plain, delimiter=",", newline="\r\n"), one(plain)),
        ("numpy_utf_16.txt", "numpy",
         by_numpy(plain, delimiter="\t", header="µ", encoding="utf-16"), one(plain)),
        ("numpy_latin_1.csv", "numpy",
         by_numpy(plain, delimiter=";", header="Schrittweite 500 µm", encoding="latin-1"), one(plain)),
        ("numpy_fixed_width.txt", "numpy", by_numpy(plain, fmt="%12.4f", delimiter=""), one(plain)),
        ("numpy_one_column.txt", "numpy", by_numpy(plain[:, 0], fmt="%.4f"), one(plain[:, :1])),
        ("numpy_one_line.csv", "numpy", by_numpy(wide[:1], fmt="%d", delimiter=","), one(wide[:1])),
        ("csv_excel.csv", "csv", by_csv(whole.astype(int)), one(whole)),
        ("csv_all_quoted.csv", "csv", by_csv(plain, quoting=csv.QUOTE_ALL), one(plain)),
        ("csv_excel_tab.txt", "csv", by_csv(plain, dialect="excel-tab"), one(plain)),
        ("csv_decimal_comma.csv", "csv",
         by_csv([[comma(v) for v in row] for row in plain], delimiter=";"), one(plain)),
        ("csv_quoted_decimal_comma.csv", "csv", by_csv([[comma(v, 2) for v in row] for row in small]), one(small)),
        ("csv_old_mac.csv", "csv", by_csv(plain, lineterminator="\r"), one(plain)),
        ("csv_utf_16_big_endian.csv", "csv",
         lambda path: path.write_bytes(b"\xfe\xff" + written_by_csv(plain, delimiter=";").encode("utf-16-be")),
         one(plain)),
        ("pandas_bare.csv", "pandas", by_pandas(pd.DataFrame(plain), index=False, header=False), one(plain)),
        ("pandas_exponents.csv", "pandas",
         by_pandas(pd.DataFrame(plain), index=False, header=False, float_format="%.4E"), one(plain)),
        ("pandas_decimal_comma_tab.txt", "pandas",
         by_pandas(pd.DataFrame(plain), index=False, header=False, sep="\t", decimal=","), one(plain)),
        ("pandas_decimal_comma_exponents.csv", "pandas",
         by_pandas(pd.DataFrame(plain), index=False, header=False, sep=";", decimal=",", float_format="%.4E"),
         one(plain)),
        *[(f"pandas_blank_{name}.csv", "pandas",
           by_pandas(pd.DataFrame(holes).replace([np.inf, -np.inf], np.nan), index=False, header=False, na_rep=word),
           one(holes)) for name, word in
          (("empty", ""), ("NA", "NA"), ("n.a", "n.a."), ("dash", "-"), ("error", "#N/A"), ("null", "null"))],
        ("pandas_titled_columns.csv", "pandas",
         by_pandas(pd.DataFrame(plain, columns=[f"c{i}" for i in range(7)]), index=False), one(plain)),
        ("hand_spreadsheet_german.csv", "by hand after RFC 4180", by_hand(
            "\ufeffsep=;\r\nTi K;;;\r\n" + "".join(
                ";".join(f"{v:,.1f}".translate(str.maketrans(",.", ".,")) for v in row) + "\r\n" for row in thousands)),
         one(thousands, title="Ti K")),
        ("hand_spreadsheet_english.csv", "by hand after RFC 4180", by_hand(
            "".join(",".join(f'"{v:,.2f}"' for v in row) + "\r\n" for row in thousands)), one(thousands)),
        ("hand_spreadsheet_swiss.csv", "by hand after RFC 4180", by_hand(
            lines(";".join(f"{v:,.1f}".replace(",", "’") for v in row) for row in thousands)), one(thousands)),
        ("hand_spreadsheet_french.csv", "by hand after RFC 4180", by_hand(
            lines(";".join(f"{v:,.1f}".replace(",", "\u202f").replace(".", ",") for v in row) for row in thousands)),
         one(thousands)),
        ("hand_fortran.txt", "by hand", by_hand(
            "".join("".join(f"  {v:.7E}".replace("E", "D") for v in row) + "\n" for row in plain)), one(plain)),
        ("hand_trailing_separators.csv", "by hand after RFC 4180", by_hand(
            "Zn-K;;;;;;;\n" + "".join(";".join(f"{v:.3f}" for v in row) + ";\n" for row in plain)),
         one(plain, title="Zn-K")),
        ("hand_comments.txt", "by hand", by_hand(
            "// a scan\n# 1 2 3\n\n" + lines(" ".join(str(v) for v in row) for row in plain[:2]) + "\n% in between\n"
            + lines("\t".join(str(v) for v in row) for row in plain[2:])), one(plain)),
        ("hand_leading_zeros.csv", "by hand", by_hand(
            lines(",".join(f"{int(v):06d}" for v in row) for row in whole)), one(whole)),
        ("hand_end_of_file_sign.txt", "by hand", by_hand(
            (lines(" ".join(str(v) for v in row) for row in plain)).encode() + b"\x1a"), one(plain)),
        ("hand_broken_off.csv", "by hand", by_hand(
            lines(",".join(str(v) for v in row) for row in sevenths.tolist())[:-30]),
         one(cut(sevenths, 30), "cut_line")),
        ("pandas_three_digits.csv", "pandas",
         by_pandas(pd.DataFrame(counts(6, 6) / 999.0 + 1.0), index=False, header=False, sep=";", float_format="%.3f"),
         one(np.round(counts(6, 6) / 999.0 + 1.0, 3), "three_digits")),
    ]


def written_by_csv(rows, **form):
    text = io.StringIO(newline="")
    csv.writer(text, **form).writerows(rows)
    return text.getvalue()


def cut(array, missing):
    """The array without the values that the last `missing` characters of its text touch."""
    text = lines(",".join(str(v) for v in row) for row in array.tolist())[:-missing]
    whole = text.split("\n")[-1].count(",")
    out = array.copy()
    out[-1, whole:] = np.nan
    return out


def axes():
    """Matrices with positions in the first line or column."""
    plain = numbers(6, 5)
    at_x, at_y = [0.5 * x - 1 for x in range(6)], [0.25 * y + 3 for y in range(5)]
    table = pd.DataFrame(plain, index=pd.Index(at_y, name="y [mm]"), columns=at_x)
    titled = pd.DataFrame(plain, index=pd.Index(at_y, name="y"), columns=[f"c{x}" for x in range(6)])
    index_only = pd.DataFrame(plain, columns=[f"c{x}" for x in range(6)])
    corner = np.vstack([[0.0, *range(6)], np.column_stack([range(5), plain])])
    going_on = corner.copy()
    going_on[0, 0] = -1.0
    falling = lines(["x/y;" + ";".join(map(str, at_x))] + [
        f"{y};" + ";".join(map(str, row)) for y, row in zip(at_y[::-1], plain.tolist(), strict=True)])
    cornered = [[np.nan, *at_x], *[[y, *row] for y, row in zip(at_y, plain.tolist(), strict=True)]]
    headed = np.vstack([np.arange(6.0), plain])
    sided = np.column_stack([np.arange(5.0), plain])
    return [
        ("pandas_index_and_columns.csv", "pandas", by_pandas(pd.DataFrame(plain)), one(plain, "axes_left_out")),
        ("pandas_axes_in_mm.csv", "pandas", by_pandas(table),
         one(plain, "axes_left_out", step_um=[500.0, 250.0])),
        ("pandas_axis_y_titled_columns.csv", "pandas", by_pandas(titled), one(plain, "axes_left_out")),
        ("pandas_index_titled_columns.csv", "pandas", by_pandas(index_only), one(plain, "axes_left_out")),
        ("csv_empty_corner.csv", "csv", by_csv([["" if v != v else v for v in row] for row in cornered]),
         one(plain, "axes_left_out", "no_unit")),
        ("hand_falling_axis.csv", "by hand", by_hand(falling), one(plain, "axes_left_out", "no_unit")),
        ("hand_corner_mm.txt", "by hand", by_hand(lines(
            ["mm\t" + "\t".join(map(str, at_x))] + ["\t".join(map(str, row)) for row in cornered[1:]])),
         one(plain, "axes_left_out", step_um=[500.0, 250.0])),
        ("pandas_numbered_columns.csv", "pandas", by_pandas(pd.DataFrame(plain), index=False), ask(
            comma__decimal_point__without_first_line=one(plain, "axes_left_out"),
            comma__decimal_point__all_values=one(headed))),
        ("pandas_numbered_lines.csv", "pandas", by_pandas(pd.DataFrame(plain), header=False, sep=";"), ask(
            semicolon__decimal_point__without_first_column=one(plain, "axes_left_out"),
            semicolon__decimal_point__all_values=one(sided))),
        ("numpy_corner_is_a_number.txt", "numpy", by_numpy(corner, fmt="%.6g"), ask(
            blank__decimal_point__without_axes=one(plain, "axes_left_out"),
            blank__decimal_point__all_values=one(corner))),
        ("numpy_corner_goes_on.txt", "numpy", by_numpy(going_on), ask(
            blank__decimal_point__without_axes=one(plain, "axes_left_out"),
            blank__decimal_point__without_first_line=one(going_on[1:], "axes_left_out"),
            blank__decimal_point__without_first_column=one(going_on[:, 1:], "axes_left_out"),
            blank__decimal_point__all_values=one(going_on))),
    ]


def tables():
    """One line a pixel."""
    copper, iron, lead = counts(7, 5), numbers(7, 5, 499), counts(7, 5, 211)
    order, snake = raster(7, 5), raster(7, 5, serpentine=True)
    direction = ("direction_of_y",)

    def lost(array, places):
        out = array.copy()
        for x, y in places:
            out[y, x] = np.nan
        return out

    def three(step_um=None):
        return [a_map(copper, "Cu K", step_um), a_map(iron, "Fe K", step_um), a_map(lead, "Pb L", step_um)]

    mm, um = (lambda x, y: (x * 0.5 - 1.25, y * 0.25 + 10)), (lambda x, y: (x * 50, y * 50))
    elements = (("Cu K", "Fe K", "Pb L"), (copper, iron, lead))
    jittered = frame(*elements, shuffled(snake), titles=("x (mm)", "y (mm)"), place=lambda x, y: (
        x * 0.5 + (x * 7 + y * 3) % 5 * 0.01, y * 0.5 - (x * 3 + y) % 7 * 0.008))
    triple = np.array([(x, y, copper[y, x]) for x, y in order])
    slow = np.array([(x, y, copper[y, x]) for y, x in raster(5, 7)])
    weak = np.array([(x, y, copper[y, x] / 4) for x, y in raster(3, 3)])
    numbered = np.array([(n + 1, x, y, copper[y, x], iron[y, x]) for n, (x, y) in enumerate(order)])
    hand = [f"{x};{y};{copper[y, x]:.0f};{iron[y, x]}" for x, y in snake]
    cu_fe = (a_map(copper, "Cu K"), a_map(iron, "Fe K"))
    missing = [(3, 1), (0, 0), (6, 4)]
    blocks = "\n".join(lines(f"{x} {y} {copper[y, x]:.0f}" for x, y in order if y == row) for row in range(5))
    return [
        ("pandas_table.csv", "pandas", by_pandas(frame(*elements, order), index=False),
         maps(*three(), findings=(*direction, "no_unit"))),
        ("pandas_table_with_index.csv", "pandas", by_pandas(frame(*elements, order)),
         maps(*three(), findings=(*direction, "no_unit", "running_number"))),
        ("pandas_table_mm_decimal_comma.csv", "pandas",
         by_pandas(frame(*elements, snake, mm, ("X [mm]", "Y [mm]")), index=False, sep=";", decimal=","),
         maps(*three([500.0, 250.0]), findings=direction)),
        ("pandas_table_um_any_order.csv", "pandas",
         by_pandas(frame(*elements, shuffled(order), um, ("x / µm", "y / µm")), index=False, encoding="utf-8-sig"),
         maps(*three([50.0, 50.0]), findings=direction)),
        ("pandas_table_latin_1.csv", "pandas",
         by_pandas(frame(*elements, order, um, ("pos_x (µm)", "pos_y (µm)")), index=False, sep=";", encoding="latin-1"),
         maps(*three([50.0, 50.0]), findings=direction)),
        ("pandas_table_jitter.csv", "pandas", by_pandas(jittered, index=False, float_format="%.4f"),
         maps(*three("near 500"), findings=(*direction, "jitter"))),
        ("pandas_table_y_falls.csv", "pandas",
         by_pandas(frame(*elements, raster(7, 5)[::-1], lambda x, y: (x, y), ("col", "row")), index=False),
         maps(*three(), findings=direction)),
        ("pandas_table_missing.csv", "pandas",
         by_pandas(frame(*elements, [p for p in snake if p not in missing]), index=False),
         maps(*[a_map(lost(array, missing), name) for name, array in zip(*elements, strict=True)],
              findings=(*direction, "missing_pixels", "no_unit"))),
        ("csv_table_quoted_words.csv", "csv",
         by_csv([["X", "Y", "Time", "Cu K"], *[[x, y, f"12:{y:02d}:{x:02d}", copper[y, x]] for x, y in order]],
                quoting=csv.QUOTE_NONNUMERIC),
         maps(a_map(copper, "Cu K"), findings=(*direction, "no_unit", "text_columns"))),
        ("csv_table_line_break_in_title.csv", "csv",
         by_csv([["x\n[mm]", "y\n[mm]", "Cu K"], *[[*mm(x, y), copper[y, x]] for x, y in order]]),
         maps(a_map(copper, "Cu K", [500.0, 250.0]), findings=direction)),
        ("csv_table_positions_last.txt", "csv",
         by_csv([["Live time", "Cu K", "Zeile", "Spalte"], *[[0.5, copper[y, x], y, x] for x, y in order]],
                dialect="excel-tab"),
         maps(a_map(np.full((5, 7), 0.5), "Live time"), a_map(copper, "Cu K"), findings=direction)),
        ("csv_table_two_kinds_of_positions.csv", "csv",
         by_csv([["col", "row", "x [mm]", "y [mm]", "Cu K"],
                 *[[x, y, *mm(x, y), copper[y, x]] for x, y in order]]),
         maps(a_map(np.mgrid[0:5, 0:7][1], "col", [500.0, 250.0]), a_map(np.mgrid[0:5, 0:7][0], "row", [500.0, 250.0]),
              a_map(copper, "Cu K", [500.0, 250.0]), findings=direction)),
        ("numpy_table_comment_titles.csv", "numpy",
         by_numpy(np.array([(x, y, copper[y, x], iron[y, x]) for x, y in order]), delimiter=",", header="x,y,Cu K,Fe K"),
         maps(*cu_fe, findings=(*direction, "no_unit"))),
        ("numpy_triples.txt", "numpy", by_numpy(triple),
         maps(a_map(copper), findings=(*direction, "first_column_is_x", "no_unit"))),
        ("numpy_triples_second_runs_fast.txt", "numpy", by_numpy(slow), ask(
            blank__decimal_point__x_y_values=maps(
                a_map(copper), findings=(*direction, "first_column_is_x", "no_unit")),
            blank__decimal_point__y_x_values=maps(a_map(copper.T), findings=(*direction, "no_unit")))),
        ("numpy_triples_few.csv", "numpy", by_numpy(weak, delimiter=","), ask(
            comma__decimal_point__x_y_values=maps(
                a_map(copper[:3, :3] / 4), findings=(*direction, "first_column_is_x", "no_unit")),
            comma__decimal_point__all_values=one(weak))),
        ("numpy_numbered_lines.csv", "numpy", by_numpy(numbered, delimiter=";"),
         maps(a_map(copper, "column 4"), a_map(iron, "column 5"),
              findings=(*direction, "first_column_is_x", "no_unit", "running_number"))),
        ("hand_blocks.txt", "by hand", by_hand(blocks),
         maps(a_map(copper), findings=(*direction, "first_column_is_x", "no_unit"))),
        ("hand_table_units_below.csv", "by hand after RFC 4180",
         by_hand(lines(["Pos X;Pos Y;Cu K;Fe K", "mm;mm;counts;counts", *hand])),
         maps(a_map(copper, "Cu K", [1000.0, 1000.0]), a_map(iron, "Fe K", [1000.0, 1000.0]), findings=direction)),
        ("hand_table_broken_off.csv", "by hand",
         by_hand("x;y;Cu K;Fe K\n" + "\n".join(hand[:-5]) + "\n" + hand[-5][:5]),
         maps(a_map(lost(copper, [p for p in snake[-5:]]), "Cu K"), a_map(lost(iron, snake[-5:]), "Fe K"),
              findings=(*direction, "missing_pixels", "no_unit", "cut_line"))),
        ("hand_table_empty_lines_at_end.csv", "by hand after RFC 4180",
         by_hand(lines(["x;y;Cu K;Fe K", *hand, ";;;", ";;;"])), maps(*cu_fe, findings=(*direction, "no_unit"))),
        ("hand_line_scan.csv", "by hand", by_hand(
            lines(["x [mm];Cu K;Fe K", *[f"{x * 0.5};{copper[0, x]:.0f};{iron[0, x]}" for x in range(7)]])),
         maps(a_map(copper[:1], "Cu K"), a_map(iron[:1], "Fe K"))),
        ("hand_columns_of_elements.csv", "by hand", by_hand(
            lines(["Cu K;Fe K", *[f"{copper[0, x]:.0f};{iron[0, x]}" for x in range(7)]])), ask(
            semicolon__decimal_point__columns_are_maps=maps(
                a_map(copper[:1].T, "Cu K"), a_map(iron[:1].T, "Fe K")),
            semicolon__decimal_point__all_values=one(np.column_stack([copper[0], iron[0]])))),
    ]


def questions():
    """Signs that can be read in two ways."""
    return [
        ("hand_comma_between_or_within.csv", "by hand", by_hand("1,5\n7,25\n3,5\n"), ask(
            line__decimal_comma__all_values=one([[1.5], [7.25], [3.5]]),
            comma__decimal_point__all_values=one([[1, 5], [7, 25], [3, 5]]))),
        ("hand_thousands_or_decimals.csv", "by hand", by_hand("1.234;987;12\n56;3.456;7\n"), ask(
            semicolon__decimal_point__all_values=one([[1.234, 987, 12], [56, 3.456, 7]], "three_digits"),
            semicolon__decimal_comma__all_values=one([[1234, 987, 12], [56, 3456, 7]]))),
        ("csv_quoted_thousands_or_decimals.csv", "csv", by_csv([["5,234", "2,345"], ["1,111", "9,999"]]), ask(
            comma__decimal_point__all_values=one([[5234, 2345], [1111, 9999]]),
            comma__decimal_comma__all_values=one([[5.234, 2.345], [1.111, 9.999]], "three_digits"))),
    ]


def names():
    """Lists that name maps."""
    def named(*pairs):
        return {"names": [list(pair) for pair in pairs]}
    return [
        ("csv_names_by_number.csv", "csv", by_csv([["channel", "element"], [1, "Fe K"], [2, "Cu Kα"]], delimiter=";"),
         named(("1", "Fe K"), ("2", "Cu Kα"))),
        ("csv_names_by_file.csv", "csv", by_csv([["map_03.tif", "Cu Ka"], ["map_04.tif", "Pb La"]]),
         named(("map_03", "Cu Ka"), ("map_04", "Pb La"))),
        ("hand_names_by_channel.txt", "by hand", by_hand("Channel 7 = Zn K\nChannel 8 = Hg L\nChannel 9 = Live time\n"),
         named(("7", "Zn K"), ("8", "Hg L"), ("9", "Live time"))),
    ]


def refused():
    """What is refused, with its sentence's code and numbers."""
    pixels = [f"{x},{y},{x + y}" for x, y in raster(4, 3)]
    scattered = [f"{x * x * 0.37},{y * y * y * 0.11},{x}" for x, y in raster(5, 4)]
    return [
        ("hand_ragged.csv", "by hand", by_hand("1,2,3\n4,5\n6,7,8\n"), error("ragged", 2, 3)),
        ("hand_word_among_numbers.txt", "by hand", by_hand("# title\n1;2\n3;four\n"), error("not_a_number", 3, "four")),
        ("hand_slip_in_first_line.csv", "by hand", by_hand("1;2x;3\n4;5;6\n7;8;9\n"), error("not_a_number", 1, "2x")),
        ("csv_duplicate_pixel.csv", "csv",
         by_csv([["x", "y", "Cu K"], *[p.split(",") for p in pixels], pixels[5].split(",")], lineterminator="\n"),
         error("duplicate_pixel", 7, 14)),
        ("csv_no_grid.csv", "csv", by_csv([["x", "y", "Cu K"], *[p.split(",") for p in scattered]]), error("no_grid")),
        ("hand_position_missing.csv", "by hand",
         by_hand(lines(["x,y,Cu K", *pixels[:6], ",1,5", *pixels[6:]])), error("not_a_number", 8)),
        ("hand_letter.txt", "by hand", by_hand("Dear reader, here is a letter.\nYours, A.\n"), error("unknown_format")),
        ("hand_other_sort.txt", "by hand", by_hand('{"a": [\n1,\n2\n]}\n'), error("unknown_format")),
        ("hand_no_text.txt", "by hand", by_hand(b"1,2,3\n\x00\x81\x02\n"), error("unknown_format")),
        ("hand_many_columns.csv", "by hand", by_hand(
            lines([",".join(["x", "y", *(f"c{i}" for i in range(600))]),
                   *[",".join(map(str, [x, y, *range(600)])) for x, y in raster(3, 2)]])),
         error("too_many_columns", 600, 512)),
    ]


def every_file():
    return [*matrices(), *axes(), *tables(), *questions(), *names(), *refused()]


def write(folder):
    """Writes every file and the manifest into `folder`."""
    folder.mkdir(parents=True, exist_ok=True)
    manifest = []
    for name, maker, write_to, expected in every_file():
        write_to(folder / name)
        manifest.append({"file": name, "maker": maker, **expected})
    text = json.dumps(manifest, indent=1, ensure_ascii=False)
    (folder / "manifest.json").write_text(text + "\n", encoding="utf-8")
    return manifest


def differing(made, committed):
    """Names of files that are not the same in both folders."""
    names = {path.name for folder in (made, committed) for path in folder.iterdir()}

    def content(path):
        return path.read_bytes() if path.exists() else None
    return sorted(name for name in names if content(made / name) != content(committed / name))
