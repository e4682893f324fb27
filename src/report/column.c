/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/column.h"

#include <stdio.h>
#include <string.h>

#include "report/utf8.h"

#define MILLI   1000.0
#define PERCENT 100.0
#define M_S2    "m/s\xC2\xB2"

static const struct sh_column columns[] = {
    {SH_MEASURE_HOLD_TIME, 0, "hold", "s", 1.0},
    {SH_MEASURE_CLICKER_REACTION, 0, "reaction", "ms", MILLI},
    {SH_MEASURE_HOLD_FORCE, 0, "hold force", "N", 1.0},
    {SH_MEASURE_CREEP_FORCE, 0, "creep", "N", 1.0},
    {SH_MEASURE_CREEP_LENGTH, 0, "creep", "mm", MILLI},
    {SH_MEASURE_FLINCH_FORCE, 0, "flinch", "N", 1.0},
    {SH_MEASURE_COLLAPSE, 0, "collapse", "N", 1.0},
    {SH_MEASURE_TREMOR_RMS, 0, "tremor", "N", 1.0},
    {SH_MEASURE_TREMOR_PEAK, 0, "tremor", "Hz", 1.0},
    {SH_MEASURE_BOW_TREMOR_RMS, 0, "bow tremor", M_S2, 1.0},
    {SH_MEASURE_SETUP_TIME, 0, "set-up", "s", 1.0},
    {SH_MEASURE_TIME_LEFT_RELEASE, 0, "clock left", "s", 1.0},
    {SH_MEASURE_DRAW_TIME, 0, "draw", "s", 1.0},
    {SH_MEASURE_EXPANSION, 0, "expansion", "mm", MILLI},
    {SH_MEASURE_RING, 0, "ring", "Hz", 1.0},
    {SH_MEASURE_RING_DAMPING, 0, "damping", "%", PERCENT},
    {SH_MEASURE_VIBRATION_PEAK, 0, "vibration", M_S2, 1.0},
    {SH_MEASURE_HAND_VIBRATION, 0, "bow hand", M_S2, 1.0},
    {SH_MEASURE_FINGER_SHARE, 0, "index share", "%", PERCENT},
    {SH_MEASURE_FINGER_SHARE, 1, "middle share", "%", PERCENT},
    {SH_MEASURE_FINGER_SHARE, 2, "ring share", "%", PERCENT},
    {SH_MEASURE_FINGER_PEAK, 0, "index peak", "N", 1.0},
    {SH_MEASURE_FINGER_PEAK, 1, "middle peak", "N", 1.0},
    {SH_MEASURE_FINGER_PEAK, 2, "ring peak", "N", 1.0},
    {SH_MEASURE_FINGER_IMPULSE, 0, "index impulse", "N s", 1.0},
    {SH_MEASURE_FINGER_IMPULSE, 1, "middle impulse", "N s", 1.0},
    {SH_MEASURE_FINGER_IMPULSE, 2, "ring impulse", "N s", 1.0},
};

_Static_assert(sizeof columns / sizeof columns[0] == SH_COLUMN_COUNT, "one row a column");

const struct sh_column *sh_column_get(size_t i)
{
    return &columns[i];
}

const struct sh_quantity *sh_column_get_quantity(const struct sh_column *column,
                                                 const struct sh_shot_record *record)
{
    return sh_catalog_get(&record->measures, column->measure, column->part);
}

void sh_column_format(const struct sh_column *column,
                      const struct sh_shot_record *record,
                      char cell[SH_FIGURE_BYTES])
{
    const struct sh_quantity *quantity = sh_column_get_quantity(column, record);
    bool is_bound = column->measure == SH_MEASURE_VIBRATION_PEAK &&
                    record->measures.vibration_clipped == SH_ANSWER_YES;
    if (is_bound && sh_quantity_is_known(quantity)) {
        char least[SH_FIGURE_BYTES];
        sh_figure_format_value(quantity, column->factor, least);
        (void)snprintf(cell, SH_FIGURE_BYTES, "over %.*s", (int)SH_FIGURE_BYTES - 6, least);
    } else {
        sh_figure_format(quantity, column->factor, cell);
    }
}

static size_t find_wider(size_t widest, const char *string)
{
    const size_t width = sh_utf8_get_columns(string, strlen(string));
    return width > widest ? width : widest;
}

size_t sh_column_find_width(const struct sh_column *column, const struct sh_analysis *analysis)
{
    size_t widest = find_wider(find_wider(0, column->head), column->unit);
    bool is_known = false;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        char cell[SH_FIGURE_BYTES];
        sh_column_format(column, record, cell);
        is_known = is_known || sh_quantity_is_known(sh_column_get_quantity(column, record));
        widest = find_wider(widest, cell);
    }
    return is_known ? widest : 0;
}

const struct sh_shot_record *sh_column_find_first(const struct sh_analysis *analysis)
{
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (analysis->shots[i].shot.kind == SH_SHOT_SHOT) {
            return &analysis->shots[i];
        }
    }
    return &analysis->shots[0];
}
