// SPDX-License-Identifier: GPL-3.0-or-later
// node test_bell.mjs BUILD: when the tones of signals sound, and that none adds up to another.
import assert from "node:assert/strict";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const build = process.argv[2];
const out = join(build, "test_bell_bundle.mjs");
const { buildSync } = createRequire(join(build, "package.json"))("esbuild");
buildSync({ entryPoints: [fileURLToPath(new URL("../../src/web/bell.ts", import.meta.url))], outfile: out, format: "esm", logLevel: "warning" });
const { Bell, STROKE_S, SILENCE_S } = await import(pathToFileURL(out).href);

const STEP_S = 0.05;

/* Tones of signals asked for at [time, strokes], silent inside [from, until). */
function ring(asked, until_s, pulled = [0, 0]) {
    const bell = new Bell();
    const tones = [];
    let next = 0;
    for (let i = 0; i * STEP_S < until_s; i++) {
        const now_s = i * STEP_S;
        while (next < asked.length && asked[next][0] <= now_s) { bell.ask(asked[next++][1]); }
        if (now_s >= pulled[0] && now_s < pulled[1]) { bell.hush(); } else if (bell.take(now_s)) { tones.push(now_s); }
    }
    assert.ok(bell.isIdle);
    return tones;
}

function near(got, expected) {
    assert.equal(got.length, expected.length, JSON.stringify(got));
    got.forEach((t, i) => assert.ok(Math.abs(t - expected[i]) < 1.5 * STEP_S, `${t} for ${expected[i]}`));
}

near(ring([[0, 2], [10, 1], [130, 3]], 200), [0, 0.6, 10, 130, 130.6, 131.2]);
near(ring([[0, 0], [1, 4]], 20), []);

// A stop that a draw cuts off is silent at once and comes whole; others are not given late.
for (const from of [0.1, 0.7, 1.3]) {
    const tones = ring([[0, 3]], 40, [from, 6]);
    assert.deepEqual(tones.filter((t) => t >= from && t < 6), []);
    assert.equal(tones.filter((t) => t >= 6).length, from > 1.2 ? 0 : 3);
}
near(ring([[1, 3]], 40, [0, 6]), [6, 6.6, 7.2]);
near(ring([[1, 2]], 40, [0, 6]), []);
near(ring([[0, 2]], 40, [0.1, 6]), [0]);

// Whatever is asked for, and however it is cut off, no run of tones is longer than three.
for (let i = 0; i < 400; i++) {
    const tones = ring([[0, 2], [0.01 * i, 3], [0.013 * i, 1], [0.02 * i, 3]], 60, [0.011 * i, 0.011 * i + 0.3]);
    let run = 1;
    for (let k = 1; k < tones.length; k++) {
        const between = tones[k] - tones[k - 1];
        assert.ok(between < STROKE_S + 1.5 * STEP_S || between > SILENCE_S - 1e-9, `${between}`);
        run = between > 1 ? 1 : run + 1;
        assert.ok(run <= 3);
    }
}
console.log("web.bell: all passed");
