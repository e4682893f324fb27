/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/move.h"

#include <math.h>

#include "base/units.h"

double sh_move_share(double t_s, double begin_s, double end_s)
{
    if (t_s <= begin_s) {
        return 0.0;
    }
    if (t_s >= end_s) {
        return 1.0;
    }
    const double u = (t_s - begin_s) / (end_s - begin_s);
    return u * u * u * (10.0 + u * (6.0 * u - 15.0));
}

double sh_move_dip(double t_s, double begin_s, double end_s)
{
    if (t_s <= begin_s || t_s >= end_s) {
        return 0.0;
    }
    return 0.5 * (1.0 - cos(2.0 * SH_PI * (t_s - begin_s) / (end_s - begin_s)));
}
