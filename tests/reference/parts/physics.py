"""X-rays: attenuation, edges, lines, yields, depths, covers, ratios of sensitivities, overlaps and air.

xraylib and xraydb from their own functions, without a look at the program's data. `CS_Total` of xraylib and `mu_elam` of
xraydb are one table, so they are never compared with each other; Chantler's (xraydb) and Kissel's (xraylib) are the
independent ones. Formulas are written out here again.
"""

import importlib.util
import math

import numpy as np
import xraydb
import xraylib

from .document import dump

SHELLS = ("K", "L1", "L2", "L3", "M1", "M2", "M3", "M4", "M5")
#: Formulas and densities of the depth tables: densities after Gettens and Stout, Painting Materials; the oil from memory.
PIGMENTS = {
    "lead white": ("Pb3C2H2O8", 6.70), "azurite": ("Cu3C2H2O8", 3.80), "ultramarine": ("Na7Al6Si6O24S3", 2.34),
    "vermilion": ("HgS", 8.09),
}
OIL = ("C57H98O6", 0.93)
#: Dry air near sea level (NIST).
AIR = {6: 0.000124, 7: 0.755267, 8: 0.231781, 18: 0.012827}
AIR_DENSITY = 1.205e-3
#: The beam of the depth tables: rhodium Kα, straight in; lines leave at 45 degrees.
SLOPE = math.sin(math.radians(45.0))
GROUPS = {
    "Kα": xraylib.KA_LINE, "Kβ": xraylib.KB_LINE, "Lα": xraylib.LA_LINE, "Lβ": xraylib.LB_LINE,
    "Lβ1": xraylib.LB1_LINE, "Mα": xraylib.MA1_LINE,
}


def number(symbol):
    return xraylib.SymbolToAtomicNumber(symbol)


def energy(line):
    """Energy of a group in keV ("Pb Lα"); of Mα that of Mα1."""
    symbol, group = line.split()
    return xraylib.LineEnergy(number(symbol), GROUPS[group])


def known(function, *arguments):
    try:
        value = float(function(*arguments))
    except (ValueError, KeyError):
        return None
    return value if value > 0.0 else None


BEAM = energy("Rh Kα")


def steps_of(z):
    """Edges of 1 to 40 keV at which attenuation steps by more than 2 %."""
    edges = {edge.energy / 1000.0 for edge in xraydb.xray_edges(xraydb.atomic_symbol(z)).values()}

    def does_step(e):
        return 1.01 < e < 39.0 and xraylib.CS_Total(z, e * 1.002) > 1.02 * xraylib.CS_Total(z, e * 0.998)

    return [e for e in sorted(edges) if does_step(e)]


def attenuation():
    """Totals in cm2/g, and both sides of every edge."""
    rows = []
    for z in range(1, 93):
        energies = [float(f"{e:.4g}") for e in np.geomspace(1.0, 40.0, 13)]
        rows.append({
            "z": float(z), "kev": energies, "xraylib": [round(xraylib.CS_Total(z, e), 6) for e in energies],
            "chantler": [round(float(xraydb.mu_chantler(z, e * 1000.0)), 6) for e in energies]})
        for edge in steps_of(z):
            # 0.2 % off: xraylib and xraydb name some edges up to some eV apart.
            sides = [float(f"{edge * 0.998:.6g}"), float(f"{edge * 1.002:.6g}")]
            rows.append({"z": float(z), "kev": sides, "xraylib": [round(xraylib.CS_Total(z, e), 6) for e in sides]})
    return rows


def independent():
    """Totals by Kissel and Chantler, at least 3 % away from every edge of the element, above sodium."""
    rows = []
    for z in range(11, 93):
        edges = [edge.energy / 1000.0 for edge in xraydb.xray_edges(xraydb.atomic_symbol(z)).values()]
        energies = [float(f"{e:.4g}") for e in np.geomspace(1.0, 40.0, 24)]
        energies = [e for e in energies if min(abs(e / edge - 1.0) for edge in edges) > 0.03]
        rows.append({
            "z": float(z), "kev": energies,
            "kissel": [float(f"{xraylib.CS_Total_Kissel(z, e):.5g}") for e in energies],
            "chantler": [float(f"{float(xraydb.mu_chantler(z, e * 1000.0)):.5g}") for e in energies]})
    return rows


def shells():
    """Edges of xraydb, yields and jump ratios of both."""
    rows = []
    for z in range(11, 93):
        edges = xraydb.xray_edges(xraydb.atomic_symbol(z))
        for shell in SHELLS:
            macro = getattr(xraylib, f"{shell}_SHELL")
            edge = edges.get(shell)
            if edge is None or not 1000.0 < edge.energy < 40000.0:
                continue
            yields = [value for value in (known(xraylib.FluorYield, z, macro), edge.fyield) if value]
            rows.append({"z": float(z), "shell": shell, "edge": edge.energy / 1000.0, "low": min(yields, default=None),
                         "high": max(yields, default=None), "jump": edge.jump_ratio})
    return rows


def lines():
    """Energies (keV) and rates of xraydb, for lines that are at least 1 % of their shell's."""
    rows = []
    for z in range(11, 93):
        found = xraydb.xray_lines(xraydb.atomic_symbol(z))
        named = {name: line for name, line in found.items() if 1000.0 <= line.energy <= 40000.0 and line.intensity >= 0.01}
        rows.append({"z": float(z), "names": list(named),
                     "kev": [round(line.energy / 1000.0, 5) for line in named.values()],
                     "rates": [round(line.intensity, 5) for line in named.values()]})
    return rows


def compound(formula, kev, function=xraylib.CS_Total):
    parsed = xraylib.CompoundParser(formula)
    return sum(w * function(z, kev) for z, w in zip(parsed["Elements"], parsed["massFractions"], strict=True))


def linear(name, kev, share):
    """1/cm of paint with a share of its volume as pigment."""
    formula, density = PIGMENTS[name]
    return compound(formula, kev) * density * share + compound(OIL[0], kev) * OIL[1] * (1.0 - share)


DEPTH_LINES = ("K Kα", "Ca Kα", "Fe Kα", "Cu Kα", "Zn Kα", "Hg Lα", "Pb Lα", "Pb Mα", "Sn Kα")


def depths():
    """1/e escape and 99 % information depth in µm, pure and as paint of 0.4 pigment."""
    rows = []
    for name, (formula, density) in PIGMENTS.items():
        for line in DEPTH_LINES:
            kev, row = energy(line), {"name": name, "formula": formula, "density": density, "line": line}
            row["kev"] = kev
            row["chantler"] = compound(formula, kev, lambda z, e: float(xraydb.mu_chantler(z, e * 1000.0)))
            for key, share in (("pure", 1.0), ("paint", 0.4)):
                enter, leave = linear(name, BEAM, share), linear(name, kev, share)
                row[f"escape_{key}"] = 1e4 * SLOPE / leave
                row[f"depth_{key}"] = 1e4 * math.log(100.0) / (enter + leave / SLOPE)
            rows.append(row)
    return rows


def covers():
    """Shares let through by paint of 0.4 pigment."""
    rows = []
    for micrometres in (10.0, 20.0):
        for name in PIGMENTS:
            for line in DEPTH_LINES:
                kev = energy(line)
                rows.append({"name": name, "um": micrometres, "line": line, "kev": kev, "degrees": 45.0,
                             "share": math.exp(-linear(name, kev, 0.4) * micrometres * 1e-4 / SLOPE)})
            rows.append({"name": name, "um": micrometres, "line": "beam", "kev": BEAM, "degrees": 90.0,
                         "share": math.exp(-linear(name, BEAM, 0.4) * micrometres * 1e-4)})
    return rows


PAIRS = (("Pb Lα", "Pb Mα"), ("Pb Lα", "Pb Lβ"), ("Cu Kα", "Cu Kβ"), ("Hg Lα", "Hg Mα"), ("Hg Lα", "Hg Lβ"),
         ("Ca Kα", "Ca Kβ"), ("Fe Kα", "Fe Kβ"), ("Sn Kα", "Sn Lα"))


def pairs():
    """What 10 µm of paint over it does to the ratio of two lines."""
    rows = []
    for a, b in PAIRS:
        for name in PIGMENTS:
            through = [math.exp(-linear(name, energy(line), 0.4) * 1e-3 / SLOPE) for line in (a, b)]
            rows.append({"a": a, "b": b, "name": name, "kev": [energy(a), energy(b)], "change": through[0] / through[1]})
    return rows


def kissel(z, kev):
    return xraylib.CS_FluorLine_Kissel(z, xraylib.KA_LINE, kev)


def elam(z, kev):
    symbol = xraydb.atomic_symbol(z)
    edge, found = xraydb.xray_edge(symbol, "K"), xraydb.xray_lines(symbol, "K")
    alpha = sum(line.intensity for name, line in found.items() if name.startswith("Ka"))
    share = alpha / sum(line.intensity for line in found.values())
    return float(xraydb.mu_elam(symbol, kev * 1000.0, kind="photo")) * (1.0 - 1.0 / edge.jump_ratio) * edge.fyield * share


def kramers(function, z, kv, through=lambda kev: 1.0):
    """Sum over Kramers' continuum above the K edge, in steps of 0.02 keV."""
    edge = xraylib.EdgeEnergy(z, xraylib.K_SHELL)
    middles = [e for e in np.arange(8.9, kv, 0.02) + 0.01 if edge < e < kv]
    return sum((kv - e) / e * function(z, float(e)) * through(float(e)) for e in middles)


def zinc_and_copper():
    """K, zinc Kα over copper Kα for the same mass, one energy and Kramers' continuum of 50 kV."""
    rows = [{"kev": kev, "kissel": kissel(30, kev) / kissel(29, kev), "elam": elam(30, kev) / elam(29, kev),
             "copper_kissel": kissel(29, kev), "copper_elam": elam(29, kev)}
            for kev in (12.0, 17.48, BEAM, 30.0, 40.0)]
    tube = {"kv": 50.0}
    for name, function in (("kissel", kissel), ("elam", elam)):
        tube[name] = kramers(function, 30, 50.0) / kramers(function, 29, 50.0)

    def aluminium(kev):
        return math.exp(-xraylib.CS_Total(13, kev) * 2.70 * 0.05)

    tube["filtered"] = kramers(kissel, 30, 50.0, aluminium) / kramers(kissel, 29, 50.0, aluminium)
    return rows, [tube]


def bare():
    """Ratios of lines of a thin layer at rhodium Kα with the full cascade of vacancies."""
    rows = []
    for a, b in (("Pb Lα", "Pb Mα"), ("Pb Lα", "Pb Lβ"), ("Hg Lα", "Hg Mα"), ("Cu Kα", "Cu Kβ"), ("Au Lα", "Au Mα"),
                 ("Sn Lα", "Sn Lβ"), ("Ba Lα", "Ba Lβ"), ("Bi Lα", "Bi Mα")):
        values = []
        for line in (a, b):
            symbol, group = line.split()
            macros = [xraylib.MA1_LINE, xraylib.MA2_LINE] if group == "Mα" else [GROUPS[group]]
            values.append(sum(xraylib.CS_FluorLine_Kissel_Cascade(number(symbol), macro, BEAM) for macro in macros))
        rows.append({"a": a, "b": b, "kev": BEAM, "ratio": values[0] / values[1]})
    return rows


def thick():
    """Zinc against copper where both are traces in a thick layer, and in brass of a share of zinc, as a factor on K and as a
    count ratio (fluorescence by the beam alone)."""
    def both(mu):
        return [mu(BEAM) + mu(energy(line)) / SLOPE for line in ("Cu Kα", "Zn Kα")]

    rows = []
    for name, (formula, _) in PIGMENTS.items():
        copper, zinc = both(lambda kev, formula=formula: compound(formula, kev))
        rows.append({"name": name, "formula": formula, "factor": copper / zinc})
    for share in (0.1, 0.2, 0.3):
        copper, zinc = both(lambda kev, w=share: (1.0 - w) * xraylib.CS_Total(29, kev) + w * xraylib.CS_Total(30, kev))
        rows.append({"zinc": share,
                     "counts": share / (1.0 - share) * kissel(30, BEAM) / kissel(29, BEAM) * copper / zinc})
    return rows


def expected():
    """Mass and count ratios of zinc and copper of compounds: at rhodium Kα, by Kramers' continuum of 50 kV."""
    one, tube = kissel(30, BEAM) / kissel(29, BEAM), kramers(kissel, 30, 50.0) / kramers(kissel, 29, 50.0)
    rows = []
    for formula in ("CuZn(CO3)(OH)2", "Cu1.2Zn0.8(CO3)(OH)2", "Zn3Cu2(CO3)2(OH)6"):
        parsed = xraylib.CompoundParser(formula)
        shares = dict(zip(parsed["Elements"], parsed["massFractions"], strict=True))
        ratio = shares[30] / shares[29]
        rows.append({"formula": formula, "mass": ratio, "counts": ratio * one, "counts_tube": ratio * tube})
    return rows


OVERLAPS = (
    ("K Kα", "Cd Lβ1"), ("As Kα", "Pb Lα"), ("Al Kα", "Br Lα"), ("Cr Kα", "V Kβ"), ("V Kα", "Ti Kβ"),
    ("Ca Kα", "Sn Lβ1"), ("Ar Kα", "Ag Lα"), ("P Kα", "Zr Lα"), ("Ti Kα", "Ba Lα"), ("Si Kα", "W Mα"),
    ("Mn Kα", "Cr Kβ"), ("S Kα", "Pb Mα"), ("Br Kα", "Hg Lβ1"), ("Hg Lα", "Ge Kα"), ("Fe Kα", "Mn Kβ"),
    ("Cl Kα", "Rh Lα"), ("Sb Lα", "Ca Kα"), ("Au Lα", "Zn Kβ"), ("Ca Kα", "K Kβ"), ("Co Kα", "Fe Kβ"),
    ("S Kα", "Hg Mα"), ("K Kα", "Sn Lα"), ("Rb Kα", "U Lα"), ("Ni Kα", "Co Kβ"), ("Cu Kα", "Ni Kβ"),
    ("Cd Lα", "K Kα"), ("Au Lα", "Hg Lα"), ("Bi Lα", "Pb Lα"), ("Zn Kα", "Cu Kβ"),
)


def width(kev, at_manganese=135.0):
    """Full width at half maximum in eV, Fano factor 0.115, 3.65 eV for a pair."""
    per_ev = 8.0 * math.log(2.0) * 0.115 * 3.65
    return math.sqrt(at_manganese**2 + per_ev * (kev - 5.895) * 1000.0)


def overlap_rows():
    """Distance in eV and in widths, and the share of the second line in a window of 0.6 widths to each side of the first."""
    rows = []
    for wanted, by in OVERLAPS:
        one, other = energy(wanted), energy(by)
        half, sigma = 0.6 * width(one), width(other) / (2.0 * math.sqrt(2.0 * math.log(2.0)))
        off = 1000.0 * (one - other)
        leak = 0.5 * (math.erf((off + half) / (sigma * math.sqrt(2.0))) - math.erf((off - half) / (sigma * math.sqrt(2.0))))
        rows.append({"wanted": wanted, "by": by, "kev": [one, other], "delta": -off,
                     "widths": abs(off) / width(0.5 * (one + other)), "leak": leak})
    return rows


def air():
    """Shares let through by dry air."""
    rows = []
    for symbol in ("Na", "Mg", "Al", "Si", "P", "S", "Pb", "Cl", "K", "Ca", "Ti", "Fe"):
        line = f"{symbol} Mα" if symbol == "Pb" else f"{symbol} Kα"
        kev = energy(line)
        total = sum(share * xraylib.CS_Total(z, kev) for z, share in AIR.items())
        for millimetres in (5.0, 7.5, 10.0, 20.0):
            share = math.exp(-total * AIR_DENSITY * millimetres / 10.0)
            rows.append({"line": line, "kev": kev, "mm": millimetres, "share": share})
    return rows


def masses():
    """Mass fractions of compounds as xraylib parses them."""
    rows = []
    for formula in ("Cu3(CO3)2(OH)2", "CuZnCO3(OH)2", "HgS", "Na7Al6Si6O24S3", "Pb3C2H2O8", "C57H98O6",
                    "Fe4(Fe(CN)6)3", "Pb2SnO4"):
        parsed = xraylib.CompoundParser(formula)
        rows.append({"formula": formula, "z": [float(z) for z in parsed["Elements"]],
                     "shares": list(parsed["massFractions"])})
    return rows


def all_sections():
    mono, tube = zinc_and_copper()

    def section(rows, **tolerance):
        return {"tolerance": tolerance, "rows": rows}

    return {
        # A straight line between nodes is at most 0.2 % off, and a value 0.02 %.
        "attenuation": section(attenuation(), relative=3e-3, absolute=1e-6),
        # Sources differ: the limits stand in the test.
        "independent": section(independent(), relative=0.05),
        "shells": section(shells(), relative=2e-5, absolute=1e-6),
        "lines": section(lines(), absolute=0.005),
        "depths": section(depths(), relative=5e-3),
        "covers": section(covers(), relative=5e-3, absolute=1e-6),
        "pairs": section(pairs(), relative=2e-2),
        "zinc_and_copper": section(mono, relative=1e-2),
        "tube": section(tube, relative=5e-3),
        "expected": section(expected(), relative=5e-3),
        "thick": section(thick(), relative=5e-3),
        "bare": section(bare(), relative=1e-2),
        "overlaps": section(overlap_rows(), absolute=3e-3),
        "air": section(air(), absolute=1e-3),
        "masses": section(masses(), relative=1e-4),
    }


def comparisons():
    """Against what others published: (name, computed, expected, tolerance). NIST's values (X-ray mass attenuation coefficients,
    tables 3 and 4) as transcribed in public repositories."""
    counts = {row["formula"]: row["mass"] for row in expected()}
    found = [
        # Computed before and apart from this (periodictable): mass ratios of rosasite and aurichalcite.
        ("rosasite, zinc over copper", counts["CuZn(CO3)(OH)2"], 1.0289, 1e-4),
        ("aurichalcite, zinc over copper", counts["Zn3Cu2(CO3)2(OH)6"], 1.5433, 2e-4),
        ("NIST, lead at 10 keV", xraylib.CS_Total(82, 10.0), 130.6, 0.2),
    ]
    for kev, value in ((1.0, 604.1), (2.0, 74.69), (5.0, 4.369), (10.0, 0.6466), (20.0, 0.2251)):
        found.append((f"NIST, beryllium at {kev:g} keV", xraylib.CS_Total(4, kev), value, 1e-3 * value))
    for kev, value in ((1.0, 3606.0), (1.5, 1191.0), (2.0, 527.9), (3.0, 162.5), (5.0, 40.27), (10.0, 5.120), (20.0, 0.7779)):
        total = sum(share * xraylib.CS_Total(z, kev) for z, share in AIR.items())
        found.append((f"NIST, dry air at {kev:g} keV", total, value, 1e-3 * value))
    return found


def data_script(data):
    """The script beside the program's data, as a module."""
    spec = importlib.util.spec_from_file_location("make", data.with_name("make.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def write(path):
    path.write_text(dump(all_sections()) + "\n", encoding="utf-8")
