// SPDX-License-Identifier: GPL-3.0-or-later
// The events of an arrow as marks with flags that can be dragged, or moved with the arrow keys.
import type uPlot from "uplot";
import type { Shot, Trace } from "./api";
import { el, fixed } from "./dom";
import { words } from "./words.en";

const FLAG_GAP_PX = 6;
const STEP_S = 0.001;
const KEYS_REST_MS = 900; // a correction is sent when the keys have been left alone this long

interface Handle {
    event: string; at: number; mark: HTMLElement;
    from: number | null; timer: number; // of steps by keys not yet sent: where the mark stood before
}

export class EventHandles {
    readonly space = el("div", { class: "handles-space" }); // above the plot: the flags stand there
    private handles: Handle[] = [];
    private u: uPlot | null = null;

    constructor(shot: Shot, private trace: Trace, private correct: (event: string, value_s: number) => Promise<boolean>) {
        for (const [event, name] of Object.entries(words.close.events)) {
            const at = trace.events[event];
            if (at != null) { this.handles.push(this.make(event, name, at, shot.corrected.includes(event))); }
        }
    }

    attach(u: uPlot): void {
        this.u = u;
        for (const handle of this.handles) { u.over.append(handle.mark); }
        this.place(u);
    }

    place(u: uPlot): void {
        const width = u.bbox.width / window.devicePixelRatio;
        this.handles.sort((a, b) => a.at - b.at);
        for (const handle of this.handles) { this.mark(handle, u.valToPos(handle.at, "x"), width); }
        const ends: number[] = []; // of each row, from the plot upwards: how far flags stand there
        const shown = this.handles.filter((handle) => !handle.mark.hidden);
        /* all are measured before one is moved: else each measure is a layout */
        const flags = shown.map((handle) => (handle.mark.firstElementChild as HTMLElement).offsetWidth + FLAG_GAP_PX);
        shown.forEach((handle, i) => {
            const x = u.valToPos(handle.at, "x");
            const from = handle.mark.hasAttribute("data-flip") ? x - flags[i] : x;
            const free = ends.findIndex((end) => end <= from);
            const row = free < 0 ? ends.length : free;
            ends[row] = from + flags[i];
            handle.mark.style.setProperty("--row", String(row + 1));
        });
        this.space.style.setProperty("--rows", String(ends.length));
    }

    private mark(handle: Handle, x: number, width: number): void {
        handle.mark.hidden = x < 0 || x > width;
        handle.mark.style.left = `${x}px`;
        handle.mark.toggleAttribute("data-flip", x > width * 0.55);
        handle.mark.setAttribute("aria-valuenow", handle.at.toFixed(4));
        handle.mark.setAttribute("aria-valuetext", fixed(handle.at, 3, "s"));
    }

    /* The event whose mark has the keys; "" where none has. */
    static findFocus(): string {
        return (document.activeElement as HTMLElement | null)?.dataset.event ?? "";
    }

    focus(event: string): void {
        this.handles.find((handle) => handle.event === event)?.mark.focus();
    }

    private make(event: string, name: string, at: number, isCorrected: boolean): Handle {
        const mark = el("div", { class: `event-mark event-${event}`, "data-event": event, role: "slider", tabindex: "0",
            "aria-label": words.close.correct(name), "aria-valuemin": "-60", "aria-valuemax": "60", "aria-valuenow": String(at) },
            el("span", { class: "event-name" }, isCorrected ? `${name} *` : name));
        const handle: Handle = { event, at, mark, from: null, timer: 0 };
        mark.addEventListener("pointerdown", (down) => this.drag(handle, down));
        mark.addEventListener("mousedown", (down) => down.stopPropagation());
        mark.addEventListener("keydown", (key) => this.step(handle, key));
        return handle;
    }

    private drag(handle: Handle, down: PointerEvent): void {
        const u = this.u;
        if (u === null) { return; }
        down.preventDefault();
        down.stopPropagation();
        handle.mark.focus();
        handle.mark.setPointerCapture(down.pointerId);
        const before = handle.at;
        const startX = down.clientX;
        const origin = u.valToPos(before, "x");
        const move = (event: PointerEvent): void => {
            handle.at = u.posToVal(origin + event.clientX - startX, "x");
            this.place(u);
        };
        const stop = (event: PointerEvent): void => {
            handle.mark.removeEventListener("pointermove", move);
            handle.mark.removeEventListener("pointerup", stop);
            handle.mark.removeEventListener("pointercancel", stop);
            if (event.type === "pointercancel" || Math.abs(event.clientX - startX) < 2) { handle.at = before; this.place(u); }
            else { void this.send(handle, before); }
        };
        handle.mark.addEventListener("pointermove", move);
        handle.mark.addEventListener("pointerup", stop);
        handle.mark.addEventListener("pointercancel", stop);
    }

    private step(handle: Handle, key: KeyboardEvent): void {
        const way = key.key === "ArrowLeft" ? -1 : key.key === "ArrowRight" ? 1 : 0;
        if (way === 0 || this.u === null) { return; }
        key.preventDefault();
        const before = handle.from ?? handle.at;
        handle.from = before;
        handle.at += way * STEP_S * (key.shiftKey ? 10 : 1);
        this.place(this.u);
        window.clearTimeout(handle.timer);
        handle.timer = window.setTimeout(() => {
            handle.from = null;
            void this.send(handle, before);
        }, KEYS_REST_MS);
    }

    private async send(handle: Handle, before: number): Promise<void> {
        const isDone = await this.correct(handle.event, this.trace.align_s + handle.at);
        if (!isDone && this.u !== null) {
            handle.at = before;
            this.place(this.u);
        }
    }
}
