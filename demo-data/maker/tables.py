"""Writes src/xray.txt: what the maker of the example needs of atomic data, from xraydb 4.5.8 (Elam, Chantler).

    python tables.py > src/xray.txt

The program under test rests on tables of its own; these are kept apart on purpose.
Units: keV, cm2/g. Rows:
  node    E  photons     photons of the tube (Rh, 45 kV) that reach the sheet around this energy, any unit
  cont    E  photons     the same per keV, times what air, window and detector leave: for the scattered continuum
  line    element family name E efficiency escape  then for each node cm2/g of the element that ends in this line
  mu      element  total attenuation at each node, each cont, each line
  scatter element  what is scattered back, cm2/g, at each cont
"""
import numpy as np
import xraydb as x

KV = 45.0
BINS = [2.6, 3.2, 4.2, 5.4, 7.2, 9.0, 10.8, 11.88, 13.03, 15.0, 18.0, 22.0, 29.3, 45.0]
CONT = [1.5, 1.9, 2.3, 2.7, 3.3, 4.2, 5.6, 7.5, 10.0, 12.5, 15.5, 19.2, 20.2, 24.0, 27.5]
MATTER = "H C N O Na Mg Al Si P S Cl K Ca Ti Mn Fe Co Ni Cu Zn As Sn Ba Au Hg Pb Bi".split()
KSHELL = "P S Cl Ar K Ca Ti Cr Mn Fe Co Ni Cu Zn As Sn".split()
LSHELL = "Sn Ba Au Hg Pb Bi".split()
MSHELL = "Au Hg Pb Bi".split()
# Shares of M5, M4, M3 in the photoabsorption above all M edges: round figures, from memory.
MSHARES = {"M5": 0.36, "M4": 0.24, "M3": 0.20}


# K beta to K alpha of the lightest: Elam's table has twice too much here; after Salem and others (1974), from memory.
BETA = {"P": 0.045, "S": 0.060, "Cl": 0.085, "Ar": 0.105}


def air(e, mm):
    return np.exp(-x.material_mu("air", 1000 * np.asarray(e), density=0.0012) * mm / 10)


def efficiency(e):
    """10 mm of air, 8 um of beryllium, 0.5 mm of silicon."""
    ev = 1000 * np.asarray(e, dtype=float)
    be = np.exp(-x.mu_elam("Be", ev) * 1.85 * 8e-4)
    return air(e, 10) * be * (1 - np.exp(-x.mu_elam("Si", ev) * 2.33 * 0.05))


def tube(e):
    """Photons per keV at the sheet: Kramers, a beryllium window of 125 um, 20 mm of air, a thin filter of its own anode."""
    e = np.asarray(e, dtype=float)
    own = np.exp(-x.mu_elam("Rh", 1000 * e) * 12.4 * 1.5e-4)
    return (KV / e - 1) * np.exp(-x.mu_elam("Be", 1000 * e) * 1.85 * 0.0125) * air(e, 20) * own


def nodes():
    out = []
    for low, high in zip(BINS[:-1], BINS[1:]):
        e = np.linspace(low, high, 400)
        t = tube(e)
        total = np.trapezoid(t, e)
        middle = np.trapezoid(t * e, e) / total
        if low == 2.6:  # Rh L lines
            total, middle = total + 1.1, 2.72
        if low == 18.0:  # Rh K alpha
            middle = (middle * total + 20.2 * 9.0) / (total + 9.0)
            total += 9.0
        out.append((middle, total))
    return out


def photo(el, e):
    return float(x.mu_elam(el, 1000 * e, kind="photo"))


def merged(rows):
    """Lines of one shell nearer than 30 eV are one; those below 2 % of their shell are left out."""
    rows = sorted(r for r in rows if r[1] >= 0.02)
    out = []
    for e, rate, name in rows:
        if out and e - out[-1][0] < 0.03:
            a = out[-1]
            out[-1] = ((a[0] * a[1] + e * rate) / (a[1] + rate), a[1] + rate, a[2] if a[1] > rate else name)
        else:
            out.append((e, rate, name))
    return out


def shell_lines(el, shell):
    rows = []
    for name, line in x.xray_lines(el).items():
        if line.initial_level == shell:
            rows.append((line.energy / 1000, line.intensity, name))
    return merged(rows)


def vacancies(el, shells, e):
    """Share of the photoabsorption that opens each shell at e, with Coster-Kronig shifts between L shells."""
    edges = x.xray_edges(el)
    left, share = 1.0, {}
    for s in shells:
        if 1000 * e > edges[s].energy:
            share[s] = left * (1 - 1 / edges[s].jump_ratio)
            left /= edges[s].jump_ratio
        else:
            share[s] = 0.0
    if shells[0] == "L1":
        ck = lambda a, b: x.ck_probability(el, a, b, total=False) or 0.0
        share["L2"] += ck("L1", "L2") * share["L1"]
        share["L3"] += ck("L1", "L3") * share["L1"] + ck("L2", "L3") * share["L2"]
    return share


def escape(e):
    """Share of the counts that leaves a silicon K photon outside: the usual formula for a thick detector."""
    if e < 1.84:
        return 0.0
    mu_in, mu_k = float(x.mu_elam("Si", 1000 * e)), float(x.mu_elam("Si", 1740.0))
    share = 0.5 * 0.046 * 0.92 * (1 - mu_k / mu_in * np.log(1 + mu_in / mu_k))
    return share / (1 - share)


def lines(node_list):
    out = []
    for el in KSHELL:
        omega = x.xray_edges(el)["K"].fyield
        # One line for K alpha; K beta where it is apart.
        alpha = [r for r in shell_lines(el, "K") if r[2].startswith("Ka")]
        beta = [r for r in shell_lines(el, "K") if not r[2].startswith("Ka")]
        for name, group in (("Ka", alpha), ("Kb", beta)):
            if not group:
                continue
            rate = sum(g[1] for g in group)
            if el in BETA:
                rate = (1.0 if name == "Ka" else BETA[el]) / (1.0 + BETA[el])
            e = sum(g[0] * g[1] for g in group) / sum(g[1] for g in group)
            q = [photo(el, n) * vacancies(el, ["K"], n)["K"] * omega * rate for n, _ in node_list]
            out.append((el, "K", name, e, q))
    for el in LSHELL:
        for shell in ("L3", "L2", "L1"):
            omega = x.xray_edges(el)[shell].fyield
            for e, rate, name in shell_lines(el, shell):
                q = []
                for n, _ in node_list:
                    k = vacancies(el, ["K"], n)["K"]
                    q.append(photo(el, n) * (1 - k) * vacancies(el, ["L1", "L2", "L3"], n)[shell] * omega * rate)
                out.append((el, "L", name.split(",")[0], e, q))
    for el in MSHELL:
        edges = x.xray_edges(el)
        for shell in ("M5", "M4", "M3"):
            omega = edges[shell].fyield
            for e, rate, name in shell_lines(el, shell):
                q = []
                for n, _ in node_list:
                    v = vacancies(el, ["L1", "L2", "L3"], n)
                    rest = max(0.0, 1 - v["L1"] - v["L2"] - v["L3"]) if 1000 * n > edges["L3"].energy else 1.0
                    above = 1000 * n > edges["M1"].energy
                    part = MSHARES[shell] if above else (MSHARES[shell] if 1000 * n > edges[shell].energy else 0.0)
                    q.append(photo(el, n) * rest * part * omega * rate)
                out.append((el, "M", name, e, q))
    return [r for r in out if 1.5 < r[3] < 27.0]


def main():
    fmt = lambda values: " ".join(f"{v:.4g}" for v in values)
    node_list = nodes()
    table = lines(node_list)
    print("# Made by tables.py from xraydb " + x.__version__ + ". See there for what the rows mean.")
    for e, w in node_list:
        print("node", fmt([e, w]))
    for e in CONT:
        print("cont", fmt([e, float(tube(e) * efficiency(e))]))
    for el, family, name, e, q in table:
        print("line", el, family, name, f"{e:.4f}", fmt([float(efficiency(e)), escape(e)]), fmt(q))
    for el in MATTER:
        ev = np.array([n for n, _ in node_list] + CONT + [r[3] for r in table]) * 1000
        # Chantler where it reaches, Elam below.
        mu = []
        for v in ev:
            try:
                mu.append(float(x.mu_chantler(el, v)))
            except Exception:
                mu.append(float(x.mu_elam(el, v)))
        print("mu", el, fmt(mu))
    for el in MATTER:
        s = [float(x.mu_elam(el, 1000 * e, kind="incoh") + 0.35 * x.mu_elam(el, 1000 * e, kind="coh")) for e in CONT]
        print("scatter", el, fmt(s))


main()
