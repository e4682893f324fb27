# SPDX-License-Identifier: GPL-3.0-or-later
"""`stringhand live` without --sensor: port and profile are chosen on the page, exchanged in
mid-session, let go; what cannot be opened or read is one line, and nothing recorded is lost; a zero
set at the line holds for the same sensor alone.
Usage: test_choose.py PROGRAM"""
import fcntl
import json
import os
import sys
import time

from choose_client import Bench, Server
from live_client import Viewer, ask, wait_for

TEXT_PROFILE = """[sensor]
name = kiln gauge
framing = text
[stream kiln]
rate_hz = 50
[column 1]
role = string_force
scale = 0.0125
"""


def get(port, path):
    status, _, body = ask(port, "GET", path)
    assert status == 200, (path, status, body)
    return json.loads(body)


def refused(reply, words):
    assert reply["ok"] is False and words in reply["error"] and "\n" not in reply["error"], reply


def choose(viewer, *sensors):
    return viewer.say(do="sensor", sensors=[dict(zip(("profile", "port"), sensor)) for sensor in sensors])


def keep_asking(ask_it, *reasons):
    """Asks until it is done; meanwhile it may be refused for one of these reasons."""
    def try_it():
        reply = ask_it()
        if not reply["ok"]:
            assert any(reason in reply["error"] for reason in reasons), reply
            time.sleep(0.2)
        return reply["ok"]
    wait_for(try_it, 60)


def insist(viewer, *sensors):
    """Chooses as soon as the string rests and the recording is two seconds old."""
    keep_asking(lambda: choose(viewer, *sensors), "pulled", "just begun")


def check_offer(bench):
    offer = get(bench.port, "/api/sensors")
    profiles = {one["id"]: one for one in offer["profiles"]}
    names = ("bad", "other_string", "other_tab", "string", "tab", "text")
    assert list(profiles) == [f"home/{name}.ini" for name in names], list(profiles)
    assert profiles["home/bad.ini"]["error"].startswith("bad.ini:2: kiln: no such key"), profiles["home/bad.ini"]
    string = profiles["home/string.ini"]
    assert string["error"] is None and string["port"] == bench.path("string")
    assert [stream["rate_hz"] for stream in string["streams"]] == [1000, 3200]
    assert [channel["axis"] for channel in string["streams"][1]["channels"]] == ["x", "y", "z"]
    assert offer["current"] == [] and offer["may_type"] == ["usb:", "tcp:"] and offer["most"] == 8
    bench.write("later.ini", TEXT_PROFILE)  # it appears by itself
    assert "home/later.ini" in [one["id"] for one in get(bench.port, "/api/sensors")["profiles"]]
    os.remove(bench.path("home/sensors/later.ini"))


def try_idle(bench, viewer):
    """What wants a recording is refused in one line; the rest works."""
    hello = get(bench.port, "/api/hello")
    assert hello["is_idle"] and hello["current"] is None and hello["channels"] == [] and hello["error"] is None
    for wish in (dict(do="note", text="x"), dict(do="score", score=9), dict(do="end", scores=[9]), dict(do="finish"),
                 dict(do="pain", when="before", rating=0), dict(do="zero", stream="string"), dict(do="tag", key="a", value="b")):
        refused(viewer.say(**wish), "nothing is being recorded")
    state = viewer.hear_type("state")
    assert state["phase"] == "rest" and state["force_n"] is None and not state["is_pulled"]
    assert viewer.say(do="archer", name="wren")["ok"]
    assert viewer.say(do="goal", lo_s=2.0, hi_s=3.5)["ok"]
    hello = get(bench.port, "/api/hello")
    assert hello["athlete"] == "wren" and hello["goal"]["hi_s"] == 3.5
    with open(bench.path("home/people/wren.json")) as file:
        assert json.load(file)["goals"][0]["most"] == 3.5
    assert bench.recordings() == []


def try_wrong_ones(bench, viewer, silent, strange):
    """Each is one line that says what, where and what to do; then the program waits again."""
    string = ("home/string.ini", None)
    refused(choose(viewer, ("home/bad.ini", "tcp:127.0.0.1:1")), "no such key")
    refused(choose(viewer, ("home/nothing.ini", None)), "no such profile")
    refused(choose(viewer, ("home/text.ini", None)), "no port is named")
    refused(choose(viewer, ("home/text.ini", "/etc/passwd")), "not among those")
    refused(choose(viewer, ("home/text.ini", "-")), "standard input")
    refused(choose(viewer, string, string), "two streams are called 'string'")
    refused(viewer.say(do="sensor", address="/dev/ttyUSB0"), "no choice of sensors")
    assert get(bench.port, "/api/hello")["error"] is None  # nothing was tried
    reply = choose(viewer, ("home/text.ini", "tcp:127.0.0.1:1"))
    refused(reply, "tcp:127.0.0.1:1: cannot connect")
    hello = get(bench.port, "/api/hello")
    assert hello["is_idle"] and hello["error"] == reply["error"], hello["error"]
    refused(choose(viewer, ("home/text.ini", "usb:NOTHERE")), "usb:NOTHERE: no such USB serial port; plug the sensor in")
    _, other = os.openpty()  # somebody else reads it
    fcntl.flock(other, fcntl.LOCK_EX)
    bench.write("busy.ini", TEXT_PROFILE.replace("[sensor]", f"[sensor]\nport = {os.ttyname(other)}", 1))
    refused(choose(viewer, ("home/busy.ini", None)), "someone else reads this port; close the program that reads it")
    os.close(other)
    refused(choose(viewer, ("home/busy.ini", None), ("home/string.ini", "tcp:127.0.0.1:1")), "cannot connect")  # the first was opened
    os.remove(bench.path("home/sensors/busy.ini"))
    for server, word in ((silent, "silent"), (strange, "strange")):
        assert choose(viewer, ("home/text.ini", server.address))["ok"]
        hello = get(bench.port, "/api/hello")
        assert not hello["is_idle"] and hello["current"] is None and hello["error"] is None
        assert get(bench.port, "/api/sensors")["current"][0]["hearing"] == "waiting"
        begun_s = time.monotonic()
        wait_for(lambda: viewer.hear_type("state")["hearing"] == word)
        assert time.monotonic() - begun_s > 4.0  # not at once
        assert get(bench.port, "/api/sensors")["current"][0]["hearing"] == word
    assert choose(viewer)["ok"] and get(bench.port, "/api/hello")["is_idle"]
    assert bench.recordings() == []


def hear_begun(viewer, n_seen):
    """The recording that was begun after n_seen messages, which may have come before a reply."""
    def find():
        return [told["id"] for told in viewer.seen[n_seen:] if told["type"] == "recording" and told["event"] == "begun"]
    while not find():
        viewer.seen.append(viewer.hear_type("recording"))
    return find()[-1]


def record(bench, viewer):
    """The clock that runs goes on; the first two seconds and a pulled string are left in peace."""
    assert viewer.say(do="clock", action="format", format="six-240", set={"line_up_s": 0})["ok"]
    assert viewer.say(do="clock", action="start")["ok"]
    time.sleep(1.0)
    n_seen = len(viewer.seen)
    assert choose(viewer, ("home/string.ini", None))["ok"]
    first = hear_begun(viewer, n_seen)
    refused(choose(viewer, ("home/tab.ini", None)), "just begun")
    refused(choose(viewer), "just begun")
    assert viewer.hear_type("state")["clock"]["phase"] == "shooting"
    row = get(bench.port, "/api/sensors")["current"][0]
    assert row["id"] == "home/string.ini" and row["address"] == bench.path("string"), row
    wait_for(lambda: viewer.hear_type("state")["hearing"] == "well")
    wait_for(lambda: viewer.hear_type("state")["phase"] == "hold", 60)
    refused(choose(viewer, ("home/tab.ini", None)), "the string is pulled")
    refused(choose(viewer), "the string is pulled")
    viewer.hear_type("shot", patience_s=60)
    return first


def exchange(bench, viewer, first):
    """Another sensor, then two side by side: each a recording with its own channels."""
    n_seen = len(viewer.seen)
    insist(viewer, ("home/tab.ini", None))
    second = hear_begun(viewer, n_seen)
    hello = get(bench.port, "/api/hello")
    assert hello["current"] == second != first
    assert [channel["finger"] for channel in hello["channels"]] == ["index", "middle", "ring"]
    refused(choose(viewer, ("home/bad.ini", "tcp:127.0.0.1:1")), "just begun")
    try_busy_one(bench, viewer, second)
    n_seen = len(viewer.seen)
    insist(viewer, ("home/other_string.ini", None), ("home/other_tab.ini", None))
    third = hear_begun(viewer, n_seen)
    assert len(get(bench.port, "/api/hello")["channels"]) == 7
    rows = get(bench.port, "/api/sensors")["current"]
    assert [row["id"] for row in rows] == ["home/other_string.ini", "home/other_tab.ini"], rows
    assert viewer.say(do="note", text="two sensors")["ok"]
    time.sleep(2.5)
    wait_for(lambda: viewer.hear_type("state")["phase"] in ("rest", "after"), 60)
    same = "tcp:127.0.0.1:1"  # they do not fit together: what runs goes on
    refused(choose(viewer, ("home/string.ini", same), ("home/tab.ini", same)), "two sensors at")
    assert get(bench.port, "/api/hello")["current"] == third


def try_busy_one(bench, viewer, current):
    """It is known beforehand: the recording goes on. Its own port, with another profile, is no port in use."""
    _, other = os.openpty()
    fcntl.flock(other, fcntl.LOCK_EX)
    bench.write("busy.ini", TEXT_PROFILE.replace("[sensor]", f"[sensor]\nport = {os.ttyname(other)}", 1))
    error = []

    def is_tried():
        error.append(choose(viewer, ("home/other_string.ini", None), ("home/busy.ini", None))["error"])
        time.sleep(0.2)
        return "pulled" not in error[-1] and "just begun" not in error[-1]

    wait_for(is_tried, 60)
    assert error[-1] == f"{os.ttyname(other)}: someone else reads this port; close the program that reads it", error
    hello = get(bench.port, "/api/hello")
    assert hello["current"] == current and not hello["is_idle"] and hello["error"] is None, hello
    before_s = viewer.hear_type("state")["t_s"]
    wait_for(lambda: viewer.hear_type("state")["t_s"] > before_s + 1.0)
    assert get(bench.port, "/api/sensors")["current"][0]["hearing"] == "well"
    os.close(other)
    os.remove(bench.path("home/sensors/busy.ini"))


def let_go(bench, viewer, first):
    insist(viewer)
    hello = get(bench.port, "/api/hello")
    assert hello["is_idle"] and hello["current"] is None and hello["error"] is None
    assert [row["is_running"] for row in hello["recordings"]].count(True) <= 1  # being analysed
    wait_for(lambda: not any(row["is_running"] for row in get(bench.port, "/api/hello")["recordings"]))
    refused(viewer.say(do="note", text="x"), "nothing is being recorded")
    assert viewer.say(do="score", recording=first, shot=1, score=9)["ok"]  # of one that has ended
    shots = get(bench.port, f"/api/recordings/{first}/shots")
    assert shots["is_final"] and shots["shots"][0]["score"] == 9
    assert viewer.say(do="archer", name="rook")["ok"]


def lose(bench, viewer):
    """A chosen sensor that ends leaves the program waiting for a choice, with a line that says so."""
    n = 0
    server = Server(b"")
    try:
        bench.write("text.ini", TEXT_PROFILE)
        assert choose(viewer, ("home/text.ini", server.address))["ok"]
        wait_for(lambda: server.ends)
        while n < 200:
            server.ends[0].sendall(f"{n * 20000},{800 + n % 3}\n".encode())
            n += 1
            time.sleep(0.02)
        server.hang_up()
        wait_for(lambda: get(bench.port, "/api/hello")["is_idle"])
        error = get(bench.port, "/api/hello")["error"]
        assert error == f"{server.address}: the sensor has ended; start it again, then choose it again", error
    finally:
        server.close()


def check_recordings(bench):
    """What each of them holds, oldest first."""
    found = []
    for name in bench.recordings():
        with open(bench.path(f"home/recordings/{name}/recording.json")) as file:
            recording = json.load(file)
        assert os.path.exists(bench.path(f"home/recordings/{name}/analysis.json")), name
        streams = [stream["name"] for stream in recording["streams"]]
        for stream in recording["streams"]:
            assert stream["frames"]["good"] > 50 and "lost" not in stream["frames"], stream["frames"]
            assert stream["clock"][0][1] < 1.0, stream["clock"]
        found.append((recording["started"], recording["athlete"], streams, recording["marks"]))
    found.sort(key=lambda one: one[0])
    assert [one[1:3] for one in found] == [("wren", ["string", "bow"]), ("wren", ["fingers"]),
                                          ("wren", ["string", "bow", "fingers"]), ("rook", ["kiln"])], found
    clocks = [[mark for mark in one[3] if mark["kind"] == "clock"] for one in found]
    assert 0.5 < clocks[0][0]["elapsed_s"] < 5.0 and clocks[0][0]["t_s"] == 0, clocks[0]
    assert clocks[1][0]["elapsed_s"] > clocks[0][0]["elapsed_s"] + 5.0, clocks[1]
    assert [mark["text"] for mark in found[2][3] if mark["kind"] == "note"] == ["two sensors"]


def spend_evening(program):
    bench = Bench(program)
    silent = Server(b"")
    strange = Server(b"kiln kiln kiln\n")
    try:
        bench.write("bad.ini", "[sensor]\nkiln = 1\n")
        bench.write("text.ini", TEXT_PROFILE)
        bench.simulate("string", "force_bow")
        bench.simulate("tab", "fingers")
        bench.simulate("other_string", "force_bow")
        bench.simulate("other_tab", "fingers")
        bench.start()
        assert "No sensor is read: choose one on the page" in wait_for(lambda: bench.read("err"))
        viewer = Viewer(bench.port)
        viewer.hear_type("hello")
        check_offer(bench)
        try_idle(bench, viewer)
        try_wrong_ones(bench, viewer, silent, strange)
        first = record(bench, viewer)
        exchange(bench, viewer, first)
        let_go(bench, viewer, first)
        lose(bench, viewer)
        assert bench.stop() == 0, bench.read("err")
        said = bench.read("err")
        assert f"sensor: simulated sensor at {bench.path('string')}\n" in said, said
        assert "tcp:127.0.0.1:1: cannot connect: Connection refused; start the server, or check the port\n" in said
        said = bench.read("out").splitlines()
        assert len(said) == 1 + 4, said  # the address, and the recordings
        check_recordings(bench)
    finally:
        if bench.program is not None and bench.program.poll() is None:
            print(bench.read("err")[-3000:])
        bench.close()
        silent.close()
        strange.close()


def end_without_recording(program):
    """With nothing chosen there is nothing wrong; with a sensor that never spoke there is."""
    bench = Bench(program)
    silent = Server(b"")
    try:
        bench.write("text.ini", TEXT_PROFILE)
        bench.start()
        assert bench.stop() == 0, bench.read("err")
        assert bench.recordings() == []
        bench.start("--port", silent.address)
        viewer = Viewer(bench.port)
        viewer.hear_type("hello")
        assert get(bench.port, "/api/sensors")["ports"][-1]["address"] == silent.address
        assert choose(viewer, ("home/text.ini", silent.address))["ok"]
        assert bench.stop() == 1
        assert bench.read("err").splitlines()[-1].endswith(
            f"{silent.address}: not one good frame came; check the port, its baud rate and the profile's columns")
        assert bench.recordings() == []
    finally:
        bench.close()
        silent.close()


def set_zero(viewer, **more):
    keep_asking(lambda: viewer.say(do="zero", stream="kiln", **more), "just begun", "not enough")


def carry_zero(program):
    """It holds where the same profile is chosen at the same port again, and can be taken back."""
    bench = Bench(program)
    servers = [Server(b"0,800\n") for _ in range(2)]
    same, other = [("home/text.ini", server.address) for server in servers]
    changed = ("home/changed.ini", servers[0].address)
    try:
        for server in servers:  # 50 frames a second, each with its own time
            server.piece = [f"{20000 * n},{800 + 7 * (n % 2)}\n".encode() for n in range(6000)]
        bench.write("text.ini", TEXT_PROFILE)
        bench.write("changed.ini", TEXT_PROFILE + "noise = 0.1\n")
        bench.start("--port", servers[0].address, "--port", servers[1].address, "--athlete", "wren")
        viewer = Viewer(bench.port)
        viewer.hear_type("hello")
        zeros = []

        def note(is_zeroed):
            """What the page is told, and what this recording holds."""
            row = get(bench.port, "/api/sensors")["current"][0]
            assert row["zeroed"] == (["kiln"] if is_zeroed else []), (row, zeros)
            keep_asking(lambda: viewer.say(do="note", text="here"), "nothing is being recorded")
            zeros.append(find_last(bench)["streams"][0]["channels"][0].get("zero", 0))

        insist(viewer, same)
        refused(viewer.say(do="zero", stream="kiln", to="profile"), "just begun")
        note(False)
        set_zero(viewer)
        note(True)
        for sensor in (other, changed, same):
            insist(viewer, sensor)
            note(sensor is same)
        keep_asking(lambda: viewer.say(do="archer", name="rook"), "just begun")
        note(True)
        set_zero(viewer, to="profile")
        note(False)
        insist(viewer, same)
        note(False)
        time.sleep(2.0)
        refused(viewer.say(do="zero", stream="kiln", to="profile"), "it has its profile's zero")
        assert 800 < zeros[1] < 807 and zeros == [0, zeros[1], 0, 0, zeros[1], zeros[1], 0, 0], zeros
        assert bench.stop() == 0, bench.read("err")
    finally:
        bench.close()
        for server in servers:
            server.close()


def find_last(bench):
    """The recording that was begun last."""
    found = []
    for name in bench.recordings():
        with open(bench.path(f"home/recordings/{name}/recording.json")) as file:
            found.append(json.load(file))
    return max(found, key=lambda recording: recording["started"])


def main():
    carry_zero(sys.argv[1])
    spend_evening(sys.argv[1])
    end_without_recording(sys.argv[1])


main()
