# SPDX-License-Identifier: GPL-3.0-or-later
"""Filters by SciPy and NumPy. make_filters.py [FILE], by default values/filters.txt."""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
signal = need("scipy.signal", "python3-scipy")

RATE = 1000.0
DESIGNS = ([("lowpass", n, [20.0]) for n in (1, 2, 3, 4, 5, 8)]
           + [("highpass", n, [5.0]) for n in (1, 2, 3, 4, 7)]
           + [("bandpass", n, [2.0, 25.0]) for n in (1, 2, 3, 4)]
           + [("bandpass", 1, [100.0, 400.0]), ("bandpass", 3, [100.0, 400.0])])
SAVGOL = [(5, 2, 0), (11, 3, 0), (11, 3, 1), (21, 4, 2), (7, 6, 0), (101, 5, 1), (1, 0, 0)]


def smooth(x, sigma, reach):
    """Line fitted around each sample with Gaussian weights, by NumPy's least squares."""
    radius = int(reach * sigma)
    value, slope = [], []
    for i in range(len(x)):
        j = np.arange(max(0, i - radius), min(len(x), i + radius + 1))
        root = np.exp(-0.25 * ((j - i) / sigma) ** 2)
        design = np.stack([np.ones(len(j)), j - i], axis=1) * root[:, None]
        fit = np.linalg.lstsq(design, x[j] * root, rcond=None)[0]
        value.append(fit[0])
        slope.append(fit[1])
    return value, slope


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "filters.txt")
    out = Writer("make_filters.py", "made here; the input is noise of a fixed generator",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    impulse = np.zeros(400)
    impulse[0] = 1.0
    for kind, order, corners in DESIGNS:
        corner = corners[0] if len(corners) == 1 else corners
        sos = signal.butter(order, corner, kind, fs=RATE, output="sos")
        out.put(f"{kind}_{order}_{corners[-1]:g}", signal.sosfilt(sos, impulse))
    x = np.cumsum(noise(800, 3))
    out.put("x", x)
    low = signal.butter(4, 20.0, fs=RATE, output="sos")
    band = signal.butter(3, [2.0, 25.0], "bandpass", fs=RATE, output="sos")
    for n, pad in ((7, 6), (8, 7), (33, 0), (200, 60), (800, 799)):
        out.put(f"both_ways_low_{n}", signal.sosfiltfilt(low, x[:n], padtype="odd", padlen=pad))
        out.put(f"both_ways_band_{n}", signal.sosfiltfilt(band, x[:n], padtype="odd", padlen=pad))
    for window, order, derivative in SAVGOL:
        y = signal.savgol_filter(x[:250], window, order, derivative, 1.0 / RATE, mode="interp")
        out.put(f"savgol_{window}_{order}_{derivative}", y)
    value, slope = smooth(x[:300], 12.5, 5.0)
    out.put("gauss_value", value)
    out.put("gauss_slope", slope)
    out.write(path)


main()
