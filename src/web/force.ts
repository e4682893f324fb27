// SPDX-License-Identifier: GPL-3.0-or-later
// What stands for the force: the string's, or where there is none the sum of the fingers in the
// stream that has most of them, as the program takes it (docs/definitions.md).
import type { Trace, TraceChannel } from "./api";

export interface Source { kind: "string" | "fingers" | "bow" | "none"; groups: number[][] } // channels that are added

export function findSource(channels: { stream: string; role: string }[]): Source {
    const indices = channels.map((_, i) => i);
    const string = indices.filter((i) => channels[i].role === "string_force").slice(0, 1);
    if (string.length > 0) { return { kind: "string", groups: [string] }; }
    const fingers = indices.filter((i) => channels[i].role === "finger_force");
    const streams = fingers.map((i) => fingers.filter((k) => channels[k].stream === channels[i].stream));
    if (fingers.length > 0) { return { kind: "fingers", groups: [streams.reduce((best, s) => s.length > best.length ? s : best)] }; }
    const axes = indices.filter((i) => channels[i].role === "bow_acceleration");
    return axes.length > 0 ? { kind: "bow", groups: axes.map((i) => [i]) } : { kind: "none", groups: [] };
}

/*
 * The force of one shot's trace; null where no force was recorded. Of fingers lowest and highest
 * are added piece by piece: the sum itself lies between.
 */
export function forceOf(trace: Trace): TraceChannel | null {
    const { kind, groups } = findSource(trace.channels);
    if (kind !== "string" && kind !== "fingers") { return null; }
    const parts = groups[0].map((i) => trace.channels[i]);
    if (kind === "string") { return parts[0]; }
    const add = (side: "lo" | "hi"): (number | null)[] => parts[0].t.map((_, k) =>
        parts.reduce<number | null>((sum, part) => sum === null || part[side][k] === null ? null : sum + (part[side][k] ?? 0), 0));
    return { ...parts[0], finger: null, lo: add("lo"), hi: add("hi") };
}
