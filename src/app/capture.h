/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_H
#define SH_APP_CAPTURE_H

#include <signal.h>

#include "app/capture_setup.h"

/*
 * Records until it is told to end: sensors into recordings, shots into sentences, what is typed
 * into marks.
 */

/* What came of it. */
struct sh_capture_result {
    size_t n_recordings;
    uint64_t n_good_frames;
    char (*folder)[SH_HOME_PATH_BYTES]; /* owned, [n_recordings] */
};

/* Frees what the result owns and zeroes it. Takes a zeroed result. */
void sh_capture_result_close(struct sh_capture_result *result);

/*
 * Runs a capture. should_end is set from outside (a signal) to end it cleanly. Prints the path
 * of each finished recording on standard output, sentences and the live line on standard error.
 * SH_ERR_FORMAT where not one good frame came; statuses of ports, writer and stages. What was
 * recorded until a failure stays.
 */
enum sh_status sh_capture_run(const struct sh_capture_setup *setup,
                              const volatile sig_atomic_t *should_end,
                              struct sh_capture_result *result,
                              struct sh_error *err);

#endif
