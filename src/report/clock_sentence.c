/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/clock_sentence.h"

#include <stdio.h>

#include "report/figure.h"

static void format_let_down(const struct sh_shot_record *record,
                            const struct sh_clock_draw *draw,
                            char sentence[SH_CLOCK_SENTENCE_BYTES])
{
    char figure[SH_FIGURE_BYTES];
    if (!sh_quantity_is_known(&draw->cost_s)) {
        (void)snprintf(sentence, SH_CLOCK_SENTENCE_BYTES,
                       "Draw %u was let down, the last under its clock.", record->shot.n);
        return;
    }
    sh_figure_format_short(&draw->cost_s, 1.0, 1, figure);
    (void)snprintf(sentence, SH_CLOCK_SENTENCE_BYTES,
                   "Draw %u was let down: %.40s s from its start to that of the next.",
                   record->shot.n, figure);
}

bool sh_clock_sentence_format(const struct sh_shot_record *record,
                              const struct sh_clock_draw *draw,
                              char sentence[SH_CLOCK_SENTENCE_BYTES])
{
    const struct sh_quantity *left =
        sh_catalog_get(&record->measures, SH_MEASURE_TIME_LEFT_RELEASE, 0);
    if (draw->clock == 0) {
        return false;
    }
    if (record->shot.kind == SH_SHOT_LET_DOWN) {
        format_let_down(record, draw, sentence);
        return true;
    }
    if (draw->arrow == 0 || !sh_quantity_is_known(left) ||
        !(left->value + 2.0 * left->u < 0.0)) {
        return false;
    }
    (void)snprintf(sentence, SH_CLOCK_SENTENCE_BYTES,
                   "Draw %u was released %.2f s after the time was up.", record->shot.n,
                   -left->value);
    return true;
}
