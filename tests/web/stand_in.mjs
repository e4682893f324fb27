// SPDX-License-Identifier: GPL-3.0-or-later
// Stands in for the program's server: the page's files and the fixtures over HTTP and a socket.
import { readFileSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { join } from "node:path";
import { CHANNELS, LIMITS, PEOPLE, ROUNDS, SENSORS, SENSOR_ROWS, makeSession, makeShot, makeSpectrum, makeTrace } from "./fixtures.mjs";

const FILES = { "/": ["index.html", "text/html; charset=utf-8"], "/page.js": ["page.js", "text/javascript"],
    "/page.css": ["page.css", "text/css"], "/icon.svg": ["icon.svg", "image/svg+xml"] };

/* Main channels and others, as src/live/trace_document.h has them. */
function pickChannels(trace, which) {
    const has = (role) => trace.channels.some((c) => c.role === role);
    const role = ["string_force", "finger_force"].find(has);
    const isMain = (channel, i) => role === undefined ? i === 0 : channel.role === role;
    return { ...trace, channels: trace.channels.filter((c, i) => which === null || which === "all" || isMain(c, i) === (which === "main")) };
}

export class StandIn {
    constructor(build, { n_shots = 24, mode = "live" } = {}) {
        this.build = build;
        this.mode = mode;
        this.shots = Array.from({ length: n_shots }, (_, i) => makeShot(i + 1));
        this.log = [];
        this.seq = 0;
        this.viewers = new Map();
        this.commands = [];
        this.nextViewer = 1;
        this.controller = null;
        this.refuses = false;
        this.isSlow = false; // to see that who controls has gone
        this.wanted = () => true; // channels there are
        this.people = PEOPLE;
        this.live = { type: "state", t_s: 800, phase: "hold", force_n: 178.4, hold_s: 2.4, fingers_n: [73, 71, 41], where: "inside",
            clock: { phase: "shooting", left_s: 87.2, format: "three in two minutes", arrows_left: 2, archer: null, side: null },
            limits: LIMITS, lost: 0, damaged: 0, is_pulled: false, hearing: "well" };
    }

    async open() {
        const { WebSocketServer } = createRequire(join(this.build, "package.json"))("ws");
        this.http = createServer((request, response) => this.answer(request, response));
        this.sockets = new WebSocketServer({ noServer: true });
        this.http.on("upgrade", (request, socket, head) => {
            if (this.refuses) { socket.destroy(); return; }
            this.sockets.handleUpgrade(request, socket, head, (viewer) => this.welcome(viewer, request));
        });
        await new Promise((done) => this.http.listen(0, "127.0.0.1", done));
        this.port = this.http.address().port;
        this.timer = setInterval(() => this.all({ ...this.live }), 400);
        return `http://127.0.0.1:${this.port}/`;
    }

    close() {
        clearInterval(this.timer);
        this.cut();
        this.http.close();
        this.http.closeAllConnections();
    }

    cut() { for (const viewer of this.viewers.keys()) { viewer.terminate(); } }
    all(message) { for (const viewer of this.viewers.keys()) { viewer.send(JSON.stringify(message)); } }
    logged(message) {
        const line = { ...message, seq: ++this.seq };
        this.log.push(line);
        this.all(line);
    }

    hello(id) {
        return { type: "hello", mode: this.mode, program: "stringhand 0.1.0", is_open: true, viewer: id, controller: this.controller,
            recordings: [{ id: 1, name: "2026-05-14_0930_wren", athlete: "wren", started: "2026-05-14T09:30:00Z", n_shots: this.shots.length, is_running: this.mode === "live" }],
            current: 1, seq: this.seq, channels: CHANNELS, goal: { lo_s: 2, hi_s: 3, set_by: "coach" }, sound: false, in_charge: false,
            formats: ["three in two minutes", "alternating", "team"], rounds: ROUNDS, error: null, athlete: "wren", is_idle: false };
    }

    welcome(viewer, request) {
        const id = this.nextViewer++;
        this.controller ??= id;
        this.viewers.set(viewer, id);
        viewer.send(JSON.stringify(this.hello(id)));
        const since = new URL(request.url, "http://x").searchParams.get("since");
        if (since !== null) {
            for (const line of this.log) { if (line.seq > Number(since)) { viewer.send(JSON.stringify(line)); } }
        }
        viewer.on("close", () => {
            this.viewers.delete(viewer);
            if (this.controller === id && !this.isSlow) { this.controller = null; this.all({ type: "control", controller: null }); }
        });
        viewer.on("message", (text) => this.obey(viewer, id, JSON.parse(text)));
    }

    obey(viewer, id, command) {
        this.commands.push(command);
        if (command.id === undefined) { return; }
        const isFree = command.do === "control" || command.do === "watch";
        if (!isFree && this.controller !== id) {
            viewer.send(JSON.stringify({ type: "reply", id: command.id, ok: false, error: "another screen controls; take control first" }));
            return;
        }
        this.apply(id, command);
        viewer.send(JSON.stringify({ type: "reply", id: command.id, ok: true }));
    }

    apply(id, command) {
        const shot = this.shots.find((s) => s.n === command.shot);
        if (command.do === "control") { this.controller = command.take ? id : null; this.all({ type: "control", controller: this.controller }); }
        if (command.do === "watch" && command.on) { this.all({ type: "sensor", channels: SENSOR_ROWS }); }
        if (command.do === "clock") {
            const phase = { stop: "stopped", halt: "halted", start: "line-up", "start-other": "line-up" }[command.action];
            if (phase !== undefined) { this.live.clock = { ...this.live.clock, phase, left_s: phase === "line-up" ? 10 : this.live.clock.left_s }; }
            this.all(this.live);
        }
        if (shot === undefined) { return; }
        if (command.do === "score") { shot.score = command.score; }
        if (command.do === "note") { shot.notes.push(command.text); }
        if (command.do === "correct") {
            shot.before ??= { ...shot.events };
            shot.events[command.event] = command.value_s;
            shot.corrected = [command.event];
        }
        if (command.do === "undo") {
            shot.events[command.event] = shot.before[command.event];
            shot.corrected = [];
        }
        this.logged({ type: "shot", recording: 1, shot });
    }

    addShot() {
        const shot = makeShot(this.shots.length + 1);
        this.shots.push(shot);
        this.all({ type: "release", t_s: shot.events.release_s, hold_s: shot.measures.hold_time_s, sent_ms: 1, sample_ms: 1 });
        this.logged({ type: "shot", recording: 1, shot });
    }

    answer(request, response) {
        const url = new URL(request.url, "http://x");
        const file = FILES[url.pathname];
        response.setHeader("Content-Security-Policy", `default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self' ws://${request.headers.host}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'`);
        if (file !== undefined) {
            response.setHeader("Content-Type", file[1]);
            response.end(readFileSync(join(this.build, "dist", file[0])));
            return;
        }
        const body = this.document(url);
        response.statusCode = body === null ? 404 : 200;
        response.setHeader("Content-Type", "application/json");
        response.end(JSON.stringify(body ?? { error: `${url.pathname}: no such document` }));
    }

    document(url) {
        const parts = url.pathname.split("/");
        const shot = this.shots.find((s) => s.n === Number(parts[5]));
        if (url.pathname === "/api/hello") { return this.hello(0); }
        if (url.pathname === "/api/people") { return { people: this.people }; }
        if (url.pathname === "/api/sensors") { return SENSORS; }
        if (parts[4] === "session") { return makeSession(this.shots); }
        if (parts[4] === "wave") { return null; }
        if (parts[6] === "trace" && shot) {
            const trace = makeTrace(shot, url.searchParams);
            return pickChannels({ ...trace, channels: trace.channels.filter(this.wanted) }, url.searchParams.get("channels"));
        }
        if (parts[6] === "spectrum" && shot) {
            const { f_hz, density } = makeSpectrum(shot.n);
            return { n: shot.n, series: [{ role: "string_force", unit: "N", f_hz, density, density_unit: "N2/Hz", lo: density.map((d) => d * 0.5), hi: density.map((d) => d * 2) }] };
        }
        if (parts[4] === "shots" && parts.length === 5) {
            return { id: 1, name: "2026-05-14_0930_wren", athlete: "wren", started: "2026-05-14T09:30:00Z", tags: {}, is_final: true, shots: this.shots, marks: [] };
        }
        return null;
    }
}
