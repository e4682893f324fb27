#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what the program needs from Debian, and with "tests" also what its tests need.
# Says what it installs, does nothing where all is there, uses sudo only where it is not root.
set -eu

program="gcc cmake ninja-build pkg-config libc6-dev libserialport-dev libfftw3-dev libcminpack-dev
    libsndfile1-dev libjansson-dev libinih-dev libutf8proc-dev libsqlite3-dev
    libcivetweb-dev"
tests="clang libclang-rt-14-dev clang-format libcmocka-dev libgsl-dev python3 python3-numpy
    python3-scipy chromium"
# The page and its tests; another build of Node already there is left alone.
command -v npm >/dev/null 2>&1 || tests="$tests nodejs npm"

wanted=$program
[ "${1:-}" = tests ] && wanted="$wanted $tests"

missing=""
for package in $wanted; do
    state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
    [ "$state" = installed ] || missing="$missing $package"
done
[ -n "$missing" ] || exit 0

as_root=""
[ "$(id -u)" -eq 0 ] || as_root=sudo
echo "setup: installing from Debian:$missing" >&2
$as_root apt-get update -q >&2
# shellcheck disable=SC2086 # the list is meant to be split
DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -q --no-install-recommends $missing >&2
