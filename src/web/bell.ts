// SPDX-License-Identifier: GPL-3.0-or-later
// When the tones of a signal sound: as src/app/bell.h has it. Tones of a signal follow each other
// by STROKE_S; between two signals it is silent for SILENCE_S, so that no two add up to another
// one, and never to the emergency's. Pure: time is given.

export const STROKE_S = 0.6;
export const SILENCE_S = 2;
const STROKES_MAX = 3;

export class Bell {
    private whole = 0; // tones of the signal that sounds, or was the last
    private left = 0;
    private next = 0;
    private rung_s = -Infinity;

    get isIdle(): boolean { return this.left === 0 && this.next === 0; }

    /* Asks for a signal, in place of one that still waits. */
    ask(strokes: number): void {
        if (strokes > 0 && strokes <= STROKES_MAX) { this.next = strokes; }
    }

    /* True where a tone is due: sound it now. At most one a call. */
    take(now_s: number): boolean {
        if (this.isIdle || now_s < this.rung_s + (this.left > 0 ? STROKE_S : SILENCE_S)) { return false; }
        if (this.left === 0) {
            this.whole = this.left = this.next;
            this.next = 0;
        }
        this.left--;
        this.rung_s = now_s;
        return true;
    }

    /* A string is pulled: of what is cut off or waits only a stop comes later, whole. */
    hush(): void {
        if (this.left > 0 && this.next === 0) { this.next = this.whole; }
        this.left = 0;
        if (this.next < STROKES_MAX) { this.next = 0; }
    }

    /* Nothing is to come any more. */
    clear(): void { this.left = this.next = 0; }
}
