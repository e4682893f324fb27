// SPDX-License-Identifier: GPL-3.0-or-later
// node bench_live_review.mjs BUILD [DRAWS]: how long a session of DRAWS (150) arrows takes to open
// in the browser, from its address to its painted list, and each close-up from the click to its
// painted traces and spectra. Exit status 1 where a bar of docs/live.md is missed.
import { join, resolve } from "node:path";
import { openBrowser, openPage } from "../web/browser.mjs";
import { Program, sayMachine, spread } from "./live/program.mjs";

const ROUNDS = 9;
const OPEN_MS = 1000;
const CLOSE_UP_MS = 150;

const build = resolve(process.argv[2] ?? "build/bench");
const n_draws = Number(process.argv[3] ?? 150);

/* ms since the page was asked for, once all of its list has been painted: what is there in one frame
 * has been painted by the next. */
function openList(page, n) {
    return page.evaluate((n) => new Promise((done) => {
        const look = () => {
            if (document.querySelectorAll("li[data-n]").length >= n) { requestAnimationFrame(() => done(performance.now())); }
            else { requestAnimationFrame(look); }
        };
        requestAnimationFrame(look);
    }), n);
}

/* ms from the click on an arrow to its painted close-up. */
function openArrow(page, n) {
    return page.evaluate((n) => new Promise((done) => {
        const count = () => performance.getEntriesByName("close-up-shown").length;
        const n_before = count();
        const begin = performance.now();
        const look = () => {
            if (count() > n_before) { requestAnimationFrame(() => done(performance.now() - begin)); }
            else { requestAnimationFrame(look); }
        };
        document.querySelector(`li[data-n="${n}"] .arrow-open`).click();
        requestAnimationFrame(look);
    }), n);
}

const program = new Program(build);
const browser = await openBrowser(join(build, "src/web"));
sayMachine(browser);
let isMet = true;
try {
    const session = program.in("session");
    program.run("simulate", "--set", "force_fingers_bow", "--draws", String(n_draws), "--faults", "all", "--seed", "7", "--out", session);
    const server = await program.serve("review", session, "--home", program.in("home"));
    const shots = await (await fetch(`${server.address}api/recordings/1/shots`)).json();
    console.log(`${shots.shots.length} draws`);
    const opened_ms = [];
    const closeUp_ms = [];
    for (let round = 0; round < ROUNDS; round++) {
        const page = await openPage(browser, server.address);
        opened_ms.push(await openList(page, shots.shots.length));
        if (round === ROUNDS - 1) {
            for (const shot of shots.shots) {
                closeUp_ms.push(await openArrow(page, shot.n));
                await page.click(".close-up button");
            }
        }
        await page.context().close();
    }
    isMet = spread("session opened", opened_ms, "ms", 0, OPEN_MS) && isMet;
    isMet = spread("close-up opened", closeUp_ms, "ms", 0, CLOSE_UP_MS) && isMet;
    server.kill("SIGINT");
    await server.over;
} finally {
    await browser.close();
    await program.close();
}
process.exit(isMet ? 0 : 1);
