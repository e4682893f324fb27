// SPDX-License-Identifier: GPL-3.0-or-later
// Asks for the code shown in the terminal until it is right.
import { el, say } from "./dom";
import { words } from "./words.en";

async function post(code: string): Promise<string> {
    const answer = await fetch("/pair", { method: "POST", headers: { "Content-Type": "application/json" },
        body: JSON.stringify({ code }) });
    if (answer.ok) { return ""; }
    const body = await answer.json().catch(() => ({})) as { wait_s?: number };
    return answer.status === 429 ? words.pair.wait(Math.ceil(body.wait_s ?? 1)) : words.pair.wrong;
}

export function askPairing(): Promise<void> {
    return new Promise((resolve) => {
        const code = el("input", { inputmode: "numeric", autocomplete: "one-time-code", maxlength: "6", required: true });
        const said = el("p", { role: "alert" });
        const form = el("form", { class: "card pair", submit: (event) => {
            event.preventDefault();
            void post(code.value).then((problem) => problem === "" ? resolve() : say(said, problem))
                .catch(() => say(said, words.lost));
        } }, el("h1", {}, words.pair.title), el("p", {}, words.pair.hint),
        el("label", { class: "field" }, el("span", {}, words.pair.code), code),
        el("button", { type: "submit", class: "main" }, words.pair.go), said);
        document.body.replaceChildren(el("main", {}, form));
        code.focus();
    });
}
