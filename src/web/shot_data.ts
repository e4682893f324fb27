// SPDX-License-Identifier: GPL-3.0-or-later
// What a close-up shows, asked for in the order in which it is looked at, and kept for a while:
// an arrow that is opened again, or that the pointer rests on, need not be waited for.
import { read } from "./api";
import type { Shot, Spectrum, Trace } from "./api";

export const KEPT = 12; // close-ups; seven channels of 1500 points are 31,500 numbers, half a megabyte at most

export interface ShotView {
    recording: number; shot: Shot; isFinal: boolean;
    range: string; // "click": around the click; "all": the whole shot
}

/* Around the click, s. */
const CLICK_FROM_S = -1.3;
export const CLICK_TO_S = 0.4;

function spanOf(view: ShotView): string {
    const isClick = view.range === "click" && typeof view.shot.events.clicker_s === "number";
    return isClick ? `align=clicker&from=${CLICK_FROM_S}&to=${CLICK_TO_S}` : "align=release&from=-6&to=1.5";
}

export class ShotData {
    readonly main: Promise<Trace>; // the force
    private rest: Promise<[Trace, Spectrum]> | null = null;
    private readonly at: string;
    private readonly query: string;

    constructor(view: ShotView) {
        this.at = `/api/recordings/${view.recording}/shots/${view.shot.n}`;
        this.query = `${spanOf(view)}&points=1500`;
        this.main = read<Trace>(`${this.at}/trace?${this.query}&channels=main`);
    }

    /* The other channels and the spectra: asked for when the force is there, which would wait for them. */
    others(): Promise<[Trace, Spectrum]> {
        this.rest ??= this.main.then(() => Promise.all([
            read<Trace>(`${this.at}/trace?${this.query}&channels=others`), read<Spectrum>(`${this.at}/spectrum`)]));
        return this.rest;
    }
}

export class ShotDataShelf {
    private kept = new Map<string, ShotData>(); // the one not asked for longest first

    /* Nothing is kept of a recording that runs: its samples may not all be there yet. */
    get(view: ShotView): ShotData {
        if (!view.isFinal) { return new ShotData(view); }
        const key = JSON.stringify([view.recording, view.range, view.shot]);
        const data = this.kept.get(key) ?? this.make(view, key);
        this.kept.delete(key);
        this.kept.set(key, data);
        for (const oldest of this.kept.keys()) {
            if (this.kept.size <= KEPT) { break; }
            this.kept.delete(oldest);
        }
        return data;
    }

    /* It may be opened soon. */
    foresee(view: ShotView): void {
        if (view.isFinal) { this.get(view); }
    }

    private make(view: ShotView, key: string): ShotData {
        const data = new ShotData(view);
        data.main.catch(() => this.kept.delete(key));
        return data;
    }
}
