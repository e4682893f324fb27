/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * Finger forces of thin sensors, from counts through curve, load drift and crosstalk to what
 * the passes of `analyze` say, against the truth of simulated sessions: errors and the share of
 * truths inside the stated 95 % limits (sessions as units), the ring finger's slides found, the
 * order in which the fingers let go, and shots whose fingers do not add up.
 *
 * Usage: bench_fingers [--sessions N] [--first SEED] [--set NAME] [--draws N] [--repeat RATIO]
 *                      [--first-pass] [--clean] [--tab RATIO]
 * --repeat: what the sensors repeat to, in place of the set's own. --clean: no slides.
 * --tab: how likely the tab takes more of the fingers' force.
 */

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "bench/coverage/evening.h"
#include "bench/coverage/tally.h"
#include "bench/coverage/truth.h"

#define RING        2u
#define FINGERS     3u
#define FAULT_RATIO 0.2
#define SLIDE_BAR   0.10 /* a change that has to be found */
#define SLIDE_LEAST 0.06 /* one that may be said */
#define TOLD_APART  1.96 /* of the uncertainties of two fingers' releases */

static const enum sh_measure shown[] = {
    SH_MEASURE_FINGER_SHARE,   SH_MEASURE_FINGER_SHARE_CHANGE,  SH_MEASURE_FINGER_PEAK,
    SH_MEASURE_FINGER_IMPULSE, SH_MEASURE_FINGER_LOAD_RATE,     SH_MEASURE_FINGER_SLIDE,
    SH_MEASURE_FINGER_RELEASE, SH_MEASURE_FINGER_RELEASE_SPREAD};

#define N_SHOWN (sizeof shown / sizeof shown[0])

struct counts {
    size_t n_shots;
    size_t n_missed;
    size_t n_bar;         /* true changes of SLIDE_BAR and more */
    size_t n_bar_found;   /* of these, said */
    size_t n_said;        /* slides said */
    size_t n_said_right;  /* of a true change of SLIDE_LEAST and more */
    size_t n_pairs;       /* of fingers told apart by their uncertainties */
    size_t n_pairs_right; /* in the true order */
    size_t n_compared;    /* fingers' sum against the string */
    size_t n_apart;
    size_t n_tab; /* of the compared: the tab took more */
    size_t n_tab_apart;
};

struct bench {
    size_t n_sessions;
    uint64_t first;
    struct evening_config evening;
    struct tally tally[N_SHOWN];
    struct counts counts;
};

static void read_line(int argc, char **argv, struct bench *bench)
{
    static const struct option options[] = {{"sessions", required_argument, NULL, 'n'},
                                            {"first", required_argument, NULL, 'f'},
                                            {"set", required_argument, NULL, 's'},
                                            {"draws", required_argument, NULL, 'd'},
                                            {"repeat", required_argument, NULL, 'r'},
                                            {"first-pass", no_argument, NULL, 'p'},
                                            {"clean", no_argument, NULL, 'c'},
                                            {"tab", required_argument, NULL, 't'},
                                            {NULL, 0, NULL, 0}};
    struct sh_simulation_config *simulation = &bench->evening.simulation;
    simulation->set = "thin_force";
    simulation->n_draws = 12;
    simulation->faults = SH_ARCHER_FINGER_SLIDE;
    simulation->fault_ratio = FAULT_RATIO;
    bench->evening.has_any_fall = true;
    for (int c = 0; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 'n':
            bench->n_sessions = strtoul(optarg, NULL, 10);
            break;
        case 'f':
            bench->first = strtoull(optarg, NULL, 10);
            break;
        case 's':
            simulation->set = optarg;
            break;
        case 'd':
            simulation->n_draws = strtoul(optarg, NULL, 10);
            break;
        case 'r':
            bench->evening.curve_u_ratio = strtod(optarg, NULL);
            break;
        case 't':
            simulation->tab_ratio = strtod(optarg, NULL);
            break;
        case 'p':
            bench->evening.is_first_pass = true;
            break;
        case 'c':
            simulation->faults = 0;
            break;
        default:
            exit(2);
        }
    }
}

static bool has_finding(const struct sh_shot_record *record, enum sh_code code)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == code) {
            return true;
        }
    }
    return false;
}

static void count_slide(struct counts *counts,
                        const struct sh_shot_record *record,
                        const struct sh_truth *truth)
{
    const double fall = -truth->finger_share_change[RING];
    const bool is_said = has_finding(record, SH_CODE_FINGER_SLIDE);
    counts->n_bar += fall >= SLIDE_BAR ? 1 : 0;
    counts->n_bar_found += fall >= SLIDE_BAR && is_said ? 1 : 0;
    counts->n_said += is_said ? 1 : 0;
    counts->n_said_right += is_said && fall >= SLIDE_LEAST ? 1 : 0;
}

/* Every two fingers whose releases differ by more than their uncertainty. */
static void count_order(struct counts *counts,
                        const struct sh_shot_record *record,
                        const struct sh_truth *truth)
{
    const struct sh_quantity *got = &record->measures.quantity[SH_MEASURE_FINGER_RELEASE_FIRST];
    for (size_t a = 0; a < FINGERS; a++) {
        for (size_t b = a + 1; b < FINGERS; b++) {
            if (!sh_quantity_is_known(&got[a]) || !sh_quantity_is_known(&got[b])) {
                continue;
            }
            const double apart_s = got[b].value - got[a].value;
            const double true_s = truth->finger_release_s[b] - truth->finger_release_s[a];
            if (fabs(apart_s) > TOLD_APART * hypot(got[a].u, got[b].u)) {
                counts->n_pairs++;
                counts->n_pairs_right += (apart_s > 0.0) == (true_s > 0.0) ? 1 : 0;
            }
        }
    }
}

static bool add_measures(struct bench *bench,
                         size_t session,
                         const struct sh_shot_record *record,
                         const struct truth_figures *truth)
{
    for (size_t m = 0; m < N_SHOWN; m++) {
        for (size_t part = 0; part < sh_catalog_get_parts(shown[m]); part++) {
            const struct sh_quantity *got = sh_catalog_get(&record->measures, shown[m], part);
            const size_t place = (size_t)(got - record->measures.quantity);
            if (truth->is_known[place] &&
                !tally_add(&bench->tally[m], session, got, truth->value[place])) {
                return false;
            }
        }
    }
    return true;
}

static enum sh_status add_evening(struct bench *bench,
                                  struct truth_kit *kit,
                                  const struct evening *evening,
                                  size_t session)
{
    struct counts *counts = &bench->counts;
    for (size_t i = 0; i < evening->simulation.plan->n_draws; i++) {
        const struct sh_truth *truth = &evening->simulation.plan->truth[i];
        const struct sh_shot_record *record = evening_find_record(evening, i);
        struct truth_figures figures;
        if (truth->kind != SH_TRUTH_SHOT) {
            continue;
        }
        counts->n_shots++;
        if (record == NULL || record->shot.kind != SH_SHOT_SHOT) {
            counts->n_missed++;
            continue;
        }
        const enum sh_status status =
            truth_find(kit, evening, i, record->shot.clicker_sensor, &figures);
        if (status != SH_OK) {
            return status;
        }
        if (!add_measures(bench, session, record, &figures)) {
            return SH_ERR_MEMORY;
        }
        count_slide(counts, record, truth);
        count_order(counts, record, truth);
        const bool is_compared = sh_quantity_is_known(&record->measures.finger_sum_ratio);
        const bool is_apart = record->quality[SH_CODE_QUALITY_FINGER_SUM];
        const bool has_tab = truth->finger_sum_ratio < 1.0;
        counts->n_compared += is_compared ? 1 : 0;
        counts->n_apart += is_apart ? 1 : 0;
        counts->n_tab += is_compared && has_tab ? 1 : 0;
        counts->n_tab_apart += is_apart && has_tab ? 1 : 0;
    }
    return SH_OK;
}

static void print_tallies(const struct bench *bench)
{
    (void)printf("  %-24s %6s %5s %10s %10s %10s %6s %13s\n", "measure", "n", "null", "bias",
                 "rms u", "95 %", "inside", "of sessions");
    for (size_t m = 0; m < N_SHOWN; m++) {
        char key[SH_CATALOG_KEY_BYTES];
        struct tally_summary sum;
        if (tally_sum(&bench->tally[m], bench->n_sessions, bench->first, &sum)) {
            sh_catalog_key(shown[m], SH_CATALOG_VALUE, key);
            (void)printf("  %-24s %6zu %5zu %10.3g %10.3g %10.3g %6.3f %.3f-%.3f %s\n", key,
                         sum.n, sum.n_unknown, sum.bias, sum.u_rms, sum.error_95,
                         sum.inside_ratio, sum.inside_low, sum.inside_high,
                         sum.is_met ? "met" : "missed");
        }
    }
}

static void print_counts(const struct counts *counts)
{
    (void)printf("  shots %zu, not seen %zu\n", counts->n_shots, counts->n_missed);
    (void)printf(
        "  slides of %.2f and more: %zu, found %zu; said %zu, right %zu (%.2f and more)\n",
        SLIDE_BAR, counts->n_bar, counts->n_bar_found, counts->n_said, counts->n_said_right,
        SLIDE_LEAST);
    (void)printf("  pairs of fingers told apart: %zu, in the true order %zu\n", counts->n_pairs,
                 counts->n_pairs_right);
    (void)printf("  fingers against string: %zu, apart %zu; where the tab took more: %zu of "
                 "%zu\n",
                 counts->n_compared, counts->n_apart, counts->n_tab_apart, counts->n_tab);
}

int main(int argc, char **argv)
{
    static struct bench bench = {.n_sessions = 20, .first = 1};
    struct truth_kit kit;
    struct sh_error err = {0};
    bench.evening.simulation = sh_simulation_config_default();
    read_line(argc, argv, &bench);
    enum sh_status status = truth_kit_open(&kit, &err);
    for (size_t s = 0; s < bench.n_sessions && status == SH_OK; s++) {
        struct evening evening;
        bench.evening.simulation.seed = bench.first + s;
        status = evening_open(&bench.evening, &evening, &err);
        if (status == SH_OK) {
            status = add_evening(&bench, &kit, &evening, s);
        }
        evening_close(&evening);
    }
    (void)printf("%s: %zu sessions of %zu draws from seed %llu%s\n",
                 bench.evening.simulation.set, bench.n_sessions,
                 bench.evening.simulation.n_draws, (unsigned long long)bench.first,
                 bench.evening.is_first_pass ? ", first pass" : "");
    print_tallies(&bench);
    print_counts(&bench.counts);
    for (size_t m = 0; m < N_SHOWN; m++) {
        tally_close(&bench.tally[m]);
    }
    truth_kit_close(&kit);
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s\n", err.what);
    }
    return status == SH_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
