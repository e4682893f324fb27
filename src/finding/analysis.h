/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_ANALYSIS_H
#define SH_FINDING_ANALYSIS_H

#include <stddef.h>

#include "base/status.h"
#include "finding/finding.h"
#include "recording/session.h"

/*
 * All that is known of one recording once it has been analysed.
 */

#define SH_ANALYSIS_SHOTS_MAX   100000u
#define SH_ANALYSIS_HISTORY_MAX 256u
#define SH_ANALYSIS_TEXT_BYTES  256u

struct sh_analysis_quality {
    enum sh_code_quality code;
    char text[SH_ANALYSIS_TEXT_BYTES]; /* one sentence for people */
};

struct sh_analysis {
    char recording[SH_SESSION_FILE_BYTES]; /* the folder's name */
    char athlete[SH_SESSION_NAME_BYTES];
    char (*history)[SH_SESSION_FILE_BYTES]; /* owned; names of the recordings used */
    size_t n_history;
    double duration_s;
    struct sh_analysis_quality quality[SH_CODE_QUALITY_COUNT]; /* a code at most once */
    size_t n_quality;
    struct sh_shot_record *shots; /* owned, in order of time */
    size_t n_shots;
    size_t capacity;
};

/* An empty analysis of a recording (copies both names, cut where they do not fit). */
void sh_analysis_init(struct sh_analysis *analysis, const char *recording, const char *athlete);

/* Frees what it owns and zeroes it. Takes a zeroed analysis. */
void sh_analysis_close(struct sh_analysis *analysis);

/*
 * Appends a shot (copies; findings from n_findings on are left out, and their memory is not
 * touched: a shot takes some 5 kB). SH_ERR_MEMORY, SH_ERR_FULL beyond SH_ANALYSIS_SHOTS_MAX:
 * the analysis stays as it was.
 */
enum sh_status sh_analysis_add(struct sh_analysis *analysis,
                               const struct sh_shot_record *record);

/* Puts a record in place of the shot with its number (copies, as above). SH_ERR_NOT_FOUND:
 * there is no such shot. */
enum sh_status sh_analysis_replace(struct sh_analysis *analysis,
                                   const struct sh_shot_record *record);

/* Appends the name of a recording whose shots were used as history. The same statuses. */
enum sh_status sh_analysis_add_history(struct sh_analysis *analysis, const char *recording);

/* Notes what is wrong with the data of the whole recording; a second note of a code is passed
 * over. text is copied, cut where it does not fit. */
void sh_analysis_add_quality(struct sh_analysis *analysis,
                             enum sh_code_quality code,
                             const char *text);

/*
 * Marks in each shot of later what it says differently from the shot of first whose release or
 * let-down (else draw start) lies nearest, within 0.5 s: kind, events, measures. Any difference
 * in a bit of a value or its uncertainty counts, and so does known against unknown. A shot
 * without a partner is changed in its kind and all it knows.
 */
void sh_analysis_compare(const struct sh_analysis *first, struct sh_analysis *later);

/* Where the shot of a record is told from others: release, else let-down, else draw start, else
 * its end, s; 0 where it has none. */
double sh_analysis_get_time_s(const struct sh_shot_record *record);

#endif
