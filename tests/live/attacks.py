# SPDX-License-Identifier: GPL-3.0-or-later
"""Attacks on the page's server, each a function of (port, cookie, code); whatever was not refused or
bounded is an AssertionError."""
import errno
import http.client
import json
import os
import random
import socket
import struct
import tempfile
import time

from choose_client import Server
from live_client import Closed, Viewer, ask, pair

SECRET = b"root:"  # what /etc/passwd begins with
PROFILE = "[sensor]\nname = kiln gauge\nframing = text\n[stream kiln]\nrate_hz = 50\n[column 1]\nrole = string_force\nscale = 0.0125\n"
SENT_MAX = 16 << 20  # what the system holds for a connection that is not read, at the most


def raw(port, data, patience_s=20.0):
    """What comes back for bytes; b"" where it was closed."""
    got = b""
    with socket.create_connection(("127.0.0.1", port), timeout=patience_s) as end:
        try:
            end.sendall(data)
            while True:
                more = end.recv(65536)
                if not more:
                    return got
                got += more
        except ConnectionError:
            return got


def status_of(answer):
    return int(answer.split()[1]) if answer.startswith(b"HTTP/1.") else 0


def head(port, more="", line="GET / HTTP/1.1"):
    return f"{line}\r\nHost: 127.0.0.1:{port}\r\n{more}".encode()


def is_ended(viewer):
    """True once the server has closed it; what it still says is passed over."""
    try:
        while True:
            viewer.hear()
    except TimeoutError:
        return False
    except (Closed, OSError):
        return True
    finally:
        viewer.close()


def strange_names(port, cookie, code):
    own = {"Cookie": cookie}
    for host in ("quarry.example", f"quarry.example:{port}", "127.0.0.1", f"127.0.0.1:{port}.quarry.example",
                 f"127.0.0.1:{port + 1}", f"user@127.0.0.1:{port}", f"0x7f.1:{port}", f"[::1]:{port}"):
        assert ask(port, "GET", "/api/hello", own, host=host)[0] == 403, host
        assert ask(port, "GET", "/", own, host=host)[0] == 403, host
    assert status_of(raw(port, b"GET / HTTP/1.0\r\n\r\n")) == 403
    assert status_of(raw(port, head(port, "Host: quarry.example\r\n\r\n"))) in (200, 400, 403)
    assert status_of(raw(port, f"GET http://quarry.example/api/hello HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n".encode())) != 200
    assert ask(port, "GET", "/api/hello", own)[0] == 200


def other_sites(port, cookie, code):
    own = {"Cookie": cookie}
    here = f"http://127.0.0.1:{port}"
    for origin in ("http://quarry.example", "null", f"https://127.0.0.1:{port}", f"http://localhost:{port}",
                   f"{here}.quarry.example", f"{here}/", "file://"):
        assert pair(port, code, origin)[0] == 403, origin
        assert Viewer(port, origin=origin, cookie=cookie).status == 403, origin
    assert ask(port, "POST", "/pair", {"Content-Type": "application/json"}, b"{}")[0] == 403
    for kind in ("application/x-www-form-urlencoded", "text/plain", "multipart/form-data; boundary=x"):
        assert ask(port, "POST", "/pair", {"Content-Type": kind, "Origin": here}, b"code=000000")[0] == 415, kind
    for site in ("cross-site", "same-site"):
        assert ask(port, "GET", "/api/hello", {**own, "Sec-Fetch-Site": site})[0] == 403
    preflight = {"Origin": "http://quarry.example", "Access-Control-Request-Method": "POST", "Access-Control-Request-Headers": "content-type"}
    status, headers, _ = ask(port, "OPTIONS", "/pair", preflight)
    assert status == 405 and not [name for name in headers if name.lower().startswith("access-control")]
    for method in ("PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "PROPFIND", "MKCOL"):
        assert ask(port, method, "/", own)[0] != 200, method
    assert Viewer(port).status == 401
    assert ask(port, "GET", "/api/hello")[0] == 401
    for wrong in (cookie[:-1] + ("x" if cookie[-1] != "x" else "y"), cookie[:-1], cookie + "0", cookie.split("=")[0] + "=", "=" + cookie):
        assert ask(port, "GET", "/api/hello", {"Cookie": wrong})[0] == 401, wrong


def paths(port, cookie, code):
    climb = ("/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2fetc/passwd", "/%252e%252e/%252e%252e/etc/passwd",
             "/%252e%252e%252fetc%252fpasswd", "/..\\..\\etc\\passwd", "/..%5c..%5cetc/passwd", "/%c0%ae%c0%ae/etc/passwd",
             "//etc/passwd", "///etc/passwd", "/./../etc/passwd", "/page.js/../../../etc/passwd", "/page.js%00.html", "/%00",
             "/etc/passwd%00.css", "/page.js%00", "/.git/config", "/page.cgi", "/api", "/api/people/x", "/api/recordings/1/../1",
             "/api/recordings/../../etc/passwd", "/api/recordings/%2e%2e/shots", "/api/recordings//etc/passwd/shots",
             "/api/recordings/-1/shots", "/api/recordings/0/shots", "/api/recordings/99999999999999999999/shots",
             "/api/recordings/1%00/shots", "/api/recordings/1/shots/1/trace/../../../..", "/%77%73")
    for path in climb:
        status, _, body = ask(port, "GET", path, {"Cookie": cookie})
        assert status in (400, 404), (path, status)
        assert SECRET not in body, path
    for line in (b"GET /\0/../etc/passwd HTTP/1.1", b"GET ../../etc/passwd HTTP/1.1", b"GET \\etc\\passwd HTTP/1.1"):
        answer = raw(port, line + f"\r\nHost: 127.0.0.1:{port}\r\nCookie: {cookie}\r\n\r\n".encode())
        assert status_of(answer) in (0, 400, 404) and SECRET not in answer, line
    strange = ("nan", "inf", "-inf", "1e300", "-1e300", "0x1p1000", "1e", "", "9" * 400, "%00", "1;2")
    for value in strange:
        for query in (f"wave?from={value}&to=1&points=5", f"wave?from=0&to={value}", f"wave?from=0&to=1&points={value}",
                      f"shots/1/trace?from={value}&to=1", f"shots/1/trace?points={value}", f"shots/1/trace?align={value}",
                      f"shots/1/trace?channels={value}"):
            status = ask(port, "GET", f"/api/recordings/1/{query}", {"Cookie": cookie})[0]
            assert status in (200, 400, 404), (query, status)


def sizes(port, cookie, code):
    assert status_of(raw(port, b"GET /" + b"a" * 1000000 + b" HTTP/1.1\r\nHost: x\r\n\r\n")) in (0, 400, 413, 414, 431)
    assert status_of(raw(port, head(port, "X: " + "a" * 1000000 + "\r\n\r\n"))) in (0, 400, 413, 431)
    assert status_of(raw(port, head(port, "A: b\r\n" * 100000 + "\r\n"))) in (0, 400, 413, 431)
    post = head(port, f"Origin: http://127.0.0.1:{port}\r\nContent-Type: application/json\r\n", "POST /pair HTTP/1.1")
    assert status_of(raw(port, post + b"Content-Length: 1000000000\r\n\r\n" + b"a" * 1000000)) in (0, 413)
    assert status_of(raw(port, post + b"Content-Length: 99999999999999999999\r\n\r\n")) in (0, 400, 413)
    assert status_of(raw(port, post + b"Content-Length: -1\r\n\r\n")) in (0, 400, 411)
    assert status_of(raw(port, post + b"Transfer-Encoding: chunked\r\n\r\nffffffff\r\n")) in (400, 411)
    for said in (b"[" * 200, b'{"code":' + b"[" * 200, b'{"code":1}', b'{"code":"1","code":"2"}', b"\xff\xfe"):
        body = post + f"Content-Length: {len(said)}\r\n\r\n".encode() + said
        assert status_of(raw(port, body)) == 400, said


def frames(port, cookie, code):
    """WebSocket frames: too long, by their head and in full, broken, of other kinds."""
    def end_of(*bytes_sent):
        viewer = Viewer(port, cookie=cookie)
        assert viewer.status == 101
        n_sent = 0
        try:
            for data in bytes_sent:
                viewer.socket.sendall(data)
                n_sent += len(data)
        except OSError:
            pass
        assert is_ended(viewer)
        return n_sent

    huge = struct.pack(">BBQ", 0x81, 0xFF, 2000000000) + b"mask"
    assert end_of(huge, *[b"a" * (1 << 20)] * 200) < SENT_MAX  # not taken in
    end_of(struct.pack(">BBQ", 0x81, 0xFF, (1 << 64) - 1) + b"mask")
    end_of(struct.pack(">BBH", 0x81, 0xFE, 16385) + b"mask")
    end_of(struct.pack(">BBH", 0x89, 0xFE, 200) + b"mask" + b"a" * 200)
    for first in (0x01, 0x80, 0x82, 0x83, 0x8B, 0xC1, 0xF1):  # pieces, binary, unknown, bits
        end_of(bytes([first, 0x81]) + b"\0\0\0\0a")
    end_of(b"\x81\x05hello")  # not masked
    for said in (b"[" * 16000, b'{"do":"note","a":' + b"[" * 15000, b"{", b"\xff\xfe", b"", b"[]", b'{"do":7}', b'{"do":"a\\u0000b"}'):
        viewer = Viewer(port, cookie=cookie)
        viewer.frame(0x81, said)
        assert is_ended(viewer), said[:40]
    chance = random.Random(7)
    for i in range(50):
        end_of(chance.randbytes(100 + i), b"\xff\xff")


def garbage(port, cookie, code):
    chance = random.Random(8)
    for i in range(100):
        answer = raw(port, chance.randbytes(200 + i) + b"\r\n\r\n")
        assert status_of(answer) in (0, 400, 403, 413), answer[:80]
    assert status_of(raw(port, b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03" + chance.randbytes(500) + b"\r\n\r\n")) in (0, 400)


def drip(port, starts, gap_s, patience_s):
    """Begins requests and sends a byte of each now and then; all are to be closed in that time."""
    ends = []
    for start in starts:
        end = socket.create_connection(("127.0.0.1", port))
        end.sendall(start)
        ends.append(end)
    begun_s = time.monotonic()
    open_ends = set(ends)
    while open_ends and time.monotonic() - begun_s < patience_s:
        for end in list(open_ends):
            end.setblocking(False)
            try:
                end.send(b"a")
                if end.recv(65536) == b"":
                    open_ends.discard(end)
            except BlockingIOError:
                pass
            except OSError:
                open_ends.discard(end)
        time.sleep(gap_s)
    for end in ends:
        end.close()
    assert not open_ends, f"{len(open_ends)} slow ones are still open after {patience_s} s"


def slow_heads(port, cookie, code):
    drip(port, [b"G"] * 20 + [head(port, "X: ")] * 20, 1.0, 40)


def slow_bodies(port, cookie, code):
    post = head(port, f"Origin: http://127.0.0.1:{port}\r\nContent-Type: application/json\r\nContent-Length: 200\r\n\r\n", "POST /pair HTTP/1.1")
    get = head(port, "Content-Length: 1000000000\r\n\r\n")
    drip(port, [post] * 12 + [get] * 12, 1.0, 40)


def slow_readers(port, cookie, code):
    """30 that ask for the page's largest file and do not read it; afterwards somebody is answered."""
    ends = []
    for _ in range(30):
        end = socket.socket()
        end.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
        end.connect(("127.0.0.1", port))
        end.sendall(head(port, "\r\n", "GET /page.js HTTP/1.1"))
        ends.append(end)
    begun_s = time.monotonic()
    while True:
        try:
            assert ask(port, "GET", "/")[0] == 200
            break
        except (OSError, http.client.HTTPException):  # no thread is free yet
            assert time.monotonic() - begun_s < 60
    for end in ends:
        end.close()


def many(port, cookie, code):
    """500 connections that say nothing; afterwards somebody else is answered."""
    ends = []
    for _ in range(500):
        end = socket.socket()
        end.setblocking(False)
        end.connect_ex(("127.0.0.1", port))
        ends.append(end)
    time.sleep(3)
    for end in ends:
        end.close()
    assert ask(port, "GET", "/")[0] == 200


def commands(port, cookie, code):
    """One in control who says 1500 things at once: some are done, the others refused in one line."""
    viewer = Viewer(port, cookie=cookie)
    assert viewer.say(do="control", take=True)["ok"]
    replies = []
    for begin in range(1000, 2500, 300):
        for i in range(begin, begin + 300):
            viewer.frame(0x81, json.dumps({"id": i, "do": "note", "text": f"{i} \x1b]0;x\x07"}).encode())
        replies += [viewer.hear_type("reply") for _ in range(300)]
    assert {reply["id"] for reply in replies} == set(range(1000, 2500))
    refused = [reply for reply in replies if not reply["ok"]]
    assert len(refused) > 1000 and all("wait a second" in reply["error"] for reply in refused)
    assert any(reply["ok"] for reply in replies)
    for wish in ({"do": "score", "shot": 10 ** 17, "score": 9}, {"do": "zero", "stream": -1},
                 {"do": "correct", "recording": 10 ** 18, "shot": 1, "event": "clicker_s", "value_s": 1e308}, {"do": "goal", "lo_s": -1e308, "hi_s": 1e308},
                 {"do": "clock", "action": "format", "format": "%s%n"}, {"do": "end", "scores": [1] * 2000}, {"do": "sensor", "stream": "x", "address": "/etc/passwd"}):
        assert viewer.say(**wish)["ok"] is False, wish
    viewer.close()


def is_read(pipe):
    """Has somebody opened the pipe to read from it?"""
    try:
        os.close(os.open(pipe, os.O_WRONLY | os.O_NONBLOCK))
        return True
    except OSError as error:
        assert error.errno == errno.ENXIO, error
        return False


def sensors(port, cookie, code):
    """One in control who wants files, pipes and other machines to be read as sensors: none is opened."""
    viewer = Viewer(port, cookie=cookie)
    assert viewer.say(do="control", take=True)["ok"]
    before = json.loads(ask(port, "GET", "/api/hello", {"Cookie": cookie})[2])
    offer = json.loads(ask(port, "GET", "/api/sensors", {"Cookie": cookie})[2])
    assert offer["may_type"] == ["usb:"], offer["may_type"]
    profile = next(one["id"] for one in offer["profiles"] if one["error"] is None)
    trap = Server(b"")
    machine = trap.address.split(":")[2]
    with tempfile.TemporaryDirectory() as place:
        pipe = os.path.join(place, "pipe")
        os.mkfifo(pipe)
        wishes = [{"sensors": [{"profile": profile, "port": address}]} for address in (
            "/etc/passwd", pipe, "-", "/dev/stdin", "/proc/self/fd/0", "/proc/self/environ", "/dev/mem", "/dev/ttyS0/../../etc/passwd",
            "/dev/pts/0", "", " ", "\x1b]0;x\x07", "usb:\x1b]0;x\x07", "usb:", "usb:../../etc/passwd", "%s%n", "a" * 9000,
            trap.address, f"tcp:localhost:{machine}", f"tcp:[::1]:{machine}", f"tcp:0x7f000001:{machine}", f" tcp:127.0.0.1:{machine}",
            f"TCP:127.0.0.1:{machine}", f"http://127.0.0.1:{machine}/", "tcp:quarry.example:22", 7, [], {}, True)]
        wishes += [{"sensors": [{"profile": name, "port": "usb:KILN01"}]} for name in (
            "/etc/passwd", "../../../etc/passwd", "home/../../../../etc/passwd", f"home/{pipe}", "line/99", "line/-1", "line/1/", "", 7, None, [])]
        wishes += [{}, {"sensors": None}, {"sensors": 7}, {"sensors": {}}, {"sensors": [7]}, {"sensors": [[]]},
                   {"sensors": [{"profile": profile, "port": "/etc/passwd"}] * 2}]
        said = set()
        for wish in wishes:
            reply = viewer.say(do="sensor", **wish)
            assert reply["ok"] is False and "\n" not in reply["error"] and "\x1b" not in reply["error"], (wish, reply)
            said.add(reply["error"])
        viewer.frame(0x81, json.dumps({"id": 1, "do": "sensor", "sensors": [{}] * 9}).encode())  # nothing to be built of
        assert not is_read(pipe)
    assert trap.n_calls == 0
    trap.close()
    after = json.loads(ask(port, "GET", "/api/hello", {"Cookie": cookie})[2])
    assert after["current"] == before["current"] and after["is_idle"] == before["is_idle"], after
    assert not before["is_idle"] or not any("pulled" in line or "just begun" in line for line in said), said
    viewer.close()


def wrong_codes(port, cookie, code):
    """100 of one address: a few are looked at, then none, the right one neither until the wait is over."""
    wrong = "000000" if code != "000000" else "000001"
    statuses = [pair(port, wrong)[0] for _ in range(100)]
    assert set(statuses) <= {403, 429}, set(statuses)
    assert 4 <= statuses.count(403) <= 6, statuses.count(403)
    status, headers, body = pair(port, code)
    assert status == 429 and 1 <= int(headers["Retry-After"]) <= 16, (status, headers["Retry-After"])
    assert json.loads(body)["wait_s"] == int(headers["Retry-After"])
    time.sleep(int(headers["Retry-After"]) + 0.2)
    assert pair(port, code)[0] == 200
    assert ask(port, "GET", "/api/hello", {"Cookie": cookie})[0] == 200  # who was in stays in


def codes_from_everywhere(port, cookie, code):
    """Wrong ones of many addresses: a new code, and a minute in which nobody is looked at."""
    def pair_from(address, given):
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=20, source_address=(address, 0))
        connection.request("POST", "/pair", json.dumps({"code": given}), {"Origin": f"http://127.0.0.1:{port}", "Content-Type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        connection.close()
        return answer.status, answer.headers["Retry-After"]

    wrong = "000000" if code != "000000" else "000001"
    statuses = [pair_from(f"127.0.1.{1 + i % 60}", wrong)[0] for i in range(120)]
    assert statuses.count(403) <= 30, statuses.count(403)
    status, wait_s = pair_from("127.0.2.1", code)
    assert status == 429 and 50 <= int(wait_s) <= 60, (status, wait_s)
    assert ask(port, "GET", "/api/hello", {"Cookie": cookie})[0] == 200
