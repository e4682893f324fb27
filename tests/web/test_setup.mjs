// SPDX-License-Identifier: GPL-3.0-or-later
// node test_setup.mjs BUILD PICTURES PROGRAM: `stringhand live --listen` before a sensor whose
// channels are well, dead, noisy, the wrong way round and at their range: pairing, and what the
// page says of each.
import assert from "node:assert/strict";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { SIZES, go, openBrowser, openPage, setTheme } from "./browser.mjs";
import { judge, readAxe } from "./measure.mjs";
import { Program, waitFor } from "./program.mjs";
import { TextSensor, writeProfile } from "./text_sensor.mjs";

/* Role, the page's words, and the counts at rest and per count of pull, with noise. */
const CHANNELS = [
    { role: "string_force", more: "", row: "string force", state: "ok", at: 800, pull: 1, noise: 2 },
    { role: "finger_force", more: "finger = index", row: "finger force, index", state: "dead", at: 100, pull: 0, noise: 0 },
    { role: "finger_force", more: "finger = middle", row: "finger force, middle", state: "noisy", at: 100, pull: 0.3, noise: 400 },
    { role: "finger_force", more: "finger = ring", row: "finger force, ring", state: "reversed", at: 5000, pull: -0.6, noise: 2 },
    { role: "bow_acceleration", more: "axis = x", row: "bow acceleration, x", state: "at-range", at: 32767, pull: 0, noise: 0 },
];

const [build, pictures, path] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
const program = new Program(path);
const bench = new TextSensor(CHANNELS);
let isPassed = false;
try {
    writeFileSync(program.path("bench.ini"), writeProfile("bench of five", "string", CHANNELS));
    const port = await bench.open();
    await program.serve("live", "--sensor", program.path("bench.ini"), "--port", port, "--athlete", "wren", "--listen");
    const code = await waitFor(() => /code for the page: (\d{6})/.exec(program.err)?.[1], "code");
    const page = await openPage(browser, program.address, SIZES[1], "sun", { first: "form.card" });
    await page.fill("form.card input", code === "123456" ? "123457" : "123456");
    await page.click("form.card button");
    await page.waitForSelector("text=That was not the code.");
    await judge(page, axe, "pairing, refused");
    await page.fill("form.card input", program.code());
    await page.click("form.card button");
    await page.waitForSelector("text=Others on this network can read this page");
    await go(page, "setup");
    await page.waitForSelector(`text=bench of five · ${port}`);
    const row = (c) => `tr:has(th:text-is("${c.row}"))`;
    for (const c of CHANNELS) {
        await page.waitForSelector(`${row(c)}[data-state="${c.state}"]`, { timeout: 60000 });
        const words = { ok: "ok", dead: "DEAD: it does not change", noisy: "NOISY", reversed: "REVERSED", "at-range": "AT ITS RANGE" };
        assert.equal(await page.textContent(`${row(c)} strong`), words[c.state]);
    }
    const raw = Number((await page.textContent(`${row(CHANNELS[1])} td >> nth=1`)).replace("−", "-"));
    assert.equal(raw, 100, "raw counts are the sensor's own");
    await page.waitForSelector('.verdict:text-is("4 of 5 channels need a look.")', { timeout: 60000 });
    const noise = Number(await page.textContent(`${row(CHANNELS[2])} td >> nth=2`));
    assert.ok(noise > 100 && noise < 500, `noise ${noise} counts`);
    for (const size of SIZES) {
        for (const theme of ["sun", "dusk"]) {
            await page.setViewportSize({ width: size[0], height: size[1] });
            await setTheme(page, theme);
            await page.waitForTimeout(200);
            await page.screenshot({ path: join(pictures, `setup-faults-${size.join("x")}-${theme}.png`), fullPage: true });
            await judge(page, size === SIZES[1] ? axe : null, "setup");
        }
    }
    // the two that pull the other way, or nothing, have no zero of their own: one button, all forces
    bench.manner = "works";
    await page.waitForTimeout(3000);
    for (let i = 0; i < 5; i++) { // wherever the pull is
        await page.click("text=Zero string");
        await page.waitForSelector("text=/it moves|the string is pulled/");
        await page.waitForTimeout(700);
    }
    assert.equal(program.recordings().length, 1, "no zero of a string that is pulled");
    bench.manner = "rests";
    await waitFor(async () => {
        await page.click("text=Zero string");
        await page.waitForTimeout(500);
        return program.recordings().length === 2;
    }, "recording with the new zero", 60000);
    // that it is one set at the line is said, with the way back
    await page.waitForSelector(".zeroed:has-text('The zero of string is one set at the line')");
    for (const size of SIZES) {
        await page.setViewportSize({ width: size[0], height: size[1] });
        await page.waitForTimeout(150);
        await page.screenshot({ path: join(pictures, `setup-zeroed-${size.join("x")}.png`), fullPage: true });
        await judge(page, size === SIZES[0] ? axe : null, "setup: zeroed");
    }
    await waitFor(async () => {
        await page.click("text=Profile's zero for string", { timeout: 300 }).catch(() => null); // gone, where it was done
        await page.waitForTimeout(500);
        return program.recordings().length === 3;
    }, "recording with the profile's zero", 60000);
    await page.waitForSelector(".zeroed", { state: "detached" });
    // what was wrong is found again behind another zero
    await page.waitForTimeout(3000); // it stands where nobody pulls
    bench.manner = "now and then";
    await page.waitForSelector(`${row(CHANNELS[3])}[data-state="reversed"]`, { timeout: 60000 });
    await page.waitForSelector(`${row(CHANNELS[0])}[data-state="ok"]`, { timeout: 60000 });
    assert.deepEqual(page.troubles.filter((trouble) => !/ 40[13] /.test(trouble)), []); // before it was paired
    assert.equal(await program.stop(), 0, program.err);
    isPassed = true;
} catch (error) {
    console.log(`FAILED: ${error.stack}\n${program.err.slice(-1500)}`);
    for (const context of browser.contexts()) {
        for (const page of context.pages()) { await page.screenshot({ path: join(pictures, "failed-setup.png"), fullPage: true }).catch(() => null); }
    }
} finally {
    await browser.close();
    bench.close();
    await program.close();
}
console.log(isPassed ? "web.setup: all passed" : "web.setup: failed");
process.exit(isPassed ? 0 : 1);
