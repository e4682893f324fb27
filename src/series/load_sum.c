/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_sum.h"

void sh_load_sum_add(struct sh_load_sum *sum, const struct sh_quantity *quantity)
{
    if (sh_quantity_is_known(quantity)) {
        sum->value += quantity->value;
        sum->u += quantity->u;
        sum->n_known++;
        return;
    }
    if (sum->n_unknown == 0) {
        sum->why = quantity->why;
    }
    sum->n_unknown++;
}

void sh_load_sum_add_sum(struct sh_load_sum *sum, const struct sh_load_sum *other)
{
    if (sum->n_unknown == 0) {
        sum->why = other->why;
    }
    sum->value += other->value;
    sum->u += other->u;
    sum->n_known += other->n_known;
    sum->n_unknown += other->n_unknown;
}

struct sh_quantity sh_load_sum_get(const struct sh_load_sum *sum)
{
    return sum->n_unknown == 0 ? sh_quantity_known(sum->value, sum->u)
                               : sh_quantity_unknown(sum->why);
}
