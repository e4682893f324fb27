/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_COMPARISON_SOURCE_H
#define SH_APP_COMPARISON_SOURCE_H

#include "app/home.h"
#include "series/comparison.h"

/*
 * The two sides of a comparison, from recordings: two folders with recordings in or below them,
 * or those of an athlete split by a tag. Recordings of one day and one session's name are one
 * session. Test of all: tests/loop/test_compare.c.
 */
struct sh_comparison_source_config {
    const char *home;
    char *const *words; /* [n_words]: folders, or one athlete where by is given */
    size_t n_words;
    const char *by; /* "tab" or "tab=thin,thick"; NULL: the words are the two sides */
};

struct sh_comparison_source {
    struct sh_comparison_set set; /* owned */
    bool has_other_calibration;   /* force channels of the sides are not calibrated alike */
    char athlete[SH_SESSION_NAME_BYTES];
    char key[SH_SESSION_NAME_BYTES]; /* of the tag; "" without one */
    char side[2][SH_HOME_PATH_BYTES];
    size_t n_untagged; /* recordings left out: without the tag, or with another value */
};

/*
 * Reads them. source is to be closed whatever comes back. SH_ERR_ARGUMENT: recordings of two
 * athletes, one recording on both sides, or a tag whose two values are not clear;
 * SH_ERR_NOT_FOUND: a side without recordings, or an athlete who is hidden; statuses of
 * sh_recording_list_add, sh_analysis_store_get and sh_session_json_read.
 */
enum sh_status sh_comparison_source_read(const struct sh_comparison_source_config *config,
                                         struct sh_comparison_source *source,
                                         struct sh_error *err);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_comparison_source_close(struct sh_comparison_source *source);

#endif
