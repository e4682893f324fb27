// SPDX-License-Identifier: GPL-3.0-or-later
// "Setting up": port, kind of sensor, raw counts, noise, range, zero.
import { read } from "./api";
import type { SensorRow, Sensors } from "./api";
import type { App, Screen } from "./app";
import { button, choice, el, fixed } from "./dom";
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
    const name = [row.stream, row.role.replaceAll("_", " "), row.finger ?? row.axis ?? ""].filter((part) => part !== "").join(" · ");
    const pair = (v: [number, number] | null): string => v === null ? words.unknown : `${fixed(v[0], 0)} … ${fixed(v[1], 0)}`;
    return el("tr", { "data-state": row.state }, el("th", { scope: "row" }, name),
        el("td", {}, el("strong", {}, w.states[row.state])), el("td", {}, fixed(row.raw, 0)),
        el("td", {}, fixed(row.noise_counts, 1)), el("td", {}, pair(row.span), rangeBar(row)), el("td", {}, pair(row.range)));
}

function portCard(app: App, sensors: Sensors, streams: string[]): HTMLElement {
    const current = sensors.current[0];
    let address = current?.address ?? sensors.ports[0]?.address ?? "";
    let profile = current?.profile ?? sensors.profiles[0]?.name ?? "";
    const stream = streams[0] ?? "";
    return el("section", { class: "card" }, el("h2", {}, w.sensor), el("div", { class: "row" },
        choice(w.port, sensors.ports.map((p) => [p.address, `${p.address} ${p.about}`]), address, (value) => { address = value; }),
        choice(w.profile, sensors.profiles.map((p) => [p.name, `${p.name} ${p.about}`]), profile, (value) => { profile = value; }),
        button(w.use, () => void app.run({ do: "sensor", stream, address, profile }))));
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
        const streams = [...new Set(store.hello?.channels.map((c) => c.stream) ?? [])];
        zero.replaceChildren(...streams.map((stream) => button(w.zero(stream), () => void app.run({ do: "zero", stream }))));
        const sensors = await read<Sensors>("/api/sensors").catch((error: Error) => {
            app.notice(error.message);
            return null;
        });
        if (sensors !== null) { port.replaceChildren(portCard(app, sensors, streams)); }
    };
    store.on(["hello"], () => void load());
    store.on(["sensor"], () => {
        waiting.hidden = true;
        rows.replaceChildren(...store.sensor.map(channelRow));
    });
    const head = el("tr", {}, ...[w.channel, w.state, w.raw, w.noise, w.seen, w.range].map((text) => el("th", { scope: "col" }, text)));
    const element = el("section", { class: "screen", "aria-label": words.screens.setup }, el("h1", { class: "hidden" }, words.screens.setup),
        el("div", { class: "caution" }, el("p", {}, w.draw), el("p", {}, w.cable)), port,
        el("section", { class: "card live-only" }, el("h2", {}, w.channels), waiting,
            el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": w.channels },
                el("table", {}, el("thead", {}, head), rows)), el("p", {}, w.zeroHint), zero));
    return { element, show: () => { isShown = true; void load(); }, hide: () => { isShown = false; watch(); } };
}
