// SPDX-License-Identifier: GPL-3.0-or-later
// The real program before a simulated sensor, in a folder of its own that goes with it.
import { spawn, spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

const PATIENCE_MS = 60000;

export const sleep = (ms) => new Promise((done) => setTimeout(done, ms));

/* Waits until condition() gives something, and gives that. */
export async function waitFor(condition, what, patience_ms = PATIENCE_MS) {
    const end = performance.now() + patience_ms;
    while (performance.now() < end) {
        const got = await condition();
        if (got) { return got; }
        await sleep(50);
    }
    throw new Error(`within ${patience_ms} ms there was no ${what}`);
}

export class Program {
    constructor(program) {
        this.program = program;
        this.place = mkdtempSync(join(tmpdir(), "stringhand-web-"));
        this.running = [];
        this.out = "";
        this.err = "";
    }

    path(...parts) { return join(this.place, ...parts); }

    start(words, hears) {
        const child = spawn(this.program, words, { stdio: ["ignore", "pipe", "pipe"] });
        const has = { out: "", err: "" };
        child.stdout.on("data", (data) => { has.out += data; if (hears) { this.out += data; } });
        child.stderr.on("data", (data) => { has.err += data; if (hears) { this.err += data; } });
        child.ended = new Promise((done) => child.on("exit", (status) => done(status)));
        this.running.push(child);
        return child;
    }

    /* Runs a command to its end. */
    run(...words) {
        const got = spawnSync(this.program, words, { encoding: "utf8" });
        if (got.status !== 0) { throw new Error(`${words.join(" ")}: ${got.status} ${got.stderr}`); }
        return got.stdout;
    }

    /* `live` or `review`; gives the page's address. */
    async serve(...words) {
        this.served = this.start([...words, "--home", this.path("home"), "--no-browser"], true);
        const found = await waitFor(() => /http:\/\/127\.0\.0\.1:\d+\//.exec(this.out), `address; it said ${this.err}`);
        this.address = found[0];
        return this.address;
    }

    /* `live` before a simulated sensor on a pseudo-terminal, in real time. */
    async live(sensors, options = []) {
        this.start(["simulate", "--pty", "--link", this.path("port"), "--write-sensor", this.path("p.ini"),
            "--write-truth", this.path("truth.json"), ...sensors], false);
        await waitFor(() => existsSync(this.path("port")) && existsSync(this.path("p.ini")), "simulated sensor");
        return this.serve("live", "--sensor", this.path("p.ini"), "--port", this.path("port"), "--athlete", "wren",
            "--bow", "kiln", "--draw-weight", "178", "--stiffness", "410", ...options);
    }

    /* The code that was shown last. */
    code() { return [...this.err.matchAll(/code for the page: (\d{6})/g)].pop()[1]; }

    /* The recordings under the home, oldest first: their folders. */
    recordings() {
        const folder = this.path("home", "recordings");
        const all = existsSync(folder) ? readdirSync(folder).map((name) => join(folder, name)) : [];
        return all.map((path) => join(path, "recording.json")).filter(existsSync)
            .map((file) => ({ path: join(file, ".."), started: JSON.parse(readFileSync(file, "utf8")).started }))
            .sort((a, b) => a.started.localeCompare(b.started)).map((recording) => recording.path);
    }

    /* Ends what serves as Ctrl-C does; gives its exit status. */
    async stop() {
        if (this.served.exitCode === null) { this.served.kill("SIGINT"); }
        return this.served.ended;
    }

    /* { good, lost, damaged } as it said at its end. */
    frames() {
        const found = /frames: (\d+) good, (\d+) lost, (\d+) damaged/.exec(this.err);
        return { good: Number(found[1]), lost: Number(found[2]), damaged: Number(found[3]) };
    }

    async close() {
        for (const child of this.running) {
            if (child.exitCode === null && child.signalCode === null) { child.kill("SIGKILL"); }
            await child.ended;
        }
        rmSync(this.place, { recursive: true, force: true });
    }
}

export function readRecording(folder) {
    return JSON.parse(readFileSync(join(folder, "recording.json"), "utf8"));
}

export function marksOf(folder, kind) {
    return readRecording(folder).marks.filter((mark) => mark.kind === kind);
}
