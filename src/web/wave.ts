// SPDX-License-Identifier: GPL-3.0-or-later
// The running force: thirty seconds to thirty minutes, drawn at most once a frame. Without a
// string sensor it is the sum of the fingers, without any force what moved the bow; it says which.
import { choice, el, say } from "./dom";
import { findSource } from "./force";
import type { Source } from "./force";
import { DASHES, Plot } from "./plot";
import type { Data } from "./plot";
import type { Store } from "./store";
import { words } from "./words.en";

const POINTS = 1200;
const INKS = ["--ink", "--accent", "--warn"];

function makePlot(store: Store, source: Source, span: () => number): Plot {
    const channels = store.hello?.channels ?? [];
    const isBow = source.kind === "bow";
    const lines = source.groups.flatMap((group, i) => {
        const label = isBow ? channels[group[0]].axis ?? words.line.bow : words.line.source[source.kind];
        const style = { width: 1.5, dash: DASHES[i % DASHES.length], ink: INKS[i % INKS.length] };
        return [{ label, ...style }, { label: `${label} ↑`, ...style }];
    });
    return new Plot({ label: words.line.wave[source.kind], x: words.unit.time, y: isBow ? words.unit.accelerationAxis : words.unit.forceAxis,
        height: 230, noLegend: !isBow, isPaired: isBow, lines, bands: source.groups.map((_, i) => [2 * i + 2, 2 * i + 1]),
        range: () => [Math.max(store.ring.start_s, store.ring.end_s - span()), Math.max(1, store.ring.end_s)] });
}

export function wavePlot(store: Store): { element: HTMLElement; show: () => void; hide: () => void } {
    let span_s = 30;
    let isShown = false;
    let isAsked = false;
    let source: Source = { kind: "none", groups: [] };
    let plot: Plot | null = null;
    let made = "";
    const title = el("h2");
    const note = el("p", { class: "small" });
    const place = el("div");
    const draw = (): void => {
        isAsked = false;
        if (!isShown || plot === null) { return; }
        const end = store.ring.end_s;
        const columns = source.groups.map((group) => store.ring.select(group, end - span_s, end, POINTS));
        plot.set([columns[0].t, ...columns.flatMap((c) => [c.lo, c.hi])] as Data);
        performance.mark("wave-drawn");
    };
    const ask = (): void => {
        if (isShown && !isAsked) {
            isAsked = true;
            requestAnimationFrame(draw);
        }
    };
    /* Another sensor is another plot. */
    const remake = (): void => {
        source = findSource(store.hello?.channels ?? []);
        const now = JSON.stringify([source, store.hello?.channels.map((c) => c.axis)]);
        if (now !== made) {
            made = now;
            plot?.close();
            plot = source.groups.length === 0 ? null : makePlot(store, source, () => span_s);
            place.replaceChildren(...(plot === null ? [] : [plot.element]));
            say(title, words.line.wave[source.kind]);
            say(note, words.line.sourceNote[source.kind]);
            note.hidden = note.textContent === "";
        }
        ask();
    };
    store.on(["hello"], remake);
    store.on(["wave"], ask);
    const element = el("div", { class: "wave" }, el("div", { class: "row wave-head" }, title, choice(words.line.window, words.line.windows, "30", (value) => {
        span_s = Number(value);
        ask();
    })), note, place);
    remake();
    return { element, show: () => { isShown = true; ask(); }, hide: () => { isShown = false; } };
}
