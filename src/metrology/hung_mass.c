/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/hung_mass.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"

#define GRAVITY_MIN_M_S2 9.7
#define GRAVITY_MAX_M_S2 9.9
#define CARRIED_RATIO    (1.0 - SH_HUNG_MASS_BUOYANCY_RATIO)

static bool is_usable(const struct sh_hung_mass_place *place)
{
    const struct sh_quantity *gravity = &place->gravity_m_s2;
    return sh_quantity_is_known(gravity) && gravity->value >= GRAVITY_MIN_M_S2 &&
           gravity->value <= GRAVITY_MAX_M_S2 && gravity->u >= 0.0 && isfinite(gravity->u) &&
           place->mass_u_ratio >= 0.0 && place->mass_u_ratio < 1.0;
}

enum sh_status sh_hung_mass_get_force(const struct sh_hung_mass_place *place,
                                      double mass_kg,
                                      struct sh_hung_mass_force *out)
{
    if (!is_usable(place) || !(mass_kg >= 0.0 && mass_kg <= SH_HUNG_MASS_MAX_KG)) {
        return SH_ERR_ARGUMENT;
    }
    const double gravity_m_s2 = place->gravity_m_s2.value;
    const double force_n = mass_kg * gravity_m_s2 * CARRIED_RATIO;
    *out = (struct sh_hung_mass_force){
        .force_n = force_n,
        .mass_u_n = force_n * place->mass_u_ratio,
        .gravity_u_n = mass_kg * CARRIED_RATIO * place->gravity_m_s2.u,
        .buoyancy_u_n = mass_kg * gravity_m_s2 * SH_HUNG_MASS_BUOYANCY_U_RATIO,
    };
    out->u_n = hypot(hypot(out->mass_u_n, out->gravity_u_n), out->buoyancy_u_n);
    return SH_OK;
}

double sh_hung_mass_get_u_ratio(const struct sh_hung_mass_place *place)
{
    const double gravity_ratio = place->gravity_m_s2.u / place->gravity_m_s2.value;
    return hypot(hypot(place->mass_u_ratio, gravity_ratio), SH_HUNG_MASS_BUOYANCY_U_RATIO);
}

bool sh_hung_mass_parse(const char *text, double *mass_kg)
{
    static const struct {
        const char *unit;
        double kg;
    } units[] = {
        {"kg", 1.0}, {"g", SH_UNITS_GRAM_KG}, {"lb", SH_UNITS_LB_KG}, {"lbs", SH_UNITS_LB_KG}};
    char *end = NULL;
    const double number = strtod(text, &end);
    if (end == text || !(number >= 0.0)) {
        return false;
    }
    end += strspn(end, " \t");
    const bool is_nothing = !(number > 0.0) && *end == '\0';
    double factor_kg = 0.0;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++) {
        if (strcmp(units[i].unit, end) == 0) {
            factor_kg = units[i].kg;
        }
    }
    const double value_kg = number * factor_kg;
    if (!(is_nothing || factor_kg > 0.0) || !(value_kg <= SH_HUNG_MASS_MAX_KG)) {
        return false;
    }
    *mass_kg = value_kg;
    return true;
}
