// SPDX-License-Identifier: GPL-3.0-or-later
// The socket: comes back by itself, asks for what it missed, and matches replies to commands.
import type { Command } from "./api";

const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 8000;
const SILENT_MS = 5000; // a live server says something twice a second
const REPLY_MS = 30000;

export interface Message { type: string; seq?: number; [key: string]: unknown }
type Pending = { resolve: () => void; reject: (error: Error) => void; timer: number };

export class Link {
    private socket: WebSocket | null = null;
    private waitMs = FIRST_WAIT_MS;
    private timer = 0;
    private lastHeard = 0;
    private nextId = 1;
    private seq: number | null = null;
    private expectsTalk = false;
    private pending = new Map<number, Pending>();

    constructor(private hear: (message: Message) => void, private change: (isOpen: boolean) => void) {
        window.setInterval(() => this.checkSilence(), 1000);
        document.addEventListener("visibilitychange", () => this.hurry());
        window.addEventListener("online", () => this.hurry());
    }

    /* Whether the server talks without being asked: then silence means that it is lost. */
    setExpectsTalk(does: boolean): void { this.expectsTalk = does; }

    open(): void {
        const since = this.seq === null ? "" : `?since=${this.seq}`;
        const socket = new WebSocket(`ws://${location.host}/ws${since}`);
        this.socket = socket;
        this.lastHeard = performance.now();
        socket.onmessage = (event) => this.take(socket, String(event.data));
        socket.onclose = () => this.lose(socket);
    }

    send(command: Command): Promise<void> {
        const socket = this.socket;
        if (socket === null || socket.readyState !== WebSocket.OPEN) {
            return Promise.reject(new Error("no-link"));
        }
        const id = this.nextId++;
        socket.send(JSON.stringify({ id, ...command }));
        return new Promise((resolve, reject) => {
            const timer = window.setTimeout(() => this.settle(id, new Error("no-reply")), REPLY_MS);
            this.pending.set(id, { resolve, reject, timer });
        });
    }

    /* Says something that nobody answers. */
    tell(command: Command): void {
        if (this.socket?.readyState === WebSocket.OPEN) {
            this.socket.send(JSON.stringify(command));
        }
    }

    private take(socket: WebSocket, text: string): void {
        if (socket !== this.socket) {
            return;
        }
        this.lastHeard = performance.now();
        const message = JSON.parse(text) as Message;
        if (message.type === "hello") {
            this.waitMs = FIRST_WAIT_MS;
            if (this.seq === null) {
                this.seq = Number(message.seq ?? 0);
            }
            this.change(true);
        } else if (typeof message.seq === "number") {
            this.seq = message.seq;
        }
        if (message.type === "reply") {
            this.settle(Number(message.id), message.ok === true ? null : new Error(String(message.error)));
            return;
        }
        this.hear(message);
    }

    private settle(id: number, error: Error | null): void {
        const waiting = this.pending.get(id);
        if (waiting === undefined) {
            return;
        }
        this.pending.delete(id);
        window.clearTimeout(waiting.timer);
        if (error === null) {
            waiting.resolve();
        } else {
            waiting.reject(error);
        }
    }

    private lose(socket: WebSocket): void {
        if (socket !== this.socket) {
            return;
        }
        this.socket = null;
        for (const id of [...this.pending.keys()]) {
            this.settle(id, new Error("no-link"));
        }
        this.change(false);
        this.timer = window.setTimeout(() => this.open(), this.waitMs * (0.75 + Math.random() / 2));
        this.waitMs = Math.min(this.waitMs * 2, LONGEST_WAIT_MS);
    }

    private checkSilence(): void {
        if (this.socket !== null && this.expectsTalk && performance.now() - this.lastHeard > SILENT_MS) {
            const socket = this.socket;
            socket.close();
            this.lose(socket);
        }
    }

    private hurry(): void {
        if (this.socket === null && document.visibilityState === "visible") {
            window.clearTimeout(this.timer);
            this.waitMs = FIRST_WAIT_MS;
            this.open();
        }
    }
}
