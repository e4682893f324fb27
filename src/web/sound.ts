// SPDX-License-Identifier: GPL-3.0-or-later
// Clock signals through the tablet: off until asked for, silent from draw start to release.
import { el, say } from "./dom";
import type { Live } from "./api";
import type { Store } from "./store";
import type { App } from "./app";
import { Bell } from "./bell";
import { words } from "./words.en";

const LOOK_MS = 50;
const PULLED_N = 10; // as src/app/clock_voice.h
const OLD_MS = 2000; // what was said of the archer so long ago tells nothing of now
const LINE = { hz: 660, seconds: 0.25 }; // the line's signals, for who is in charge of it
const OWN = { hz: 1320, seconds: 0.08 }; // one short high tone, which no line uses

function isPulled(live: Live): boolean {
    return live.phase === "drawing" || live.phase === "hold" || (live.force_n ?? 0) > PULLED_N;
}

export class Sound {
    private context: AudioContext | null = null;
    private isOn = false;
    private isInCharge = false;
    private bell = new Bell();
    private tone: OscillatorNode | null = null;
    private heard_ms = 0;

    constructor(private store: Store) {
        store.on(["live"], () => { this.heard_ms = performance.now(); this.look(); });
        store.on(["signal"], () => this.hear());
        store.on(["link"], () => { if (!store.isLinked) { this.stop(); } });
        setInterval(() => this.look(), LOOK_MS);
    }

    switches(app: App): HTMLElement {
        const on = el("input", { type: "checkbox" });
        const charge = el("input", { type: "checkbox" });
        const change = (): void => {
            this.isOn = on.checked;
            this.isInCharge = charge.checked;
            this.stop();
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

    /* The clock signals: all of it to a line, else one tone when nobody may have drawn yet. */
    private hear(): void {
        const signal = this.store.signal;
        if (!this.isOn || signal === null) { return; }
        if (this.isInCharge) { this.bell.ask(signal.strokes); } else if (signal.is_before_draws) { this.bell.ask(1); }
        this.look();
    }

    private look(): void {
        const live = this.store.live;
        if (live === null || this.context === null) { return; }
        if (isPulled(live)) {
            this.cut();
            this.bell.hush();
        } else if (performance.now() - this.heard_ms > OLD_MS) {
            this.stop();
        } else if (this.bell.take(performance.now() / 1000)) {
            this.play(this.context);
        }
    }

    private play(context: AudioContext): void {
        const kind = this.isInCharge ? LINE : OWN;
        const tone = context.createOscillator();
        tone.frequency.value = kind.hz;
        tone.connect(context.destination);
        tone.start(context.currentTime);
        tone.stop(context.currentTime + kind.seconds);
        this.tone = tone;
    }

    /* Silence at once: a tone that sounds ends. */
    private cut(): void {
        this.tone?.disconnect();
        this.tone = null;
    }

    private stop(): void {
        this.cut();
        this.bell.clear();
    }
}
