// SPDX-License-Identifier: GPL-3.0-or-later
// What people put in: the score of an arrow by one press; an end, a note, a tag, pain by a form.
import type { Command } from "./api";
import type { App } from "./app";
import { button, el, say } from "./dom";
import { words } from "./words.en";

const w = words.entry;
const MOST = 10;
const LETTERS: Record<string, number> = { x: 10, m: 0 };

function field(label: string, input: HTMLElement): HTMLLabelElement {
    return el("label", { class: "field" }, el("span", {}, label), input);
}

function numbers(text: string, letters: Record<string, number> = {}): number[] | null {
    const parts = text.trim().toLowerCase().split(/[\s;,]+/).filter((part) => part !== "");
    const values = parts.map((part) => letters[part] ?? Number(part));
    return values.length > 0 && values.every((v) => Number.isFinite(v) && v >= 0 && v <= MOST) ? values : null;
}

/* A form of one line: `make` gives the command, or null where what was typed cannot be used. */
function form(app: App, title: string, wanted: string, fields: HTMLElement[], make: () => Command | null): HTMLFormElement {
    const element = el("form", { class: "entry", "aria-label": title, submit: (event) => {
        event.preventDefault();
        const command = make();
        if (command === null) {
            app.notice(wanted);
            return;
        }
        void app.run(command).then((done) => {
            if (done) {
                app.notice(w.saved);
                element.reset();
            }
        });
    } }, ...fields, el("button", { type: "submit" }, w.send));
    return element;
}

export interface ScorePad { element: HTMLElement; update: () => void }

/* One button a score, for gloves: pressed again, the later one counts. */
export function scorePad(app: App, shot: () => number | null): ScorePad {
    const title = el("h3");
    const give = (score: number): void => {
        const n = shot();
        if (n === null) { return; }
        void app.run({ do: "score", shot: n, score }).then((done) => {
            if (done) { app.notice(w.scored(n, score)); }
        });
    };
    const keys = Array.from({ length: MOST + 1 }, (_, i) => MOST - i).map((score) =>
        ({ score, key: button(score === 0 ? "m" : String(score), () => give(score), { "data-score": String(score) }) }));
    const element = el("div", { class: "pad", role: "group", "aria-label": w.score }, title, ...keys.map((k) => k.key));
    const update = (): void => {
        const n = shot();
        const now = app.store.list?.shots.find((s) => s.n === n)?.score ?? null;
        say(title, n === null ? w.noShot : w.scoreOf(n));
        for (const { score, key } of keys) {
            key.hidden = n === null;
            key.setAttribute("aria-pressed", String(score === now));
        }
    };
    app.store.on(["shots"], update);
    update();
    return { element, update };
}

function painForm(app: App): HTMLElement {
    const rating = el("input", { type: "number", min: "0", max: "10", step: "1", required: true });
    const when = el("select", {}, ...(["before", "during", "after"] as const).map((value) => el("option", { value }, w[value])));
    const caution = el("p", { class: "caution", role: "alert" });
    rating.addEventListener("input", () => say(caution, Number(rating.value) > 0 ? w.painCaution : ""));
    const pain = form(app, w.pain, w.badNumbers, [field(w.pain, rating), field(w.when, when)], () => {
        const value = numbers(rating.value);
        return value === null ? null : { do: "pain", when: when.value, rating: value[0] };
    });
    return el("div", {}, pain, caution);
}

function noteForm(app: App, about: () => { shot?: number }): HTMLElement {
    const note = el("input", { required: true, maxlength: "250" });
    return form(app, w.note, w.badNumbers, [field(w.note, note)], () => ({ do: "note", text: note.value, ...about() }));
}

/* What belongs to one arrow, score aside. */
export function arrowEntries(app: App, shot: () => number): HTMLElement {
    return el("section", { class: "entries" }, noteForm(app, () => ({ shot: shot() })));
}

/* What belongs to the recording that is shown. */
export function recordingEntries(app: App, hasTag: boolean): HTMLElement {
    const key = el("input", { required: true, maxlength: "60" });
    const value = el("input", { maxlength: "120" });
    const end = el("input", { required: true, autocapitalize: "off", autocomplete: "off" });
    return el("section", { class: "entries" }, el("h2", {}, w.title),
        form(app, w.end, w.badScores, [field(w.endHint, end)], () => {
            const got = numbers(end.value, LETTERS);
            return got === null ? null : { do: "end", scores: got };
        }),
        noteForm(app, () => ({})),
        ...(hasTag ? [form(app, w.tag, w.badNumbers, [field(w.tagName, key), field(w.tagValue, value)],
            () => ({ do: "tag", key: key.value, value: value.value }))] : []),
        painForm(app));
}
