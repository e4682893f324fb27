# SPDX-License-Identifier: GPL-3.0-or-later
"""test_limits.py PROGRAM: how limits stand on the page is how the recording holds them.

A page that says "inside" where the program has warned would be believed.
"""
import json
import os
import sys

from live_client import Live, Viewer

MOST_N = {"ring": 20, "middle": 500}
STATES = ("inside", "near", "reached", "unknown")


def set_limit(finger, most):
    return ["limits", "wren", "--set", "finger_peak_n", "--finger", finger, "--per", "shot", "--most", f"{most}N",
            "--by", "hand clinic"]


def find_states(state):
    for limit in state["limits"]:
        assert limit["state"] in STATES, limit
        most = MOST_N[limit["finger"]]
        assert limit["text"] == f"{limit['finger']} finger peak force, at most {most} N a shot, set by hand clinic", limit
    return {limit["finger"]: limit["state"] for limit in state["limits"]}


def find_marks(live):
    folder = os.path.join(live.path("home"), "recordings")
    with open(os.path.join(folder, os.listdir(folder)[0], "recording.json")) as file:
        return [mark["kind"] for mark in json.load(file)["marks"]]


def main():
    live = Live(sys.argv[1], sensors="fingers", draws=2, before=[set_limit(*limit) for limit in MOST_N.items()])
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


main()
