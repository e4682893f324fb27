/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_BOW_LAW_H
#define SH_SIM_BOW_LAW_H

#include "base/status.h"

/*
 * A recurve bow: the force on the string over the string's travel x from rest.
 *
 * F(x) = a (1 - exp(-x / x0)) + k x + s (x / L)^4, with L the travel at full draw: a steep
 * start and a knee (a, x0), a straight middle (k) and the stiffening towards the end (s, below
 * 0 where the bow softens). a is 20 % of the force at full draw and x0 0.04 m; k and s follow
 * from force and stiffness at full draw. An assumed shape, made to be monotone and to meet
 * both figures exactly, not a fit to any bow.
 *
 * A plain value, never changed after init: threads may share it. Test:
 * tests/sim/test_bow_law.c.
 */
struct sh_bow_law_config {
    double full_force_n;      /* force at full draw, 40 to 300 */
    double full_travel_m;     /* travel from rest to full draw, 0.3 to 0.7 */
    double stiffness_n_per_m; /* slope at full draw, 280 to 600 */
};

struct sh_bow_law {
    struct sh_bow_law_config config;
    double knee_n;
    double middle_n_per_m;
    double end_n;
};

/* 178 N at 0.48 m, 410 N/m. */
struct sh_bow_law_config sh_bow_law_config_default(void);

/*
 * Works out the law. copies config. SH_ERR_ARGUMENT: a figure is out of its range or not a
 * number, or the three do not go together (the law would not rise everywhere); *bow is then
 * untouched.
 */
enum sh_status sh_bow_law_init(struct sh_bow_law *bow,
                               const struct sh_bow_law_config *config,
                               struct sh_error *err);

/* Force in N at travel_m. 0 at and below rest; goes on by the same law beyond full draw. */
double sh_bow_law_get_force_n(const struct sh_bow_law *bow, double travel_m);

/* Slope of the force in N/m at travel_m, 0 or more. */
double sh_bow_law_get_stiffness_n_per_m(const struct sh_bow_law *bow, double travel_m);

#endif
