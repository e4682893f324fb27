/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SIM_RANGE_H
#define SH_SIM_RANGE_H

#include <stddef.h>

#include "base/status.h"

/* A setting and the range it must lie in, both ends included. Borrows name. */
struct sh_range {
    const char *name;
    double value;
    double low;
    double high;
};

/*
 * SH_ERR_ARGUMENT with the name of the first of n settings that is out of its range or not a
 * number; nothing is clamped. Test: tests/sim/test_range.c.
 */
enum sh_status sh_range_check(const struct sh_range *range, size_t n, struct sh_error *err);

#endif
