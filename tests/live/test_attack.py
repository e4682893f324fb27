# SPDX-License-Identifier: GPL-3.0-or-later
"""Attacks on `stringhand live --listen` while it records: all are refused or bounded, one viewer goes
on being told, one that never reads is cut off, and what is recorded is bit for bit what is recorded
without any attack. Usage: test_attack.py PROGRAM"""
import glob
import hashlib
import os
import re
import sys
import threading
import time

import attacks
from choose_client import Bench
from live_client import Closed, Live, Viewer, ask, pair

DRAWS = 5  # some two and a half minutes
GAP_MAX_S = 10.0  # between two states that are told twice a second, on a machine with much else to do
GROWTH_MAX_KB = 100 << 10  # of the program,
SANITIZER_KB = 500 << 10  # and what the address sanitizer keeps of what was freed
ATTACKS = (attacks.strange_names, attacks.other_sites, attacks.paths, attacks.sizes, attacks.frames, attacks.garbage,
           attacks.commands, attacks.sensors, attacks.many, attacks.slow_heads, attacks.slow_bodies, attacks.slow_readers,
           attacks.wrong_codes, attacks.codes_from_everywhere)


class Watch(threading.Thread):
    """A viewer that was let in, all the while: notes the longest silence."""

    def __init__(self, port, cookie):
        super().__init__(daemon=True)
        self.viewer = Viewer(port, cookie=cookie)
        assert self.viewer.status == 101
        self.longest_s = 0.0
        self.n = 0
        self.is_closed = False
        self.is_ending = False
        self.start()

    def run(self):
        last_s = time.monotonic()
        try:
            while not self.is_ending:
                message = self.viewer.hear()
                if message["type"] == "state":
                    now_s = time.monotonic()
                    self.longest_s = max(self.longest_s, now_s - last_s)
                    last_s = now_s
                    self.n += 1
        except (Closed, OSError):
            self.is_closed = not self.is_ending


def hash_samples(live):
    """Of the audio files of its only recording, by name."""
    files = sorted(glob.glob(os.path.join(live.path("home"), "recordings", "*", "*.wav")))
    assert files, os.listdir(live.path("home"))
    assert len({os.path.dirname(file) for file in files}) == 1, files
    hashes = {}
    for file in files:
        with open(file, "rb") as audio:
            hashes[os.path.basename(file)] = hashlib.sha256(audio.read()).hexdigest()
    return hashes


def find_memory_kb(live):
    with open(f"/proc/{live.program.pid}/status") as file:
        return next(int(line.split()[1]) for line in file if line.startswith("VmRSS"))


def let_in(live):
    status, headers, _ = pair(live.port, live.find_code())
    assert status == 200, status
    given = headers["Set-Cookie"]
    assert "HttpOnly" in given and "SameSite=Strict" in given and "Path=/" in given, given
    return given.split(";")[0]


def attack(live, cookie):
    memory_kb = find_memory_kb(live)
    for strike in ATTACKS:
        begun_s = time.monotonic()
        assert live.program.poll() is None, live.read("err")
        strike(live.port, cookie, live.find_code())
        print(f"{strike.__name__}: refused or bounded, {time.monotonic() - begun_s:.1f} s", flush=True)
    grown_kb = find_memory_kb(live) - memory_kb
    print(f"memory: {memory_kb} kB, then {grown_kb} kB more")
    with open(sys.argv[1], "rb") as program:
        is_sanitized = b"__asan_init" in program.read()
    assert grown_kb < GROWTH_MAX_KB + (SANITIZER_KB if is_sanitized else 0)


def attack_idle(program):
    """No sensor has been chosen, so that nothing stands in the way of choosing one."""
    bench = Bench(program)
    try:
        bench.write("text.ini", attacks.PROFILE)
        bench.start("--listen")
        status, headers, _ = pair(bench.port, re.search(r"code for the page: (\d{6})", bench.read("err")).group(1))
        assert status == 200, status
        attacks.sensors(bench.port, headers["Set-Cookie"].split(";")[0], "")
        assert bench.recordings() == []
        assert bench.stop() == 0, bench.read("err")
        assert "\x1b" not in bench.read("err")
    finally:
        bench.close()


def end(live):
    """Waits until the sensor has sent everything, and gives the frames."""
    assert live.sensor.wait(600) == 0
    assert live.program.wait(120) == 0, live.read("err")
    return live.count_frames()


def main():
    attack_idle(sys.argv[1])
    quiet = Live(sys.argv[1], draws=DRAWS)
    live = Live(sys.argv[1], draws=DRAWS, options=("--listen",))
    try:
        cookie = let_in(live)
        watch = Watch(live.port, cookie)
        still = Viewer(live.port, cookie=cookie, room_bytes=4096)  # never reads
        assert still.status == 101
        attack(live, cookie)
        assert live.sensor.poll() is None, "the sensor had ended before the last attack"
        assert ask(live.port, "GET", "/api/hello", {"Cookie": cookie})[0] == 200
        assert not watch.is_closed and watch.n > 20, watch.n
        assert attacks.is_ended(still) and live.sensor.poll() is None  # long cut off
        watch.is_ending = True
        frames = [end(one) for one in (live, quiet)]
        hashes = [hash_samples(one) for one in (live, quiet)]
        print(f"longest silence of the viewer {watch.longest_s:.2f} s, {watch.n} states")
        print(f"frames good, lost, damaged: {frames[0]} under attack, {frames[1]} without; sha256 {hashes[0]}")
        assert watch.longest_s < GAP_MAX_S
        assert frames[0] == frames[1] and frames[0][1:] == (0, 0) and frames[0][0] > 10000
        assert hashes[0] == hashes[1], hashes
    except BaseException:
        print(f"the program: {live.program.poll()}, the sensor: {live.sensor.poll()}; it said:\n{live.read('err')[-6000:]}")
        raise
    finally:
        live.close()
        quiet.close()


main()
