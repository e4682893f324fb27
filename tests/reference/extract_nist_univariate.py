# SPDX-License-Identifier: GPL-3.0-or-later
"""Copies NIST's one-variable sets out of Debian's golang-github-montanaflynn-stats-dev.

extract_nist_univariate.py NIST_TEST_GO > values/nist_univariate.txt, the argument being
usr/share/gocode/src/github.com/montanaflynn/stats/nist_test.go of the unpacked package. The sets
and their certified values are works of the US Government; NumAcc2-4 are written out as NIST
defines them.
"""
import re
import sys

NAMES = {"lew": "Lew", "lottery": "Lottery", "mavro": "Mavro", "michelson": "Michelso",
         "pidigits": "PiDigits", "numacc1": "NumAcc1"}
TESTS = {"Lew": "Lew", "Lottery": "Lottery", "Mavro": "Mavro", "Michelson": "Michelso",
         "Pidigits": "PiDigits", "Numacc1": "NumAcc1", "Numacc2": "NumAcc2",
         "Numacc3": "NumAcc3", "Numacc4": "NumAcc4"}


def put(name, values):
    print(f"array {name} {len(values)}")
    for value in values:
        print(value)


def main():
    with open(sys.argv[1], encoding="utf-8") as stream:
        text = stream.read()
    print("# origin: NIST Statistical Reference Datasets, univariate, works of the US Government")
    print("# tool: copied from Debian's golang-github-montanaflynn-stats-dev 0.6.4-2, nist_test.go")
    print("# script: tests/reference/extract_nist_univariate.py")
    for go_name, name in NAMES.items():
        body = re.search(rf"\b{go_name}\s*= stats\.Float64Data\{{(.*?)\}}", text, re.DOTALL).group(1)
        put(name, re.findall(r"-?[\d.]+", body))
    for k, base in ((2, ("1.2", "1.1", "1.3")), (3, ("1000000.2", "1000000.1", "1000000.3")),
                    (4, ("10000000.2", "10000000.1", "10000000.3"))):
        put(f"NumAcc{k}", [base[0]] + [base[1], base[2]] * 500)
    for go_name, name in TESTS.items():
        body = re.search(rf"func Test{go_name}Data.*?\n\}}", text, re.DOTALL).group(0)
        put(f"{name}_certified", re.findall(r'", r, (-?[\d.]+),', body))


main()
