#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# The main job, end to end, with a sensor that is not there: it sends through a real
# pseudo-terminal, stringhand records it, finds and measures every shot, names what stands out
# and writes a report. Then the same analysis over a recording that comes with the project.
set -eu
cd "$(dirname "$0")/.."

sh src/setup.sh
cmake --preset release >/dev/null
cmake --build --preset release
program=build/release/src/app/stringhand
work=build/demo
rm -rf "$work"
mkdir -p "$work"

say() { printf '\n== %s\n' "$*"; }

say "A sensor sends: force and bow acceleration of eight draws, 20 times faster than real"
"$program" simulate --seed 5 --draws 8 --clock 120 --faults creep,flinch,late-reaction,let-down \
    --pty --speed 20 --link "$work/sensor" --write-sensor "$work/sensor.ini" \
    --write-truth "$work/truth.json" >"$work/simulate.out" 2>"$work/simulate.err" &
sensor=$!
trap 'kill "$sensor" 2>/dev/null || true' EXIT
waited=0
while [ ! -e "$work/sensor" ]; do
    waited=$((waited + 1))
    [ "$waited" -le 100 ] || { cat "$work/simulate.err" >&2; exit 1; }
    sleep 0.1
done

say "stringhand records it and shows each shot as it comes"
"$program" capture --port "$work/sensor" --sensor "$work/sensor.ini" --replay --flac \
    --athlete wren --bow kiln --draw-weight 178 --stiffness 410 --clicker yes \
    --session "demo evening" --out "$work/wren" </dev/null
wait "$sensor"
trap - EXIT

say "The whole session, analysed"
"$program" analyze "$work/wren"
"$program" report "$work/wren" -o "$work/wren.html"
say "The report: $work/wren.html"

say "The same over a recording that comes with the project: recordings/2026-05-14_0930_rook"
"$program" analyze recordings/2026-05-14_0930_rook
"$program" report recordings/2026-05-14_0930_rook -o "$work/rook.html"
say "Reports: $work/wren.html and $work/rook.html (open them in a browser)"
