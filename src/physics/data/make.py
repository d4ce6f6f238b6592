"""Makes `xray.bin`, the X-ray data that the program holds, from two libraries.

    python src/physics/data/make.py            writes the file beside this script
    python src/physics/data/make.py --check    makes it in memory and compares

Needs xraylib and xraydb in the versions of `tests/reference/requirements.txt`; the versions that took part are written into
the file. The same versions give the same bytes.

What comes from where (E is in keV, cross-sections in cm2/g):

- xraylib: line energies, rates within a shell, yields, jump ratios, edges, atomic weights, `CS_Total` and its two parts of
  scatter, Kissel's
  photoelectric cross-sections of single shells, and how many vacancies one in a shell makes in the shells above it
  (radiation, Auger and Coster-Kronig).
- xraydb: rates and yields (Elam), energies where xraylib has none, and Chantler's attenuation (FFAST).

`CS_Total` of xraylib and `mu_elam` of xraydb are one table; Chantler's is the independent one. Kissel's totals are kept as a
third only where the M edges of heavy elements lie, because there the first two disagree by up to a factor of two; for light
elements they are wrong.

Layout, little endian: 8 bytes "XRAY 1\\n\\0"; u16 length and UTF-8 text of versions; then for each atomic number from 1 to 92
a record as `element` below writes it. A curve is ln(cross-section) over ln(E), straight between its nodes, in pieces between
steps: u8 pieces; a piece is f32 low E, f32 high E, u8 nodes, then for each node u16 place (share of the piece in ln E, of
65535) and u16 value (ln value from LOW to HIGH, of 65535).
"""

import math
import struct
import sys
from importlib import metadata
from pathlib import Path

import numpy as np
import xraydb
import xraylib

PLACE = Path(__file__).resolve().parent / "xray.bin"
SHELLS = ("K", "L1", "L2", "L3", "M1", "M2", "M3", "M4", "M5")
#: Energies that curves cover.
FROM, TO = 0.9, 60.0
#: ln of the smallest and the largest value that a curve can hold.
LOW, HIGH = math.log(1e-6), math.log(1e6)
#: Largest error of a curve between its nodes, in ln: of totals, of Chantler's, of Kissel's.
CLOSE, CLOSE_CHANTLER, CLOSE_KISSEL = 0.002, 0.004, 0.008
#: Largest number of vacancies that can be held.
MOST = 4.0
#: Lines in the order of `names.rs`: shell, where the electron comes from in xraylib, name in xraydb.
LINES = (
    ("K", ("L3",), "Ka1"), ("K", ("L2",), "Ka2"), ("K", ("M3",), "Kb1"), ("K", ("M2",), "Kb3"), ("K", ("M4", "M5"), "Kb5"),
    ("K", ("N2", "N3"), "Kb2"), ("K", ("N4", "N5"), "Kb4"),
    ("L1", ("M2",), "Lb4"), ("L1", ("M3",), "Lb3"), ("L1", ("M4", "M5"), None), ("L1", ("N2",), "Lg2"),
    ("L1", ("N3",), "Lg3"), ("L1", ("O2", "O3"), None),
    ("L2", ("M1",), "Ln"), ("L2", ("M4",), "Lb1"), ("L2", ("M3",), None), ("L2", ("N4",), "Lg1"), ("L2", ("N1",), None),
    ("L2", ("O4",), "Lg6"),
    ("L3", ("M1",), "Ll"), ("L3", ("M5",), "La1"), ("L3", ("M4",), "La2"), ("L3", ("N4", "N5"), "Lb2,15"),
    ("L3", ("N1",), "Lb6"), ("L3", ("O4", "O5"), "Lb5"),
    ("M1", ("N2",), None), ("M1", ("N3",), None), ("M2", ("N4",), None), ("M2", ("N1",), None), ("M3", ("N5",), "Mg"),
    ("M3", ("N4",), None), ("M3", ("N1",), None), ("M3", ("O4", "O5"), None),
    ("M4", ("N6",), "Mb"), ("M4", ("N2",), None), ("M4", ("O2",), None), ("M5", ("N7",), "Ma"), ("M5", ("N6",), "Ma"),
    ("M5", ("N3",), None), ("M5", ("O3",), None),
)
NAN = float("nan")


def given(function, *arguments):
    """What a library gives, or not a number where it has none."""
    try:
        value = float(function(*arguments))
    except (ValueError, KeyError):
        return NAN
    return value if value > 0.0 else NAN


def shell_macro(shell):
    return getattr(xraylib, f"{shell}_SHELL")


def line_of(z, shell, sources, other):
    """(energy, rate of xraylib, rate of xraydb) of a line; not a number where unknown."""
    macros = [getattr(xraylib, f"{shell}{source}_LINE", None) for source in sources]
    rates = [given(xraylib.RadRate, z, macro) if macro is not None else NAN for macro in macros]
    energies = [given(xraylib.LineEnergy, z, macro) if macro is not None else NAN for macro in macros]
    known = [(e, r) for e, r in zip(energies, rates, strict=True) if e == e and r == r]
    rate = sum(r for _, r in known) if known else NAN
    energy = sum(e * r for e, r in known) / rate if known else NAN
    line = xraydb.xray_lines(xraydb.atomic_symbol(z)).get(other) if other else None
    second = line.intensity if line is not None and line.intensity > 0 else NAN
    if other == "Ma" and rate == rate and second == second:
        # One line in xraydb: divided as xraylib does.
        pair = [given(xraylib.RadRate, z, getattr(xraylib, f"M5{source}_LINE")) for source in ("N7", "N6")]
        second = second * rate / sum(value for value in pair if value == value)
    elif energy != energy and line is not None and not (other == "Ma" and sources == ("N6",)):
        energy = line.energy / 1000.0
    elif other == "Ma" and rate != rate:
        second = NAN
    return energy, rate, second


def steps_of(rate):
    """A rate of at most 1 as a whole number; 0 for none."""
    return max(1, round(rate * 65535)) if rate == rate else 0


def auger_transfer():
    """(shell, shell left empty) with the macros of Auger rates that leave it, each as often as it does."""
    out = {}
    for name in dir(xraylib):
        if not name.endswith("_AUGER"):
            continue
        start, pair = name[:-6].split("_")
        for place in (pair[:2], pair[2:]):
            if place in SHELLS and place[0] != start[0]:
                out.setdefault((start, place), []).append(getattr(xraylib, name))
    return out


AUGER = auger_transfer()


def cascade(z):
    """Vacancies that one in a shell makes in each shell further out in the end: 9 x 9, row = where it is made, with 1 on the
    diagonal."""
    direct = np.zeros((9, 9))
    for i, start in enumerate(SHELLS):
        shine = given(xraylib.FluorYield, z, shell_macro(start))
        auger = given(xraylib.AugerYield, z, shell_macro(start))
        for j in range(i + 1, 9):
            end = SHELLS[j]
            total = 0.0
            if start[0] == end[0]:
                macro = getattr(xraylib, f"F{start[0]}{start[1]}{end[1]}_TRANS", None)
                jump = given(xraylib.CosKronTransProb, z, macro) if macro is not None else NAN
                total += jump if jump == jump else 0.0
            else:
                macro = getattr(xraylib, f"{start}{end}_LINE", None)
                rate = given(xraylib.RadRate, z, macro) if macro is not None else NAN
                if shine == shine and rate == rate:
                    total += shine * rate
                if auger == auger:
                    rates = [given(xraylib.AugerRate, z, macro) for macro in AUGER.get((start, end), [])]
                    total += auger * sum(rate for rate in rates if rate == rate)
            direct[i, j] = total
    return np.linalg.inv(np.eye(9) - direct)


def steps(z, value):
    """Energies at which `value` steps up, found beside the edges that xraydb names."""
    found = []

    def one(e):
        return value([e])[0]

    for edge in xraydb.xray_edges(xraydb.atomic_symbol(z)).values():
        if not FROM < edge.energy / 1000.0 < TO:
            continue
        grid = edge.energy / 1000.0 * np.linspace(0.985, 1.015, 1201)
        values = value(grid)
        if not (values > 0).all():
            continue
        at = int(np.argmax(np.diff(np.log(values))))
        low, high = grid[at], grid[at + 1]
        while high - low > 1e-8 * low:
            middle = 0.5 * (low + high)
            if one(middle) ** 2 > one(low) * one(high):
                high = middle
            else:
                low = middle
        if one(high) / one(low) > 1.004 and all(abs(high - other) > 1e-5 for other in found):
            found.append(float(np.float32(high)))
    return sorted(found)


def thinned(x, y, close):
    """Places of the fewest points (nearly) between which straight lines stay close to all of them."""
    kept, work = {0, len(x) - 1}, [(0, len(x) - 1)]
    while work:
        low, high = work.pop()
        if high - low < 2:
            continue
        line = y[low] + (y[high] - y[low]) * (x[low:high + 1] - x[low]) / (x[high] - x[low])
        apart = np.abs(line - y[low:high + 1])
        at = low + int(np.argmax(apart))
        if apart.max() > close:
            kept.add(at)
            work += [(low, at), (at, high)]
    return sorted(kept)


def piece(value, low, high, close, extra):
    """One piece as bytes; empty where there is nothing to hold."""
    low, high = float(np.float32(low)), float(np.float32(high))
    if high <= low * (1 + 1e-6):
        return b""
    span = math.log(high / low)
    places = {round(65535 * share) for share in np.linspace(0.0, 1.0, max(9, int(span * 700)))}
    places |= {round(65535 * math.log(e / low) / span) for e in extra if low < e < high}
    places = np.array(sorted(places))
    energies = low * np.exp(span * places / 65535.0)
    # Just inside the piece at its ends, where the curve steps.
    energies[0], energies[-1] = low * (1 + 2e-6), high * (1 - 2e-6)
    y = np.log(np.maximum(value(energies), 1e-6))
    kept = thinned(places / 65535.0 * span, y, close)
    if len(kept) > 255:
        raise ValueError("too many nodes")
    nodes = b"".join(struct.pack("<HH", places[i], round(65535 * (y[i] - LOW) / (HIGH - LOW))) for i in kept)
    return struct.pack("<ffB", low, high, len(kept)) + nodes


def curve(value, start, end, cuts, close, extra=()):
    """A curve as bytes."""
    ends = [start, *(cut for cut in cuts if start < cut < end), end]
    pieces = [piece(value, low, high, close, extra) for low, high in zip(ends, ends[1:], strict=False)]
    pieces = [one for one in pieces if one]
    return struct.pack("<B", len(pieces)) + b"".join(pieces)


def element(z):
    """One element."""
    symbol = xraydb.atomic_symbol(z)
    edges = xraydb.xray_edges(symbol)
    out = [struct.pack("<f", xraylib.AtomicWeight(z))]
    for shell in SHELLS:
        macro, other = shell_macro(shell), edges.get(shell)
        edge = given(xraylib.EdgeEnergy, z, macro)
        second = other.fyield if other is not None and other.fyield > 0 else NAN
        out.append(struct.pack("<ffff", edge, given(xraylib.FluorYield, z, macro), second,
                               given(xraylib.JumpFactor, z, macro)))
    made = cascade(z)
    shares = [made[i, j] for i in range(9) for j in range(i + 1, 9)]
    out.append(struct.pack("<36H", *(round(share / MOST * 65535) for share in shares)) if z >= 11 else b"")

    found = [(number, shell, *line_of(z, shell, sources, other)) for number, (shell, sources, other) in enumerate(LINES)]
    # Shares of a shell come from one library alone where the other lacks one of its lines.
    lacking = {shell for _, shell, _, rate, second in found if rate != rate and second >= 0.05}
    lines = []
    for number, shell, energy, rate, second in found:
        rate = NAN if shell in lacking else rate
        most = max((value for value in (rate, second) if value == value), default=0.0)
        if FROM <= energy <= 40.0 and most >= 0.002:
            lines.append(struct.pack("<BfHH", number, energy, steps_of(rate), steps_of(second)))
    out.append(struct.pack("<B", len(lines)) + b"".join(lines))

    def total(energies):
        return np.array([xraylib.CS_Total(z, e) for e in energies])

    def scatter(energies):
        return np.array([xraylib.CS_Rayl(z, e) + xraylib.CS_Compt(z, e) for e in energies])

    def chantler(energies):
        return xraydb.mu_chantler(symbol, np.array(energies) * 1000.0)

    def kissel(energies):
        return np.array([xraylib.CS_Total_Kissel(z, e) for e in energies])

    cuts = steps(z, total)
    out.append(curve(total, FROM, TO, cuts, CLOSE))
    nothing = struct.pack("<B", 0)
    out.append(curve(scatter, FROM, TO, [], CLOSE) if z >= 11 else nothing)

    near = [edge.energy / 1000.0 + shift / 1000.0 for edge in edges.values() for shift in range(-60, 61)]
    out.append(curve(chantler, FROM, TO, [], CLOSE_CHANTLER, near))
    out.append(curve(kissel, FROM, 6.5, steps(z, kissel), CLOSE_KISSEL) if z >= 70 else nothing)

    for shell in SHELLS:
        edge = given(xraylib.EdgeEnergy, z, shell_macro(shell))

        def partial(energies, macro=shell_macro(shell)):
            values = [given(xraylib.CS_Photo_Partial, z, macro, float(e)) for e in energies]
            return np.nan_to_num(np.array(values))

        # Outer M shells of light elements have no lines here. Some shells begin a little above their edge.
        above = None
        if z >= 11 and edge < TO and not (edge < 0.3 and shell.startswith("M")):
            above = next((e for e in max(FROM, edge) * np.geomspace(1.0, 1.05, 200) if partial([e])[0] > 0.0), None)
        out.append(curve(partial, above, TO, [], CLOSE_KISSEL) if above is not None else nothing)
    return b"".join(out)


def make():
    names = ", ".join(f"{name} {metadata.version(name)}" for name in ("xraylib", "xraydb")).encode()
    return b"XRAY 1\n\0" + struct.pack("<H", len(names)) + names + b"".join(element(z) for z in range(1, 93))


def main():
    made = make()
    if "--check" in sys.argv[1:]:
        same = PLACE.read_bytes() == made
        print("the same bytes" if same else "differs from what is committed")
        return 0 if same else 1
    PLACE.write_bytes(made)
    print(f"{PLACE.name}: {len(made)} bytes")
    return 0


if __name__ == "__main__":
    sys.exit(main())
