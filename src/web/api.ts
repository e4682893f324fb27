// SPDX-License-Identifier: GPL-3.0-or-later
// What the server says and takes: docs/live.md in types. Unknown is null.

export interface Goal { lo_s: number; hi_s: number; set_by: string }
export interface Limit {
    what: string; finger: string | null; value: number | null; most: number | null; least: number | null;
    unit: string; state: "inside" | "near" | "reached" | "unknown"; text: string;
}
export interface Channel {
    stream: string; role: string; axis: string | null; finger: string | null; unit: string;
    rate_hz: number; range: [number, number] | null;
}
export interface RecordingRow {
    id: number; name: string; athlete: string; started: string; n_shots: number; is_running: boolean;
}
export const ROUND_KEYS = ["line_up_s", "shooting_s", "warning_s", "arrows", "archers", "arrows_a_turn", "turn_signals"] as const;
export type RoundKey = (typeof ROUND_KEYS)[number];
export interface Round extends Record<RoundKey, number> { name: string; kind: "end" | "alternating" }
export interface Hello {
    type: "hello"; mode: "live" | "review"; program: string; is_open: boolean; viewer: number;
    controller: number | null; recordings: RecordingRow[]; current: number | null; seq: number;
    channels: Channel[]; goal: Goal | null; sound: boolean; in_charge: boolean; formats: string[]; rounds: Round[];
    error: string | null;
    athlete: string; is_idle: boolean; // who shoots; no sensor has been chosen
}
export interface Finding { code: string; text: string; value: number | null; value_u: number | null }
export interface Shot {
    n: number; kind: "shot" | "let-down" | "unresolved";
    events: Record<string, number | string | null>;
    measures: Record<string, number | boolean | null | number[]>;
    quality: string[]; changed: string[]; findings: Finding[];
    score: number | null; sentence: string; corrected: string[]; notes: string[];
}
export interface Mark { t_s: number; kind: string; text?: string; rating?: number; when?: string }
export interface ShotList {
    id: number; name: string; athlete: string; started: string; tags: Record<string, string>;
    is_final: boolean; shots: Shot[]; marks: Mark[];
}
export interface TraceChannel {
    stream: string; role: string; axis: string | null; finger: string | null; unit: string; rate_hz: number;
    t: number[]; lo: (number | null)[]; hi: (number | null)[];
}
export interface Evidence {
    code: string; from: number; to: number; v_from: number | null; v_to: number | null; text: string;
    role?: string; unit?: string;
}
export type Align = "release" | "clicker" | "full_draw";
export interface Trace {
    n: number; align: Align; align_s: number; channels: TraceChannel[];
    events: Record<string, number | null>;
    trend: { role: string; t: number[]; v: number[] } | null; evidence: Evidence[];
}
export interface Spectrum {
    n: number;
    series: { role: string; unit: string; f_hz: number[]; density: number[]; density_unit: string;
        lo: number[] | null; hi: number[] | null }[];
}
export interface Chart {
    t_s: (number | null)[]; n: number[]; value_s: number[]; mean: number | null; lo: number | null;
    hi: number | null; outside: number[];
}
export interface Session {
    hold: Chart; setup: Chart; spectra: { n: number; f_hz: number[]; density: number[] }[];
    shares: { n: number[]; index: number[]; middle: number[]; ring: number[]; u: number[][] };
    in_band: { from_s: number; to_s: number; share: number; lo: number; hi: number; n: number } | null; sentences: string[];
}
export interface Wave {
    type: "wave"; recording: number; t0: number; dt: number;
    channels: { lo: (number | null)[]; hi: (number | null)[] }[];
}
export interface Person {
    name: string; n_shots: number; n_recordings: number; last: string | null;
    baselines: { measure: string; unit: string; median: number | null; robust_sd: number | null; n: number }[];
    limits: Limit[]; goal: Goal | null;
}
export interface Port { address: string; path: string; about: string }
export type Role = "string_force" | "finger_force" | "bow_acceleration" | "clicker_contact" | "sound";
export interface Profile {
    id: string; file: string; name: string; port: string | null; error: string | null;
    streams: { rate_hz: number; channels: { role: Role; finger: string | null; axis: string | null }[] }[];
}
export interface Offer { ports: Port[]; may_type: string[]; profiles: Profile[]; most: number }
export type Hearing = "waiting" | "well" | "silent" | "strange" | "away";
export interface Sensors extends Offer {
    current: { id: string; profile: string; address: string; hearing: Hearing; zeroed: string[] }[];
}
export interface Clock {
    phase: "line-up" | "shooting" | "warning" | "over" | "halted" | "stopped"; left_s: number; format: string;
    arrows_left: number | null; archer: number | null; side: "own" | "opponent" | null;
}
export interface Live {
    t_s: number; phase: "rest" | "drawing" | "hold" | "after"; force_n: number | null;
    hold_s: number | null; fingers_n: (number | null)[] | null; where: "short" | "inside" | "long" | null;
    clock: Clock | null; limits: Limit[]; lost: number; damaged: number; is_pulled: boolean; hearing: Hearing;
}
export interface Release { t_s: number; hold_s: number | null; sent_ms: number; sample_ms: number }
export interface Signal { strokes: number; is_before_draws: boolean }
export interface SensorRow {
    stream: string; role: string; axis: string | null; finger: string | null; raw: number | null;
    noise_counts: number | null; range: [number, number] | null; span: [number, number] | null;
    state: "ok" | "dead" | "noisy" | "reversed" | "at-range";
}
export type Command = { do: string } & Record<string, unknown>;

/* Reads one address; an error carries the server's own line where it gave one. */
export async function read<T>(path: string): Promise<T> {
    const answer = await fetch(path, { credentials: "same-origin" });
    const body: unknown = await answer.json().catch(() => null);
    if (!answer.ok) {
        const said = (body as { error?: string } | null)?.error;
        throw new ReadError(answer.status, said ?? `${path}: ${answer.status}`);
    }
    return body as T;
}

export class ReadError extends Error {
    constructor(readonly status: number, message: string) { super(message); }
}
