/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_RECORDING_RECORDING_REMOVE_H
#define SH_RECORDING_RECORDING_REMOVE_H

#include <stddef.h>
#include <stdint.h>

#include "base/status.h"
#include "recording/session.h"

/*
 * Removes a recording for good, and nothing but a recording: recording.json, the streams' files
 * it names (also as the WAV or FLAC they were made from), analysis.json and truth.json, what a
 * cut-off rewrite or a repair left of them. Whatever else lies in the folder stays, and so does
 * the folder then. Links are never followed: a link in the place of such a file goes, what it
 * points to stays. Test of all: tests/recording/test_recording_remove.c.
 */

/* What the folder holds. */
struct sh_recording_remove_size {
    size_t n_files; /* of the recording */
    uint64_t n_bytes;
    size_t n_others;                     /* that stay */
    char other[SH_SESSION_FILE_BYTES];   /* the first of them by name; "" */
    char athlete[SH_SESSION_NAME_BYTES]; /* whose it is */
};

/*
 * Looks at a recording without touching it. SH_ERR_FORMAT: a link in place of the folder or of
 * its recording.json, or one that cannot be understood. SH_ERR_NOT_FOUND, SH_ERR_PERMISSION,
 * SH_ERR_IO, SH_ERR_MEMORY.
 */
enum sh_status sh_recording_remove_measure(const char *folder,
                                           struct sh_recording_remove_size *size,
                                           struct sh_error *err);

/*
 * Removes athlete's recording. recording.json goes last, when the others are gone from the
 * disk: a run that is cut off leaves a folder that still says whose it is, and is made good by
 * the next. *size is what was found. SH_ERR_ARGUMENT: it is another's, nothing is removed.
 * SH_ERR_BUSY: a capture writes it, nothing is removed. Else as above.
 */
enum sh_status sh_recording_remove_run(const char *folder,
                                       const char *athlete,
                                       struct sh_recording_remove_size *size,
                                       struct sh_error *err);

#endif
