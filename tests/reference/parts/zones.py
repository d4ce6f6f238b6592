"""Zones: k-means, factors and agreement by scikit-learn, on the arrays of integer formulas and on labels that the core made.

`zones/labels.txt` holds what the core made of a simulated scene and of the example, beside what is true of them; it is written by
`ZONES=accept cargo test --test reference zones`. Here only the agreement of the two is computed.
"""

import platform
from importlib import metadata

import numpy as np
from sklearn.cluster import KMeans
from sklearn.decomposition import NMF
from sklearn.metrics import adjusted_rand_score, silhouette_score

from .arrays import counting_arrays
from .document import dump


def columns(names):
    """Maps as columns, pixels row by row."""
    arrays = counting_arrays()
    return np.column_stack([arrays[name].ravel() for name in names]).astype(float)


def standardised():
    """Anscombe's transformation, then mean 0 and standard deviation 1 over n."""
    stable = 2.0 * np.sqrt(columns(("iron", "manganese", "copper", "zinc")) + 0.375)
    return (stable - stable.mean(axis=0)) / stable.std(axis=0)


def grouped(values, first):
    """Lloyd's algorithm from given rows."""
    return KMeans(len(first), init=values[first], n_init=1, algorithm="lloyd", tol=0.0, max_iter=300).fit(values)


def means():
    """Seeds at (y, x), and a scan over the number from rows by a formula."""
    values = standardised()
    seeds = [(10, 20), (30, 50), (30, 15), (0, 0)]
    found = grouped(values, [y * 64 + x for y, x in seeds])
    rows = [{
        "name": "seeds", "first": [y * 64 + x for y, x in seeds], "inertia": float(found.inertia_),
        "sizes": np.bincount(found.labels_).tolist(), "rounds": int(found.n_iter_), "centres": found.cluster_centers_.ravel().tolist(),
        "silhouette": float(silhouette_score(values[::7], found.labels_[::7])),
    }]
    for k in range(2, 8):
        first = [(37 * j * j + 11 * j) % len(values) for j in range(k)]
        found = grouped(values, first)
        rows.append({
            "name": f"{k} groups", "first": first, "inertia": float(found.inertia_), "sizes": np.bincount(found.labels_).tolist(),
            "rounds": int(found.n_iter_), "centres": found.cluster_centers_.ravel().tolist(),
            "silhouette": float(silhouette_score(values[::7], found.labels_[::7])),
        })
    return {"tolerance": {"relative": 1e-9}, "rows": rows}


def factors(counts, parts, rounds):
    """Strengths, spectra and divergence after so many multiplicative rounds from whole numbers by a formula."""
    n, p = counts.shape
    i, c, j = np.arange(n)[:, None], np.arange(parts), np.arange(p)[None, :]
    w = 1.0 + (i * (3 + 2 * c[None, :])) % 7
    h = 1.0 + (5 * c[:, None] + 3 * j) % 4
    model = NMF(parts, init="custom", solver="mu", beta_loss="kullback-leibler", tol=0.0, max_iter=rounds)
    w = model.fit_transform(counts, W=w.copy(), H=h.astype(float).copy())
    return w, model.components_, model.reconstruction_err_ ** 2 / 2.0


def parts():
    """Divergence by rounds, deviance over degrees of freedom by the number of parts, spectra that sum to 1."""
    counts = columns(("iron", "manganese", "copper", "zinc", "lead"))
    n, p = counts.shape
    rows = [{"parts": 3, "rounds": rounds, "divergence": float(factors(counts, 3, rounds)[2])} for rounds in (1, 10, 100)]
    for c in (1, 2, 3, 4):
        rows.append({"parts": c, "rounds": 300, "divergence": float(factors(counts, c, 300)[2])})
    for row in rows:
        c = row["parts"]
        row["deviance_per_df"] = 2.0 * row["divergence"] / (n * p - c * (n + p - c))
    w, h, _ = factors(counts, 3, 100)
    strengths = (w * h.sum(axis=1)).sum(axis=0)
    spectra = (h / h.sum(axis=1, keepdims=True))[np.argsort(-strengths)]
    return {"tolerance": {"relative": 1e-6}, "rows": rows, "spectra": spectra.ravel().tolist()}


def blocks(path):
    """Labels by name; `truth` and `demo truth` are what the others are held against."""
    out, name = {}, None
    for line in path.read_text(encoding="utf-8").splitlines():
        if line.startswith("# "):
            name = line[2:]
            out[name] = []
        else:
            out[name].extend(int(digit, 16) for digit in line)
    return {name: np.array(labels) for name, labels in out.items()}


def agreement(path):
    """Adjusted Rand index of what the core made with what is true, over the points where both say something."""
    labels = blocks(path)
    rows = []
    for name, found in labels.items():
        truth = labels["demo truth" if name.startswith("demo") else "truth"]
        both = (truth > 0) & (found > 0)
        rows.append({"name": name, "index": float(adjusted_rand_score(truth[both], found[both])), "pixels": int(both.sum())})
    return {"tolerance": {"relative": 1e-9}, "rows": rows}


def versions():
    """The libraries that took part."""
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in ("numpy", "scikit-learn")}}


def write(folder, labels):
    """Writes the sections about zones."""
    values = {"versions": versions(), "means": means(), "parts": parts(), "agreement": agreement(labels)}
    (folder / "zones.json").write_text(dump(values) + "\n", encoding="utf-8")
