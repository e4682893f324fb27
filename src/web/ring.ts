// SPDX-License-Identifier: GPL-3.0-or-later
// The wave of the last half hour: lowest and highest of each step, in arrays of a fixed size.

const STEPS = 90_000; // 30 minutes
const STEP_S = 0.02;
const SLACK = 1e-6; // of a step: an edge is where it was meant to be

export interface Columns { t: number[]; lo: (number | null)[]; hi: (number | null)[] }

export class Ring {
    private lo: Float32Array[] = [];
    private hi: Float32Array[] = [];
    private firstStep = 0;
    private endStep = 0;

    get end_s(): number { return this.endStep * STEP_S; }
    get start_s(): number { return this.firstStep * STEP_S; }

    clear(n_channels: number): void {
        const make = (): Float32Array => new Float32Array(STEPS).fill(NaN);
        this.lo = Array.from({ length: n_channels }, make);
        this.hi = Array.from({ length: n_channels }, make);
        this.firstStep = this.endStep = 0;
    }

    /*
     * Puts pieces of dt seconds in their place by time: what comes twice is written twice, what is
     * missing stays unknown. Coarser pieces (what was missed, the longer the coarser) only fill in.
     */
    push(t0: number, dt: number, channels: { lo: (number | null)[]; hi: (number | null)[] }[]): void {
        const n = channels[0]?.lo.length ?? 0;
        if (n === 0 || channels.length !== this.lo.length) {
            return;
        }
        const end = Math.round((t0 + n * dt) / STEP_S);
        let begin = Math.round(t0 / STEP_S);
        if (end < this.firstStep) {
            this.clear(channels.length);
            this.firstStep = this.endStep = begin;
        }
        begin = Math.max(begin, end - STEPS);
        this.blank(this.endStep, end);
        const isCoarse = dt > 1.5 * STEP_S;
        for (let step = begin; step < end; step++) {
            const from = Math.max(0, Math.floor((step * STEP_S - t0) / dt + SLACK));
            const to = Math.min(n, Math.max(from + 1, Math.ceil(((step + 1) * STEP_S - t0) / dt - SLACK)));
            const isKept = isCoarse && !Number.isNaN(this.lo[0][step % STEPS]);
            for (let c = 0; c < channels.length && !isKept; c++) { this.put(c, step % STEPS, channels[c], from, to); }
        }
        this.endStep = Math.max(this.endStep, end);
        this.firstStep = Math.max(isCoarse ? Math.min(this.firstStep, begin) : this.firstStep, this.endStep - STEPS);
    }

    private put(c: number, at: number, piece: { lo: (number | null)[]; hi: (number | null)[] }, from: number, to: number): void {
        let least = Infinity;
        let most = -Infinity;
        for (let i = from; i < to; i++) {
            least = Math.min(least, piece.lo[i] ?? Infinity);
            most = Math.max(most, piece.hi[i] ?? -Infinity);
        }
        this.lo[c][at] = least === Infinity ? NaN : least;
        this.hi[c][at] = most === -Infinity ? NaN : most;
    }

    /*
     * At most `points` columns of [from, to): the extremes inside each are kept. Of several
     * channels it is their sum, step by step: unknown where one of them is.
     */
    select(channels: number[], from_s: number, to_s: number, points: number): Columns {
        const out: Columns = { t: [], lo: [], hi: [] };
        if (channels.length === 0 || Math.max(...channels) >= this.lo.length) {
            return out;
        }
        const first = Math.max(this.firstStep, Math.floor(from_s / STEP_S));
        const end = Math.min(this.endStep, Math.ceil(to_s / STEP_S));
        const width = Math.max(1, Math.ceil((to_s - from_s) / STEP_S / points));
        // Columns begin at multiples of their width, so that peaks do not flicker as time goes on.
        for (let at = Math.floor(first / width) * width; at < end; at += width) {
            this.column(channels, Math.max(at, first), Math.min(at + width, end), out);
        }
        return out;
    }

    private column(channels: number[], begin: number, end: number, out: Columns): void {
        let least = Infinity;
        let most = -Infinity;
        for (let step = begin; step < end; step++) {
            let lo = 0;
            let hi = 0;
            for (const c of channels) {
                lo += this.lo[c][step % STEPS];
                hi += this.hi[c][step % STEPS];
            }
            if (lo < least) { least = lo; }
            if (hi > most) { most = hi; }
        }
        out.t.push(begin * STEP_S);
        out.lo.push(least === Infinity ? null : least);
        out.hi.push(most === -Infinity ? null : most);
    }

    private blank(from: number, to: number): void {
        const begin = Math.max(from, to - STEPS);
        for (let step = begin; step < to; step++) {
            for (let c = 0; c < this.lo.length; c++) {
                this.lo[c][step % STEPS] = this.hi[c][step % STEPS] = NaN;
            }
        }
    }
}
