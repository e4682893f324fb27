// SPDX-License-Identifier: GPL-3.0-or-later
// What the benchmarks of the live page share: the program, a sensor that is not there, spreads.
import { execFileSync, spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";

const PATIENCE_MS = 60_000;

export const pause = (ms) => new Promise((done) => setTimeout(done, ms));

/* Host's monotonic time, ms: the clock of the program's own. */
export const now = () => Number(process.hrtime.bigint()) / 1e6;

export async function until(find, patience_ms = PATIENCE_MS) {
    const end = now() + patience_ms;
    for (let got = find(); ; got = find()) {
        if (got) { return got; }
        if (now() > end) { throw new Error(`nothing came within ${patience_ms} ms: ${find}`); }
        await pause(20);
    }
}

function take(child) {
    child.text = "";
    for (const stream of [child.stdout, child.stderr]) { stream.on("data", (bytes) => { child.text += bytes; }); }
    child.over = new Promise((done) => child.on("exit", done));
    return child;
}

/* A folder of its own; `stringhand` with what it is asked for. */
export class Program {
    constructor(build) {
        this.path = join(build, "src/app/stringhand");
        this.place = mkdtempSync(join(tmpdir(), "stringhand-bench-"));
        this.children = [];
    }

    in(name) { return join(this.place, name); }
    run(...words) { return execFileSync(this.path, words, { stdio: ["ignore", "pipe", "pipe"] }).toString(); }

    start(...words) {
        const child = take(spawn(this.path, words, { stdio: ["ignore", "pipe", "pipe"] }));
        this.children.push(child);
        return child;
    }

    /* A simulated sensor behind a pseudo-terminal, and its profile; it sends once it is read. */
    async simulate(...words) {
        const sensor = this.start("simulate", "--pty", "--link", this.in("port"), "--write-sensor", this.in("sensor.ini"), ...words);
        await until(() => existsSync(this.in("port")) && existsSync(this.in("sensor.ini")));
        return sensor;
    }

    /* A page's server; its address is in `address`. */
    async serve(...words) {
        const server = this.start(...words, "--no-browser");
        server.address = (await until(() => /(http:\/\/127\.0\.0\.1:\d+\/)\n/.exec(server.text)))[1];
        return server;
    }

    live(...words) {
        return this.serve("live", "--sensor", this.in("sensor.ini"), "--port", this.in("port"), "--home", this.in("home"), "--athlete", "wren", ...words);
    }

    async close() {
        for (const child of this.children) {
            if (child.exitCode === null) { child.kill("SIGKILL"); }
            await child.over;
        }
        rmSync(this.place, { recursive: true });
    }
}

/* Processor time that a process has used, s (/proc, in steps of 10 ms). */
export function used_s(pid) {
    const fields = readFileSync(`/proc/${pid}/stat`, "utf8").replace(/^.*\) /, "").split(" ");
    return (Number(fields[11]) + Number(fields[12])) / 100;
}

/* "median 12.3, 95 % 20.1, largest 22.0 ms, n 40"; `wanted` is what that share of them, 95 % or
 * all, has to be under. */
export function spread(what, values, unit, digits, wanted, share = 0.95) {
    const sorted = [...values].sort((a, b) => a - b);
    const at = (share) => sorted[Math.min(sorted.length - 1, Math.ceil(share * sorted.length) - 1)];
    const word = wanted === undefined ? "" : `  wanted: ${share < 1 ? "95 %" : "each"} under ${wanted}, ${at(share) < wanted ? "met" : "MISSED"}`;
    console.log(sorted.length === 0 ? `${what}: nothing` : `${what}: median ${at(0.5).toFixed(digits)}, 95 % ${at(0.95).toFixed(digits)}, `
        + `largest ${at(1).toFixed(digits)} ${unit}, n ${sorted.length}${word}`);
    return wanted === undefined || (sorted.length > 0 && at(share) < wanted);
}

export function sayMachine(browser) {
    console.log(`machine: ${cpus()[0].model.trim()}, ${cpus().length} cores, load ${loadavg()[0].toFixed(1)} at the start; `
        + `node ${process.version}, chromium ${browser.version()}, headless`);
}
