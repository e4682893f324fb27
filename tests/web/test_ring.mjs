// SPDX-License-Identifier: GPL-3.0-or-later
// node test_ring.mjs BUILD: the wave's ring keeps peaks, gaps and its bound.
import assert from "node:assert/strict";
import { createRequire } from "node:module";
import { join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const build = process.argv[2];
const out = join(build, "test_ring_bundle.mjs");
const { buildSync } = createRequire(join(build, "package.json"))("esbuild");
buildSync({ entryPoints: [fileURLToPath(new URL("../../src/web/ring.ts", import.meta.url))], outfile: out, format: "esm", logLevel: "warning" });
const { Ring } = await import(pathToFileURL(out).href);

function one(values) { return [{ lo: values.map((v) => v === null ? null : v - 1), hi: values.map((v) => v === null ? null : v + 1) }]; }

const ring = new Ring();
ring.clear(1);
assert.deepEqual(ring.select([0], 0, 1, 10), { t: [], lo: [], hi: [] });

// A peak of one step survives the coarsest view.
const values = new Array(5000).fill(10);
values[3210] = 99;
ring.push(0, 0.02, one(values));
for (const points of [1, 7, 100, 5000]) {
    const columns = ring.select([0], 0, 100, points);
    assert.equal(Math.max(...columns.hi), 100, `peak at ${points} points`);
    assert.ok(columns.t.length <= points + 1);
}

// Sent twice is the same; what is missing is unknown.
const before = ring.select([0], 0, 100, 50);
ring.push(90, 0.02, one(new Array(500).fill(10)));
assert.deepEqual(ring.select([0], 0, 100, 50), before);
ring.push(102, 0.02, one([5]));
assert.deepEqual(ring.select([0], 100.5, 101, 1).hi, [null, null].slice(0, ring.select([0], 100.5, 101, 1).hi.length));

// Half an hour is kept, and no more.
ring.push(3600, 0.02, one([7]));
assert.ok(ring.end_s - ring.start_s <= 1800 + 1e-6);
assert.equal(ring.select([0], 3599, 3601, 100).hi.at(-1), 8);

// A new recording begins anew, also at an earlier time.
ring.push(0, 0.02, one([3]));
assert.equal(ring.start_s, 0);

// What was missed comes in coarser pieces (of 75 ms here) behind what has come since: both are kept, peaks too.
const late = new Ring();
late.clear(1);
late.push(600, 0.02, one([1, 2, 3, 4]));
const missed = new Array(8003).fill(10);
missed[4000] = 99;
late.push(0, 0.075, one(missed));
assert.equal(late.start_s, 0);
assert.ok(Math.abs(late.end_s - 600.22) < 0.011, `ends at ${late.end_s}`);
assert.deepEqual(late.select([0], 600, 600.08, 5).hi, [2, 3, 4, 5]);
assert.equal(Math.max(...late.select([0], 299, 301, 4).hi), 100);
assert.deepEqual(late.select([0], 400, 401, 1).lo, [9]);
late.push(600.08, 0.02, one([6, 7]));
assert.deepEqual(late.select([0], 600, 600.12, 7).hi, [2, 3, 4, 5, 7, 8]);
assert.equal(late.start_s, 0);
// The sum of channels is taken step by step: extremes that do not come together are not added.
const three = new Ring();
three.clear(3);
three.push(0, 0.02, [...one([10, 50, 10, 10]), ...one([20, 20, 70, 20]), ...one([30, 30, 30, null])]);
assert.deepEqual(three.select([0, 1, 2], 0, 0.06, 3), { t: [0, 0.02, 0.04], lo: [57, 97, 107], hi: [63, 103, 113] });
assert.deepEqual(three.select([0, 1, 2], 0, 0.06, 1), { t: [0], lo: [57], hi: [113] });
assert.deepEqual(three.select([0, 2], 0.06, 0.08, 1), { t: [0.06], lo: [null], hi: [null] });
assert.deepEqual(three.select([0, 3], 0, 0.06, 3), { t: [], lo: [], hi: [] });
assert.deepEqual(three.select([], 0, 0.06, 3), { t: [], lo: [], hi: [] });
// Pieces that have become longer than a step do not clear what was there.
late.push(600.4, 0.04, one([5, 6]));
assert.equal(late.start_s, 0);
assert.deepEqual(late.select([0], 600.4, 600.48, 5).hi, [6, 6, 7, 7]);
console.log("web.ring: all passed");
