/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/load_history.h"

#include <stdlib.h>

/* The running averages of one thing. */
struct pair {
    struct sh_load_average average[2];
};

static struct sh_quantity get_amount(const struct sh_day_load *load, int what)
{
    return what == SH_LOAD_HISTORY_DRAWS ? sh_day_load_get_draws(load)
                                         : sh_day_load_get_impulse_n_s(load, (size_t)what);
}

static void fill(struct sh_load_history_row *row, struct pair pairs[SH_LOAD_HISTORY_WHATS])
{
    for (int what = 0; what < SH_LOAD_HISTORY_WHATS; what++) {
        struct sh_load_history_average *average = &row->average[what];
        row->amount[what] = get_amount(row->load, what);
        for (size_t k = 0; k < 2; k++) {
            sh_load_average_push(&pairs[what].average[k], &row->amount[what]);
            average->value[k] = sh_load_average_get(&pairs[what].average[k]);
        }
        average->n_days = pairs[what].average[0].n_days;
        average->ratio =
            average->n_days < SH_LOAD_AVERAGE_LONG_DAYS
                ? sh_quantity_unknown(SH_WHY_TOO_SHORT)
                : sh_load_average_get_ratio(&average->value[0], &average->value[1]);
    }
}

enum sh_status sh_load_history_open(const struct sh_day_load_list *list,
                                    struct sh_load_history *out)
{
    struct pair pairs[SH_LOAD_HISTORY_WHATS];
    struct sh_load_history_row *rows = calloc(list->n_days, sizeof *rows);
    if (rows == NULL) {
        return SH_ERR_MEMORY;
    }
    for (int what = 0; what < SH_LOAD_HISTORY_WHATS; what++) {
        pairs[what].average[0] = sh_load_average_make(SH_LOAD_AVERAGE_SHORT_DAYS);
        pairs[what].average[1] = sh_load_average_make(SH_LOAD_AVERAGE_LONG_DAYS);
    }
    for (size_t i = 0; i < list->n_days; i++) {
        rows[i].day = list->first_day + (int)i;
        rows[i].load = &list->days[i];
        fill(&rows[i], pairs);
    }
    *out = (struct sh_load_history){rows, list->n_days};
    return SH_OK;
}

void sh_load_history_close(struct sh_load_history *history)
{
    free(history->rows);
    *history = (struct sh_load_history){0};
}
