// SPDX-License-Identifier: GPL-3.0-or-later
// Which screen controls. A page that did and was loaded anew, or away for a while, may be greeted
// before the server knows that it had gone: it takes control again when that is known.
import type { App } from "./app";
import { button, el } from "./dom";
import { words } from "./words.en";

const REMEMBERED = "controlled_as"; // in the tab's own memory: the viewer that this page was

export function controlButton(app: App): HTMLButtonElement {
    const store = app.store;
    const press = (): void => {
        sessionStorage.removeItem(REMEMBERED); // who lets go does not want it back
        void app.run({ do: "control", take: !store.isMine });
    };
    const toggle = button("", press, { class: "quiet" });
    const recall = (): void => {
        const hello = store.hello;
        const before = sessionStorage.getItem(REMEMBERED);
        if (hello === null) { return; }
        if (store.isMine) {
            sessionStorage.setItem(REMEMBERED, String(hello.viewer));
        } else if (hello.controller != null && String(hello.controller) !== before) {
            sessionStorage.removeItem(REMEMBERED);
        } else if (hello.controller == null && before !== null) {
            void app.ask({ do: "control", take: true });
        }
    };
    const update = (): void => {
        const state = store.isMine ? words.control.mine
            : store.hello?.controller == null ? words.control.none : words.control.other;
        toggle.replaceChildren(el("span", { class: "small" }, state),
            el("strong", {}, store.isMine ? words.control.give : words.control.take));
    };
    store.on(["control", "hello"], update);
    store.on(["control"], recall);
    update();
    return toggle;
}
