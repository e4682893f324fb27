/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_PROGRESS_H
#define SH_APP_PROGRESS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/*
 * One line on standard error that says how far a long task is: only where that is a terminal,
 * only after two seconds, at most five times a second, and gone when the task ends.
 */
struct sh_progress {
    const char *task; /* "tuesday"; kept */
    bool is_wanted;
    bool is_shown;
    int64_t started_ms;
    int64_t shown_ms;
};

/* Starts; looks whether standard error is a terminal. */
void sh_progress_init(struct sh_progress *progress, const char *task);

/* Shows how many seconds of recording are done, if it is time to. Cheap: a call a block. */
void sh_progress_set(struct sh_progress *progress, double done_s);

/* The same where things are counted: done of all. */
void sh_progress_set_count(struct sh_progress *progress, size_t done, size_t all);

/* Takes the line away. */
void sh_progress_close(struct sh_progress *progress);

#endif
