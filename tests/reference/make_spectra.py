# SPDX-License-Identifier: GPL-3.0-or-later
"""Spectra by SciPy and NumPy. make_spectra.py [FILE], by default values/spectra.txt."""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
signal = need("scipy.signal", "python3-scipy")

RATE = 200.0
N_FFT = 4096
TAPERS = [(7, 2.0, 3, 1), (8, 2.0, 4, 1), (9, 2.5, 5, 1), (33, 3.0, 5, 1), (64, 4.0, 8, 1),
          (800, 3.0, 5, 1), (801, 3.0, 5, 8), (4097, 4.0, 8, 16), (16384, 4.0, 8, 61)]


def multitaper(x, nw, k, n_fft, adaptive):
    """Thomson 1982 with concentration or adaptive weights; one-sided density and F."""
    tapers, ratios = signal.windows.dpss(len(x), nw, k, return_ratios=True)
    tapers /= np.sqrt(np.sum(tapers**2, axis=1))[:, None]
    y = np.fft.rfft(tapers * x, n_fft, axis=1)
    s = 2.0 * np.abs(y) ** 2 / RATE
    s[:, 0] /= 2.0
    if n_fft % 2 == 0:
        s[:, -1] /= 2.0
    weights = np.repeat(ratios[:, None], s.shape[1], axis=1)
    if adaptive:
        broad = np.full(s.shape[1], 2.0 * np.mean(x**2) / RATE)
        broad[0] /= 2.0
        broad[-1] /= 2.0
        total = 0.5 * (s[0] + s[1])
        for _ in range(400):
            b = total / (ratios[:, None] * total + (1.0 - ratios[:, None]) * broad)
            weights = b**2 * ratios[:, None]
            total = np.sum(weights * s, axis=0) / np.sum(weights, axis=0)
    density = np.sum(weights * s, axis=0) / np.sum(weights, axis=0)
    gain = np.sum(tapers, axis=1)
    mu = gain @ y / np.sum(gain**2)
    rest = np.sum(np.abs(y - np.outer(gain, mu)) ** 2, axis=0)
    f = (k - 1) * np.abs(mu) ** 2 * np.sum(gain**2) / rest
    return density, f


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "spectra.txt")
    out = Writer("make_spectra.py", "made here; the input is a sine in noise of a fixed generator",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    for n, nw, k, stride in TAPERS:
        tapers = signal.windows.dpss(n, nw, k)
        out.put(f"dpss_{n}", tapers[:, ::stride].ravel())
    t = np.arange(800) / RATE
    x = np.sin(2.0 * np.pi * 8.3 * t) + 0.3 * np.array(noise(800, 1))
    y = np.cos(2.0 * np.pi * 8.3 * t + 0.4) + 0.5 * np.array(noise(800, 2))
    out.put("x", x)
    out.put("y", y)
    density, f = multitaper(x, 3.0, 5, N_FFT, False)
    out.put("multitaper", density[::8])
    out.put("line_f", f[160:176])
    out.put("multitaper_adaptive", multitaper(x, 3.0, 5, N_FFT, True)[0][::8])
    welch = {"fs": RATE, "window": signal.windows.hann(256, sym=False), "noverlap": 128}
    out.put("welch", signal.welch(x, detrend=False, **welch)[1])
    out.put("welch_mean_off", signal.welch(x + 3.0, detrend="constant", **welch)[1])
    out.put("coherence", signal.coherence(x, y, detrend="constant", **welch)[1])
    out.put("envelope_800", np.abs(signal.hilbert(x)))
    out.put("envelope_799", np.abs(signal.hilbert(x[:799])))
    out.put("phase_799", np.unwrap(np.angle(signal.hilbert(x[:799]))))
    out.write(path)


main()
