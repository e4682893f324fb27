// SPDX-License-Identifier: GPL-3.0-or-later
// "People": who is shooting, what is usual for them, their limits, their target band.
import { read } from "./api";
import type { Person } from "./api";
import type { App, Screen } from "./app";
import { button, el, fixed } from "./dom";
import { words } from "./words.en";

const w = words.people;
const LEAST_FOR_SPREAD = 3; // of one arrow or two nothing is known of how they scatter

/* As many decimals as the spread has two figures of: more would be noise. */
function decimals(spread: number | null): number {
    return spread === null || !(spread > 0) ? 2 : Math.min(3, Math.max(0, 1 - Math.floor(Math.log10(spread))));
}

function baselineRow(b: Person["baselines"][number]): HTMLElement {
    const spread = b.n < LEAST_FOR_SPREAD ? null : b.robust_sd;
    const value = (v: number | null): string => fixed(v, decimals(spread), b.unit);
    return el("tr", {}, el("th", { scope: "row" }, w.measures[b.measure] ?? b.measure), el("td", { "data-label": w.median }, value(b.median)),
        el("td", { "data-label": w.spread }, value(spread)), el("td", { "data-label": w.n }, String(b.n)));
}

function baselines(person: Person): HTMLElement {
    if (person.baselines.length === 0) { return el("div", {}, el("h3", {}, w.baselines), el("p", {}, w.noBaselines)); }
    const head = el("tr", {}, ...[w.measure, w.median, w.spread, w.n].map((text) => el("th", { scope: "col" }, text)));
    const rows = person.baselines.map(baselineRow);
    return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": `${w.baselines}: ${person.name}` },
        el("table", {}, el("caption", {}, w.baselines), el("thead", {}, head), el("tbody", {}, ...rows)));
}

function goalForm(app: App): HTMLElement {
    const lo = el("input", { type: "number", min: "0", step: "0.1", required: true });
    const hi = el("input", { type: "number", min: "0", step: "0.1", required: true });
    lo.value = app.store.hello?.goal?.lo_s.toString() ?? "";
    hi.value = app.store.hello?.goal?.hi_s.toString() ?? "";
    return el("form", { class: "entry", "aria-label": w.goal, submit: (event) => {
        event.preventDefault();
        if (Number(lo.value) >= Number(hi.value)) {
            app.notice(w.badGoal);
            return;
        }
        void app.run({ do: "goal", lo_s: Number(lo.value), hi_s: Number(hi.value) });
    } }, el("h3", {}, w.goal), el("label", { class: "field" }, el("span", {}, w.lo), lo),
    el("label", { class: "field" }, el("span", {}, w.hi), hi), el("button", { type: "submit" }, w.set),
    button(w.clear, () => void app.run({ do: "goal", clear: true })));
}

export function peopleScreen(app: App): Screen {
    const store = app.store;
    const body = el("div", { class: "cards" });
    let isShown = false;
    const isNow = (person: Person): boolean => !store.isReview && person.name === store.hello?.athlete;
    const card = (person: Person): HTMLElement => {
        const limits = person.limits.length === 0 ? [el("p", {}, w.noLimits)]
            : [el("ul", { class: "limits" }, ...person.limits.map((l) => el("li", {}, l.text))), el("p", { class: "small" }, w.careful)];
        const goal = person.goal === null || isNow(person) ? null : el("p", {}, words.line.band(String(person.goal.lo_s), String(person.goal.hi_s)));
        return el("section", { class: "card person" }, el("h2", { dir: "auto" }, person.name), isNow(person) ? el("p", { class: "code" }, w.now) : null,
            el("p", {}, w.counts(person.n_shots, person.n_recordings)), goal, el("h3", {}, w.limits), ...limits, baselines(person),
            isNow(person) ? goalForm(app) : null);
    };
    const newcomer = (): HTMLElement => {
        const name = el("input", { required: true, maxlength: "60", autocomplete: "off" });
        return el("form", { class: "entry", "aria-label": w.add, submit: (event) => {
            event.preventDefault();
            void app.run({ do: "archer", name: name.value });
        } }, el("h3", {}, w.add), el("label", { class: "field" }, el("span", {}, w.name), name), el("button", { type: "submit" }, w.start));
    };
    /* The archer is changed at the line, in a hurry: everybody in one place, before what is known of each. */
    const picker = (people: Person[]): HTMLElement => el("section", { class: "card wide" }, el("h2", {}, w.title),
        el("p", {}, people.length === 0 ? w.none : w.closes), el("div", { class: "row picker" }, ...people.filter((p) => !isNow(p)).map((p) =>
            button(w.pick(p.name), () => void app.run({ do: "archer", name: p.name })))), newcomer());
    const load = async (): Promise<void> => {
        if (!isShown) { return; }
        const answer = await read<{ people: Person[] }>("/api/people").catch((error: Error) => {
            app.notice(error.message);
            return null;
        });
        if (answer === null) { return; }
        const people = [...answer.people.filter(isNow), ...answer.people.filter((p) => !isNow(p))];
        body.replaceChildren(...(store.isReview ? people.length === 0 ? [el("p", {}, w.none)] : [] : [picker(people)]), ...people.map(card));
    };
    store.on(["hello"], () => void load());
    const element = el("section", { class: "screen", "aria-label": words.screens.people },
        el("h1", { class: "hidden" }, words.screens.people), body);
    return { element, show: () => { isShown = true; void load(); }, hide: () => { isShown = false; } };
}
