// SPDX-License-Identifier: GPL-3.0-or-later
// The choice of sensors: what each is (its profile) and where it is (its port), one or more of them.
import type { Offer, Port, Profile, Sensors } from "./api";
import type { App } from "./app";
import { button, el, say } from "./dom";
import { words } from "./words.en";

const w = words.choose;
const REMEMBERED = "sensors"; // in the browser's own memory: the choice that was made last
const OWN = "";               // the port that the profile names
const TYPED = "typed";

/* One sensor being chosen. */
interface Slot { profile: string | null; port: string | null; typed: string }

/* What a profile measures, in words. */
export function describe(profile: Profile): string {
    return profile.streams.map((stream) => {
        const roles = [...new Set(stream.channels.map((c) => c.role))].map((role) => {
            const which = stream.channels.filter((c) => c.role === role).map((c) => c.finger ?? c.axis ?? "").filter((text) => text !== "");
            return w.roles[role] + (which.length === 0 ? "" : ` ${which.join(", ")}`);
        });
        return w.rate(roles.join("; "), String(stream.rate_hz));
    }).join(". ");
}

function nameOf(profile: Profile): string { return profile.name === "" ? profile.file : profile.name; }

function isUsable(profile: Profile): boolean { return profile.error === null; }

function ownPort(offer: Offer, slot: Slot): string | null {
    const own = offer.profiles.find((p) => p.id === slot.profile)?.port ?? null;
    return own === "-" ? null : own;
}

/* The only one there is, or the only one that was plugged in. */
function likelyPort(ports: Port[]): string | null {
    const plugged = ports.filter((p) => p.address.startsWith("usb:") || /tty(USB|ACM)/.test(p.path));
    return plugged.length === 1 ? plugged[0].address : ports.length === 1 ? ports[0].address : null;
}

/* What fits is filled in, so that it need not be chosen; what has gone is let go. */
function complete(offer: Offer, slot: Slot): void {
    const usable = offer.profiles.filter(isUsable);
    if (!usable.some((p) => p.id === slot.profile)) { slot.profile = usable.length === 1 ? usable[0].id : null; }
    const isThere = slot.port === TYPED || (slot.port === OWN ? ownPort(offer, slot) !== null
        : offer.ports.some((p) => p.address === slot.port));
    if (!isThere) { slot.port = ownPort(offer, slot) !== null ? OWN : likelyPort(offer.ports); }
}

function remembered(): Slot[] {
    try {
        const kept = JSON.parse(localStorage.getItem(REMEMBERED) ?? "[]") as Record<string, unknown>[];
        return kept.map((k) => ({ profile: String(k.profile), port: String(k.port), typed: String(k.typed) }));
    } catch {
        return [];
    }
}

/* One thing to be chosen: as large as a glove wants it. Its key finds it again when it is drawn anew. */
function option(group: string, value: string, isChosen: boolean, title: string, more: string, choose: (() => void) | null): HTMLElement {
    const input = el("input", { type: "radio", name: group, value, "data-key": `${group} ${value}`, disabled: choose === null,
        change: () => choose?.() });
    input.checked = isChosen;
    return el("label", { class: "option" }, input, el("span", {}, el("strong", {}, title),
        more === "" ? null : el("span", { class: "small" }, more)));
}

function profileOptions(offer: Offer, slot: Slot, n: number, change: () => void): HTMLElement {
    const inOrder = [...offer.profiles.filter(isUsable), ...offer.profiles.filter((p) => !isUsable(p))];
    const rows = inOrder.map((p) => option(`profile-${n}`, p.id, p.id === slot.profile, nameOf(p),
        p.error ?? (p.name === "" ? describe(p) : `${describe(p)} (${p.file})`),
        isUsable(p) ? () => { slot.profile = p.id; slot.port = ownPort(offer, slot) !== null ? OWN : slot.port; change(); } : null));
    return el("fieldset", {}, el("legend", {}, w.what), ...(rows.length === 0 ? [el("p", {}, w.noProfiles)] : rows));
}

function portOptions(offer: Offer, slot: Slot, n: number, change: () => void): HTMLElement {
    const group = `port-${n}`;
    const pick = (port: string): (() => void) => () => { slot.port = port; change(); };
    const own = ownPort(offer, slot);
    const rows = offer.ports.map((p) => option(group, p.address, p.address === slot.port, p.path === "" ? p.address : p.path,
        [p.about === p.path.split("/").pop() ? "" : p.about, p.path !== "" && p.path !== p.address ? p.address : ""]
            .filter((text) => text !== "").join(" · "), pick(p.address)));
    const typed = el("input", { autocapitalize: "off", autocomplete: "off", spellcheck: "false", maxlength: "250", "data-key": `${group} text`,
        input: () => { slot.typed = typed.value; change(); } });
    typed.value = slot.typed;
    return el("fieldset", {}, el("legend", {}, w.where), ...(own === null ? [] : [option(group, OWN, slot.port === OWN, w.own, own, pick(OWN))]),
        ...rows, ...(offer.ports.length === 0 ? [el("p", {}, w.noPorts)] : []),
        option(group, TYPED, slot.port === TYPED, w.other, offer.may_type.includes("tcp:") ? w.mayType : w.mayTypeOpen, pick(TYPED)),
        ...(slot.port === TYPED ? [el("label", { class: "field" }, el("span", {}, w.address), typed)] : []));
}

export interface Chooser { element: HTMLElement; set: (sensors: Sensors) => void; greet: () => void; open: (is: boolean) => void }

export function chooser(app: App): Chooser {
    const store = app.store;
    let offer: Sensors | null = null;
    let drawn = "";
    let slots: Slot[] = [];
    let said = "";
    const list = el("div", { class: "stack" });
    const go = el("button", { type: "submit", class: "main" });
    const hint = el("p", { class: "small" });
    const trouble = el("p", { class: "trouble", role: "alert" });
    const isReady = (slot: Slot): boolean => slot.profile !== null && slot.port !== null && (slot.port !== TYPED || slot.typed.trim() !== "");
    const update = (): void => {
        go.disabled = !slots.every(isReady);
        say(go, store.hello?.is_idle === false ? w.change : w.start);
        say(hint, go.disabled ? w.incomplete : store.hello?.is_idle === false ? w.closes : "");
        say(trouble, said !== "" ? said : store.hello?.error ?? "");
        hint.hidden = hint.textContent === "";
        trouble.hidden = trouble.textContent === "";
    };
    const add = button(w.add, () => { slots.push({ profile: null, port: null, typed: "" }); draw(true); }, { class: "quiet" });
    /* Drawn anew only where something is new; what has the keyboard keeps it. */
    const draw = (isForced: boolean): void => {
        if (offer === null) { return; }
        for (const slot of slots) { complete(offer, slot); }
        const state = JSON.stringify([offer.ports, offer.profiles, slots.map((s) => [s.profile, s.port])]);
        if (state !== drawn || isForced) {
            drawn = state;
            const key = (document.activeElement as HTMLElement | null)?.dataset.key;
            list.replaceChildren(...slots.map((slot, n) => slotView(offer as Sensors, slot, n)));
            add.hidden = slots.length >= offer.most;
            if (key !== undefined) { list.querySelector<HTMLElement>(`[data-key="${CSS.escape(key)}"]`)?.focus(); }
        }
        update();
    };
    const change = (): void => { said = ""; draw(false); };
    const slotView = (from: Sensors, slot: Slot, n: number): HTMLElement => el("section", { class: "slot", "aria-label": w.nth(n + 1) },
        slots.length === 1 ? null : el("h3", {}, w.nth(n + 1)), el("div", { class: "choices" }, profileOptions(from, slot, n, change),
            portOptions(from, slot, n, change)),
        slots.length === 1 ? null : button(w.drop(n + 1), () => { slots.splice(n, 1); draw(true); }, { class: "quiet" }));
    const send = async (): Promise<void> => {
        const sensors = slots.map((s) => ({ profile: s.profile, port: s.port === OWN ? null : s.port === TYPED ? s.typed.trim() : s.port }));
        said = "";
        update();
        go.disabled = true;
        hint.hidden = false;
        say(hint, w.opening);
        const error = await app.ask({ do: "sensor", sensors });
        if (error === "") {
            localStorage.setItem(REMEMBERED, JSON.stringify(slots));
            element.dispatchEvent(new Event("chosen"));
        }
        said = error;
        update();
    };
    const element = el("form", { class: "chooser stack", "aria-label": w.title, submit: (event) => { event.preventDefault(); void send(); } },
        list, el("div", { class: "row" }, go, add), hint, trouble);
    const set = (sensors: Sensors): void => {
        offer = sensors;
        if (slots.length === 0) {
            const before = sensors.current.length > 0
                ? sensors.current.map((c) => ({ profile: c.id, port: sensors.ports.some((p) => p.address === c.address) ? c.address : OWN, typed: "" }))
                : remembered().slice(0, sensors.most);
            slots = before.length > 0 ? before : [{ profile: null, port: null, typed: "" }];
        }
        draw(false);
    };
    /* Opened anew it begins with what is read now. */
    const open = (is: boolean): void => {
        element.hidden = !is;
        said = "";
        if (is) {
            slots = [];
            drawn = ""; // the options are those of the slots before
            if (offer !== null) { set(offer); }
        }
    };
    return { element, set, greet: update, open };
}
