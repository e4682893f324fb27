/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bootstrap.h"
#include "signal/stats.h"

struct sh_consistency_config sh_consistency_config_default(void)
{
    return (struct sh_consistency_config){
        .seed = 1, .n_draws = 2000, .rules = SH_RUN_RULES_DEFAULT};
}

/* What a statistic looks at; drawn is a workspace of values. */
struct view {
    const struct sh_consistency_column *column;
    const double *t;     /* [n] what the slope is on; NULL: none */
    const size_t *group; /* [n] whose means are taken off */
    size_t n_groups;
    double level;
    double *drawn;
    double *sums; /* [3 n_groups]: count, sum of t, sum of x */
};

static void draw(const struct view *view, const size_t *row, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        view->drawn[i] = view->column->x[row[i]];
    }
}

static enum sh_status get_mean(void *context, const size_t *row, size_t n, double *value)
{
    const struct view *view = context;
    draw(view, row, n);
    return sh_stats_get_mean(view->drawn, n, value, NULL);
}

static enum sh_status get_sd(void *context, const size_t *row, size_t n, double *value)
{
    const struct view *view = context;
    double mean = 0.0;
    draw(view, row, n);
    return sh_stats_get_mean(view->drawn, n, &mean, value);
}

static enum sh_status get_cv(void *context, const size_t *row, size_t n, double *value)
{
    const struct view *view = context;
    draw(view, row, n);
    return sh_stats_get_cv(view->drawn, n, value);
}

/* Slope of x on t about the means of the groups. */
static enum sh_status get_slope(void *context, const size_t *row, size_t n, double *value)
{
    const struct view *view = context;
    double across = 0.0;
    double squares = 0.0;
    memset(view->sums, 0, 3 * view->n_groups * sizeof *view->sums);
    for (size_t i = 0; i < n; i++) {
        double *sums = view->sums + 3 * view->group[row[i]];
        sums[0] += 1.0;
        sums[1] += view->t[row[i]];
        sums[2] += view->column->x[row[i]];
    }
    for (size_t i = 0; i < n; i++) {
        const double *sums = view->sums + 3 * view->group[row[i]];
        const double t = view->t[row[i]] - sums[1] / sums[0];
        across += t * (view->column->x[row[i]] - sums[2] / sums[0]);
        squares += t * t;
    }
    if (!(squares > 0.0)) {
        return SH_ERR_SINGULAR;
    }
    *value = across / squares;
    return SH_OK;
}

static size_t find_largest(const struct sh_consistency_column *column)
{
    size_t largest = 1;
    for (size_t i = 0; i < column->n_ends; i++) {
        const size_t n = column->first[i + 1] - column->first[i];
        largest = n > largest ? n : largest;
    }
    return largest;
}

/* Workspaces of the bootstrap. */
struct spaces {
    struct sh_bootstrap_work work;
    size_t *all; /* every row once */
    double *drawn;
    double *sums;
};

static void close_spaces(struct spaces *spaces)
{
    free(spaces->work.row);
    free(spaces->work.draw);
    free(spaces->work.spare);
    free(spaces->all);
    free(spaces->drawn);
    free(spaces->sums);
}

static enum sh_status open_spaces(const struct sh_consistency_column *column,
                                  size_t n_draws,
                                  size_t n_groups,
                                  struct spaces *spaces)
{
    const size_t n = column->n_ends * find_largest(column) + column->n + 1;
    *spaces = (struct spaces){.work = {.row = calloc(n, sizeof(size_t)),
                                       .draw = calloc(n_draws + 1, sizeof(double)),
                                       .spare = calloc(column->n_ends + 1, sizeof(double))},
                              .all = calloc(column->n + 1, sizeof(size_t)),
                              .drawn = calloc(n, sizeof(double)),
                              .sums = calloc(3 * (n_groups + 1), sizeof(double))};
    const bool is_open = spaces->work.row != NULL && spaces->work.draw != NULL &&
                         spaces->work.spare != NULL && spaces->all != NULL &&
                         spaces->drawn != NULL && spaces->sums != NULL;
    for (size_t i = 0; is_open && i < column->n; i++) {
        spaces->all[i] = i;
    }
    return is_open ? SH_OK : SH_ERR_MEMORY;
}

/* The figure, and where there are ends enough its interval. */
static struct sh_consistency_figure find_figure(sh_bootstrap_statistic *statistic,
                                                struct view *view,
                                                const struct sh_consistency_config *config,
                                                const struct spaces *spaces)
{
    struct sh_consistency_figure figure = {0};
    struct sh_bootstrap interval;
    struct sh_random random;
    const struct sh_consistency_column *column = view->column;
    figure.is_known =
        column->n > 1 && statistic(view, spaces->all, column->n, &figure.value) == SH_OK;
    if (!figure.is_known || column->n_ends < SH_CONSISTENCY_ENDS_MIN) {
        return figure;
    }
    sh_random_init(&random, config->seed);
    const struct sh_bootstrap_config bootstrap = {.statistic = statistic,
                                                  .context = view,
                                                  .n_units = column->n_ends,
                                                  .first = column->first,
                                                  .n_draws = config->n_draws,
                                                  .level = view->level,
                                                  .random = &random};
    if (sh_bootstrap_find_interval(&bootstrap, &spaces->work, &interval) == SH_OK) {
        figure.has_interval = true;
        figure.lo = interval.lo;
        figure.hi = interval.hi;
    }
    return figure;
}

/* Slope of the column on t within groups. */
static enum sh_status find_slope(struct view *view,
                                 const struct sh_consistency_config *config,
                                 struct sh_consistency_figure *slope)
{
    struct spaces spaces;
    enum sh_status status = open_spaces(view->column, config->n_draws, view->n_groups, &spaces);
    if (status == SH_OK) {
        view->drawn = spaces.drawn;
        view->sums = spaces.sums;
        *slope = find_figure(get_slope, view, config, &spaces);
    }
    close_spaces(&spaces);
    return status;
}

static enum sh_status find_spread(const struct sh_consistency_config *config,
                                  struct sh_consistency *result)
{
    struct spaces spaces;
    enum sh_status status = open_spaces(&result->column, config->n_draws, 0, &spaces);
    if (status == SH_OK) {
        struct view view = {
            .column = &result->column, .level = SH_CONSISTENCY_LEVEL, .drawn = spaces.drawn};
        result->mean = find_figure(get_mean, &view, config, &spaces);
        result->sd = find_figure(get_sd, &view, config, &spaces);
        result->cv_ratio = find_figure(get_cv, &view, config, &spaces);
    }
    close_spaces(&spaces);
    return status;
}

/* What the chart shows of a value. */
static bool get_charted(const struct sh_consistency_column *column, bool is_log, double *y)
{
    for (size_t i = 0; i < column->n; i++) {
        if (is_log && !(column->x[i] > 0.0)) {
            return false;
        }
        y[i] = is_log ? log(column->x[i]) : column->x[i];
    }
    return column->n > 2;
}

static enum sh_status find_chart(bool is_log,
                                 const struct sh_consistency_config *config,
                                 struct sh_consistency *result)
{
    const struct sh_consistency_column *column = &result->column;
    double *y = calloc(column->n + 1, sizeof *y);
    result->marks = calloc(column->n + 1, sizeof *result->marks);
    if (y == NULL || result->marks == NULL) {
        free(y);
        return SH_ERR_MEMORY;
    }
    result->has_chart =
        get_charted(column, is_log, y) &&
        sh_control_chart_get_individuals(y, column->n, &result->chart) == SH_OK &&
        sh_run_rules_mark(y, NULL, column->n, &result->chart, config->rules, result->marks) ==
            SH_OK;
    free(y);
    return SH_OK;
}

static double get_measured_u(const struct sh_consistency_set *set,
                             enum sh_consistency_measure measure,
                             const struct sh_consistency_column *column)
{
    double squares = 0.0;
    for (size_t i = 0; i < column->n; i++) {
        const double u = set->rows[column->row[i]].value[measure].u;
        squares += u * u;
    }
    return column->n > 0 ? sqrt(squares / (double)column->n) : 0.0;
}

enum sh_status sh_consistency_get(const struct sh_consistency_set *set,
                                  enum sh_consistency_measure measure,
                                  const struct sh_consistency_config *config,
                                  struct sh_consistency *result)
{
    const struct sh_consistency_kind *kind = sh_consistency_set_get_kind(measure);
    memset(result, 0, sizeof *result);
    if (kind == NULL || config->n_draws < SH_BOOTSTRAP_DRAWS_MIN ||
        (config->rules & ~SH_RUN_RULES_ALL) != 0) {
        return SH_ERR_ARGUMENT;
    }
    enum sh_status status = sh_consistency_set_select(set, measure, &result->column);
    if (status == SH_OK) {
        const struct sh_anova_groups groups = {result->column.x, result->column.first,
                                               result->column.n_ends};
        result->measured_u = get_measured_u(set, measure, &result->column);
        result->has_parts = sh_anova_get(&groups, &result->parts) == SH_OK;
        status = find_spread(config, result);
    }
    return status == SH_OK ? find_chart(kind->is_log, config, result) : status;
}

void sh_consistency_close(struct sh_consistency *result)
{
    sh_consistency_set_close_column(&result->column);
    free(result->marks);
    memset(result, 0, sizeof *result);
}

/* What goes with the shots that are kept: time left, and the arrow's number. */
struct kept {
    double *t;
    size_t *group;
};

/* Keeps the clocked shots of a column's rows i to last whose time left is known; t and group go
 * with them. *n were kept before. */
static void keep_clocked_rows(const struct sh_consistency_set *set,
                              struct sh_consistency_column *column,
                              size_t i,
                              size_t last,
                              const struct kept *kept,
                              size_t *n)
{
    for (; i < last; i++) {
        const struct sh_consistency_row *row = &set->rows[column->row[i]];
        if (row->is_clocked && sh_quantity_is_known(&row->time_left_s)) {
            kept->t[*n] = row->time_left_s.value;
            kept->group[*n] = row->number;
            column->x[*n] = column->x[i];
            column->row[(*n)++] = column->row[i];
        }
    }
}

/* The same of the whole column, whose ends without such a shot go. */
static void keep_clocked(const struct sh_consistency_set *set,
                         struct sh_consistency_column *column,
                         const struct kept *kept)
{
    size_t n = 0;
    size_t n_ends = 0;
    for (size_t end = 0; end < column->n_ends; end++) {
        const size_t first = column->first[end];
        const size_t begin = n;
        keep_clocked_rows(set, column, first, column->first[end + 1], kept, &n);
        if (n > begin) {
            column->first[n_ends++] = begin;
        }
    }
    column->first[n_ends] = n;
    column->n_ends = n_ends;
    column->n = n;
}

static size_t count_groups(const size_t *group, size_t n)
{
    size_t n_groups = 0;
    for (size_t i = 0; i < n; i++) {
        n_groups = group[i] >= n_groups ? group[i] + 1 : n_groups;
    }
    return n_groups;
}

enum sh_status sh_consistency_get_clock_slope(const struct sh_consistency_set *set,
                                              enum sh_consistency_measure measure,
                                              const struct sh_consistency_config *config,
                                              struct sh_consistency_figure *slope)
{
    struct sh_consistency_column column;
    *slope = (struct sh_consistency_figure){0};
    if (config->n_draws < SH_BOOTSTRAP_DRAWS_MIN) {
        return SH_ERR_ARGUMENT;
    }
    enum sh_status status = sh_consistency_set_select(set, measure, &column);
    if (status != SH_OK) {
        return status;
    }
    const struct kept kept = {calloc(column.n + 1, sizeof *kept.t),
                              calloc(column.n + 1, sizeof *kept.group)};
    status = kept.t != NULL && kept.group != NULL ? SH_OK : SH_ERR_MEMORY;
    if (status == SH_OK) {
        keep_clocked(set, &column, &kept);
        struct view view = {.column = &column,
                            .t = kept.t,
                            .group = kept.group,
                            .n_groups = count_groups(kept.group, column.n),
                            .level = SH_CONSISTENCY_SLOPE_LEVEL};
        status = column.n > 2 ? find_slope(&view, config, slope) : SH_OK;
    }
    free(kept.t);
    free(kept.group);
    sh_consistency_set_close_column(&column);
    return status;
}
