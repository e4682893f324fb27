# SPDX-License-Identifier: GPL-3.0-or-later
"""Events of draws corrected, corrections undone and tags set on `stringhand live` while it
records; what then stands on the disk, through the recording's end and through kill -9. Usage:
test_rectify.py PROGRAM"""
import json
import os
import shutil
import signal
import subprocess
import sys
import time

from live_client import Live, Viewer, ask, wait_for

PROGRAM = sys.argv[1]
SHIFT_S = 0.12
FLOOD = 20


def get(port, path):
    status, _, body = ask(port, "GET", path)
    assert status == 200, (path, status, body)
    return json.loads(body)


def refused(reply, words):
    assert reply["ok"] is False and words in reply["error"], reply


def join(live):
    viewer = Viewer(live.port)
    assert viewer.status == 101
    viewer.hello = viewer.hear_type("hello")
    return viewer


def await_shot(viewer, n):
    """The shot of that number, as it is told next."""
    while True:
        message = viewer.hear_type("shot", patience_s=90)
        if message["shot"]["n"] == n:
            return message["shot"]
        viewer.seen.append(message)


def last_told(viewer, n):
    return [message["shot"] for message in viewer.seen if message["type"] == "shot" and message["shot"]["n"] == n][-1]


def folders(live):
    """The home's recordings, oldest first."""
    home = os.path.join(live.path("home"), "recordings")
    found = [os.path.join(home, name) for name in os.listdir(home)]
    return sorted(found, key=lambda folder: read(folder)["started"])


def read(folder):
    with open(os.path.join(folder, "recording.json")) as file:
        return json.load(file)


def corrections(folder):
    return [mark for mark in read(folder)["marks"] if mark["kind"] == "correction"]


def analyze(folder, *options):
    done = subprocess.run([PROGRAM, "analyze", folder, "--format", "json", *options], check=True, capture_output=True)
    assert b"is not used" not in done.stderr, done.stderr
    return json.loads(done.stdout)["shots"]


def copy(live, folder, name):
    """A recording as a kill at this moment would leave it."""
    place = live.path(name)
    shutil.copytree(folder, place, ignore=shutil.ignore_patterns("analysis.json"))
    return place


def same_figures(told, found):
    for part in ("n", "kind", "events", "measures", "quality", "findings"):
        assert told[part] == found[part], (part, told[part], found[part])


def check_tag(live, first, second):
    """It is on the disk when the reply comes, told to all, and can be taken away."""
    folder = folders(live)[0]
    assert read(folder)["tags"] == {"wind": "left"}
    assert first.say(do="tag", key="tab", value="thick léather")["ok"]
    assert read(folder)["tags"] == {"wind": "left", "tab": "thick léather"}
    assert second.hear_type("tags")["tags"] == {"wind": "left", "tab": "thick léather"}
    assert first.say(do="tag", key="spare", value="x")["ok"]
    assert first.say(do="tag", key="spare", value="")["ok"]
    assert "spare" not in read(folder)["tags"]
    refused(first.say(do="tag", key="", value="x"), "no tag")
    refused(first.say(do="tag", value="x"), "no tag")
    refused(first.say(do="tag", key="k" * 128, value="x"), "no tag")
    refused(second.say(do="tag", key="tab", value="thin"), "in control")
    assert get(live.port, "/api/recordings/1/shots")["tags"] == {"wind": "left", "tab": "thick léather"}


def check_correction(live, first, second, shot):
    """The draw is measured anew, as the first pass over what is on the disk measures it."""
    folder = folders(live)[0]
    n = shot["n"]
    value_s = shot["events"]["full_draw_s"] + SHIFT_S
    begun = time.monotonic()
    assert first.say(do="correct", shot=n, event="full_draw_s", value_s=value_s)["ok"]
    print(f"corrected and measured within {1000 * (time.monotonic() - begun):.0f} ms")
    mark = corrections(folder)[-1]
    assert mark["event"] == "full_draw_s" and mark["value_s"] == value_s and mark["shot"] == n
    told = last_told(first, n)
    assert told["corrected"] == ["full_draw_s"] and told["events"]["full_draw_s"] == value_s
    assert abs(told["measures"]["hold_time_s"] - (shot["measures"]["hold_time_s"] - SHIFT_S)) < 1e-6
    assert told["measures"]["hold_force_n"] != shot["measures"]["hold_force_n"]
    assert told["sentence"] != shot["sentence"] and "corrected" in told["quality"]
    same_figures(told, analyze(copy(live, folder, "meanwhile"), "--first-pass")[n - 1])
    asked = get(live.port, "/api/recordings/1/shots")
    assert asked["is_final"] is False and asked["shots"][n - 1] == told
    assert await_shot(second, n) == told
    trace = get(live.port, f"/api/recordings/1/shots/{n}/trace?align=full_draw&from=-1&to=1&points=100")
    assert abs(trace["align_s"] - value_s) < 1e-6
    held = get(live.port, "/api/recordings/1/session")["hold"]
    assert abs(held["value_s"][held["n"].index(n)] - told["measures"]["hold_time_s"]) < 1e-5
    return told


def check_refusals(live, first, second, shot):
    folder = folders(live)[0]
    n = shot["n"]
    before = read(folder)["marks"]
    wish = dict(do="correct", shot=n, event="full_draw_s")
    refused(first.say(**wish, value_s=shot["events"]["release_s"] + 0.2), "does not go with")
    refused(first.say(**wish, value_s=shot["events"]["release_s"] + 60), "does not go with")
    refused(first.say(**wish, value_s="soon"), "no time")
    refused(first.say(**wish), "no time")
    refused(first.say(**wish, value_s=1e308), "no time")
    refused(first.say(do="correct", shot=n, event="lunch_s", value_s=1.0), "no event")
    refused(first.say(do="correct", shot=77, event="full_draw_s", value_s=1.0), "no such shot")
    refused(first.say(do="correct", event="full_draw_s", value_s=1.0), "no such shot")
    refused(first.say(do="undo", shot=n, event="release_s"), "no correction")
    refused(second.say(**wish, value_s=shot["events"]["full_draw_s"]), "in control")
    assert [mark for mark in read(folder)["marks"] if mark["kind"] != "clock"] == before


def check_set_up(live, first, told):
    """A release that moves takes the next draw's set-up with it."""
    n = told["n"]
    following = get(live.port, "/api/recordings/1/shots")["shots"][n]
    release_s = told["events"]["release_s"] + 0.05
    assert first.say(do="correct", shot=n, event="release_s", value_s=release_s)["ok"]
    moved = last_told(first, n + 1)
    assert abs(moved["measures"]["setup_time_s"] - following["measures"]["setup_time_s"] + 0.05) < 1e-9
    assert moved["events"] == following["events"] and moved["corrected"] == []
    found = analyze(copy(live, folders(live)[0], "moved"), "--first-pass")
    same_figures(last_told(first, n), found[n - 1])
    same_figures(moved, found[n])


def check_undo(live, first, second, as_found, corrected):
    """The last correction of that event goes, and with the last all is as it was found."""
    folder = folders(live)[0]
    n = as_found["n"]
    twice_s = corrected["events"]["full_draw_s"] + 0.01
    assert first.say(do="correct", shot=n, event="full_draw_s", value_s=twice_s)["ok"]
    assert last_told(first, n)["events"]["full_draw_s"] == twice_s
    assert first.say(do="undo", shot=n, event="full_draw_s")["ok"]
    assert last_told(first, n)["events"]["full_draw_s"] == corrected["events"]["full_draw_s"]
    gone = second.hear_type("unmark")["mark"]
    assert gone["kind"] == "correction" and gone["value_s"] == twice_s
    assert first.say(do="undo", shot=n, event="release_s")["ok"]
    assert first.say(do="undo", shot=n, event="full_draw_s")["ok"]
    assert corrections(folder) == []
    again = last_told(first, n)
    assert again["corrected"] == []
    same_figures(again, as_found)
    refused(first.say(do="undo", shot=n, event="full_draw_s"), "no correction")


def say_all(viewer, wishes):
    """Many commands at once, without waiting; all are done."""
    for wish in wishes:
        viewer.next_id += 1
        viewer.frame(0x81, json.dumps({"id": viewer.next_id, **wish}).encode())
    replies = [viewer.hear_type("reply", patience_s=60) for _ in wishes]
    assert all(reply["ok"] for reply in replies), replies


def flood(live, first, as_found):
    """Corrections faster than they can be measured: the last counts, and all can be undone."""
    n = as_found["n"]
    values_s = [as_found["events"]["full_draw_s"] + 0.001 * (i + 1) for i in range(FLOOD)]
    say_all(first, [dict(do="correct", shot=n, event="full_draw_s", value_s=value_s) for value_s in values_s])
    assert [mark["value_s"] for mark in corrections(folders(live)[0])] == values_s
    told = last_told(first, n)
    assert told["events"]["full_draw_s"] == values_s[-1]
    same_figures(told, analyze(copy(live, folders(live)[0], "flooded"), "--first-pass")[n - 1])
    say_all(first, [dict(do="undo", shot=n, event="full_draw_s") for _ in values_s])
    assert corrections(folders(live)[0]) == []
    same_figures(last_told(first, n), as_found)


def correct_in_a_draw(live, first, shot):
    """Somebody is at full draw meanwhile: the running hold goes on, and its shot comes as found."""
    while first.hear_type("state", patience_s=60)["phase"] != "hold":
        pass
    n_before = len(get(live.port, "/api/recordings/1/shots")["shots"])
    n_seen = len(first.seen)
    value_s = shot["events"]["full_draw_s"] + SHIFT_S
    assert first.say(do="correct", shot=shot["n"], event="full_draw_s", value_s=value_s)["ok"]
    assert first.say(do="correct", shot=shot["n"], event="clicker_s", value_s=None)["ok"]
    states = [message for message in first.seen[n_seen:] if message["type"] == "state"]
    times = [state["t_s"] for state in states]
    assert all(sooner <= later for sooner, later in zip(times, times[1:])), times
    while len(times) < 2 or times[-1] == times[0]:  # both answers may come within one packet of the sensor
        times.append(first.hear_type("state", patience_s=60)["t_s"])
    assert times[-1] > times[0]
    told = last_told(first, shot["n"])
    assert told["events"]["clicker_s"] is None and sorted(told["corrected"]) == ["clicker_s", "full_draw_s"]
    assert await_shot(first, n_before + 1)["corrected"] == []
    return told


def end_recording(live, viewer, **wish):
    """Ends the recording; its number, once it has been analysed."""
    n_seen = len(viewer.seen)
    said = viewer.say(**wish)
    while not said["ok"] and "just begun" in said["error"]:
        time.sleep(0.5)
        said = viewer.say(**wish)
    assert said["ok"], said
    final = None
    while final is None:
        message = viewer.hear_type("recording", patience_s=60)
        viewer.seen.append(message)
        final = next((m["id"] for m in viewer.seen[n_seen:] if m["type"] == "recording" and m["event"] == "final"), None)
    return final


def check_end(live, first, shown):
    """At the end both passes use the correction as if it had been made afterwards."""
    assert end_recording(live, first, do="finish") == 1
    folder = folders(live)[0]
    n = shown["n"]
    final = get(live.port, "/api/recordings/1/shots")
    assert final["is_final"] and final["tags"] == {"wind": "left", "tab": "thick léather"}
    found = analyze(folder)
    same_figures(final["shots"][n - 1], found[n - 1])
    assert found[n - 1]["events"]["full_draw_s"] == shown["events"]["full_draw_s"]
    same_figures(shown, analyze(folder, "--first-pass")[n - 1])
    check_afterwards(live, folder, found)


def check_afterwards(live, folder, found):
    """Without its corrections, corrected by `inspect`: the same analysis."""
    later = copy(live, folder, "later")
    made = corrections(folder)
    assert len(made) == 2
    about = read(later)
    about["marks"] = [mark for mark in about["marks"] if mark["kind"] != "correction"]
    with open(os.path.join(later, "recording.json"), "w") as file:
        json.dump(about, file)
    assert analyze(later) != found
    for mark in made:
        value = "none" if mark["value_s"] is None else repr(mark["value_s"])
        subprocess.run([PROGRAM, "inspect", later, str(mark["shot"]), "--correct", f"{mark['event']}={value}"],
                       check=True, stdout=subprocess.DEVNULL)
    for one, other in zip(analyze(later), found):
        same_figures(one, other)


def check_what_follows(live):
    """Tags go on with the same archer; another's recording has those of the command line."""
    first = join(live)  # whoever does not answer for a minute is let go, and the analyses take their time
    assert first.say(do="control", take=True)["ok"]
    tags = {"wind": "left", "tab": "thick léather"}
    wait_for(lambda: len(folders(live)) == 2)
    assert read(folders(live)[1])["tags"] == tags
    assert first.say(do="tag", key="wind", value="")["ok"]
    assert read(folders(live)[1])["tags"] == {"tab": "thick léather"}
    end_recording(live, first, do="archer", name="rook")
    wait_for(lambda: len(folders(live)) == 3)
    assert read(folders(live)[2])["athlete"] == "rook" and read(folders(live)[2])["tags"] == {"wind": "left"}


def run_evening():
    live = Live(PROGRAM, draws=8, sensors="fingers_bow", options=("--tag", "wind=left"))
    try:
        first = join(live)
        second = join(live)
        as_found = await_shot(first, 1)
        check_tag(live, first, second)
        corrected = check_correction(live, first, second, as_found)
        check_refusals(live, first, second, corrected)
        await_shot(first, 2)
        check_set_up(live, first, corrected)
        check_undo(live, first, second, as_found, corrected)
        flood(live, first, as_found)
        shown = correct_in_a_draw(live, first, as_found)
        check_end(live, first, shown)
        check_what_follows(live)
        assert live.stop() == 0, live.read("err")
        good, lost, damaged = live.count_frames()
        print(f"frames: {good} good, {lost} lost, {damaged} damaged")
        assert good > 10000 and lost == 0 and damaged == 0
    except BaseException:
        print(live.read("err"))
        raise
    finally:
        live.close()


def run_to_kill():
    """What was answered is on the disk, whatever happens then."""
    live = Live(PROGRAM, draws=2)
    try:
        viewer = join(live)
        shot = await_shot(viewer, 1)
        value_s = shot["events"]["full_draw_s"] + SHIFT_S
        assert viewer.say(do="tag", key="tab", value="thick")["ok"]
        assert viewer.say(do="correct", shot=1, event="full_draw_s", value_s=value_s)["ok"]
        live.program.send_signal(signal.SIGKILL)
        live.program.wait()
        folder = folders(live)[0]
        assert read(folder)["tags"] == {"tab": "thick"}
        assert [mark["value_s"] for mark in corrections(folder)] == [value_s]
        assert analyze(folder)[0]["events"]["full_draw_s"] == value_s
        same_figures(last_told(viewer, 1), analyze(folder, "--first-pass")[0])
    finally:
        live.close()


run_evening()
run_to_kill()
