/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/finger_check.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "series/finger_sum.h"

#define NAMED_BYTES 88u /* of the list of draws */

/* Marks the shots apart; " draw 4 (0.91 +- 0.02)," for each into named. Their number. */
static size_t mark(struct sh_analysis *analysis,
                   const struct sh_finger_sum_usual *usual,
                   char named[NAMED_BYTES])
{
    size_t n = 0;
    size_t n_bytes = 0;
    named[0] = '\0';
    for (size_t i = 0; i < analysis->n_shots; i++) {
        struct sh_shot_record *record = &analysis->shots[i];
        const struct sh_quantity *ratio = &record->measures.finger_sum_ratio;
        if (!sh_finger_sum_is_apart(usual, ratio)) {
            continue;
        }
        record->quality[SH_CODE_QUALITY_FINGER_SUM] = true;
        char one[NAMED_BYTES];
        const int n_one = snprintf(one, sizeof one, "%s draw %u (%.3f)", n > 0 ? "," : "",
                                   record->shot.n, ratio->value);
        if (n_one > 0 && n_bytes + (size_t)n_one + sizeof ", ..." <= NAMED_BYTES) {
            memcpy(named + n_bytes, one, (size_t)n_one + 1u);
            n_bytes += (size_t)n_one;
        } else if (n_bytes > 0 && named[n_bytes - 1u] != '.') {
            memcpy(named + n_bytes, ", ...", sizeof ", ...");
            n_bytes += sizeof ", ..." - 1u;
        }
        n++;
    }
    return n;
}

enum sh_status sh_finger_check_mark(struct sh_analysis *analysis)
{
    const size_t n = analysis->n_shots;
    struct sh_finger_sum_usual usual;
    enum sh_status status = SH_OK;
    if (n < SH_FINGER_SUM_SHOTS_MIN) {
        return SH_OK;
    }
    struct sh_quantity *ratio = calloc(n, sizeof *ratio);
    double *work = calloc(2u * n, sizeof *work);
    if (ratio == NULL || work == NULL) {
        status = SH_ERR_MEMORY;
        goto out;
    }
    for (size_t i = 0; i < n; i++) {
        ratio[i] = analysis->shots[i].measures.finger_sum_ratio;
    }
    char named[NAMED_BYTES];
    if (sh_finger_sum_find(ratio, n, work, &usual) && mark(analysis, &usual, named) > 0) {
        char text[SH_ANALYSIS_TEXT_BYTES];
        (void)snprintf(
            text, sizeof text,
            "the fingers' sum is %.3f of the string's force as a rule here; otherwise "
            "in%s: a sensor or the hand is not as it was (1 draw of 100 by chance)",
            usual.ratio, named);
        sh_analysis_add_quality(analysis, SH_CODE_QUALITY_FINGER_SUM, text);
    }
out:
    free(work);
    free(ratio);
    return status;
}
