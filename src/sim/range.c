/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/range.h"

enum sh_status sh_range_check(const struct sh_range *range, size_t n, struct sh_error *err)
{
    for (size_t i = 0; i < n; i++) {
        if (!(range[i].value >= range[i].low && range[i].value <= range[i].high)) {
            return sh_error_set(err, SH_ERR_ARGUMENT, range[i].name,
                                "stay inside the range named", "%g is not within %g to %g",
                                range[i].value, range[i].low, range[i].high);
        }
    }
    return SH_OK;
}
