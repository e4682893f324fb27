/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_excess.h"

#include <math.h>

#include "shot/force_scale.h"

#define NORMAL_975 1.959963984540054
#define ONE_SIDED                                                                              \
    0.82 /* of the two-sided reach: 0.84 of a normal law's, 0.80 of a rectangle's */

/* A side of an interval without what the excess has added to it. */
static double get_rest(double side, double excess)
{
    const double reach = NORMAL_975 * excess;
    return sqrt(fmax(side * side - reach * reach, 0.0));
}

/*
 * The interval of a figure whose excess has a known sign: about the figure less the excess; but
 * it takes in the figure itself, and is then one-sided.
 */
static void place(struct sh_quantity *figure)
{
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(figure)) {
        return;
    }
    sh_quantity_interval(figure, &lo, &hi);
    const double excess = SH_FORCE_SCALE_FINGERS_RATIO * fabs(figure->value);
    const double middle = figure->value / (1.0 + SH_FORCE_SCALE_FINGERS_RATIO);
    const double below = get_rest(figure->value - lo, excess);
    const double above = get_rest(hi - figure->value, excess);
    const bool is_at_zero = figure->has_interval && !(lo > 0.0) && !(lo < 0.0);
    const double low_share = middle + above < figure->value ? ONE_SIDED : 1.0;
    const double high_share = middle - below > figure->value ? ONE_SIDED : 1.0;
    figure->lo = is_at_zero ? 0.0 : fmin(middle - low_share * below, figure->value);
    figure->hi = fmax(middle + high_share * above, figure->value);
    figure->has_interval = true;
}

void sh_finger_excess_place(struct sh_measures *measures)
{
    static const enum sh_measure with_force[] = {
        SH_MEASURE_EXPANSION,     SH_MEASURE_HOLD_FORCE,  SH_MEASURE_PEAK_FORCE,
        SH_MEASURE_RELEASE_FORCE, SH_MEASURE_CREEP_FORCE, SH_MEASURE_CREEP_LENGTH,
        SH_MEASURE_CREEP_RATE,    SH_MEASURE_COLLAPSE,    SH_MEASURE_FLINCH_FORCE,
        SH_MEASURE_TREMOR_RMS,    SH_MEASURE_TREMOR_BAND};
    for (size_t i = 0; i < sizeof with_force / sizeof with_force[0]; i++) {
        for (size_t part = 0; part < sh_catalog_get_parts(with_force[i]); part++) {
            place(sh_catalog_get_mutable(measures, with_force[i], part));
        }
    }
}
