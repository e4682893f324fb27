# SPDX-License-Identifier: GPL-3.0-or-later
"""Kills `history --rebuild` at moments spread over its run; deletes the index.

test_index_kill.py PROGRAM. After each kill the index answers, and holds either what it held or
what it is to hold; rebuilt twice it gives the same rows; deleted, what people entered comes back.
"""
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time

N_RECORDINGS = 12
N_KILLS = 24


def call(program, words, **options):
    done = subprocess.run([program, *words], capture_output=True, check=False, **options)
    assert done.returncode == 0, (words, done.stderr)
    return done.stdout


def make_home(program, home):
    """Evenings of one simulated recording, each with another start, score and tag."""
    folder = os.path.join(home, "recordings")
    first = os.path.join(folder, "day00")
    os.makedirs(folder)
    call(program, ["simulate", "--out", first, "--athlete", "wren", "--draws", "6", "--seed", "3", "--set", "force80"])
    for day in range(1, N_RECORDINGS):
        shutil.copytree(first, os.path.join(folder, f"day{day:02d}"))
    for day in range(N_RECORDINGS):
        path = os.path.join(folder, f"day{day:02d}", "recording.json")
        with open(path, encoding="utf-8") as file:
            recording = json.load(file)
        recording["started"] = f"2026-05-{day + 1:02d}T18:00:00.000Z"
        recording["tags"] = {"tab": f"tab {day % 2}"}
        recording["marks"].append({"kind": "arrow", "t_s": 20.0, "score": day % 11})
        with open(path, "w", encoding="utf-8") as file:
            json.dump(recording, file)
    call(program, ["goals", "wren", "--hold", "2.0-3.0", "--by", "coach", "--home", home])


def read_rows(path):
    """All rows of all tables of a whole index."""
    index = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    assert index.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    tables = [name for (name,) in index.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    rows = {table: sorted(map(repr, index.execute(f"SELECT * FROM {table}"))) for table in tables}
    index.close()
    return rows


def main():
    program = sys.argv[1]
    with tempfile.TemporaryDirectory() as place:
        home = os.path.join(place, "home")
        index = os.path.join(home, "history.sqlite")
        listed = ["history", "--format", "json", "--home", home]
        rebuilt = ["history", "--rebuild", "--home", home]
        make_home(program, home)
        wanted = call(program, listed)
        assert len(json.loads(wanted)["recordings"]) == N_RECORDINGS
        begin_s = time.monotonic()
        call(program, rebuilt)
        length_s = time.monotonic() - begin_s
        rows = read_rows(index)
        call(program, rebuilt)
        assert read_rows(index) == rows, "rebuilt twice, the rows differ"
        n_killed = 0
        for turn in range(N_KILLS):
            running = subprocess.Popen([program, *rebuilt], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
            time.sleep(length_s * (turn / (N_KILLS - 1)) ** 2)
            running.kill()
            n_killed += running.wait() != 0
            assert call(program, listed) == wanted, f"kill {turn} of {N_KILLS}"
            assert read_rows(index) == rows, f"kill {turn} of {N_KILLS}"
        print(f"{n_killed} of {N_KILLS} rebuilds of {length_s:.2f} s were killed, the index answered after each")
        assert n_killed >= 6, "too few were killed before their end"
        for name in os.listdir(home):
            if name.startswith("history.sqlite"):
                os.remove(os.path.join(home, name))
        assert call(program, listed) == wanted, "something entered was lost with the index"
        assert read_rows(index) == rows
        goals = json.loads(call(program, ["goals", "wren", "--format", "json", "--home", home]))
        assert goals["goals"][0]["set_by"] == "coach", goals


main()
