# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes files of named arrays for tests/support/reference.h, and makes the test signals."""
import sys


def need(module, package):
    """Imports a module, or stops with the name of the Debian package that has it."""
    try:
        return __import__(module, fromlist=["x"])
    except ImportError:
        sys.exit(f"missing means: install the Debian package {package}")


class Writer:
    """Collects arrays and writes them under a head that tells where they come from."""

    def __init__(self, script, origin, tools):
        self.lines = [f"# origin: {origin}", f"# tool: {tools}", f"# script: tests/reference/{script}"]

    def put(self, name, values):
        values = list(values)
        self.lines.append(f"array {name} {len(values)}")
        self.lines += [f"{float(v):.17g}" for v in values]

    def write(self, path):
        with open(path, "w", encoding="ascii") as stream:
            stream.write("\n".join(self.lines) + "\n")


def noise(n, seed):
    """n numbers in -1 .. 1 from a 31-bit congruential generator: exact on every machine."""
    values, state = [], seed
    for _ in range(n):
        state = (state * 1103515245 + 12345) % 2147483648
        values.append(state / 1073741824.0 - 1.0)
    return values
