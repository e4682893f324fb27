// SPDX-License-Identifier: GPL-3.0-or-later
// node test_page.mjs BUILD SHOTS: every screen over the stand-in server: accessibility in both
// themes, pictures in three sizes, entering, correcting, coming back after a lost connection.
import assert from "node:assert/strict";
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { SCREENS, SIZES, go, openBrowser, openPage } from "./browser.mjs";
import { StandIn } from "./stand_in.mjs";

const [build, pictures] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readFileSync(join(build, "node_modules/axe-core/axe.min.js"), "utf8");
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

/* Runs axe by the debugger's way in, which the page's policy does not stop. */
async function violations(page) {
    await page.evaluate(axe);
    const result = await page.evaluate(() => globalThis.axe.run(document, { rules: { "color-contrast-enhanced": { enabled: document.documentElement.dataset.theme === "sun" } } }));
    return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120) + " " + n.failureSummary).join(" | ")}`);
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
            assert.deepEqual(await violations(page), [], screen);
        }
        await go(page, "arrows");
        await openArrow(page, 24);
        assert.deepEqual(await violations(page), [], "close-up");
        assert.deepEqual(page.troubles, []);
    });
}

await check("pictures of every screen, nothing wider than the window, targets of 64 px", async (_, address) => {
    for (const size of SIZES) {
        for (const theme of ["sun", "dusk"]) {
            const page = await openPage(browser, address, size, theme);
            for (const screen of SCREENS) {
                await go(page, screen);
                const over = await page.evaluate(() => document.documentElement.scrollWidth - innerWidth);
                await page.screenshot({ path: join(pictures, `${screen}-${size.join("x")}-${theme}.png`), fullPage: true });
                assert.ok(over <= 0, `${screen} at ${size}: ${over} px too wide`);
                const small = await page.evaluate(() => [...document.querySelectorAll("button, select, .pick, .check")]
                    .filter((e) => e.checkVisibility() && e.getBoundingClientRect().height < 63.5).map((e) => e.outerHTML));
                if (theme === "sun") { assert.deepEqual(small, [], `${screen} at ${size}`); }
            }
            await go(page, "arrows");
            await openArrow(page, 24);
            await page.waitForTimeout(200);
            await page.screenshot({ path: join(pictures, `close-up-${size.join("x")}-${theme}.png`), fullPage: true });
            await page.context().close();
        }
    }
});

await check("a new arrow appears, and a score is entered", async (server, address) => {
    const page = await openPage(browser, address);
    await page.waitForSelector("text=Arrow 24");
    server.addShot();
    await page.waitForSelector("text=Arrow 25");
    await page.fill('form[aria-label="Score"] input', "9");
    await page.click('form[aria-label="Score"] button');
    await page.waitForSelector("text=Saved.");
    assert.equal(server.shots[24].score, 9);
    await page.fill('form[aria-label="Whole end"] input', "9 eleven");
    await page.click('form[aria-label="Whole end"] button');
    await page.waitForSelector("text=Numbers from 0 to 10");
    assert.equal(server.commands.filter((c) => c.do === "end").length, 0);
    await page.fill('form[aria-label="Pain, 0 to 10"] input', "3");
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
    const box = await page.locator(".event-full_draw_s").boundingBox();
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

await check("half an hour in view at 30 frames a second or more", async (server, address) => {
    const page = await openPage(browser, address);
    const channel = (n) => ({ lo: Array.from({ length: n }, (_, i) => 90 + 80 * Math.sin(i / 90)), hi: Array.from({ length: n }, (_, i) => 92 + 80 * Math.sin(i / 90)) });
    await page.selectOption('label:has-text("In view") select', "1800");
    for (let t = 0; t < 1800; t += 200) { server.all({ type: "wave", recording: 1, t0: t, dt: 0.02, channels: Array.from({ length: 7 }, () => channel(10000)) }); }
    await page.waitForTimeout(500);
    let t = 1800;
    const feed = setInterval(() => { server.all({ type: "wave", recording: 1, t0: t, dt: 0.02, channels: Array.from({ length: 7 }, () => channel(2)) }); t += 0.04; }, 20);
    const rate = await page.evaluate(() => new Promise((done) => {
        let n = 0;
        const begin = performance.now();
        const frame = () => {
            n++;
            if (performance.now() - begin > 4000) { done(n / 4); } else { requestAnimationFrame(frame); }
        };
        requestAnimationFrame(frame);
    }));
    clearInterval(feed);
    const drawn = await page.evaluate(() => performance.getEntriesByName("wave-drawn").length);
    console.log(`frames a second with 30 minutes in view: ${rate.toFixed(1)}, waves drawn ${drawn}`);
    assert.ok(drawn > 60);
    assert.ok(rate >= 30);
});

await browser.close();
console.log(n_failed === 0 ? "web.page: all passed" : `web.page: ${n_failed} failed`);
process.exit(n_failed === 0 ? 0 : 1);
