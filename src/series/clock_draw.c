/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/clock_draw.h"

#include <math.h>
#include <stddef.h>

#define SAME_S 0.5 /* the same clock's end, read from two draws */

/* What the clock showed at the draw's start, else at its release. */
static const struct sh_quantity *find_left(const struct sh_shot_record *record)
{
    const struct sh_quantity *at_draw =
        sh_catalog_get(&record->measures, SH_MEASURE_TIME_LEFT_DRAW, 0);
    return sh_quantity_is_known(at_draw)
               ? at_draw
               : sh_catalog_get(&record->measures, SH_MEASURE_TIME_LEFT_RELEASE, 0);
}

/* When the draw's clock runs out, s on the recording's clock. */
static double find_out_s(const struct sh_shot_record *record)
{
    const bool is_at_draw =
        sh_quantity_is_known(sh_catalog_get(&record->measures, SH_MEASURE_TIME_LEFT_DRAW, 0));
    const enum sh_event event = is_at_draw ? SH_EVENT_DRAW_START : SH_EVENT_RELEASE;
    return record->shot.event_s[event].value + find_left(record)->value;
}

/* The clock's time between two draws, which it runs through. */
static struct sh_quantity find_cost(const struct sh_shot_record *let_down,
                                    const struct sh_shot_record *next)
{
    const struct sh_quantity *from = find_left(let_down);
    const struct sh_quantity *until = find_left(next);
    return sh_quantity_known(from->value - until->value, hypot(from->u, until->u));
}

unsigned sh_clock_draw_find_all(const struct sh_analysis *analysis, struct sh_clock_draw *draws)
{
    unsigned n_clocks = 0;
    unsigned n_arrows = 0;
    size_t before = analysis->n_shots; /* the last draw under a clock; n_shots: none */
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        const struct sh_quantity *left = find_left(record);
        draws[i] = (struct sh_clock_draw){.cost_s = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE)};
        if (!sh_quantity_is_known(left)) {
            continue;
        }
        if (before == analysis->n_shots ||
            fabs(find_out_s(record) - find_out_s(&analysis->shots[before])) > SAME_S) {
            n_clocks++;
            n_arrows = 0;
        } else if (analysis->shots[before].shot.kind == SH_SHOT_LET_DOWN) {
            draws[before].cost_s = find_cost(&analysis->shots[before], record);
        }
        n_arrows += record->shot.kind == SH_SHOT_SHOT ? 1 : 0;
        draws[i].clock = n_clocks;
        draws[i].arrow = record->shot.kind == SH_SHOT_SHOT ? n_arrows : 0;
        before = i;
    }
    return n_clocks;
}
