/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as a file of clock formats: refused with a line, or formats by which a clock runs
 * to its end, in order, with one to three strokes a signal.
 */
#include <string.h>

#include "fuzz/fuzz.h"
#include "fuzz/input_file.h"
#include "series/shooting_clock.h"

struct run {
    double last_s;
    size_t n_events;
    bool is_over;
};

static enum sh_status
take_event(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct run *run = context;
    (void)err;
    SH_FUZZ_CHECK(event->t_s >= run->last_s && event->n_signals <= 3);
    SH_FUZZ_CHECK(event->archer >= 1 && event->archer <= 6);
    SH_FUZZ_CHECK(!run->is_over || event->kind == SH_SHOOTING_CLOCK_EVENT_OVERRUN);
    run->last_s = event->t_s;
    run->n_events++;
    run->is_over = run->is_over || event->kind == SH_SHOOTING_CLOCK_EVENT_STOP;
    return SH_OK;
}

static void check_format(const struct sh_round_format *format)
{
    struct run run = {0};
    struct sh_shooting_clock clock;
    const struct sh_shooting_clock_sink sink = {take_event, &run};
    SH_FUZZ_CHECK(format->name[0] != '\0' && strlen(format->name) < sizeof format->name);
    SH_FUZZ_CHECK(sh_round_format_check(format, "here", NULL) == SH_OK);
    sh_shooting_clock_init(&clock, format, &sink);
    (void)sh_shooting_clock_start(&clock, 0.0, SH_SHOOTING_CLOCK_OTHER, NULL);
    for (int i = 0; i < 8; i++) {
        (void)sh_shooting_clock_release(&clock, (enum sh_shooting_clock_side)(i % 2),
                                        format->line_up_s + i, 0.0, NULL);
    }
    (void)sh_shooting_clock_push(&clock, 1e9, NULL);
    SH_FUZZ_CHECK(run.is_over && run.n_events < 2 * 2 * 72 + 16);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_round_format_set set = sh_round_format_default();
    const struct sh_round_format_set before = set;
    char path[INPUT_FILE_PATH_BYTES];
    FILE *file = input_file_open(bytes, n_bytes, path);
    const enum sh_status status = sh_round_format_read(path, &set, &err);
    if (status == SH_OK) {
        SH_FUZZ_CHECK(set.n_formats <= SH_ROUND_FORMATS_MAX);
        for (size_t i = 0; i < set.n_formats; i++) {
            check_format(&set.format[i]);
        }
    } else {
        SH_FUZZ_CHECK(err.status == status && err.what[0] != '\0');
        SH_FUZZ_CHECK(memcmp(&set, &before, sizeof set) == 0);
    }
    (void)fclose(file);
    return 0;
}
