/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "series/finger_sum.h"

#define NAMED_BYTES 80u /* of the list of draws */
#define WHERE_BYTES 32u /* "in 5 earlier sessions" */

/* What a shot's ratio is held against. */
struct standard {
    struct sh_finger_sum_usual usual; /* of this session; n 0: not known */
    const struct sh_finger_sum_past *past;
};

/* " draw 4 (0.910)" behind those that are named; ", ..." once it does not fit. */
static void name_draw(const struct sh_shot_record *record, char named[NAMED_BYTES])
{
    char one[NAMED_BYTES];
    const size_t n_bytes = strlen(named);
    const int n_one = snprintf(one, sizeof one, "%s draw %u (%.3f)", n_bytes > 0 ? "," : "",
                               record->shot.n, record->measures.finger_sum_ratio.value);
    if (n_bytes > 0 && named[n_bytes - 1u] == '.') {
        return;
    }
    if (n_one > 0 && n_bytes + (size_t)n_one + sizeof ", ..." <= NAMED_BYTES) {
        memcpy(named + n_bytes, one, (size_t)n_one + 1u);
    } else if (n_bytes > 0) {
        memcpy(named + n_bytes, ", ...", sizeof ", ...");
    }
}

/* Marks and names the shots apart; *n_past: from earlier sessions. Their number. */
static size_t mark(struct sh_analysis *analysis,
                   const struct standard *standard,
                   size_t *n_past,
                   char named[NAMED_BYTES])
{
    size_t n = 0;
    *n_past = 0;
    named[0] = '\0';
    for (size_t i = 0; i < analysis->n_shots; i++) {
        struct sh_shot_record *record = &analysis->shots[i];
        const struct sh_quantity *ratio = &record->measures.finger_sum_ratio;
        const bool is_apart_today =
            standard->usual.n > 0 && sh_finger_sum_is_apart(&standard->usual, ratio);
        const bool is_apart = sh_finger_sum_is_apart_from_past(standard->past, ratio);
        if (is_apart || is_apart_today) {
            record->quality[SH_CODE_QUALITY_FINGER_SUM] = true;
            name_draw(record, named);
            *n_past += is_apart ? 1u : 0u;
            n++;
        }
    }
    return n;
}

static void
say(struct sh_analysis *analysis, const struct standard *standard, bool is_past, char *named)
{
    char text[SH_ANALYSIS_TEXT_BYTES];
    char where[WHERE_BYTES] = "here";
    if (is_past) {
        (void)snprintf(where, sizeof where, "in %u earlier sessions",
                       (unsigned)standard->past->n_sessions);
    }
    (void)snprintf(text, sizeof text,
                   "the fingers' sum is %.3f of the string's force as a rule %s; otherwise "
                   "in%.*s: a sensor or the hand is not as it was (1 draw of 100 by chance)",
                   is_past ? standard->past->ratio : standard->usual.ratio, where,
                   (int)NAMED_BYTES - 1, named);
    sh_analysis_add_quality(analysis, SH_CODE_QUALITY_FINGER_SUM, text);
}

enum sh_status sh_finger_check_mark(struct sh_analysis *analysis,
                                    const struct sh_finger_sum_past *past)
{
    struct standard standard = {.past = past};
    char named[NAMED_BYTES];
    size_t n_past = 0;
    const enum sh_status status = sh_finger_check_find(analysis, &standard.usual);
    if (status == SH_OK && mark(analysis, &standard, &n_past, named) > 0) {
        say(analysis, &standard, n_past > 0, named);
    }
    return status;
}

enum sh_status sh_finger_check_find(const struct sh_analysis *analysis,
                                    struct sh_finger_sum_usual *usual)
{
    const size_t n = analysis->n_shots;
    *usual = (struct sh_finger_sum_usual){.n = 0};
    if (n < SH_FINGER_SUM_SHOTS_MIN) {
        return SH_OK;
    }
    struct sh_quantity *ratio = calloc(n, sizeof *ratio);
    double *work = calloc(2u * n, sizeof *work);
    const enum sh_status status = ratio != NULL && work != NULL ? SH_OK : SH_ERR_MEMORY;
    for (size_t i = 0; status == SH_OK && i < n; i++) {
        ratio[i] = analysis->shots[i].measures.finger_sum_ratio;
    }
    if (status == SH_OK) {
        (void)sh_finger_sum_find(ratio, n, work, usual);
    }
    free(work);
    free(ratio);
    return status;
}
