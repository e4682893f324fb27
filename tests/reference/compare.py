# SPDX-License-Identifier: GPL-3.0-or-later
"""compare.py SCRIPT VALUES: runs SCRIPT afresh and compares what it writes with VALUES.

Arrays must have the same names and lengths; each number within 1e-12 of its array's largest.
"""
import os
import subprocess
import sys
import tempfile

TOLERANCE = 1e-12


def read(path):
    arrays, name = {}, None
    with open(path, encoding="ascii") as stream:
        for line in stream:
            if line.startswith("#"):
                continue
            if line.startswith("array "):
                name = line.split()[1]
                arrays[name] = []
            else:
                arrays[name].append(float(line))
    return arrays


def keep_row(script, worst):
    """A row of the table of all checks (tests/support/reference.h)."""
    path = os.environ.get("STRINGHAND_ROWS")
    if path:
        with open(path, "w", encoding="utf-8") as stream:
            stream.write(f"{script} run afresh\tSciPy, NumPy\t0\t{worst:.17g}\t{TOLERANCE:g}\n")


def main():
    script, committed = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as folder:
        fresh_path = os.path.join(folder, "fresh.txt")
        run = subprocess.run([sys.executable, script, fresh_path], check=False)
        if run.returncode != 0:
            sys.exit(f"{script} failed")
        fresh = read(fresh_path)
    kept = read(committed)
    if sorted(fresh) != sorted(kept):
        sys.exit(f"{committed}: other arrays than {script} makes: {sorted(set(fresh) ^ set(kept))}")
    worst = 0.0
    for name, values in kept.items():
        if len(values) != len(fresh[name]):
            sys.exit(f"{committed}: {name} has {len(values)} values, afresh {len(fresh[name])}")
        peak = max(abs(v) for v in values) or 1.0
        off = max(abs(a - b) for a, b in zip(values, fresh[name])) / peak
        worst = max(worst, off)
        if not off <= TOLERANCE:
            sys.exit(f"{committed}: {name} differs by {off:.3g} of its peak, allowed {TOLERANCE:g}")
    print(f"{len(kept)} arrays agree within {worst:.3g}")
    keep_row(os.path.basename(script), worst)


main()
