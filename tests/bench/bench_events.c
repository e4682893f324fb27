/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How near the events of `stringhand analyze` come to the truth of simulated sessions, by
 * channel set: docs/accuracy.md. Usage: bench_events [--seeds N] [--first SEED] [--set NAME]
 * [--jobs N] [--list]; 20 seeds from 1 on, all sets, one job where not given. Figures on
 * standard output, single draws that went wrong on standard error.
 */

#define _GNU_SOURCE
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/passes.h"
#include "bench/bench_recording.h"
#include "bench/events/tally.h"

#define SEEDS_MAX 100000u
#define JOBS_MAX  64u
#define SPARE     64

struct options {
    size_t n_seeds;
    uint64_t first;
    const char *set; /* NULL: all */
    size_t n_jobs;
    bool has_list; /* every event's error as a line */
};

static enum sh_status run_seed(const char *scratch,
                               const char *set,
                               uint64_t seed,
                               struct pairing *out,
                               struct sh_error *err)
{
    char folder[SPARE];
    struct practice practice;
    struct sh_analysis analysis = {0};
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config passes = {.thresholds = &thresholds};
    (void)snprintf(folder, sizeof folder, "%s/%d", scratch, (int)getpid());
    enum sh_status status = practice_open(&practice, set, seed, err);
    if (status == SH_OK) {
        status = practice_write(&practice, folder, err);
    }
    if (status == SH_OK) {
        status = sh_passes_run(folder, &passes, &analysis, err);
    }
    if (status == SH_OK) {
        pairing_make(&practice, &analysis, out);
        sh_analysis_close(&analysis);
    }
    sh_bench_recording_remove(folder);
    practice_close(&practice);
    return status;
}

/* Every n_jobs'th seed from the job's own number on. */
static int run_job(const struct options *options,
                   const char *scratch,
                   const char *set,
                   size_t job,
                   struct pairing *pairing)
{
    for (size_t i = job; i < options->n_seeds; i += options->n_jobs) {
        struct sh_error err = {0};
        const uint64_t seed = options->first + i;
        if (run_seed(scratch, set, seed, &pairing[i], &err) != SH_OK) {
            (void)fprintf(stderr, "%s seed %llu: %s: %s\n", set, (unsigned long long)seed,
                          err.where, err.what);
            return EXIT_FAILURE;
        }
    }
    return EXIT_SUCCESS;
}

static void list_errors(const char *set, const struct pairing *pairing, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        for (size_t d = 0; d < pairing[i].n_draws; d++) {
            for (size_t e = 0; e < PAIRING_EVENTS; e++) {
                const struct pairing_draw *draw = &pairing[i].draw[d];
                const struct pairing_event *event = &draw->event[e];
                (void)printf("%s\t%llu\t%d\t%d\t%.4f\t%s\t%d\t%d\t%.6f\t%.6f\t%d\n", set,
                             (unsigned long long)pairing[i].seed, pairing[i].is_clean,
                             draw->is_cut, draw->truth_s, pairing_get_name(e), event->is_true,
                             event->is_found, event->error_s, event->u_s, event->is_inside);
            }
        }
    }
}

static bool run_set(const struct options *options,
                    const char *scratch,
                    const char *set,
                    struct pairing *pairing)
{
    bool is_good = true;
    struct tally tally;
    memset(pairing, 0, options->n_seeds * sizeof *pairing);
    for (size_t job = 0; job < options->n_jobs; job++) {
        const pid_t child = fork();
        if (child == 0) {
            _exit(run_job(options, scratch, set, job, pairing));
        }
        is_good = is_good && child > 0;
    }
    int outcome = 0;
    while (wait(&outcome) > 0 || errno == EINTR) {
        is_good = is_good && WIFEXITED(outcome) && WEXITSTATUS(outcome) == EXIT_SUCCESS;
    }
    if (!is_good || tally_make(pairing, options->n_seeds, &tally) != SH_OK) {
        return false;
    }
    if (options->has_list) {
        list_errors(set, pairing, options->n_seeds);
    }
    tally_print(set, pairing, options->n_seeds, &tally);
    return true;
}

static bool read_options(int argc, char **argv, struct options *options)
{
    *options = (struct options){.n_seeds = 20, .first = 1, .n_jobs = 1};
    for (int i = 1; i < argc; i++) {
        const char *value = i + 1 < argc ? argv[i + 1] : "";
        if (strcmp(argv[i], "--list") == 0) {
            options->has_list = true;
            continue;
        }
        if (strcmp(argv[i], "--seeds") == 0) {
            options->n_seeds = (size_t)strtoull(value, NULL, 10);
        } else if (strcmp(argv[i], "--first") == 0) {
            options->first = strtoull(value, NULL, 10);
        } else if (strcmp(argv[i], "--jobs") == 0) {
            options->n_jobs = (size_t)strtoull(value, NULL, 10);
        } else if (strcmp(argv[i], "--set") == 0) {
            options->set = value;
        } else {
            return false;
        }
        i++;
    }
    return options->n_seeds >= 1 && options->n_seeds <= SEEDS_MAX && options->n_jobs >= 1 &&
           options->n_jobs <= JOBS_MAX;
}

static int run_sets(const struct options *options, const char *scratch)
{
    const size_t n_bytes = options->n_seeds * sizeof(struct pairing);
    struct pairing *pairing =
        mmap(NULL, n_bytes, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    int n_run = 0;
    int exit_status = EXIT_SUCCESS;
    if (pairing == MAP_FAILED) {
        return EXIT_FAILURE;
    }
    (void)printf("seeds %llu to %llu\n"
                 "| set | event | found | median ms | 95 %% ms | worst ms | bias ms | in the "
                 "stated 95 %% interval, %% |\n|---|---|---|---|---|---|---|---|\n",
                 (unsigned long long)options->first,
                 (unsigned long long)(options->first + options->n_seeds - 1));
    (void)fflush(stdout);
    for (size_t i = 0; practice_get_set(i) != NULL; i++) {
        const char *set = practice_get_set(i);
        if (options->set == NULL || strcmp(options->set, set) == 0) {
            n_run++;
            exit_status = run_set(options, scratch, set, pairing) ? exit_status : EXIT_FAILURE;
        }
    }
    (void)munmap(pairing, n_bytes);
    return n_run > 0 ? exit_status : EXIT_FAILURE;
}

int main(int argc, char **argv)
{
    char scratch[] = "/tmp/stringhand-events-XXXXXX";
    struct options options;
    if (!read_options(argc, argv, &options)) {
        (void)fprintf(stderr, "usage: bench_events [--seeds N] [--first SEED] [--set NAME] "
                              "[--jobs N] [--list]\n");
        return EXIT_FAILURE;
    }
    if (mkdtemp(scratch) == NULL) {
        perror("bench_events");
        return EXIT_FAILURE;
    }
    const int exit_status = run_sets(&options, scratch);
    sh_bench_recording_remove(scratch);
    return exit_status;
}
