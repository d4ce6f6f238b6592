"""Times the loops of zones in scikit-learn, on the whole numbers that `examples/zones_speed.rs` uses. One thread; best of three."""

import os
import time
import warnings

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from sklearn.cluster import KMeans
from sklearn.decomposition import NMF

MAPS = 20


def table(pixels):
    pixel, of = np.mgrid[0:pixels, 0:MAPS].astype(np.int64)
    group = pixel * 7919 % 5
    return (4 + 11 * (group * (of + 3) % 7) + (37 * pixel + 101 * of + 7 * pixel * of) % 13).astype(float)


def best(name, task):
    times = []
    for _ in range(3):
        start = time.perf_counter()
        value = task()
        times.append((time.perf_counter() - start) * 1e3)
    print(f"{name}\t{min(times):.0f}\t{value}")


def main():
    warnings.simplefilter("ignore")
    rows = table(40_000)

    def means():
        found = KMeans(8, init=rows[:8], n_init=1, algorithm="lloyd", tol=0.0, max_iter=300).fit(rows)
        return found.inertia_, found.n_iter_

    best("k-means, 40 000 pixels of 20 maps, 8 groups, from given rows", means)
    rows = table(15_000)
    i, c, j = np.arange(15_000)[:, None], np.arange(5), np.arange(MAPS)[None, :]

    def parts():
        model = NMF(5, init="custom", solver="mu", beta_loss="kullback-leibler", tol=0.0, max_iter=150)
        model.fit_transform(rows, W=1.0 + (i * (3 + 2 * c[None, :])) % 7, H=1.0 + (5.0 * c[:, None] + 3 * j) % 4)
        return model.reconstruction_err_ ** 2 / 2

    best("parts, 15 000 pixels of 20 maps, 5 parts, 150 rounds", parts)


if __name__ == "__main__":
    main()
