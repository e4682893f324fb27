// SPDX-License-Identifier: GPL-3.0-or-later
// Every word that the page shows, in English. Another language is another file of this shape.

export const words = {
    screens: { line: "At the line", arrows: "Arrows", session: "Session", people: "People", setup: "Setting up" },
    screensLabel: "Screens",
    themeToDusk: "Dusk colours",
    themeToSun: "Sun colours",
    open: "Others on this network can read this page: the connection is not encrypted.",
    lost: "No connection. Recording goes on; this page catches up by itself.",
    lostFrames: (n: number) => `${n} samples lost`,
    review: "Finished recordings",
    control: { mine: "You control", none: "Nobody controls", other: "Another screen controls", take: "Take control",
        give: "Let go of control" },
    caution: "Shoot only on a range, under its rules and its officer. Not a medical device. Local rules come first.",
    unknown: "unknown",
    line: {
        force: "Force", hold: "Hold", last: "Last arrow", fingers: "Finger loads", wave: "Force so far",
        phase: { rest: "At rest", drawing: "Drawing", hold: "Holding", after: "Released" },
        where: { short: "too short yet", inside: "inside", long: "long" }, noGoal: "No target band set",
        band: (lo: string, hi: string) => `Target ${lo} to ${hi} s`, noArrow: "No arrow yet.",
        finger: ["index", "middle", "ring"], limitMost: "limit", noFingers: "No finger sensor: load is unknown.",
        limits: "Limits", noLimits: "No limits set.", pulled: "The cable has come apart",
        window: "In view", windows: [["30", "30 s"], ["300", "5 min"], ["1800", "30 min"]] as [string, string][],
        state: { inside: "inside", near: "near the limit", reached: "limit reached", unknown: "UNKNOWN" },
    },
    clock: {
        title: "Clock", none: "No clock running", start: "Start", stop: "Stop", handOver: "Hand over", format: "Format",
        phase: { "line-up": "come to the line", shooting: "shoot", warning: "last seconds", over: "time is over",
            stopped: "stopped" }, arrows: (n: number) => `${n} to shoot`, side: { own: "our turn", opponent: "their turn" },
    },
    arrows: {
        align: "Line up at", aligns: [["release", "release"], ["clicker", "click"], ["full_draw", "full draw"]] as
            [string, string][],
        sort: "Sort by", sorts: [["n", "order"], ["score", "score"], ["hold", "hold"]] as [string, string][],
        empty: "No arrows in this recording yet.", recording: "Recording", overlay: "Lay chosen arrows over each other",
        overlayHint: "Choose two or more arrows.", choose: (n: number) => `Choose arrow ${n} for laying over`,
        open: (n: number) => `Open arrow ${n}`, arrow: (n: number) => `Arrow ${n}`, hold: "hold", score: "score",
        letDown: "let-down", unresolved: "not clear", back: "Back to all arrows", provisional: "First look; settled at the end.",
        chosen: (list: string) => `Arrows ${list}`,
    },
    close: {
        force: "String force", acceleration: "Acceleration of the bow", fingers: "Fingers", spectrum: "Spectrum of the hold",
        ring: "Spectrum of the bow after release", findings: "What stands out", noFindings: "Nothing stands out.",
        events: { draw_start_s: "draw start", full_draw_s: "full draw", clicker_s: "click", release_s: "release",
            let_down_s: "let-down" } as Record<string, string>,
        drag: "Drag a mark, or use the arrow keys, to correct an event (Shift: ten times as far).",
        correct: (event: string) => `Correct ${event}`, undo: (event: string) => `Undo correction of ${event}`,
        seconds: "seconds", fall: "trend", show: "Show", range: "In view",
        ranges: [["all", "whole shot"], ["click", "around the click"]] as [string, string][],
    },
    entry: {
        title: "Enter", score: "Score", end: "Whole end", note: "Note", tag: "Tag", tagKey: "Name", tagValue: "Value",
        pain: "Pain, 0 to 10", before: "before", during: "during", after: "after", when: "When", send: "Save", saved: "Saved.",
        endHint: "Scores with spaces between, such as 9 9 8", forArrow: "Arrow", finish: "End this recording",
        painCaution: "Pain: stop shooting now. Limits and the return to shooting belong to licensed practice.",
        badNumbers: "Numbers from 0 to 10 are wanted.", notLinked: "Not sent: no connection.", noReply: "Not answered in time.",
    },
    sound: {
        title: "Sound", on: "Sounds on", inCharge: "I am in charge of this line",
        caution: "Off by default, and never between draw start and release.",
    },
    session: {
        hold: "Hold, arrow by arrow", setup: "Set-up time, arrow by arrow", spectra: "Tremor over the arrows", shares: "Share of each finger",
        limits: (lo: string, hi: string) => `Control limits ${lo} to ${hi} s.`, outside: (list: string) => `Outside: arrows ${list}.`,
        noneOutside: "All arrows lie inside.", few: "Too few arrows for limits.",
        inBand: (share: string, lo: string, hi: string, n: number) =>
            `${share} of ${n} arrows inside the target band (95 %: ${lo} to ${hi}).`,
        arrow: "arrow", hertz: "Hz", mean: "middle", limit: "limit", value: "hold", first: "first third", mid: "middle third",
        third: "last third", nothing: "Nothing to show: these channels cannot tell, or there are no arrows.",
    },
    people: {
        title: "Who is shooting", pick: (name: string) => `Let ${name} shoot`, now: "shooting now", add: "Somebody new", name: "Name",
        start: "Begin", closes: "Changing the archer closes this recording and opens the next.", baselines: "Usual values",
        measure: "measure", median: "median", spread: "robust SD", n: "arrows", limits: "Limits", noLimits: "No limits set.",
        goal: "Target band of the hold", lo: "from (s)", hi: "to (s)", set: "Set", clear: "Clear", none: "Nobody is known yet.",
        counts: (shots: number, recordings: number) => `${shots} arrows in ${recordings} recordings`,
        careful: "What is not measured is shown as unknown, never as inside a limit.", badGoal: "The first time must be the smaller.",
    },
    setup: {
        sensor: "Sensor", port: "Port", profile: "Kind of sensor", use: "Use", channels: "Channels", raw: "raw counts",
        noise: "noise", range: "range", seen: "seen", zero: (stream: string) => `Zero ${stream}`, state: "state", channel: "channel",
        states: { ok: "ok", dead: "DEAD: it does not change", noisy: "NOISY", reversed: "REVERSED", "at-range": "AT ITS RANGE" },
        zeroHint: "Zero with the bow hanging, the string untouched.", reviewOnly: "Finished recordings have no sensor to set up.",
        cable: "The cable leaves the riser on the bow hand's side, comes apart under a light pull, and never crosses string, arrow or limbs.",
        draw: "Never draw and let go without an arrow. Nothing is fitted in front of the line while others shoot.",
        waiting: "Waiting for the sensor.",
    },
    pair: { title: "Pairing", hint: "Type the six figures shown in the terminal.", code: "Code", go: "Pair", wrong: "That was not the code.",
        wait: (s: number) => `Too many tries: wait ${s} s.` },
    unit: { newton: "N", seconds: "s" },
};

export type Words = typeof words;
