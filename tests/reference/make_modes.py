# SPDX-License-Identifier: GPL-3.0-or-later
"""Matrix pencil by NumPy's SVD. make_modes.py [FILE], by default values/modes.txt."""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")

RATE = 1000.0


def pencil(x, order):
    """Poles by the shift of the leading right singular vectors of the Hankel matrix."""
    lags = len(x) // 3
    hankel = np.lib.stride_tricks.sliding_window_view(x, lags)
    vectors = np.linalg.svd(hankel, full_matrices=False)[2][:order].T
    shift = np.linalg.lstsq(vectors[:-1], vectors[1:], rcond=None)[0]
    s = np.log(np.linalg.eigvals(shift)) * RATE
    s = sorted(s[s.imag > 0.0], key=lambda value: value.imag)
    return [abs(v) / (2.0 * np.pi) for v in s], [-v.real / abs(v) for v in s]


def ring(t, frequency, damping, amplitude, phase):
    w = 2.0 * np.pi * frequency
    return (amplitude * np.exp(-damping * w * t)
            * np.cos(w * np.sqrt(1.0 - damping**2) * t + phase))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "modes.txt")
    out = Writer("make_modes.py", "made here; decaying sines in noise of a fixed generator",
                 f"NumPy {np.__version__}")
    t = np.arange(600) / RATE
    # four draws of a level noise added up and scaled to a standard deviation of 0.01
    rough = np.array(noise(2400, 5)).reshape(4, 600).sum(axis=0) * 0.01 / np.sqrt(4.0 / 3.0)
    one = ring(t, 38.0, 0.03, 1.0, 0.3) + rough
    three = (ring(t, 38.0, 0.03, 1.0, 0.3) + ring(t, 95.0, 0.01, 0.4, -1.0)
             + ring(t, 180.0, 0.02, 0.3, 2.0) + 0.1 * rough)
    for name, x, order in (("one", one, 2), ("three", three, 6)):
        frequency, damping = pencil(x, order)
        out.put(f"{name}_x", x)
        out.put(f"{name}_hz", frequency)
        out.put(f"{name}_damping", damping)
    out.write(path)


main()
