/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "support/near.h"

#include <math.h>

#include "support/cmocka_all.h"

void sh_near_check(double got,
                   double expected,
                   double absolute,
                   double relative,
                   const struct sh_near_place *place)
{
    double tolerance = absolute + relative * fabs(expected);
    if (fabs(got - expected) <= tolerance) {
        return;
    }
    print_error("%s: got %.17g, expected %.17g, off by %.3g, allowed %.3g\n", place->expression,
                got, expected, fabs(got - expected), tolerance);
    _fail(place->file, place->line);
}
