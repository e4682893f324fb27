// SPDX-License-Identifier: GPL-3.0-or-later
// node test_print.mjs BUILD PICTURES PROGRAM: the pages to print (report, load, compare) of real
// recordings as A4 paper shows them: nothing wider than the sheet, no drawing or row parted over
// two sheets, dark on light in either theme, the cautions on it; and as screens show them.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { SIZES, openBrowser } from "./browser.mjs";
import { readAxe, violations } from "./measure.mjs";
import { Program, readRecording } from "./program.mjs";

const PX_A_MM = 96 / 25.4;
const SHEET = { width: Math.floor(210 * PX_A_MM), height: Math.floor(297 * PX_A_MM) };
const SMALLEST_PX = 9; // 6.75 pt
const CONTRAST_LEAST = 4.5;

const [build, pictures, path] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
const program = new Program(path);
let n_failed = 0;

async function check(name, run) {
    try {
        await run();
        console.log(`passed: ${name}`);
    } catch (error) {
        n_failed++;
        console.log(`FAILED: ${name}\n${error.stack}`);
    } finally {
        for (const context of browser.contexts()) { await context.close(); }
    }
}

/* Six evenings, two tabs in turn; the first one long and with every fault. */
function makePages() {
    mkdirSync(program.path("home", "recordings"), { recursive: true });
    for (let i = 1; i <= 6; i++) {
        const folder = program.path("home", "recordings", `2026-05-1${i}_0930_wren`);
        program.run("simulate", "--set", i === 1 ? "all" : "force_fingers_bow", "--draws", i === 1 ? "24" : "6", "--clock", "180",
            "--seed", String(i), "--faults", "all", "--athlete", "wren", "--out", folder);
        writeFileSync(join(folder, "recording.json"), JSON.stringify({ ...readRecording(folder), started: `2026-05-1${i}T09:30:00.000Z`,
            tags: { tab: i % 2 === 1 ? "thin" : "thick" } }));
    }
    const home = ["--home", program.path("home")];
    program.run("report", "--out", program.path("report.html"), program.path("home", "recordings", "2026-05-11_0930_wren"));
    program.run("compare", "--by", "tab=thin,thick", "wren", ...home, "--out", program.path("compare.html"));
    program.run("load", "wren", ...home, "--from", "2026-04-20", "--until", "2026-05-20", "--out", program.path("load.html"));
}

/* The page laid out as wide as the sheet's printed part; its margins are those of its own style. */
async function openPrinted(name, colorScheme = "light") {
    const html = readFileSync(program.path(`${name}.html`), "utf8");
    const [, down, across] = /@page\{margin:(\d+)mm (\d+)mm\}/.exec(html);
    const inner = { width: Math.floor(SHEET.width - 2 * across * PX_A_MM), height: Math.floor(SHEET.height - 2 * down * PX_A_MM) };
    const context = await browser.newContext({ viewport: inner, colorScheme });
    const page = await context.newPage();
    await page.emulateMedia({ media: "print", colorScheme });
    await page.goto(pathToFileURL(program.path(`${name}.html`)).href);
    return { page, inner };
}

const tooWide = (page) => page.evaluate(() => [...document.querySelectorAll("body *")].filter((e) => {
    const box = e.getBoundingClientRect();
    const isSeen = e.checkVisibility() && box.width > 0 && e.closest("svg svg") === null && !(e.closest("svg") !== null && e.tagName !== "svg");
    return isSeen && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map((e) => `${e.tagName} ${e.className} ${e.getBoundingClientRect().right.toFixed(0)} of ${innerWidth}: ${e.textContent.slice(0, 60)}`));

/* Labels and marks of drawings that would be cut at the sheet's edge. */
const cutLabels = (page) => page.evaluate(() => [...document.querySelectorAll("svg text, svg path.mark")].filter((e) => {
    const box = e.getBoundingClientRect();
    return box.width > 0 && (box.right > innerWidth + 0.5 || box.left < -0.5);
}).map((e) => `${e.tagName} '${e.textContent}' ${e.getBoundingClientRect().right.toFixed(1)} of ${innerWidth}`));

/* What must stay in one piece: it has to say so, and to fit on one sheet. */
const parted = (page, height) => page.evaluate((most) => [...document.querySelectorAll("figure, svg.plot, tr, .draws > li, .said > li")]
    .filter((e) => getComputedStyle(e).breakInside !== "avoid" || e.getBoundingClientRect().height > most)
    .map((e) => `${e.tagName} ${e.className} ${getComputedStyle(e).breakInside} ${e.getBoundingClientRect().height.toFixed(0)} px`), height);

const loneHeads = (page) => page.evaluate(() => [...document.querySelectorAll("h1, h2, h3, figcaption")]
    .filter((e) => getComputedStyle(e).breakAfter !== "avoid").map((e) => e.textContent));

/* The least contrast of a text with white paper, and the smallest letters. */
const reading = (page) => page.evaluate(() => {
    const light = (text) => {
        const [r, g, b] = text.match(/[\d.]+/g).map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    let least = Infinity;
    let smallest = Infinity;
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    while (walker.nextNode()) {
        const e = walker.currentNode.parentElement;
        const style = getComputedStyle(e);
        if (walker.currentNode.textContent.trim() === "" || !e.checkVisibility()) { continue; }
        least = Math.min(least, 1.05 / (light(e.closest("svg") !== null ? style.fill : style.color) + 0.05));
        smallest = Math.min(smallest, Number.parseFloat(style.fontSize));
    }
    const grounds = [document.documentElement, document.body, ...document.querySelectorAll("main, .card, table, tr, th, td")]
        .map((e) => getComputedStyle(e).backgroundColor).filter((c) => c !== "rgba(0, 0, 0, 0)" && light(c) < 0.99);
    return { least, smallest, grounds };
});

const CAUTIONS = {
    report: [/Not a medical device\./, /stop on pain/i, /Shoot only on a range/, /Never draw and let go without an arrow/, /never as inside a limit/, /Local rules/],
    load: [/Not a medical device\./, /Stop on pain/, /Shoot only on a range/, /Never draw and let go without an arrow/, /shown as unknown/],
    compare: [/Not a medical device\./, /Stop on pain/, /Shoot only on a range/, /Never draw and let go without an arrow/, /shown as unknown/],
};

makePages();
for (const name of Object.keys(CAUTIONS)) {
    await check(`${name} on A4`, async () => {
        for (const scheme of ["light", "dark"]) {
            const { page, inner } = await openPrinted(name, scheme);
            assert.ok(await page.locator("svg").count() > 1 && await page.locator("table").count() > 0, "there is something to look at");
            assert.deepEqual(await tooWide(page), []);
            assert.deepEqual(await cutLabels(page), []);
            assert.deepEqual(await parted(page, inner.height), []);
            assert.deepEqual(await loneHeads(page), []);
            const { least, smallest, grounds } = await reading(page);
            assert.ok(least >= CONTRAST_LEAST, `contrast ${least.toFixed(2)}`);
            assert.ok(smallest >= SMALLEST_PX, `${smallest} px`);
            assert.deepEqual(grounds, [], "no ink for grounds");
            const text = await page.evaluate(() => document.body.innerText);
            for (const caution of CAUTIONS[name]) { assert.match(text, caution); }
            assert.deepEqual(await page.evaluate(() => [...document.querySelectorAll("table")].filter((t) =>
                getComputedStyle(t.tHead).display !== "table-header-group").length), 0, "heads come again on each sheet");
            await page.screenshot({ path: join(pictures, `print-${name}-${scheme}.png`), fullPage: true });
            await page.pdf({ path: join(pictures, `print-${name}-${scheme}.pdf`), format: "A4" });
        }
    });
}

/* Tables whose rows have to be pushed sideways to be read. */
const sideways = (page) => page.evaluate(() => [...document.querySelectorAll(".wide")].filter((e) => e.scrollWidth > e.clientWidth + 1)
    .map((e) => `${e.getAttribute("aria-label")}: ${e.scrollWidth} in ${e.clientWidth}`));

/* Cells of a row that stands as a block lie below their own name, and none lies on another. */
const overlapped = (page) => page.evaluate(() => [...document.querySelectorAll("table.stack tbody tr")].flatMap((row) => {
    const boxes = [...row.cells].map((cell) => cell.getBoundingClientRect());
    return boxes.filter((p, i) => boxes.slice(i + 1).some((q) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1 &&
        Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 1)).map(() => row.textContent.slice(0, 40));
}));

for (const name of Object.keys(CAUTIONS)) {
    await check(`${name} on screens`, async () => {
        for (const [width, height] of SIZES) {
            for (const colorScheme of ["light", "dark"]) {
                const context = await browser.newContext({ viewport: { width, height }, colorScheme, bypassCSP: true });
                const page = await context.newPage();
                await page.goto(pathToFileURL(program.path(`${name}.html`)).href);
                await page.screenshot({ path: join(pictures, `screen-${name}-${width}x${height}-${colorScheme}.png`), fullPage: true });
                assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${width} px are enough`);
                if (name !== "report" || width > 1024) { assert.deepEqual(await sideways(page), [], `${width} px`); }
                assert.deepEqual(await overlapped(page), [], `${width} px`);
                if (name === "report") { // words in narrow bars are cut off, numbers at curves are not
                    const seen = (where) => page.locator(where).evaluateAll((all) => all.filter((e) => e.checkVisibility()).length);
                    assert.equal(await seen(".draws .phase") > 0, width > 640);
                    assert.ok(await seen("figure svg .phase") > 2);
                }
                if (name !== "report" && width < 1024) {
                    const label = await page.evaluate(() => getComputedStyle(document.querySelector("table.stack td[data-label]"), "::before").content);
                    assert.match(label, /^"[a-z]/, "each figure is named where there are no columns");
                }
                assert.deepEqual(await violations(page, axe), [], `${width} px, ${colorScheme}`);
                await context.close();
            }
        }
    });
}

await browser.close();
await program.close();
console.log(n_failed === 0 ? "web.print: all passed" : `web.print: ${n_failed} failed`);
process.exit(n_failed === 0 ? 0 : 1);
