// SPDX-License-Identifier: GPL-3.0-or-later
// uPlot in the page's colours: sized by its box, drawn again when the theme changes.
import uPlot from "uplot";

export type Data = uPlot.AlignedData;
export interface Line {
    label: string; dash?: number[]; width?: number; points?: boolean; ink?: string; show?: boolean;
}
export interface PlotSetup {
    label: string; x: string; y: string; lines: Line[]; height: number;
    bands?: [number, number][]; draw?: (u: uPlot) => void; ready?: (u: uPlot) => void; noLegend?: boolean;
    log?: boolean; range?: (u: uPlot) => [number, number]; yRange?: [number, number] | null;
    isPaired?: boolean; isWhole?: boolean; // lowest and highest of one channel; a count along x
}

/* Asked of the document only once a theme: each time would have it work out its styles anew. */
const colours = new Map<string, string>();
window.addEventListener("theme", () => colours.clear());

export function colour(name: string): string {
    const known = colours.get(name);
    if (known !== undefined) { return known; }
    const found = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    if (found !== "") { colours.set(name, found); }
    return found;
}

export const DASHES: number[][] = [[], [10, 5], [3, 4], [12, 4, 3, 4], [1, 3]];

const RAISED: Record<string, string> = { "-": "⁻", 0: "⁰", 1: "¹", 2: "²", 3: "³", 4: "⁴", 5: "⁵", 6: "⁶", 7: "⁷", 8: "⁸", 9: "⁹" };

/* Labels of a logarithmic axis: its decades, and where it spans less than two the steps between. */
function decades(all: (number | null)[]): string[] {
    const known = all.filter((v): v is number => v !== null && v > 0);
    const isShort = Math.max(...known) / Math.min(...known) < 99;
    return all.map((v) => {
        if (v === null || v <= 0) { return ""; }
        const power = Math.floor(Math.log10(v) + 1e-9);
        const first = Math.round(v / 10 ** power);
        const raised = `10${[...String(power)].map((c) => RAISED[c]).join("")}`;
        return first === 1 ? raised : isShort && (first === 2 || first === 5) ? `${first}·${raised}` : "";
    });
}

const BORDERS: Record<number, string> = { 0: "solid", 3: "dotted", 1: "dotted" }; // by the dash's first length

export class Plot {
    readonly element = document.createElement("div");
    u: uPlot | null = null;
    private data: Data = [[]];
    private watcher = new ResizeObserver(() => this.fit());
    private readonly retheme = (): void => this.remake();

    constructor(private setup: PlotSetup) {
        this.element.className = setup.isPaired ? "plot paired" : "plot";
        this.element.setAttribute("role", "img");
        this.element.setAttribute("aria-label", setup.label);
        this.watcher.observe(this.element);
        window.addEventListener("theme", this.retheme);
    }

    set(data: Data): void {
        this.data = data;
        if (this.u === null) { this.fit(); } else { this.u.setData(data); }
    }

    close(): void {
        this.watcher.disconnect();
        window.removeEventListener("theme", this.retheme);
        this.u?.destroy();
        this.u = null;
    }

    private fit(): void {
        const width = this.element.clientWidth;
        if (width < 40) { return; }
        if (this.u === null) {
            this.make(width);
        } else if (this.u.width !== width) {
            this.u.setSize({ width, height: this.setup.height });
        }
    }

    private remake(): void {
        this.u?.destroy();
        this.u = null;
        this.fit();
    }

    private make(width: number): void {
        const setup = this.setup;
        const ink = colour("--ink");
        const font = "15px system-ui, sans-serif";
        const axis = (label: string): uPlot.Axis => ({ label, stroke: ink, font, labelFont: font, labelSize: 24,
            grid: { stroke: colour("--grid"), width: 1 }, ticks: { stroke: colour("--grid") } });
        const series: uPlot.Series[] = [{ label: setup.x }];
        for (const line of setup.lines) {
            const stroke = colour(line.ink ?? "--ink");
            series.push({ label: line.label, stroke, width: line.width ?? 2, dash: line.dash ?? [], show: line.show ?? true,
                points: { show: line.points ?? false, size: 9, fill: stroke }, spanGaps: false });
        }
        const y: uPlot.Scale = setup.log ? { distr: 3 } : setup.yRange ? { range: setup.yRange } : {};
        this.u = new uPlot({ width, height: setup.height, series,
            scales: { x: { time: false, ...(setup.range ? { range: setup.range } : {}) }, y },
            bands: (setup.bands ?? []).map((pair) => ({ series: pair, fill: colour("--fill") })),
            axes: [{ ...axis(setup.x), ...(setup.isWhole ? { incrs: [1, 2, 5, 10, 20, 50, 100] } : {}) }, { ...axis(setup.y), size: 64, ...(setup.log ? { values: (_: uPlot, all: (number | null)[]) => decades(all) } : {}) }],
            legend: { show: !(setup.noLegend ?? false), live: false,
                markers: { width: 4, fill: "transparent", dash: (_, i) => BORDERS[series[i].dash?.[0] ?? 0] ?? "dashed" } },
            hooks: { draw: setup.draw ? [setup.draw] : [], ready: setup.ready ? [setup.ready] : [] },
        }, this.data, this.element);
    }
}
