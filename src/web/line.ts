// SPDX-License-Identifier: GPL-3.0-or-later
// "At the line": what is read from two metres in four seconds.
import type { Goal, Limit, Live } from "./api";
import type { App, Screen } from "./app";
import { clockView } from "./clock";
import { button, el, fixed, say } from "./dom";
import { recordingEntries, scorePad } from "./entry";
import { findSource } from "./force";
import type { Sound } from "./sound";
import type { Store } from "./store";
import { wavePlot } from "./wave";
import { words } from "./words.en";

const w = words.line;
const BAND_MARGIN = 0.6; // of the band's width, shown on either side
const WORST_FIRST = ["reached", "unknown", "near", "inside"];
const LONG_S = 9.95; // shown with one digit more

/* Where a hold that is over lay: as the words below the band say it. */
function judge(goal: Goal | null, hold: number | null): "short" | "inside" | "long" | null {
    if (goal === null || hold === null) { return null; }
    return hold < goal.lo_s ? "short" : hold > goal.hi_s ? "long" : "inside";
}

function bandView(): { element: HTMLElement; set: (goal: Goal | null, live: Live | null, hold: number | null) => void } {
    const inside = el("div", { class: "band-inside" });
    const needle = el("div", { class: "band-needle" });
    const bar = el("div", { class: "band-bar", "aria-hidden": "true" }, inside, needle);
    const word = el("p", { class: "band-word" });
    const text = el("p");
    const element = el("div", { class: "band" }, el("div", { class: "band-text" }, word, text), bar);
    const set = (goal: Goal | null, live: Live | null, hold: number | null): void => {
        bar.hidden = goal === null;
        say(text, goal === null ? w.noGoal : w.band(goal.lo_s.toFixed(1), goal.hi_s.toFixed(1)));
        const past = judge(goal, hold);
        say(word, live?.where ? w.where[live.where] : past !== null ? w.was[past] : "");
        if (goal === null) { return; }
        const from = Math.max(0, goal.lo_s - BAND_MARGIN * (goal.hi_s - goal.lo_s));
        const to = goal.hi_s + BAND_MARGIN * (goal.hi_s - goal.lo_s);
        const place = (s: number): string => `${100 * Math.min(1, Math.max(0, (s - from) / (to - from)))}%`;
        inside.style.left = place(goal.lo_s);
        inside.style.right = `calc(100% - ${place(goal.hi_s)})`;
        needle.hidden = hold === null;
        needle.style.left = place(hold ?? 0);
    };
    return { element, set };
}

function fingerView(): { element: HTMLElement; set: (live: Live | null) => void } {
    const names = ["index", "middle", "ring"];
    const bars = names.map((_, i) => {
        const fill = el("div", { class: `finger-fill texture-${i}` });
        const limit = el("div", { class: "finger-limit" });
        const value = el("span", { class: "finger-value" });
        const state = el("span", { class: "finger-state small" });
        const row = el("div", { class: "finger" }, el("span", { class: "finger-name" }, w.finger[i]),
            el("div", { class: "finger-bar", "aria-hidden": "true" }, fill, limit), value, state);
        return { row, fill, limit, value, state };
    });
    const missing = el("p", {}, w.noFingers);
    const element = el("section", { class: "card fingers" }, el("h2", {}, w.fingers), missing, ...bars.map((b) => b.row));
    const set = (live: Live | null): void => {
        const loads = live?.fingers_n ?? null;
        missing.hidden = loads !== null;
        say(missing, live === null ? w.notLinked : w.noFingers);
        const limits = names.map((name) => live?.limits.find((l) => l.what === "finger_peak_n" && l.finger === name));
        const most = Math.max(20, ...(loads ?? []).map((v) => v ?? 0), ...limits.map((l) => (l?.most ?? 0) * 1.15));
        const scale = Math.ceil(most / 20) * 20;
        bars.forEach((bar, i) => {
            const limit = limits[i];
            bar.row.hidden = loads === null && limit === undefined;
            bar.fill.style.width = `${100 * Math.max(0, loads?.[i] ?? 0) / scale}%`;
            bar.limit.hidden = limit?.most == null;
            bar.limit.style.left = `${100 * (limit?.most ?? 0) / scale}%`;
            bar.row.dataset.state = limit?.state ?? "";
            say(bar.value, loads?.[i] == null ? words.unknown : fixed(loads[i], 0, "N"));
            bar.value.toggleAttribute("data-none", loads?.[i] == null);
            say(bar.state, limit === undefined ? ""
                : `${limit.most === null ? "" : `${w.limitMost} ${fixed(limit.most, 0, "N")}: `}${w.state[limit.state]}`);
        });
    };
    return { element, set };
}

/* The worst first: what is reached is never below what is well. */
function limitList(): { element: HTMLElement; set: (limits: Limit[]) => void } {
    const list = el("ul", { class: "limits" });
    const element = el("section", { class: "card limits-card" }, el("h2", {}, w.limits), list);
    let shown = "";
    const set = (limits: Limit[]): void => {
        const sorted = [...limits].sort((a, b) => WORST_FIRST.indexOf(a.state) - WORST_FIRST.indexOf(b.state));
        const rows = sorted.map((l) => ({ state: l.state, text: ` ${l.text}${l.value === null ? "" : w.now(fixed(l.value, 0, l.unit))}` }));
        const text = JSON.stringify(rows);
        if (text === shown) { return; }
        shown = text;
        element.dataset.worst = sorted[0]?.state ?? "none";
        list.replaceChildren(...(rows.length === 0 ? [el("li", {}, w.noLimits)] : rows.map((row) =>
            el("li", { "data-state": row.state }, el("strong", {}, w.state[row.state]), row.text))));
    };
    return { element, set };
}

/* "Force now", and whose: without a string sensor the fingers' sum, without any it is said. */
function forceView(store: Store): { element: HTMLElement; set: (live: Live | null) => void } {
    const title = el("h2");
    const value = el("p", { class: "force-value" }, "–");
    const number = el("div", { class: "big" }, value, el("span", { class: "unit" }, words.unit.newton));
    const element = el("section", { class: "card force" }, title, number);
    const set = (live: Live | null): void => {
        const { kind } = findSource(store.hello?.channels ?? []);
        say(title, w.force[kind]);
        number.hidden = kind === "bow" || kind === "none";
        say(value, fixed(live?.force_n, 0));
    };
    return { element, set };
}

export function lineScreen(app: App, sound: Sound): Screen {
    const store = app.store;
    const hold = el("p", { class: "hold-value" }, "–");
    const holdTitle = el("h2", {}, w.hold);
    const force = forceView(store);
    const phase = el("p", { class: "phase" });
    const last = el("p", { class: "last", "aria-live": "polite" }, w.noArrow);
    const codes = el("span", { class: "codes" });
    const findings = el("ul", { class: "findings" });
    const lastShot = (): number | null => store.list?.shots.filter((s) => s.kind === "shot").pop()?.n ?? null;
    const lastHold = (): number | null => (store.list?.shots.filter((s) => s.kind === "shot").pop()?.measures.hold_time_s ?? null) as number | null;
    const band = bandView();
    const fingers = fingerView();
    const limits = limitList();
    const clock = clockView(app);
    const wave = wavePlot(store);
    const update = (): void => {
        const live = store.isLinked ? store.live : null; // what was is not what is
        const isHeld = live?.phase === "hold";
        const shown = isHeld ? live.hold_s : store.release?.hold_s ?? lastHold();
        say(hold, fixed(shown, 1));
        hold.toggleAttribute("data-none", shown === null);
        hold.toggleAttribute("data-long", shown !== null && shown >= LONG_S);
        hold.dataset.running = String(isHeld);
        say(holdTitle, isHeld || shown === null ? w.hold : w.lastHold);
        force.set(live);
        say(phase, live !== null ? w.phase[live.phase] : store.live !== null ? w.notLinked : "");
        band.set(store.hello?.goal ?? null, live, shown);
        fingers.set(live);
        limits.set(live?.limits ?? (store.live?.limits ?? []).map((l) => ({ ...l, value: null, state: "unknown" as const })));
        clock.set(live, store.live !== null && live === null);
    };
    const tellLast = (): void => {
        const shots = store.list?.shots ?? [];
        const shot = shots[shots.length - 1];
        say(last, shot === undefined ? w.noArrow : shot.sentence);
        const found = shot?.findings ?? [];
        codes.replaceChildren(...found.map((f) => el("span", { class: "code" }, f.code)));
        findings.replaceChildren(...found.map((f) => el("li", {}, f.text)));
    };
    const idle = el("section", { class: "card wide" }, el("p", { class: "last" }, words.choose.none),
        button(words.choose.go, () => app.go("setup")));
    const finish = button(words.entry.finish, () => void app.run({ do: "finish" }), { class: "quiet" });
    store.on(["hello"], () => {
        idle.hidden = store.hello?.is_idle !== true;
        finish.hidden = !idle.hidden;
    });
    store.on(["live", "release", "hello", "shots", "link"], update);
    store.on(["shots"], tellLast);
    store.on(["hello"], clock.greet);
    const element = el("section", { class: "screen line-screen", "aria-label": words.screens.line },
        el("h1", { class: "hidden" }, words.screens.line),
        idle, el("section", { class: "card hold" }, el("div", { class: "hold-head" }, holdTitle, phase),
            el("div", { class: "big" }, hold, el("span", { class: "unit" }, words.unit.seconds)), band.element),
        force.element, clock.element, limits.element,
        el("section", { class: "card last-arrow" }, el("div", { class: "last-head" }, el("h2", {}, w.last), codes), last,
            scorePad(app, lastShot).element, findings),
        fingers.element, el("section", { class: "card wide" }, wave.element),
        el("section", { class: "card wide" }, recordingEntries(app, false),
            finish, sound.switches(app)));
    update();
    /* Here it is always about the arrows that are being shot. */
    const show = (): void => {
        wave.show();
        const current = store.hello?.current ?? null;
        if (current !== null && store.shown !== current) { void store.show(current); }
    };
    return { element, show, hide: wave.hide };
}
