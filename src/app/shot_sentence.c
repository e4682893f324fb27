/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shot_sentence.h"

#define MS_PER_S 1000.0

static const struct sh_quantity *get(const struct sh_shot_record *record,
                                     enum sh_measure measure)
{
    return sh_catalog_get(&record->measures, measure, 0);
}

static void put_shot(const struct sh_shot_record *record, struct sh_text *text)
{
    const struct sh_quantity *hold = get(record, SH_MEASURE_HOLD_TIME);
    const struct sh_quantity *force = get(record, SH_MEASURE_HOLD_FORCE);
    const struct sh_quantity *reaction = get(record, SH_MEASURE_CLICKER_REACTION);
    const struct sh_quantity *release = &record->shot.event_s[SH_EVENT_RELEASE];
    if (sh_quantity_is_known(hold)) {
        sh_text_printf(text, "held %.2f s", hold->value);
    } else if (sh_quantity_is_known(release)) {
        sh_text_printf(text, "released at %.2f s", release->value);
    } else {
        sh_text_puts(text, "released");
    }
    if (sh_quantity_is_known(force)) {
        sh_text_printf(text, " at %.1f N", force->value);
    }
    if (sh_quantity_is_known(reaction)) {
        sh_text_printf(text, "%s %.0f ms after the click",
                       sh_quantity_is_known(hold) ? ", released" : ",",
                       MS_PER_S * reaction->value);
    }
}

static void put_other(const struct sh_shot_record *record, struct sh_text *text)
{
    const struct sh_quantity *start = &record->shot.event_s[SH_EVENT_DRAW_START];
    sh_text_puts(text, record->shot.kind == SH_SHOT_LET_DOWN
                           ? "let down"
                           : "cannot be told from a let-down");
    if (sh_quantity_is_known(start)) {
        sh_text_printf(text, ", drawn at %.2f s", start->value);
    }
}

void sh_shot_sentence_format(const struct sh_shot_record *record, struct sh_text *text)
{
    bool is_shot = record->shot.kind == SH_SHOT_SHOT;
    sh_text_printf(text, "%s %u: ", is_shot ? "Shot" : "Draw", record->shot.n);
    if (is_shot) {
        put_shot(record, text);
    } else {
        put_other(record, text);
    }
    sh_text_puts(text, ".\n");
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code != SH_CODE_LET_DOWN) {
            sh_text_printf(text, "  %s\n", record->findings[i].text);
        }
    }
}
