// SPDX-License-Identifier: GPL-3.0-or-later
// What the page knows, and who is told when it changes.
import { read } from "./api";
import type { Hello, Live, Mark, Release, SensorRow, Shot, ShotList, Signal } from "./api";
import { Link } from "./link";
import type { Message } from "./link";
import { Ring } from "./ring";

export type Topic = "hello" | "link" | "live" | "wave" | "shots" | "release" | "control" | "sensor" | "warning" | "signal";

function firstOf(hello: Hello): number | null {
    const all = hello.recordings;
    const latest = hello.mode === "live" ? all[all.length - 1] : all[0];
    return hello.current ?? latest?.id ?? null;
}

function readShots(id: number): Promise<ShotList> { return read<ShotList>(`/api/recordings/${id}/shots`); }

export class Store {
    hello: Hello | null = null;
    live: Live | null = null;
    list: ShotList | null = null;
    release: Release | null = null;
    signal: Signal | null = null;
    sensor: SensorRow[] = [];
    warning = "";
    isLinked = false;
    shown: number | null = null; // the recording whose arrows are shown
    failed = "";
    readonly ring = new Ring();
    readonly link = new Link((m) => this.hear(m), (is) => this.setLinked(is));
    private listeners: [Topic, () => void][] = [];
    private asked = 0;
    private heard = 0;
    private early: { id: number; seq: number; list: Promise<ShotList> } | null = null;

    on(topics: Topic[], run: () => void): void {
        for (const topic of topics) { this.listeners.push([topic, run]); }
    }

    get isReview(): boolean { return this.hello?.mode === "review"; }
    get isMine(): boolean { return this.hello !== null && this.hello.controller === this.hello.viewer; }

    /* Asks for the arrows that will be wanted, while the page is built and the socket opened. */
    foresee(hello: Hello): void {
        const id = firstOf(hello);
        if (id === null) { return; }
        this.early = { id, seq: hello.seq, list: readShots(id) };
        this.early.list.catch(() => { this.early = null; });
    }

    async show(id: number | null): Promise<void> {
        if (id !== this.shown) { this.list = null; }
        this.shown = id;
        await this.fetchShots();
    }

    async fetchShots(): Promise<void> {
        const id = this.shown;
        const turn = ++this.asked;
        if (id === null) {
            this.tell("shots");
            return;
        }
        try {
            const list = await (this.takeEarly(id) ?? readShots(id));
            if (turn === this.asked) { this.list = list; this.failed = ""; }
        } catch (error) {
            this.failed = (error as Error).message;
        }
        this.tell("shots");
    }

    /* What was asked for early, once, and only where nothing has been logged since. */
    private takeEarly(id: number): Promise<ShotList> | null {
        const early = this.early;
        this.early = null;
        return early !== null && early.id === id && early.seq === this.hello?.seq ? early.list : null;
    }

    private tell(topic: Topic): void {
        for (const [wanted, run] of this.listeners) {
            if (wanted === topic) { run(); }
        }
    }

    private setLinked(is: boolean): void {
        this.isLinked = is;
        this.tell("link");
    }

    private greet(hello: Hello): void {
        const follows = this.shown === null || this.shown === this.hello?.current;
        const isSame = this.hello?.current === hello.current && this.hello?.channels.length === hello.channels.length;
        this.hello = hello;
        this.link.setExpectsTalk(hello.mode === "live");
        if (!isSame) { this.ring.clear(hello.channels.length); }
        this.tell("hello");
        this.tell("control");
        void this.show(follows ? firstOf(hello) : this.shown);
        if (hello.mode === "live" && hello.current !== null) { void this.fill(hello.current); }
    }

    /* What the wave missed while the page was away. */
    private async fill(id: number): Promise<void> {
        const from = this.ring.end_s;
        const wave = await read<Message>(`/api/recordings/${id}/wave?from=${from}&to=1e9&points=90000`).catch(() => null);
        if (wave !== null && this.hello?.current === id) { this.hear(wave); }
    }

    private hear(message: Message): void {
        const take = this.takers[message.type];
        if (take !== undefined) { take(message); }
    }

    private readonly takers: Record<string, (m: Message) => void> = {
        hello: (m) => this.greet(m as unknown as Hello),
        state: (m) => { this.live = m as unknown as Live; this.tell("live"); },
        wave: (m) => {
            if (m.recording === this.hello?.current) {
                this.ring.push(Number(m.t0), Number(m.dt), m.channels as { lo: number[]; hi: number[] }[]);
                this.tell("wave");
            }
        },
        release: (m) => { this.release = m as unknown as Release; this.tell("release"); },
        signal: (m) => { this.signal = m as unknown as Signal; this.tell("signal"); },
        shot: (m) => this.takeShot(Number(m.recording), m.shot as Shot),
        mark: (m) => {
            if (this.list !== null && m.recording === this.list.id) { this.list.marks.push(m.mark as Mark); this.tell("shots"); }
        },
        unmark: (m) => this.takeBack(Number(m.recording), m.mark as Mark),
        tags: (m) => {
            if (this.list !== null && m.recording === this.list.id) { this.list.tags = m.tags as Record<string, string>; this.tell("shots"); }
        },
        recording: (m) => this.takeRecording(m),
        sensor: (m) => { this.sensor = m.channels as SensorRow[]; this.tell("sensor"); },
        control: (m) => {
            if (this.hello !== null) { this.hello.controller = m.controller as number | null; }
            this.tell("control");
        },
        warning: (m) => { this.warning = String(m.text); this.tell("warning"); },
        reload: () => void this.rehear(),
    };

    private async rehear(): Promise<void> {
        const viewer = this.hello?.viewer ?? 0;
        const turn = ++this.heard;
        const hello = await read<Hello>("/api/hello").catch(() => null);
        /* an earlier answer may come later */
        if (hello !== null && turn === this.heard) { this.greet({ ...hello, viewer }); }
    }

    private takeBack(recording: number, mark: Mark): void {
        const list = this.list;
        if (list === null || list.id !== recording) { return; }
        const gone = JSON.stringify(mark);
        const at = list.marks.map((m) => JSON.stringify(m)).lastIndexOf(gone);
        if (at >= 0) { list.marks.splice(at, 1); }
        this.tell("shots");
    }

    private takeShot(recording: number, shot: Shot): void {
        const list = this.list;
        if (list === null || list.id !== recording) { return; }
        const at = list.shots.findIndex((s) => s.n === shot.n);
        if (at < 0) {
            list.shots.push(shot);
            this.release = null; // what was told at once is measured now
        } else { list.shots[at] = shot; }
        this.tell("shots");
    }

    private takeRecording(m: Message): void {
        if (m.event === "final") {
            if (m.id === this.shown) { void this.fetchShots(); }
        } else {
            void this.rehear();
        }
    }
}
