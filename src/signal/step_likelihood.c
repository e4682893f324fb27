/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "signal/step_likelihood.h"

#include <float.h>
#include <math.h>

#include "signal/step_levels.h"
#include "signal/step_search.h"

#define DURATIONS     24u
#define STARTS        41u
#define POINTS        984u /* DURATIONS * STARTS */
#define BISECT_ROUNDS 40   /* of a share of the weight */
#define REACH_ROUNDS  34   /* where the likelihood is exp(-18): to 1e-10 of the range */
#define PASSES_MAX    12
#define ALIVE_LEAST   6u   /* durations within the cut before the averaging begins */
#define LOSS_CUT      18.0 /* likelihood exp(-18) and below is left out */

/* Points of the averaged likelihood. */
struct cloud {
    size_t n;
    double time_s[POINTS];
    double start_s[POINTS];
    double duration_s[POINTS];
    double weight[POINTS];
};

/* A range of durations, and how it is cut up. */
struct range {
    double low_s;
    double high_s;
};

static double get_duration(const struct range *range, size_t i)
{
    return range->low_s + ((double)i + 0.5) / DURATIONS * (range->high_s - range->low_s);
}

/* Where, from the best start towards a limit, the loss passes the cut. */
static double find_reach(const struct sh_step_problem *p,
                         const struct sh_step_trial *trial,
                         double limit_s,
                         double cut)
{
    double near_s = trial->start_s;
    double far_s = limit_s;
    if (sh_step_levels_get_loss(p, far_s, trial->duration_s) <= cut) {
        return far_s;
    }
    for (int i = 0; i < REACH_ROUNDS; i++) {
        double middle_s = 0.5 * (near_s + far_s);
        if (sh_step_levels_get_loss(p, middle_s, trial->duration_s) <= cut) {
            near_s = middle_s;
        } else {
            far_s = middle_s;
        }
    }
    return far_s;
}

static void add_duration(const struct sh_step_problem *p,
                         const struct sh_step_trial *trial,
                         double least,
                         double noise,
                         struct cloud *cloud)
{
    double cut = least + 2.0 * LOSS_CUT * noise * noise;
    double low_s = find_reach(p, trial, p->start_min_s, cut);
    double high_s = find_reach(p, trial, p->start_max_s, cut);
    double quantile = sh_step_problem_get_quantile(p);
    double step_s = (high_s - low_s) / STARTS;
    for (size_t i = 0; i < STARTS; i++) {
        double start_s = low_s + ((double)i + 0.5) * step_s;
        double loss = sh_step_levels_get_loss(p, start_s, trial->duration_s);
        double excess = 0.5 * (loss - least) / (noise * noise);
        if (excess < LOSS_CUT) {
            cloud->time_s[cloud->n] = start_s + quantile * trial->duration_s;
            cloud->start_s[cloud->n] = start_s;
            cloud->duration_s[cloud->n] = trial->duration_s;
            cloud->weight[cloud->n] = step_s * exp(-excess);
            cloud->n++;
        }
    }
}

/*
 * Best start for each duration of the range; the least loss; and which durations are within
 * the cut, as a range one step wider on either side (around best where none is).
 */
static struct range search_range(const struct sh_step_problem *p,
                                 const struct range *range,
                                 double noise,
                                 struct sh_step_trial *best,
                                 struct sh_step_trial *trials)
{
    double step_s = (range->high_s - range->low_s) / DURATIONS;
    for (size_t i = 0; i < DURATIONS; i++) {
        trials[i] = sh_step_search_find_start(p, get_duration(range, i));
        if (trials[i].loss < best->loss) {
            *best = trials[i];
        }
    }
    struct range alive = {best->duration_s - step_s, best->duration_s + step_s};
    double cut = best->loss + 2.0 * LOSS_CUT * noise * noise;
    for (size_t i = 0; i < DURATIONS; i++) {
        if (trials[i].loss <= cut) {
            alive.low_s = fmin(alive.low_s, trials[i].duration_s - step_s);
            alive.high_s = fmax(alive.high_s, trials[i].duration_s + step_s);
        }
    }
    alive.low_s = fmax(alive.low_s, range->low_s);
    alive.high_s = fmin(alive.high_s, range->high_s);
    return alive;
}

static size_t count_alive(const struct sh_step_trial *trials, double cut)
{
    size_t n_alive = 0;
    for (size_t i = 0; i < DURATIONS; i++) {
        n_alive += trials[i].loss <= cut;
    }
    return n_alive;
}

static struct sh_quantity
summarise(const double *value, const struct cloud *cloud, double extra_u)
{
    double sum = 0.0;
    double mean = 0.0;
    for (size_t i = 0; i < cloud->n; i++) {
        sum += cloud->weight[i];
        mean += cloud->weight[i] * value[i];
    }
    mean /= sum;
    double square = 0.0;
    for (size_t i = 0; i < cloud->n; i++) {
        square += cloud->weight[i] * (value[i] - mean) * (value[i] - mean);
    }
    return sh_quantity_known(mean, sqrt(square / sum + extra_u * extra_u));
}

/* Time below which the given share of the weight lies, by bisection. */
static double find_share(const struct cloud *cloud, double share)
{
    double low = DBL_MAX;
    double high = -DBL_MAX;
    double all = 0.0;
    for (size_t i = 0; i < cloud->n; i++) {
        low = fmin(low, cloud->time_s[i]);
        high = fmax(high, cloud->time_s[i]);
        all += cloud->weight[i];
    }
    for (int round = 0; round < BISECT_ROUNDS; round++) {
        double middle = 0.5 * (low + high);
        double below = 0.0;
        for (size_t i = 0; i < cloud->n; i++) {
            below += cloud->time_s[i] <= middle ? cloud->weight[i] : 0.0;
        }
        if (below < share * all) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}

enum sh_status sh_step_likelihood_average(const struct sh_step_problem *problem,
                                          const struct sh_step_trial *best,
                                          double noise,
                                          struct sh_step_fit *out)
{
    struct range range = {problem->config->duration_min_s, problem->config->duration_max_s};
    struct sh_step_trial trials[DURATIONS];
    struct sh_step_trial least = *best;
    double cut = 0.0;
    for (int pass = 0; pass < PASSES_MAX; pass++) {
        struct range alive = search_range(problem, &range, noise, &least, trials);
        cut = least.loss + 2.0 * LOSS_CUT * noise * noise;
        if (count_alive(trials, cut) >= ALIVE_LEAST) {
            break;
        }
        range = alive;
    }
    struct cloud cloud;
    cloud.n = 0;
    for (size_t i = 0; i < DURATIONS; i++) {
        if (trials[i].loss <= cut) {
            add_duration(problem, &trials[i], least.loss, noise, &cloud);
        }
    }
    if (cloud.n == 0) {
        return SH_ERR_SINGULAR;
    }
    out->start_s = summarise(cloud.start_s, &cloud, 0.0);
    out->duration_s = summarise(cloud.duration_s, &cloud, 0.0);
    double shape_s =
        sh_step_fit_get_shape_ratio(problem->config->fraction) * out->duration_s.value;
    out->time_s = summarise(cloud.time_s, &cloud, shape_s);
    out->time_s.has_interval = true;
    double quantile_s = 1.96 * shape_s;
    double low_s = out->time_s.value - find_share(&cloud, 0.025);
    double high_s = find_share(&cloud, 0.975) - out->time_s.value;
    out->time_s.lo = out->time_s.value - hypot(low_s, quantile_s);
    out->time_s.hi = out->time_s.value + hypot(high_s, quantile_s);
    return SH_OK;
}
