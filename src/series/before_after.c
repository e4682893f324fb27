/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/before_after.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "series/shift_plan.h"
#include "series/side_list.h"
#include "series/side_sample.h"
#include "signal/distribution.h"
#include "signal/permutation.h"
#include "signal/stats.h"

#define N_EXACT    100000u
#define N_DRAWS    9999u
#define N_JOINT    4999u /* arrangements of all figures at once */
#define T_MOST     1e300 /* of observations without scatter */
#define NORMAL_975 1.959963984540054
#define TIE        1e-9 /* of a t: alike */

static void fill(const struct sh_side_sample_finding *found,
                 double calibration_u,
                 struct sh_before_after *figure)
{
    const struct sh_shift_plan plan = {.calibration_u = calibration_u,
                                       .calibration_t = NORMAL_975};
    const double t =
        sh_distribution_get_t_quantile(1.0 - 0.5 * SH_BEFORE_AFTER_LEVEL, found->freedom);
    const double reach = sh_shift_plan_get_reach(&plan, t, found->u);
    memcpy(figure->mean, found->mean, sizeof figure->mean);
    figure->shift = found->shift;
    figure->freedom = found->freedom;
    figure->sd = found->sd;
    figure->u = hypot(found->u, calibration_u);
    figure->calibration_u = calibration_u;
    figure->lo = found->shift - reach;
    figure->hi = found->shift + reach;
    figure->reach_of_all = reach;
    if (figure->way == SH_BEFORE_AFTER_SESSIONS) {
        figure->change_least = NORMAL_975 * sqrt(2.0) * found->sd;
    }
}

static enum sh_status permute_alone(const struct sh_side_sample *sample,
                                    uint64_t seed,
                                    struct sh_before_after *figure)
{
    struct sh_random random;
    struct sh_permutation found;
    sh_random_init(&random, seed);
    const struct sh_permutation_config config = {.x = sample->x,
                                                 .n_blocks = sample->n,
                                                 .is_second = sample->is_second,
                                                 .stratum = sample->first,
                                                 .n_strata = sample->n_strata,
                                                 .n_exact = N_EXACT,
                                                 .n_draws = N_DRAWS,
                                                 .random = &random};
    const struct sh_permutation_work work = {sample->sum, sample->count, sample->order,
                                             sample->kind};
    const enum sh_status status = sh_permutation_test_kinds(&config, &work, &found);
    figure->p = found.p;
    figure->p_least = found.p_least;
    figure->p_of_all = found.p;
    return status;
}

/* One figure, but for what is worked out of all together. */
static enum sh_status judge(const struct sh_before_after_config *config,
                            const struct sh_side_list *all,
                            size_t k,
                            struct sh_side_sample *sample,
                            struct sh_before_after *figure)
{
    sh_side_sample_take(all, k, sample);
    if (figure->n_arrows[0] == 0 || figure->n_arrows[1] == 0) {
        figure->why = SH_BEFORE_AFTER_NO_VALUES;
        return SH_OK;
    }
    if (figure->why != SH_BEFORE_AFTER_KNOWN) {
        return SH_OK;
    }
    if (sample->n < 2 * sample->n_strata + 1) {
        figure->why = SH_BEFORE_AFTER_FEW;
        return SH_OK;
    }
    const struct sh_side_sample_finding found = sh_side_sample_look(sample, sample->is_second);
    memcpy(figure->n_observations, found.n, sizeof figure->n_observations);
    if (!found.has_scatter) {
        figure->why = SH_BEFORE_AFTER_STILL;
        return SH_OK;
    }
    sample->t = fabs(found.shift) / found.u;
    sample->u = found.u;
    fill(&found, config->calibration_u != NULL ? config->calibration_u[k] : 0.0, figure);
    return permute_alone(sample, config->seed, figure);
}

/* Sides as they are handed out, and the work for it: [n] each. */
struct shuffle {
    bool *side;
    size_t *order;
    double *largest; /* [2 N_JOINT]: of each other arrangement the largest t, then work */
    size_t n_others; /* arrangements drawn that are not as shot */
};

/* Hands the sides out afresh within strata. */
static void hand_out(const struct sh_side_list *all,
                     struct sh_random *random,
                     const struct shuffle *shuffle)
{
    for (size_t first = 0; first < all->n;) {
        size_t end = first;
        while (end < all->n && all->stratum[end] == all->stratum[first]) {
            shuffle->order[end - first] = end;
            end++;
        }
        sh_random_shuffle(random, shuffle->order, end - first);
        for (size_t i = first; i < end; i++) {
            shuffle->side[i] = all->is_second[shuffle->order[i - first]];
        }
        first = end;
    }
}

/* Are the sides as they were shot, or just the other way round: of the same |t|? */
static bool is_as_shot(const struct sh_side_list *all, const bool *side)
{
    size_t n = 0;
    for (size_t i = 0; i < all->n; i++) {
        n += side[i] == all->is_second[i] ? 1u : 0u;
    }
    return n == 0 || n == all->n;
}

/* The largest |t| of all known figures with sides as handed out. */
static double get_largest_t(size_t n_figures,
                            const struct sh_side_sample *samples,
                            const bool *side,
                            const struct sh_before_after *figures)
{
    double largest = 0.0;
    for (size_t k = 0; k < n_figures; k++) {
        if (figures[k].why == SH_BEFORE_AFTER_KNOWN) {
            largest = fmax(largest, sh_side_sample_get_t(&samples[k], side));
        }
    }
    return largest;
}

/* p of all known figures, from the largest t of each arrangement, itself counted. */
static void permute_together(const struct sh_side_list *all,
                             uint64_t seed,
                             const struct sh_side_sample *samples,
                             struct shuffle *shuffle,
                             struct sh_before_after *figures)
{
    struct sh_random random;
    sh_random_init(&random, seed);
    for (size_t k = 0; k < all->n_figures; k++) {
        figures[k].p_of_all = 1.0;
    }
    for (size_t draw = 0; draw < N_JOINT; draw++) {
        hand_out(all, &random, shuffle);
        const double largest =
            fmin(get_largest_t(all->n_figures, samples, shuffle->side, figures), T_MOST);
        shuffle->largest[shuffle->n_others] = largest;
        shuffle->n_others += is_as_shot(all, shuffle->side) ? 0u : 1u;
        for (size_t k = 0; k < all->n_figures; k++) {
            const bool is_as_large = largest >= samples[k].t * (1.0 - TIE);
            figures[k].p_of_all += is_as_large ? 1.0 : 0.0;
        }
    }
    for (size_t k = 0; k < all->n_figures; k++) {
        figures[k].p_of_all = fmax(figures[k].p_of_all / (N_JOINT + 1.0), figures[k].p);
    }
}

/* How many of the calibrations' uncertainties a shift must go beyond, all figures that rest on
 * one allowed for (Bonferroni). */
static double get_calibration_t(size_t n_figures, const struct sh_before_after *figures)
{
    double n = 0.0;
    for (size_t k = 0; k < n_figures; k++) {
        const bool is_one =
            figures[k].why == SH_BEFORE_AFTER_KNOWN && figures[k].calibration_u > 0.0;
        n += is_one ? 1.0 : 0.0;
    }
    return sh_distribution_get_normal_quantile(1.0 -
                                               0.5 * SH_BEFORE_AFTER_LEVEL / fmax(n, 1.0));
}

/* What would be seen, by the t that as many other arrangements as make up the level go beyond
 * in any figure: with the one as shot before them, the next is one too many. */
static enum sh_status plan_figure(const struct shuffle *shuffle,
                                  double calibration_t,
                                  double u,
                                  struct sh_before_after *figure)
{
    const struct sh_shift_trial made = {
        .u = u, .freedom = figure->freedom, .n_arrangements = 1.0 / figure->p_least};
    const double n = fmin(made.n_arrangements, SH_SHIFT_PLAN_DRAWN) - 1.0;
    const double beyond = (sh_shift_plan_get_rank(made.n_arrangements) - 0.5) / n;
    double t_of_all = 0.0;
    const enum sh_status status =
        sh_stats_get_quantile(shuffle->largest, shuffle->n_others, 1.0 - beyond,
                              shuffle->largest + N_JOINT, &t_of_all);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_shift_plan plan = {
        .level = sh_distribution_get_t_two_sided(t_of_all, made.freedom),
        .calibration_u = figure->calibration_u,
        .calibration_t = calibration_t};
    if (plan.calibration_u > 0.0) {
        const double reach = sh_shift_plan_get_reach(&plan, t_of_all, u);
        figure->reach_of_all = fmax(figure->reach_of_all, reach);
    }
    figure->is_hidden = !sh_shift_plan_is_possible(&plan, figure->shift);
    figure->n_needed = sh_shift_plan_get_needed(&plan, &made, figure->shift, figure->sd);
    if (!sh_before_after_is_blind(figure)) {
        figure->visible = sh_shift_plan_get_visible(&plan, &made);
    }
    return SH_OK;
}

static enum sh_status plan_together(size_t n_figures,
                                    const struct sh_side_sample *samples,
                                    const struct shuffle *shuffle,
                                    struct sh_before_after *figures)
{
    const double calibration_t = get_calibration_t(n_figures, figures);
    enum sh_status status = SH_OK;
    for (size_t k = 0; k < n_figures && status == SH_OK; k++) {
        if (figures[k].why == SH_BEFORE_AFTER_KNOWN) {
            status = plan_figure(shuffle, calibration_t, samples[k].u, &figures[k]);
        }
    }
    return status;
}

/* Values that show a figure, of either side. */
static void count_arrows(const struct sh_before_after_config *config,
                         size_t k,
                         struct sh_before_after *figure)
{
    for (size_t i = 0; i < config->n; i++) {
        const bool is_known = !isnan(config->values[i * config->n_figures + k]);
        figure->n_arrows[config->arrows[i].is_second] += is_known ? 1u : 0u;
    }
}

static bool is_finite(const struct sh_before_after_config *config)
{
    for (size_t i = 0; i < config->n * config->n_figures; i++) {
        if (isinf(config->values[i])) {
            return false;
        }
    }
    return true;
}

static enum sh_status compare(const struct sh_before_after_config *config,
                              struct sh_side_list *all,
                              struct sh_side_sample *samples,
                              struct sh_before_after *figures)
{
    const enum sh_before_after_way way = sh_side_list_find_way(config);
    const bool has_turns = sh_side_list_fill(config, way, all);
    enum sh_status status = SH_OK;
    for (size_t k = 0; k < config->n_figures && status == SH_OK; k++) {
        figures[k] = (struct sh_before_after){
            .way = way, .why = has_turns ? SH_BEFORE_AFTER_KNOWN : SH_BEFORE_AFTER_IN_ORDER};
        count_arrows(config, k, &figures[k]);
        status = sh_side_sample_open(&samples[k], all->n);
        if (status == SH_OK) {
            status = judge(config, all, k, &samples[k], &figures[k]);
        }
    }
    struct shuffle shuffle = {.side = calloc(all->n + 1, sizeof(bool)),
                              .order = calloc(all->n + 1, sizeof(size_t)),
                              .largest = calloc((size_t)2 * N_JOINT, sizeof(double))};
    const bool is_whole =
        shuffle.side != NULL && shuffle.order != NULL && shuffle.largest != NULL;
    if (status == SH_OK && !is_whole) {
        status = SH_ERR_MEMORY;
    }
    if (status == SH_OK) {
        permute_together(all, config->seed, samples, &shuffle, figures);
        status = plan_together(all->n_figures, samples, &shuffle, figures);
    }
    free(shuffle.side);
    free(shuffle.order);
    free(shuffle.largest);
    return status;
}

enum sh_status sh_before_after_get(const struct sh_before_after_config *config,
                                   struct sh_before_after *figures)
{
    struct sh_side_list all = {.n = 0};
    struct sh_side_sample *samples = NULL;
    if (!is_finite(config)) {
        return SH_ERR_NOT_FINITE;
    }
    enum sh_status status = sh_side_list_open(&all, config->n, config->n_figures);
    if (status == SH_OK) {
        samples = calloc(config->n_figures + 1, sizeof *samples);
        status = samples != NULL ? compare(config, &all, samples, figures) : SH_ERR_MEMORY;
    }
    for (size_t k = 0; samples != NULL && k < config->n_figures; k++) {
        sh_side_sample_close(&samples[k]);
    }
    free(samples);
    sh_side_list_close(&all);
    return status;
}

bool sh_before_after_is_seen(const struct sh_before_after *figure)
{
    return figure->why == SH_BEFORE_AFTER_KNOWN && figure->p_of_all <= SH_BEFORE_AFTER_LEVEL &&
           fabs(figure->shift) > figure->reach_of_all;
}

double sh_before_after_find_mean_half(const struct sh_before_after *figure, size_t side)
{
    const double n = (double)figure->n_observations[side];
    if (!(figure->freedom > 0.0) || !(n > 0.0)) {
        return 0.0;
    }
    return sh_distribution_get_t_quantile(1.0 - 0.5 * SH_BEFORE_AFTER_LEVEL, figure->freedom) *
           figure->sd / sqrt(n);
}

bool sh_before_after_is_blind(const struct sh_before_after *figure)
{
    return figure->why == SH_BEFORE_AFTER_KNOWN && figure->p_least > SH_BEFORE_AFTER_LEVEL;
}

bool sh_before_after_is_masked(const struct sh_before_after *figure)
{
    return figure->why == SH_BEFORE_AFTER_KNOWN && figure->p_of_all <= SH_BEFORE_AFTER_LEVEL &&
           figure->calibration_u > 0.0 && !sh_before_after_is_seen(figure);
}
