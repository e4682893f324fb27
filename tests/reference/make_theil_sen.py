# SPDX-License-Identifier: GPL-3.0-or-later
"""Theil-Sen lines by SciPy. make_theil_sen.py [FILE], by default values/theil_sen.txt."""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
stats = need("scipy.stats", "python3-scipy")
SIZES = (4, 25, 300, 2048)


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "theil_sen.txt")
    import scipy
    out = Writer("make_theil_sen.py", "made here; a line in noise of a fixed generator, with ties",
                 f"SciPy {scipy.__version__}")
    x = np.array(noise(2048, 3)) * 10.0
    y = 0.7 * x - 2.0 + np.array(noise(2048, 9)) ** 3 * 4.0
    x[10:15] = x[10]
    y[17:20] = y[17]
    out.put("x", x)
    out.put("y", y)
    for n in SIZES:
        slope, intercept, low, high = stats.theilslopes(y[:n], x[:n], 0.95)
        out.put(f"line_{n}", [slope, low, high, intercept])
    out.write(path)


main()
