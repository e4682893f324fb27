# SPDX-License-Identifier: GPL-3.0-or-later
"""The table of all checks against the outside, from the rows that the tests keep.

checks_page.py table ROWS [FILE]   prints the table (and writes it to FILE)
checks_page.py write ROWS PAGE     makes docs/checks.md
checks_page.py compare ROWS PAGE   fails where the page is not what the tests give
checks_page.py show FILE LOG       prints FILE where the tests of ctest's LOG were reference tests

ROWS is the folder of tab-separated rows: check, source, expected, got, tolerance; one file a test.
What was got may differ from the page as far as the row's tolerance allows; all else must agree.
"""
import os
import re
import sys

# test: heading; those of open data may be absent where no folder of them is named
TITLES = {
    "metrology.gravity": "Gravity",
    "metrology.reference_calibration": "Calibration",
    "signal.control_chart": "Control charts",
    "signal.open_data_fits": "Open data: fits (where STRINGHAND_OPEN_DATA names them)",
    "signal.open_data_signals": "Open data: signals (where STRINGHAND_OPEN_DATA names them)",
    "signal.permutation": "Permutation tests",
    "signal.reference_constants": "Constants, units, codes, quantiles",
    "signal.reference_filters": "Filters",
    "signal.reference_line_fit": "Lines and polynomials",
    "signal.reference_modes": "Damped modes and onsets",
    "signal.reference_ranks": "Ranks, shifts, permutations",
    "signal.reference_reliability": "Reliability",
    "signal.reference_robust": "Robust fits and broken sticks",
    "signal.reference_sets": "One-variable, analysis-of-variance and regression sets",
    "signal.reference_short": "Short series and gaps",
    "signal.reference_spectra": "Spectra",
    "signal.theil_sen": "Theil-Sen lines",
    "reference": "Values made afresh",
}
OPEN_DATA = "signal.open_data_"
HEAD = """# Checks against the outside

What the program works out, held against values that nobody here chose: certified sets, published
figures, closed forms, other programs. Each row is asserted by a test (`ctest -L reference` runs
them and prints this table); expected 0 stands for a whole series, got being its largest error over
its largest value. "Digits" count those that agree, of 15.

This page is made from the rows the tests keep (tests/reference/README.md), and a test fails where
it is not what they give.
"""
COLUMNS = ("check", "source", "expected", "got", "tolerance")


def read_rows(folder):
    """{test: [row]}, tests of one heading together."""
    tests = {}
    for name in sorted(os.listdir(folder)):
        test = name[: -len(".txt")]
        test = "reference" if test.startswith("reference.") else test
        with open(os.path.join(folder, name), encoding="utf-8") as stream:
            for line in stream:
                parts = line.rstrip("\n").split("\t")
                if len(parts) != 5:
                    sys.exit(f"{name}: expected five parts: {line}")
                row = parts[:2] + [float(v) for v in parts[2:]]
                tests.setdefault(test, []).append(row)
    return tests


def show_number(value):
    return f"{value:.12g}"


def make_lines(rows):
    lines = [COLUMNS]
    for check, source, expected, got, tolerance in rows:
        lines.append((check, source, show_number(expected), show_number(got), f"{tolerance:.3g}"))
    return lines


def sort_tests(tests):
    return sorted(tests, key=lambda test: TITLES.get(test, test))


def make_table(tests):
    blocks, total, off = [], 0, 0
    for test in sort_tests(tests):
        lines = make_lines(tests[test])
        widths = [max(len(line[k]) for line in lines) for k in range(5)]
        text = [f"{TITLES.get(test, test)} ({test})"]
        for line, row in zip(lines, [None] + tests[test]):
            bad = row is not None and not abs(row[3] - row[2]) <= row[4]
            off += bad
            text.append("  " + "  ".join(line[k].ljust(widths[k]) for k in range(5)).rstrip()
                        + ("  OFF" if bad else ""))
        total += len(tests[test])
        blocks.append("\n".join(text))
    blocks.append(f"{total} checks against the outside, {off} off")
    return "\n\n".join(blocks) + "\n"


def make_page(tests):
    parts = [HEAD]
    for test in sort_tests(tests):
        lines = make_lines(tests[test])
        text = [f"## {TITLES.get(test, test)}", "", f"Test: `{test}`.", ""]
        for k, line in enumerate(lines):
            text.append("| " + " | ".join(line) + " |")
            if k == 0:
                text.append("|---|---|---|---|---|")
        parts.append("\n".join(text) + "\n")
    return "\n".join(parts)


def read_page(path):
    """{test: [row of texts]}"""
    tests, test = {}, None
    with open(path, encoding="utf-8") as stream:
        for line in stream:
            name = re.match(r"Test: `(.*)`\.$", line)
            if name:
                test = name.group(1)
            elif line.startswith("| ") and test:
                parts = tuple(line.strip().strip("|").split("|"))
                parts = tuple(part.strip() for part in parts)
                if parts != COLUMNS:
                    tests.setdefault(test, []).append(parts)
    return tests


def is_same(text, value, relative):
    return abs(float(text) - value) <= relative * abs(value)


def compare_test(test, page, rows):
    wrong = []
    lines = make_lines(rows)[1:]
    if len(page) != len(lines):
        wrong.append(f"{test}: the page has {len(page)} rows, the test {len(lines)}")
    for old, new, row in zip(page, lines, rows):
        same = old[:2] == new[:2] and is_same(old[2], row[2], 1e-10) and is_same(old[4], row[4], 0.01)
        room = row[4] + 1e-11 * abs(row[3])
        if not same or not abs(float(old[3]) - row[3]) <= room:
            wrong.append(f"{test}: the page has {' | '.join(old)}\n    the test {' | '.join(new)}")
    return wrong


def compare(tests, path):
    page = read_page(path)
    wrong = []
    for test in sorted(set(tests) | set(page)):
        if test.startswith(OPEN_DATA) and test not in tests and "STRINGHAND_OPEN_DATA" not in os.environ:
            print(f"{test}: no folder of open data is named, its rows are not compared")
        elif test not in tests or test not in page:
            wrong.append(f"{test}: only {'the page has it' if test in page else 'the tests have it'}")
        else:
            wrong += compare_test(test, page[test], tests[test])
    if wrong:
        sys.exit("\n".join(wrong) + f"\nmake {path} anew: cmake --build --preset debug --target checks_page")
    print(f"{sum(len(rows) for rows in tests.values())} rows agree with {path}")


def show(path, log):
    """Only where ctest was asked for reference tests alone: the whole suite ends with its summary."""
    while_running = log + ".tmp"
    log = while_running if os.path.exists(while_running) else log
    if not os.path.exists(log):
        return
    with open(log, encoding="utf-8", errors="replace") as stream:
        names = re.findall(r"^\d+/\d+ Test: (\S+)$", stream.read(), re.MULTILINE)
    if not os.path.exists(path) or "reference.table" not in names:
        return
    with open(path, encoding="utf-8") as stream:
        text = stream.read()
    alone = "base.status" not in names
    print(text if alone else text.splitlines()[-1] + ": see docs/checks.md")


def main():
    what, where = sys.argv[1:3]
    if what == "show":
        show(where, sys.argv[3])
        return
    tests = read_rows(where)
    if not tests:
        sys.exit(f"{where} holds no rows: run the reference tests first")
    if what == "table":
        text = make_table(tests)
        print(text, end="")
        if len(sys.argv) > 3:
            with open(sys.argv[3], "w", encoding="utf-8") as stream:
                stream.write(text)
    elif what == "write":
        with open(sys.argv[3], "w", encoding="utf-8") as stream:
            stream.write(make_page(tests))
    elif what == "compare":
        compare(tests, sys.argv[3])
    else:
        sys.exit(__doc__)


main()
