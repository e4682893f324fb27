/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency_set.h"

#include <stdlib.h>
#include <string.h>

#include "measure/clock_time.h"

static const struct sh_consistency_kind kinds[SH_CONSISTENCY_MEASURES] = {
    [SH_CONSISTENCY_HOLD] = {"hold", "s", SH_MEASURE_HOLD_TIME, true},
    [SH_CONSISTENCY_SETUP] = {"set-up", "s", SH_MEASURE_SETUP_TIME, true},
    [SH_CONSISTENCY_REACTION] = {"click to release", "s", SH_MEASURE_CLICKER_REACTION, false},
    [SH_CONSISTENCY_CREEP] = {"creep", "N", SH_MEASURE_CREEP_FORCE, false},
    [SH_CONSISTENCY_TREMOR] = {"tremor", "N", SH_MEASURE_TREMOR_RMS, true},
};

const struct sh_consistency_kind *
sh_consistency_set_get_kind(enum sh_consistency_measure measure)
{
    return (unsigned)measure < SH_CONSISTENCY_MEASURES ? &kinds[measure] : NULL;
}

/* From full draw to the let-down. */
static struct sh_quantity get_hold_s(const struct sh_consistency_draw *draw)
{
    const struct sh_quantity *from = &draw->full_draw_s;
    const struct sh_quantity *to = &draw->let_down_s;
    if (!sh_quantity_is_known(from) || !sh_quantity_is_known(to)) {
        return sh_quantity_unknown(SH_WHY_NOT_ASKED);
    }
    return sh_quantity_known(to->value - from->value, to->u + from->u);
}

static struct sh_consistency_draw make_draw(const struct sh_shot_record *record,
                                            const struct sh_arrow *arrow)
{
    const struct sh_measures *measures = &record->measures;
    struct sh_consistency_draw draw = {
        .n = record->shot.n,
        .kind = record->shot.kind,
        .arrow = *arrow,
        .full_draw_s = record->shot.event_s[SH_EVENT_FULL_DRAW],
        .let_down_s = record->shot.event_s[SH_EVENT_LET_DOWN],
        .time_left_draw_s = *sh_catalog_get(measures, SH_MEASURE_TIME_LEFT_DRAW, 0),
        .time_left_release_s = *sh_catalog_get(measures, SH_MEASURE_TIME_LEFT_RELEASE, 0)};
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        draw.value[m] = *sh_catalog_get(measures, kinds[m].measure, 0);
    }
    return draw;
}

static struct sh_consistency_row make_row(const struct sh_consistency_draw *draw)
{
    const struct sh_arrow *arrow = &draw->arrow;
    const struct sh_quantity *left_s = &draw->time_left_release_s;
    struct sh_consistency_row row = {
        .n = draw->n,
        .number = arrow->number,
        .is_let_down = draw->kind == SH_SHOT_LET_DOWN,
        .is_clocked = arrow->is_clocked,
        .is_overrun = arrow->is_clocked && sh_quantity_is_known(left_s) && left_s->value < 0.0,
        .has_score = arrow->has_score,
        .score = arrow->score,
        .time_left_s = draw->time_left_draw_s};
    memcpy(row.value, draw->value, sizeof row.value);
    if (!row.is_clocked && row.number <= 1) { /* the pause between ends is no set-up */
        row.value[SH_CONSISTENCY_SETUP] = sh_quantity_unknown(SH_WHY_NOT_ASKED);
    }
    if (row.is_let_down) {
        row.value[SH_CONSISTENCY_HOLD] = get_hold_s(draw);
    }
    return row;
}

static void
add_rows(struct sh_consistency_set *set, const struct sh_consistency_draw *draws, size_t n)
{
    const size_t before = set->n_ends;
    unsigned place = 0;
    for (size_t i = 0; i < n; i++) {
        if (draws[i].kind == SH_SHOT_UNRESOLVED) {
            set->n_unresolved++;
            continue;
        }
        struct sh_consistency_row row = make_row(&draws[i]);
        row.recording = set->n_recordings;
        row.end_order = draws[i].arrow.end;
        row.end = before + draws[i].arrow.end - 1;
        row.place = row.is_let_down ? 0 : ++place;
        set->n_shots += row.is_let_down ? 0 : 1;
        set->n_let_downs += row.is_let_down ? 1 : 0;
        set->n_overruns += row.is_overrun ? 1 : 0;
        set->n_ends = row.end + 1;
        set->rows[set->n_rows++] = row;
    }
    set->n_recordings++;
}

enum sh_status sh_consistency_set_add_draws(struct sh_consistency_set *set,
                                            const struct sh_consistency_draw *draws,
                                            size_t n)
{
    struct sh_consistency_row *rows = realloc(set->rows, (set->n_rows + n + 1) * sizeof *rows);
    if (rows == NULL) {
        return SH_ERR_MEMORY;
    }
    set->rows = rows;
    add_rows(set, draws, n);
    return SH_OK;
}

enum sh_status sh_consistency_set_add(struct sh_consistency_set *set,
                                      const struct sh_analysis *analysis,
                                      const struct sh_mark *marks,
                                      size_t n_marks)
{
    const size_t n = analysis->n_shots;
    struct sh_arrow *arrows = calloc(n + 1, sizeof *arrows);
    struct sh_consistency_draw *draws = calloc(n + 1, sizeof *draws);
    enum sh_status status = arrows != NULL && draws != NULL ? SH_OK : SH_ERR_MEMORY;
    if (status == SH_OK) {
        sh_arrow_find_all(analysis, marks, n_marks, arrows);
        for (size_t i = 0; i < n; i++) {
            draws[i] = make_draw(&analysis->shots[i], &arrows[i]);
        }
        status = sh_consistency_set_add_draws(set, draws, n);
    }
    free(arrows);
    free(draws);
    return status;
}

void sh_consistency_set_close(struct sh_consistency_set *set)
{
    free(set->rows);
    memset(set, 0, sizeof *set);
}

static void fill_column(const struct sh_consistency_set *set,
                        enum sh_consistency_measure measure,
                        struct sh_consistency_column *column)
{
    size_t last_end = 0;
    for (size_t i = 0; i < set->n_rows; i++) {
        const struct sh_consistency_row *row = &set->rows[i];
        if (row->is_let_down || !sh_quantity_is_known(&row->value[measure])) {
            continue;
        }
        if (column->n == 0 || row->end != last_end) {
            column->first[column->n_ends++] = column->n;
            last_end = row->end;
        }
        column->x[column->n] = row->value[measure].value;
        column->row[column->n++] = i;
    }
    column->first[column->n_ends] = column->n;
}

enum sh_status sh_consistency_set_select(const struct sh_consistency_set *set,
                                         enum sh_consistency_measure measure,
                                         struct sh_consistency_column *column)
{
    *column =
        (struct sh_consistency_column){.x = calloc(set->n_rows + 1, sizeof *column->x),
                                       .row = calloc(set->n_rows + 1, sizeof *column->row),
                                       .first = calloc(set->n_rows + 1, sizeof *column->first)};
    if (column->x == NULL || column->row == NULL || column->first == NULL) {
        sh_consistency_set_close_column(column);
        return SH_ERR_MEMORY;
    }
    fill_column(set, measure, column);
    return SH_OK;
}

void sh_consistency_set_close_column(struct sh_consistency_column *column)
{
    free(column->x);
    free(column->row);
    free(column->first);
    memset(column, 0, sizeof *column);
}
