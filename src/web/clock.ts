// SPDX-License-Identifier: GPL-3.0-or-later
// The shooting clock on the page: large digits, its keys, its format and each value of it.
import { ROUND_KEYS } from "./api";
import type { Live, Round, RoundKey } from "./api";
import type { App } from "./app";
import { button, choice, el, say } from "./dom";
import { words } from "./words.en";

const c = words.clock;
const RUNNING = ["line-up", "shooting", "warning"];

/* The values of a format in fields; what is changed there goes with the format's name. */
function valuesView(app: App, formats: HTMLElement, chosen: () => string): { element: HTMLElement; fill: (round: Round | undefined) => void } {
    const fields = new Map<RoundKey, HTMLInputElement>(ROUND_KEYS.map((key) =>
        [key, el("input", { type: "number", min: "0", step: "1", inputmode: "numeric" })]));
    const use = (): void => {
        const set = Object.fromEntries([...fields].map(([key, field]) => [key, field.value]));
        void app.run({ do: "clock", action: "format", format: chosen(), set }).then((is) => { if (is) { app.notice(c.used); } });
    };
    const rows = [...fields].map(([key, field]) => el("label", { class: "field" }, el("span", {}, c.values[key]), field));
    const element = el("details", { class: "clock-values" }, el("summary", {}, c.change), formats,
        el("div", { class: "row" }, ...rows), button(c.use, use));
    const fill = (round: Round | undefined): void => {
        for (const [key, field] of fields) { field.value = round === undefined ? "" : String(round[key]); }
    };
    return { element, fill };
}

export function clockView(app: App): { element: HTMLElement; set: (live: Live | null, isLost: boolean) => void; greet: () => void } {
    let format = "";
    let isChosen = false; // the format shown is one that was asked for
    const left = el("p", { class: "clock-left" });
    const phase = el("p", { class: "clock-phase" });
    const formats = el("div");
    const values = valuesView(app, formats, () => format);
    const run = (action: string): void => void app.run({ do: "clock", action });
    /* The clock starts with the format that is seen. */
    const begin = async (action: string): Promise<void> => {
        if (!isChosen && (app.store.live?.clock ?? null) === null) {
            isChosen = await app.run({ do: "clock", action: "format", format });
        }
        run(action);
    };
    const other = button(c.startOther, () => void begin("start-other"));
    const handOver = button(c.handOver, () => run("hand-over"));
    const element = el("section", { class: "card clock" }, el("h2", {}, c.title), el("div", { class: "clock-now" }, left, phase, values.element),
        el("div", { class: "row" }, button(c.start, () => void begin("start")), button(c.halt, () => run("halt")),
            button(c.stop, () => run("stop")), other, handOver));
    const show = (): void => {
        const round = app.store.hello?.rounds.find((r) => r.name === format);
        const isRunning = RUNNING.includes(app.store.live?.clock?.phase ?? "");
        other.hidden = isRunning || round?.kind !== "alternating";
        handOver.hidden = !isRunning || (round !== undefined && round.kind !== "alternating" && round.archers < 2);
    };
    const fill = (): void => {
        values.fill(app.store.hello?.rounds.find((r) => r.name === format));
        show();
    };
    const set = (live: Live | null, isLost: boolean): void => {
        const clock = live?.clock ?? null;
        element.dataset.phase = clock?.phase ?? "";
        show();
        say(left, clock === null ? "–" : `${Math.ceil(clock.left_s)}`);
        const parts = isLost ? [c.unknown] : clock === null ? [c.none, format] : [c.phase[clock.phase],
            clock.arrows_left === null ? "" : c.arrows(clock.arrows_left), clock.archer === null ? "" : c.archer(clock.archer),
            clock.side === null ? "" : c.side[clock.side]];
        say(phase, parts.filter((part) => part !== "").join(" · "));
    };
    const greet = (): void => {
        const names = app.store.hello?.formats ?? [];
        if (!names.includes(format)) { format = names[0] ?? ""; }
        formats.replaceChildren(choice(c.format, names.map((n) => [n, n]), format, (name) => {
            format = name;
            fill();
            void app.run({ do: "clock", action: "format", format }).then((is) => { isChosen = isChosen || is; });
        }));
        fill();
    };
    return { element, set, greet };
}
