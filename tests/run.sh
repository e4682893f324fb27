#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds everything with warnings as errors and runs all tests: with gcc, then with clang under the
# address and undefined sanitizers. Ends with ctest's summary.
set -eu
cd "$(dirname "$0")/.."

sh src/setup.sh tests
sh tests/check_style.sh

# Optimised, as people run it: other warnings show there.
echo "== bench"
cmake --preset bench -Wno-dev
cmake --build --preset bench

for preset in debug asan; do
    echo "== $preset"
    cmake --preset "$preset" -Wno-dev
    cmake --build --preset "$preset"
    ctest --preset "$preset" -j "$(($(nproc) + 1))" # some of them mostly wait
done
