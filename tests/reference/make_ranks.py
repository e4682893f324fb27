# SPDX-License-Identifier: GPL-3.0-or-later
"""Ranks, permutations and broken sticks by SciPy and NumPy.

make_ranks.py [FILE], by default values/ranks.txt.
"""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
stats = need("scipy.stats", "python3-scipy")
SIZES = (5, 8, 41, 300)


def stick(x, y):
    """Hudson 1966: lines of both sides fitted apart, where they meet between their points."""
    best = None
    for k in range(2, len(x) - 1):
        parts = [np.polyfit(x[:k], y[:k], 1), np.polyfit(x[k:], y[k:], 1)]
        meet = (parts[0][1] - parts[1][1]) / (parts[1][0] - parts[0][0])
        rest = np.concatenate([y[:k] - np.polyval(parts[0], x[:k]),
                               y[k:] - np.polyval(parts[1], x[k:])])
        if x[k - 1] <= meet <= x[k] and (best is None or rest @ rest < best[3]):
            best = [meet, parts[0][0], parts[1][0], rest @ rest]
    return best


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "ranks.txt")
    out = Writer("make_ranks.py", "made here; numbers of a fixed generator, with ties",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    x = np.round(np.array(noise(300, 21)) * 40.0)
    y = np.round(0.4 * x + np.array(noise(300, 22)) * 30.0)
    out.put("x", x)
    out.put("y", y)
    out.put("rank_x", stats.rankdata(x))
    for n in SIZES:
        rho = stats.spearmanr(x[:n], y[:n])
        tau = stats.kendalltau(x[:n], y[:n], method="asymptotic")
        out.put(f"spearman_{n}", [rho[0], rho[1]])
        out.put(f"kendall_{n}", [tau[0], tau[1]])
    a, b = np.array(noise(7, 31)), np.array(noise(9, 32)) + 0.5
    out.put("first", a)
    out.put("second", b)
    kinds = stats.permutation_test((b, a), lambda u, v: np.mean(u) - np.mean(v),
                                   n_resamples=np.inf)
    signs = stats.permutation_test((b,), np.mean, permutation_type="samples", n_resamples=np.inf)
    # SciPy doubles the smaller tail; here sizes count
    for name, test in (("permutation", kinds), ("signs", signs)):
        sizes = np.abs(test.null_distribution)
        out.put(name, [test.statistic, np.mean(sizes >= abs(test.statistic) - 1e-13)])
    groups = [a, b, np.array(noise(4, 33)) + 0.2]
    out.put("third", groups[2])
    out.put("anova", stats.f_oneway(*groups))
    t = np.arange(1, 61) / 10.0
    f = 2.0 + 1.5 * t - 1.2 * np.maximum(t - 3.27, 0.0) + 0.15 * np.array(noise(60, 8))
    out.put("stick_x", t)
    out.put("stick_y", f)
    out.put("stick", stick(t, f))
    out.write(path)


main()
