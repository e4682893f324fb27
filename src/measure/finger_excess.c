/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_excess.h"

#include <math.h>

#include "shot/force_scale.h"

#define NORMAL_975      1.959963984540054
#define RECTANGLE_SHARE 0.92 /* a level's rest is mostly the excess's rectangle: 0.84 to 1 */

/* A side of an interval without what the excess has added to it. */
static double get_rest(double side, double excess)
{
    const double reach = NORMAL_975 * excess;
    return sqrt(fmax(side * side - reach * reach, 0.0));
}

/* share: of a normal law's 95 % that is left. */
static void place(struct sh_quantity *figure, double share)
{
    double lo = 0.0;
    double hi = 0.0;
    if (!sh_quantity_is_known(figure)) {
        return;
    }
    sh_quantity_interval(figure, &lo, &hi);
    const double excess = SH_FORCE_SCALE_FINGERS_RATIO * fabs(figure->value);
    const double middle = figure->value / (1.0 + SH_FORCE_SCALE_FINGERS_RATIO);
    const bool is_at_zero = figure->has_interval && !(lo > 0.0) && !(lo < 0.0);
    figure->lo = is_at_zero ? 0.0 : middle - share * get_rest(figure->value - lo, excess);
    figure->hi = middle + share * get_rest(hi - figure->value, excess);
    figure->has_interval = true;
}

static void place_all(struct sh_measures *measures, enum sh_measure measure, double share)
{
    for (size_t part = 0; part < sh_catalog_get_parts(measure); part++) {
        place(sh_catalog_get_mutable(measures, measure, part), share);
    }
}

void sh_finger_excess_place(struct sh_measures *measures)
{
    static const enum sh_measure levels[] = {SH_MEASURE_HOLD_FORCE, SH_MEASURE_PEAK_FORCE,
                                             SH_MEASURE_RELEASE_FORCE};
    static const enum sh_measure others[] = {SH_MEASURE_EXPANSION,    SH_MEASURE_CREEP_FORCE,
                                             SH_MEASURE_CREEP_LENGTH, SH_MEASURE_CREEP_RATE,
                                             SH_MEASURE_COLLAPSE,     SH_MEASURE_FLINCH_FORCE,
                                             SH_MEASURE_TREMOR_RMS,   SH_MEASURE_TREMOR_BAND};
    for (size_t i = 0; i < sizeof levels / sizeof levels[0]; i++) {
        place_all(measures, levels[i], RECTANGLE_SHARE);
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        place_all(measures, others[i], 1.0);
    }
}
