/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * Peak memory of `stringhand analyze` (both passes and the JSON) over recordings of four
 * channels at 1000 Hz, each made and analysed in a process of its own. Usage: bench_memory
 * [HOURS...], 1 2 8 where they are not given. Exit status 1 where a peak reaches 64 MiB.
 */

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/passes.h"
#include "bench/bench_machine.h"
#include "bench/bench_recording.h"
#include "report/analysis_json.h"

#define PIECE_S     1200.0
#define S_PER_H     3600.0
#define KIB_PER_MIB 1024.0
#define WANTED_MIB  64.0
#define HOURS_MAX   24.0

static enum sh_status make(const char *folder, double hours, struct sh_error *err)
{
    const struct sh_bench_recording_config config = {.set = SH_BENCH_RECORDING_STRING_BOW,
                                                     .duration_s = hours * S_PER_H,
                                                     .piece_s = PIECE_S};
    return sh_bench_recording_make(folder, &config, err);
}

static enum sh_status analyse(const char *folder, double hours, struct sh_error *err)
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
    (void)printf("%4.1f h, %5zu draws, %5.1f MB of JSON", hours, analysis.n_shots,
                 1e-6 * (double)text.n_bytes);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
    return status;
}

/* Runs work in a child; its peak memory, MiB, or below 0 where it failed. */
static double run_apart(enum sh_status (*work)(const char *, double, struct sh_error *),
                        const char *folder,
                        double hours)
{
    struct rusage usage = {0};
    int outcome = 0;
    (void)fflush(stdout);
    const pid_t child = fork();
    if (child == 0) {
        struct sh_error err = {0};
        const enum sh_status status = work(folder, hours, &err);
        if (status != SH_OK) {
            (void)fprintf(stderr, "bench: %s: %s\n", err.where, err.what);
        }
        (void)fflush(stdout);
        _exit(status == SH_OK ? EXIT_SUCCESS : EXIT_FAILURE);
    }
    if (child < 0 || wait4(child, &outcome, 0, &usage) != child || !WIFEXITED(outcome) ||
        WEXITSTATUS(outcome) != EXIT_SUCCESS) {
        return -1.0;
    }
    return (double)usage.ru_maxrss / KIB_PER_MIB;
}

int main(int argc, char **argv)
{
    static const double usual[] = {1.0, 2.0, 8.0};
    char scratch[] = "/tmp/stringhand-bench-XXXXXX";
    char folder[PATH_MAX];
    const int n = argc > 1 ? argc - 1 : (int)(sizeof usual / sizeof usual[0]);
    bool is_good = true;
    sh_bench_machine_print();
    if (mkdtemp(scratch) == NULL) {
        (void)fprintf(stderr, "bench: no scratch folder in /tmp\n");
        return EXIT_FAILURE;
    }
    (void)snprintf(folder, sizeof folder, "%s/recording", scratch);
    for (int i = 0; i < n && is_good; i++) {
        const double hours = argc > 1 ? strtod(argv[i + 1], NULL) : usual[i];
        is_good = hours > 0.0 && hours <= HOURS_MAX && run_apart(make, folder, hours) > 0.0;
        const double peak_mib = is_good ? run_apart(analyse, folder, hours) : -1.0;
        (void)printf(": %.1f MiB at most\n", peak_mib);
        is_good = is_good && peak_mib > 0.0 && peak_mib < WANTED_MIB;
        sh_bench_recording_remove(folder);
    }
    sh_bench_recording_remove(scratch);
    return is_good ? EXIT_SUCCESS : EXIT_FAILURE;
}
