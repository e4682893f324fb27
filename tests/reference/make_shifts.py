# SPDX-License-Identifier: GPL-3.0-or-later
"""Shifts between two sides, and how many sessions would be needed, by SciPy and NumPy.

make_shifts.py [FILE], by default values/shifts.txt.
"""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
stats = need("scipy.stats", "python3-scipy")
CHANCES = ((0.002, 6, 35, 1.0, 6, 35, 8.0, 0.0, 0.0), (0.004, 8, 126, 1.0, 8, 126, 5.0, 0.0, 0.0),
           (0.005, 14, 6435, 1.0, 14, 6435, 4.5, 0.0, 0.0),
           (0.01, 4, 10, 0.8, 18, 5000, 4.0, 0.0, 0.0), (0.03, 2, 3, 0.5, 30, 5000, 3.0, 0.0, 0.0),
           (0.005, 10, 462, 1.0, 10, 462, 8.0, 1.5, 2.8))
PLANS = ((1.0, 1.0), (0.5, 1.0), (2.0, 1.0), (0.3, 0.25), (0.02, 0.03))


def needed(shift, sd):
    """Sessions a side of a two-sided t test at 5 % with power 0.8, by the noncentral t."""
    for n in range(2, 2000):
        freedom = 2 * n - 2
        limit = stats.t.ppf(0.975, freedom)
        if stats.nct.sf(limit, freedom, shift / sd * np.sqrt(n / 2)) >= 0.8:
            return n
    return 0


def chance(level, freedom, n_ways, u_next, freedom_next, n_ways_next, shift, cal_u, cal_t):
    """Mean chance that a shift is seen, by 32,768 quasi-random draws of all that is not known."""
    rank = [max(1.0, np.floor(0.05 * min(n, 5000.0))) for n in (n_ways, n_ways_next)]
    part = [r / min(n, 5000.0) for r, n in zip(rank, (n_ways, n_ways_next))]
    points = stats.qmc.Sobol(4, seed=5).random(2 ** 15)
    made = np.sqrt(stats.chi2.ppf(points[:, 0], freedom) / freedom)
    found = np.sqrt(stats.chi2.ppf(points[:, 1], freedom_next) / freedom_next)
    ratio = (stats.gamma.ppf(points[:, 2], 0.8 * rank[1]) / (0.8 * rank[1])) / (
        stats.gamma.ppf(points[:, 3], 0.8 * rank[0]) / (0.8 * rank[0]))
    one = np.clip(level * part[1] / part[0] * ratio, 1e-10, 0.05)
    u = u_next / made
    reach = np.hypot(stats.t.isf(one / 2, freedom_next) * u * found, cal_t * cal_u)
    return stats.norm.cdf((abs(shift) - reach) / np.hypot(u, cal_u)).mean()


def within(x, session, second):
    """Least squares with each session's own level, the scatter pooled over sessions and sides."""
    columns = [second.astype(float)] + [(session == s).astype(float) for s in np.unique(session)]
    shift = np.linalg.lstsq(np.array(columns).T, x, rcond=None)[0][0]
    squares, freedom, weights = 0.0, 0, 0.0
    for s in np.unique(session):
        cells = [x[(session == s) & (second == k)] for k in (False, True)]
        squares += sum(((c - c.mean()) ** 2).sum() for c in cells)
        freedom += sum(len(c) - 1 for c in cells)
        weights += len(cells[0]) * len(cells[1]) / (len(cells[0]) + len(cells[1]))
    u = np.sqrt(squares / freedom / weights)
    reach = stats.t.ppf(0.975, freedom) * u
    return [shift, shift - reach, shift + reach]


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "shifts.txt")
    out = Writer("make_shifts.py", "made here; numbers of a fixed generator",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    a, b = np.array(noise(5, 51)) + 3.0, np.array(noise(6, 52)) + 4.2
    out.put("first", a)
    out.put("second", b)
    test = stats.ttest_ind(b, a)
    shift = b.mean() - a.mean()
    freedom = len(a) + len(b) - 2
    reach = stats.t.ppf(0.975, freedom) * abs(shift / test.statistic)
    kinds = stats.permutation_test((b, a), lambda u, v: np.mean(u) - np.mean(v),
                                   n_resamples=np.inf)
    sizes = np.abs(kinds.null_distribution)
    out.put("sessions", [shift, shift - reach, shift + reach,
                         np.mean(sizes >= abs(shift) - 1e-13)])
    x = np.array(noise(14, 53)) * 0.4
    session = np.array([0] * 5 + [1] * 9)
    second = np.array([k % 2 == 1 for k in range(5)] + [k % 3 == 1 for k in range(9)])
    x = x + 2.0 * session + 0.6 * second
    out.put("ends", x)
    out.put("ends_session", session)
    out.put("ends_second", second)
    out.put("turns", within(x, session, second))
    out.put("chances", [v for row in CHANCES for v in row])
    out.put("chance", [chance(*row) for row in CHANCES])
    out.put("plans", [v for plan in PLANS for v in plan])
    out.put("needed", [needed(*plan) for plan in PLANS])
    out.write(path)


main()
