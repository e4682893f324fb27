# SPDX-License-Identifier: GPL-3.0-or-later
"""Each command with one of its allocations failing: no crash, nothing left out in silence.

test_heap.py PROGRAM FAILING: FAILING is the program with tests/loop/failing_heap.c in it.
Without memory a command either says so in one line and ends with another status than 0, or has
done all that it does otherwise. Files are then as they were, or as they are to be.
"""
import os
import shutil
import subprocess
import sys
import tempfile

FIRST = 12  # these fail each in turn, and of the others so many, spread evenly
SPREAD = 12
STATUSES = (1, 2)  # of src/app/command.h; signals, and what sanitizers end with, are others
SANITIZERS = 99


def call(program, words, home, **heap):
    environment = {**os.environ, "XDG_DATA_HOME": os.path.dirname(home), "ASAN_OPTIONS": f"exitcode={SANITIZERS}",
                   **{key: str(value) for key, value in heap.items()}}
    return subprocess.run([program, *words], env=environment, capture_output=True, stdin=subprocess.DEVNULL, check=False)


def read_all(folder):
    found = {}
    for path, _, names in os.walk(folder):
        for name in names:
            if not name.startswith("history.sqlite"):  # made anew from the others at any time
                with open(os.path.join(path, name), "rb") as file:
                    found[os.path.relpath(os.path.join(path, name), folder)] = file.read()
    return found


def choose(n):
    rest = max(0, n - FIRST)
    return [*range(min(n, FIRST)), *sorted({FIRST + rest * i // SPREAD for i in range(SPREAD) if rest > 0})]


def judge(got, whole, files, known):
    """What is wrong with a command that did not get all its memory; None: nothing."""
    told = got.stderr.decode()
    if got.returncode == 0:
        is_told = told != whole.stderr.decode()
        return None if got.stdout == whole.stdout or is_told else "gives less in silence"
    if got.returncode not in STATUSES:
        return f"ends with {got.returncode}"
    if "memory" not in told.splitlines()[-1] or "stringhand: " not in told.splitlines()[-1]:
        return "does not say that memory was short"
    if any(data not in (known[0].get(name), known[1].get(name)) for name, data in files.items()):
        return "leaves a file that is neither old nor new"
    return None


def sweep(failing, words, made, place):
    """Fails allocations of one command, each before a fresh copy of the home; gives how many."""
    home = os.path.join(place, "data", "stringhand")
    count = os.path.join(place, "count")

    def run(**heap):
        shutil.rmtree(home, ignore_errors=True)
        shutil.copytree(made, home)
        return call(failing, words, home, **heap)

    whole = run(HEAP_COUNT_TO=count)
    assert whole.returncode == 0, (words, whole.stderr)
    after = read_all(home)
    before = read_all(made)
    with open(count, encoding="ascii") as file:
        n = int(file.read())
    assert n > 0, words
    wrong = []
    failures = choose(n)
    for at in failures:
        got = run(HEAP_FAILS_AT=at)
        told = got.stderr.decode()
        fault = judge(got, whole, read_all(home), (before, after))
        if fault:
            wrong.append(f"{' '.join(words)}: allocation {at} of {n} fails: {fault}\n{told}")
    return len(failures), n, wrong


def make_home(program, home):
    os.makedirs(os.path.join(home, "recordings"))
    for i, channels in enumerate(("fingers_bow", "fingers_bow", "force_bow")):
        folder = os.path.join(home, "recordings", f"day{i}")
        words = ["simulate", "--out", folder, "--athlete", "wren", "--draws", "3", "--seed", str(i + 1),
                 "--set", channels, "--clock", "200"]
        made = call(program, words, home)
        assert made.returncode == 0, made.stderr
    assert call(program, ["goals", "wren", "--hold", "2.0-3.0"], home).returncode == 0
    limit = ["limits", "wren", "--set", "finger_peak_n", "--finger", "ring", "--per", "shot", "--most", "60N", "--by", "coach"]
    assert call(program, limit, home).returncode == 0
    done = call(program, ["history"], home)
    assert done.returncode == 0, done.stderr


def main():
    program, failing = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as place:
        made = os.path.join(place, "made", "stringhand")
        make_home(program, made)
        wrong = []
        first = os.path.join(place, "data", "stringhand", "recordings", "day0")
        second = os.path.join(place, "data", "stringhand", "recordings", "day1")
        for words in (
            ["analyze", first],
            ["analyze", first, "--format", "json"],
            ["report", first],
            ["inspect", first, "2"],
            ["export", first, "-o", os.path.join(place, "data", "stringhand", "csv")],
            ["history"],
            ["consistency", "wren"],
            ["consistency", first, "--format", "json"],
            ["compare", first, second],
            ["load", "wren"],
            ["load", "wren", "--add", "2026-05-14", "30"],
            ["limits", "wren"],
            ["goals", "wren"],
            ["goals", "wren", "--hold", "2.5-3.5"],
        ):
            n_failed, n, found = sweep(failing, words, made, place)
            print(f"{' '.join(os.path.basename(word) for word in words)}: {n_failed} of {n} allocations failed in turn")
            wrong += found
    print("\n".join(wrong))
    return 1 if wrong else 0


sys.exit(main())
