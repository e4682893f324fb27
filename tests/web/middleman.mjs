// SPDX-License-Identifier: GPL-3.0-or-later
// Stands between a browser and the program as an HTTP proxy, and can hold everything back (a
// tablet out of reach) or cut and refuse (its network is switched off).
import { createServer, request } from "node:http";
import { connect } from "node:net";

export class Middleman {
    constructor() {
        this.pairs = new Set();
        this.isHeld = false;
        this.isCut = false;
        this.waiting = [];
    }

    async open() {
        this.http = createServer((ask, answer) => this.pass(ask, answer));
        this.http.on("connect", (ask, near) => this.join(ask.url, near));
        await new Promise((done) => this.http.listen(0, "127.0.0.1", done));
        return { server: `http://127.0.0.1:${this.http.address().port}`, bypass: "<-loopback>" };
    }

    pass(ask, answer) {
        if (this.isCut) { ask.socket.destroy(); return; }
        if (this.isHeld) { this.waiting.push(() => this.pass(ask, answer)); return; }
        const far = request(ask.url, { method: ask.method, headers: ask.headers }, (got) => {
            answer.writeHead(got.statusCode, got.headers);
            got.pipe(answer);
        });
        far.on("error", () => answer.destroy());
        ask.pipe(far);
    }

    join(where, near) {
        if (this.isCut) { near.destroy(); return; }
        if (this.isHeld) { this.waiting.push(() => this.join(where, near)); return; }
        const [host, port] = where.split(":");
        const far = connect(Number(port), host, () => {
            near.write("HTTP/1.1 200 OK\r\n\r\n");
            near.pipe(far);
            far.pipe(near);
        });
        const pair = { near, far };
        const end = () => { this.pairs.delete(pair); near.destroy(); far.destroy(); };
        for (const side of [near, far]) { side.on("error", end); side.on("close", end); }
        this.pairs.add(pair);
    }

    /* Nothing goes through any more; nothing is closed, neither. */
    hold() {
        this.isHeld = true;
        for (const { near, far } of this.pairs) { near.unpipe(far); far.unpipe(near); near.pause(); far.pause(); }
    }

    /* What was held goes on. */
    release() {
        this.isHeld = false;
        for (const { near, far } of this.pairs) { near.pipe(far); far.pipe(near); }
        for (const go of this.waiting.splice(0)) { go(); }
    }

    cut() {
        this.isCut = true;
        for (const { near, far } of [...this.pairs]) { near.destroy(); far.destroy(); }
    }

    mend() { this.isCut = false; }

    close() {
        for (const { near, far } of [...this.pairs]) { near.destroy(); far.destroy(); }
        this.http.close();
        this.http.closeAllConnections();
    }
}
