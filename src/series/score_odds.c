/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/score_odds.h"

#include <math.h>
#include <stdlib.h>

#include "series/score_link.h"
#include "signal/distribution.h"
#include "signal/holm.h"
#include "signal/stats.h"

#define ALARM           0.05
#define Z_95            1.959963984540054
#define Z_0_8           0.8416212335729143 /* normal quantile of 0.8 */
#define TAIL_OF_ALL(n)  (0.025 / (double)(n))
#define SAME_SCORE      1e-9
#define LATENT_VARIANCE 3.289868133696453 /* of the logistic law: pi^2 / 3 */

/* Scored shots as the regression takes them. */
struct rows {
    double *x;                                                   /* owned, [n][n_columns] */
    size_t *level;                                               /* owned, [n] */
    double *score;                                               /* owned, [n] */
    double *levels;                                              /* owned, rising, [n_levels] */
    enum sh_consistency_measure column[SH_CONSISTENCY_MEASURES]; /* [n_columns] */
    size_t n_columns;
    size_t n;
    size_t n_levels;
};

static bool is_scored(const struct sh_consistency_row *row)
{
    return row->has_score && !row->is_let_down && isfinite(row->score);
}

static bool shows(const struct sh_consistency_row *row, enum sh_consistency_measure measure)
{
    return sh_quantity_is_known(&row->value[measure]);
}

/* The measures that enough of the scored shots show. */
static void choose_columns(const struct sh_consistency_set *set, struct rows *rows)
{
    size_t n_shown[SH_CONSISTENCY_MEASURES] = {0};
    size_t n = 0;
    for (size_t i = 0; i < set->n_rows; i++) {
        const struct sh_consistency_row *row = &set->rows[i];
        n += is_scored(row) ? 1 : 0;
        for (size_t m = 0; is_scored(row) && m < SH_CONSISTENCY_MEASURES; m++) {
            n_shown[m] += shows(row, (enum sh_consistency_measure)m) ? 1 : 0;
        }
    }
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        if (n_shown[m] > 0 && (double)n_shown[m] >= SH_SCORE_ODDS_SHOWN_RATIO * (double)n) {
            rows->column[rows->n_columns++] = (enum sh_consistency_measure)m;
        }
    }
}

static bool is_whole(const struct rows *rows, const struct sh_consistency_row *row)
{
    bool is = is_scored(row);
    for (size_t c = 0; c < rows->n_columns; c++) {
        is = is && shows(row, rows->column[c]);
    }
    return is;
}

static void take_rows(const struct sh_consistency_set *set, struct rows *rows)
{
    for (size_t i = 0; i < set->n_rows; i++) {
        const struct sh_consistency_row *row = &set->rows[i];
        if (!is_whole(rows, row)) {
            continue;
        }
        for (size_t c = 0; c < rows->n_columns; c++) {
            rows->x[rows->n * rows->n_columns + c] = row->value[rows->column[c]].value;
        }
        rows->score[rows->n++] = row->score;
    }
}

/* Scores in their order become levels. */
static void find_levels(struct rows *rows)
{
    for (size_t i = 0; i < rows->n; i++) {
        rows->levels[i] = rows->score[i];
    }
    sh_stats_sort(rows->levels, rows->n);
    for (size_t i = 0; i < rows->n; i++) {
        if (i == 0 || rows->levels[i] > rows->levels[rows->n_levels - 1] + SAME_SCORE) {
            rows->levels[rows->n_levels++] = rows->levels[i];
        }
    }
    for (size_t i = 0; i < rows->n; i++) {
        size_t level = 0;
        while (rows->score[i] > rows->levels[level] + SAME_SCORE) {
            level++;
        }
        rows->level[i] = level;
    }
}

static enum sh_status open_rows(const struct sh_consistency_set *set, struct rows *rows)
{
    const size_t n = set->n_rows + 1;
    *rows = (struct rows){.x = calloc(n * SH_CONSISTENCY_MEASURES, sizeof(double)),
                          .level = calloc(n, sizeof(size_t)),
                          .score = calloc(n, sizeof(double)),
                          .levels = calloc(n, sizeof(double))};
    if (rows->x == NULL || rows->level == NULL || rows->score == NULL || rows->levels == NULL) {
        return SH_ERR_MEMORY;
    }
    choose_columns(set, rows);
    take_rows(set, rows);
    if (rows->n > 0) {
        find_levels(rows);
    }
    return SH_OK;
}

static void close_rows(struct rows *rows)
{
    free(rows->x);
    free(rows->level);
    free(rows->score);
    free(rows->levels);
}

static enum sh_score_odds_why judge_rows(const struct rows *rows)
{
    if (rows->n_columns == 0 || rows->n_levels < 2) {
        return SH_SCORE_ODDS_ALIKE;
    }
    if (rows->n < SH_SCORE_ODDS_SHOTS_A_TERM * rows->n_columns) {
        return SH_SCORE_ODDS_FEW;
    }
    return rows->n_levels > SH_ORDINAL_LEVELS_MAX ? SH_SCORE_ODDS_LEVELS : SH_SCORE_ODDS_KNOWN;
}

/* From slopes to odds ratios of one SD, and what could have been seen. */
static void
tell(const struct rows *rows, const struct sh_ordinal *fit, struct sh_score_odds *odds)
{
    const double z_seen =
        sh_distribution_get_normal_quantile(1.0 - TAIL_OF_ALL(rows->n_columns)) + Z_0_8;
    const double published = sqrt(SH_SCORE_LINK_PUBLISHED_RATIO /
                                  (1.0 - SH_SCORE_LINK_PUBLISHED_RATIO) * LATENT_VARIANCE);
    double p[SH_CONSISTENCY_MEASURES];
    size_t order[SH_CONSISTENCY_MEASURES];
    for (size_t c = 0; c < rows->n_columns; c++) {
        p[c] = fit->p[c];
    }
    (void)sh_holm_adjust(p, rows->n_columns, order, p);
    for (size_t c = 0; c < rows->n_columns; c++) {
        const double slope = fit->slope[c] * fit->sd[c];
        const double u = fit->u[c] * fit->sd[c];
        odds->term[rows->column[c]] = (struct sh_score_odds_term){.is_in = true,
                                                                  .sd = fit->sd[c],
                                                                  .ratio = exp(slope),
                                                                  .lo = exp(slope - Z_95 * u),
                                                                  .hi = exp(slope + Z_95 * u),
                                                                  .p = fit->p[c],
                                                                  .p_of_all = p[c],
                                                                  .visible = exp(z_seen * u)};
        odds->n_needed =
            fmax(odds->n_needed, ceil((double)rows->n * pow(z_seen * u / published, 2.0)));
    }
}

enum sh_status sh_score_odds_get(const struct sh_consistency_set *set,
                                 struct sh_score_odds *odds)
{
    struct rows rows;
    struct sh_ordinal fit;
    *odds = (struct sh_score_odds){.why = SH_SCORE_ODDS_ALIKE};
    const enum sh_status status = open_rows(set, &rows);
    if (status == SH_OK) {
        const struct sh_ordinal_rows shots = {rows.x, rows.level, rows.n, rows.n_columns,
                                              rows.n_levels};
        odds->why = judge_rows(&rows);
        odds->n = rows.n;
        odds->n_least = SH_SCORE_ODDS_SHOTS_A_TERM * rows.n_columns;
        odds->n_levels = rows.n_levels;
        if (odds->why == SH_SCORE_ODDS_KNOWN && sh_ordinal_fit(&shots, &fit) != SH_OK) {
            odds->why = SH_SCORE_ODDS_PARTED;
        }
        if (odds->why == SH_SCORE_ODDS_KNOWN) {
            tell(&rows, &fit, odds);
        }
    }
    close_rows(&rows);
    return status;
}

bool sh_score_odds_is_seen(const struct sh_score_odds_term *term)
{
    return term->is_in && term->p_of_all < ALARM && (term->lo > 1.0 || term->hi < 1.0);
}
