// SPDX-License-Identifier: GPL-3.0-or-later
// node test_choose.mjs BUILD PICTURES PROGRAM: `stringhand live` without a sensor: what the page
// offers, a wrong port, a wrong profile, another sensor in mid-session, two of them, letting go.
import assert from "node:assert/strict";
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { SIZES, go, openBrowser, openPage, setTheme } from "./browser.mjs";
import { judge, readAxe } from "./measure.mjs";
import { Program, readRecording, waitFor } from "./program.mjs";
import { TextSensor, writeProfile } from "./text_sensor.mjs";

const STRING = [{ role: "string_force", more: "", at: 800, pull: 1, noise: 2 }];
const TAB = ["index", "middle", "ring"].map((finger) => ({ role: "finger_force", more: `finger = ${finger}`, at: 100, pull: 0.3, noise: 2 }));

const [build, pictures, path] = process.argv.slice(2);
mkdirSync(pictures, { recursive: true });
const axe = readAxe(build);
const browser = await openBrowser(build);
const program = new Program(path);
const string = new TextSensor(STRING);
const tab = new TextSensor(TAB);
let isPassed = false;

/* All sizes and both themes of what is shown now. */
async function picture(page, name) {
    for (const size of SIZES) {
        for (const theme of ["sun", "dusk"]) {
            await page.setViewportSize({ width: size[0], height: size[1] });
            await setTheme(page, theme);
            await page.waitForTimeout(150);
            await page.screenshot({ path: join(pictures, `choose-${name}-${size.join("x")}-${theme}.png`), fullPage: true });
            await judge(page, size === SIZES[0] ? axe : null, `choose: ${name}`);
        }
    }
    await page.setViewportSize({ width: SIZES[1][0], height: SIZES[1][1] });
    await setTheme(page, "sun");
}

const slot = (n) => `.slot >> nth=${n}`;
const pick = (page, n, title) => page.click(`${slot(n)} >> .option:has(strong:text-is("${title}"))`);
async function type(page, n, address) {
    await pick(page, n, "Somewhere else");
    await page.fill(`${slot(n)} >> input[maxlength="250"]`, address);
}
const isIdle = (page) => page.waitForSelector("h2:text-is('Choose a sensor to begin')");

/* Chooses once the string rests and the recording is two seconds old. */
async function insist(page, done) {
    await waitFor(async () => {
        await page.click("button.main:enabled", { timeout: 400 }).catch(() => null); // gone, where it was done
        await page.waitForTimeout(400);
        return done();
    }, "change of sensors", 30000);
}

try {
    const home = (name) => program.path("home", "sensors", name);
    mkdirSync(program.path("home", "sensors"), { recursive: true });
    writeFileSync(home("string.ini"), writeProfile("string gauge", "string", STRING));
    writeFileSync(home("bad.ini"), "[sensor]\nkiln = 1\n");
    const at = await string.open();
    const tabAt = await tab.open();
    await program.serve("live");
    const page = await openPage(browser, program.address, SIZES[1], "sun");

    // it opens where the choice is, with the only profile chosen already
    await isIdle(page);
    assert.equal(new URL(page.url()).hash, "#setup");
    await page.waitForSelector("text=string force, 200 times a second (string.ini)");
    await page.waitForSelector("text=bad.ini:2: kiln: no such key in this section");
    assert.ok(await page.isDisabled(".option:has-text('bad.ini') input"));
    assert.ok(await page.isChecked(".option:has-text('string gauge') input"));
    assert.equal(await page.isVisible("h2:text-is('Channels')"), false);
    await go(page, "line");
    await page.waitForSelector("text=No sensor has been chosen: nothing is recorded.");
    await page.click("button:text-is('Set it up')");
    await isIdle(page);

    // what is put into the folder appears by itself, and what was typed stays
    await type(page, 0, "tcp:127.0.0.1:1");
    writeFileSync(home("tab.ini"), writeProfile("finger tab", "tab", TAB).replace("[sensor]", `[sensor]\nport = ${tabAt}`));
    await page.waitForSelector("text=finger loads index, middle, ring, 200 times a second");
    assert.equal(await page.inputValue(`${slot(0)} >> input[maxlength="250"]`), "tcp:127.0.0.1:1");
    await picture(page, "idle");

    // a wrong port: one line, and the choice is still there
    await page.click("button.main");
    await page.waitForSelector(".trouble:has-text('tcp:127.0.0.1:1: cannot connect: Connection refused; start the server, or check the port')");
    await isIdle(page);
    assert.equal(await page.isVisible(".banner .alarm"), false); // not said twice
    await picture(page, "wrong-port");
    await go(page, "line");
    await page.waitForSelector(".banner .alarm:has-text('cannot connect')");
    await go(page, "setup");

    // by the keyboard alone: the address, and Enter
    await page.focus(`${slot(0)} >> input[maxlength="250"]`);
    await page.keyboard.press("Control+a");
    await page.keyboard.type(at);
    await page.keyboard.press("Enter");
    await page.waitForSelector(`text=string gauge · ${at}`);
    await page.waitForSelector("text=It is heard.");
    await page.waitForSelector(".verdict:has-text('The channel is well.')");
    assert.equal(await page.isVisible("form.chooser"), false);
    await waitFor(() => program.recordings().length === 1, "first recording");
    await picture(page, "well");

    // a wrong profile in mid-session: what is to be done is said
    await page.click("button:text-is('Change sensors')");
    assert.equal(await page.textContent("button.main"), "Change to this");
    await pick(page, 0, "finger tab");
    assert.ok(await page.isChecked(`${slot(0)} >> .option:has-text("Where its profile says") input`));
    await type(page, 0, at);
    await insist(page, () => page.isVisible(`text=finger tab · ${at}`));
    await page.waitForSelector(`text=Something comes from ${at}, but nothing that finger tab can read.`, { timeout: 20000 });
    await page.waitForSelector("tr[data-state='none'] td:text-is('nothing yet')");
    await go(page, "line");
    await page.waitForSelector(".banner .alarm:has-text('The sensor sends nothing that can be read')");
    await go(page, "setup");
    await picture(page, "wrong-profile");

    // two side by side, by their profiles: one is where its profile says
    await page.click("button:text-is('Change sensors')");
    await pick(page, 0, "finger tab");
    await pick(page, 0, "Where its profile says");
    await page.click("button:text-is('Add another sensor')");
    assert.ok(await page.isDisabled("button.main"));
    await pick(page, 1, "string gauge");
    await type(page, 1, at);
    await picture(page, "two");
    await insist(page, () => page.isVisible(`text=string gauge · ${at}`));
    await page.waitForSelector(`text=finger tab · ${tabAt}`);
    await page.waitForSelector(".verdict:has-text('All 4 channels are well.')", { timeout: 20000 });
    await waitFor(() => program.recordings().length === 2, "second recording");
    await picture(page, "two-well");

    // somebody's name, then letting go
    await page.click("button:text-is('Who is shooting?')");
    await page.fill("form[aria-label='Somebody new'] input", "heron");
    await page.click("form[aria-label='Somebody new'] button");
    await waitFor(() => program.recordings().length === 3, "recording of another archer");
    await go(page, "setup");
    await page.waitForSelector("text=Recorded for heron.");
    await waitFor(async () => {
        await page.click("button:text-is('Stop and let go of the sensor')", { timeout: 300 }).catch(() => null);
        await page.waitForTimeout(300);
        return page.isVisible("h2:text-is('Choose a sensor to begin')");
    }, "idle program", 30000);

    // next time it is one press: what was chosen last is filled in
    rmSync(home("bad.ini"));
    await page.reload();
    await isIdle(page);
    await page.waitForSelector(".option:has-text('Where its profile says') input:checked");
    await page.click("button:text-is('Leave out sensor 2')");
    await page.click("button:text-is('Begin recording')");
    await page.waitForSelector(`text=finger tab · ${tabAt}`);
    await waitFor(() => program.recordings().length === 4, "last recording");
    await page.waitForSelector(".verdict:has-text('All 3 channels are well.')", { timeout: 20000 });

    // another page controls: this one is told so in a line
    const other = await openPage(browser, program.address, SIZES[0], "dusk", { first: "nav button[aria-current]" });
    await go(other, "setup");
    await other.waitForSelector(`text=finger tab · ${tabAt}`);
    await other.click("button:text-is('Change sensors')");
    await other.click("button.main");
    await other.waitForSelector(".trouble:has-text('in control')");

    assert.deepEqual([...page.troubles, ...other.troubles], []);
    assert.equal(await program.stop(), 0, program.err);
    const kept = program.recordings().map(readRecording).map((r) => [r.athlete, r.streams.map((s) => s.name).join(" ")]);
    assert.deepEqual(kept, [[undefined, "string"], [undefined, "tab string"], ["heron", "tab string"], ["heron", "tab"]]);
    isPassed = true;
} catch (error) {
    console.log(`FAILED: ${error.stack}\n${program.err.slice(-1500)}`);
    for (const context of browser.contexts()) {
        for (const page of context.pages()) { await page.screenshot({ path: join(pictures, "failed-choose.png"), fullPage: true }).catch(() => null); }
    }
} finally {
    await browser.close();
    string.close();
    tab.close();
    await program.close();
}
console.log(isPassed ? "web.choose: all passed" : "web.choose: failed");
process.exit(isPassed ? 0 : 1);
