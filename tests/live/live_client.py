# SPDX-License-Identifier: GPL-3.0-or-later
"""What the live tests share: the program with a simulated sensor, raw HTTP, and a WebSocket."""
import base64
import http.client
import json
import os
import re
import signal
import socket
import struct
import subprocess
import tempfile
import threading
import time
import tty

PATIENCE_S = 20.0


def wait_for(condition, patience_s=PATIENCE_S):
    """Waits until condition() gives something, and gives that."""
    end_s = time.monotonic() + patience_s
    while time.monotonic() < end_s:
        got = condition()
        if got:
            return got
        time.sleep(0.02)
    raise AssertionError(f"nothing came within {patience_s} s")


class Relay:
    """A TCP server that passes on what a sensor sends, and stays there, silent, once that has ended."""

    def __init__(self, port):
        self.port = os.open(port, os.O_RDWR | os.O_NOCTTY)
        tty.setraw(self.port)
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.address = f"tcp:127.0.0.1:{self.socket.getsockname()[1]}"
        threading.Thread(target=self.run, daemon=True).start()

    def run(self):
        self.end, _ = self.socket.accept()
        has_reader = True
        try:
            while data := os.read(self.port, 65536):
                has_reader = has_reader and self.send(data)
        except OSError:  # the sensor has gone
            pass

    def send(self, data):
        """False: the program has gone; the sensor is read on, so that it can come to its end."""
        try:
            self.end.sendall(data)
            return True
        except OSError:
            return False

    def close(self):
        os.close(self.port)
        self.end.close()
        self.socket.close()


class Live:
    """`stringhand live` before a simulated sensor, in a folder of its own; is_lasting: it goes on once that has ended."""

    def __init__(self, program, sensors="force_bow", draws=3, options=(), before=(), is_lasting=False):
        self.place = tempfile.TemporaryDirectory()
        path = self.path
        self.sensor = subprocess.Popen(
            [program, "simulate", "--pty", "--link", path("port"), "--write-sensor", path("p.ini"),
             "--draws", str(draws), "--set", sensors, "--seed", "7"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        wait_for(lambda: os.path.exists(path("port")) and os.path.exists(path("p.ini")))
        for words in before:  # commands on the home, such as limits
            subprocess.run([program, *words, "--home", path("home")], check=True, stdout=subprocess.DEVNULL)
        self.relay = Relay(path("port")) if is_lasting else None
        self.out = open(path("out"), "w+")
        self.err = open(path("err"), "w+")
        self.program = subprocess.Popen(
            [program, "live", "--sensor", path("p.ini"), "--port",
             self.relay.address if is_lasting else path("port"), "--home", path("home"),
             "--athlete", "wren", "--no-browser", *options],
            stdin=subprocess.DEVNULL, stdout=self.out, stderr=self.err)
        self.port = int(wait_for(lambda: re.search(r"http://127\.0\.0\.1:(\d+)/\n", self.read("out"))).group(1))

    def path(self, name):
        return os.path.join(self.place.name, name)

    def read(self, name):
        with open(self.path(name)) as file:
            return file.read()

    def find_code(self):
        return re.findall(r"code for the page: (\d{6})", self.read("err"))[-1]

    def stop(self):
        """Ends it as Ctrl-C does; gives its exit status."""
        if self.program.poll() is None:
            self.program.send_signal(signal.SIGINT)
        status = self.program.wait(60)
        self.sensor.wait(60)
        return status

    def count_frames(self):
        """(good, lost, damaged) as it said at its end."""
        found = re.search(r"frames: (\d+) good, (\d+) lost, (\d+) damaged", self.read("err"))
        return tuple(int(number) for number in found.groups())

    def close(self):
        for process in (self.program, self.sensor):
            if process.poll() is None:
                process.kill()
                process.wait()
        if self.relay is not None:
            self.relay.close()
        self.out.close()
        self.err.close()
        self.place.cleanup()


def ask(port, method, path, headers=None, body=None, host=None):
    """One request; gives (status, headers, body)."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    connection.putheader("Host", host or f"127.0.0.1:{port}")
    for name, value in (headers or {}).items():
        connection.putheader(name, value)
    if body is not None:
        connection.putheader("Content-Length", str(len(body)))
    connection.endheaders(body)
    answer = connection.getresponse()
    data = answer.read()
    connection.close()
    return answer.status, answer.headers, data


def pair(port, code, origin=None):
    return ask(port, "POST", "/pair", {"Origin": origin or f"http://127.0.0.1:{port}",
                                       "Content-Type": "application/json"},
               json.dumps({"code": code}).encode())


class Closed(Exception):
    pass


class Viewer:
    """A WebSocket; status is 101 where it opened."""

    def __init__(self, port, since=None, origin=None, cookie=None, room_bytes=None):
        self.socket = socket.socket()
        self.socket.settimeout(PATIENCE_S)
        if room_bytes is not None:  # for what is not read yet
            self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, room_bytes)
        self.socket.connect(("127.0.0.1", port))
        key = base64.b64encode(os.urandom(16)).decode()
        path = "/ws" if since is None else f"/ws?since={since}"
        more = f"Cookie: {cookie}\r\n" if cookie else ""
        self.socket.sendall((f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nUpgrade: websocket\r\n"
                             f"Connection: Upgrade\r\nSec-WebSocket-Key: {key}\r\nSec-WebSocket-Version: 13\r\n"
                             f"Origin: {origin or f'http://127.0.0.1:{port}'}\r\n{more}\r\n").encode())
        self.buffer = b""
        while b"\r\n\r\n" not in self.buffer:
            self.more()
        head, self.buffer = self.buffer.split(b"\r\n\r\n", 1)
        self.status = int(head.split()[1])
        self.next_id = 1
        self.seen = []

    def more(self):
        try:
            data = self.socket.recv(65536)
        except ConnectionError as error:
            raise Closed from error
        if not data:
            raise Closed
        self.buffer += data

    def need(self, n):
        while len(self.buffer) < n:
            self.more()

    def hear(self):
        """The next message; pings are answered."""
        while True:
            self.need(2)
            code, n, head = self.buffer[0] & 15, self.buffer[1] & 127, 2
            if n >= 126:
                head = 4 if n == 126 else 10
                self.need(head)
                n = int.from_bytes(self.buffer[2:head], "big")
            self.need(head + n)
            data, self.buffer = self.buffer[head:head + n], self.buffer[head + n:]
            if code == 9:
                self.frame(0x8A, data)
            elif code == 8:
                raise Closed
            elif code == 1:
                return json.loads(data)

    def hear_type(self, *types, patience_s=PATIENCE_S):
        """The next message of one of the types; others are kept in seen."""
        end_s = time.monotonic() + patience_s
        while time.monotonic() < end_s:
            message = self.hear()
            if message["type"] in types:
                return message
            self.seen.append(message)
        raise AssertionError(f"no {types} within {patience_s} s")

    def frame(self, first, data):
        n = len(data)
        if n < 126:
            head = bytes([first, 0x80 | n])
        elif n < 65536:
            head = bytes([first, 0x80 | 126]) + struct.pack(">H", n)
        else:
            head = bytes([first, 0x80 | 127]) + struct.pack(">Q", n)
        self.socket.sendall(head + b"\0\0\0\0" + data)

    def say(self, **wish):
        """Sends a command and gives its reply."""
        self.next_id += 1
        self.frame(0x81, json.dumps({"id": self.next_id, **wish}).encode())
        while True:
            reply = self.hear_type("reply")
            if reply["id"] == self.next_id:
                return reply

    def close(self):
        self.socket.close()
