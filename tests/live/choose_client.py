# SPDX-License-Identifier: GPL-3.0-or-later
"""`stringhand live` that begins without a sensor, and the ports and profiles that it finds."""
import os
import re
import signal
import socket
import subprocess
import tempfile
import threading
import time

from live_client import wait_for


class Bench:
    """A home with profiles in it, simulated sensors on pseudo-terminals, and the program."""

    def __init__(self, program):
        self.place = tempfile.TemporaryDirectory()
        self.binary = program
        self.sensors = []
        self.program = None
        os.makedirs(self.path("home/sensors"))

    def path(self, name):
        return os.path.join(self.place.name, name)

    def write(self, name, text):
        with open(self.path(f"home/sensors/{name}"), "w") as file:
            file.write(text)

    def read(self, name):
        with open(self.path(name)) as file:
            return file.read()

    def simulate(self, name, channels, draws=12):
        """A sensor at the port NAME, with a profile NAME.ini that says so."""
        self.sensors.append(subprocess.Popen(
            [self.binary, "simulate", "--pty", "--link", self.path(name), "--write-sensor", self.path(f"{name}.ini"),
             "--draws", str(draws), "--set", channels, "--seed", "7"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL))
        wait_for(lambda: os.path.exists(self.path(name)) and os.path.exists(self.path(f"{name}.ini")))
        self.write(f"{name}.ini", self.read(f"{name}.ini").replace("[sensor]", f"[sensor]\nport = {self.path(name)}", 1))

    def start(self, *options):
        self.out = open(self.path("out"), "w+")
        self.err = open(self.path("err"), "w+")
        self.program = subprocess.Popen([self.binary, "live", "--home", self.path("home"), "--no-browser", *options],
                                        stdin=subprocess.DEVNULL, stdout=self.out, stderr=self.err)
        found = wait_for(lambda: re.search(r"http://127\.0\.0\.1:(\d+)/\n", self.read("out")))
        self.port = int(found.group(1))

    def stop(self):
        """Ends it as Ctrl-C does; gives its exit status."""
        self.program.send_signal(signal.SIGINT)
        status = self.program.wait(60)
        self.out.close()
        self.err.close()
        return status

    def recordings(self):
        folder = self.path("home/recordings")
        return sorted(os.listdir(folder)) if os.path.exists(folder) else []

    def close(self):
        for process in (self.program, *self.sensors):
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
        self.place.cleanup()


class Server:
    """A TCP server that says the same piece over and over (a list: one after another, once), and counts who has called."""

    def __init__(self, piece):
        self.piece = piece
        self.n_calls = 0
        self.ends = []
        self.socket = socket.create_server(("127.0.0.1", 0))
        self.address = f"tcp:127.0.0.1:{self.socket.getsockname()[1]}"
        threading.Thread(target=self.accept, daemon=True).start()

    def accept(self):
        while True:
            try:
                end = self.socket.accept()[0]
            except OSError:
                return
            self.n_calls += 1
            self.ends.append(end)
            threading.Thread(target=self.talk, args=(end,), daemon=True).start()

    def talk(self, end):
        try:
            begun_s = time.monotonic()
            n = 0
            while self.piece:
                is_list = isinstance(self.piece, list)
                if is_list and n == len(self.piece):
                    break
                end.sendall(self.piece[n] if is_list else self.piece)
                n += 1
                time.sleep(max(0.0, begun_s + 0.02 * n - time.monotonic()) if is_list else 0.02)
        except OSError:
            pass

    def hang_up(self):
        for end in self.ends:
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:  # the other side was faster
                pass
            end.close()
        self.ends = []

    def close(self):
        self.hang_up()
        self.socket.close()
