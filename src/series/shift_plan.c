/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shift_plan.h"

#include <math.h>

#include "signal/distribution.h"

#define N_SCATTER  17u /* values over which a law is summed */
#define N_LEVEL    17u /* as above, of the level; no more than N_SCATTER */
#define TAIL       9.0 /* where a law is e^-9 of its peak, it ends */
#define N_HALVED   60u /* steps to find that place */
#define ALIKE      0.8 /* arrangements that are alike count as so many */
#define LEVEL_MIN  1e-10
#define SHIFT_FINE 1e-3 /* of a visible shift */

/* Values and what each weighs; the weights add up to 1. */
struct law {
    double value[N_SCATTER];
    double weight[N_SCATTER];
    size_t n;
};

/* Logarithm of a density at ln x, by its peak. */
typedef double density(double ln_x, double a, double b);

/* Of an estimated SD over the true one: chi of a degrees of freedom; its peak lies at 0. */
static double get_scatter_density(double ln_x, double a, double b)
{
    (void)b;
    return a * (ln_x - 0.5 * expm1(2.0 * ln_x));
}

/* Of the ratio of two gamma laws of shape a and b and mean 1: Fisher's F; its peak lies at 0.
 */
static double get_level_density(double ln_x, double a, double b)
{
    return a * ln_x - (a + b) * log1p(a / (a + b) * expm1(ln_x));
}

/* Where the law ends on the side of sign. */
static double find_end(density *get, double a, double b, double sign)
{
    double inside = 0.0;
    double outside = sign;
    while (get(outside, a, b) > -TAIL) {
        outside *= 2.0;
    }
    for (size_t i = 0; i < N_HALVED; i++) {
        const double middle = 0.5 * (inside + outside);
        if (get(middle, a, b) > -TAIL) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    return outside;
}

/* The law at n places, evenly spread in ln x. */
static void fill_law(density *get, double a, double b, size_t n, struct law *law)
{
    const double first = find_end(get, a, b, -1.0);
    const double step = (find_end(get, a, b, 1.0) - first) / (double)(n - 1);
    double sum = 0.0;
    law->n = n;
    for (size_t i = 0; i < n; i++) {
        const double ln_x = first + step * (double)i;
        law->value[i] = exp(ln_x);
        law->weight[i] = exp(get(ln_x, a, b));
        sum += law->weight[i];
    }
    for (size_t i = 0; i < n; i++) {
        law->weight[i] /= sum;
    }
}

static double get_t(double level, double freedom)
{
    return sh_distribution_get_t_quantile(1.0 - 0.5 * level, freedom);
}

double sh_shift_plan_get_rank(double n_arrangements)
{
    const double n = fmin(n_arrangements, SH_SHIFT_PLAN_DRAWN);
    return fmax(1.0, floor(SH_SHIFT_PLAN_LEVEL * n * (1.0 + 1e-9)));
}

double sh_shift_plan_get_reach(const struct sh_shift_plan *plan, double t, double u)
{
    return plan->calibration_u > 0.0 ? hypot(t * u, plan->calibration_t * plan->calibration_u)
                                     : t * u;
}

/* The laws of what is not known of the next comparison. */
struct laws {
    struct law made;  /* SD that was found over the true one */
    struct law found; /* that of the next one over the true one */
    struct law t;     /* that must be gone beyond */
};

static void fill_laws(const struct sh_shift_plan *plan,
                      const struct sh_shift_trial *made,
                      const struct sh_shift_trial *next,
                      struct laws *laws)
{
    const double rank_made = sh_shift_plan_get_rank(made->n_arrangements);
    const double rank_next = sh_shift_plan_get_rank(next->n_arrangements);
    const double n_made = fmin(made->n_arrangements, SH_SHIFT_PLAN_DRAWN);
    const double n_next = fmin(next->n_arrangements, SH_SHIFT_PLAN_DRAWN);
    const double level = plan->level * (rank_next / n_next) / (rank_made / n_made);
    fill_law(get_scatter_density, made->freedom, 0.0, N_SCATTER, &laws->made);
    fill_law(get_scatter_density, next->freedom, 0.0, N_SCATTER, &laws->found);
    fill_law(get_level_density, ALIKE * rank_next, ALIKE * rank_made, N_LEVEL, &laws->t);
    for (size_t i = 0; i < laws->t.n; i++) {
        const double one = level * laws->t.value[i];
        laws->t.value[i] =
            get_t(fmin(fmax(one, LEVEL_MIN), SH_SHIFT_PLAN_LEVEL), next->freedom);
    }
}

/* Chance to go beyond t where the true u and the one found are so much. */
static double sum_levels(const struct sh_shift_plan *plan,
                         const struct law *t,
                         double true_u,
                         double found_u,
                         double shift)
{
    const double whole_u = hypot(true_u, plan->calibration_u);
    double chance = 0.0;
    for (size_t k = 0; k < t->n; k++) {
        const double reach = sh_shift_plan_get_reach(plan, t->value[k], found_u);
        chance += t->weight[k] * sh_distribution_get_normal((fabs(shift) - reach) / whole_u);
    }
    return chance;
}

static double
sum_chance(const struct sh_shift_plan *plan, const struct laws *laws, double u, double shift)
{
    double chance = 0.0;
    for (size_t i = 0; i < laws->made.n; i++) {
        const double true_u = u / laws->made.value[i];
        for (size_t j = 0; j < laws->found.n; j++) {
            const double weight = laws->made.weight[i] * laws->found.weight[j];
            const double found_u = true_u * laws->found.value[j];
            chance += weight * sum_levels(plan, &laws->t, true_u, found_u, shift);
        }
    }
    return chance;
}

double sh_shift_plan_get_chance(const struct sh_shift_plan *plan,
                                const struct sh_shift_trial *made,
                                const struct sh_shift_trial *next,
                                double shift)
{
    struct laws laws;
    fill_laws(plan, made, next, &laws);
    return sum_chance(plan, &laws, next->u, shift);
}

double sh_shift_plan_get_visible(const struct sh_shift_plan *plan,
                                 const struct sh_shift_trial *made)
{
    struct laws laws;
    fill_laws(plan, made, made, &laws);
    double low = 0.0;
    double high = hypot(made->u, plan->calibration_u);
    while (sum_chance(plan, &laws, made->u, high) < SH_SHIFT_PLAN_POWER) {
        low = high;
        high *= 2.0;
    }
    while (high - low > SHIFT_FINE * high) {
        const double middle = 0.5 * (low + high);
        if (sum_chance(plan, &laws, made->u, middle) < SH_SHIFT_PLAN_POWER) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return high;
}

bool sh_shift_plan_is_possible(const struct sh_shift_plan *plan, double shift)
{
    const double z = sh_distribution_get_normal_quantile(SH_SHIFT_PLAN_POWER);
    return plan->calibration_u > 0.0
               ? fabs(shift) > (plan->calibration_t + z) * plan->calibration_u
               : fabs(shift) > 0.0;
}

/* Ways to hand out the sides of n and n that can differ in |t|, as far as they are told apart.
 */
static double count_arrangements(size_t n)
{
    double ways = 0.5;
    for (size_t i = 1; i <= n && ways < SH_SHIFT_PLAN_DRAWN; i++) {
        ways *= (double)(n + i) / (double)i;
    }
    return fmin(ways, SH_SHIFT_PLAN_DRAWN);
}

static bool is_enough(const struct sh_shift_plan *plan,
                      const struct sh_shift_trial *made,
                      double shift,
                      double sd,
                      size_t n)
{
    const struct sh_shift_trial next = {.u = sd * sqrt(2.0 / (double)n),
                                        .freedom = 2.0 * (double)n - 2.0,
                                        .n_arrangements = count_arrangements(n)};
    return sh_shift_plan_get_chance(plan, made, &next, shift) >= SH_SHIFT_PLAN_POWER;
}

double sh_shift_plan_get_needed(const struct sh_shift_plan *plan,
                                const struct sh_shift_trial *made,
                                double shift,
                                double sd)
{
    size_t low = SH_SHIFT_PLAN_LEAST - 1;
    size_t high = SH_SHIFT_PLAN_LEAST;
    if (!sh_shift_plan_is_possible(plan, shift)) {
        return 0.0;
    }
    while (!is_enough(plan, made, shift, sd, high)) {
        if (high == SH_SHIFT_PLAN_COUNTED) {
            return 0.0;
        }
        low = high;
        high = 2 * high < SH_SHIFT_PLAN_COUNTED ? 2 * high : SH_SHIFT_PLAN_COUNTED;
    }
    while (high - low > 1) {
        const size_t middle = (low + high) / 2;
        if (is_enough(plan, made, shift, sd, middle)) {
            high = middle;
        } else {
            low = middle;
        }
    }
    return (double)high;
}
