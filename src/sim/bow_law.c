/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/bow_law.h"

#include <math.h>
#include <stdbool.h>
#include <stddef.h>

#define KNEE_RATIO    0.2  /* of the force at full draw */
#define KNEE_TRAVEL_M 0.04 /* e-fold of the knee */

#define FORCE_LOW_N        40.0
#define FORCE_HIGH_N       300.0
#define TRAVEL_LOW_M       0.3
#define TRAVEL_HIGH_M      0.7
#define STIFFNESS_LOW_N_M  280.0
#define STIFFNESS_HIGH_N_M 600.0

static bool is_within(double x, double low, double high)
{
    return x >= low && x <= high; /* false for NaN */
}

struct sh_bow_law_config sh_bow_law_config_default(void)
{
    return (struct sh_bow_law_config){
        .full_force_n = 178.0, .full_travel_m = 0.48, .stiffness_n_per_m = 410.0};
}

static enum sh_status check_config(const struct sh_bow_law_config *config, struct sh_error *err)
{
    if (!is_within(config->full_force_n, FORCE_LOW_N, FORCE_HIGH_N)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "full_force_n", "give 40 to 300 N",
                            "the bow's force of %g N is out of range", config->full_force_n);
    }
    if (!is_within(config->full_travel_m, TRAVEL_LOW_M, TRAVEL_HIGH_M)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "full_travel_m", "give 0.3 to 0.7 m",
                            "the string's travel of %g m is out of range",
                            config->full_travel_m);
    }
    if (!is_within(config->stiffness_n_per_m, STIFFNESS_LOW_N_M, STIFFNESS_HIGH_N_M)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "stiffness_n_per_m", "give 280 to 600 N/m",
                            "the bow's stiffness of %g N/m is out of range",
                            config->stiffness_n_per_m);
    }
    return SH_OK;
}

enum sh_status sh_bow_law_init(struct sh_bow_law *bow,
                               const struct sh_bow_law_config *config,
                               struct sh_error *err)
{
    const enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    const double travel_m = config->full_travel_m;
    const double decay = exp(-travel_m / KNEE_TRAVEL_M);
    const double knee_n = KNEE_RATIO * config->full_force_n / (1.0 - decay);
    /* k L + s = force_n and k L + 4 s = rise_n: force and slope at full draw */
    const double force_n = config->full_force_n * (1.0 - KNEE_RATIO);
    const double rise_n =
        travel_m * (config->stiffness_n_per_m - knee_n / KNEE_TRAVEL_M * decay);
    const double end_n = (rise_n - force_n) / 3.0;
    const double middle_n = force_n - end_n;
    /* the slope of the last two terms is straight in x^3: above 0 at both ends is enough */
    if (middle_n <= 0.0 || rise_n <= 0.0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "stiffness_n_per_m",
                            "give a lower stiffness, a shorter travel or more force",
                            "no rising force leads to %g N at %g m with %g N/m",
                            config->full_force_n, travel_m, config->stiffness_n_per_m);
    }
    *bow = (struct sh_bow_law){.config = *config,
                               .knee_n = knee_n,
                               .middle_n_per_m = middle_n / travel_m,
                               .end_n = end_n};
    return SH_OK;
}

double sh_bow_law_get_force_n(const struct sh_bow_law *bow, double travel_m)
{
    if (travel_m <= 0.0) {
        return 0.0;
    }
    const double ratio = travel_m / bow->config.full_travel_m;
    return -bow->knee_n * expm1(-travel_m / KNEE_TRAVEL_M) + bow->middle_n_per_m * travel_m +
           bow->end_n * ratio * ratio * ratio * ratio;
}

double sh_bow_law_get_stiffness_n_per_m(const struct sh_bow_law *bow, double travel_m)
{
    if (travel_m < 0.0) {
        return 0.0;
    }
    const double ratio = travel_m / bow->config.full_travel_m;
    return bow->knee_n / KNEE_TRAVEL_M * exp(-travel_m / KNEE_TRAVEL_M) + bow->middle_n_per_m +
           4.0 * bow->end_n / bow->config.full_travel_m * ratio * ratio * ratio;
}
