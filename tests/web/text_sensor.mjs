// SPDX-License-Identifier: GPL-3.0-or-later
// A sensor that speaks text over TCP: somebody pulls now and then, or "rests", or "works" at it
// without a pause. Each channel says how it does:
// role, more (a line of the profile), at (counts at rest), pull (counts per count of pull), noise.
import { createServer } from "node:net";

export const RATE_HZ = 200;
const PULL_S = 6; // every so often somebody pulls for half of it
const PULL_COUNTS = 4000;

export function writeProfile(name, stream, channels) {
    return `[sensor]
name = ${name}
framing = text

[stream ${stream}]
rate_hz = ${RATE_HZ}
` + channels.map((c, i) => `
[column ${i + 1}]
role = ${c.role}
${c.more}
scale = 0.0125
noise = 0.05
range = -32768 32767
`).join("");
}

export class TextSensor {
    constructor(channels) {
        this.channels = channels;
        this.random = 1;
        this.manner = "now and then";
    }

    async open() {
        this.server = createServer((socket) => {
            const begun = performance.now();
            let sent = 0;
            socket.on("error", () => null);
            const timer = setInterval(() => {
                const due = Math.floor((performance.now() - begun) / 1000 * RATE_HZ);
                let lines = "";
                for (; sent < due; sent++) { lines += this.line(sent); }
                socket.write(lines);
            }, 20);
            socket.on("close", () => clearInterval(timer));
        });
        await new Promise((done) => this.server.listen(0, "127.0.0.1", done));
        return `tcp:127.0.0.1:${this.server.address().port}`;
    }

    next() {
        this.random = (this.random * 1103515245 + 12345) % 2147483648;
        return this.random / 1073741824 - 1;
    }

    line(n) {
        const wave = -Math.sin(2 * Math.PI * (n / RATE_HZ) / PULL_S);
        const pull = PULL_COUNTS * { "now and then": Math.max(0, wave), rests: 0, works: Math.abs(wave) }[this.manner];
        const counts = this.channels.map((c) => Math.round(Math.min(32767, c.at + c.pull * pull + c.noise * this.next())));
        return `${(1000000 + Math.round(n * 1e6 / RATE_HZ)) % 4294967296},${counts.join(",")}\n`;
    }

    close() { this.server.close(); }
}
