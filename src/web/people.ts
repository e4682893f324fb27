// SPDX-License-Identifier: GPL-3.0-or-later
// "People": who is shooting, what is usual for them, their limits, their target band.
import { read } from "./api";
import type { Person } from "./api";
import type { App, Screen } from "./app";
import { button, el, fixed } from "./dom";
import { words } from "./words.en";

const w = words.people;

function baselines(person: Person): HTMLElement {
    const head = el("tr", {}, ...[w.measure, w.median, w.spread, w.n].map((text) => el("th", { scope: "col" }, text)));
    const rows = person.baselines.map((b) => el("tr", {}, el("th", { scope: "row" }, w.measures[b.measure] ?? b.measure), el("td", { "data-label": w.median }, fixed(b.median, 3, b.unit)),
        el("td", { "data-label": w.spread }, fixed(b.robust_sd, 3, b.unit)), el("td", { "data-label": w.n }, String(b.n))));
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
    const card = (person: Person): HTMLElement => {
        const isNow = !store.isReview && person.name === store.hello?.athlete;
        const limits = person.limits.length === 0 ? [el("li", {}, w.noLimits)]
            : person.limits.map((l) => el("li", { "data-state": l.state }, el("strong", {}, words.line.state[l.state]), ` ${l.text}`));
        const pick = isNow ? el("p", { class: "code" }, w.now)
            : store.isReview ? null : button(w.pick(person.name), () => void app.run({ do: "archer", name: person.name }));
        return el("section", { class: "card" }, el("h2", {}, person.name), pick, el("p", {}, w.counts(person.n_shots, person.n_recordings)),
            el("h3", {}, w.limits), el("ul", { class: "limits" }, ...limits), baselines(person), isNow ? goalForm(app) : null);
    };
    const newcomer = (): HTMLElement => {
        const name = el("input", { required: true, maxlength: "60", autocomplete: "off" });
        return el("section", { class: "card" }, el("h2", {}, w.add), el("form", { class: "entry", "aria-label": w.add, submit: (event) => {
            event.preventDefault();
            void app.run({ do: "archer", name: name.value });
        } }, el("label", { class: "field" }, el("span", {}, w.name), name), el("button", { type: "submit" }, w.start)));
    };
    const load = async (): Promise<void> => {
        if (!isShown) { return; }
        const answer = await read<{ people: Person[] }>("/api/people").catch((error: Error) => {
            app.notice(error.message);
            return null;
        });
        if (answer === null) { return; }
        body.replaceChildren(...(answer.people.length === 0 ? [el("p", {}, w.none)] : answer.people.map(card)),
            ...(store.isReview ? [] : [newcomer()]));
    };
    store.on(["hello"], () => void load());
    const element = el("section", { class: "screen", "aria-label": words.screens.people },
        el("h1", { class: "hidden" }, words.screens.people), el("p", { class: "live-only" }, w.closes), el("p", {}, w.careful), body);
    return { element, show: () => { isShown = true; void load(); }, hide: () => { isShown = false; } };
}
