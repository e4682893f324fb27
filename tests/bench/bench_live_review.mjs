// SPDX-License-Identifier: GPL-3.0-or-later
// node bench_live_review.mjs BUILD [DRAWS [ROUNDS]]: how long a session of DRAWS (150) arrows takes
// to open in the browser, from its address to its painted list, and each of its close-ups: from the
// click to the painted force with its evidence, and to the last of its plots. The arrows are opened
// in an order that nothing can foresee, without a pointer; then the latest of them again. One is
// opened first in each page: in every second as the list is painted, faster than any hand, else a
// second later. All others are opened in the last page.
// Of the slowest is said what its time was made of. Exit status 1 where a bar of docs/live.md is
// missed.
import { join, resolve } from "node:path";
import { openBrowser, openPage } from "../web/browser.mjs";
import { Program, pause, sayMachine, spread } from "./live/program.mjs";
import { meter, shuffle, sum } from "./live/close_up.mjs";

const OPEN_MS = 1000;
const CLOSE_UP_MS = 150;
const N_AGAIN = 10; // the page keeps 12
const REST_MS = 1000; // between a list and a hand

const build = resolve(process.argv[2] ?? "build/bench");
const n_draws = Number(process.argv[3] ?? 150);
const n_rounds = Number(process.argv[4] ?? 18);

/* Each arrow of a list opened and left, as soon as all of it has been painted. */
async function openEach(page, arrows) {
    const times = [];
    for (const n of arrows) { times.push(await page.evaluate((n) => window.meter.open(n), n)); }
    return times;
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
    const arrows = shuffle(shots.shots.map((shot) => shot.n));
    console.log(`${arrows.length} draws`);
    const opened = [];
    const cold = { "at once": [], "a second later": [] };
    let page = null;
    for (let round = 0; round < n_rounds; round++) {
        await page?.context().close();
        page = await openPage(browser, server.address, undefined, undefined, { prepare: meter });
        opened.push(await page.evaluate((n) => window.meter.opened(n), arrows.length));
        if (round % 2 === 1) { await pause(REST_MS); }
        cold[round % 2 === 1 ? "a second later" : "at once"].push(...await openEach(page, [arrows[round % arrows.length]]));
    }
    const first = await openEach(page, arrows.filter((_, i) => i !== (n_rounds - 1) % arrows.length));
    const again = await openEach(page, arrows.slice(-N_AGAIN));
    isMet = spread("session opened", opened.map((o) => o.painted), "ms", 0, OPEN_MS) && isMet;
    isMet = spread("close-up, force painted", first.map((t) => t.force), "ms", 0, CLOSE_UP_MS, 1) && isMet;
    isMet = spread("close-up, all of it painted", first.map((t) => t.whole), "ms", 0, CLOSE_UP_MS, 1) && isMet;
    for (const [when, times] of Object.entries(cold)) {
        isMet = spread(`first of a page, ${when}, force painted`, times.map((t) => t.force), "ms", 0, CLOSE_UP_MS, 1) && isMet;
        isMet = spread(`first of a page, ${when}, all of it painted`, times.map((t) => t.whole), "ms", 0, CLOSE_UP_MS, 1) && isMet;
    }
    spread("the same, force, opened again", again.map((t) => t.force), "ms", 0);
    const slowest = [...Object.values(cold).flat(), ...first].reduce((a, b) => b.whole > a.whole ? b : a);
    console.log(`slowest, arrow ${slowest.n}: ${sum(slowest)}`);
    server.kill("SIGINT");
    await server.over;
} finally {
    await browser.close();
    await program.close();
}
process.exit(isMet ? 0 : 1);
