# SPDX-License-Identifier: GPL-3.0-or-later
"""A heart's electrocardiogram filtered by SciPy. make_ecg.py [FILE], by default values/ecg.txt."""
import os
import sys

from reference_values import Writer, need

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
signal = need("scipy.signal", "python3-scipy")
misc = need("scipy.misc", "python3-scipy")

RATE = 360.0


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "ecg.txt")
    x = np.load(os.path.join(os.path.dirname(misc.__file__), "ecg.dat"))["ecg"].astype(float)
    x = (x[36000:39600] - 1024.0) / 200.0
    out = Writer("make_ecg.py", "ecg.dat of Debian's python3-scipy (MIT-BIH record 208), 10 s from 100 s, mV",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    out.put("x", x)
    band = signal.butter(2, [5.0, 25.0], "bandpass", fs=RATE, output="sos")
    out.put("band", signal.sosfiltfilt(band, x, padtype="odd", padlen=360)[::4])
    out.put("causal", signal.sosfilt(band, x)[::4])
    out.put("welch", signal.welch(x, RATE, signal.windows.hann(720, sym=False), noverlap=360,
                                  detrend="constant")[1])
    out.write(path)


main()
