/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/progress.h"

#include <stdio.h>
#include <time.h>
#include <unistd.h>

#define PATIENCE_MS 2000
#define BETWEEN_MS  200
#define MS_PER_S    1000
#define S_PER_MIN   60.0
#define NS_PER_MS   1000000

static int64_t now_ms(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * MS_PER_S + now.tv_nsec / NS_PER_MS;
}

void sh_progress_init(struct sh_progress *progress, const char *task)
{
    *progress = (struct sh_progress){
        .task = task, .is_wanted = isatty(STDERR_FILENO) != 0, .started_ms = now_ms()};
}

/* Whether it is time for another look at the line; counts that one. */
static bool is_due(struct sh_progress *progress)
{
    if (!progress->is_wanted) {
        return false;
    }
    const int64_t time_ms = now_ms();
    if (time_ms - progress->started_ms < PATIENCE_MS ||
        time_ms - progress->shown_ms < BETWEEN_MS) {
        return false;
    }
    progress->shown_ms = time_ms;
    progress->is_shown = true;
    return true;
}

void sh_progress_set(struct sh_progress *progress, double done_s)
{
    if (is_due(progress)) {
        (void)fprintf(stderr, "\r%s: %.0f min of the recording done\x1b[K", progress->task,
                      done_s / S_PER_MIN);
        (void)fflush(stderr);
    }
}

void sh_progress_set_count(struct sh_progress *progress, size_t done, size_t all)
{
    if (is_due(progress)) {
        (void)fprintf(stderr, "\r%s: %zu of %zu done\x1b[K", progress->task, done, all);
        (void)fflush(stderr);
    }
}

void sh_progress_close(struct sh_progress *progress)
{
    if (progress->is_shown) {
        (void)fputs("\r\x1b[K", stderr);
        progress->is_shown = false;
    }
}
