# SPDX-License-Identifier: GPL-3.0-or-later
"""Short series, odd and even, and series with gaps, by SciPy and NumPy.

make_short.py [FILE], by default values/short.txt.
"""
import os
import sys

from reference_values import Writer, need, noise

np = need("numpy", "python3-numpy")
scipy = need("scipy", "python3-scipy")
signal = need("scipy.signal", "python3-scipy")
stats = need("scipy.stats", "python3-scipy")

RATE = 100.0
SIZES = (7, 8, 9, 10, 31, 64)
GAPPED, ABSENT = 61, list(range(20, 26)) + [40]
NW, K = 2.0, 3


def kernel(n, nw):
    """Slepian's: its quadratic form is a taper's energy inside the band."""
    d = np.subtract.outer(np.arange(n), np.arange(n))
    return 2.0 * nw / n * np.sinc(2.0 * nw / n * d)


def density(x, tapers, weights, n_fft):
    s = 2.0 * np.abs(np.fft.rfft(tapers * x, n_fft, axis=1)) ** 2 / RATE
    s[:, 0] /= 2.0
    if n_fft % 2 == 0:
        s[:, -1] /= 2.0
    return weights @ s / np.sum(weights)


def put_limits(out, x, tapers, weights):
    """Bins 1, 9, 17, ...: 95 % limits by the chi-square law, and the jackknife's error of ln S."""
    s = 2.0 * np.abs(np.fft.rfft(tapers * x, 128, axis=1)[:, 1:-1:8]) ** 2 / RATE
    nu = 2.0 * np.sum(weights) ** 2 / np.sum(weights**2)
    power = weights @ s / np.sum(weights)
    out.put(f"multitaper_lower_{len(x)}", nu * power / stats.chi2.ppf(0.975, nu))
    out.put(f"multitaper_upper_{len(x)}", nu * power / stats.chi2.ppf(0.025, nu))
    logs = []
    for k in range(K):
        rest = np.arange(K) != k
        logs.append(np.log(weights[rest] @ s[rest] / np.sum(weights[rest])))
    out.put(f"multitaper_jackknife_{len(x)}", np.sqrt((K - 1) * np.var(logs, axis=0)))


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    path = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "values", "short.txt")
    out = Writer("make_short.py", "made here; the input is noise of a fixed generator",
                 f"SciPy {scipy.__version__}, NumPy {np.__version__}")
    x = np.array(noise(64, 51)) + 0.05 * np.arange(64)
    out.put("x", x)
    for n in SIZES:
        tapers, ratios = signal.windows.dpss(n, NW, K, return_ratios=True)
        tapers = tapers / np.sqrt(np.sum(tapers**2, axis=1))[:, None]
        for n_fft in (n, 128):
            out.put(f"multitaper_{n}_{n_fft}", density(x[:n], tapers, ratios, n_fft))
        put_limits(out, x[:n], tapers, ratios)
        out.put(f"welch_{n}", signal.welch(x[:n], RATE, signal.windows.hann(n, sym=False),
                                           noverlap=0, detrend="constant")[1])
        out.put(f"savgol_{n}", signal.savgol_filter(x[:n], 5, 2, 0, mode="interp"))
        out.put(f"hilbert_{n}", np.abs(signal.hilbert(x[:n])))
        slope, intercept, low, high = stats.theilslopes(x[:n], np.arange(n), 0.95)
        out.put(f"theil_sen_{n}", [slope, low, high, intercept])
        out.put(f"detrend_{n}", signal.detrend(x[:n]))
    there = np.ones(GAPPED, dtype=bool)
    there[ABSENT] = False
    out.put("absent", ABSENT)
    whole = signal.windows.dpss(GAPPED, NW, K)
    tapers = np.zeros_like(whole)
    q = np.linalg.qr((whole * there).T)[0].T
    for k in range(K):
        tapers[k] = q[k] * np.sign(np.sum(q[k] * whole[k]))
    ratios = np.einsum("ki,ij,kj->k", tapers, kernel(GAPPED, NW), tapers)
    line = np.polyfit(np.arange(GAPPED)[there], x[:GAPPED][there], 1)
    level = np.where(there, x[:GAPPED] - np.polyval(line, np.arange(GAPPED)), 0.0)
    out.put("gapped_detrend", level)
    out.put("gapped_tapers", tapers.ravel())
    out.put("gapped_ratios", ratios)
    out.put("gapped_multitaper", density(level, tapers, ratios, 128))
    slope, intercept, low, high = stats.theilslopes(x[:GAPPED][there], np.arange(GAPPED)[there])
    out.put("gapped_theil_sen", [slope, low, high, intercept])
    out.write(path)


main()
