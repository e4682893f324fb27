// SPDX-License-Identifier: GPL-3.0-or-later
// One arrow: the force with its events and evidence, acceleration, fingers, spectra. The force is
// drawn as soon as it is there, the other plots in a frame behind it.
import type { Shot, Spectrum, Trace } from "./api";
import type { App } from "./app";
import { PlotCard, heldRange, lines, paintEvidence, putChannels, putSpectrum, table } from "./close_up_plots";
import { afterPaint, button, choice, el, say } from "./dom";
import { arrowEntries, scorePad } from "./entry";
import type { ScorePad } from "./entry";
import { forceOf } from "./force";
import { EventHandles } from "./handles";
import { Plot } from "./plot";
import { CLICK_TO_S, ShotDataShelf } from "./shot_data";
import type { ShotView } from "./shot_data";
import { words } from "./words.en";

const w = words.close;

export class CloseUp {
    readonly element = el("article", { class: "close-up" });
    private readonly title = el("h2", { tabindex: "-1" });
    private readonly sentence = el("p", { class: "last" });
    private readonly findings = el("section", { class: "card" });
    private readonly cards = { force: new PlotCard(), acceleration: new PlotCard(), fingers: new PlotCard(),
        hold: new PlotCard(), ring: new PlotCard() };
    private readonly top: HTMLElement;
    private readonly notes = el("div");
    private readonly pad: ScorePad;
    private readonly entry: HTMLElement; // stays as it is while the rest is drawn again: somebody may be typing
    private readonly data = new ShotDataShelf();
    private n = 0;
    private range = "click";
    private shown = "";
    private turn = 0;

    constructor(private app: App, back: () => void) {
        this.top = el("div", { class: "close-up" },
            el("div", { class: "row" }, button(words.arrows.back, back), this.title,
                choice(w.range, w.ranges, this.range, (value) => { this.range = value; void this.load(); })),
            this.sentence, this.findings, ...Object.values(this.cards).map((card) => card.element));
        this.pad = scorePad(app, () => this.n === 0 ? null : this.n);
        this.entry = el("section", { class: "card" }, this.pad.element, this.notes,
            arrowEntries(app, () => this.n));
    }

    async open(n: number): Promise<void> {
        this.clear();
        this.n = n;
        const loading = this.load(); // asked for before the page is worked on
        this.entry.hidden = true; // until it knows its place, below the plots
        this.element.replaceChildren(this.top, this.entry);
        this.pad.update();
        this.say();
        this.title.focus();
        await loading;
    }

    close(): void {
        this.n = 0;
        this.clear();
        this.element.replaceChildren();
        for (const form of this.entry.querySelectorAll("form")) { form.reset(); }
    }

    /* This arrow may be opened soon. */
    foresee(n: number): void {
        const view = this.view(n);
        if (view !== null) { this.data.foresee(view); }
    }

    /* The list has changed: draws again where this arrow has. */
    refresh(): void {
        if (this.n !== 0 && this.state() !== this.shown) {
            this.say();
            void this.load();
        }
    }

    private clear(): void {
        this.turn++;
        this.shown = "";
        for (const card of Object.values(this.cards)) { card.clear(); }
    }

    private state(): string { return JSON.stringify([this.shot(), this.app.store.list?.is_final]); }

    private shot(n = this.n): Shot | undefined { return this.app.store.list?.shots.find((s) => s.n === n); }

    private view(n: number): ShotView | null {
        const list = this.app.store.list;
        const shot = this.shot(n);
        return list === null || shot === undefined ? null
            : { recording: list.id, shot, isFinal: list.is_final, range: this.range };
    }

    /* What is known without asking. */
    private say(): void {
        const shot = this.shot();
        if (shot === undefined) { return; }
        const findings = shot.findings.length === 0 ? [el("p", {}, w.noFindings)]
            : [el("ul", { class: "findings" }, ...shot.findings.map((f) => el("li", {}, el("span", { class: "code" }, f.code), ` ${f.text}`)))];
        say(this.title, words.arrows.arrow(shot.n));
        say(this.sentence, shot.sentence);
        this.findings.replaceChildren(el("h3", {}, w.findings), ...findings);
        this.notes.replaceChildren(...shot.notes.map((note) => el("p", {}, note)));
    }

    private async load(): Promise<void> {
        const view = this.view(this.n);
        const turn = ++this.turn;
        if (view === null) { return; }
        this.shown = this.state();
        try {
            const data = this.data.get(view);
            const [rest] = await Promise.all([data.others().catch((error: Error) => error),
                data.main.then((main) => this.drawMain(turn, view.shot, main))]);
            if (rest instanceof Error) { throw rest; }
            await this.drawOthers(turn, await data.main, rest);
        } catch (error) {
            if (turn === this.turn) { this.app.notice((error as Error).message); }
        }
        if (turn === this.turn) { this.entry.hidden = false; }
    }

    /* The force, or what stands in for it. */
    private async drawMain(turn: number, shot: Shot, main: Trace): Promise<void> {
        if (turn !== this.turn) { return; }
        this.putForce(shot, main);
        putChannels(this.cards.fingers, w.fingers, words.unit.forceAxis, main.channels.filter((c) => c.role === "finger_force"));
        await Promise.resolve(); // a plot draws when who made it has done
        if (forceOf(main) !== null) { performance.mark("close-up-shown"); }
        await afterPaint();
    }

    private async drawOthers(turn: number, main: Trace, [others, spectrum]: [Trace, Spectrum]): Promise<void> {
        const find = (role: string): Trace["channels"] => {
            const isDrawn = role === "finger_force" && main.channels.some((c) => c.role === role);
            return isDrawn ? [] : [...main.channels, ...others.channels].filter((c) => c.role === role);
        };
        const series = (role: string, card: PlotCard, title: string): void => {
            const found = spectrum.series.find((s) => s.role === role);
            if (found !== undefined) { putSpectrum(card, title, found); }
        };
        if (turn !== this.turn) { return; }
        putChannels(this.cards.acceleration, w.acceleration, words.unit.accelerationAxis, find("bow_acceleration"));
        putChannels(this.cards.fingers, w.fingers, words.unit.forceAxis, find("finger_force"));
        series("string_force", this.cards.hold, w.spectrum);
        series("bow_ring", this.cards.ring, w.ring);
        await afterPaint();
        if (forceOf(main) === null) { performance.mark("close-up-shown"); }
        performance.mark("close-up-whole");
    }

    private putForce(shot: Shot, trace: Trace): void {
        const moved = EventHandles.findFocus();
        const force = forceOf(trace);
        if (force === null) { return; }
        const title = force.role === "string_force" ? w.force : words.line.force.fingers;
        const handles = new EventHandles(shot, trace, (event, value_s) =>
            this.app.run({ do: "correct", shot: shot.n, event, value_s }));
        const plot = new Plot({ label: title, x: words.unit.time, y: words.unit.forceAxis, height: 340, noLegend: true, ...lines([force]),
            yRange: trace.align === "clicker" ? heldRange(force, trace.events.release_s ?? CLICK_TO_S) : null,
            draw: (u) => { paintEvidence(u, trace); handles.place(u); }, ready: (u) => { handles.attach(u); handles.focus(moved); } });
        plot.element.removeAttribute("role");
        plot.element.removeAttribute("aria-label");
        const undo = shot.corrected.map((event) => button(w.undo(w.events[event] ?? event),
            () => void this.app.run({ do: "undo", shot: shot.n, event })));
        this.cards.force.put(plot, table([force]), el("h3", {}, title), handles.space, plot.element,
            el("p", { class: "small" }, w.drag), el("div", { class: "row" }, ...undo));
    }
}
