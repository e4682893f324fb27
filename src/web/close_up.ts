// SPDX-License-Identifier: GPL-3.0-or-later
// One arrow: the force with its events and evidence, acceleration, fingers, spectra.
import uPlot from "uplot";
import { read } from "./api";
import type { Shot, Spectrum, Trace, TraceChannel } from "./api";
import type { App } from "./app";
import { button, choice, el } from "./dom";
import { arrowEntries, scorePad } from "./entry";
import type { ScorePad } from "./entry";
import { EventHandles } from "./handles";
import { DASHES, Plot, colour } from "./plot";
import type { Data, Line } from "./plot";
import { words } from "./words.en";

const w = words.close;
const CLICK_FROM_S = -1.3;
const CLICK_TO_S = 0.4;
const CLEAR_S = 0.03; // before the release, where the force has not begun to fall

function paint(u: uPlot, trace: Trace): void {
    const pen = u.ctx;
    const clip = u.bbox;
    pen.save();
    pen.beginPath();
    pen.rect(clip.left, clip.top, clip.width, clip.height);
    pen.clip();
    const x = (t: number): number => u.valToPos(t, "x", true);
    const y = (v: number): number => u.valToPos(v, "y", true);
    for (const piece of trace.evidence) {
        pen.fillStyle = colour("--evidence");
        pen.fillRect(x(piece.from), clip.top, Math.max(2, x(piece.to) - x(piece.from)), clip.height);
    }
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
    pen.restore();
}

/* Channels of one kind share their times; those that do not are joined. */
function table(channels: TraceChannel[]): Data {
    return uPlot.join(channels.map((c) => [c.t, c.lo, c.hi] as uPlot.AlignedData));
}

/* What the force spans before the release: there a change of half a newton has to be seen. */
function heldRange(force: TraceChannel, release: number): [number, number] | null {
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

function lines(channels: TraceChannel[]): { lines: Line[]; bands: [number, number][] } {
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

export class CloseUp {
    readonly element = el("article", { class: "close-up" });
    private readonly top = el("div", { class: "close-up" });
    private readonly notes = el("div");
    private readonly pad: ScorePad;
    private readonly entry: HTMLElement; // stays as it is while the rest is drawn again: somebody may be typing
    private n = 0;
    private view = "click";
    private plots: Plot[] = [];
    private shown = "";
    private turn = 0;

    constructor(private app: App, private back: () => void) {
        this.pad = scorePad(app, () => this.n === 0 ? null : this.n);
        this.entry = el("section", { class: "card" }, this.pad.element, this.notes,
            arrowEntries(app, () => this.n));
    }

    async open(n: number): Promise<void> {
        this.n = n;
        this.shown = "";
        this.element.replaceChildren(this.top, this.entry);
        this.pad.update();
        await this.load();
        this.element.querySelector<HTMLElement>("h2")?.focus();
    }

    close(): void {
        this.n = 0;
        this.drop();
        this.top.replaceChildren();
        this.element.replaceChildren();
        for (const form of this.entry.querySelectorAll("form")) { form.reset(); }
    }

    /* The list has changed: draws again where this arrow has. */
    refresh(): void {
        if (this.n !== 0 && this.state() !== this.shown) { void this.load(); }
    }

    private state(): string { return JSON.stringify([this.shot(), this.app.store.list?.is_final]); }

    private shot(): Shot | undefined { return this.app.store.list?.shots.find((s) => s.n === this.n); }

    private drop(): void {
        for (const plot of this.plots) { plot.close(); }
        this.plots = [];
    }

    private async load(): Promise<void> {
        const shot = this.shot();
        const turn = ++this.turn;
        if (shot === undefined) { return; }
        this.shown = this.state();
        const at = `/api/recordings/${this.app.store.shown}/shots/${this.n}`;
        const isClick = this.view === "click" && typeof shot.events.clicker_s === "number";
        const span = isClick ? `align=clicker&from=${CLICK_FROM_S}&to=${CLICK_TO_S}` : "align=release&from=-6&to=1.5";
        try {
            const [trace, spectrum] = await Promise.all([read<Trace>(`${at}/trace?${span}&points=1500`),
                read<Spectrum>(`${at}/spectrum`)]);
            if (turn === this.turn && this.n === shot.n) { this.render(shot, trace, spectrum); }
        } catch (error) {
            this.app.notice((error as Error).message);
        }
    }

    private render(shot: Shot, trace: Trace, spectrum: Spectrum): void {
        const moved = EventHandles.findFocus();
        this.drop();
        const findings = shot.findings.length === 0 ? [el("p", {}, w.noFindings)]
            : [el("ul", { class: "findings" }, ...shot.findings.map((f) => el("li", {}, el("span", { class: "code" }, f.code), ` ${f.text}`)))];
        const title = el("h2", { tabindex: "-1" }, words.arrows.arrow(shot.n));
        this.notes.replaceChildren(...shot.notes.map((note) => el("p", {}, note)));
        this.top.replaceChildren(
            el("div", { class: "row" }, button(words.arrows.back, this.back), title,
                choice(w.range, w.ranges, this.view, (value) => { this.view = value; void this.load(); })),
            el("p", { class: "last" }, shot.sentence),
            el("section", { class: "card" }, el("h3", {}, w.findings), ...findings),
            this.forceCard(shot, trace, moved),
            this.channelCard(w.acceleration, "m/s²", trace.channels.filter((c) => c.role === "bow_acceleration")),
            this.channelCard(w.fingers, "N", trace.channels.filter((c) => c.role === "finger_force")),
            ...spectrum.series.map((s) => this.spectrumCard(s)));
        performance.mark("close-up-shown");
    }

    /* `moved`: the event whose mark had the keys. */
    private forceCard(shot: Shot, trace: Trace, moved: string): HTMLElement {
        const force = trace.channels.filter((c) => c.role === "string_force");
        if (force.length === 0) { return el("div", { hidden: true }); }
        const handles = new EventHandles(shot, trace, (event, value_s) =>
            this.app.run({ do: "correct", shot: shot.n, event, value_s }));
        const plot = new Plot({ label: w.force, x: w.seconds, y: "N", height: 340, noLegend: true, ...lines(force),
            yRange: trace.align === "clicker" ? heldRange(force[0], trace.events.release_s ?? CLICK_TO_S) : null,
            draw: (u) => { paint(u, trace); handles.place(u); }, ready: (u) => { handles.attach(u); handles.focus(moved); } });
        plot.element.removeAttribute("role");
        plot.element.removeAttribute("aria-label");
        plot.set(table(force));
        this.plots.push(plot);
        const undo = shot.corrected.map((event) => button(w.undo(w.events[event] ?? event),
            () => void this.app.run({ do: "undo", shot: shot.n, event })));
        return el("section", { class: "card" }, el("h3", {}, w.force), handles.space, plot.element,
            el("p", { class: "small" }, w.drag), el("div", { class: "row" }, ...undo));
    }

    private channelCard(title: string, unit: string, channels: TraceChannel[]): HTMLElement {
        if (channels.length === 0) { return el("div", { hidden: true }); }
        const plot = new Plot({ label: title, x: w.seconds, y: unit, height: 240, isPaired: true, ...lines(channels) });
        plot.set(table(channels));
        this.plots.push(plot);
        return el("section", { class: "card" }, el("h3", {}, title), plot.element);
    }

    private spectrumCard(series: Spectrum["series"][number]): HTMLElement {
        const title = series.role === "bow_ring" ? w.ring : w.spectrum;
        const hasBand = series.lo !== null && series.hi !== null;
        const plot = new Plot({ label: title, x: "Hz", y: series.density_unit.replaceAll("2", "²"), height: 240, noLegend: true, log: true,
            lines: [{ label: title }, { label: "95 % ↓", dash: [4, 4], width: 1, show: hasBand }, { label: "95 % ↑", dash: [4, 4], width: 1, show: hasBand }],
            bands: hasBand ? [[3, 2]] : [] });
        const above = (values: number[]): (number | null)[] => values.map((v) => v > 0 ? v : null);
        const none = series.f_hz.map(() => null);
        plot.set([series.f_hz, above(series.density), series.lo === null ? none : above(series.lo), series.hi === null ? none : above(series.hi)]);
        this.plots.push(plot);
        return el("section", { class: "card" }, el("h3", {}, title), plot.element);
    }
}
