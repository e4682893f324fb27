/* SPDX-License-Identifier: GPL-3.0-or-later */

/*
 * How long the index of many recordings takes to build from their analysis.json, how large it
 * gets, and how long it takes to answer what consistency asks of one athlete.
 * Usage: bench_history RECORDING [N [PROGRAM]]: a recording with an analysis.json of this
 * version of the program stands for all N (2000 where not given), each with a start and an
 * archer of its own. With PROGRAM (stringhand) its consistency is timed as a whole, too. Exit
 * status 1 where a bar of docs/speed.md is missed.
 */

#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "app/consistency_index.h"
#include "app/history_update.h"
#include "bench/bench_machine.h"
#include "bench/bench_recording.h"
#include "recording/session_json.h"

#define WANTED_S     60.0
#define WANTED_MS    100.0
#define WANTED_BYTES 104857600.0
#define ARCHERS      5
#define QUERIES      21
#define COMMANDS     5
#define MS_PER_S     1000.0
#define MIB          1048576.0

static const char *const archers[ARCHERS] = {"wren", "rook", "heron", "teal", "plover"};

/* One stand-in: its files are links, but for recording.json, which is older than the rest. */
static enum sh_status make_stand_in(const char *model,
                                    struct sh_session *session,
                                    const struct sh_session_json *kept,
                                    const char *folder,
                                    struct sh_error *err)
{
    const struct timespec old[2] = {{.tv_sec = 1000}, {.tv_sec = 1000}};
    char from[2 * PATH_MAX];
    char to[2 * PATH_MAX];
    struct sh_text text;
    if (mkdir(folder, 0700) != 0) {
        return sh_error_set(err, SH_ERR_IO, folder, NULL, "cannot be made");
    }
    for (size_t i = 0; i <= session->n_streams; i++) {
        const char *file = i < session->n_streams ? session->streams[i].file : "analysis.json";
        (void)snprintf(from, sizeof from, "%s/%s", model, file);
        (void)snprintf(to, sizeof to, "%s/%s", folder, file);
        if (link(from, to) != 0) {
            return sh_error_set(err, SH_ERR_IO, from, "give a recording in /tmp",
                                "cannot be linked");
        }
    }
    sh_text_init(&text, 0);
    enum sh_status status = sh_session_json_format(session, kept, &text, err);
    (void)snprintf(to, sizeof to, "%s/recording.json", folder);
    if (status == SH_OK) {
        FILE *file = fopen(to, "w");
        const bool is_written = file != NULL && fputs(text.data, file) >= 0;
        if (file == NULL || fclose(file) != 0 || !is_written ||
            utimensat(AT_FDCWD, to, old, 0) != 0) {
            status = sh_error_set(err, SH_ERR_IO, to, NULL, "cannot be written");
        }
    }
    sh_text_close(&text);
    return status;
}

static enum sh_status
make_all(const char *model, const char *scratch, size_t n, struct sh_error *err)
{
    struct sh_session session = {0};
    struct sh_session_json *kept = NULL;
    char folder[PATH_MAX];
    enum sh_status status = sh_session_json_read(model, &session, &kept, err);
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        (void)snprintf(session.started, sizeof session.started,
                       "20%02zu-%02zu-%02zuT18:%02zu:00Z", 10 + i / 1000 % 90, 1 + i / 28 % 12,
                       1 + i % 28, i % 60);
        (void)snprintf(session.athlete, sizeof session.athlete, "%s", archers[i % ARCHERS]);
        (void)snprintf(folder, sizeof folder, "%s/recordings/r%05zu", scratch, i);
        status = make_stand_in(model, &session, kept, folder, err);
    }
    sh_session_json_close(&kept);
    sh_session_close(&session);
    return status;
}

/* What consistency asks of the index, by its own reader: all draws of one archer, as the set
 * that it works on. */
static enum sh_status
time_queries(struct sh_index *index, double *median_ms, struct sh_error *err)
{
    double took_ms[QUERIES];
    double cpu_ms[QUERIES];
    enum sh_status status = SH_OK;
    size_t n_rows = 0;
    for (size_t i = 0; i < QUERIES && status == SH_OK; i++) {
        struct sh_consistency_source source = {0};
        const double from_s = sh_bench_machine_get_wall_s();
        const double cpu_from_s = sh_bench_machine_get_cpu_s();
        status = sh_consistency_index_read(index, archers[0], &source, err);
        took_ms[i] = MS_PER_S * (sh_bench_machine_get_wall_s() - from_s);
        cpu_ms[i] = MS_PER_S * (sh_bench_machine_get_cpu_s() - cpu_from_s);
        n_rows = source.set.n_rows;
        sh_consistency_source_close(&source);
    }
    const struct sh_bench_machine_spread spread = sh_bench_machine_get_spread(took_ms, QUERIES);
    const struct sh_bench_machine_spread cpu = sh_bench_machine_get_spread(cpu_ms, QUERIES);
    *median_ms = spread.median;
    (void)printf("consistency's query, %zu draws of one archer: %.1f ms (%.1f to %.1f, %d "
                 "times), of processor %.1f ms (%.1f to %.1f)\n",
                 n_rows, spread.median, spread.low, spread.high, QUERIES, cpu.median, cpu.low,
                 cpu.high);
    return status;
}

/* The whole command, from its start to its end, by the program itself; no bar is set for it. */
static void time_command(const char *program, const char *home)
{
    double took_ms[COMMANDS];
    for (size_t i = 0; i < COMMANDS; i++) {
        const double from_s = sh_bench_machine_get_wall_s();
        int status = 0;
        const pid_t child = fork();
        if (child == 0) {
            const int nowhere = open("/dev/null", O_WRONLY);
            (void)dup2(nowhere, STDOUT_FILENO);
            (void)execl(program, program, "consistency", archers[0], "--home", home, NULL);
            _exit(127);
        }
        (void)waitpid(child, &status, 0);
        took_ms[i] = MS_PER_S * (sh_bench_machine_get_wall_s() - from_s);
        if (!WIFEXITED(status) || WEXITSTATUS(status) != 0) {
            (void)fprintf(stderr, "bench: %s cannot be run\n", program);
            return;
        }
    }
    const struct sh_bench_machine_spread spread =
        sh_bench_machine_get_spread(took_ms, COMMANDS);
    (void)printf(
        "stringhand consistency, the whole command: %.0f ms (%.0f to %.0f, %d times)\n",
        spread.median, spread.low, spread.high, COMMANDS);
}

static enum sh_status build(struct sh_index *index,
                            const char *scratch,
                            bool from_nothing,
                            double *took_s,
                            struct sh_error *err)
{
    struct sh_recording_list list = {0};
    struct sh_history_update_result result = {0};
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const double from_s = sh_bench_machine_get_wall_s();
    const double cpu_from_s = sh_bench_machine_get_cpu_s();
    enum sh_status status = sh_recording_list_add(&list, scratch, err);
    sh_recording_list_settle(&list);
    const struct sh_history_update_config config = {
        .list = &list, .thresholds = &thresholds, .from_nothing = from_nothing};
    if (status == SH_OK) {
        status = sh_history_update_run(index, &config, &result, err);
    }
    *took_s = sh_bench_machine_get_wall_s() - from_s;
    (void)printf("%s: %zu read, %zu unchanged, %zu failed: %.2f s (%.2f s of processor)\n",
                 from_nothing ? "built anew" : "brought up to date", result.n_put,
                 result.n_unchanged, result.n_failed, *took_s,
                 sh_bench_machine_get_cpu_s() - cpu_from_s);
    sh_recording_list_close(&list);
    return status;
}

static enum sh_status
run(const char *model, const char *scratch, size_t n, bool *is_met, struct sh_error *err)
{
    char path[PATH_MAX];
    struct sh_index *index = NULL;
    double built_s = 0.0;
    double updated_s = 0.0;
    double query_ms = 0.0;
    struct stat file = {0};
    (void)snprintf(path, sizeof path, "%s/history.sqlite", scratch);
    char recordings[PATH_MAX];
    (void)snprintf(recordings, sizeof recordings, "%s/recordings", scratch);
    enum sh_status status =
        mkdir(recordings, 0700) == 0
            ? make_all(model, scratch, n, err)
            : sh_error_set(err, SH_ERR_IO, recordings, NULL, "cannot be made");
    status = status == SH_OK ? sh_index_open(path, &index, err) : status;
    status = status == SH_OK ? build(index, recordings, true, &built_s, err) : status;
    status = status == SH_OK ? build(index, recordings, false, &updated_s, err) : status;
    status = status == SH_OK ? time_queries(index, &query_ms, err) : status;
    sh_index_close(&index);
    if (status == SH_OK && stat(path, &file) == 0) {
        (void)printf("file: %.1f MiB\n", (double)file.st_size / MIB);
    }
    *is_met = built_s < WANTED_S && query_ms < WANTED_MS && (double)file.st_size < WANTED_BYTES;
    return status;
}

int main(int argc, char **argv)
{
    char scratch[] = "/tmp/stringhand-bench-XXXXXX";
    const long n = argc > 2 ? strtol(argv[2], NULL, 10) : 2000;
    struct sh_error err = {0};
    bool is_met = false;
    if (argc < 2 || n < 1 || n > 20000 || mkdtemp(scratch) == NULL) {
        (void)fprintf(stderr, "usage: bench_history RECORDING [N [PROGRAM]]\n");
        return EXIT_FAILURE;
    }
    sh_bench_machine_print();
    const enum sh_status status = run(argv[1], scratch, (size_t)n, &is_met, &err);
    if (status == SH_OK && argc > 3) {
        time_command(argv[3], scratch);
    }
    if (status != SH_OK) {
        (void)fprintf(stderr, "bench: %s: %s\n", err.where, err.what);
    }
    for (long i = 0; i < n; i++) {
        char folder[PATH_MAX];
        (void)snprintf(folder, sizeof folder, "%s/recordings/r%05ld", scratch, i);
        sh_bench_recording_remove(folder);
    }
    char recordings[PATH_MAX];
    (void)snprintf(recordings, sizeof recordings, "%s/recordings", scratch);
    sh_bench_recording_remove(recordings);
    sh_bench_recording_remove(scratch);
    return status == SH_OK && is_met ? EXIT_SUCCESS : EXIT_FAILURE;
}
