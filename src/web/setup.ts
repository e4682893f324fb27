// SPDX-License-Identifier: GPL-3.0-or-later
// "Setting up": which sensor and where, raw counts, noise, range, zero.
import { read } from "./api";
import type { SensorRow, Sensors } from "./api";
import type { App, Screen } from "./app";
import { chooser } from "./choose";
import { button, el, fixed, say } from "./dom";
import { words } from "./words.en";

const w = words.setup;
const SEEN_LEAST_PX = 4;
const REFRESH_MS = 2000; // a cable that is put in shows by itself

function rangeBar(row: SensorRow): HTMLElement {
    const seen = el("div", { class: "range-seen" });
    if (row.range !== null && row.span !== null) {
        const width = row.range[1] - row.range[0];
        const [from, to] = row.span.map((v) => 100 * (v - (row.range as [number, number])[0]) / width);
        seen.style.left = `min(${from}%, 100% - ${SEEN_LEAST_PX}px)`; // what never moved is seen, too
        seen.style.right = `max(0px, min(${100 - to}%, ${100 - from}% - ${SEEN_LEAST_PX}px))`;
    }
    return el("div", { class: "range-bar", "aria-hidden": "true" }, seen);
}

function channelRow(row: SensorRow): HTMLElement {
    const name = [row.role.replaceAll("_", " "), row.finger ?? row.axis ?? ""].filter((part) => part !== "").join(", ");
    const pair = (v: [number, number] | null): string => v === null ? words.unknown : `${fixed(v[0], 0)} … ${fixed(v[1], 0)}`;
    return el("tr", { "data-state": row.raw === null ? "none" : row.state }, el("th", { scope: "row" }, name),
        el("td", {}, row.raw === null ? w.nothing : el("strong", {}, w.states[row.state])), el("td", { "data-label": w.raw }, fixed(row.raw, 0)),
        el("td", { "data-label": w.noise }, fixed(row.noise_counts, 1)), el("td", { "data-label": w.seen }, pair(row.span), row.span === null ? null : rangeBar(row)),
        el("td", { "data-label": w.range }, pair(row.range)));
}

/* One line for all channels, which can be read from the bow. */
function summary(rows: SensorRow[]): { text: string; isWell: boolean } {
    const n = rows.filter((row) => row.state !== "ok").length;
    if (rows.some((row) => row.raw === null)) { return { text: w.waiting, isWell: false }; }
    return { text: n === 0 ? w.allWell(rows.length) : w.someNot(n, rows.length), isWell: n === 0 };
}

/* What is read now, and whether anything comes from it. */
function currentRow(app: App, current: Sensors["current"][number]): HTMLElement {
    const name = current.profile === "" ? current.id.replace(/^.*\//, "") : current.profile;
    return el("div", { class: "sensor", "data-hearing": current.hearing }, el("p", { class: "last" }, `${name} · ${current.address}`),
        el("p", {}, w.hearing[current.hearing](name, current.address)),
        ...current.zeroed.map((stream) => el("div", { class: "row zeroed" }, el("p", {}, w.zeroed(stream)),
            button(w.ownZero(stream), () => void app.run({ do: "zero", stream, to: "profile" }), { class: "quiet" }))));
}

/* Which sensor: as long as there is none the choice is all there is. */
function sensorCard(app: App): { element: HTMLElement; set: (sensors: Sensors) => void; greet: () => void } {
    const choose = chooser(app);
    const title = el("h2", { class: "last" });
    const rows = el("div");
    const other = button(w.other, () => setOpen(!isOpen), { "aria-expanded": "false" });
    const stop = button(w.stop, () => void app.run({ do: "sensor", sensors: [] }), { class: "quiet" });
    const keys = el("div", { class: "row" }, other, stop);
    const who = el("p");
    const name = button(w.name, () => app.go("people"), { class: "quiet" });
    let isIdle: boolean | null = null;
    let isOpen = false;
    let shown = "";
    const setOpen = (is: boolean): void => {
        isOpen = is;
        other.setAttribute("aria-expanded", String(is));
        say(other, is ? w.keep : w.other);
        choose.open(is);
    };
    const greet = (): void => {
        const hello = app.store.hello;
        if (hello === null) { return; }
        if (hello.is_idle !== isIdle) {
            isIdle = hello.is_idle;
            say(title, isIdle ? w.chooseSensor : w.sensor);
            keys.hidden = isIdle;
            setOpen(isIdle);
        }
        say(who, hello.athlete === "" ? w.nobody : w.who(hello.athlete));
        choose.greet();
    };
    const set = (sensors: Sensors): void => {
        const state = JSON.stringify(sensors.current);
        if (state !== shown) {
            shown = state;
            rows.replaceChildren(...sensors.current.map((current) => currentRow(app, current)));
            rows.hidden = sensors.current.length === 0;
        }
        choose.set(sensors);
    };
    choose.element.addEventListener("chosen", () => setOpen(false));
    const element = el("section", { class: "card stack" }, title, rows, keys, choose.element, el("div", { class: "row who" }, who, name));
    return { element, set, greet };
}

export function setupScreen(app: App): Screen {
    const store = app.store;
    const sensor = sensorCard(app);
    const rows = el("tbody");
    const zero = el("div", { class: "row" });
    const state = el("p", { class: "verdict", role: "status" }, w.waiting);
    let isShown = false;
    const watch = (): void => {
        if (!store.isReview && store.isLinked) { void app.run({ do: "watch", what: "sensor", on: isShown }); }
    };
    const load = async (isQuiet: boolean): Promise<void> => {
        if (!isShown || store.isReview) { return; }
        const sensors = await read<Sensors>("/api/sensors").catch((error: Error) => {
            if (!isQuiet) { app.notice(error.message); }
            return null;
        });
        if (sensors !== null) { sensor.set(sensors); }
    };
    window.setInterval(() => { if (store.isLinked && document.visibilityState === "visible") { void load(true); } }, REFRESH_MS);
    const begin = (): void => {
        if (!isShown || store.isReview) { return; }
        watch();
        void load(false);
    };
    store.on(["hello"], () => {
        sensor.greet();
        channels.hidden = store.hello?.is_idle === true;
        if (channels.hidden) { say(state, w.waiting); rows.replaceChildren(); }
        begin();
    });
    let hearing = "";
    store.on(["live"], () => {
        if (store.live?.hearing !== hearing) {
            hearing = store.live?.hearing ?? "";
            void load(true);
        }
    });
    store.on(["sensor"], () => {
        const verdict = summary(store.sensor);
        say(state, verdict.text);
        state.dataset.well = String(verdict.isWell);
        const streams = [...new Set(store.sensor.filter((row) => row.role.endsWith("_force")).map((row) => row.stream))];
        if (streams.join() !== zero.dataset.streams) { // buttons stay under the finger that presses them
            zero.dataset.streams = streams.join();
            zero.replaceChildren(...streams.map((stream) => button(w.zero(stream), () => void app.run({ do: "zero", stream }))));
        }
        rows.replaceChildren(...store.sensor.map(channelRow));
    });
    const head = el("tr", {}, ...[w.channel, w.state, w.raw, w.noise, w.seen, w.range].map((text) => el("th", { scope: "col" }, text)));
    const channels = el("section", { class: "card live-only" }, el("h2", {}, w.channels), state, el("p", {}, w.zeroHint), zero,
        el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": w.channels },
            el("table", {}, el("thead", {}, head), rows)));
    const element = el("section", { class: "screen stack", "aria-label": words.screens.setup }, el("h1", { class: "hidden" }, words.screens.setup),
        el("div", { class: "caution" }, el("p", {}, w.draw), el("p", {}, w.cable)), sensor.element, channels);
    return { element, show: () => { isShown = true; begin(); }, hide: () => { isShown = false; watch(); } };
}
