// SPDX-License-Identifier: GPL-3.0-or-later
// node test_live.mjs BUILD PICTURES PROGRAM: `stringhand live` before a simulated sensor on a
// pseudo-terminal, in real time and in the browser: an evening of one recording and the next.
// All the while one tablet is held up and one cut off for a minute; both catch up.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { SIZES, go, openBrowser, openPage } from "./browser.mjs";
import { judge, readAxe } from "./measure.mjs";
import { Middleman } from "./middleman.mjs";
import { Program, marksOf, readRecording, sleep, waitFor } from "./program.mjs";

const AWAY_MS = 60000;

const [build, pictures, path] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
const program = new Program(path);
const field = (form) => `form[aria-label="${form}"]:visible`;
const begun = performance.now();
const passed = (name) => console.log(`passed: ${name} (at ${((performance.now() - begun) / 1000).toFixed(0)} s)`);
const last = (page) => page.textContent(".last-arrow .last");
const phase = (page, text, timeout = 60000) => page.waitForFunction((t) => document.querySelector(".phase").textContent === t, text, { polling: 30, timeout });

/* Notes the tones in place of sounding them, with what the archer did then. */
function listen() {
    globalThis.tones = [];
    globalThis.AudioContext = class {
        destination = {};
        get currentTime() { return performance.now() / 1000; }
        createOscillator() {
            return { frequency: { value: 0 }, connect() {}, disconnect() {}, stop() {},
                start() { globalThis.tones.push(document.querySelector(".phase").textContent); } };
        }
    };
}

/* Columns of the running force that hold no ink, from its first one on. */
function blankColumns(page) {
    return page.evaluate(() => {
        const canvas = document.querySelector(".line-screen .wide canvas");
        const over = document.querySelector(".line-screen .wide .u-over").getBoundingClientRect();
        const at = canvas.getBoundingClientRect();
        const scale = canvas.width / at.width;
        const left = Math.round((over.left - at.left) * scale);
        const width = Math.round(over.width * scale);
        const image = canvas.getContext("2d").getImageData(left, Math.round((over.top - at.top) * scale), width, Math.round(over.height * scale));
        const has = Array.from({ length: width }, (_, x) => {
            for (let y = 0; y < image.height; y++) {
                const i = 4 * (y * image.width + x);
                if (image.data[i + 3] > 100 && image.data[i] + image.data[i + 1] + image.data[i + 2] < 200) { return true; }
            }
            return false;
        });
        const first = has.indexOf(true);
        return { n: width - first, blank: has.slice(first, -4).filter((is) => !is).length };
    });
}

async function away(middle, page, name) {
    await page.waitForSelector("text=No connection", { timeout: 20000 });
    await sleep(AWAY_MS);
    if (middle.isHeld) { middle.release(); } else { middle.mend(); }
    await page.waitForSelector("text=No connection", { state: "detached", timeout: 30000 });
    return name;
}

async function runClock(page) {
    await page.click('section.clock button:text-is("Start")');
    await page.waitForSelector("text=come to the line");
    const left = Number(await page.textContent(".clock-left"));
    assert.ok(left > 7 && left <= 10, `${left} s to come to the line`);
    await page.click('section.clock button:text-is("Stop")');
    await page.waitForFunction(() => document.querySelector(".clock-phase").textContent.indexOf("come to the line") < 0);
}

/* Reloads while the string is held: the hold goes on, and the wave has no hole. */
async function reloadInHold(page) {
    await phase(page, "Holding");
    await page.waitForFunction(() => Number(document.querySelector(".hold-value").textContent) >= 0.6, null, { polling: 30 });
    const before = Number(await page.textContent(".hold-value"));
    await page.reload();
    await page.waitForSelector(".phase");
    await phase(page, "Holding", 5000);
    const after = Number(await page.textContent(".hold-value"));
    assert.ok(after > before, `hold ${before} s before, ${after} s after`);
    await phase(page, "Released");
    await page.waitForFunction(() => /^Shot 1/.test(document.querySelector(".last-arrow .last").textContent), null, { polling: 30 });
    const hold = Number(await page.textContent(".hold-value"));
    const said = Number(/held ([\d.]+) s/.exec(await last(page))[1]);
    assert.ok(Math.abs(hold - said) < 0.06, `hold ${hold} s, said ${said} s`); // no longer what was told at once
    const drawn = await blankColumns(page);
    assert.ok(drawn.n > 300 && drawn.blank === 0, JSON.stringify(drawn));
}

async function enter(page) {
    const running = program.recordings()[0];
    await page.click('.last-arrow [aria-label="Score"] button:text-is("9")');
    await waitFor(() => marksOf(running, "arrow").length === 1, "score");
    assert.equal(marksOf(running, "arrow")[0].score, 9);
    assert.equal(marksOf(running, "arrow")[0].shot, 1);
    await page.waitForSelector('.last-arrow button[aria-pressed="true"]:text-is("9")');
    await page.fill(`${field("Note")} input`, "wind from the kiln");
    await page.click(`${field("Note")} button`);
    await waitFor(() => marksOf(running, "note").length === 1, "note");
    assert.equal(marksOf(running, "note")[0].text, "wind from the kiln");
    await page.fill(`${field("Whole end")} input`, "9 x m");
    await page.click(`${field("Whole end")} button`);
    await waitFor(() => marksOf(running, "end").length === 1, "end");
    assert.deepEqual(marksOf(running, "end")[0].scores, [9, 10, 0]);
    await page.fill(`${field("Pain, 0 to 10")} input`, "4");
    assert.match(await page.textContent(".caution[role=alert]:visible"), /stop shooting now/i, "at once");
    await page.selectOption(`${field("Pain, 0 to 10")} select`, "during");
    await page.click(`${field("Pain, 0 to 10")} button`);
    await waitFor(() => marksOf(running, "pain").length === 1, "rating of pain");
    assert.equal(marksOf(running, "pain")[0].when, "during");
    await page.waitForSelector(".banner .alarm"); // the program's own caution, on every screen
}

const undo = (event) => `text=Undo correction of ${event}`;
const corrections = (folder, event) => marksOf(folder, "correction").filter((mark) => mark.event === event);

async function openArrow(page) {
    await go(page, "arrows");
    await page.click('li[data-n="1"] .arrow-open');
    await page.waitForSelector('.close-up .event-release_s[role="slider"]');
    await page.selectOption('.close-up label:has-text("In view") select', "all");
    await page.waitForSelector(".event-full_draw_s", { state: "visible" });
    await page.waitForTimeout(300);
}

async function drag(page, event, by) {
    const flag = await page.locator(`.event-${event} .event-name`).boundingBox();
    const [x, y] = [flag.x + flag.width / 2, flag.y + flag.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x + by, y, { steps: 4 });
    await page.mouse.up();
}

async function takePictures(page, name) {
    for (const size of SIZES) {
        await page.setViewportSize({ width: size[0], height: size[1] });
        await page.waitForTimeout(400);
        await page.screenshot({ path: join(pictures, `live-${name}-${size.join("x")}.png`), fullPage: true });
        await judge(page, null, name);
    }
    await page.setViewportSize({ width: 1440, height: 900 });
    await page.waitForTimeout(300);
}

/* Events of the running recording are moved with the mouse and the keys, and back; the other
 * screen and a page that is loaded anew show the same. One correction stays. */
async function correctRunning(page) {
    const running = program.recordings()[0];
    const other = await openPage(browser, program.address, SIZES[1]);
    await openArrow(page);
    await page.waitForSelector(".close-up .findings .code");
    await openArrow(other);
    const said = await page.textContent(".close-up .last");
    await drag(page, "full_draw_s", 60);
    await page.waitForSelector(undo("full draw"));
    assert.equal(corrections(running, "full_draw_s").length, 1);
    const held = await page.textContent(".close-up .last");
    assert.notEqual(held, said);
    await other.waitForSelector(undo("full draw"));
    assert.equal(await other.textContent(".close-up .last"), held);
    await takePictures(page, "corrected");
    await other.reload();
    await other.waitForSelector("nav button[aria-current]");
    await openArrow(other);
    await other.waitForSelector(undo("full draw"));
    assert.equal(await other.textContent(".close-up .last"), held);
    await other.click(undo("full draw"));
    await other.waitForSelector(".notices p:has-text('control')");
    assert.equal(corrections(running, "full_draw_s").length, 1, "only who controls corrects");
    await page.click(undo("full draw"));
    await page.waitForSelector(undo("full draw"), { state: "detached" });
    await other.waitForSelector(undo("full draw"), { state: "detached" });
    assert.equal(corrections(running, "full_draw_s").length, 0);
    assert.equal(await page.textContent(".close-up .last"), said);
    await page.waitForTimeout(300);
    await page.focus(".event-draw_start_s");
    for (let i = 0; i < 3; i++) { await page.keyboard.press("Shift+ArrowRight"); }
    await page.waitForSelector(undo("draw start"));
    await other.waitForSelector(undo("draw start"));
    assert.equal(corrections(running, "draw_start_s").length, 1);
    await page.click("text=Back to all arrows");
    assert.deepEqual(other.troubles, []);
    return other;
}

async function tagRunning(page, other) {
    await page.fill(`${field("Tag")} input >> nth=0`, "tab");
    await page.fill(`${field("Tag")} input >> nth=1`, "thick leather");
    await page.click(`${field("Tag")} button`);
    await page.waitForSelector(".tags:has-text('tab: thick leather')");
    assert.equal(readRecording(program.recordings()[0]).tags.tab, "thick leather");
    await other.click("text=Back to all arrows");
    await other.waitForSelector(".tags:has-text('tab: thick leather')");
    await go(page, "line");
}

async function shareControl(first, second) {
    await first.waitForSelector("text=You control");
    await second.waitForSelector("text=Another screen controls");
    await second.fill(`${field("Note")} input`, "not mine");
    await second.click(`${field("Note")} button`);
    await second.waitForSelector(".notices p:has-text('control')");
    assert.equal(await second.inputValue(`${field("Note")} input`), "not mine", "what was typed stays");
    await second.click("text=Take control");
    await first.waitForSelector("text=Another screen controls");
    await second.waitForSelector("text=You control");
    await second.click("text=Let go of control");
    await first.waitForSelector("text=Nobody controls");
    await first.click("text=Take control");
    await first.waitForSelector("text=You control");
}

/* Line up is called in the middle of a draw: it sounds after the release. */
async function soundClock(page) {
    assert.deepEqual(await page.evaluate(() => globalThis.tones), [], "off by default");
    await page.check('label.check:has-text("Sounds on") input');
    await page.check('label.check:has-text("I am in charge of this line") input');
    await phase(page, "Drawing");
    await page.click('section.clock button:text-is("Start")');
    await phase(page, "Released");
    await page.waitForFunction(() => globalThis.tones.length > 0, null, { timeout: 15000 });
    const when = await page.evaluate(() => globalThis.tones);
    assert.ok(!when.includes("Drawing") && !when.includes("Holding"), String(when));
    await page.waitForSelector('section.clock[data-phase="shooting"]', { timeout: 15000 });
    await page.click('section.clock button:text-is("Stop")');
    await waitFor(() => marksOf(program.recordings()[0], "clock-stop").length === 1, "mark of the stop");
    assert.equal(marksOf(program.recordings()[0], "clock").length, 1);
    await page.uncheck('label.check:has-text("Sounds on") input');
}

async function lookAround() {
    for (const size of SIZES) {
        for (const theme of ["sun", "dusk"]) {
            const page = await openPage(browser, program.address, size, theme);
            await page.waitForSelector(".last-arrow button:visible");
            for (const screen of ["line", "setup", "people"]) {
                await go(page, screen);
                if (screen === "setup") { await page.waitForSelector("tr[data-state]"); }
                await page.screenshot({ path: join(pictures, `live-${screen}-${size.join("x")}-${theme}.png`), fullPage: true });
                await judge(page, size === SIZES[1] ? axe : null, screen);
            }
            assert.deepEqual(page.troubles, []);
            await page.context().close();
        }
    }
}

/* What was corrected and tagged while it ran is what the program's analysis goes by. */
function checkAgreement(folder, shown) {
    assert.deepEqual(shown.tags, { tab: "thick leather" });
    const [mark] = corrections(folder, "draw_start_s");
    const found = JSON.parse(program.run("analyze", folder, "--format", "json")).shots[0];
    assert.equal(found.events.draw_start_s, mark.value_s);
    assert.deepEqual(shown.shots[0].events, found.events);
    assert.deepEqual(shown.shots[0].measures, found.measures);
    assert.deepEqual(shown.shots[0].corrected, ["draw_start_s"]);
}

/* Whether the last arrow at the line is that of the recording that runs. */
async function showsRunning(page) {
    const ask = async (path) => (await fetch(`${program.address}api/${path}`)).json();
    const { current } = await ask("hello");
    const { shots } = current === null ? { shots: [] } : await ask(`recordings/${current}/shots`);
    const said = await last(page);
    return shots.length === 0 ? !/^Shot/.test(said) : said === shots[shots.length - 1].sentence;
}

async function changeArcher(page) {
    const old = program.recordings()[0];
    await go(page, "people");
    await page.fill(`${field("Somebody new")} input`, "rook");
    await page.click(`${field("Somebody new")} button`);
    await waitFor(() => program.recordings().length === 2, "next recording");
    assert.equal(readRecording(program.recordings()[1]).athlete, "rook");
    assert.equal(readRecording(old).athlete, "wren");
    await go(page, "arrows");
    const name = await page.locator('label:has-text("Recording") option', { hasText: "wren" }).getAttribute("value");
    await page.selectOption('label:has-text("Recording") select', name);
    await waitFor(async () => (await (await fetch(`${program.address}api/recordings/${name}/shots`)).json()).is_final, "second pass");
    checkAgreement(old, await (await fetch(`${program.address}api/recordings/${name}/shots`)).json());
    await openArrow(page);
    await page.waitForSelector(undo("draw start"));
    await drag(page, "full_draw_s", -40);
    await page.waitForSelector(undo("full draw"), { timeout: 60000 });
    assert.equal(corrections(old, "full_draw_s").length, 1);
    await page.click(undo("full draw"));
    await page.waitForSelector(undo("full draw"), { state: "detached", timeout: 60000 });
    assert.equal(corrections(old, "full_draw_s").length, 0);
    await page.click("text=Back to all arrows");
    await page.fill(`${field("Tag")} input >> nth=0`, "wind");
    await page.fill(`${field("Tag")} input >> nth=1`, "left");
    await page.click(`${field("Tag")} button`);
    await waitFor(() => readRecording(old).tags?.wind === "left", "tag of the ended recording");
    assert.equal(readRecording(program.recordings()[1]).tags, undefined, "another archer's tab is her own");
    await go(page, "line");
    await waitFor(() => showsRunning(page), "line about the recording that runs");
}

async function zero(page) {
    await go(page, "setup");
    const n = program.recordings().length;
    await waitFor(async () => {
        await page.click("text=Zero string");
        await sleep(700);
        return program.recordings().length > n;
    }, "recording with the new zero");
    await go(page, "line");
}

let isPassed = false;
const middles = [new Middleman(), new Middleman()];
try {
    await program.live(["--set", "force_bow", "--draws", "12", "--seed", "3", "--faults", "creep,flinch,finger-slide"]);
    const first = await openPage(browser, program.address);
    await first.addInitScript(listen);
    await first.reload();
    await first.waitForSelector("text=You control");
    const gone = [];
    for (const middle of middles) { gone.push(await openPage(browser, program.address, SIZES[1], "sun", { proxy: await middle.open() })); }
    for (const page of gone) { await page.waitForFunction(() => /\d/.test(document.querySelector(".force-value").textContent)); }
    middles[0].hold();
    middles[1].cut();
    const back = Promise.all([away(middles[0], gone[0], "held up"), away(middles[1], gone[1], "cut off")]);
    back.catch(() => null); // told below
    await runClock(first);
    passed("the clock is run from the page");
    await reloadInHold(first);
    passed("a reload in mid-hold: the hold goes on, the wave has no hole, the sentence comes in time");
    await enter(first);
    passed("score, note, end and pain stand in recording.json, pain's caution is shown at once");
    const other = await correctRunning(first);
    passed("events of the running recording are corrected by mouse and keys, and back");
    await tagRunning(first, other);
    await other.context().close();
    passed("a tag of the running recording");
    await soundClock(first);
    passed("no sound between draw start and release");
    const second = await openPage(browser, program.address, SIZES[0]);
    await shareControl(first, second);
    await second.context().close();
    passed("two viewers, one controls");
    await lookAround();
    passed("screens of the running recording, both themes, three sizes");
    await back;
    for (const page of gone) { // arrows go on coming: what counts is what the other page shows meanwhile
        await waitFor(async () => await last(page) === await last(first), "page that shows what the other shows", 20000);
        await page.waitForTimeout(1000);
        const drawn = await blankColumns(page);
        assert.ok(drawn.n > 300 && drawn.blank === 0, JSON.stringify(drawn));
        await go(page, "arrows");
        await waitFor(async () => await page.locator(".arrows li").count() ===
            (await (await fetch(`${program.address}api/recordings/1/shots`)).json()).shots.length, "row of each arrow");
        assert.deepEqual(page.troubles, []);
        await page.context().close();
    }
    passed("held up and cut off for 60 s, both catch up without a hole");
    await changeArcher(first);
    passed("the archer changes: the recording ends, is corrected and tagged, the next one runs");
    await zero(first);
    passed("zero from the page");
    assert.deepEqual(first.troubles, []);
    assert.equal(await program.stop(), 0, program.err);
    const frames = program.frames();
    console.log(`frames: ${JSON.stringify(frames)}`);
    assert.ok(frames.good > 200000 && frames.lost === 0 && frames.damaged === 0);
    assert.equal(program.recordings().length, 3);
    isPassed = true;
} catch (error) {
    console.log(`FAILED at ${((performance.now() - begun) / 1000).toFixed(0)} s: ${error.stack}\n${program.err.slice(-2000)}`);
    for (const [i, context] of browser.contexts().entries()) {
        for (const page of context.pages()) { await page.screenshot({ path: join(pictures, `failed-live-${i}.png`) }).catch(() => null); }
    }
} finally {
    await browser.close();
    for (const middle of middles) { middle.close(); }
    await program.close();
}
console.log(isPassed ? "web.live: all passed" : "web.live: failed");
process.exit(isPassed ? 0 : 1);
