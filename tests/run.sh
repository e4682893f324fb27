#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Builds everything with warnings as errors and runs all tests: with gcc as it is, then with
# clang under the address and undefined sanitizers. Ends with ctest's summary.
set -eu
cd "$(dirname "$0")/.."

sh src/setup.sh tests
sh tests/check_style.sh

for preset in debug asan; do
    echo "== $preset"
    cmake --preset "$preset" -Wno-dev
    cmake --build --preset "$preset"
    ctest --preset "$preset" -j "$(nproc)"
done
