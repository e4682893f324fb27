/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/score_link.h"

#include <math.h>
#include <stdlib.h>

#include "signal/holm.h"

#define LEVEL    0.95
#define ALARM    0.05
#define Z_SUM    3.417451 /* normal quantiles of 1 - 0.025 / 5 measures and of 0.8 added */
#define Z_SPARED 3.0      /* of n, in the variance of Fisher's z */

double sh_score_link_get_needed(double correlation)
{
    if (!(correlation > 0.0) || !(correlation < 1.0)) {
        return (double)NAN;
    }
    const double z = atanh(correlation);
    return ceil(Z_SPARED + (1.0 + 0.5 * correlation * correlation) * Z_SUM * Z_SUM / (z * z));
}

/* The least correlation that n shots show, by bisection. */
static double find_visible(size_t n)
{
    double lo = 1e-6;
    double hi = 1.0 - 1e-9;
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (lo + hi);
        if (sh_score_link_get_needed(middle) > (double)n) {
            lo = middle;
        } else {
            hi = middle;
        }
    }
    return hi;
}

/* Lists of one measure, and what ranks need. */
struct lists {
    double *x;
    double *y;
    struct sh_rank_work work;
};

static enum sh_status open_lists(size_t n, struct lists *lists)
{
    *lists = (struct lists){.x = calloc(n, sizeof(double)),
                            .y = calloc(n, sizeof(double)),
                            .work = {.order = calloc(n, sizeof(size_t)),
                                     .rank_x = calloc(n, sizeof(double)),
                                     .rank_y = calloc(n, sizeof(double))}};
    const bool is_open = lists->x != NULL && lists->y != NULL && lists->work.order != NULL &&
                         lists->work.rank_x != NULL && lists->work.rank_y != NULL;
    return is_open ? SH_OK : SH_ERR_MEMORY;
}

static void close_lists(struct lists *lists)
{
    free(lists->x);
    free(lists->y);
    free(lists->work.order);
    free(lists->work.rank_x);
    free(lists->work.rank_y);
}

static void find_link(const struct sh_consistency_set *set,
                      enum sh_consistency_measure measure,
                      struct lists *lists,
                      struct sh_score_link *link)
{
    *link = (struct sh_score_link){0};
    for (size_t i = 0; i < set->n_rows; i++) {
        const struct sh_consistency_row *row = &set->rows[i];
        if (row->has_score && !row->is_let_down && sh_quantity_is_known(&row->value[measure])) {
            lists->x[link->n] = row->value[measure].value;
            lists->y[link->n++] = row->score;
        }
    }
    const struct sh_rank_pairs pairs = {lists->x, lists->y, link->n};
    link->is_known =
        link->n >= SH_SCORE_LINK_SHOTS_MIN &&
        sh_rank_get_spearman(&pairs, LEVEL, &lists->work, &link->spearman) == SH_OK;
    link->visible = link->is_known ? find_visible(link->n) : 0.0;
}

static enum sh_status adjust(struct sh_score_link links[SH_CONSISTENCY_MEASURES])
{
    double p[SH_CONSISTENCY_MEASURES] = {0.0};
    size_t order[SH_CONSISTENCY_MEASURES];
    size_t n = 0;
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        if (links[m].is_known) {
            p[n++] = links[m].spearman.p;
        }
    }
    const enum sh_status status = sh_holm_adjust(p, n, order, p);
    n = 0;
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES && status == SH_OK; m++) {
        if (links[m].is_known) {
            links[m].p_of_all = p[n++];
        }
    }
    return status;
}

enum sh_status sh_score_link_get(const struct sh_consistency_set *set,
                                 struct sh_score_link links[SH_CONSISTENCY_MEASURES])
{
    struct lists lists;
    enum sh_status status = open_lists(set->n_rows + 1, &lists);
    if (status == SH_OK) {
        for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
            find_link(set, (enum sh_consistency_measure)m, &lists, &links[m]);
        }
        status = adjust(links);
    }
    close_lists(&lists);
    return status;
}

bool sh_score_link_is_seen(const struct sh_score_link *link)
{
    return link->is_known && link->p_of_all < ALARM &&
           (link->spearman.lo > 0.0 || link->spearman.hi < 0.0);
}
