// SPDX-License-Identifier: GPL-3.0-or-later
// "Setting up": port, kind of sensor, raw counts, noise, range, zero.
import { read } from "./api";
import type { SensorRow, Sensors } from "./api";
import type { App, Screen } from "./app";
import { button, el, fixed } from "./dom";
import { words } from "./words.en";

const w = words.setup;

function rangeBar(row: SensorRow): HTMLElement {
    const seen = el("div", { class: "range-seen" });
    if (row.range !== null && row.span !== null) {
        const width = row.range[1] - row.range[0];
        seen.style.left = `${100 * (row.span[0] - row.range[0]) / width}%`;
        seen.style.right = `${100 * (row.range[1] - row.span[1]) / width}%`;
    }
    return el("div", { class: "range-bar", "aria-hidden": "true" }, seen);
}

function channelRow(row: SensorRow): HTMLElement {
    const name = [row.role.replaceAll("_", " "), row.finger ?? row.axis ?? ""].filter((part) => part !== "").join(", ");
    const pair = (v: [number, number] | null): string => v === null ? words.unknown : `${fixed(v[0], 0)} … ${fixed(v[1], 0)}`;
    return el("tr", { "data-state": row.state }, el("th", { scope: "row" }, name),
        el("td", {}, el("strong", {}, w.states[row.state])), el("td", { "data-label": w.raw }, fixed(row.raw, 0)),
        el("td", { "data-label": w.noise }, fixed(row.noise_counts, 1)), el("td", { "data-label": w.seen }, pair(row.span), rangeBar(row)),
        el("td", { "data-label": w.range }, pair(row.range)));
}

/* What is read now. Another sensor wants the program to be started anew: it says how. */
function portCard(sensors: Sensors): HTMLElement {
    const rows = sensors.current.map((c) => el("p", { class: "last" }, `${c.profile} · ${c.address}`));
    const others = sensors.ports.filter((p) => !sensors.current.some((c) => c.address === p.address))
        .map((p) => el("li", {}, `${p.address} ${p.about}`));
    return el("section", { class: "card" }, el("h2", {}, w.sensor), ...rows,
        ...(others.length === 0 ? [] : [el("h3", {}, w.others), el("ul", {}, ...others)]), el("p", {}, w.change));
}

export function setupScreen(app: App): Screen {
    const store = app.store;
    const port = el("div");
    const rows = el("tbody");
    const zero = el("div", { class: "row" });
    const waiting = el("p", {}, w.waiting);
    let isShown = false;
    const watch = (): void => {
        if (!store.isReview && store.isLinked) { void app.run({ do: "watch", what: "sensor", on: isShown }); }
    };
    const load = async (): Promise<void> => {
        if (!isShown || store.isReview) { return; }
        watch();
        const sensors = await read<Sensors>("/api/sensors").catch((error: Error) => {
            app.notice(error.message);
            return null;
        });
        if (sensors !== null) { port.replaceChildren(portCard(sensors)); }
    };
    store.on(["hello"], () => void load());
    store.on(["sensor"], () => {
        waiting.hidden = true;
        const streams = [...new Set(store.sensor.filter((row) => row.role.endsWith("_force")).map((row) => row.stream))];
        if (streams.join() !== zero.dataset.streams) { // buttons stay under the finger that presses them
            zero.dataset.streams = streams.join();
            zero.replaceChildren(...streams.map((stream) => button(w.zero(stream), () => void app.run({ do: "zero", stream }))));
        }
        rows.replaceChildren(...store.sensor.map(channelRow));
    });
    const head = el("tr", {}, ...[w.channel, w.state, w.raw, w.noise, w.seen, w.range].map((text) => el("th", { scope: "col" }, text)));
    const element = el("section", { class: "screen stack", "aria-label": words.screens.setup }, el("h1", { class: "hidden" }, words.screens.setup),
        el("div", { class: "caution" }, el("p", {}, w.draw), el("p", {}, w.cable)), port,
        el("section", { class: "card live-only" }, el("h2", {}, w.channels), waiting,
            el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": w.channels },
                el("table", {}, el("thead", {}, head), rows)), el("p", {}, w.zeroHint), zero));
    return { element, show: () => { isShown = true; void load(); }, hide: () => { isShown = false; watch(); } };
}
