/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How much faster than real time `stringhand analyze` goes through simulated recordings of four
 * channels at 1000 Hz, both passes and the JSON, on one core, and where the time goes.
 * Usage: bench_speed [MINUTES [ROUNDS]], 60 and 5 where they are not given. Exit status 1 where
 * the median of the first recording is under 2000 times.
 */

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>

#include "app/passes.h"
#include "bench/bench_machine.h"
#include "bench/bench_recording.h"
#include "bench/bench_stages.h"
#include "report/analysis_json.h"

#define WANTED_RATIO 2000.0
#define ROUNDS_MAX   100
#define S_PER_MIN    60.0

struct trial {
    const char *name;
    struct sh_bench_recording_config recording;
};

/* What `analyze --format json` does, its text thrown away. */
static enum sh_status analyse(const char *folder, size_t *n_shots, struct sh_error *err)
{
    struct sh_analysis analysis = {0};
    struct sh_text text;
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &thresholds};
    enum sh_status status = sh_passes_run(folder, &config, &analysis, err);
    if (status != SH_OK) {
        return status;
    }
    sh_text_init(&text, 0);
    status = sh_analysis_json_write(&analysis, &text);
    *n_shots = analysis.n_shots;
    sh_text_close(&text);
    sh_analysis_close(&analysis);
    return status;
}

/* Analyses a folder n_rounds times; *ratio: the median of times real time. */
static enum sh_status run_rounds(const char *folder,
                                 const struct trial *trial,
                                 int n_rounds,
                                 double *ratio,
                                 struct sh_error *err)
{
    double cpu_s[ROUNDS_MAX];
    double wall_s[ROUNDS_MAX];
    size_t n_shots = 0;
    for (int i = 0; i < n_rounds; i++) {
        const double cpu_from_s = sh_bench_machine_get_cpu_s();
        const double wall_from_s = sh_bench_machine_get_wall_s();
        const enum sh_status status = analyse(folder, &n_shots, err);
        if (status != SH_OK) {
            return status;
        }
        cpu_s[i] = sh_bench_machine_get_cpu_s() - cpu_from_s;
        wall_s[i] = sh_bench_machine_get_wall_s() - wall_from_s;
    }
    const struct sh_bench_machine_spread cpu =
        sh_bench_machine_get_spread(cpu_s, (size_t)n_rounds);
    const struct sh_bench_machine_spread wall =
        sh_bench_machine_get_spread(wall_s, (size_t)n_rounds);
    const double duration_s = trial->recording.duration_s;
    *ratio = duration_s / cpu.median;
    (void)printf("%s, %.0f min, %zu draws: %.3f s of processor (%.3f to %.3f, %d rounds; "
                 "%.3f s by the wall clock): %.0f times real time (%.0f to %.0f)\n",
                 trial->name, duration_s / S_PER_MIN, n_shots, cpu.median, cpu.low, cpu.high,
                 n_rounds, wall.median, *ratio, duration_s / cpu.high, duration_s / cpu.low);
    return SH_OK;
}

static enum sh_status run_trial(const char *scratch,
                                const struct trial *trial,
                                int n_rounds,
                                double *ratio,
                                struct sh_error *err)
{
    char folder[PATH_MAX];
    (void)snprintf(folder, sizeof folder, "%s/recording", scratch);
    enum sh_status status = sh_bench_recording_make(folder, &trial->recording, err);
    if (status == SH_OK) {
        status = run_rounds(folder, trial, n_rounds, ratio, err);
    }
    if (status == SH_OK) {
        status = sh_bench_stages_print(folder, err);
    }
    sh_bench_recording_remove(folder);
    return status;
}

int main(int argc, char **argv)
{
    char scratch[] = "/tmp/stringhand-bench-XXXXXX";
    const double minutes = argc > 1 ? strtod(argv[1], NULL) : S_PER_MIN;
    const long n_rounds = argc > 2 ? strtol(argv[2], NULL, 10) : 5;
    double first_ratio = 0.0;
    struct sh_error err = {0};
    enum sh_status status = SH_OK;
    if (!(minutes >= 1.0 && minutes <= 600.0) || n_rounds < 1 || n_rounds > ROUNDS_MAX) {
        (void)fprintf(stderr, "usage: bench_speed [MINUTES [ROUNDS]]\n");
        return EXIT_FAILURE;
    }
    const struct sh_bench_recording_config bow = {.set = SH_BENCH_RECORDING_STRING_BOW,
                                                  .duration_s = minutes * S_PER_MIN,
                                                  .piece_s = minutes * S_PER_MIN};
    struct trial trials[] = {{"string + 3 accelerations, WAV", bow},
                             {"string + 3 accelerations, FLAC", bow},
                             {"string + 3 fingers, WAV", bow}};
    trials[1].recording.to_flac = true;
    trials[2].recording.set = SH_BENCH_RECORDING_STRING_FINGERS;
    sh_bench_machine_print();
    if (mkdtemp(scratch) == NULL) {
        (void)fprintf(stderr, "bench: no scratch folder in /tmp\n");
        return EXIT_FAILURE;
    }
    for (size_t i = 0; i < sizeof trials / sizeof trials[0] && status == SH_OK; i++) {
        double ratio = 0.0;
        status = run_trial(scratch, &trials[i], (int)n_rounds, &ratio, &err);
        first_ratio = i == 0 ? ratio : first_ratio;
    }
    sh_bench_recording_remove(scratch);
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s: %s\n", err.where, err.what);
    }
    return status == SH_OK && first_ratio >= WANTED_RATIO ? EXIT_SUCCESS : EXIT_FAILURE;
}
