#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# What a compiler does not see: the order of the stages, headers that stand alone and name
# tests that are there, one licence line a file, the layout of the code. Prints each offence; exit status 1 where there was one.
set -eu
cd "$(dirname "$0")/.."
bad=0
say() { echo "check: $*" >&2; bad=1; }

stages="base signal metrology sensor recording shot measure finding series history report live sim app"
allowed=""
for stage in $stages; do
    allowed="$allowed $stage"
    [ -d "src/$stage" ] || continue
    for file in $(find "src/$stage" -name '*.[ch]'); do
        for used in $(sed -n 's/^#include "\([a-z_]*\)\/.*/\1/p' "$file" | sort -u); do
            case " $allowed stringhand " in
            *" $used "*) ;;
            *) say "$file includes $used/, a stage after $stage" ;;
            esac
        done
    done
done

for file in $(git ls-files -co --exclude-standard 'src/*.[ch]' 'include/*.h' 'tests/*.[ch]'); do
    [ -f "$file" ] || continue
    head -n 1 "$file" | grep -q '^/\* SPDX-License-Identifier: GPL-3.0-or-later \*/$' ||
        say "$file does not start with the licence line"
    case $file in
    *.h)
        gcc -std=c17 -D_DEFAULT_SOURCE -D_XOPEN_SOURCE=700 -fsyntax-only -w -Isrc -Iinclude \
            -Itests -x c "$file" || say "$file does not compile alone"
        ;;
    esac
done

# A header names the tests that check it.
for file in $(git ls-files -co --exclude-standard 'src/*.h'); do
    for named in $(grep -o 'tests/[A-Za-z0-9_/.]*[A-Za-z0-9_]' "$file" | sort -u); do
        [ -e "$named" ] || say "$file names $named, which is not there"
    done
done

clang-format --dry-run -Werror $(git ls-files -co --exclude-standard 'src/*.[ch]' \
    'include/*.h' 'tests/*.[ch]') || say "run clang-format -i on the files above"
exit $bad
