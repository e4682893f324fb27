/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/quantity.h"

#define NORMAL_975 1.959963984540054 /* 0.975 quantile of the standard normal distribution */

const char *sh_quantity_why_text(enum sh_why why)
{
    switch (why) {
#define X(name, text)                                                                          \
    case name:                                                                                 \
        return text;
        SH_WHY_LIST(X)
#undef X
    }
    return "unknown";
}

void sh_quantity_interval(const struct sh_quantity *quantity, double *lo, double *hi)
{
    if (quantity->has_interval) {
        *lo = quantity->lo;
        *hi = quantity->hi;
        return;
    }
    *lo = quantity->value - NORMAL_975 * quantity->u;
    *hi = quantity->value + NORMAL_975 * quantity->u;
}
