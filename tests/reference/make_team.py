# SPDX-License-Identifier: GPL-3.0-or-later
"""Chances of a team's arrows to go in time, exactly, by NumPy and SciPy.

make_team.py [FILE], by default values/team.txt.

Two-valued times: the distribution of the sum by convolution, each archer's own values.
Exponential times: a chain of phases, by the matrix exponential. Let-downs: negative binomial.
"""
import os
import sys

from reference_values import Writer, need

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
linalg = need("scipy.linalg", "python3-scipy")
stats = need("scipy.stats", "python3-scipy")

# fast, slow in whole seconds; share of slow ones in quarters
TWO_VALUED = ((10, 16, 1), (12, 21, 2), (9, 14, 3))
TWO_LIMITS = (76.0, 81.0, 86.0, 92.0, 97.0)
MEANS = (10.0, 12.0, 15.0)
MEAN_LIMITS = (50.0, 70.0, 90.0, 110.0, 140.0)
LET_DOWN = (0.1, 10.0, 12.0)  # ratio of draws, an arrow's time, a let-down's cost
LET_DOWN_LIMITS = (60.0, 72.0, 84.0, 96.0)


def two_valued():
    """Sum of two arrows of each archer."""
    sum_of = np.array([1.0])
    for fast, slow, quarters in TWO_VALUED:
        one = np.zeros(slow + 1)
        one[fast], one[slow] = 1 - quarters / 4, quarters / 4
        sum_of = np.convolve(np.convolve(sum_of, one), one)
    return [sum_of[: int(limit) + 1].sum() for limit in TWO_LIMITS]


def exponential():
    """Two arrows of each archer: six phases, one after the other."""
    rates = np.repeat(1 / np.array(MEANS), 2)
    phases = np.diag(-rates) + np.diag(rates[:-1], 1)
    return [1 - linalg.expm(phases * limit)[0].sum() for limit in MEAN_LIMITS]


def let_downs():
    ratio, arrow_s, cost_s = LET_DOWN
    most = [np.floor((limit - 6 * arrow_s) / cost_s) for limit in LET_DOWN_LIMITS]
    return list(stats.nbinom.cdf(most, 6, 1 - ratio))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "team.txt")
    out = Writer("make_team.py", "made here; made-up archers",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    out.put("two_valued", [value for archer in TWO_VALUED for value in archer])
    out.put("two_limits_s", TWO_LIMITS)
    out.put("two_chance", two_valued())
    out.put("means_s", MEANS)
    out.put("mean_limits_s", MEAN_LIMITS)
    out.put("mean_chance", exponential())
    out.put("let_down", LET_DOWN)
    out.put("let_down_limits_s", LET_DOWN_LIMITS)
    out.put("let_down_chance", let_downs())
    out.write(path)


main()
