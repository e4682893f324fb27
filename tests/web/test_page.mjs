// SPDX-License-Identifier: GPL-3.0-or-later
// node test_page.mjs BUILD SHOTS: every screen over the stand-in server: accessibility in both
// themes, pictures in three sizes, entering, correcting, coming back after a lost connection.
import assert from "node:assert/strict";
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { SCREENS, SIZES, go, openBrowser, openPage } from "./browser.mjs";
import { CHANNELS, LIMITS, makeShot } from "./fixtures.mjs";
import { misplaced, readAxe, smallTargets, violations } from "./measure.mjs";
import { StandIn } from "./stand_in.mjs";

const [build, pictures] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
let n_failed = 0;

async function check(name, run) {
    const server = new StandIn(build);
    const address = await server.open();
    try {
        await run(server, address);
        console.log(`passed: ${name}`);
    } catch (error) {
        n_failed++;
        console.log(`FAILED: ${name}\n${error.stack}`);
    } finally {
        for (const context of browser.contexts()) { await context.close(); }
        server.close();
    }
}

async function openArrow(page, n) {
    await page.click(`li[data-n="${n}"] .arrow-open`);
    await page.waitForSelector(".close-up .event-clicker_s");
}

for (const theme of ["sun", "dusk"]) {
    await check(`no accessibility violation, ${theme}`, async (_, address) => {
        const page = await openPage(browser, address, SIZES[1], theme);
        for (const screen of SCREENS) {
            await go(page, screen);
            assert.deepEqual(await violations(page, axe), [], screen);
        }
        await go(page, "arrows");
        await openArrow(page, 24);
        assert.deepEqual(await violations(page, axe), [], "close-up");
        assert.deepEqual(page.troubles, []);
    });
}

await check("pictures of every screen, nothing wider than the window, targets of 64 px", async (_, address) => {
    for (const size of SIZES) {
        for (const theme of ["sun", "dusk"]) {
            const page = await openPage(browser, address, size, theme);
            for (const screen of SCREENS) {
                await go(page, screen);
                await page.screenshot({ path: join(pictures, `${screen}-${size.join("x")}-${theme}.png`), fullPage: true });
                assert.deepEqual(await misplaced(page), [], `${screen} at ${size}`);
                if (theme === "sun") { assert.deepEqual(await smallTargets(page), [], `${screen} at ${size}`); }
            }
            await go(page, "arrows");
            await openArrow(page, 24);
            await page.waitForTimeout(200);
            await page.screenshot({ path: join(pictures, `close-up-${size.join("x")}-${theme}.png`), fullPage: true });
            await page.context().close();
        }
    }
});

const WARNED = [{ ...LIMITS[0], value: 46, state: "reached" }, LIMITS[1]];
const RESTING = { phase: "rest", force_n: 0.2, hold_s: null, where: null };
const MOMENTS = { holding: {}, resting: RESTING, drawing: { phase: "drawing", hold_s: null, where: null }, "holding long": { hold_s: 12.3, where: "long" },
    "last seconds": { clock: { phase: "warning", left_s: 12.2, format: "team", arrows_left: 2, archer: 2, side: null } },
    "limit reached": { limits: WARNED }, "cable apart": { ...RESTING, is_pulled: true, lost: 37, force_n: null }, "no clock": { ...RESTING, clock: null } };
const FIRST = [".hold-value", ".band-word", ".band-bar", ".clock-left", ".clock-phase", ".limits", ".last-arrow .last"];

/* Where what is read from two metres ends, and the texts that lie over each other. */
const seenFirst = (page) => page.evaluate((wanted) => {
    const boxes = wanted.map((what) => [what, document.querySelector(what).getBoundingClientRect()]);
    const heads = [...document.querySelectorAll(".hold-head > *, .force h2, .force .big")].map((e) => {
        const range = document.createRange();
        range.selectNodeContents(e);
        return range.getBoundingClientRect();
    }).filter((box) => box.width > 0);
    const over = heads.some((p, i) => heads.slice(i + 1).some((q) => Math.min(p.right, q.right) - Math.max(p.left, q.left) > 1 &&
        Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top) > 3));
    return { below: boxes.filter(([, box]) => box.bottom > innerHeight || box.height === 0).map(([what, box]) => `${what} ends at ${box.bottom}`), over };
}, FIRST);

for (const size of SIZES) {
    await check(`what is read from the line is seen without scrolling at ${size.join(" x ")}`, async (server, address) => {
        const page = await openPage(browser, address, size);
        await page.waitForSelector("text=Arrow 24");
        const usual = server.live;
        for (const [name, change] of Object.entries(MOMENTS)) {
            server.live = { ...usual, ...change };
            server.all(server.live);
            await page.waitForTimeout(150);
            await page.screenshot({ path: join(pictures, `line-${name.replaceAll(" ", "-")}-${size.join("x")}.png`) });
            assert.deepEqual(await seenFirst(page), { below: [], over: false }, name);
            assert.deepEqual(await misplaced(page), [], name);
        }
        server.live = usual;
        server.refuses = true;
        server.cut();
        await page.waitForSelector("text=No connection");
        assert.deepEqual(await seenFirst(page), { below: [], over: false }, "no connection");
        // nothing that came before is shown as what is
        assert.equal(await page.textContent(".force-value"), "–");
        assert.equal(await page.textContent(".clock-left"), "–");
        assert.equal(await page.getAttribute(".hold-value", "data-running"), "false");
        assert.deepEqual(await page.locator(".limits strong").allTextContents(), ["UNKNOWN", "UNKNOWN"]);
        assert.deepEqual(page.troubles, []);
    });
}

await check("digits and what stands below them do not jump as the hold goes on", async (server, address) => {
    for (const size of SIZES) {
        const page = await openPage(browser, address, size);
        const places = new Set();
        for (const hold_s of [0.1, 1.1, 4.8, 9.9, 9.97, 10.1, 12.3]) {
            server.live = { ...server.live, hold_s, where: hold_s < 2 ? "short" : hold_s > 3 ? "long" : "inside" };
            server.all(server.live);
            await page.waitForFunction((text) => document.querySelector(".hold-value").textContent === text, hold_s.toFixed(1));
            places.add(await page.evaluate(() => JSON.stringify([".band-bar", ".clock", ".last-arrow"].map((what) => document.querySelector(what).getBoundingClientRect().top))));
            assert.deepEqual(await misplaced(page), [], `${hold_s} s at ${size}`);
        }
        assert.equal(places.size, 1, [...places].join(" | "));
        await page.context().close();
    }
});

/* The channels that a sensor of fingers or of acceleration alone has; the page hears them anew. */
async function withChannels(server, page, wanted, live) {
    const hello = server.hello.bind(server);
    server.hello = (id) => ({ ...hello(id), channels: CHANNELS.filter(wanted) });
    server.wanted = wanted;
    server.live = { ...server.live, ...live };
    await page.reload();
    await page.waitForSelector(".hold-value");
    await page.waitForTimeout(100);
}

/* Thirty seconds, each channel at its first level for a half, then at its second. */
const wave = (server, levels) => server.all({ type: "wave", recording: 1, t0: 770, dt: 0.02, channels: levels.map((level) =>
    ({ lo: Array.from({ length: 1500 }, (_, i) => level[i < 750 ? 0 : 1] - 1), hi: Array.from({ length: 1500 }, (_, i) => level[i < 750 ? 0 : 1] + 1) })) });

/* How far the uppermost ink of the running force lies apart along it, px; no ink at all: null. */
const inkSpan = (page) => page.evaluate(() => {
    const canvas = document.querySelector(".wave canvas");
    const [over, at] = [document.querySelector(".wave .u-over"), canvas].map((e) => e.getBoundingClientRect());
    const image = canvas.getContext("2d").getImageData(over.left - at.left + 2, over.top - at.top, over.width - 4, over.height);
    const tops = Array.from({ length: image.width }, (_, x) => {
        for (let y = 0; y < image.height; y++) {
            const i = 4 * (y * image.width + x);
            if (image.data[i + 3] > 128 && image.data[i] + image.data[i + 1] + image.data[i + 2] < 100) { return y; }
        }
        return null;
    }).filter((top) => top !== null);
    return tops.length < image.width / 2 ? null : Math.max(...tops) - Math.min(...tops);
});

await check("fingers alone: their sum is shown, and said to be that", async (server, address) => {
    const page = await openPage(browser, address);
    await withChannels(server, page, (c) => c.role === "finger_force", {});
    wave(server, [[100, 50], [40, 90], [30, 30]]); // one gives what the other takes: the sum stays
    assert.equal(await page.textContent(".force h2"), "Sum of the fingers");
    await page.waitForFunction(() => document.querySelector(".force-value").textContent === "178");
    assert.equal(await page.textContent(".wave h2"), "Sum of the fingers so far");
    assert.match(await page.textContent(".wave"), /no string sensor: this is the sum of the fingers, some 4 to 7 % above/);
    await page.waitForFunction(() => performance.getEntriesByName("wave-drawn").length > 0);
    await page.waitForTimeout(200);
    const flat = await inkSpan(page);
    assert.ok(flat !== null && flat <= 2, `${flat} px`);
    wave(server, [[100, 50], [40, 40], [30, 30]]);
    await page.waitForTimeout(200);
    assert.ok(await inkSpan(page) > 50, "and what changes is seen to");
    assert.deepEqual(page.troubles, []);
    await page.click("nav button >> nth=1");
    await page.click("li[data-n='24'] .arrow-open");
    await page.waitForSelector(".event-release_s");
    assert.equal(await page.textContent(".close-up .card:has(.event-mark) h3"), "Sum of the fingers");
    assert.ok(await page.locator(".event-clicker_s[role='slider']").count() === 1, "whose events can be corrected");
});

await check("acceleration alone: no force is shown, and it says so", async (server, address) => {
    const page = await openPage(browser, address);
    await withChannels(server, page, (c) => c.role === "bow_acceleration", { ...RESTING, force_n: null, fingers_n: null, limits: [] });
    wave(server, [[5, 5], [7, 7], [9, 9]]);
    assert.equal(await page.textContent(".force h2"), "No force sensor");
    assert.equal(await page.isVisible(".force-value"), false);
    assert.match(await page.textContent(".wave"), /no force sensor: force and hold are unknown/);
    assert.match(await page.textContent(".wave h2"), /Acceleration of the bow/);
    assert.deepEqual(await page.locator(".wave .u-legend .u-label:visible").allTextContents(), ["x", "y", "z"]);
    assert.deepEqual(page.troubles, []);
});

await check("a new arrow appears, and a score is entered", async (server, address) => {
    const page = await openPage(browser, address);
    await page.waitForSelector("text=Arrow 24");
    assert.deepEqual(await page.locator(".last-arrow .code").allTextContents(), ["creep"]);
    assert.match(await page.textContent(".last-arrow .findings"), /shorter by 1.5 mm/);
    server.addShot();
    await page.waitForSelector("text=Arrow 25");
    assert.deepEqual(await page.locator(".last-arrow .code").allTextContents(), []);
    await page.click('[aria-label="Score"] button:text-is("9"):visible');
    await page.waitForSelector("text=Arrow 25: 9.");
    assert.equal(server.shots[24].score, 9);
    await page.fill('form[aria-label="Whole end"]:visible input', "9 eleven");
    await page.click('form[aria-label="Whole end"]:visible button');
    await page.waitForSelector("text=Scores from 0 to 10");
    assert.equal(server.commands.filter((c) => c.do === "end").length, 0);
    await page.fill('form[aria-label="Pain, 0 to 10"]:visible input', "3");
    await page.waitForSelector("text=stop shooting now");
    assert.deepEqual(page.troubles, []);
});

await check("an event is corrected by dragging and by keys, and undone", async (server, address) => {
    const page = await openPage(browser, address);
    await go(page, "arrows");
    await openArrow(page, 24);
    await page.waitForSelector(".close-up .findings .code");
    assert.equal(await page.isVisible(".event-clicker_s"), true);
    await page.selectOption('.close-up label:has-text("In view") select', "all");
    await page.waitForSelector(".event-full_draw_s", { state: "visible" });
    const was = server.shots[23].events.full_draw_s;
    const box = await page.locator(".event-full_draw_s .event-name").boundingBox();
    await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 + 40, box.y + box.height / 2, { steps: 4 });
    await page.mouse.up();
    await page.waitForSelector("text=Undo correction of full draw");
    assert.ok(server.shots[23].events.full_draw_s > was + 0.05);
    await page.click("text=Undo correction of full draw");
    await page.waitForSelector("text=Undo correction of full draw", { state: "detached" });
    assert.equal(server.shots[23].events.full_draw_s, was);
    await page.waitForTimeout(300);
    await page.focus(".event-clicker_s");
    const click = server.shots[23].events.clicker_s;
    for (let i = 0; i < 3; i++) { await page.keyboard.press("ArrowRight"); }
    await page.waitForSelector("text=Undo correction of click");
    assert.ok(Math.abs(server.shots[23].events.clicker_s - click - 0.003) < 1e-6);
    assert.deepEqual(page.troubles, []);
});

const LONG_NAMES = ["Ἀταλάντη Şükriye Ørnulf-Wiśniewska vom Ringofen", "弓引く煉瓦工場の倶楽部の射手である鷺という名の者", "بلشون الرماد العجوز", "W".repeat(60)];
const scrolled = (page) => page.evaluate(() => [...document.querySelectorAll(".scroll")].filter((e) => e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute("aria-label")));

await check("people: the next archer is one press away, however long the names", async (server, address) => {
    const [wren, rook] = server.people;
    server.people = [{ ...rook, name: LONG_NAMES[3], baselines: [], limits: [] }, ...LONG_NAMES.slice(0, 3).map((name) => ({ ...rook, name })),
        { ...wren, baselines: [{ ...wren.baselines[0], n: 2, robust_sd: 0 }, wren.baselines[1]] }];
    for (const size of SIZES) {
        const page = await openPage(browser, address, size);
        await go(page, "people");
        await page.screenshot({ path: join(pictures, `people-long-${size.join("x")}.png`), fullPage: true });
        assert.deepEqual(await misplaced(page), [], `${size}`);
        assert.deepEqual(await smallTargets(page), [], `${size}`);
        assert.deepEqual(await scrolled(page), [], `${size}`);
        assert.deepEqual(await violations(page, axe), []);
        const button = page.locator(`button:text-is("Let ${LONG_NAMES[1]} shoot")`);
        assert.ok((await button.boundingBox()).y + 64 < size[1], "without scrolling");
        assert.equal(await page.textContent(".person h2"), "wren", "who shoots now comes first");
        const usual = await page.locator(".person >> nth=0 >> tbody td").allTextContents();
        assert.deepEqual(usual, ["2.71\u202fs", "–", "2", "0.158\u202fs", "0.021\u202fs", "214"], "two arrows tell of no spread, and figures end where it begins");
        assert.match(await page.textContent(`.person:has(h2:text-is("${LONG_NAMES[3]}"))`), /None yet/);
        assert.equal(await page.locator(".person .limits strong").count(), 0, "what is only a limit has no state");
        await button.click();
        await page.waitForTimeout(200);
        assert.deepEqual({ ...server.commands.at(-1), id: 0 }, { do: "archer", name: LONG_NAMES[1], id: 0 });
        await page.context().close();
    }
});

await check("a session of no, one, two and 150 arrows says what it is", async (server, address) => {
    const all = Array.from({ length: 150 }, (_, i) => makeShot(i + 1));
    for (const [n, size] of [[0, SIZES[0]], [1, SIZES[0]], [2, SIZES[1]], [150, SIZES[1]], [150, SIZES[0]]]) {
        server.shots = all.slice(0, n);
        const page = await openPage(browser, address, size);
        await go(page, "session");
        await page.screenshot({ path: join(pictures, `session-of-${n}-${size.join("x")}.png`), fullPage: true });
        assert.deepEqual(await misplaced(page), [], `${n} arrows`);
        assert.deepEqual(await violations(page, axe), [], `${n} arrows`);
        const text = await page.innerText(".cards");
        assert.match(text, /^wren: 2026-05-14_0930_wren/, "whose it is");
        assert.equal(await page.locator(".cards .plot").count(), n === 0 ? 0 : 4);
        if (n === 0) { assert.match(text, /No arrows in this recording yet\.$/); }
        const parts = await page.locator(".card:has-text('Tremor over') .u-legend .u-label:visible").allTextContents();
        assert.deepEqual(parts, { 0: [], 1: ["all arrows"], 2: ["first half", "last half"], 150: ["first third", "middle third", "last third"] }[n]);
        if (n === 150) { assert.match(text, /Plain line: the middle, 2\.70\u202fs\. Dashed: control limits, 1\.80 to 3\.90\u202fs\. All arrows lie inside\./); }
        assert.equal(text.match(/target band/g)?.length ?? 0, n === 0 ? 0 : 1, "the band once");
        await page.context().close();
    }
});

await check("setting up: every channel is read without pushing the table, zero stands above it", async (_, address) => {
    for (const size of SIZES) {
        const page = await openPage(browser, address, size);
        await go(page, "setup");
        await page.waitForSelector("tr[data-state='dead']");
        assert.deepEqual(await scrolled(page), [], `${size}`);
        const bars = await page.locator(".range-seen").evaluateAll((all) => all.map((e) => [e.getBoundingClientRect(), e.parentElement.getBoundingClientRect()]));
        assert.ok(bars.every(([seen, bar]) => seen.width >= 3.5 && seen.left >= bar.left - 0.5 && seen.right <= bar.right + 0.5), "what was seen is seen");
        const zero = await page.locator('button:text-is("Zero string")').boundingBox();
        assert.ok(zero.y < (await page.locator(".screen:not([hidden]) table").boundingBox()).y);
        await page.context().close();
    }
});

await check("a lost connection is told, comes back and catches up without a gap", async (server, address) => {
    const page = await openPage(browser, address);
    await page.waitForSelector("text=Arrow 24");
    server.refuses = true;
    server.cut();
    await page.waitForSelector("text=No connection");
    server.addShot();
    server.addShot();
    server.refuses = false;
    await page.waitForSelector("text=Arrow 26", { timeout: 20000 });
    await page.waitForSelector("text=No connection", { state: "detached" });
    await go(page, "arrows");
    assert.equal(await page.locator(".arrows li").count(), 26);
});

await check("two viewers: one controls, the other takes over", async (server, address) => {
    const first = await openPage(browser, address);
    await first.waitForSelector("text=You control");
    const second = await openPage(browser, address);
    await second.waitForSelector("text=Another screen controls");
    await second.click('section.clock button:has-text("Start")');
    await second.waitForSelector("text=take control first");
    await second.click("text=Take control");
    await first.waitForSelector("text=Another screen controls");
    await second.click('section.clock button:has-text("Start")');
    await first.waitForSelector("text=come to the line");
});

await check("control comes back to a page whose going is seen late, not to one that let go", async (server, address) => {
    const page = await openPage(browser, address);
    await page.waitForSelector("text=You control");
    server.isSlow = true;
    await page.reload();
    await page.waitForSelector("text=Another screen controls");
    server.controller = null;
    server.all({ type: "control", controller: null });
    await page.waitForSelector("text=You control");
    await page.click("text=Let go of control");
    await page.waitForSelector("text=Nobody controls");
    await page.waitForTimeout(500);
    assert.equal(server.controller, null);
    await page.click("text=Take control");
    await page.waitForSelector("text=You control");
    server.controller = 99;
    server.all({ type: "control", controller: 99 });
    server.controller = null;
    server.all({ type: "control", controller: null });
    await page.waitForTimeout(500);
    assert.equal(server.controller, null, "what another screen had taken is not taken back");
});

/* Notes the tones in place of sounding them: when each begins, and when it is cut off or ends. */
async function listen(page) {
    await page.addInitScript(() => {
        globalThis.tones = [];
        globalThis.AudioContext = class {
            destination = {};
            get currentTime() { return performance.now() / 1000; }
            createOscillator() {
                const tone = { hz: 0, begin: 0, end: 0 };
                return {
                    frequency: { set value(hz) { tone.hz = hz; } }, connect() {},
                    start(at) { tone.begin = at; globalThis.tones.push(tone); }, stop(at) { tone.end = at; },
                    disconnect() { tone.end = Math.min(tone.end, performance.now() / 1000); },
                };
            }
        };
    });
    await page.reload();
    await page.waitForSelector("nav button[aria-current]");
}

const tones = (page) => page.evaluate(() => globalThis.tones);
const signal = (server, strokes, is_before_draws) => server.all({ type: "signal", strokes, is_before_draws });
const turnOn = (page, text) => page.check(`label.check:has-text("${text}") input`);

await check("sounds are off at first, and only who is in charge gives the line's signals", async (server, address) => {
    const page = await openPage(browser, address);
    server.live = { ...server.live, phase: "rest", force_n: 0, hold_s: null };
    await listen(page);
    await page.waitForTimeout(500);
    signal(server, 2, true);
    await page.waitForTimeout(1000);
    assert.deepEqual(await tones(page), []);
    await turnOn(page, "Sounds on");
    signal(server, 2, true);
    signal(server, 3, false); // a stop: for who is in charge
    await page.waitForTimeout(1500);
    const own = await tones(page);
    assert.equal(own.length, 1);
    await turnOn(page, "I am in charge of this line");
    signal(server, 3, false);
    await page.waitForTimeout(2500);
    const line = (await tones(page)).slice(1);
    assert.equal(line.length, 3);
    assert.ok(line.every((tone) => tone.hz < own[0].hz && Math.abs(tone.end - tone.begin - 0.25) < 0.02));
    assert.ok(line[2].begin - line[0].begin > 1.1 && line[2].begin - line[0].begin < 1.6);
    assert.deepEqual(page.troubles, []);
});

await check("a tone that sounds ends as a draw begins, and nothing sounds until the release", async (server, address) => {
    const page = await openPage(browser, address);
    const rest = { ...server.live, phase: "rest", force_n: 0, hold_s: null };
    server.live = rest;
    await listen(page);
    await turnOn(page, "Sounds on");
    await turnOn(page, "I am in charge of this line");
    await page.waitForTimeout(500);
    signal(server, 3, false);
    await page.waitForFunction(() => globalThis.tones.length === 2, null, { polling: 5 });
    server.live = { ...rest, force_n: 12 }; // the string is taken up; the draw is known later
    server.all(server.live);
    await page.waitForTimeout(300);
    server.live = { ...rest, phase: "hold", force_n: 178, hold_s: 1 };
    server.all(server.live);
    await page.waitForTimeout(2500);
    const cut = await tones(page);
    assert.equal(cut.length, 2);
    const lasted = cut[1].end - cut[1].begin;
    console.log(`the tone that sounded lasted ${(1000 * lasted).toFixed(0)} of 250 ms`);
    assert.ok(lasted < 0.2);
    server.live = rest;
    server.all(rest);
    await page.waitForTimeout(2000);
    assert.equal((await tones(page)).length, 5); // the stop, whole
    signal(server, 1, true);
    await page.waitForTimeout(300);
    server.cut(); // what the archer does is not known any more
    await page.waitForTimeout(2500);
    assert.equal((await tones(page)).length, 5);
});

await check("every value of the clock can be changed, and it is halted and handed over", async (server, address) => {
    const page = await openPage(browser, address);
    const last = () => server.commands.filter((command) => command.do === "clock").at(-1);
    assert.equal(await page.isVisible('button:has-text("They begin")'), false);
    await page.click('section.clock button:has-text("Halt")');
    await page.waitForTimeout(200);
    assert.equal(last().action, "halt");
    await page.click('section.clock button:has-text("Stop")');
    await page.click("section.clock summary");
    await page.selectOption('section.clock label:has-text("Format") select', "alternating");
    await page.click('button:has-text("They begin")');
    await page.waitForTimeout(200);
    assert.equal(last().action, "start-other");
    await page.selectOption('section.clock label:has-text("Format") select', "team");
    assert.equal(await page.isVisible('section.clock button:has-text("Hand over")'), true);
    await page.fill('section.clock label:has-text("shooting, s") input', "95");
    await page.click("text=Use these values");
    await page.waitForSelector("text=The clock starts with these values.");
    assert.deepEqual({ ...last(), id: 0 }, { do: "clock", action: "format", format: "team", id: 0, set: { line_up_s: "10", shooting_s: "95",
        warning_s: "30", arrows: "6", archers: "3", arrows_a_turn: "2", turn_signals: "0" } });
    assert.deepEqual(await violations(page, axe), []);
    assert.deepEqual(page.troubles, []);
});

await check("arrows are laid over each other and sorted", async (_, address) => {
    const page = await openPage(browser, address);
    await go(page, "arrows");
    await page.check('li[data-n="24"] input');
    await page.check('li[data-n="23"] input');
    await page.click("text=Lay chosen arrows");
    await page.waitForSelector("text=Arrows 23, 24");
    await page.selectOption('label:has-text("Sort by") select', "score");
    const first = await page.locator(".arrows li .arrow-score").first().textContent();
    assert.equal(first, "score 10");
});

await check("half an hour in view is drawn while more comes", async (server, address) => {
    const page = await openPage(browser, address);
    const channel = (n) => ({ lo: Array.from({ length: n }, (_, i) => 90 + 80 * Math.sin(i / 90)), hi: Array.from({ length: n }, (_, i) => 92 + 80 * Math.sin(i / 90)) });
    await page.selectOption('label:has-text("In view") select', "1800");
    for (let t = 0; t < 1800; t += 200) { server.all({ type: "wave", recording: 1, t0: t, dt: 0.02, channels: Array.from({ length: 7 }, () => channel(10000)) }); }
    await page.waitForTimeout(500);
    let t = 1800;
    const feed = setInterval(() => { server.all({ type: "wave", recording: 1, t0: t, dt: 0.02, channels: Array.from({ length: 7 }, () => channel(2)) }); t += 0.04; }, 20);
    await page.waitForFunction(() => performance.getEntriesByName("wave-drawn").length > 20);
    clearInterval(feed);
});

await browser.close();
console.log(n_failed === 0 ? "web.page: all passed" : `web.page: ${n_failed} failed`);
process.exit(n_failed === 0 ? 0 : 1);
