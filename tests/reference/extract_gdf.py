# SPDX-License-Identifier: GPL-3.0-or-later
"""Copies half a minute of an electroencephalogram out of Debian's octave-biosig.

extract_gdf.py SAMPLE_GDF > values/eeg.txt, the argument being sample.gdf of the unpacked package
(GDF 1.25, four channels of 16-bit counts at 256 Hz). The last array is the highest point of
SciPy's Welch spectrum in 8-14 Hz.
"""
import struct
import sys

import numpy as np
import scipy
import scipy.signal

RATE = 256
START_S, LENGTH_S, CHANNEL = 60, 30, 2


def main():
    with open(sys.argv[1], "rb") as stream:
        data = stream.read()
    if not data.startswith(b"GDF 1.25"):
        sys.exit("not the file that was meant")
    n_head, n_records = struct.unpack("<qq", data[184:192] + data[236:244])
    n_channels = struct.unpack("<I", data[252:256])[0]
    counts = np.frombuffer(data, "<i2", n_records * n_channels, n_head).reshape(-1, n_channels)
    x = counts[START_S * RATE:(START_S + LENGTH_S) * RATE, CHANNEL].astype(float)
    f, power = scipy.signal.welch(x, RATE, scipy.signal.windows.hann(512, sym=False),
                                  noverlap=256, detrend="constant")
    inside = (f >= 8.0) & (f <= 14.0)
    print("# origin: sample.gdf of Debian's octave-biosig 2.5.0-1 (electroencephalogram, 256 Hz),"
          f" channel {CHANNEL + 1}, {LENGTH_S} s from {START_S} s, counts")
    print(f"# tool: SciPy {scipy.__version__}, NumPy {np.__version__}")
    print("# script: tests/reference/extract_gdf.py")
    print(f"array x {len(x)}")
    for value in x:
        print(f"{value:.0f}")
    print("array peak_hz 1")
    print(f"{f[inside][np.argmax(power[inside])]:.17g}")


main()
