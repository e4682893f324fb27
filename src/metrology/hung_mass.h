/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_HUNG_MASS_H
#define SH_METROLOGY_HUNG_MASS_H

#include <stdbool.h>

#include "base/quantity.h"
#include "base/status.h"

/*
 * The force of a hung mass: m g (1 - buoyancy), with what each of the three adds to its
 * uncertainty.
 *
 * Masses are taken as conventional masses (OIML D 28, 2004: what weighs as much as steel of
 * 8000 kg/m3 in air of 1.2 kg/m3), which is what is stamped on weights and what a scale shows,
 * whatever the mass is made of. Air then carries 1.2 / 8000 of it; air within 10 % of 1.2 kg/m3
 * (sea level to 900 m, 0 to 35 degrees) moves that by 1.5e-5.
 */
#define SH_HUNG_MASS_BUOYANCY_RATIO   1.5e-4
#define SH_HUNG_MASS_BUOYANCY_U_RATIO 1.5e-5
#define SH_HUNG_MASS_MAX_KG           200.0

/* What the masses are hung in, and how well they are known. */
struct sh_hung_mass_place {
    struct sh_quantity gravity_m_s2; /* known; 9.7 to 9.9 */
    double mass_u_ratio;             /* standard uncertainty of every mass, as a share of it */
};

/* A force and the shares of its standard uncertainty, all in N. */
struct sh_hung_mass_force {
    double force_n;
    double u_n; /* root of the sum of the squares of the three */
    double mass_u_n;
    double gravity_u_n;
    double buoyancy_u_n;
};

/*
 * The force of a mass (0 to SH_HUNG_MASS_MAX_KG). JCGM 100:2008, 5.1.2. SH_ERR_ARGUMENT: mass
 * or place out of range; *out untouched. Test: tests/metrology/test_hung_mass.c.
 */
enum sh_status sh_hung_mass_get_force(const struct sh_hung_mass_place *place,
                                      double mass_kg,
                                      struct sh_hung_mass_force *out);

/*
 * The uncertainty that all forces have in common, as a share of them: masses of one maker, the
 * place and the air are the same for all, so that it does not shrink with more readings.
 */
double sh_hung_mass_get_u_ratio(const struct sh_hung_mass_place *place);

/*
 * A mass as people write it, "5 kg", "500g" or "10lb" (exact factors; base/units.h); a unit is
 * needed, except with 0. False where it is none, negative or over SH_HUNG_MASS_MAX_KG.
 */
bool sh_hung_mass_parse(const char *text, double *mass_kg);

#endif
