// SPDX-License-Identifier: GPL-3.0-or-later
// The running force: thirty seconds to thirty minutes, drawn at most once a frame.
import { choice, el } from "./dom";
import { Plot } from "./plot";
import type { Store } from "./store";
import { words } from "./words.en";

const POINTS = 1200;

export function wavePlot(store: Store): { element: HTMLElement; show: () => void; hide: () => void } {
    let span_s = 30;
    let isShown = false;
    let isAsked = false;
    const plot = new Plot({ label: words.line.wave, x: words.unit.seconds, y: words.unit.newton, height: 200, noLegend: true,
        lines: [{ label: "lo", width: 1.5 }, { label: "hi", width: 1.5 }], bands: [[2, 1]],
        range: () => [Math.max(store.ring.start_s, store.ring.end_s - span_s), Math.max(1, store.ring.end_s)] });
    const draw = (): void => {
        isAsked = false;
        const channel = store.hello?.channels.findIndex((c) => c.role === "string_force") ?? -1;
        if (!isShown || channel < 0) { return; }
        const end = store.ring.end_s;
        const columns = store.ring.select(channel, end - span_s, end, POINTS);
        plot.set([columns.t, columns.lo, columns.hi]);
        performance.mark("wave-drawn");
    };
    const ask = (): void => {
        if (isShown && !isAsked) {
            isAsked = true;
            requestAnimationFrame(draw);
        }
    };
    store.on(["wave", "hello"], ask);
    const element = el("div", { class: "wave" }, choice(words.line.window, words.line.windows, "30", (value) => {
        span_s = Number(value);
        ask();
    }), plot.element);
    return { element, show: () => { isShown = true; ask(); }, hide: () => { isShown = false; } };
}
