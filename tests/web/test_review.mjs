// SPDX-License-Identifier: GPL-3.0-or-later
// node test_review.mjs BUILD PICTURES PROGRAM: `stringhand review` over simulated recordings, in
// the browser: what is entered and corrected on the page stands in recording.json; pairing; every
// screen in both themes and three sizes.
import assert from "node:assert/strict";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { REVIEW_SCREENS, SIZES, go, openBrowser, openPage, setTheme } from "./browser.mjs";
import { CONTRAST_LEAST, judge, readAxe } from "./measure.mjs";
import { Program, marksOf, readRecording, waitFor } from "./program.mjs";

const [build, pictures, path] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
let n_failed = 0;
let leastContrast = Infinity;

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

const program = new Program(path);
const evening = program.path("home", "recordings", "2026-05-14_0930_wren");
const LIMIT = { t_s: 0, kind: "limit", what: "finger_peak_n", finger: "ring", per: "shot", most: 45.0, set_by: "hand clinic", from: "2026-05-01", until: "2026-06-01" };

function makeRecordings() {
    mkdirSync(program.path("home", "recordings"), { recursive: true });
    program.run("simulate", "--set", "all", "--draws", "9", "--seed", "3", "--faults", "creep,flinch,finger-slide", "--out", evening);
    const about = readRecording(evening);
    writeFileSync(join(evening, "recording.json"), JSON.stringify({ ...about, marks: [...about.marks, LIMIT] }));
    program.run("simulate", "--set", "force80", "--draws", "3", "--seed", "5", "--athlete", "rook",
        "--out", program.path("home", "recordings", "2026-05-13_0930_rook"));
}

/* The evening's recording, whichever the page begins with. */
async function openEvening(size, theme) {
    const page = await openPage(browser, program.address, size, theme);
    await go(page, "arrows");
    const name = await page.locator('label:has-text("Recording") option', { hasText: "wren" }).getAttribute("value");
    await page.selectOption('label:has-text("Recording") select', name);
    await page.waitForSelector('li[data-n="9"] .arrow-open');
    return page;
}

async function openArrow(page, n) {
    await page.click(`li[data-n="${n}"] .arrow-open`);
    await page.waitForSelector(".close-up .event-release_s", { state: "visible" });
    await page.waitForTimeout(150);
}

const field = (form) => `form[aria-label="${form}"]:visible`;


makeRecordings();
await program.serve("review", program.path("home", "recordings"));

await check("a finding is opened, and lies where the measure took its figures", async () => {
    const page = await openEvening();
    await page.waitForSelector('li[data-n="4"] .code:text-is("creep")');
    await openArrow(page, 4);
    const said = await page.textContent(".close-up .findings");
    assert.match(said, /creep/);
    assert.match(said, /flinch/);
    assert.match(said, /\d/);
    for (const event of ["clicker", "release"]) { assert.ok(await page.isVisible(`.event-${event}_s`), event); }
    const cards = await page.locator(".close-up h3").allTextContents();
    for (const title of ["String force", "Acceleration of the bow", "Fingers", "Spectrum of the hold"]) { assert.ok(cards.includes(title), `${title}: ${cards}`); }
    assert.deepEqual(page.troubles, []);
});

await check("score, end, note, tag and pain are marks in the recording", async () => {
    const page = await openEvening();
    await openArrow(page, 2);
    await page.click('.close-up [aria-label="Score"] button:text-is("9")');
    await waitFor(() => marksOf(evening, "arrow").length === 1, "score");
    assert.equal(marksOf(evening, "arrow")[0].score, 9);
    assert.equal(marksOf(evening, "arrow")[0].shot, 2);
    await page.waitForSelector("text=Arrow 2: 9.");
    await page.waitForSelector('.close-up button[aria-pressed="true"]:text-is("9")');
    await page.fill(`.close-up ${field("Note")} input`, "new tab, thick leather");
    await page.click(`.close-up ${field("Note")} button`);
    await page.waitForSelector('.close-up p:text-is("new tab, thick leather")');
    assert.equal(marksOf(evening, "note")[0].text, "new tab, thick leather");
    await page.click("text=Back to all arrows");
    await page.waitForSelector('li[data-n="2"] .arrow-score:text-is("score 9")');
    await page.fill(`${field("Whole end")} input`, "9 x 8");
    await page.click(`${field("Whole end")} button`);
    await waitFor(() => marksOf(evening, "end").length === 1, "end");
    assert.deepEqual(marksOf(evening, "end")[0].scores, [9, 10, 8]);
    await page.fill(`${field("Tag")} input >> nth=0`, "tab");
    await page.fill(`${field("Tag")} input >> nth=1`, "thick leather");
    await page.click(`${field("Tag")} button`);
    await waitFor(() => readRecording(evening).tags?.tab === "thick leather", "tag");
    await page.waitForSelector("text=tab: thick leather");
    await page.fill(`${field("Pain, 0 to 10")} input`, "3");
    assert.match(await page.textContent(".caution[role=alert]:visible"), /stop shooting now/i);
    await page.selectOption(`${field("Pain, 0 to 10")} select`, "during");
    await page.click(`${field("Pain, 0 to 10")} button`);
    await waitFor(() => marksOf(evening, "pain").length === 1, "rating of pain");
    assert.equal(marksOf(evening, "pain")[0].rating, 3);
    assert.equal(marksOf(evening, "pain")[0].when, "during");
    assert.match(await page.textContent(".caution[role=alert]:visible"), /stop shooting now/i, "the caution stays");
    assert.deepEqual(page.troubles, []);
});

await check("an event is corrected with the mouse and the keyboard, and undone", async () => {
    const page = await openEvening();
    await openArrow(page, 4);
    const corrections = () => marksOf(evening, "correction");
    const name = await page.locator(".event-clicker_s .event-name").boundingBox();
    const was = Number(await page.getAttribute(".event-clicker_s", "aria-valuenow"));
    await page.mouse.move(name.x + name.width / 2, name.y + name.height / 2);
    await page.mouse.down();
    await page.mouse.move(name.x + name.width / 2 - 60, name.y + name.height / 2, { steps: 5 });
    await page.mouse.up();
    await page.waitForSelector("text=Undo correction of click", { timeout: 30000 });
    assert.equal(corrections().length, 1);
    const mark = corrections()[0];
    assert.equal(mark.event, "clicker_s");
    assert.equal(mark.shot, 4);
    const answer = await (await fetch(`${program.address}api/recordings/${await page.inputValue('label:has-text("Recording") select')}/shots`)).json();
    const shot = answer.shots.find((s) => s.n === 4);
    assert.equal(shot.events.clicker_s, mark.value_s);
    assert.deepEqual(shot.corrected, ["clicker_s"]);
    assert.equal(was, 0, "lined up at the click");
    await page.click("text=Undo correction of click");
    await page.waitForSelector("text=Undo correction of click", { state: "detached", timeout: 30000 });
    assert.equal(corrections().length, 0);
    await page.waitForTimeout(300);
    const now = (await (await fetch(`${program.address}api/recordings/${await page.inputValue('label:has-text("Recording") select')}/shots`)).json()).shots.find((s) => s.n === 4).events.clicker_s;
    assert.ok(mark.value_s < now - 0.01, "it had been dragged to the left");
    await page.focus(".event-clicker_s");
    for (let i = 0; i < 5; i++) { await page.keyboard.press("ArrowLeft"); }
    await page.keyboard.press("Shift+ArrowLeft");
    await page.waitForSelector("text=Undo correction of click", { timeout: 30000 });
    assert.ok(Math.abs(corrections()[0].value_s - (now - 0.015)) < 2e-4, `${corrections()[0].value_s} of ${now}`);
    assert.equal(await page.evaluate(() => document.activeElement.className.includes("event-clicker_s")), true, "the keys stay where they were");
    await page.click("text=Undo correction of click");
    await page.waitForSelector("text=Undo correction of click", { state: "detached", timeout: 30000 });
    assert.equal(corrections().length, 0);
    // a time out of order is refused in one line, and the mark goes back
    await page.selectOption('.close-up label:has-text("In view") select', "all");
    await page.waitForSelector(".event-full_draw_s", { state: "visible" });
    const full = await page.getAttribute(".event-full_draw_s", "aria-valuenow");
    const at = await page.locator(".event-full_draw_s .event-name").boundingBox();
    const release = await page.locator(".event-release_s").boundingBox();
    await page.mouse.move(at.x + 10, at.y + at.height / 2);
    await page.mouse.down();
    await page.mouse.move(release.x + 80, at.y + at.height / 2, { steps: 5 });
    await page.mouse.up();
    await page.waitForSelector(".notices p");
    assert.match(await page.textContent(".notices p"), /does not go with the other events/);
    assert.equal(await page.getAttribute(".event-full_draw_s", "aria-valuenow"), full);
    assert.equal(corrections().length, 0);
    assert.deepEqual(page.troubles, []);
});

async function screensOf(page, see) {
    for (const screen of REVIEW_SCREENS) {
        await go(page, screen);
        await see(screen);
    }
    await go(page, "arrows");
    await page.check('li[data-n="4"] input');
    await page.check('li[data-n="2"] input');
    await page.click("text=Lay chosen arrows");
    await page.waitForSelector("text=Arrows 2, 4");
    await page.waitForTimeout(200);
    await see("overlay");
    await openArrow(page, 4);
    await see("close-up");
    await page.selectOption('.close-up label:has-text("In view") select', "all");
    await page.waitForSelector(".event-full_draw_s", { state: "visible" });
    await page.waitForTimeout(200);
    await see("close-up-whole");
}

for (const size of SIZES) {
    await check(`every screen at ${size.join(" x ")}: accessible, legible, large enough, nothing moves`, async () => {
        for (const theme of ["sun", "dusk"]) {
            const page = await openEvening(size, theme);
            await screensOf(page, async (screen) => {
                await page.screenshot({ path: join(pictures, `review-${screen}-${size.join("x")}-${theme}.png`), fullPage: true });
                const least = await judge(page, size === SIZES[1] ? axe : null, screen);
                if (theme === "sun") { leastContrast = Math.min(leastContrast, least); }
            });
            assert.deepEqual(page.troubles, []);
            await page.context().close();
        }
    });
}

await check("nothing moves for those who want it still, nor for others", async () => {
    for (const reducedMotion of ["reduce", "no-preference"]) {
        const page = await openPage(browser, program.address, SIZES[2], "sun", { reducedMotion });
        for (const screen of REVIEW_SCREENS) {
            await go(page, screen);
            const moving = await page.evaluate(() => [...document.querySelectorAll("*")].filter((e) => {
                const style = getComputedStyle(e);
                return Number.parseFloat(style.transitionDuration) > 0 || style.animationName !== "none" || style.scrollBehavior === "smooth";
            }).map((e) => e.outerHTML.slice(0, 80)));
            assert.deepEqual(moving, [], `${screen}, ${reducedMotion}`);
        }
        await setTheme(page, "dusk");
    }
});

assert.equal(await program.stop(), 0, program.err);

await check("pairing: a wrong code is refused, the right one lets in, and it is said that others can read", async () => {
    const open = new Program(path);
    try {
        await open.serve("review", "--listen", program.path("home", "recordings"));
        const code = await waitFor(() => /code for the page: (\d{6})/.exec(open.err)?.[1], "code");
        for (const theme of ["sun", "dusk"]) {
            for (const size of SIZES) {
                const page = await openPage(browser, open.address, size, theme, { first: "form.card" });
                await page.screenshot({ path: join(pictures, `pairing-${size.join("x")}-${theme}.png`), fullPage: true });
                leastContrast = Math.min(leastContrast, theme === "sun" ? await judge(page, axe, "pairing") : (await judge(page, axe, "pairing"), Infinity));
                await page.context().close();
            }
        }
        const page = await openPage(browser, open.address, SIZES[1], "sun", { first: "form.card" });
        await page.fill("form.card input", code === "000000" ? "000001" : "000000");
        await page.click("form.card button");
        await page.waitForSelector("text=That was not the code.");
        await page.fill("form.card input", open.code());
        await page.click("form.card button");
        await page.waitForSelector("nav button[aria-current]");
        await page.waitForSelector("text=Others on this network can read this page");
        await page.waitForSelector('li[data-n="1"] .arrow-open');
        assert.equal(await open.stop(), 0, open.err);
    } finally {
        await open.close();
    }
});

console.log(`least contrast in sun: ${leastContrast.toFixed(2)} (asked ${CONTRAST_LEAST.sun})`);
await program.close();
await browser.close();
console.log(n_failed === 0 ? "web.review: all passed" : `web.review: ${n_failed} failed`);
process.exit(n_failed === 0 ? 0 : 1);
