/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How long a session takes to open for the page, and a close-up of any shot: the server's
 * share, without network and browser. Usage: bench_review RECORDING, one of 150 draws, say,
 * made by `stringhand simulate --set fingers_bow --draws 150 --out RECORDING`; its
 * analysis.json is made anew. Exit status 1 where a bar of docs/speed.md is missed.
 */

#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "app/analysis_store.h"
#include "app/shelf.h"
#include "bench/bench_machine.h"

#define ROUNDS       7
#define OPEN_BAR_MS  300.0
#define TRACE_BAR_MS 60.0
#define MS_PER_S     1000.0
#define TIMES_MAX    2000

static bool print_row(const char *what, double *took_ms, size_t n, double bar_ms)
{
    const struct sh_bench_machine_spread spread = sh_bench_machine_get_spread(took_ms, n);
    printf("%-34s %9.1f ms (%.1f to %.1f, n %zu)", what, spread.median, spread.low, spread.high,
           n);
    if (bar_ms > 0.0) {
        printf("  wanted: under %g, %s", bar_ms, spread.high < bar_ms ? "met" : "MISSED");
    }
    printf("\n");
    return bar_ms <= 0.0 || spread.high < bar_ms;
}

/* Milliseconds that an answer takes; below 0 where there is none. */
static double ask(struct sh_shelf *shelf, const char *path, const char *query, size_t *n_bytes)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    const double from_s = sh_bench_machine_get_wall_s();
    const int status = sh_shelf_answer(shelf, path, query, &text);
    const double took_ms = MS_PER_S * (sh_bench_machine_get_wall_s() - from_s);
    *n_bytes = text.n_bytes;
    sh_text_close(&text);
    return status == 200 ? took_ms : -1.0;
}

static struct sh_shelf *open_shelf(const char *folder)
{
    unsigned id = 0;
    struct sh_shelf *shelf = NULL;
    const struct sh_shelf_config config = {NULL, sh_thresholds_default()};
    if (sh_shelf_open(&config, &shelf, NULL) == SH_OK &&
        sh_shelf_add(shelf, folder, &id, NULL) == SH_OK) {
        return shelf;
    }
    sh_shelf_close(&shelf);
    return NULL;
}

/* A shelf anew each time: the stored analysis is read, and all shots are written. */
static bool bench_open(const char *folder)
{
    double took_ms[ROUNDS];
    size_t n_bytes = 0;
    for (size_t i = 0; i < ROUNDS; i++) {
        const double from_s = sh_bench_machine_get_wall_s();
        struct sh_shelf *shelf = open_shelf(folder);
        if (shelf == NULL || ask(shelf, "/api/recordings/1/shots", "", &n_bytes) < 0.0) {
            return false;
        }
        took_ms[i] = MS_PER_S * (sh_bench_machine_get_wall_s() - from_s);
        sh_shelf_close(&shelf);
    }
    printf("shots document: %.2f MB\n", (double)n_bytes / 1e6);
    return print_row("opened, stored analysis", took_ms, ROUNDS, OPEN_BAR_MS);
}

/* Every shot's answer once. */
static bool bench_each(struct sh_shelf *shelf, const char *what, size_t n, double bar_ms)
{
    static double took_ms[TIMES_MAX];
    size_t n_bytes = 0;
    for (size_t i = 0; i < n && i < TIMES_MAX; i++) {
        char path[96];
        (void)snprintf(path, sizeof path, "/api/recordings/1/shots/%zu/%s", i + 1, what);
        took_ms[i] = ask(shelf, path, "align=release&from=-5&to=1.5&points=1500", &n_bytes);
        if (took_ms[i] < 0.0) {
            return false;
        }
    }
    return print_row(what, took_ms, n, bar_ms);
}

static bool
bench_one(struct sh_shelf *shelf, const char *what, const char *path, const char *query)
{
    size_t n_bytes = 0;
    double took_ms[2];
    char words[64];
    for (size_t i = 0; i < 2; i++) {
        took_ms[i] = ask(shelf, path, query, &n_bytes);
        (void)snprintf(words, sizeof words, "%s, %s", what, i == 0 ? "first" : "again");
        if (took_ms[i] < 0.0) {
            return false;
        }
        (void)print_row(words, &took_ms[i], 1, 0.0);
    }
    return true;
}

/* Draws are numbered from 1 on without a hole. */
static size_t count_shots(struct sh_shelf *shelf)
{
    size_t n = 0;
    struct sh_text text;
    sh_text_init(&text, 0);
    if (sh_shelf_answer(shelf, "/api/recordings/1/shots", "", &text) == 200) {
        for (const char *at = strstr(text.data, "\"sentence\":"); at != NULL;
             at = strstr(at + 1, "\"sentence\":")) {
            n++;
        }
    }
    sh_text_close(&text);
    return n < TIMES_MAX ? n : TIMES_MAX;
}

static bool run(const char *folder)
{
    double took_ms = 0.0;
    size_t n_bytes = 0;
    struct sh_shelf *shelf = open_shelf(folder);
    if (shelf == NULL) {
        return false;
    }
    took_ms = ask(shelf, "/api/recordings/1/shots", "", &n_bytes);
    if (took_ms < 0.0) {
        sh_shelf_close(&shelf);
        return false;
    }
    const size_t n_draws = count_shots(shelf);
    (void)print_row("opened, no analysis yet", &took_ms, 1, 0.0);
    bool is_met = bench_open(folder);
    is_met = bench_each(shelf, "trace", n_draws, TRACE_BAR_MS) && is_met;
    is_met = bench_each(shelf, "spectrum", n_draws, 0.0) && is_met;
    is_met = bench_one(shelf, "session", "/api/recordings/1/session", "") && is_met;
    is_met =
        bench_one(shelf, "wave of it all", "/api/recordings/1/wave", "points=1500") && is_met;
    sh_shelf_close(&shelf);
    return is_met;
}

int main(int argc, char **argv)
{
    char path[4096];
    if (argc != 2) {
        (void)fprintf(stderr, "usage: bench_review RECORDING\n");
        return 2;
    }
    sh_bench_machine_print();
    (void)snprintf(path, sizeof path, "%s/%s", argv[1], SH_ANALYSIS_STORE_FILE);
    (void)unlink(path);
    return run(argv[1]) ? 0 : 1;
}
