// SPDX-License-Identifier: GPL-3.0-or-later
// Times a session and its close-ups inside the page, so that nothing of the driver's way counts.

/* Runs in the page before its own script. What is there in one frame has been painted by the next. */
export function meter() {
    const frame = () => new Promise((done) => requestAnimationFrame(() => done()));
    const find = (name) => performance.getEntriesByName(name).at(-1)?.startTime ?? 0;
    const opened = { counts: [] };
    const watch = () => {
        const n = document.querySelectorAll("li[data-n]").length;
        if (n > (opened.counts.at(-1)?.n ?? 0)) {
            const seen = { n, painted: 0 };
            opened.counts.push(seen);
            requestAnimationFrame(() => { seen.painted = performance.now(); });
        }
        if (!opened.isDone) { requestAnimationFrame(watch); }
    };
    requestAnimationFrame(watch);
    window.meter = {
        /* ms since the page was asked for, to all n rows painted. */
        async opened(n) {
            for (;;) {
                const seen = opened.counts.find((count) => count.n >= n && count.painted > 0);
                if (seen !== undefined) {
                    opened.isDone = true;
                    return seen;
                }
                await frame();
            }
        },
        /* ms from the click on arrow n to its painted force, and to its last painted plot; and when
         * its first answer was asked for, began and ended, and the force was drawn. */
        async open(n) {
            performance.clearResourceTimings();
            await frame();
            const begin = performance.now();
            const times = { n };
            document.querySelector(`li[data-n="${n}"] .arrow-open`).click();
            for (const [key, mark] of [["force", "close-up-shown"], ["whole", "close-up-whole"]]) {
                while (find(mark) < begin) { await frame(); }
                await frame();
                times[key] = performance.now() - begin;
            }
            times.drawn = find("close-up-shown") - begin;
            const answer = performance.getEntriesByType("resource").find((r) => r.name.includes(`/shots/${n}/trace`));
            times.asked = answer === undefined ? 0 : answer.requestStart - begin;
            times.began = answer === undefined ? 0 : answer.responseStart - begin;
            times.ended = answer === undefined ? 0 : answer.responseEnd - begin;
            const others = performance.getEntriesByType("resource").filter((r) => /channels=others|spectrum/.test(r.name));
            times.others = Math.max(0, ...others.map((r) => r.responseEnd - begin));
            document.querySelector(".close-up button").click();
            await frame();
            return times;
        },
    };
}

export function sum(times) {
    const parts = [["to its request", times.asked], ["to its answer", times.began - times.asked], ["for the answer", times.ended - times.began],
        ["to the drawn force", times.drawn - times.ended], ["to the paint", times.force - times.drawn], ["to the whole", times.whole - times.force]];
    const others = `the other answers were there after ${times.others.toFixed(0)}`;
    return `${times.whole.toFixed(0)} ms: ${parts.map(([what, ms]) => `${ms.toFixed(0)} ${what}`).join(", ")}; ${others}`;
}

/* The same order each time; neighbours stand apart. */
export function shuffle(list) {
    const out = [...list];
    let state = 7;
    for (let i = out.length - 1; i > 0; i--) {
        state = (state * 1103515245 + 12345) % 2147483648;
        const k = Math.floor(state / 2147483648 * (i + 1));
        [out[i], out[k]] = [out[k], out[i]];
    }
    return out;
}
