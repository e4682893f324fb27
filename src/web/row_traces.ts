// SPDX-License-Identifier: GPL-3.0-or-later
// The list's rows, a trace each: asked for a few at a time, so that a close-up need not wait
// behind a screen full of them, and only while the row is in view.
import { read } from "./api";
import type { Trace } from "./api";

const AT_ONCE = 2; // of the browser's six connections to one server
export const KEPT = 400; // rows of 240 points, 720 numbers a channel

interface Wish { key: string; path: string; isWanted: () => boolean; take: (trace: Trace) => void }

export class RowTraces {
    private kept = new Map<string, Trace>(); // the one not asked for longest first
    private waiting: Wish[] = [];
    private n_asked = 0;
    private isHeld = false;

    constructor(private ask: (path: string) => Promise<Trace> = read) {}

    /* Gives the trace to `take` at once where it is kept; else later, if it is still wanted when its turn comes. */
    want(wish: Wish): void {
        const known = this.kept.get(wish.key);
        if (known !== undefined) {
            this.keep(wish.key, known);
            wish.take(known);
            return;
        }
        this.waiting.push(wish);
        this.next();
    }

    /* Asks for no more until it is told to go on: the rows are not what is looked at. */
    hold(isHeld: boolean): void {
        this.isHeld = isHeld;
        this.next();
    }

    private next(): void {
        while (!this.isHeld && this.n_asked < AT_ONCE && this.waiting.length > 0) {
            const wish = this.waiting.shift();
            if (wish?.isWanted() === true) { void this.fetch(wish); }
        }
    }

    private async fetch(wish: Wish): Promise<void> {
        this.n_asked++;
        const trace = this.kept.get(wish.key) ?? await this.ask(wish.path).catch(() => null);
        this.n_asked--;
        if (trace !== null) {
            this.keep(wish.key, trace);
            if (wish.isWanted()) { wish.take(trace); }
        }
        this.next();
    }

    private keep(key: string, trace: Trace): void {
        this.kept.delete(key);
        this.kept.set(key, trace);
        for (const oldest of this.kept.keys()) {
            if (this.kept.size <= KEPT) { break; }
            this.kept.delete(oldest);
        }
    }
}
