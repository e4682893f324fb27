// SPDX-License-Identifier: GPL-3.0-or-later
// Puts the page together: the head with the screens' names, one screen at a time, notices, pairing.
import { ReadError, read } from "./api";
import type { Command, Hello } from "./api";
import { makeAsk } from "./app";
import type { App, Screen } from "./app";
import { arrowsScreen } from "./arrows";
import { controlButton } from "./control";
import { button, el, say } from "./dom";
import { lineScreen } from "./line";
import { askPairing } from "./pair";
import { peopleScreen } from "./people";
import { sessionScreen } from "./session";
import { setupScreen } from "./setup";
import { Sound } from "./sound";
import { Store } from "./store";
import { words } from "./words.en";

type Name = keyof typeof words.screens;

const NOTICE_MS = 8000;
const LIVE_ONLY = new Set<Name>(["line", "setup"]); // finished recordings have no sensor

function setTheme(theme: string): void {
    document.documentElement.dataset.theme = theme;
    localStorage.setItem("theme", theme);
    window.dispatchEvent(new Event("theme"));
}

function themeButton(): HTMLButtonElement {
    const isDusk = (): boolean => document.documentElement.dataset.theme === "dusk";
    const toggle = button("", () => {
        setTheme(isDusk() ? "sun" : "dusk");
        say(toggle, isDusk() ? words.themeToSun : words.themeToDusk);
    }, { class: "quiet" });
    say(toggle, isDusk() ? words.themeToSun : words.themeToDusk);
    return toggle;
}

function banner(store: Store): HTMLElement {
    const box = el("div", { class: "banner", role: "status" });
    store.on(["link", "hello", "warning", "live"], () => {
        const lines: string[] = [];
        const notes = [...(store.hello?.is_open ? [words.open] : []),
            ...((store.live?.lost ?? 0) > 0 ? [words.lostFrames(store.live?.lost ?? 0)] : [])];
        const note = notes.join(" · ");
        const classOf = (line: string): string => line === note ? "small"
            : line === store.hello?.error || line === words.unheard ? "alarm said-below" : "alarm";
        if (!store.isLinked) { lines.push(words.lost); }
        if (store.hello?.error) { lines.push(store.hello.error); }
        if (store.live?.is_pulled) { lines.push(words.line.pulled); }
        if (store.live?.hearing === "silent" || store.live?.hearing === "strange") { lines.push(words.unheard); }
        if (store.warning !== "") { lines.push(store.warning); }
        if (note !== "") { lines.push(note); }
        const text = lines.join("\n");
        if (box.dataset.text !== text) {
            box.dataset.text = text;
            box.replaceChildren(...lines.map((line) => el("p", { class: classOf(line) }, line)));
        }
    });
    return box;
}

function navigation(screens: Record<Name, Screen>): { nav: HTMLElement; go: (name: Name) => void } {
    const nav = el("nav", { "aria-label": words.screensLabel });
    let current: Name | null = null;
    const go = (name: Name): void => {
        if (current === name) { return; }
        if (current !== null) { screens[current].hide?.(); }
        current = name;
        document.body.dataset.screen = name;
        for (const [key, screen] of Object.entries(screens)) { screen.element.hidden = key !== name; }
        for (const tab of nav.querySelectorAll("button")) {
            if (tab.dataset.name === name) { tab.setAttribute("aria-current", "page"); }
            else { tab.removeAttribute("aria-current"); }
        }
        screens[name].show?.();
        history.replaceState(null, "", location.search + "#" + name);
    };
    for (const name of Object.keys(screens) as Name[]) {
        nav.append(button(words.screens[name], () => go(name), { "data-name": name, class: LIVE_ONLY.has(name) ? "live-only" : "" }));
    }
    return { nav, go };
}

/* Where there is little room, the top is for what is read. */
function placeTools(tools: HTMLElement, header: HTMLElement, foot: HTMLElement): void {
    const small = window.matchMedia("(max-width: 1100px)");
    const place = (): void => { (small.matches ? foot : header).append(tools); };
    small.addEventListener("change", place);
    place();
}

function measureLatency(store: Store): void {
    if (new URLSearchParams(location.search).get("measure") !== "1") { return; }
    store.on(["release"], () => {
        const release = store.release;
        requestAnimationFrame(() => requestAnimationFrame(() => store.link.tell(
            { do: "painted", t_s: release?.t_s, sample_ms: release?.sample_ms })));
    });
}

function build(store: Store): void {
    const notices = el("div", { class: "notices", role: "status" });
    const notice = (text: string): void => {
        const line = el("p", {}, text);
        notices.replaceChildren(line);
        window.setTimeout(() => line.remove(), NOTICE_MS);
    };
    const ask = makeAsk(store);
    const run = async (command: Command): Promise<boolean> => {
        const error = await ask(command);
        if (error !== "") { notice(error); }
        return error === "";
    };
    const app: App = { store, notice, ask, run, go: (name) => go(name) };
    const sound = new Sound(store);
    const screens: Record<Name, Screen> = {
        line: lineScreen(app, sound), arrows: arrowsScreen(app), session: sessionScreen(app),
        people: peopleScreen(app), setup: setupScreen(app),
    };
    const { nav, go } = navigation(screens);
    const main = el("main", {}, ...Object.values(screens).map((screen) => screen.element));
    const header = el("header", {}, nav);
    const foot = el("footer", {}, words.caution);
    document.body.replaceChildren(header, banner(store), main, notices, foot);
    placeTools(el("div", { class: "tools" }, controlButton(app), themeButton()), header, foot);
    const wanted = location.hash.slice(1) as Name;
    const isThere = wanted in screens && !(store.isReview && LIVE_ONLY.has(wanted));
    const first = store.isReview ? "arrows" : store.hello?.is_idle && wanted !== "people" ? "setup" : "line";
    go(isThere && (first !== "setup" || wanted === "arrows") ? wanted : first);
}

/* Asks who is there, and for the code where it is wanted; null: nobody answers yet. */
async function greet(): Promise<Hello | null> {
    for (;;) {
        try {
            return await read<Hello>("/api/hello");
        } catch (error) {
            if (!(error instanceof ReadError) || error.status !== 401) { return null; }
        }
        await askPairing();
    }
}

async function start(): Promise<void> {
    document.documentElement.dataset.theme = localStorage.getItem("theme") ?? "sun";
    const store = new Store();
    store.hello = await greet();
    if (store.hello !== null) { store.foresee(store.hello); }
    if (store.isReview) { document.documentElement.dataset.mode = "review"; }
    build(store);
    store.hello = null;
    measureLatency(store);
    store.link.open();
}

void start();
