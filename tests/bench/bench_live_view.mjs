// SPDX-License-Identifier: GPL-3.0-or-later
// node bench_live_view.mjs BUILD [SPEED]: frames a second of the page while its half hour is in
// view and more comes. A simulated sensor sends four channels at 1000 Hz and three at 3200 Hz,
// SPEED (30) times faster than real until half an hour is there and while frames are counted, so
// that the page and the program have more to do than at the line; then once more after the page was
// loaded anew. Peaks are kept: tests/web/test_ring.mjs. Exit status 1 where a bar of docs/live.md is missed.
import { join, resolve } from "node:path";
import { openBrowser, openPage } from "../web/browser.mjs";
import { Program, pause, sayMachine, spread, until } from "./live/program.mjs";

const RATE_HZ = 30;
const VIEW_S = 1800;
const COUNT_MS = 10_000;

const build = resolve(process.argv[2] ?? "build/bench");
const speed = Number(process.argv[3] ?? 30);

/* Time from each frame of the page to the next, ms, and how many waves were drawn meanwhile. */
function countFrames(page, for_ms) {
    return page.evaluate((for_ms) => new Promise((done) => {
        const gaps = [];
        const n_before = performance.getEntriesByName("wave-drawn").length;
        const begin = performance.now();
        let last = begin;
        const frame = () => {
            const at = performance.now();
            gaps.push(at - last);
            last = at;
            if (at - begin > for_ms) { done({ gaps, n_drawn: performance.getEntriesByName("wave-drawn").length - n_before }); }
            else { requestAnimationFrame(frame); }
        };
        requestAnimationFrame(frame);
    }), for_ms);
}

const program = new Program(build);
const browser = await openBrowser(join(build, "src/web"));
sayMachine(browser);
let isMet = true;
try {
    await program.simulate("--set", "force_fingers_bow", "--draws", "400", "--seed", "7", "--speed", String(speed));
    const server = await program.live("--replay");
    const page = await openPage(browser, server.address);
    let time_s = 0;
    await page.exposeFunction("tellTime", (t_s) => { time_s = t_s; });
    await page.evaluate(() => {
        const socket = new WebSocket(`ws://${location.host}/ws`);
        socket.onmessage = (event) => {
            const message = JSON.parse(event.data);
            if (message.type === "state") { globalThis.tellTime(message.t_s); }
        };
    });
    await page.selectOption('label:has-text("In view") select', String(VIEW_S));
    await until(() => time_s > VIEW_S, 1000 * VIEW_S);
    for (const what of ["half an hour as it came", "half an hour after loading anew"]) {
        const { gaps, n_drawn } = await countFrames(page, COUNT_MS);
        const rate = 1000 * gaps.length / gaps.reduce((sum, gap) => sum + gap, 0);
        console.log(`${what}, ${speed} times real: ${rate.toFixed(1)} frames a second, ${(1000 * n_drawn / COUNT_MS).toFixed(1)} waves drawn a second`
            + `  wanted: ${RATE_HZ} or more, ${rate >= RATE_HZ ? "met" : "MISSED"}`);
        spread("  from frame to frame", gaps, "ms", 1);
        isMet = rate >= RATE_HZ && isMet;
        if (what.endsWith("came")) {
            await page.reload();
            await page.selectOption('label:has-text("In view") select', String(VIEW_S));
            await pause(3000);
        }
    }
    server.kill("SIGINT");
    await server.over;
} finally {
    await browser.close();
    await program.close();
}
process.exit(isMet ? 0 : 1);
