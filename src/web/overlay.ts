// SPDX-License-Identifier: GPL-3.0-or-later
// Two or more arrows laid over each other, told apart by line style.
import uPlot from "uplot";
import { read } from "./api";
import type { Align, Trace } from "./api";
import { forceOf } from "./force";
import { DASHES, Plot } from "./plot";
import type { Data, Line } from "./plot";
import type { Store } from "./store";
import { words } from "./words.en";

export async function overlayPlot(store: Store, shots: number[], align: Align): Promise<HTMLElement[]> {
    const traces = await Promise.all(shots.map((n) => read<Trace>(
        `/api/recordings/${store.shown}/shots/${n}/trace?align=${align}&from=-5&to=1.5&points=1500&channels=main`)));
    const tables: Data[] = [];
    const lines: Line[] = [];
    traces.forEach((trace, i) => {
        const channel = forceOf(trace) ?? trace.channels[0];
        const middle = channel.lo.map((lo, k) => {
            const hi = channel.hi[k];
            return lo === null || hi === null ? null : (lo + hi) / 2;
        });
        tables.push([channel.t, middle]);
        lines.push({ label: words.arrows.arrow(trace.n), dash: DASHES[i % DASHES.length],
            ink: ["--ink", "--accent", "--warn"][i % 3] });
    });
    const hasForce = traces.every((trace) => forceOf(trace) !== null);
    const plot = new Plot({ label: words.arrows.chosen(shots.join(", ")), x: words.unit.time, y: hasForce ? words.unit.forceAxis : words.unit.accelerationAxis,
        lines, height: 340 });
    plot.set(uPlot.join(tables as uPlot.AlignedData[]));
    return [plot.element];
}
