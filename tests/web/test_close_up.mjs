// SPDX-License-Identifier: GPL-3.0-or-later
// node test_close_up.mjs BUILD PICTURES PROGRAM: a close-up over the real program: that no sample is
// lost on the way to the screen, what is asked for in which order, what is kept and how much of it.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { openBrowser, openPage } from "./browser.mjs";
import { findInvented, findLost, findRows, readInk } from "./ink.mjs";
import { Program, sleep, waitFor } from "./program.mjs";

const KEPT = 12; // close-ups that the page keeps
const ROWS_KEPT = 400;
const ROWS_AT_ONCE = 2;
const FORCE = ".close-up .card:has(.handles-space)";

const [build, , path] = process.argv.slice(2);
const browser = await openBrowser(build);
const program = new Program(path);
let n_failed = 0;

async function check(name, run) {
    const begun = performance.now();
    try {
        await run();
        console.log(`passed: ${name} (${((performance.now() - begun) / 1000).toFixed(1)} s)`);
    } catch (error) {
        n_failed++;
        console.log(`FAILED: ${name}\n${error.stack}`);
    } finally {
        for (const context of browser.contexts()) { await context.close(); }
    }
}

/* The list, the pointer out of its way; what is asked for from now on stands in page.asked. */
async function openList() {
    const page = await openPage(browser, program.address);
    await page.mouse.move(1, 1);
    await page.waitForSelector('li[data-n="14"] .arrow-open');
    await page.waitForLoadState("networkidle");
    page.asked = [];
    page.on("request", (request) => {
        const found = /shots\/(\d+)\/(trace|spectrum)(\?.*)?$/.exec(request.url());
        const query = new URLSearchParams(found?.[3] ?? "");
        if (found !== null && query.get("points") !== "240") {
            page.asked.push(`${found[1]} ${query.get("channels") ?? found[2]}`);
        }
    });
    return page;
}

const count = (page, mark) => page.evaluate((mark) => performance.getEntriesByName(mark).length, mark);

async function until(page, mark, n_before) { await waitFor(async () => await count(page, mark) > n_before, mark); }

/* Opens an arrow without a pointer, and waits for the last of its plots. */
async function openArrow(page, n) {
    const n_before = await count(page, "close-up-whole");
    await page.evaluate((n) => document.querySelector(`li[data-n="${n}"] .arrow-open`).click(), n);
    await until(page, "close-up-whole", n_before);
}

const goBack = (page) => page.evaluate(() => document.querySelector(".close-up button").click());

/* Every sample of the force, as column and row of the plot, and how far up the plot reaches. */
async function findSamples(seen, n, range) {
    const span = range === "click" ? "align=clicker&from=-1.3&to=0.4" : "align=release&from=-6&to=1.5";
    const trace = await (await fetch(`${program.address}api/recordings/1/shots/${n}/trace?${span}&points=8000&channels=main`)).json();
    const force = trace.channels[0];
    assert.deepEqual(force.lo, force.hi, "every sample by itself");
    const held = force.lo.filter((_, i) => range !== "click" || force.t[i] < trace.events.release_s - 0.03);
    const [least, most] = [Math.min(...held), Math.max(...held)];
    const margin = 0.15 * (most - least);
    const rows = findRows(seen);
    const [top, bottom] = range === "click" ? [0, seen.height] : [rows.top + 0.5, rows.bottom - 0.5];
    const [high, low] = range === "click" ? [most + margin, least - margin] : [most, least];
    const [first, last] = [force.t[0], force.t.at(-1)];
    return force.t.map((t, i) => [(t - first) / (last - first) * seen.width, top + (high - force.lo[i]) / (high - low) * (bottom - top)]);
}

/* The force of each arrow beside what all of its samples would show, pixel by pixel. */
async function compareForce(page, n, range) {
    const seen = await readInk(page, FORCE);
    assert.ok(seen.width > 600, `${seen.width} px`);
    const samples = await findSamples(seen, n, range);
    assert.ok(samples.length > 1600, `${samples.length} samples`);
    assert.deepEqual(findLost(seen, samples, 2), [], `arrow ${n}, ${range}: samples that do not show`);
    assert.deepEqual(findInvented(seen, samples, 3), [], `arrow ${n}, ${range}: pixels that are of no sample`);
}

function bundle(module) {
    const out = join(build, `test_close_up_${module}.mjs`);
    const { buildSync } = createRequire(join(build, "package.json"))("esbuild");
    buildSync({ entryPoints: [fileURLToPath(new URL(`../../src/web/${module}.ts`, import.meta.url))], bundle: true, outfile: out, format: "esm", logLevel: "warning" });
    return import(pathToFileURL(out).href);
}

mkdirSync(program.path("home", "recordings"), { recursive: true });
program.run("simulate", "--set", "force_fingers_bow", "--draws", "14", "--seed", "3", "--faults", "all", "--out", program.path("home", "recordings", "2026-05-14_0930_plover"));
await program.serve("review", program.path("home", "recordings"));
const shots = (await (await fetch(`${program.address}api/recordings/1/shots`)).json()).shots;
assert.equal(shots.length, 14);
const clicked = shots.filter((shot) => shot.events.clicker_s !== null).slice(0, 3).map((shot) => shot.n);

await check("no sample of the force is lost on its way to the screen, and nothing is shown that is none", async () => {
    const page = await openList();
    assert.equal(clicked.length, 3);
    for (const n of clicked) {
        await openArrow(page, n);
        await compareForce(page, n, "click");
        const n_before = await count(page, "close-up-whole");
        await page.selectOption('.close-up label:has-text("In view") select', "all");
        await until(page, "close-up-whole", n_before);
        await compareForce(page, n, "all");
        const again = await count(page, "close-up-whole");
        await page.selectOption('.close-up label:has-text("In view") select', "click");
        await until(page, "close-up-whole", again);
        await goBack(page);
    }
    assert.deepEqual(page.troubles, []);
});

await check("the force is asked for and drawn before all else, and all else follows", async () => {
    const page = await openList();
    let isHeld = true;
    await page.route(/channels=others|spectrum/, async (route) => {
        await waitFor(() => !isHeld, "leave to answer");
        await route.continue();
    });
    await page.evaluate(() => document.querySelector('li[data-n="5"] .arrow-open').click());
    await until(page, "close-up-shown", 0);
    assert.equal(page.asked[0], "5 main");
    assert.equal(await page.evaluate(() => document.activeElement.textContent), "Arrow 5");
    assert.deepEqual(await page.locator(".close-up .card:visible canvas").count(), 1);
    assert.equal(await page.locator(".close-up .pad").isVisible(), false, "what stands below the plots waits for them");
    isHeld = false;
    await until(page, "close-up-whole", 0);
    assert.deepEqual(page.asked.slice(1).sort(), ["5 others", "5 spectrum"]);
    assert.deepEqual(await page.locator(".close-up h3:visible").allTextContents().then((all) => all.slice(0, 5)),
        ["What stands out", "String force", "Acceleration of the bow", "Fingers", "Spectrum of the hold"]);
    assert.equal(await page.locator(".close-up .pad").isVisible(), true);
    assert.deepEqual(page.troubles, []);
});

await check(`the latest ${KEPT} close-ups are kept, and no more`, async () => {
    const page = await openList();
    const order = shots.map((shot) => shot.n);
    for (const n of order.slice(0, KEPT + 1)) {
        await openArrow(page, n);
        await goBack(page);
    }
    assert.equal(page.asked.length, 3 * (KEPT + 1));
    page.asked.length = 0;
    for (const n of order.slice(1, KEPT + 1)) {
        await openArrow(page, n);
        await goBack(page);
    }
    assert.deepEqual(page.asked, []);
    await openArrow(page, order[0]);
    assert.deepEqual(page.asked.sort(), [`${order[0]} main`, `${order[0]} others`, `${order[0]} spectrum`]);
});

await check("an arrow that has changed is asked for anew", async () => {
    const page = await openList();
    await openArrow(page, 3);
    page.asked.length = 0;
    const n_before = await count(page, "close-up-whole");
    await page.click('.close-up [aria-label="Score"] button:text-is("9")');
    await until(page, "close-up-whole", n_before);
    assert.equal(page.asked[0], "3 main");
    assert.equal(page.asked.length, 3);
    assert.equal(await page.locator(".close-up canvas").count(), 5, "one plot a card");
});

await check("the arrow that the pointer rests on, or is pressed, is asked for before the click", async () => {
    const page = await openList();
    const middle = async (n) => {
        await page.locator(`li[data-n="${n}"] .arrow-open`).scrollIntoViewIfNeeded();
        const box = await page.locator(`li[data-n="${n}"] .arrow-open`).boundingBox();
        return [box.x + box.width / 2, box.y + box.height / 2];
    };
    const places = [await middle(14), await middle(13), await middle(12)];
    await page.mouse.move(...places[0]);
    await waitFor(() => page.asked.length > 0, "question");
    assert.deepEqual(page.asked, ["14 main"]);
    await page.mouse.move(...places[1]);
    await page.mouse.move(...places[2]);
    await page.mouse.down();
    await waitFor(() => page.asked.includes("12 main"), "question");
    await page.mouse.up();
    await until(page, "close-up-whole", 0);
    assert.deepEqual(page.asked.sort(), ["12 main", "12 others", "12 spectrum", "14 main"], "13 was only passed over");
});

await check("a close-up whose server fails says so, and is asked for again", async () => {
    const page = await openList();
    await page.route(/channels=main/, (route) => route.fulfill({ status: 503, contentType: "application/json", body: '{"error":"too much at once; ask again"}' }));
    await page.evaluate(() => document.querySelector('li[data-n="5"] .arrow-open').click());
    await page.waitForSelector(".notices p:text-is('too much at once; ask again')");
    await page.waitForSelector(".close-up .pad", { state: "visible" });
    await page.unroute(/channels=main/);
    await goBack(page);
    await openArrow(page, 5);
    assert.equal(await page.locator(".close-up canvas").count(), 5);
});

await check("what is opened and left quickly shows nothing of the arrow before", async () => {
    const page = await openList();
    await page.route(/shots\/7\/trace.*points=1500/, async (route) => {
        await sleep(300);
        await route.continue();
    });
    await page.evaluate(() => document.querySelector('li[data-n="7"] .arrow-open').click());
    await goBack(page);
    await openArrow(page, 5);
    await sleep(600);
    assert.equal(await page.textContent(".close-up h2"), "Arrow 5");
    assert.equal(await page.locator(".close-up canvas").count(), 5);
    assert.equal(await count(page, "close-up-shown"), 1);
});

await check(`rows are asked for ${ROWS_AT_ONCE} at a time, only while in view and nothing else is looked at, and ${ROWS_KEPT} of them kept`, async () => {
    const { KEPT: kept, RowTraces } = await bundle("row_traces");
    assert.equal(kept, ROWS_KEPT);
    const asked = [];
    const answers = [];
    const traces = new RowTraces((path) => new Promise((done) => { asked.push(path); answers.push(() => done({ path })); }));
    const taken = [];
    const outOfView = new Set();
    const want = (n) => traces.want({ key: String(n), path: `/${n}`, isWanted: () => !outOfView.has(n), take: (trace) => taken.push(trace.path) });
    for (let n = 0; n < 5; n++) { want(n); }
    assert.deepEqual(asked, ["/0", "/1"]);
    outOfView.add(1).add(2);
    for (let i = 0; i < 4; i++) {
        answers[i]();
        await sleep(0);
    }
    assert.deepEqual(asked, ["/0", "/1", "/3", "/4"], "2 was not in view when its turn came");
    assert.deepEqual(taken, ["/0", "/3", "/4"], "1 came when it was not in view any more");
    outOfView.clear();
    want(1);
    assert.deepEqual(taken, ["/0", "/3", "/4", "/1"], "but is kept");
    for (let n = 100; n < 100 + ROWS_KEPT - 1; n++) {
        want(n);
        answers.at(-1)();
        await sleep(0);
    }
    const n_asked = asked.length;
    want(1);
    assert.equal(asked.length, n_asked, "looked at last of the four");
    want(4);
    assert.equal(asked.length, n_asked + 1, "let go");
    traces.hold(true);
    answers.at(-1)();
    await sleep(0);
    want(1000);
    assert.equal(asked.length, n_asked + 1, "a close-up is looked at");
    traces.hold(false);
    assert.equal(asked.at(-1), "/1000");
});

assert.equal(await program.stop(), 0, program.err);
await program.close();
await browser.close();
console.log(n_failed === 0 ? "web.close_up: all passed" : `web.close_up: ${n_failed} failed`);
process.exit(n_failed === 0 ? 0 : 1);
