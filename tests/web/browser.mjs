// SPDX-License-Identifier: GPL-3.0-or-later
// Debian's chromium, driven by playwright-core out of the build folder.
import { existsSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const CHROMIUM = process.env.STRINGHAND_CHROMIUM ?? "/usr/bin/chromium";

const PATIENCE_MS = 15000;

export const SIZES = [[390, 844], [820, 1180], [1440, 900]];
export const SCREENS = ["line", "arrows", "session", "people", "setup"];
export const REVIEW_SCREENS = ["arrows", "session", "people"];

export async function openBrowser(build) {
    if (!existsSync(CHROMIUM)) {
        console.error("web: chromium is missing; install it: apt-get install chromium");
        process.exit(1);
    }
    const { chromium } = createRequire(join(build, "package.json"))("playwright-core");
    const args = process.getuid() === 0 ? ["--no-sandbox"] : [];
    return chromium.launch({ executablePath: CHROMIUM, args });
}

/* A page of a given size that fails the test where the page throws or the policy refuses something;
 * `prepare` runs in it before its own script. */
export async function openPage(browser, address, [width, height] = SIZES[2], theme = "sun",
    { first = "nav button[aria-current]", prepare = () => {}, ...more } = {}) {
    const context = await browser.newContext({ viewport: { width, height }, reducedMotion: "reduce", bypassCSP: false, ...more });
    await context.addInitScript((wanted) => localStorage.setItem("theme", wanted), theme);
    await context.addInitScript(prepare);
    context.setDefaultTimeout(PATIENCE_MS);
    const page = await context.newPage();
    page.troubles = [];
    page.on("pageerror", (error) => page.troubles.push(String(error)));
    page.on("console", (line) => {
        if (line.type() === "error" && !/WebSocket|404|ERR_/.test(line.text())) { page.troubles.push(line.text()); }
    });
    await page.goto(address);
    await page.waitForSelector(first);
    return page;
}

/* One theme or the other, by the page's own button. */
export async function setTheme(page, theme) {
    const now = await page.evaluate(() => document.documentElement.dataset.theme);
    if (now !== theme) { await page.click(`button:text-is("${theme === "sun" ? "Sun" : "Dusk"} colours")`); }
    await page.waitForSelector(`html[data-theme="${theme}"]`);
}

export async function go(page, screen) {
    await page.click(`nav button[data-name="${screen}"]`);
    await page.waitForTimeout(350);
}
