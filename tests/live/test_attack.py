# SPDX-License-Identifier: GPL-3.0-or-later
"""Attacks on `stringhand live --listen` while it records: all are refused, one viewer goes on
being told, and not one frame is lost. Usage: test_attack.py PROGRAM"""
import os
import socket
import sys
import threading
import time

from live_client import Closed, Live, Viewer, ask, pair

GAP_MAX_S = 1.5  # a state comes twice a second at least


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


def raw(port, data, patience_s=15.0):
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


def attack_names(port, cookie):
    own = {"Cookie": cookie}
    for host in ("quarry.example", f"quarry.example:{port}", "127.0.0.1", f"127.0.0.1:{port}.quarry.example"):
        assert ask(port, "GET", "/api/hello", own, host=host)[0] == 403, host
    assert status_of(raw(port, b"GET / HTTP/1.0\r\n\r\n")) == 403
    assert ask(port, "GET", "/api/hello", own)[0] == 200
    for origin in ("http://quarry.example", "null", f"https://127.0.0.1:{port}", f"http://localhost:{port}"):
        assert pair(port, "000000", origin)[0] == 403, origin
        assert Viewer(port, origin=origin, cookie=cookie).status == 403, origin
    form = {"Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://127.0.0.1:{port}"}
    assert ask(port, "POST", "/pair", form, b"code=000000")[0] == 415
    assert ask(port, "POST", "/pair", {"Content-Type": "application/json"}, b"{}")[0] == 403
    assert ask(port, "GET", "/api/hello", {**own, "Sec-Fetch-Site": "cross-site"})[0] == 403
    assert ask(port, "OPTIONS", "/pair", {"Origin": "http://quarry.example"})[0] == 405
    assert Viewer(port).status == 401
    assert ask(port, "GET", "/api/hello")[0] == 401
    assert ask(port, "GET", "/api/hello", {"Cookie": cookie[:-1] + "x"})[0] == 401


def attack_paths(port, cookie):
    for path in ("/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/..%2f..%2fetc/passwd", "//etc/passwd",
                 "/api/recordings/../../etc/passwd", "/api/recordings/%2e%2e/shots", "/api/recordings/1/../1",
                 "/api/recordings//etc/passwd/shots", "/api/recordings/-1/shots", "/api/recordings/99999999999/shots",
                 "/api/recordings/1/shots/1/trace/../../../..", "/page.js%00", "/api", "/api/people/x"):
        status, _, body = ask(port, "GET", path, {"Cookie": cookie})
        assert status in (400, 404), (path, status)
        assert b"root:" not in body, path


def attack_code(port, code):
    statuses = [pair(port, "000000" if code != "000000" else "000001")[0] for _ in range(100)]
    assert set(statuses) <= {403, 429}, set(statuses)
    assert statuses.count(403) <= 6, statuses.count(403)
    status, headers, _ = pair(port, code)
    assert status == 429 and int(headers["Retry-After"]) >= 1  # the right one, too


def attack_sizes(port, cookie):
    host = f"Host: 127.0.0.1:{port}\r\n".encode()
    assert status_of(raw(port, b"GET /" + b"a" * 1000000 + b" HTTP/1.1\r\n" + host + b"\r\n")) in (0, 400, 413, 414, 431)
    assert status_of(raw(port, b"GET / HTTP/1.1\r\n" + host + b"X: " + b"a" * 1000000 + b"\r\n\r\n")) in (0, 400, 413, 431)
    head = (b"POST /pair HTTP/1.1\r\n" + host + b"Origin: http://127.0.0.1:%d\r\nContent-Type: application/json\r\n" % port)
    assert status_of(raw(port, head + b"Content-Length: 1000000000\r\n\r\n")) == 413
    assert status_of(raw(port, head + b"Transfer-Encoding: chunked\r\n\r\nffffffff\r\n")) in (400, 411)
    for size in (20000, 1000000):
        viewer = Viewer(port, cookie=cookie)
        try:
            viewer.frame(0x81, b'{"id":1,"do":"note","text":"' + b"a" * size + b'"}')
            while True:
                viewer.hear()
        except (Closed, OSError):
            pass
        viewer.close()
    for said in (b"[" * 16000, b'{"do":"note","a":' + b"[" * 15000, b"{", b"\xff\xfe", b""):
        viewer = Viewer(port, cookie=cookie)
        try:
            viewer.frame(0x81, said)
            while True:
                viewer.hear()
        except (Closed, OSError):
            pass
        viewer.close()


def attack_garbage(port):
    for i in range(100):
        answer = raw(port, os.urandom(200 + i) + b"\r\n\r\n")
        assert status_of(answer) in (0, 400, 403, 413), answer[:80]


def attack_slowly(port):
    """40 requests of a byte a second: each is closed within some seconds."""
    ends = [socket.create_connection(("127.0.0.1", port)) for _ in range(40)]
    begun_s = time.monotonic()
    open_ends = set(ends)
    while open_ends and time.monotonic() - begun_s < 30:
        for end in list(open_ends):
            try:
                end.sendall(b"G")
                end.setblocking(False)
                if end.recv(4096) == b"":
                    open_ends.discard(end)
            except BlockingIOError:
                pass
            except OSError:
                open_ends.discard(end)
            finally:
                end.setblocking(True)
        time.sleep(1)
    for end in ends:
        end.close()
    assert not open_ends, f"{len(open_ends)} slow ones are still open"


def attack_many(port):
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
    begun_s = time.monotonic()
    assert ask(port, "GET", "/")[0] == 200
    return time.monotonic() - begun_s


def main():
    live = Live(sys.argv[1], draws=6, options=("--listen",))
    try:
        port, code = live.port, live.find_code()
        status, headers, _ = pair(port, code)
        assert status == 200, status
        cookie = headers["Set-Cookie"].split(";")[0]
        assert "HttpOnly" in headers["Set-Cookie"] and "SameSite=Strict" in headers["Set-Cookie"]
        watch = Watch(port, cookie)
        for attack, words in ((attack_names, (port, cookie)), (attack_paths, (port, cookie)), (attack_code, (port, code)),
                              (attack_sizes, (port, cookie)), (attack_garbage, (port,)), (attack_slowly, (port,)),
                              (attack_many, (port,))):
            begun_s = time.monotonic()
            attack(*words)
            print(f"{attack.__name__}: refused, {time.monotonic() - begun_s:.1f} s", flush=True)
        assert not watch.is_closed and watch.n > 20
        watch.is_ending = True
        assert live.stop() == 0, live.read("err")
        good, lost, damaged = live.count_frames()
        print(f"longest silence of the viewer {watch.longest_s:.2f} s; frames: {good} good, {lost} lost, {damaged} damaged")
        assert watch.longest_s < GAP_MAX_S
        assert good > 10000 and lost == 0 and damaged == 0
    finally:
        live.close()


main()
