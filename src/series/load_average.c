/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_average.h"

struct sh_load_average sh_load_average_make(size_t n_constant)
{
    return (struct sh_load_average){.lambda = 2.0 / ((double)n_constant + 1.0),
                                    .n_constant = n_constant};
}

void sh_load_average_push(struct sh_load_average *average, const struct sh_quantity *load)
{
    if (!sh_quantity_is_known(load)) {
        average->n_days = 0;
        return;
    }
    if (average->n_days == 0) {
        average->value = load->value;
        average->u = load->u;
    } else {
        const double kept = 1.0 - average->lambda;
        average->value = average->lambda * load->value + kept * average->value;
        average->u = average->lambda * load->u + kept * average->u;
    }
    average->n_days++;
}

struct sh_quantity sh_load_average_get(const struct sh_load_average *average)
{
    return average->n_days > 0 ? sh_quantity_known(average->value, average->u)
                               : sh_quantity_unknown(SH_WHY_NOT_GIVEN);
}

struct sh_quantity sh_load_average_get_ratio(const struct sh_quantity *short_average,
                                             const struct sh_quantity *long_average)
{
    if (!sh_quantity_is_known(short_average)) {
        return *short_average;
    }
    if (!sh_quantity_is_known(long_average)) {
        return *long_average;
    }
    if (!(long_average->value > 0.0)) {
        return sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    const double ratio = short_average->value / long_average->value;
    return sh_quantity_known(ratio, (short_average->u + ratio * long_average->u) /
                                        long_average->value);
}

const char *sh_load_average_get_objections(void)
{
    return "The ratio of the two averages is no measure of risk: in the data it came from, "
           "dividing by a constant or by random numbers foretold as much (Impellizzeri et al. "
           "2020), and the short average is a part of the long one. Nothing was ever shown for "
           "the fingers of archers. Read the loads themselves.";
}
