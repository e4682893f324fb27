// SPDX-License-Identifier: GPL-3.0-or-later
// Small helpers that make elements. No text is ever read as HTML.

type Child = Node | string | null;
type Attributes = Record<string, string | boolean | ((event: Event) => void)>;

/* Makes an element: attributes whose value is a function are listeners, false leaves one out. */
export function el<K extends keyof HTMLElementTagNameMap>(tag: K, attributes: Attributes = {},
    ...children: Child[]): HTMLElementTagNameMap[K] {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) {
        if (typeof value === "function") {
            element.addEventListener(name, value);
        } else if (value !== false) {
            element.setAttribute(name, value === true ? "" : value);
        }
    }
    for (const child of children) {
        if (child !== null) {
            element.append(child);
        }
    }
    return element;
}

/* Sets text only where it differs, so that screen readers and layout are left in peace. */
export function say(element: HTMLElement, text: string): void {
    if (element.textContent !== text) {
        element.textContent = text;
    }
}

export function fixed(value: number | null | undefined, digits: number, unit = ""): string {
    if (value === null || value === undefined || !Number.isFinite(value)) {
        return "–";
    }
    const text = value.toFixed(digits);
    return (Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−")) + (unit === "" ? "" : "\u202f" + unit);
}

export function button(text: string, press: () => void, attributes: Attributes = {}): HTMLButtonElement {
    return el("button", { type: "button", click: press, ...attributes }, text);
}

/* A labelled choice; `pairs` are value and text. */
export function choice(label: string, pairs: [string, string][], chosen: string,
    change: (value: string) => void): HTMLLabelElement {
    const select = el("select", { change: () => change(select.value) });
    for (const [value, text] of pairs) {
        select.append(el("option", { value, selected: value === chosen }, text));
    }
    return el("label", { class: "field" }, el("span", {}, label), select);
}

/* Comes back behind the next frame that is painted. */
export function afterPaint(): Promise<void> {
    return new Promise((done) => requestAnimationFrame(() => window.setTimeout(done)));
}
