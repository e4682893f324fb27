# SPDX-License-Identifier: GPL-3.0-or-later
"""test_limits.py PROGRAM: how limits stand on the page is how the recording holds them.

A page that says "inside" where the program has warned would be believed; and so it is where an
event has been corrected meanwhile: what is shown is what an analysis of the recording gives.
"""
import json
import os
import shutil
import subprocess
import sys
import tempfile

from live_client import Live, Viewer, wait_for

MOST_N = {"ring": 20, "middle": 500}
STATES = ("inside", "near", "reached", "unknown")
SAID = {"hold time": "hold time", "ring finger impulse": "finger impulse of the ring"}  # by the page, and by a finding


def set_limit(finger, most):
    return ["limits", "wren", "--set", "finger_peak_n", "--finger", finger, "--per", "shot", "--most", f"{most}N",
            "--by", "hand clinic"]


def find_states(state):
    for limit in state["limits"]:
        assert limit["state"] in STATES, limit
        most = MOST_N[limit["finger"]]
        assert limit["text"] == f"{limit['finger']} finger peak force, at most {most} N a shot, set by hand clinic", limit
    return {limit["finger"]: limit["state"] for limit in state["limits"]}


def find_folder(live):
    folder = os.path.join(live.path("home"), "recordings")
    return os.path.join(folder, os.listdir(folder)[0])


def read_marks(live):
    with open(os.path.join(find_folder(live), "recording.json")) as file:
        return json.load(file)["marks"]


def find_marks(live):
    return [mark["kind"] for mark in read_marks(live)]


def watch_a_draw(program):
    live = Live(program, sensors="fingers", draws=2, before=[set_limit(*limit) for limit in MOST_N.items()])
    try:
        viewer = Viewer(live.port)
        first = viewer.hear_type("state")
        assert find_states(first) == {"ring": "unknown", "middle": "unknown"}, first
        shot = None
        seen = {"ring": ["unknown"], "middle": ["unknown"]}
        while shot is None:
            message = viewer.hear()
            if message["type"] == "state":
                for finger, state in find_states(message).items():
                    if seen[finger][-1] != state:
                        seen[finger].append(state)
            shot = message if message["type"] == "shot" else None
        marks = find_marks(live)
        assert "limit-reached" in marks and "warning" in marks, marks
        assert seen["ring"][-1] == "reached" and "inside" not in seen["ring"][seen["ring"].index("reached"):], seen
        assert seen["middle"] == ["unknown", "inside"], seen
        assert live.stop() == 0, live.read("err")
        print(f"the ring finger's limit stood as {seen['ring']}, the middle one's as {seen['middle']}")
    finally:
        live.close()


def analyze(program, folder):
    done = subprocess.run([program, "analyze", folder, "--format", "json", "--first-pass"], check=True, capture_output=True)
    return json.loads(done.stdout)["shots"]


def foresee(program, n):
    """The same draws as the sensor will send, from a file."""
    with tempfile.TemporaryDirectory() as place:
        folder = os.path.join(place, "same")
        subprocess.run([program, "simulate", "--set", "fingers", "--draws", str(n), "--seed", "7", "--out", folder],
                       check=True, stdout=subprocess.DEVNULL)
        return analyze(program, folder)


def count(live, what, kind):
    return [mark["kind"] for mark in read_marks(live) if mark.get("what") == what].count(kind)


def stand(program, live, viewer):
    """How the limits stand on the page now, which an analysis of the recording bears out."""
    state = viewer.hear_type("state")
    stands = {limit["text"].split(",")[0]: limit["state"] for limit in state["limits"]}
    with tempfile.TemporaryDirectory() as place:
        folder = os.path.join(place, "copy")
        shutil.copytree(find_folder(live), folder, ignore=shutil.ignore_patterns("analysis.json"))
        found = [one["text"] for one in analyze(program, folder)[-1]["findings"] if one["code"] == "finger-limit"]
    reached = [name for name, how in stands.items() if how == "reached"]
    assert len(found) == len(reached) and all(any(SAID[name] in text for text in found) for name in reached), (stands, found)
    return stands


def correct_draws(program):
    """The hold's limit is passed by the correction of one draw, the sum's is by the other's no more."""
    first, second = foresee(program, 2)
    hold_s = 1.1 * second["measures"]["hold_time_s"]
    sum_n_s = sum(shot["measures"]["finger_impulse_n_s"][2] for shot in (first, second))
    limits = [["limits", "wren", "--set", "hold_time_s", "--per", "shot", "--most", f"{hold_s}", "--by", "hand clinic"],
              ["limits", "wren", "--set", "finger_impulse_n_s", "--finger", "ring", "--per", "day", "--most",
               f"{0.97 * sum_n_s}", "--by", "hand clinic"]]
    live = Live(program, sensors="fingers", draws=2, before=limits, is_lasting=True)
    hold, total = SAID
    try:
        viewer = Viewer(live.port)
        shots = [viewer.hear_type("shot", patience_s=60)["shot"] for _ in range(2)]
        assert [shot["n"] for shot in shots] == [1, 2]
        assert stand(program, live, viewer) == {hold: "near", total: "reached"}
        assert count(live, "finger_impulse_n_s", "limit-reached") == 1
        n_held = count(live, "hold_time_s", "limit-reached")  # of the first draw, if at all
        start_s = shots[1]["events"]["full_draw_s"] - 0.2 * shots[1]["measures"]["hold_time_s"]
        longer = dict(do="correct", shot=2, event="full_draw_s", value_s=start_s)
        for _ in range(2):  # told once, however often it comes back
            assert viewer.say(**longer)["ok"]
            assert stand(program, live, viewer) == {hold: "reached", total: "reached"}
            assert count(live, "hold_time_s", "limit-reached") == n_held + 1
            assert viewer.say(do="undo", shot=2, event="full_draw_s")["ok"]
            assert stand(program, live, viewer) == {hold: "near", total: "reached"}
        release_s = shots[0]["events"]["release_s"] - 0.3 * shots[0]["measures"]["hold_time_s"]
        assert viewer.say(do="correct", shot=1, event="release_s", value_s=release_s)["ok"]
        assert stand(program, live, viewer) == {hold: "near", total: "near"}
        assert count(live, "finger_impulse_n_s", "limit-reached") == 1  # it was said, and stays
        assert viewer.say(do="undo", shot=1, event="release_s")["ok"]
        assert stand(program, live, viewer) == {hold: "near", total: "reached"}
        assert count(live, "finger_impulse_n_s", "limit-reached") == 2
        assert viewer.say(do="correct", shot=1, event="release_s", value_s=release_s)["ok"]
        check_next(live, viewer, sum_n_s)
        assert live.stop() == 0, live.read("err")
    finally:
        live.close()


def check_next(live, viewer, sum_n_s):
    """The next recording begins with what the corrected draws add up to."""
    told = {message["shot"]["n"]: message["shot"] for message in viewer.seen if message["type"] == "shot"}
    assert told[1]["corrected"] == ["release_s"] and told[2]["corrected"] == [], told
    corrected_n_s = sum(told[n]["measures"]["finger_impulse_n_s"][2] for n in (1, 2))
    assert viewer.say(do="finish")["ok"]
    assert viewer.say(do="note", text="the next")["ok"]
    before = wait_for(lambda: [limit["before"] for limit in read_last_limits(live) if limit["what"] == "finger_impulse_n_s"])
    assert abs(before[0] - corrected_n_s) < 1e-6 and before[0] < 0.95 * sum_n_s, (before, corrected_n_s, sum_n_s)


def read_last_limits(live):
    folder = os.path.join(live.path("home"), "recordings")
    files = [os.path.join(folder, name, "recording.json") for name in os.listdir(folder)]
    recordings = []
    for path in filter(os.path.exists, files):
        with open(path) as file:
            recordings.append(json.load(file))
    last = max(recordings, key=lambda one: one["started"])
    return [mark for mark in last["marks"] if mark["kind"] == "limit"] if len(recordings) > 1 else []


watch_a_draw(sys.argv[1])
correct_draws(sys.argv[1])
