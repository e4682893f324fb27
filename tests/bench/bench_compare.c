/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How often what `stringhand compare` says holds: fifteen figures that go together as those of
 * a bow hand with three fingers do, of sessions that scatter by 1. Nothing changed: is any
 * figure called changed? The shift that "would have been seen", in comparisons made afresh: is
 * it? As many sessions as "are needed", afresh, with the shift there: is it seen?
 * Usage: bench_compare [--rounds N] [--first SEED] [--shift SDS] [--calibration SDS].
 */

#include <getopt.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "series/before_after.h"
#include "signal/random.h"

#define FIGURES      15u
#define FINGERS      3u
#define SHARE        5u /* of the index finger; middle and ring follow */
#define CHANGE       8u
#define PEAK         9u
#define IMPULSE      12u
#define LOOKED_AT    7u  /* the ring finger's share */
#define SESSIONS_MAX 60u /* a side; more that are needed are counted, not tried */
#define N_EACH_MAX   8u

struct bench {
    size_t n_rounds;
    uint64_t first;
    double shift;       /* of the figure looked at, where sessions needed are asked for */
    double calibration; /* standard uncertainty of each finger's, of either side; 0: alike */
    struct sh_random random;
    struct sh_before_after_arrow arrows[2 * SESSIONS_MAX];
    double values[2 * SESSIONS_MAX * FIGURES];
};

/* What came of the rounds with so many sessions a side. */
struct score {
    size_t n_false;
    size_t n_visible;
    size_t n_shown;
    size_t n_needed;
    size_t n_found;
    size_t n_over;
    double needed_sum;
};

/* Three parts that add up to nothing, each of SD 1 where the raw ones are. */
static void share_out(const double raw[FINGERS], double share[FINGERS])
{
    const double mean = (raw[0] + raw[1] + raw[2]) / FINGERS;
    for (size_t f = 0; f < FINGERS; f++) {
        share[f] = (raw[f] - mean) / sqrt(2.0 / 3.0);
    }
}

/* One session: each figure of SD 1. */
static void make_session(struct sh_random *random, const double error[FINGERS], double *x)
{
    double raw[FINGERS];
    double wrong[FINGERS];
    for (size_t k = 0; k < SHARE; k++) {
        x[k] = sh_random_get_normal(random);
    }
    x[CHANGE] = sh_random_get_normal(random);
    for (size_t f = 0; f < FINGERS; f++) {
        raw[f] = sh_random_get_normal(random);
    }
    share_out(raw, x + SHARE);
    share_out(error, wrong);
    for (size_t f = 0; f < FINGERS; f++) {
        x[PEAK + f] =
            (0.4 * x[2] + x[SHARE + f] + 0.2 * sh_random_get_normal(random)) / sqrt(1.2);
        x[IMPULSE + f] =
            (x[PEAK + f] + 0.7 * x[0] + 0.1 * sh_random_get_normal(random)) / sqrt(1.5);
        x[SHARE + f] += wrong[f];
        x[PEAK + f] += wrong[f];
        x[IMPULSE + f] += wrong[f];
    }
}

/* Compares n sessions a side afresh, the figure looked at shifted. */
static void
compare(struct bench *bench, size_t n, double shift, struct sh_before_after figures[FIGURES])
{
    double error[2][FINGERS];
    double u[FIGURES] = {0.0};
    for (size_t f = 0; f < FINGERS; f++) {
        for (size_t side = 0; side < 2; side++) {
            error[side][f] = bench->calibration * sh_random_get_normal(&bench->random);
        }
        u[SHARE + f] = u[PEAK + f] = u[IMPULSE + f] = sqrt(2.0) * bench->calibration;
    }
    for (size_t i = 0; i < 2 * n; i++) {
        const bool is_second = i % 2 == 1;
        bench->arrows[i] = (struct sh_before_after_arrow){i, i, is_second};
        make_session(&bench->random, error[is_second], bench->values + i * FIGURES);
        bench->values[i * FIGURES + LOOKED_AT] += is_second ? shift : 0.0;
    }
    const struct sh_before_after_config config = {.arrows = bench->arrows,
                                                  .values = bench->values,
                                                  .n = 2 * n,
                                                  .n_figures = FIGURES,
                                                  .calibration_u = u,
                                                  .seed = bench->first};
    if (sh_before_after_get(&config, figures) != SH_OK) {
        (void)fprintf(stderr, "bench_compare: out of memory\n");
        exit(1);
    }
}

static bool is_any_seen(const struct sh_before_after figures[FIGURES])
{
    for (size_t k = 0; k < FIGURES; k++) {
        if (sh_before_after_is_seen(&figures[k])) {
            return true;
        }
    }
    return false;
}

static void play_round(struct bench *bench, size_t n, struct score *score)
{
    struct sh_before_after made[FIGURES];
    struct sh_before_after next[FIGURES];
    compare(bench, n, 0.0, made);
    score->n_false += is_any_seen(made);
    if (made[LOOKED_AT].visible > 0.0) {
        compare(bench, n, made[LOOKED_AT].visible, next);
        score->n_shown++;
        score->n_visible += sh_before_after_is_seen(&next[LOOKED_AT]);
    }
    /* needed for the shift that is there: sessions as they scatter, their shift as it is */
    compare(bench, n, bench->shift, made);
    const double needed = made[LOOKED_AT].n_needed;
    if (needed > 0.0 && needed <= SESSIONS_MAX) {
        compare(bench, (size_t)needed, made[LOOKED_AT].shift, next);
        score->n_needed++;
        score->needed_sum += needed;
        score->n_found += sh_before_after_is_seen(&next[LOOKED_AT]);
    } else {
        score->n_over++;
    }
}

static void print_ratio(size_t n, size_t of)
{
    const double p = (double)n / fmax((double)of, 1.0);
    if (of == 0) {
        printf("  %-22s", "-");
    } else {
        printf("  %.3f of %4zu (u %.3f)", p, of, sqrt(p * (1.0 - p) / (double)of));
    }
}

static void read_options(int argc, char **argv, struct bench *bench)
{
    static const struct option options[] = {{"rounds", required_argument, NULL, 'r'},
                                            {"first", required_argument, NULL, 'f'},
                                            {"shift", required_argument, NULL, 's'},
                                            {"calibration", required_argument, NULL, 'c'},
                                            {NULL, 0, NULL, 0}};
    for (int c = 0; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 'r':
            bench->n_rounds = strtoul(optarg, NULL, 10);
            break;
        case 'f':
            bench->first = strtoull(optarg, NULL, 10);
            break;
        case 's':
            bench->shift = strtod(optarg, NULL);
            break;
        case 'c':
            bench->calibration = strtod(optarg, NULL);
            break;
        default:
            exit(2);
        }
    }
}

int main(int argc, char **argv)
{
    static struct bench bench = {.n_rounds = 100, .first = 1, .shift = 2.0};
    read_options(argc, argv, &bench);
    sh_random_init(&bench.random, bench.first);
    printf("seed %llu, %zu rounds each; calibration off by %g SD a finger and side\n",
           (unsigned long long)bench.first, bench.n_rounds, bench.calibration);
    printf("a side   any, none there         visible is seen         needed for %4.1f SD is "
           "enough   needed, mean   over %u\n",
           bench.shift, SESSIONS_MAX);
    for (size_t n = 2; n <= N_EACH_MAX; n++) {
        struct score score = {0};
        for (size_t round = 0; round < bench.n_rounds; round++) {
            play_round(&bench, n, &score);
        }
        printf("%6zu", n);
        print_ratio(score.n_false, bench.n_rounds);
        print_ratio(score.n_visible, score.n_shown);
        print_ratio(score.n_found, score.n_needed);
        printf("  %12.1f  %6zu\n", score.needed_sum / fmax((double)score.n_needed, 1.0),
               score.n_over);
        (void)fflush(stdout);
    }
    return 0;
}
