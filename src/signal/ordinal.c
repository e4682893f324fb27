/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/ordinal.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "signal/cholesky.h"
#include "signal/distribution.h"

#define COLUMNS   SH_ORDINAL_COLUMNS_MAX
#define CUTS      (SH_ORDINAL_LEVELS_MAX - 1)
#define TERMS_MAX (COLUMNS + CUTS)
#define STEPS_MAX 60
#define HALVINGS  40
#define NEAR      1e-5 /* log odds: a step so small is the last but for its rounding */
#define PARTED    20.0 /* log odds an SD of a column: beyond it the levels are parted */

/* The peak being looked for. Terms: the cuts, then the slopes per SD of each column. */
struct search {
    const struct sh_ordinal_rows *rows;
    size_t n_cuts;
    size_t n_terms;
    double mean[COLUMNS];
    double sd[COLUMNS];
    double term[TERMS_MAX];
    double log_likelihood;
    double gradient[TERMS_MAX];
    double information[TERMS_MAX * TERMS_MAX]; /* lower triangle, [n_terms][n_terms] */
};

/* One row's part: log chance of its level, its slopes and its bends by the bounds above and
 * below, in log odds. */
struct part {
    double log_chance;
    double above;
    double below;
    double above_above;
    double above_below;
    double below_below;
};

static double get_logistic(double x)
{
    return x >= 0.0 ? 1.0 / (1.0 + exp(-x)) : exp(x) / (1.0 + exp(x));
}

static double get_log_logistic(double x)
{
    return x >= 0.0 ? -log1p(exp(-x)) : x - log1p(exp(x));
}

/*
 * The chance to lie between two bounds is F(above) (1 - F(below)) (1 - exp(below - above)),
 * which loses no digits where both are far out. An infinite bound has no slope.
 */
static struct part get_part(double above, double below)
{
    struct part part = {0};
    const double width = above - below;
    const double gap = isfinite(width) ? 1.0 / expm1(width) : 0.0;
    part.log_chance = isfinite(width) ? log(-expm1(-width)) : 0.0;
    if (isfinite(above)) {
        const double beyond = get_logistic(-above);
        part.log_chance += get_log_logistic(above);
        part.above = beyond + gap;
        part.above_above = -beyond * (1.0 - beyond);
    }
    if (isfinite(below)) {
        const double beyond = get_logistic(below);
        part.log_chance += get_log_logistic(-below);
        part.below = -beyond - gap;
        part.below_below = -beyond * (1.0 - beyond);
    }
    const double bend = gap * (1.0 + gap); /* of the logarithm of 1 - exp(-width) */
    part.above_above -= bend;
    part.below_below -= bend;
    part.above_below = bend;
    return part;
}

static double get_x(const struct search *search, size_t row, size_t column)
{
    const double x = search->rows->x[row * search->rows->n_columns + column];
    return (x - search->mean[column]) / search->sd[column];
}

/* Adds what a row bends. rate[t]: how fast its bounds move with term t. */
static void add_bend(struct search *search,
                     const struct part *part,
                     const double *above,
                     const double *below)
{
    for (size_t i = 0; i < search->n_terms; i++) {
        search->gradient[i] += part->above * above[i] + part->below * below[i];
        for (size_t j = 0; j <= i; j++) {
            search->information[i * search->n_terms + j] -=
                part->above_above * above[i] * above[j] +
                part->below_below * below[i] * below[j] +
                part->above_below * (above[i] * below[j] + below[i] * above[j]);
        }
    }
}

/* Adds a row's log-likelihood; where is_bent also what it bends. */
static void look_at_row(struct search *search, size_t row, bool is_bent)
{
    const size_t level = search->rows->level[row];
    const bool has_above = level < search->n_cuts;
    const bool has_below = level > 0;
    double above[TERMS_MAX] = {0.0};
    double below[TERMS_MAX] = {0.0};
    double sum = 0.0;
    for (size_t column = 0; column < search->rows->n_columns; column++) {
        const size_t term = search->n_cuts + column;
        const double x = get_x(search, row, column);
        sum += search->term[term] * x;
        above[term] = below[term] = -x;
    }
    const struct part part = get_part(has_above ? search->term[level] - sum : HUGE_VAL,
                                      has_below ? search->term[level - 1] - sum : -HUGE_VAL);
    search->log_likelihood += part.log_chance;
    if (has_above) {
        above[level] = 1.0;
    }
    if (has_below) {
        below[level - 1] = 1.0;
    }
    if (is_bent) {
        add_bend(search, &part, above, below);
    }
}

/* Log-likelihood at the terms; where is_bent also its gradient and information. */
static void look(struct search *search, bool is_bent)
{
    search->log_likelihood = 0.0;
    memset(search->gradient, 0, sizeof search->gradient);
    memset(search->information, 0, sizeof search->information);
    for (size_t row = 0; row < search->rows->n; row++) {
        look_at_row(search, row, is_bent);
    }
}

static bool is_rising(const struct search *search)
{
    for (size_t cut = 1; cut < search->n_cuts; cut++) {
        if (!(search->term[cut] > search->term[cut - 1])) {
            return false;
        }
    }
    return true;
}

/* Whether the terms so far along step have a greater likelihood, or the same. */
static bool
is_higher(struct search *search, const double *from, const double *step, double scale)
{
    const double before = search->log_likelihood;
    for (size_t t = 0; t < search->n_terms; t++) {
        search->term[t] = from[t] + scale * step[t];
    }
    if (!is_rising(search)) {
        return false;
    }
    look(search, false);
    if (search->log_likelihood >= before) {
        return true;
    }
    search->log_likelihood = before;
    return false;
}

/* Goes along step, by halves until it climbs; false where nothing does. */
static bool climb(struct search *search, const double *step)
{
    double from[TERMS_MAX];
    double scale = 1.0;
    memcpy(from, search->term, sizeof from);
    for (int i = 0; i < HALVINGS; i++) {
        if (is_higher(search, from, step, scale)) {
            return true;
        }
        scale *= 0.5;
    }
    memcpy(search->term, from, sizeof from);
    return false;
}

static double find_largest(const double *x, size_t n)
{
    double largest = 0.0;
    for (size_t i = 0; i < n; i++) {
        largest = fmax(largest, fabs(x[i]));
    }
    return largest;
}

/* Newton's step from the terms; the information there is left, factored. */
static enum sh_status find_step(struct search *search, double *step)
{
    look(search, true);
    memcpy(step, search->gradient, sizeof search->gradient);
    const enum sh_status status = sh_cholesky_factor(search->information, search->n_terms);
    if (status == SH_OK) {
        sh_cholesky_solve(search->information, search->n_terms, step);
    }
    return status;
}

static enum sh_status finish(struct search *search, double *step)
{
    for (size_t t = 0; t < search->n_terms; t++) {
        search->term[t] += step[t];
    }
    return find_step(search, step);
}

/* Newton's steps up to the peak, the last one whole: so near, the likelihood's rounding hides
 * whether it climbs, and the digits of a step double. */
static enum sh_status find_peak(struct search *search)
{
    const double *slopes = search->term + search->n_cuts;
    double step[TERMS_MAX];
    enum sh_status status = find_step(search, step);
    for (int i = 0; i < STEPS_MAX && status == SH_OK; i++) {
        if (find_largest(step, search->n_terms) <= NEAR) {
            return finish(search, step);
        }
        if (!climb(search, step) || find_largest(slopes, search->rows->n_columns) > PARTED) {
            return SH_ERR_SINGULAR;
        }
        status = find_step(search, step);
    }
    return SH_ERR_SINGULAR;
}

/* Counts the levels; the cuts begin at their log odds without any column. */
static enum sh_status start(struct search *search)
{
    const struct sh_ordinal_rows *rows = search->rows;
    size_t count[SH_ORDINAL_LEVELS_MAX] = {0};
    size_t n_up_to = 0;
    for (size_t i = 0; i < rows->n; i++) {
        if (rows->level[i] >= rows->n_levels) {
            return SH_ERR_ARGUMENT;
        }
        count[rows->level[i]]++;
    }
    for (size_t level = 0; level < rows->n_levels; level++) {
        n_up_to += count[level];
        if (count[level] == 0) {
            return SH_ERR_SHORT;
        }
        if (level < search->n_cuts) {
            search->term[level] = log((double)n_up_to / (double)(rows->n - n_up_to));
        }
    }
    return rows->n > search->n_terms ? SH_OK : SH_ERR_SHORT;
}

static enum sh_status scale_column(struct search *search, size_t column)
{
    const struct sh_ordinal_rows *rows = search->rows;
    double mean = 0.0;
    double squares = 0.0;
    for (size_t i = 0; i < rows->n; i++) {
        mean += (rows->x[i * rows->n_columns + column] - mean) / (double)(i + 1);
    }
    for (size_t i = 0; i < rows->n; i++) {
        const double off = rows->x[i * rows->n_columns + column] - mean;
        squares += off * off;
    }
    if (!isfinite(squares)) {
        return SH_ERR_NOT_FINITE;
    }
    search->mean[column] = mean;
    search->sd[column] = sqrt(squares / (double)(rows->n - 1));
    return search->sd[column] > 1e-12 * fabs(mean) ? SH_OK : SH_ERR_SINGULAR;
}

/* From cuts and slopes per SD about the means to those of x. */
static void tell(const struct search *search, struct sh_ordinal *fit)
{
    double inverse[TERMS_MAX * TERMS_MAX];
    double shift = 0.0;
    sh_cholesky_invert(search->information, search->n_terms, inverse);
    memset(fit, 0, sizeof *fit);
    for (size_t column = 0; column < search->rows->n_columns; column++) {
        const size_t term = search->n_cuts + column;
        fit->sd[column] = search->sd[column];
        fit->slope[column] = search->term[term] / search->sd[column];
        fit->u[column] = sqrt(inverse[term * search->n_terms + term]) / search->sd[column];
        fit->p[column] =
            2.0 * sh_distribution_get_normal(-fabs(fit->slope[column]) / fit->u[column]);
        shift += fit->slope[column] * search->mean[column];
    }
    for (size_t cut = 0; cut < search->n_cuts; cut++) {
        fit->cut[cut] = search->term[cut] + shift;
    }
    fit->log_likelihood = search->log_likelihood;
}

enum sh_status sh_ordinal_fit(const struct sh_ordinal_rows *rows, struct sh_ordinal *fit)
{
    if (rows->n_columns < 1 || rows->n_columns > COLUMNS || rows->n_levels < 2 ||
        rows->n_levels > SH_ORDINAL_LEVELS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    struct search search = {.rows = rows,
                            .n_cuts = rows->n_levels - 1,
                            .n_terms = rows->n_levels - 1 + rows->n_columns};
    enum sh_status status = start(&search);
    for (size_t column = 0; column < rows->n_columns && status == SH_OK; column++) {
        status = scale_column(&search, column);
    }
    if (status == SH_OK) {
        status = find_peak(&search);
    }
    if (status == SH_OK) {
        tell(&search, fit);
    }
    return status;
}
