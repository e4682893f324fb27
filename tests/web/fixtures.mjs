// SPDX-License-Identifier: GPL-3.0-or-later
// An invented evening at the brickworks, shaped as docs/live.md says.

export const CHANNELS = [
    { stream: "string", role: "string_force", axis: null, finger: null, unit: "N", rate_hz: 1000, range: [-400, 400] },
    ...["index", "middle", "ring"].map((finger) => ({ stream: "string", role: "finger_force", axis: null, finger, unit: "N", rate_hz: 1000, range: [0, 150] })),
    ...["x", "y", "z"].map((axis) => ({ stream: "bow", role: "bow_acceleration", axis, finger: null, unit: "m/s2", rate_hz: 3200, range: [-160, 160] })),
];

export const LIMITS = [
    { what: "finger_peak_n", finger: "ring", value: 41, most: 45, least: null, unit: "N", state: "near", text: "ring finger, largest force: at most 45 N a shot, set by hand clinic" },
    { what: "finger_impulse_n_s", finger: "ring", value: null, most: 900, least: null, unit: "N s", state: "unknown", text: "ring finger, impulse: at most 900 N s a day, set by hand clinic" },
];

export function makeShot(n) {
    const release = 30 * n;
    const hold = 2.2 + 0.9 * Math.abs(Math.sin(n * 1.7));
    const isCreep = n % 3 === 0;
    return {
        n, kind: n % 11 === 10 ? "let-down" : "shot",
        events: { draw_start_s: release - hold - 1.3, full_draw_s: release - hold, clicker_s: release - 0.16, release_s: release, end_s: release + 0.6 },
        measures: { hold_time_s: hold, finger_share: [0.41, 0.4, 0.19] }, quality: [], changed: [],
        findings: isCreep ? [{ code: "creep", text: "The draw got shorter by 1.5 mm (2u 0.3 mm) before the click.", value: 0.6, value_u: 0.06, threshold: 0.5, basis: "fixed", unusual: null }] : [],
        score: n % 4 === 0 ? null : 10 - n % 3,
        sentence: isCreep ? `Held ${hold.toFixed(1)} s; the draw got shorter by 1.5 mm before the click.` : `Held ${hold.toFixed(1)} s, nothing stands out.`,
        corrected: [], notes: [],
    };
}

function forceAt(shot, t) {
    const e = shot.events;
    if (t < e.draw_start_s) { return 0; }
    if (t < e.full_draw_s) { return 178 * (t - e.draw_start_s) / (e.full_draw_s - e.draw_start_s); }
    if (t < e.release_s) { return 178 + 1.2 * (t - e.full_draw_s) + 0.4 * Math.sin(50 * t); }
    return t < e.release_s + 0.015 ? 90 : 6 * Math.exp(-8 * (t - e.release_s)) * Math.cos(200 * t);
}

export function makeTrace(shot, query) {
    const align = query.get("align") ?? "release";
    const align_s = shot.events[`${align}_s`];
    const from = Number(query.get("from") ?? -5);
    const to = Number(query.get("to") ?? 1.5);
    const points = Number(query.get("points") ?? 1500);
    const t = Array.from({ length: points }, (_, i) => from + (to - from) * i / (points - 1));
    const make = (channel) => {
        const scale = { index: 0.41, middle: 0.4, ring: 0.19 }[channel.finger] ?? 1;
        const value = channel.role === "bow_acceleration"
            ? t.map((x) => x + align_s > shot.events.release_s ? 90 * Math.exp(-9 * (x + align_s - shot.events.release_s)) * Math.sin(240 * x) : 0.2 * Math.sin(60 * x))
            : t.map((x) => scale * forceAt(shot, x + align_s));
        return { ...channel, range: undefined, t, lo: value.map((v) => v - 0.3), hi: value.map((v) => v + 0.3) };
    };
    const events = Object.fromEntries(Object.entries(shot.events).map(([key, v]) => [key, v - align_s]));
    const evidence = shot.findings.map((f) => ({ code: f.code, from: events.clicker_s - 0.9, to: events.clicker_s - 0.1, v_from: 180.4, v_to: 179.2, text: f.text, role: "string_force", unit: "N" }));
    return { n: shot.n, align, align_s, channels: CHANNELS.map(make), events, evidence,
        trend: { role: "string_force", t: [events.clicker_s - 1.05, events.clicker_s - 0.05], v: [180.4, 179.3] } };
}

export function makeSpectrum(n) {
    const f = Array.from({ length: 120 }, (_, i) => 0.25 * (i + 1));
    const density = f.map((x) => 0.002 + 0.05 * Math.exp(-((x - 9) ** 2) / 4) * (1 + 0.1 * (n % 5)));
    return { n, f_hz: f, density };
}

export function makeSession(shots) {
    const n = shots.map((s) => s.n);
    const value_s = shots.map((s) => s.measures.hold_time_s);
    const t_s = shots.map((s) => s.events.release_s);
    const has = n.length >= 2;
    const chart = (mean, lo, hi, values) => ({ t_s, n, value_s: values, mean: has ? mean : null, lo: has ? lo : null, hi: has ? hi : null, outside: [] });
    return {
        hold: chart(2.7, 1.8, 3.9, value_s),
        setup: chart(8.6, 6.4, 11.3, value_s.map((v) => 6 + v)),
        spectra: shots.map((s) => makeSpectrum(s.n)), shares: { n, index: n.map((i) => 0.41 + 0.01 * Math.sin(i)), middle: n.map(() => 0.4), ring: n.map((i) => 0.19 - 0.01 * Math.sin(i)), u: n.map(() => [0.01, 0.01, 0.01]) },
        in_band: n.length === 0 ? null : { from_s: 2, to_s: 3, share: 0.75, lo: 0.55, hi: 0.88, n: n.length },
        sentences: n.length < 2 ? ["Too few arrows for limits: two are needed."]
            : [`${n.length} arrows were held, most of them 1.80 to 3.90 s (limits of a steady series); none lies outside.`],
    };
}

const baseline = { measure: "hold_time_s", unit: "s", median: 2.71, robust_sd: 0.31, n: 214 };
const round = (name, kind, values) => ({ name, kind, line_up_s: 10, shooting_s: 120, warning_s: 30, arrows: 3, archers: 1,
    arrows_a_turn: 0, turn_signals: 0, ...values });
export const ROUNDS = [round("three in two minutes", "end", {}),
    round("alternating", "alternating", { shooting_s: 20, warning_s: 0, turn_signals: 1 }),
    round("team", "end", { arrows: 6, archers: 3, arrows_a_turn: 2 })];
export const PEOPLE = ["wren", "rook", "heron", "teal"].map((name, i) => ({ name, n_shots: 214 - 30 * i, n_recordings: 9 - i, last: "2026-05-14",
    baselines: [baseline, { measure: "clicker_reaction_s", unit: "s", median: 0.158, robust_sd: 0.021, n: 214 }], limits: i === 0 ? LIMITS : [], goal: { lo_s: 2, hi_s: 3, set_by: "coach" } }));

const profile = (id, file, name, streams, error = null) => ({ id, file, name, port: null, streams, error });
export const SENSORS = { ports: [{ address: "usb:KILN01", path: "/dev/ttyUSB0", about: "USB serial" }, { address: "/dev/ttyS0", path: "/dev/ttyS0", about: "ttyS0" }],
    may_type: ["usb:"], most: 8,
    profiles: [profile("home/bridge.ini", "bridge.ini", "bridge", [{ rate_hz: 1000, channels: CHANNELS.slice(0, 4) }, { rate_hz: 3200, channels: CHANNELS.slice(4) }]),
        profile("home/old.ini", "old.ini", "", [], "old.ini:7: scale: give a number other than 0")],
    current: [{ id: "home/bridge.ini", address: "usb:KILN01", profile: "bridge", hearing: "well", zeroed: [] }] };
export const SENSOR_ROWS = CHANNELS.map((c, i) => ({ ...c, unit: undefined, raw: 812 + i, noise_counts: 2.5, range: [-32768, 32767], span: [[700, 15900], [700, 700], [32767, 32767], [-32768, -32768]][i % 4], state: ["ok", "ok", "noisy", "dead", "ok", "reversed", "at-range"][i] }));
