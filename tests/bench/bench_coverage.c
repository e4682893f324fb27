/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * Do the stated uncertainties hold? Simulated evenings, whose sensors are off by what they are
 * uncertain by, go through the passes of `analyze`; every measure is compared with the truth,
 * and the share of truths inside the stated 95 % intervals is shown, a set of channels a table
 * (JCGM 101:2008, 8.1: validation of what JCGM 100 gives by Monte Carlo).
 *
 * Usage: bench_coverage [--sessions N] [--first SEED] [--set NAME] [--draws N] [--faults]
 *                       [--first-pass] [--wide] [--list KEY]
 * --wide gives the acceleration sensor a range that no shot exceeds.
 * --list prints every comparison of one measure too: seed, value, u, lower and upper limit,
 * truth.
 * --faults puts each fault into a seventh of the draws; without it all draws are clean.
 */

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "bench/coverage/evening.h"
#include "bench/coverage/tally.h"
#include "bench/coverage/truth.h"
#include "sim/channel_set.h"

#define SESSIONS    20u
#define DRAWS       6u
#define CLOCK_S     180.0
#define FAULT_RATIO 0.15
#define ALL_FAULTS  ((1u << SH_ARCHER_FAULTS) - 1u)

struct wishes {
    size_t n_sessions;
    uint64_t first;
    const char *set; /* NULL: all */
    size_t n_draws;
    bool has_faults;
    bool is_first_pass;
    bool is_wide;
    const char *list; /* NULL: none */
};

static struct wishes read_line(int argc, char **argv)
{
    static const struct option options[] = {{"sessions", required_argument, NULL, 'n'},
                                            {"first", required_argument, NULL, 'f'},
                                            {"set", required_argument, NULL, 's'},
                                            {"draws", required_argument, NULL, 'd'},
                                            {"faults", no_argument, NULL, 'x'},
                                            {"first-pass", no_argument, NULL, 'p'},
                                            {"wide", no_argument, NULL, 'w'},
                                            {"list", required_argument, NULL, 'l'},
                                            {NULL, 0, NULL, 0}};
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
        case 'x':
            wishes.has_faults = true;
            break;
        case 'l':
            wishes.list = optarg;
            break;
        case 'w':
            wishes.is_wide = true;
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

static void print_one(const struct sh_quantity *got, uint64_t seed, unsigned n, double truth)
{
    double low = 0.0;
    double high = 0.0;
    if (sh_quantity_is_known(got)) {
        sh_quantity_interval(got, &low, &high);
        (void)printf("%llu,%u,%.6g,%.3g,%.6g,%.6g,%.6g\n", (unsigned long long)seed, n,
                     got->value, got->u, low, high, truth);
    }
}

static bool is_listed(const struct wishes *wishes, enum sh_measure measure)
{
    enum sh_measure wanted = SH_MEASURE_COUNT;
    return wishes->list != NULL && sh_catalog_find(wishes->list, &wanted) && wanted == measure;
}

static bool compare_measure(const struct wishes *wishes,
                            struct tally *tally,
                            size_t session,
                            const struct sh_shot_record *record,
                            const struct truth_figures *truth,
                            enum sh_measure measure)
{
    for (size_t part = 0; part < sh_catalog_get_parts(measure); part++) {
        const struct sh_quantity *got = sh_catalog_get(&record->measures, measure, part);
        const size_t place = (size_t)(got - record->measures.quantity);
        if (!truth->is_known[place]) {
            continue;
        }
        if (got->why == SH_WHY_NO_CHANNEL || got->why == SH_WHY_CLIPPED) {
            continue;
        }
        if (is_listed(wishes, measure)) {
            print_one(got, wishes->first + session, record->shot.n, truth->value[place]);
        }
        if (!tally_add(tally, session, got, truth->value[place])) {
            return false;
        }
    }
    return true;
}

static bool compare_record(const struct wishes *wishes,
                           struct tally *tally,
                           size_t session,
                           const struct sh_shot_record *record,
                           const struct truth_figures *truth)
{
    for (int m = 0; m < SH_MEASURE_COUNT; m++) {
        const bool is_bound = m == SH_MEASURE_VIBRATION_PEAK &&
                              record->measures.vibration_clipped == SH_ANSWER_YES;
        if (!is_bound &&
            !compare_measure(wishes, &tally[m], session, record, truth, (enum sh_measure)m)) {
            return false;
        }
    }
    return true;
}

/* All shots of one evening; *n_missed: draws that were not seen for what they are. */
static enum sh_status compare_evening(const struct wishes *wishes,
                                      struct truth_kit *kit,
                                      const struct evening *evening,
                                      size_t session,
                                      struct tally *tally,
                                      size_t *n_missed)
{
    for (size_t i = 0; i < evening->simulation.plan->n_draws; i++) {
        const struct sh_truth *truth = &evening->simulation.plan->truth[i];
        const struct sh_shot_record *record = evening_find_record(evening, i);
        struct truth_figures figures;
        if (truth->kind != SH_TRUTH_SHOT) {
            continue;
        }
        if (record == NULL || record->shot.kind != SH_SHOT_SHOT) {
            (*n_missed)++;
            continue;
        }
        const enum sh_status status =
            truth_find(kit, evening, i, record->shot.clicker_sensor, &figures);
        if (status != SH_OK) {
            return status;
        }
        if (!compare_record(wishes, tally, session, record, &figures)) {
            return SH_ERR_MEMORY;
        }
    }
    return SH_OK;
}

static void print_table(const struct tally *tally, const struct wishes *wishes)
{
    (void)printf("  %-24s %6s %5s %10s %10s %10s %10s %6s %13s\n", "measure", "n", "null",
                 "bias", "rms error", "rms u", "95 %", "inside", "of sessions");
    for (int m = 0; m < SH_MEASURE_COUNT; m++) {
        char key[SH_CATALOG_KEY_BYTES];
        struct tally_summary sum;
        if (!tally_sum(&tally[m], wishes->n_sessions, wishes->first, &sum)) {
            continue;
        }
        sh_catalog_key((enum sh_measure)m, SH_CATALOG_VALUE, key);
        (void)printf("  %-24s %6zu %5zu %10.3g %10.3g %10.3g %10.3g %6.3f %.3f-%.3f %s\n", key,
                     sum.n, sum.n_unknown, sum.bias, sum.error_rms, sum.u_rms, sum.error_95,
                     sum.inside_ratio, sum.inside_low, sum.inside_high,
                     sum.is_met ? "met" : "missed");
    }
}

static enum sh_status run_set(const char *set,
                              const struct wishes *wishes,
                              struct truth_kit *kit,
                              struct sh_error *err)
{
    static struct tally tally[SH_MEASURE_COUNT];
    enum sh_status status = SH_OK;
    size_t n_missed = 0;
    for (size_t s = 0; s < wishes->n_sessions && status == SH_OK; s++) {
        struct evening_config config = {.simulation = sh_simulation_config_default(),
                                        .is_wide = wishes->is_wide,
                                        .has_any_fall = true,
                                        .is_first_pass = wishes->is_first_pass};
        struct evening evening;
        config.simulation.set = set;
        config.simulation.seed = wishes->first + s;
        config.simulation.n_draws = wishes->n_draws;
        config.simulation.clock_s = CLOCK_S;
        config.simulation.faults = wishes->has_faults ? ALL_FAULTS : 0u;
        config.simulation.fault_ratio = FAULT_RATIO;
        status = evening_open(&config, &evening, err);
        if (status == SH_OK) {
            status = compare_evening(wishes, kit, &evening, s, tally, &n_missed);
        }
        evening_close(&evening);
    }
    (void)printf("%s: %zu sessions of %zu draws from seed %llu, %s%s%s; %zu shots not seen\n",
                 set, wishes->n_sessions, wishes->n_draws, (unsigned long long)wishes->first,
                 wishes->has_faults ? "with faults" : "clean",
                 wishes->is_wide ? ", wide range" : "",
                 wishes->is_first_pass ? ", first pass" : "", n_missed);
    print_table(tally, wishes);
    (void)fflush(stdout);
    for (int m = 0; m < SH_MEASURE_COUNT; m++) {
        tally_close(&tally[m]);
    }
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
            status = run_set(set, &wishes, &kit, &err);
        }
    }
    truth_kit_close(&kit);
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s\n", err.what);
    }
    return status == SH_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
