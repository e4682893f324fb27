// SPDX-License-Identifier: GPL-3.0-or-later
// What people put in: score, end, note, tag, pain. With a shot, for that shot.
import type { Command } from "./api";
import type { App } from "./app";
import { button, el, say } from "./dom";
import { words } from "./words.en";

const w = words.entry;
const MOST_SCORE = 10;

function field(label: string, input: HTMLElement): HTMLLabelElement {
    return el("label", { class: "field" }, el("span", {}, label), input);
}

function numbers(text: string): number[] | null {
    const values = text.trim().split(/[\s;,]+/).filter((part) => part !== "").map(Number);
    const isGood = values.length > 0 && values.every((v) => Number.isFinite(v) && v >= 0 && v <= MOST_SCORE);
    return isGood ? values : null;
}

/* A form of one line: `make` gives the command, or null where what was typed cannot be used. */
function form(app: App, title: string, fields: HTMLElement[], make: () => Command | null): HTMLFormElement {
    const element = el("form", { class: "entry", "aria-label": title, submit: (event) => {
        event.preventDefault();
        const command = make();
        if (command === null) {
            app.notice(w.badNumbers);
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

function painForm(app: App): HTMLElement {
    const rating = el("input", { type: "number", min: "0", max: "10", step: "1", required: true });
    const when = el("select", {}, ...(["before", "during", "after"] as const).map((value) => el("option", { value }, w[value])));
    const caution = el("p", { class: "caution", role: "alert" });
    rating.addEventListener("input", () => say(caution, Number(rating.value) > 0 ? w.painCaution : ""));
    const pain = form(app, w.pain, [field(w.pain, rating), field(w.when, when)], () => {
        const value = numbers(rating.value);
        return value === null ? null : { do: "pain", when: when.value, rating: value[0] };
    });
    return el("div", {}, pain, caution);
}

export function entryPanel(app: App, shot: (() => number) | null): HTMLElement {
    const about = (): { shot?: number } => shot === null ? {} : { shot: shot() };
    const score = el("input", { inputmode: "numeric", required: true });
    const note = el("input", { required: true, maxlength: "400" });
    const key = el("input", { required: true, maxlength: "60" });
    const value = el("input", { maxlength: "200" });
    const end = el("input", { required: true, inputmode: "text", placeholder: "9 9 8", title: w.endHint });
    const lastShot = (): number => app.store.list?.shots.filter((s) => s.kind === "shot").pop()?.n ?? 0;
    const forms: HTMLElement[] = [
        form(app, w.score, [field(w.score, score)], () => {
            const got = numbers(score.value);
            return got === null || got.length !== 1 ? null : { do: "score", shot: shot === null ? lastShot() : shot(), score: got[0] };
        }),
        form(app, w.note, [field(w.note, note)], () => ({ do: "note", text: note.value, ...about() })),
    ];
    if (shot === null) {
        forms.push(form(app, w.end, [field(w.end, end)], () => {
            const got = numbers(end.value);
            return got === null ? null : { do: "end", scores: got };
        }), form(app, w.tag, [field(w.tagKey, key), field(w.tagValue, value)],
            () => ({ do: "tag", key: key.value, value: value.value })), painForm(app),
        button(w.finish, () => void app.run({ do: "finish" }), { class: "quiet live-only" }));
    }
    return el("section", { class: "entries" }, el("h2", {}, w.title), ...forms);
}
