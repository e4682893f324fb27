// SPDX-License-Identifier: GPL-3.0-or-later
// node bench_live.mjs BUILD [DRAWS]: how long after its samples a release is painted and its
// sentence stands there, and what share of a core the program takes meanwhile. A simulated sensor
// sends four channels at 1000 Hz and three at 3200 Hz in real time; one page is painted, two more
// viewers listen. Exit status 1 where a bar of docs/live.md is missed.
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { openBrowser, openPage } from "../web/browser.mjs";
import { Program, now, pause, sayMachine, spread, until, used_s } from "./live/program.mjs";

const PAINTED_MS = 100;
const SENTENCE_S = 3;
const CORE_PERCENT = 15;

const build = resolve(process.argv[2] ?? "build/bench");
const n_draws = process.argv[3] ?? "40";
const { WebSocket } = createRequire(join(build, "src/web/package.json"))("ws");

/* A viewer that notes when what came. */
class Listener {
    constructor(address) {
        this.releases = []; // {t_s, sample_ms, heard_ms}
        this.shots = new Map(); // by number: {shot, heard_ms}
        this.ahead_ms = Infinity; // of the recording's 0 s, at the least
        const host = new URL(address).host;
        this.socket = new WebSocket(`ws://${host}/ws`, { origin: `http://${host}` });
        this.socket.on("message", (text) => this.take(JSON.parse(text), now()));
    }

    take(message, heard_ms) {
        if (message.type === "release") { this.releases.push({ ...message, heard_ms }); }
        if (message.type === "shot" && !this.shots.has(message.shot.n)) { this.shots.set(message.shot.n, { shot: message.shot, heard_ms }); }
        if (message.type === "state" && message.t_s > 1) { this.ahead_ms = Math.min(this.ahead_ms, heard_ms - 1000 * message.t_s); }
    }
}

/* Calls back, out of the page, when the sentence of the last arrow has been painted. */
async function watchSentences(page, take) {
    await page.exposeFunction("sentencePainted", take);
    await page.evaluate(() => {
        const line = document.querySelector(".last-arrow .last");
        new MutationObserver(() => {
            const text = line.textContent;
            requestAnimationFrame(() => requestAnimationFrame(() => globalThis.sentencePainted(text)));
        }).observe(line, { childList: true, characterData: true, subtree: true });
    });
}

const program = new Program(build);
const browser = await openBrowser(join(build, "src/web"));
sayMachine(browser);
let isMet = true;
try {
    const sensor = await program.simulate("--set", "force_fingers_bow", "--draws", n_draws, "--seed", "7");
    const server = await program.live("--measure");
    const page = await openPage(browser, `${server.address}?measure=1`);
    const sentences = []; // {text, painted_ms}
    await watchSentences(page, (text) => { sentences.push({ text, painted_ms: now() }); });
    const listeners = [new Listener(server.address), new Listener(server.address)];
    await pause(2000); // all have come in
    const begin_ms = now();
    const begin_s = used_s(server.pid);
    await until(() => sensor.exitCode !== null, 3_600_000);
    const share = 100 * 1000 * (used_s(server.pid) - begin_s) / (now() - begin_ms);
    const passed_s = (now() - begin_ms) / 1000;
    await pause(4000);
    await browser.close();
    server.kill("SIGINT");
    await server.over;

    const [listener] = listeners;
    const shots = [...listener.shots.values()].filter(({ shot }) => shot.kind === "shot");
    const late_s = (shot, at_ms) => (at_ms - listener.ahead_ms) / 1000 - shot.events.release_s;
    const painted_s = shots.map(({ shot }) => [shot, sentences.find(({ text }) => text.includes(shot.sentence))])
        .filter(([, found]) => found !== undefined).map(([shot, found]) => late_s(shot, found.painted_ms));
    const marks = /measured: (\d+) releases painted; ms: median ([\d.]+), 95 % ([\d.]+), largest ([\d.]+)/.exec(server.text);
    console.log(`${shots.length} shots in ${passed_s.toFixed(0)} s, ${listener.releases.length} releases told`);
    for (const [i, { releases }] of listeners.entries()) {
        spread(`release at viewer ${i + 1}`, releases.map((r) => r.heard_ms - r.sample_ms), "ms", 1);
    }
    if (marks === null) { throw new Error(`no painted release was measured:\n${server.text}`); }
    isMet = Number(marks[3]) < PAINTED_MS && Number(marks[1]) >= shots.length && isMet;
    console.log(`release painted: median ${marks[2]}, 95 % ${marks[3]}, largest ${marks[4]} ms, n ${marks[1]}`
        + `  wanted: 95 % under ${PAINTED_MS}, ${Number(marks[3]) < PAINTED_MS ? "met" : "MISSED"}`);
    spread("sentence at a viewer, after release_s", shots.map(({ shot, heard_ms }) => late_s(shot, heard_ms)), "s", 2);
    isMet = spread("sentence painted, after release_s", painted_s, "s", 2, SENTENCE_S) && painted_s.length === shots.length && isMet;
    isMet = share < CORE_PERCENT && isMet;
    console.log(`processor: ${share.toFixed(1)} % of a core over ${passed_s.toFixed(0)} s  wanted: under ${CORE_PERCENT}, ${share < CORE_PERCENT ? "met" : "MISSED"}`);
    for (const line of server.text.match(/^(measured: .*passed.*|frames: .*)$/gm) ?? []) { console.log(line); }
} finally {
    await browser.close();
    await program.close();
}
process.exit(isMet ? 0 : 1);
