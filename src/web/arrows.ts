// SPDX-License-Identifier: GPL-3.0-or-later
// "Arrows": one row an arrow, all lined up at the same event.
import type { Align, Shot, Trace } from "./api";
import type { App, Screen } from "./app";
import { CloseUp } from "./close_up";
import { button, choice, el, fixed, say } from "./dom";
import { recordingEntries } from "./entry";
import { forceOf } from "./force";
import { overlayPlot } from "./overlay";
import { colour } from "./plot";
import { RowTraces } from "./row_traces";
import { words } from "./words.en";

const w = words.arrows;
const FROM_S = -5;
const TO_S = 1.5;
const ROW_POINTS = 240;
const REST_MS = 60; // of the pointer, or the keys, on one arrow: it may be opened

/* Strokes one arrow's force into a row, without axes: the close-up has those. `box` is where the
 * row stands: to ask each canvas for its size would be a layout of the whole list a row. */
function drawRow(canvas: HTMLCanvasElement, box: DOMRectReadOnly, trace: Trace): void {
    const scale = window.devicePixelRatio;
    const width = canvas.width = Math.round(box.width * scale);
    const height = canvas.height = Math.round(box.height * scale);
    const pen = canvas.getContext("2d");
    const channel = forceOf(trace) ?? trace.channels[0];
    if (pen === null || channel === undefined) { return; }
    const most = Math.max(1, ...channel.hi.map((v) => v ?? 0));
    const x = (t: number): number => (t - FROM_S) / (TO_S - FROM_S) * width;
    const y = (v: number): number => height - 2 - (v / most) * (height - 6);
    pen.strokeStyle = colour("--ink");
    pen.lineWidth = 2 * scale;
    pen.beginPath();
    channel.t.forEach((t, i) => {
        const hi = channel.hi[i];
        const lo = channel.lo[i];
        if (hi !== null && lo !== null) {
            pen.lineTo(x(t), y(hi));
            pen.lineTo(x(t), y(lo));
        }
    });
    pen.stroke();
    const line = (t: number, dash: number[], ink: string): void => {
        pen.setLineDash(dash.map((d) => d * scale));
        pen.strokeStyle = colour(ink);
        pen.beginPath();
        pen.moveTo(x(t), 0);
        pen.lineTo(x(t), height);
        pen.stroke();
    };
    line(0, [], "--accent");
    const click = trace.events.clicker_s;
    if (click != null) { line(click, [5, 4], "--accent"); }
}

function order(sort: string): (a: Shot, b: Shot) => number {
    const hold = (s: Shot): number => typeof s.measures.hold_time_s === "number" ? s.measures.hold_time_s : -1;
    if (sort === "score") { return (a, b) => (b.score ?? -1) - (a.score ?? -1) || a.n - b.n; }
    if (sort === "hold") { return (a, b) => hold(b) - hold(a) || a.n - b.n; }
    return (a, b) => b.n - a.n;
}

export function arrowsScreen(app: App): Screen {
    const store = app.store;
    let align: Align = "release";
    let sort = "n";
    let version = "";
    const chosen = new Set<number>();
    const traces = new RowTraces();
    const inView = new Set<Element>();
    const boxes = new WeakMap<Element, DOMRectReadOnly>();
    const list = el("ol", { class: "arrows" });
    const empty = el("p", {}, w.empty);
    const overlay = el("section", { class: "card wide", hidden: true });
    const recordings = el("div");
    const provisional = el("p", { class: "small" }, w.provisional);
    const tags = el("p", { class: "tags" });
    const overview = el("div", {});
    const detail = el("div", { hidden: true });
    const closeUp = new CloseUp(app, () => openArrow(null));
    detail.append(closeUp.element);

    const openArrow = (n: number | null): void => {
        if (n !== null) { closeUp.foresee(n); }
        traces.hold(n !== null);
        overview.hidden = n !== null;
        detail.hidden = n === null;
        if (n === null) {
            closeUp.close();
            list.querySelector<HTMLElement>("[data-opened] .arrow-open")?.focus();
        } else {
            for (const row of list.children) { row.toggleAttribute("data-opened", (row as HTMLElement).dataset.n === String(n)); }
            void closeUp.open(n);
        }
    };
    let resting = 0;
    const foreseeSoon = (foresee: () => void): void => {
        window.clearTimeout(resting);
        resting = window.setTimeout(foresee, REST_MS);
    };
    const watcher = new IntersectionObserver((entries) => {
        for (const entry of entries) {
            if (entry.isIntersecting) {
                inView.add(entry.target);
                boxes.set(entry.target, entry.boundingClientRect);
                fillRow(entry.target as HTMLCanvasElement);
            } else {
                inView.delete(entry.target);
            }
        }
    }, { rootMargin: "200px" });
    /* A row that was drawn is left as it is. */
    const fillRow = (canvas: HTMLCanvasElement): void => {
        const n = Number(canvas.dataset.n);
        const key = `${store.shown}/${n}/${align}/${store.list?.is_final}/${canvas.dataset.version}`;
        const path = `/api/recordings/${store.shown}/shots/${n}/trace?align=${align}&from=${FROM_S}&to=${TO_S}&points=${ROW_POINTS}&channels=main`;
        const width = Math.round((boxes.get(canvas)?.width ?? 0) * window.devicePixelRatio);
        if (canvas.dataset.drawn === key && canvas.width === width) { return; }
        traces.want({ key, path, isWanted: () => inView.has(canvas), take: (trace) => {
            const box = boxes.get(canvas);
            if (canvas.isConnected && box !== undefined) {
                drawRow(canvas, box, trace);
                canvas.dataset.drawn = key;
            }
        } });
    };
    const row = (shot: Shot): HTMLElement => {
        const canvas = el("canvas", { "data-n": String(shot.n), "data-version": shot.corrected.join(), "aria-hidden": "true" });
        watcher.observe(canvas);
        const pick = el("input", { type: "checkbox", "aria-label": w.choose(shot.n), change: () => {
            if (pick.checked) { chosen.add(shot.n); } else { chosen.delete(shot.n); }
            lay.disabled = chosen.size < 2;
        } });
        pick.checked = chosen.has(shot.n);
        const hold = shot.measures.hold_time_s as number | null;
        const kind = shot.kind === "let-down" ? w.letDown : shot.kind === "unresolved" ? w.unresolved : `${w.hold} ${fixed(hold, 2, "s")}`;
        const codes = shot.findings.map((f) => el("span", { class: "code" }, f.code));
        const foresee = (): void => closeUp.foresee(shot.n);
        const open = button("", () => openArrow(shot.n), { class: "arrow-open", "aria-label": w.open(shot.n),
            pointerdown: foresee, focus: () => foreseeSoon(foresee), pointerenter: () => foreseeSoon(foresee), pointerleave: () => window.clearTimeout(resting) });
        open.append(el("strong", { class: "arrow-n" }, String(shot.n)), el("span", { class: "arrow-kind" }, kind),
            el("span", { class: "arrow-score" }, shot.score === null ? "" : `${w.score} ${shot.score}`),
            canvas, el("span", { class: "codes" }, ...codes));
        return el("li", { "data-n": String(shot.n) }, el("label", { class: "pick" }, pick), open);
    };
    const render = (): void => {
        const shots = [...store.list?.shots ?? []].sort(order(sort));
        const now = JSON.stringify([store.shown, align, sort, shots.map((s) => [s.n, s.kind, s.score, s.corrected, s.measures.hold_time_s, s.findings.length])]);
        empty.hidden = shots.length > 0;
        provisional.hidden = store.list === null || store.list.is_final;
        if (now === version) { return; }
        version = now;
        watcher.disconnect();
        inView.clear();
        list.replaceChildren(...shots.map(row));
        performance.mark("arrows-shown");
    };
    const lay = button(w.overlay, () => {
        overlay.hidden = false;
        void overlayPlot(store, [...chosen].sort((a, b) => a - b), align).then((parts) => {
            overlay.replaceChildren(el("h2", {}, w.chosen([...chosen].sort((a, b) => a - b).join(", "))), ...parts);
            overlay.scrollIntoView({ block: "nearest" });
        }).catch((error: Error) => app.notice(error.message));
    });
    lay.disabled = true;
    store.on(["hello"], () => {
        const rows = store.hello?.recordings ?? [];
        recordings.replaceChildren(choice(w.recording, rows.map((r) => [String(r.id), `${r.name} (${r.athlete})`]),
            String(store.shown ?? store.hello?.current ?? rows[0]?.id), (id) => {
                chosen.clear();
                openArrow(null);
                void store.show(Number(id));
            }));
    });
    store.on(["shots"], () => {
        const select = recordings.querySelector("select");
        if (select !== null && store.shown !== null) { select.value = String(store.shown); }
        say(tags, Object.entries(store.list?.tags ?? {}).map(([key, value]) => `${key}: ${value}`).join(" · "));
        tags.hidden = tags.textContent === "";
        render();
        closeUp.refresh();
    });
    window.addEventListener("theme", () => { version = ""; render(); });
    overview.append(el("div", { class: "row" }, recordings,
        choice(w.align, w.aligns, align, (value) => { align = value as Align; version = ""; render(); }),
        choice(w.sort, w.sorts, sort, (value) => { sort = value; render(); }), lay), tags, provisional, overlay, empty, list,
        el("section", { class: "card" }, recordingEntries(app, true)));
    const element = el("section", { class: "screen", "aria-label": words.screens.arrows },
        el("h1", { class: "hidden" }, words.screens.arrows), overview, detail);
    return { element, show: () => { version = ""; render(); } };
}
