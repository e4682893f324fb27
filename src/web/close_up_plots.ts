// SPDX-License-Identifier: GPL-3.0-or-later
// The plots of one arrow: what is drawn, and into which card.
import uPlot from "uplot";
import type { Spectrum, Trace, TraceChannel } from "./api";
import { el } from "./dom";
import { DASHES, Plot, colour } from "./plot";
import type { Data, Line, PlotSetup } from "./plot";
import { words } from "./words.en";

const w = words.close;
const CLEAR_S = 0.03; // before the release, where the force has not begun to fall

/* The card of one plot: what stands in it stays until the next is there. */
export class PlotCard {
    readonly element = el("section", { class: "card", hidden: true });
    private plot: Plot | null = null;

    put(plot: Plot, data: Data, ...children: Node[]): void {
        const old = this.plot;
        this.plot = plot;
        this.element.replaceChildren(...children);
        this.element.hidden = false;
        plot.set(data);
        old?.close();
    }

    clear(): void {
        this.plot?.close();
        this.plot = null;
        this.element.hidden = true;
        this.element.replaceChildren();
    }
}

function strokeEvidence(u: uPlot, trace: Trace): void {
    const pen = u.ctx;
    const x = (t: number): number => u.valToPos(t, "x", true);
    const y = (v: number): number => u.valToPos(v, "y", true);
    pen.lineWidth = 3 * window.devicePixelRatio;
    const stroke = (t: number[], v: (number | null)[], dash: number[], ink: string): void => {
        if (v[0] === null || v[1] === null || v[0] === undefined || v[1] === undefined) { return; }
        pen.strokeStyle = colour(ink);
        pen.setLineDash(dash.map((d) => d * window.devicePixelRatio));
        pen.beginPath();
        pen.moveTo(x(t[0]), y(v[0]));
        pen.lineTo(x(t[1]), y(v[1]));
        pen.stroke();
    };
    if (trace.trend?.role === "string_force") { stroke(trace.trend.t, trace.trend.v, [8, 6], "--accent"); }
    for (const piece of trace.evidence) {
        if ((piece.role ?? "string_force") === "string_force") {
            stroke([piece.from, piece.to], [piece.v_from, piece.v_to], [3, 3], "--warn");
        }
    }
}

/* Where the findings lie, over the force. */
export function paintEvidence(u: uPlot, trace: Trace): void {
    const pen = u.ctx;
    const clip = u.bbox;
    pen.save();
    pen.beginPath();
    pen.rect(clip.left, clip.top, clip.width, clip.height);
    pen.clip();
    for (const piece of trace.evidence) {
        const from = u.valToPos(piece.from, "x", true);
        pen.fillStyle = colour("--evidence");
        pen.fillRect(from, clip.top, Math.max(2, u.valToPos(piece.to, "x", true) - from), clip.height);
    }
    strokeEvidence(u, trace);
    pen.restore();
}

/* Channels of one kind share their times; those that do not are joined. */
export function table(channels: TraceChannel[]): Data {
    return uPlot.join(channels.map((c) => [c.t, c.lo, c.hi] as uPlot.AlignedData));
}

/* What the force spans before the release: there a change of half a newton has to be seen. */
export function heldRange(force: TraceChannel, release: number): [number, number] | null {
    let least = Infinity;
    let most = -Infinity;
    force.t.forEach((t, i) => {
        if (t < release - CLEAR_S) {
            least = Math.min(least, force.lo[i] ?? Infinity);
            most = Math.max(most, force.hi[i] ?? -Infinity);
        }
    });
    const margin = 0.15 * (most - least);
    return least < most ? [least - margin, most + margin] : null;
}

export function lines(channels: TraceChannel[]): { lines: Line[]; bands: [number, number][] } {
    const out: Line[] = [];
    const bands: [number, number][] = [];
    channels.forEach((c, i) => {
        const name = c.finger ?? c.axis ?? w.force;
        const style = { dash: DASHES[i % DASHES.length], ink: ["--ink", "--accent", "--warn"][i % 3] };
        out.push({ label: name, ...style }, { label: `${name} ↑`, ...style, width: 1 });
        bands.push([2 * i + 2, 2 * i + 1]);
    });
    return { lines: out, bands };
}

/* Channels of one role, where there are any. */
export function putChannels(card: PlotCard, title: string, unit: string, channels: TraceChannel[]): void {
    if (channels.length === 0) { return; }
    const plot = new Plot({ label: title, x: words.unit.time, y: unit, height: 240, isPaired: true, ...lines(channels) });
    card.put(plot, table(channels), el("h3", {}, title), plot.element);
}

export function putSpectrum(card: PlotCard, title: string, series: Spectrum["series"][number]): void {
    const hasBand = series.lo !== null && series.hi !== null;
    const setup: PlotSetup = { label: title, x: "Hz", y: series.density_unit.replaceAll("2", "²"), height: 240, noLegend: true, log: true,
        lines: [{ label: title }, { label: "95 % ↓", dash: [4, 4], width: 1, show: hasBand }, { label: "95 % ↑", dash: [4, 4], width: 1, show: hasBand }],
        bands: hasBand ? [[3, 2]] : [] };
    const above = (values: number[]): (number | null)[] => values.map((v) => v > 0 ? v : null);
    const none = series.f_hz.map(() => null);
    const plot = new Plot(setup);
    card.put(plot, [series.f_hz, above(series.density), series.lo === null ? none : above(series.lo), series.hi === null ? none : above(series.hi)],
        el("h3", {}, title), plot.element);
}
