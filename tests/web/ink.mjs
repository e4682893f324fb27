// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a line that a plot shows is the line that every sample would give.

/* Pixels of the first plot's area in sun, a digit each: 0, 1 (of the band between lowest and highest, or
 * what evidence strokes over it) or 2 (of the line itself); the grid and what lies behind it are 0. */
export async function readInk(page, card) {
    return page.evaluate((card) => {
        const canvas = document.querySelector(`${card} canvas`);
        const area = document.querySelector(`${card} .u-over`).getBoundingClientRect();
        const box = canvas.getBoundingClientRect();
        const [left, top] = [Math.round(area.left - box.left), Math.round(area.top - box.top)];
        const [width, height] = [Math.round(area.width), Math.round(area.height)];
        const data = canvas.getContext("2d").getImageData(left, top, width, height).data;
        const ink = [];
        for (let i = 0; i < width * height; i++) {
            const [r, g, b] = [0, 1, 2].map((k) => 255 - (255 - data[4 * i + k]) * data[4 * i + 3] / 255); // on white
            const isLine = Math.max(r, g, b) < 110 && Math.max(r, g, b) - Math.min(r, g, b) < 20;
            const isStroke = Math.max(r, g, b) < 160 || b > r + 20;
            ink.push(isLine ? 2 : isStroke ? 1 : 0);
        }
        return { width, height, ink: ink.join("") };
    }, card);
}

/* Lowest and highest row that has ink of the line. */
export function findRows({ width, ink }) {
    const rows = [...ink].flatMap((value, i) => value === "2" ? [Math.floor(i / width)] : []);
    return { top: rows.reduce((a, b) => Math.min(a, b)), bottom: rows.reduce((a, b) => Math.max(a, b)) };
}

function hasInk({ width, height, ink }, x, y, reach) {
    for (let row = Math.max(0, y - reach); row <= Math.min(height - 1, y + reach); row++) {
        for (let column = Math.max(0, x - reach); column <= Math.min(width - 1, x + reach); column++) {
            if (ink[row * width + column] !== "0") { return true; }
        }
    }
    return false;
}

/* Samples, as [column, row] within the plot's area, that no ink is near. */
export function findLost(seen, samples, reach) {
    return samples.filter(([x, y]) => y >= 0 && y < seen.height && !hasInk(seen, Math.round(x), Math.round(y), reach));
}

/* Pixels of the line that are further than `reach` from what the samples of their columns span; a line that
 * leaves the plot runs along its edge. */
export function findInvented({ width, height, ink }, samples, reach) {
    const least = new Array(width).fill(Infinity);
    const most = new Array(width).fill(-Infinity);
    for (const [x, y] of samples) {
        for (let column = Math.max(0, Math.round(x) - reach); column <= Math.min(width - 1, Math.round(x) + reach); column++) {
            least[column] = Math.min(least[column], y - reach);
            most[column] = Math.max(most[column], y + reach);
        }
    }
    return [...ink].flatMap((value, i) => {
        const [column, row] = [i % width, Math.floor(i / width)];
        return value === "2" && row > reach && row < height - 1 - reach && (row < least[column] || row > most[column]) ? [[column, row]] : [];
    });
}
