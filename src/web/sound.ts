// SPDX-License-Identifier: GPL-3.0-or-later
// Clock signals through the tablet: off until asked for, silent from draw start to release.
import { el, say } from "./dom";
import type { Store } from "./store";
import type { App } from "./app";
import { words } from "./words.en";

const TONE_HZ = 660;
const TONE_S = 0.25;
const SIGNALS: Record<string, number> = { "line-up": 2, shooting: 1, over: 3 };

export class Sound {
    private context: AudioContext | null = null;
    private isOn = false;
    private isInCharge = false;
    private phase = "";
    private waiting = 0;

    constructor(private store: Store) {
        store.on(["live"], () => this.follow());
    }

    switches(app: App): HTMLElement {
        const on = el("input", { type: "checkbox" });
        const charge = el("input", { type: "checkbox" });
        const change = (): void => {
            this.isOn = on.checked;
            this.isInCharge = charge.checked;
            if (this.isOn && this.context === null) { this.context = new AudioContext(); }
            void app.run({ do: "sound", on: on.checked, in_charge: charge.checked });
        };
        on.addEventListener("change", change);
        charge.addEventListener("change", change);
        const hint = el("p", { class: "small" });
        say(hint, words.sound.caution);
        return el("fieldset", {}, el("legend", {}, words.sound.title),
            el("label", { class: "check" }, on, el("span", {}, words.sound.on)),
            el("label", { class: "check" }, charge, el("span", {}, words.sound.inCharge)), hint);
    }

    private follow(): void {
        const live = this.store.live;
        const phase = live?.clock?.phase ?? "";
        if (phase !== this.phase) {
            this.phase = phase;
            this.waiting = SIGNALS[phase] ?? 0;
        }
        const isDrawn = live?.phase === "drawing" || live?.phase === "hold";
        if (this.waiting > 0 && !isDrawn) {
            if (this.isOn && this.isInCharge) { this.play(this.waiting); }
            this.waiting = 0;
        }
    }

    private play(times: number): void {
        const context = this.context;
        if (context === null) { return; }
        for (let i = 0; i < times; i++) {
            const tone = context.createOscillator();
            tone.frequency.value = TONE_HZ;
            tone.connect(context.destination);
            tone.start(context.currentTime + i * 2 * TONE_S);
            tone.stop(context.currentTime + i * 2 * TONE_S + TONE_S);
        }
    }
}
