/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/clock_effect.h"

#include <math.h>
#include <stdlib.h>

#include "signal/distribution.h"
#include "signal/holm.h"
#include "signal/regression.h"
#include "signal/stats.h"

#define LEVEL_TAIL      0.025
#define ALARM           0.05
#define TARGET_RATIO    0.1 /* of the mean: what n_needed is for */
#define EFFECTS_MAX     16u
#define INFLATION_MAX   1e6
#define KINDS           2u /* 0 free, 1 clocked */
#define FREEDOM_LOST    2u /* the clock and the order */
#define REGRESSION_LOST 3u /* those and a constant */

/* An end with its arrows that are compared. */
struct end {
    size_t recording;
    bool is_clocked;
    double order;
    double mean;
    size_t n;
};

/* Ends and the effect of the arrows' numbers, being worked out. */
struct work {
    const struct sh_consistency_set *set;
    struct sh_consistency_column column;
    struct end *ends; /* [column.n_ends] */
    bool *has_both;   /* [n_recordings] */
    unsigned n_numbers;
    double *sum[KINDS]; /* [n_numbers + 1], each kind's */
    size_t *count[KINDS];
    double *x; /* of the regression */
    double *y;
    double *spare;
};

static void close_work(struct work *work)
{
    sh_consistency_set_close_column(&work->column);
    free(work->ends);
    free(work->has_both);
    for (size_t kind = 0; kind < KINDS; kind++) {
        free(work->sum[kind]);
        free(work->count[kind]);
    }
    free(work->x);
    free(work->y);
    free(work->spare);
}

static enum sh_status open_work(struct work *work, enum sh_consistency_measure measure)
{
    enum sh_status status = sh_consistency_set_select(work->set, measure, &work->column);
    if (status != SH_OK) {
        return status;
    }
    const size_t n = work->column.n_ends + 1;
    for (size_t i = 0; i < work->column.n; i++) {
        const unsigned number = work->set->rows[work->column.row[i]].number;
        work->n_numbers = number > work->n_numbers ? number : work->n_numbers;
    }
    work->ends = calloc(n, sizeof *work->ends);
    work->has_both = calloc(work->set->n_recordings + 1, sizeof *work->has_both);
    work->x = calloc(2 * n, sizeof *work->x);
    work->y = calloc(n, sizeof *work->y);
    work->spare = calloc(SH_REGRESSION_WORK(n, 2), sizeof *work->spare);
    bool is_open = work->ends != NULL && work->has_both != NULL && work->x != NULL &&
                   work->y != NULL && work->spare != NULL;
    for (size_t kind = 0; kind < KINDS; kind++) {
        work->sum[kind] = calloc(work->n_numbers + 1, sizeof *work->sum[kind]);
        work->count[kind] = calloc(work->n_numbers + 1, sizeof *work->count[kind]);
        is_open = is_open && work->sum[kind] != NULL && work->count[kind] != NULL;
    }
    return is_open ? SH_OK : SH_ERR_MEMORY;
}

static const struct sh_consistency_row *get_row(const struct work *work, size_t i)
{
    return &work->set->rows[work->column.row[i]];
}

static bool is_asked(const struct sh_clock_effect_arrows *arrows, unsigned number)
{
    return arrows->last == 0 || (number >= arrows->first && number <= arrows->last);
}

/* Which recordings hold both kinds of ends: both bits of what they hold. */
static enum sh_status find_mixed(struct work *work, const struct sh_clock_effect_arrows *arrows)
{
    unsigned *held = calloc(work->set->n_recordings + 1, sizeof *held);
    if (held == NULL) {
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < work->column.n; i++) {
        const struct sh_consistency_row *row = get_row(work, i);
        if (is_asked(arrows, row->number)) {
            held[row->recording] |= row->is_clocked ? 2u : 1u;
        }
    }
    for (size_t recording = 0; recording < work->set->n_recordings; recording++) {
        work->has_both[recording] = held[recording] == 3u;
    }
    free(held);
    return SH_OK;
}

static bool is_used(const struct work *work,
                    const struct sh_clock_effect_arrows *arrows,
                    const struct sh_consistency_row *row)
{
    return work->has_both[row->recording] && is_asked(arrows, row->number);
}

/* Means of each number in each kind. */
static void find_numbers(struct work *work, const struct sh_clock_effect_arrows *arrows)
{
    for (size_t i = 0; i < work->column.n; i++) {
        const struct sh_consistency_row *row = get_row(work, i);
        if (is_used(work, arrows, row)) {
            const size_t kind = row->is_clocked ? 1 : 0;
            work->sum[kind][row->number] += work->column.x[i];
            work->count[kind][row->number]++;
        }
    }
}

/* Half way between the means of a number's two kinds; false where one kind lacks it. */
static bool find_middle(const struct work *work, unsigned number, double *middle)
{
    if (work->count[0][number] == 0 || work->count[1][number] == 0) {
        return false;
    }
    *middle = 0.5 * (work->sum[0][number] / (double)work->count[0][number] +
                     work->sum[1][number] / (double)work->count[1][number]);
    return true;
}

/* Adds a value of an end, about the middle of its number, to its sum; n values went before. */
static void add_value(struct end *at,
                      const struct sh_consistency_row *row,
                      double x,
                      double middle,
                      size_t n,
                      struct sh_clock_effect *effect)
{
    const unsigned number = row->number;
    at->recording = row->recording;
    at->is_clocked = row->is_clocked;
    at->order = (double)row->end_order;
    at->mean += x - middle;
    at->n++;
    effect->mean += (x - effect->mean) / (double)(n + 1);
    if (n == 0 || number < effect->first_number) {
        effect->first_number = number;
    }
    if (number > effect->last_number) {
        effect->last_number = number;
    }
}

/* The mean of one end about its numbers; n values went before it. */
static void find_end(const struct work *work,
                     const struct sh_clock_effect_arrows *arrows,
                     size_t end,
                     size_t n,
                     struct end *at,
                     struct sh_clock_effect *effect)
{
    const struct sh_consistency_column *column = &work->column;
    *at = (struct end){0};
    for (size_t i = column->first[end]; i < column->first[end + 1]; i++) {
        const struct sh_consistency_row *row = get_row(work, i);
        double middle = 0.0;
        if (is_used(work, arrows, row) && find_middle(work, row->number, &middle)) {
            add_value(at, row, column->x[i], middle, n + at->n, effect);
        }
    }
    at->mean = at->n > 0 ? at->mean / (double)at->n : 0.0;
}

/* The ends' means about their numbers; how many ends there are. */
static size_t find_ends(struct work *work,
                        const struct sh_clock_effect_arrows *arrows,
                        struct sh_clock_effect *effect)
{
    size_t n_ends = 0;
    size_t n = 0;
    for (size_t end = 0; end < work->column.n_ends; end++) {
        struct end *at = &work->ends[n_ends];
        find_end(work, arrows, end, n, at, effect);
        n += at->n;
        n_ends += at->n > 0 ? 1 : 0;
    }
    return n_ends;
}

/* Takes a recording's means off its ends' means, kinds and orders: rows of the regression. */
static void centre(struct work *work, size_t n_ends, size_t recording)
{
    double mean[3] = {0.0, 0.0, 0.0};
    double n = 0.0;
    for (size_t i = 0; i < n_ends; i++) {
        const struct end *end = &work->ends[i];
        if (end->recording == recording) {
            n += 1.0;
            mean[0] += (end->mean - mean[0]) / n;
            mean[1] += ((end->is_clocked ? 1.0 : 0.0) - mean[1]) / n;
            mean[2] += (end->order - mean[2]) / n;
        }
    }
    for (size_t i = 0; i < n_ends; i++) {
        const struct end *end = &work->ends[i];
        if (end->recording == recording) {
            work->y[i] = end->mean - mean[0];
            work->x[2 * i] = (end->is_clocked ? 1.0 : 0.0) - mean[1];
            work->x[2 * i + 1] = end->order - mean[2];
        }
    }
}

static void count_ends(const struct work *work, size_t n_ends, struct sh_clock_effect *effect)
{
    for (size_t recording = 0; recording < work->set->n_recordings; recording++) {
        effect->n_recordings += work->has_both[recording] ? 1 : 0;
    }
    for (size_t i = 0; i < n_ends; i++) {
        effect->n_clocked += work->ends[i].is_clocked ? 1 : 0;
        effect->n_free += work->ends[i].is_clocked ? 0 : 1;
    }
}

/* Limits, chance, and what could have been seen, from difference, u and freedom. */
static void complete(struct sh_clock_effect *effect)
{
    const double freedom = (double)effect->freedom;
    const double t = sh_distribution_get_t_quantile(1.0 - LEVEL_TAIL, freedom);
    const double t_of_all = sh_distribution_get_t_quantile(
        1.0 - LEVEL_TAIL / (double)SH_CONSISTENCY_MEASURES, freedom);
    const double t_power = sh_distribution_get_t_quantile(SH_CLOCK_EFFECT_POWER, freedom);
    const double target = TARGET_RATIO * fabs(effect->mean);
    const double n_ends = (double)(effect->n_free + effect->n_clocked);
    effect->why = SH_CLOCK_EFFECT_KNOWN;
    effect->lo = effect->difference - t * effect->u;
    effect->hi = effect->difference + t * effect->u;
    effect->p = sh_distribution_get_t_two_sided(effect->difference / effect->u, freedom);
    effect->p_of_all = effect->p;
    effect->visible = (t_of_all + t_power) * effect->u;
    effect->n_needed = target > 0.0 ? ceil(n_ends * pow(effect->visible / target, 2.0)) : 0.0;
}

static void solve(struct work *work, size_t n_ends, struct sh_clock_effect *effect)
{
    struct sh_regression regression;
    const size_t lost = effect->n_recordings + FREEDOM_LOST;
    if (effect->n_free == 0 || effect->n_clocked == 0) {
        effect->why = SH_CLOCK_EFFECT_NO_PAIR;
        return;
    }
    if (n_ends < lost + 2 || n_ends <= REGRESSION_LOST) {
        effect->why = SH_CLOCK_EFFECT_FEW;
        return;
    }
    for (size_t recording = 0; recording < work->set->n_recordings; recording++) {
        centre(work, n_ends, recording);
    }
    const struct sh_regression_rows rows = {work->x, work->y, n_ends, 2};
    if (sh_regression_solve(&rows, work->spare, &regression) != SH_OK ||
        regression.inflation[1] > INFLATION_MAX) {
        effect->why = SH_CLOCK_EFFECT_CONFUSED;
        return;
    }
    effect->freedom = n_ends - lost;
    effect->difference = regression.coefficient[1];
    effect->inflation = regression.inflation[1];
    effect->u =
        regression.u[1] * sqrt((double)(n_ends - REGRESSION_LOST) / (double)effect->freedom);
    if (effect->u > 0.0) {
        complete(effect);
    } else {
        effect->why = SH_CLOCK_EFFECT_STILL;
    }
}

enum sh_status sh_clock_effect_get(const struct sh_consistency_set *set,
                                   enum sh_consistency_measure measure,
                                   const struct sh_clock_effect_arrows *arrows,
                                   struct sh_clock_effect *effect)
{
    struct work work = {.set = set};
    *effect = (struct sh_clock_effect){.why = SH_CLOCK_EFFECT_NO_PAIR};
    enum sh_status status = open_work(&work, measure);
    if (status == SH_OK) {
        status = find_mixed(&work, arrows);
    }
    if (status == SH_OK) {
        find_numbers(&work, arrows);
        const size_t n_ends = find_ends(&work, arrows, effect);
        count_ends(&work, n_ends, effect);
        solve(&work, n_ends, effect);
    }
    close_work(&work);
    return status;
}

/* The differences of ends; how many. */
static size_t find_differences(struct work *work, struct sh_clock_effect *effect)
{
    const struct sh_consistency_column *column = &work->column;
    size_t n = 0;
    double sum = 0.0;
    for (size_t end = 0; end < column->n_ends; end++) {
        const size_t first = column->first[end];
        const size_t last = column->first[end + 1] - 1;
        if (last > first && get_row(work, first)->number == 1) {
            const unsigned number = get_row(work, last)->number;
            effect->last_number = number > effect->last_number ? number : effect->last_number;
            sum += 0.5 * (column->x[first] + column->x[last]);
            work->y[n++] = column->x[last] - column->x[first];
        }
    }
    effect->first_number = 1;
    effect->mean = n > 0 ? sum / (double)n : 0.0;
    return n;
}

enum sh_status sh_clock_effect_get_last_less_first(const struct sh_consistency_set *set,
                                                   enum sh_consistency_measure measure,
                                                   struct sh_clock_effect *effect)
{
    struct work work = {.set = set};
    double sd = 0.0;
    *effect = (struct sh_clock_effect){.why = SH_CLOCK_EFFECT_FEW, .inflation = 1.0};
    enum sh_status status = open_work(&work, measure);
    if (status == SH_OK) {
        effect->n_free = find_differences(&work, effect);
        effect->n_recordings = set->n_recordings;
        if (effect->n_free >= 3 &&
            sh_stats_get_mean(work.y, effect->n_free, &effect->difference, &sd) == SH_OK) {
            effect->freedom = effect->n_free - 1;
            effect->u = sd / sqrt((double)effect->n_free);
            effect->why = SH_CLOCK_EFFECT_STILL;
        }
        if (effect->u > 0.0) {
            complete(effect);
        }
    }
    close_work(&work);
    return status;
}

/* The ends' means, and the mean places of their arrows. */
static size_t find_places(struct work *work, struct sh_clock_effect *effect)
{
    const struct sh_consistency_column *column = &work->column;
    for (size_t end = 0; end < column->n_ends; end++) {
        struct end *at = &work->ends[end];
        *at = (struct end){.recording = get_row(work, column->first[end])->recording};
        for (size_t i = column->first[end]; i < column->first[end + 1]; i++) {
            at->n++;
            at->mean += (column->x[i] - at->mean) / (double)at->n;
            at->order += ((double)get_row(work, i)->place - at->order) / (double)at->n;
        }
        effect->mean += (at->mean - effect->mean) / (double)(end + 1);
    }
    return column->n_ends;
}

/* Least squares of the centred means on the centred places. */
static void fit_places(const struct work *work, size_t n_ends, struct sh_clock_effect *effect)
{
    double across = 0.0;
    double squares = 0.0;
    double residual = 0.0;
    for (size_t i = 0; i < n_ends; i++) {
        across += work->x[2 * i + 1] * work->y[i];
        squares += work->x[2 * i + 1] * work->x[2 * i + 1];
    }
    if (!(squares > 0.0)) {
        return;
    }
    effect->difference = across / squares;
    for (size_t i = 0; i < n_ends; i++) {
        const double left = work->y[i] - effect->difference * work->x[2 * i + 1];
        residual += left * left;
    }
    effect->u = sqrt(residual / (double)effect->freedom / squares);
    effect->why = SH_CLOCK_EFFECT_STILL;
    if (effect->u > 0.0) {
        complete(effect);
        effect->n_needed = 0.0;
    }
}

static bool has_end(const struct work *work, size_t n_ends, size_t recording)
{
    for (size_t i = 0; i < n_ends; i++) {
        if (work->ends[i].recording == recording) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_clock_effect_get_per_arrow(const struct sh_consistency_set *set,
                                             enum sh_consistency_measure measure,
                                             struct sh_clock_effect *effect)
{
    struct work work = {.set = set};
    *effect = (struct sh_clock_effect){.why = SH_CLOCK_EFFECT_FEW, .inflation = 1.0};
    enum sh_status status = open_work(&work, measure);
    if (status == SH_OK) {
        const size_t n_ends = find_places(&work, effect);
        effect->n_free = n_ends;
        for (size_t recording = 0; recording < set->n_recordings; recording++) {
            effect->n_recordings += has_end(&work, n_ends, recording) ? 1 : 0;
            centre(&work, n_ends, recording);
        }
        if (n_ends >= effect->n_recordings + 3) {
            effect->freedom = n_ends - effect->n_recordings - 1;
            fit_places(&work, n_ends, effect);
        }
    }
    close_work(&work);
    return status;
}

enum sh_status sh_clock_effect_adjust(struct sh_clock_effect *effects, size_t n)
{
    double p[EFFECTS_MAX] = {0.0};
    size_t order[EFFECTS_MAX];
    size_t n_known = 0;
    if (n > EFFECTS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < n; i++) {
        if (effects[i].why == SH_CLOCK_EFFECT_KNOWN) {
            p[n_known++] = effects[i].p;
        }
    }
    const enum sh_status status = sh_holm_adjust(p, n_known, order, p);
    n_known = 0;
    for (size_t i = 0; i < n && status == SH_OK; i++) {
        if (effects[i].why == SH_CLOCK_EFFECT_KNOWN) {
            effects[i].p_of_all = p[n_known++];
        }
    }
    return status;
}

bool sh_clock_effect_is_seen(const struct sh_clock_effect *effect)
{
    return effect->why == SH_CLOCK_EFFECT_KNOWN && effect->p_of_all < ALARM &&
           (effect->lo > 0.0 || effect->hi < 0.0);
}
