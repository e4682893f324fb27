// SPDX-License-Identifier: GPL-3.0-or-later
// "Session": hold and set-up arrow by arrow, tremor over the arrows, shares of the fingers.
import type uPlot from "uplot";
import { read } from "./api";
import type { Chart, Session } from "./api";
import type { App, Screen } from "./app";
import { el, fixed } from "./dom";
import { Plot, colour } from "./plot";
import type { Line } from "./plot";
import { words } from "./words.en";

const w = words.session;
const INKS = ["--ink", "--accent", "--warn"];

function chartCard(title: string, axis: string, chart: Chart, plots: Plot[]): HTMLElement {
    if (chart.n.length === 0) { return el("section", { class: "card" }, el("h2", {}, title), el("p", {}, w.nothing)); }
    const flat = (v: number | null): (number | null)[] => chart.n.map(() => v);
    const plot = new Plot({ label: title, x: w.arrow, y: axis, height: 260, noLegend: true, isWhole: true,
        lines: [{ label: w.value, points: true }, { label: w.mean, ink: "--accent" }, { label: w.limit, dash: [8, 6], ink: "--warn" },
            { label: w.limit, dash: [8, 6], ink: "--warn" }] });
    plot.set([chart.n, chart.value_s, flat(chart.mean), flat(chart.lo), flat(chart.hi)]);
    plots.push(plot);
    const text = chart.mean === null || chart.lo === null || chart.hi === null ? w.few
        : `${w.limits(fixed(chart.mean, 2, "s"), fixed(chart.lo, 2), fixed(chart.hi, 2, "s"))} ${w.outside(chart.outside)}`;
    return el("section", { class: "card" }, el("h2", {}, title), el("p", {}, text), plot.element);
}

/* The mean spectrum of each third of the session: three lines say more than 150. Few arrows have fewer parts. */
function spectraCard(session: Session, plots: Plot[]): HTMLElement {
    const spectra = session.spectra.filter((s) => s.density.length > 0);
    const card = el("section", { class: "card" }, el("h2", {}, w.spectra));
    if (spectra.length === 0) {
        card.append(el("p", {}, w.nothing));
        return card;
    }
    const names = w.parts[Math.min(w.parts.length, spectra.length) - 1];
    const n_parts = names.length;
    const lines: Line[] = [];
    const means: (number | null)[][] = [];
    for (let i = 0; i < n_parts; i++) {
        const part = spectra.slice(Math.floor(i * spectra.length / n_parts), Math.floor((i + 1) * spectra.length / n_parts));
        lines.push({ label: names[i], dash: [[], [10, 5], [3, 4]][i], ink: INKS[i] });
        means.push(spectra[0].f_hz.map((_, k) => {
            const mean = part.reduce((sum, s) => sum + (s.density[k] ?? 0), 0) / part.length;
            return mean > 0 ? mean : null;
        }));
    }
    const plot = new Plot({ label: w.spectra, x: w.hertz, y: w.densityAxis, height: 280, log: true, lines });
    plot.set([spectra[0].f_hz, ...means] as [number[], ...(number | null)[][]]);
    plots.push(plot);
    card.append(el("p", {}, w.spectraHint), plot.element);
    return card;
}

/* How sure each point is: twice its standard uncertainty either way. */
function whiskers(u: uPlot, all: number[][]): void {
    const pen = u.ctx;
    pen.save();
    pen.lineWidth = window.devicePixelRatio;
    for (let k = 0; k < 3; k++) {
        pen.strokeStyle = colour(INKS[k]);
        pen.beginPath();
        u.data[0].forEach((n, i) => {
            const at = u.data[k + 1][i];
            const wide = 200 * (all[i]?.[k] ?? NaN); // of a share, in per cent
            if (at != null && Number.isFinite(wide)) {
                const x = u.valToPos(n, "x", true);
                pen.moveTo(x, u.valToPos(at - wide, "y", true));
                pen.lineTo(x, u.valToPos(at + wide, "y", true));
            }
        });
        pen.stroke();
    }
    pen.restore();
}

function sharesCard(session: Session, plots: Plot[]): HTMLElement {
    const shares = session.shares;
    const card = el("section", { class: "card" }, el("h2", {}, w.shares));
    if (shares.n.length === 0) {
        card.append(el("p", {}, w.nothing));
        return card;
    }
    const [index, middle, ring] = words.line.finger;
    const plot = new Plot({ label: w.shares, x: w.arrow, y: w.shareAxis, height: 260, isWhole: true, draw: (u) => whiskers(u, shares.u), lines: [{ label: index, points: true },
        { label: middle, dash: [10, 5], points: true, ink: "--accent" }, { label: ring, dash: [3, 4], points: true, ink: "--warn" }] });
    const percent = (values: number[]): number[] => values.map((v) => 100 * v);
    plot.set([shares.n, percent(shares.index), percent(shares.middle), percent(shares.ring)]);
    plots.push(plot);
    card.append(el("p", {}, w.whiskers), plot.element);
    return card;
}

function bandSentence(band: Session["in_band"]): string[] {
    const percent = (v: number): string => fixed(100 * v, 0, "%");
    return band === null ? [] : [w.inBand(Math.round(band.share * band.n), band.n, fixed(band.from_s, 1), fixed(band.to_s, 1, "s"), percent(band.lo), percent(band.hi))];
}

/* Of whom and of what it tells. */
function whose(app: App): string {
    const shown = app.store.hello?.recordings.find((r) => r.id === app.store.shown);
    return shown === undefined ? "" : w.of(shown.athlete, shown.name);
}

export function sessionScreen(app: App): Screen {
    const store = app.store;
    const body = el("div", { class: "cards" });
    let plots: Plot[] = [];
    let isShown = false;
    let turn = 0;
    const load = async (): Promise<void> => {
        if (!isShown || store.shown === null) { return; }
        const mine = ++turn;
        const session = await read<Session>(`/api/recordings/${store.shown}/session`).catch((error: Error) => {
            app.notice(error.message);
            return null;
        });
        if (session === null || mine !== turn) { return; }
        for (const plot of plots) { plot.close(); }
        plots = [];
        const isEmpty = store.list?.shots.length === 0;
        const sentences = isEmpty ? [words.arrows.empty] : [...session.sentences, ...bandSentence(session.in_band)];
        body.replaceChildren(el("section", { class: "card wide" }, el("p", {}, whose(app)), ...sentences.map((s) => el("p", { class: "last" }, s))));
        if (isEmpty) { return; }
        body.append(chartCard(w.hold, w.holdAxis, session.hold, plots), chartCard(w.setup, w.setupAxis, session.setup, plots),
            spectraCard(session, plots), sharesCard(session, plots));
    };
    store.on(["shots"], () => void load());
    const element = el("section", { class: "screen", "aria-label": words.screens.session },
        el("h1", { class: "hidden" }, words.screens.session), body);
    return { element, show: () => { isShown = true; void load(); }, hide: () => { isShown = false; } };
}
