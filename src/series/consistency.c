/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/consistency.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/bootstrap.h"
#include "signal/stats.h"

#define SQUARES_RATIO 1e-12 /* of what there was: the rest is rounding */

struct sh_consistency_config sh_consistency_config_default(void)
{
    return (struct sh_consistency_config){
        .seed = 1, .n_draws = 2000, .rules = SH_RUN_RULES_DEFAULT};
}

/* An end of a column by its sums, about a middle that keeps their digits. */
struct end_sums {
    double n;
    double x;
    double xx;
    double tx;
    double tt;
};

/* One arrow of an end, for slopes: its group, and what it adds there. */
struct arrow_part {
    size_t group;
    double t;
    double x;
};

/* What a statistic looks at: whole ends, by their sums, so that a draw costs its ends. */
struct view {
    const struct end_sums *ends;     /* [n_ends] */
    const struct arrow_part *arrows; /* [n], for slopes */
    const size_t *first;             /* [n_ends + 1] into arrows */
    size_t n_groups;
    double middle_x;
    double *sums; /* [3 n_groups]: count, sum of t, sum of x */
    double level;
};

static struct end_sums add_ends(const struct view *view, const size_t *end, size_t n)
{
    struct end_sums sum = {0};
    for (size_t i = 0; i < n; i++) {
        const struct end_sums *one = &view->ends[end[i]];
        sum.n += one->n;
        sum.x += one->x;
        sum.xx += one->xx;
        sum.tx += one->tx;
        sum.tt += one->tt;
    }
    return sum;
}

static enum sh_status get_mean(void *context, const size_t *end, size_t n, double *value)
{
    const struct view *view = context;
    const struct end_sums sum = add_ends(view, end, n);
    *value = view->middle_x + sum.x / sum.n;
    return SH_OK;
}

static enum sh_status get_sd(void *context, const size_t *end, size_t n, double *value)
{
    const struct end_sums sum = add_ends(context, end, n);
    if (!(sum.n > 1.0)) {
        return SH_ERR_SHORT;
    }
    *value = sqrt(fmax(sum.xx - sum.x * sum.x / sum.n, 0.0) / (sum.n - 1.0));
    return SH_OK;
}

/* As sh_stats_get_cv. */
static enum sh_status get_cv(void *context, const size_t *end, size_t n, double *value)
{
    double mean = 0.0;
    double sd = 0.0;
    (void)get_mean(context, end, n, &mean);
    const enum sh_status status = get_sd(context, end, n, &sd);
    const double ratio = sd / fabs(mean);
    if (status != SH_OK || !isfinite(ratio)) {
        return status != SH_OK ? status : SH_ERR_SINGULAR;
    }
    *value = ratio;
    return SH_OK;
}

/* Slope of x on t about the means of the groups. */
static enum sh_status get_slope(void *context, const size_t *end, size_t n, double *value)
{
    const struct view *view = context;
    const struct end_sums sum = add_ends(view, end, n);
    double across = sum.tx;
    double squares = sum.tt;
    memset(view->sums, 0, 3 * view->n_groups * sizeof *view->sums);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = view->first[end[i]]; k < view->first[end[i] + 1]; k++) {
            double *sums = view->sums + 3 * view->arrows[k].group;
            sums[0] += 1.0;
            sums[1] += view->arrows[k].t;
            sums[2] += view->arrows[k].x;
        }
    }
    for (size_t group = 0; group < view->n_groups; group++) {
        const double *sums = view->sums + 3 * group;
        if (sums[0] > 0.0) {
            across -= sums[1] * sums[2] / sums[0];
            squares -= sums[1] * sums[1] / sums[0];
        }
    }
    if (!(squares > SQUARES_RATIO * sum.tt)) {
        return SH_ERR_SINGULAR;
    }
    *value = across / squares;
    return SH_OK;
}

/* Workspaces of the bootstrap. */
struct spaces {
    struct sh_bootstrap_work work;
    struct end_sums *ends;
    struct arrow_part *arrows;
    size_t *all; /* every end once */
    double *sums;
};

static void close_spaces(struct spaces *spaces)
{
    free(spaces->work.row);
    free(spaces->work.draw);
    free(spaces->work.spare);
    free(spaces->ends);
    free(spaces->arrows);
    free(spaces->all);
    free(spaces->sums);
}

static enum sh_status open_spaces(const struct sh_consistency_column *column,
                                  size_t n_draws,
                                  size_t n_groups,
                                  struct spaces *spaces)
{
    const size_t n = column->n_ends + 1;
    *spaces = (struct spaces){.work = {.row = calloc(n, sizeof(size_t)),
                                       .draw = calloc(n_draws + 1, sizeof(double)),
                                       .spare = calloc(n, sizeof(double))},
                              .ends = calloc(n, sizeof(struct end_sums)),
                              .arrows = calloc(column->n + 1, sizeof(struct arrow_part)),
                              .all = calloc(n, sizeof(size_t)),
                              .sums = calloc(3 * (n_groups + 1), sizeof(double))};
    const bool is_open = spaces->work.row != NULL && spaces->work.draw != NULL &&
                         spaces->work.spare != NULL && spaces->ends != NULL &&
                         spaces->arrows != NULL && spaces->all != NULL && spaces->sums != NULL;
    for (size_t i = 0; is_open && i < column->n_ends; i++) {
        spaces->all[i] = i;
    }
    return is_open ? SH_OK : SH_ERR_MEMORY;
}

static double get_middle(const double *x, size_t n)
{
    double mean = 0.0;
    return sh_stats_get_mean(x, n, &mean, NULL) == SH_OK ? mean : 0.0;
}

/* Fills the sums; t and group may be NULL. */
static void add_up(const struct sh_consistency_column *column,
                   const double *t,
                   const size_t *group,
                   struct spaces *spaces,
                   struct view *view)
{
    const double middle_t = t != NULL ? get_middle(t, column->n) : 0.0;
    view->middle_x = get_middle(column->x, column->n);
    for (size_t end = 0; end < column->n_ends; end++) {
        struct end_sums *sums = &spaces->ends[end];
        for (size_t i = column->first[end]; i < column->first[end + 1]; i++) {
            const double x = column->x[i] - view->middle_x;
            const double at = t != NULL ? t[i] - middle_t : 0.0;
            spaces->arrows[i] = (struct arrow_part){group != NULL ? group[i] : 0, at, x};
            sums->n += 1.0;
            sums->x += x;
            sums->xx += x * x;
            sums->tx += at * x;
            sums->tt += at * at;
        }
    }
    view->ends = spaces->ends;
    view->arrows = spaces->arrows;
    view->first = column->first;
    view->sums = spaces->sums;
}

/* The figure, and where there are ends enough its interval. */
static struct sh_consistency_figure find_figure(sh_bootstrap_statistic *statistic,
                                                struct view *view,
                                                const struct sh_consistency_column *column,
                                                const struct sh_consistency_config *config,
                                                const struct spaces *spaces)
{
    struct sh_consistency_figure figure = {0};
    struct sh_bootstrap interval;
    struct sh_random random;
    figure.is_known =
        column->n > 1 && statistic(view, spaces->all, column->n_ends, &figure.value) == SH_OK;
    if (!figure.is_known || column->n_ends < SH_CONSISTENCY_ENDS_MIN) {
        return figure;
    }
    sh_random_init(&random, config->seed);
    const struct sh_bootstrap_config bootstrap = {.statistic = statistic,
                                                  .context = view,
                                                  .n_units = column->n_ends,
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

static enum sh_status find_spread(const struct sh_consistency_config *config,
                                  struct sh_consistency *result)
{
    struct spaces spaces;
    const struct sh_consistency_column *column = &result->column;
    enum sh_status status = open_spaces(column, config->n_draws, 0, &spaces);
    if (status == SH_OK) {
        struct view view = {.level = SH_CONSISTENCY_LEVEL};
        add_up(column, NULL, NULL, &spaces, &view);
        result->mean = find_figure(get_mean, &view, column, config, &spaces);
        result->sd = find_figure(get_sd, &view, column, config, &spaces);
        result->cv_ratio = find_figure(get_cv, &view, column, config, &spaces);
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

/* Slope of the column on what is kept, within its groups. */
static enum sh_status find_slope(const struct sh_consistency_column *column,
                                 const struct kept *kept,
                                 const struct sh_consistency_config *config,
                                 struct sh_consistency_figure *slope)
{
    struct spaces spaces;
    struct view view = {.level = SH_CONSISTENCY_SLOPE_LEVEL,
                        .n_groups = count_groups(kept->group, column->n)};
    enum sh_status status = open_spaces(column, config->n_draws, view.n_groups, &spaces);
    if (status == SH_OK) {
        add_up(column, kept->t, kept->group, &spaces, &view);
        *slope = find_figure(get_slope, &view, column, config, &spaces);
    }
    close_spaces(&spaces);
    return status;
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
        status = column.n > 2 ? find_slope(&column, &kept, config, slope) : SH_OK;
    }
    free(kept.t);
    free(kept.group);
    sh_consistency_set_close_column(&column);
    return status;
}
