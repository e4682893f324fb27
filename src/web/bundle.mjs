// SPDX-License-Identifier: GPL-3.0-or-later
// node bundle.mjs SOURCE BUILD: checks the types, bundles the page into BUILD/dist and writes
// BUILD/page_files.c, which holds each file as bytes (src/live/page.h).
import { execFileSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";

const source = resolve(process.argv[2]);
const build = resolve(process.argv[3]);
const dist = join(build, "dist");
const modules = join(build, "node_modules");
const load = createRequire(join(build, "package.json"));

function checkTypes() {
    const config = {
        extends: join(source, "tsconfig.json"),
        compilerOptions: { paths: { uplot: [join(modules, "uplot/dist/uPlot.d.ts")] } },
        include: [join(source, "*.ts")],
    };
    writeFileSync(join(build, "tsconfig.build.json"), JSON.stringify(config));
    const compiler = join(modules, "typescript/bin/tsc");
    execFileSync(process.execPath, [compiler, "-p", join(build, "tsconfig.build.json")], { stdio: "inherit" });
}

async function bundle() {
    mkdirSync(dist, { recursive: true });
    const common = { bundle: true, minify: true, nodePaths: [modules], legalComments: "inline", logLevel: "warning" };
    const { build: make } = load("esbuild");
    await make({ ...common, entryPoints: [join(source, "main.ts")], outfile: join(dist, "page.js"),
        format: "esm", target: "es2021" });
    await make({ ...common, entryPoints: [join(source, "page.css")], outfile: join(dist, "page.css") });
    copyFileSync(join(source, "index.html"), join(dist, "index.html"));
    copyFileSync(join(source, "icon.svg"), join(dist, "icon.svg"));
}

const FILES = [
    ["/", "index.html", "text/html; charset=utf-8"],
    ["/page.js", "page.js", "text/javascript; charset=utf-8"],
    ["/page.css", "page.css", "text/css; charset=utf-8"],
    ["/icon.svg", "icon.svg", "image/svg+xml"],
];

function bytesOf(data) {
    const lines = [];
    for (let i = 0; i < data.length; i += 24) {
        lines.push("    " + Array.from(data.subarray(i, i + 24)).join(",") + ",");
    }
    return lines.join("\n");
}

function writeC() {
    let arrays = "";
    let rows = "";
    FILES.forEach(([path, file, type], i) => {
        const data = readFileSync(join(dist, file));
        arrays += `static const unsigned char file_${i}[] = {\n${bytesOf(data)}\n};\n\n`;
        rows += `    {"${path}", "${type}", file_${i}, sizeof file_${i}},\n`;
    });
    writeFileSync(join(build, "page_files.c"), `/* Made by src/web/bundle.mjs. */
#include <string.h>

#include "live/page.h"

${arrays}static const struct sh_page_file files[] = {
${rows}};

const struct sh_page_file *sh_page_find(const char *path)
{
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        if (strcmp(path, files[i].path) == 0) {
            return &files[i];
        }
    }
    return NULL;
}
`);
}

try {
    checkTypes();
} catch {
    process.exit(1); // the compiler has said why
}
await bundle();
writeC();
