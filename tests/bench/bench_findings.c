/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How sure are the findings? Simulated evenings with faults of several sizes go through the
 * passes of `analyze`; what is found in a draw is compared with what its noise-free signal
 * shows, which is not always what was put in. Evenings without faults say how often each
 * finding is made where none was put in.
 *
 * Usage: bench_findings [--sessions N] [--first SEED] [--set NAME] [--draws N] [--first-pass]
 */

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench/findings/score.h"
#include "sim/channel_set.h"

#define SESSIONS    20u
#define DRAWS       8u
#define CLOCK_S     85.0 /* so that the last arrows of an end come near its end */
#define FAULT_RATIO 0.12
#define ALL_FAULTS  ((1u << SH_ARCHER_FAULTS) - 1u)
#define BAR         0.95

static const double size_ratios[] = {1.0, 0.5, 0.25, 0.12};

struct wishes {
    size_t n_sessions;
    uint64_t first;
    const char *set; /* NULL: all */
    size_t n_draws;
    bool is_first_pass;
};

static struct wishes read_line(int argc, char **argv)
{
    static const struct option options[] = {
        {"sessions", required_argument, NULL, 'n'}, {"first", required_argument, NULL, 'f'},
        {"set", required_argument, NULL, 's'},      {"draws", required_argument, NULL, 'd'},
        {"first-pass", no_argument, NULL, 'p'},     {NULL, 0, NULL, 0}};
    struct wishes wishes = {.n_sessions = SESSIONS, .first = 1, .n_draws = DRAWS};
    for (int c = 0; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 'n':
            wishes.n_sessions = strtoul(optarg, NULL, 10);
            break;
        case 'f':
            wishes.first = strtoull(optarg, NULL, 10);
            break;
        case 's':
            wishes.set = optarg;
            break;
        case 'd':
            wishes.n_draws = strtoul(optarg, NULL, 10);
            break;
        case 'p':
            wishes.is_first_pass = true;
            break;
        default:
            exit(2);
        }
    }
    return wishes;
}

static enum sh_status run_evening(const char *set,
                                  const struct wishes *wishes,
                                  size_t s,
                                  bool is_clean,
                                  struct truth_kit *kit,
                                  struct score *score)
{
    struct evening_config config = {.simulation = sh_simulation_config_default(),
                                    .is_first_pass = wishes->is_first_pass};
    struct evening evening;
    struct sh_error err = {0};
    config.simulation.set = set;
    config.simulation.seed = wishes->first + s;
    config.simulation.n_draws = wishes->n_draws;
    config.simulation.clock_s = CLOCK_S;
    config.simulation.faults = is_clean ? 0u : ALL_FAULTS;
    config.simulation.fault_ratio = FAULT_RATIO;
    config.simulation.fault_size_ratio =
        size_ratios[s % (sizeof size_ratios / sizeof size_ratios[0])];
    enum sh_status status = evening_open(&config, &evening, &err);
    if (status == SH_OK) {
        status = score_add(score, kit, &evening);
    }
    evening_close(&evening);
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s\n", err.what);
    }
    return status;
}

static double get_ratio(size_t part, size_t whole)
{
    return whole > 0 ? (double)part / (double)whole : 0.0;
}

static void
print_row(enum sh_code code, const struct score_row *row, const struct score_row *clean)
{
    const double recall = get_ratio(row->n_bar_found, row->n_bar);
    const size_t n_made = row->n_bar_found + row->n_none_found + row->n_spurious;
    const double precision = get_ratio(row->n_bar_found, n_made);
    const bool is_met = recall >= BAR && precision >= BAR;
    (void)printf("  %-20s %4zu/%-4zu %6.3f %4zu/%-4zu %6.3f %-6s %3zu/%-3zu |",
                 sh_code_name(code), row->n_bar_found, row->n_bar, recall, row->n_bar_found,
                 n_made, precision,
                 row->n_bar == 0 ? "-"
                 : is_met        ? "met"
                                 : "missed",
                 row->n_grey_found, row->n_grey);
    for (size_t k = 0; k < SCORE_SIZES; k++) {
        if (row->has_size) {
            (void)printf(" %3zu/%-4zu", row->n_size_found[k], row->n_size[k]);
        }
    }
    (void)printf("%s| %zu/%zu, true %zu\n", row->has_size ? " " : "", clean->n_found,
                 clean->n_draws, clean->n_shown);
}

static void print_table(const struct score *score, const struct score *clean)
{
    (void)printf(
        "  %-20s %9s %6s %9s %6s %-6s %7s | found by size, as value / threshold: under "
        "0.8, to 1, to 1.25, to 2, over | in clean draws\n",
        "finding", "found", "recall", "right", "prec.", "", "between");
    for (int c = 0; c < SH_CODE_COUNT; c++) {
        if (score->row[c].is_shown) {
            print_row((enum sh_code)c, &score->row[c], &clean->row[c]);
        }
    }
}

static enum sh_status
run_set(const char *set, const struct wishes *wishes, struct truth_kit *kit)
{
    struct score score;
    struct score clean;
    enum sh_status status = SH_OK;
    score_init(&score, set);
    score_init(&clean, set);
    for (size_t s = 0; s < wishes->n_sessions && status == SH_OK; s++) {
        status = run_evening(set, wishes, s, false, kit, &score);
        if (status == SH_OK && s % 2u == 0) {
            status = run_evening(set, wishes, s, true, kit, &clean);
        }
    }
    (void)printf("%s: %zu sessions of %zu draws from seed %llu\n", set, wishes->n_sessions,
                 wishes->n_draws, (unsigned long long)wishes->first);
    print_table(&score, &clean);
    (void)fflush(stdout);
    return status;
}

int main(int argc, char **argv)
{
    const struct wishes wishes = read_line(argc, argv);
    struct truth_kit kit;
    struct sh_error err = {0};
    enum sh_status status = truth_kit_open(&kit, &err);
    for (size_t i = 0; status == SH_OK && sh_channel_set_get_name(i) != NULL; i++) {
        const char *set = sh_channel_set_get_name(i);
        if (wishes.set == NULL || strcmp(wishes.set, set) == 0) {
            status = run_set(set, &wishes, &kit);
        }
    }
    truth_kit_close(&kit);
    return status == SH_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
