// SPDX-License-Identifier: GPL-3.0-or-later
// What is measured on a page as the browser shows it: accessibility, contrast, targets, motion.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";

export const CONTRAST_LEAST = { sun: 7, dusk: 4.5 };
export const TARGET_PX = 64;

export function readAxe(build) { return readFileSync(join(build, "node_modules/axe-core/axe.min.js"), "utf8"); }

/* Runs axe by the debugger's way in, which the page's policy does not stop. */
export async function violations(page, axe) {
    await page.evaluate(axe);
    const result = await page.evaluate(() => globalThis.axe.run(document, { rules: { "color-contrast-enhanced": { enabled: document.documentElement.dataset.theme === "sun" } } }));
    return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120) + " " + n.failureSummary).join(" | ")}`);
}

/* The contrast of each piece of text that is seen with what lies behind it (WCAG 2.2, relative
 * luminance): { least, at, n }. */
export function contrasts(page) {
    return page.evaluate(() => {
        const canvas = document.createElement("canvas");
        canvas.width = canvas.height = 1;
        const pen = canvas.getContext("2d", { willReadFrequently: true });
        const parse = (text) => {
            pen.clearRect(0, 0, 1, 1);
            pen.fillStyle = text;
            pen.fillRect(0, 0, 1, 1);
            const [r, g, b, a] = pen.getImageData(0, 0, 1, 1).data;
            return [r, g, b, a / 255];
        };
        const over = (top, under) => [0, 1, 2].map((i) => top[i] * top[3] + under[i] * (1 - top[3]));
        const light = (rgb) => {
            const [r, g, b] = rgb.map((v) => v / 255).map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
            return 0.2126 * r + 0.7152 * g + 0.0722 * b;
        };
        const behind = (element) => {
            const layers = [];
            for (let at = element; at !== null; at = at.parentElement) { layers.push(parse(getComputedStyle(at).backgroundColor)); }
            return layers.reverse().reduce((under, top) => over(top, under), [255, 255, 255]);
        };
        let least = Infinity;
        let at = "";
        let n = 0;
        const measure = (element, ink, what) => {
            const paper = behind(element);
            const a = light(over(parse(ink), paper));
            const b = light(paper);
            const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
            n++;
            if (ratio < least) { least = ratio; at = `${what} ${element.outerHTML.slice(0, 100)}`; }
        };
        const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        while (walker.nextNode()) {
            const element = walker.currentNode.parentElement;
            if (walker.currentNode.textContent.trim() !== "" && element.checkVisibility({ visibilityProperty: true })) {
                measure(element, getComputedStyle(element).color, "text");
            }
        }
        for (const input of document.querySelectorAll("input, select")) {
            if (input.checkVisibility()) {
                measure(input, getComputedStyle(input).color, "entry");
                if (input.placeholder) { measure(input, getComputedStyle(input, "::placeholder").color, "placeholder"); }
            }
        }
        for (const plot of document.querySelectorAll("canvas")) {
            if (plot.checkVisibility()) {
                for (const ink of ["--ink", "--accent", "--warn"]) { measure(plot, getComputedStyle(document.documentElement).getPropertyValue(ink), "plot"); }
            }
        }
        return { least, at, n };
    });
}

/* What can be pressed, dragged or typed into and is smaller than asked for, either way. */
export function smallTargets(page, least_px = TARGET_PX) {
    return page.evaluate((least) => {
        const all = [...document.querySelectorAll("button, select, a[href], input, [role=slider], summary")].filter((e) => e.checkVisibility());
        const box = (e) => (e.matches("input[type=checkbox], input[type=radio]") ? e.closest("label") : e.querySelector(":scope > .event-name") ?? e).getBoundingClientRect();
        return all.map((e) => ({ html: e.outerHTML.slice(0, 120), width: box(e).width, height: box(e).height }))
            .filter((e) => e.width < least - 0.5 || e.height < least - 0.5);
    }, least_px);
}

/* Parts of what is shown that overlap, stick out of the window or are cut off. */
export function misplaced(page) {
    return page.evaluate(() => {
        const found = [];
        const over = document.documentElement.scrollWidth - innerWidth;
        if (over > 0) { found.push(`${over} px too wide`); }
        const seen = (e) => e.checkVisibility() && e.getBoundingClientRect().width > 0;
        for (const e of document.querySelectorAll("button, .option, .trouble, .sensor, .last, .hold-value, .force-value, .clock-left, .unit, h2, h3, .code, .finger-value, .event-name")) {
            if (!seen(e) || e.closest(".scroll")) { continue; }
            const box = e.getBoundingClientRect();
            if (e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0) { found.push(`cut off: ${e.outerHTML.slice(0, 100)}`); }
            if (box.left < -1 || box.right > innerWidth + 1) { found.push(`sticks out: ${e.outerHTML.slice(0, 100)}`); }
        }
        const targets = [...document.querySelectorAll("button, select, input:not([type=checkbox]):not([type=radio]), label.pick, label.check, label.option, .event-name")].filter(seen);
        targets.forEach((a, i) => targets.slice(i + 1).forEach((b) => {
            if (a.contains(b) || b.contains(a)) { return; }
            const [p, q] = [a.getBoundingClientRect(), b.getBoundingClientRect()];
            const wide = Math.min(p.right, q.right) - Math.max(p.left, q.left);
            const high = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
            if (wide > 1 && high > 1) { found.push(`overlap: ${a.outerHTML.slice(0, 80)} with ${b.outerHTML.slice(0, 80)}`); }
        }));
        return found;
    });
}

/* Everything of one screen in the theme that is shown; accessibility where axe is given. */
export async function judge(page, axe, name) {
    const theme = await page.evaluate(() => document.documentElement.dataset.theme);
    if (axe !== null) { assert.deepEqual(await violations(page, axe), [], `axe: ${name}, ${theme}`); }
    const contrast = await contrasts(page);
    assert.ok(contrast.n > 3, `${name}: nothing to measure`);
    assert.ok(contrast.least >= CONTRAST_LEAST[theme], `${name}, ${theme}: contrast ${contrast.least.toFixed(2)} of ${contrast.at}`);
    if (theme === "sun") { assert.deepEqual(await smallTargets(page), [], `targets: ${name}`); }
    assert.deepEqual(await misplaced(page), [], `${name}, ${theme}`);
    assert.equal(await page.evaluate(() => document.getAnimations().length), 0, `${name} moves`);
    return contrast.least;
}
