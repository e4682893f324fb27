// SPDX-License-Identifier: GPL-3.0-or-later
// The wave of the last half hour: lowest and highest of each step, in arrays of a fixed size.

const STEPS = 90_000; // 30 minutes of 20 ms

export interface Columns { t: number[]; lo: (number | null)[]; hi: (number | null)[] }

export class Ring {
    private lo: Float32Array[] = [];
    private hi: Float32Array[] = [];
    private firstStep = 0;
    private endStep = 0;
    private dt_s = 0;

    get end_s(): number { return this.endStep * this.dt_s; }
    get start_s(): number { return this.firstStep * this.dt_s; }

    clear(n_channels: number): void {
        const make = (): Float32Array => new Float32Array(STEPS).fill(NaN);
        this.lo = Array.from({ length: n_channels }, make);
        this.hi = Array.from({ length: n_channels }, make);
        this.firstStep = this.endStep = 0;
        this.dt_s = 0;
    }

    /* Puts steps in their place by time: what comes twice is written twice, what is missing stays unknown. */
    push(t0: number, dt: number, channels: { lo: (number | null)[]; hi: (number | null)[] }[]): void {
        const n = channels[0]?.lo.length ?? 0;
        if (n === 0 || channels.length !== this.lo.length) {
            return;
        }
        const begin = Math.round(t0 / dt);
        if (this.dt_s !== dt || begin + n < this.firstStep) {
            this.clear(channels.length);
            this.dt_s = dt;
            this.firstStep = this.endStep = begin;
        }
        this.blank(this.endStep, begin);
        for (let c = 0; c < channels.length; c++) {
            for (let i = 0; i < n; i++) {
                const at = (begin + i) % STEPS;
                this.lo[c][at] = channels[c].lo[i] ?? NaN;
                this.hi[c][at] = channels[c].hi[i] ?? NaN;
            }
        }
        this.endStep = Math.max(this.endStep, begin + n);
        this.firstStep = Math.max(this.firstStep, this.endStep - STEPS);
    }

    /* At most `points` columns of [from, to): the extremes inside each are kept. */
    select(channel: number, from_s: number, to_s: number, points: number): Columns {
        const out: Columns = { t: [], lo: [], hi: [] };
        if (this.dt_s === 0 || channel >= this.lo.length) {
            return out;
        }
        const first = Math.max(this.firstStep, Math.floor(from_s / this.dt_s));
        const end = Math.min(this.endStep, Math.ceil(to_s / this.dt_s));
        const width = Math.max(1, Math.ceil((to_s - from_s) / this.dt_s / points));
        // Columns begin at multiples of their width, so that peaks do not flicker as time goes on.
        for (let at = Math.floor(first / width) * width; at < end; at += width) {
            this.column(channel, Math.max(at, first), Math.min(at + width, end), out);
        }
        return out;
    }

    private column(channel: number, begin: number, end: number, out: Columns): void {
        const lo = this.lo[channel];
        const hi = this.hi[channel];
        let least = Infinity;
        let most = -Infinity;
        for (let step = begin; step < end; step++) {
            const at = step % STEPS;
            if (lo[at] < least) { least = lo[at]; }
            if (hi[at] > most) { most = hi[at]; }
        }
        out.t.push(begin * this.dt_s);
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
