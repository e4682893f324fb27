/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/shot_rows.h"

#include <math.h>
#include <stdlib.h>

#include "support/cmocka_all.h"

#define HOLD_S 3.0

struct sh_consistency_row *shot_rows_add(
    struct sh_consistency_set *set, size_t recording, size_t end, unsigned number, double value)
{
    set->rows = realloc(set->rows, (set->n_rows + 1) * sizeof *set->rows);
    assert_non_null(set->rows);
    const bool is_first = set->n_rows == 0 || set->rows[set->n_rows - 1].recording != recording;
    const struct sh_consistency_row *last = is_first ? NULL : &set->rows[set->n_rows - 1];
    const unsigned place = last != NULL ? last->place + 1 : 1;
    size_t order = 1;
    if (last != NULL) {
        order = last->end_order + (last->end != end ? 1 : 0);
    }
    struct sh_consistency_row *row = &set->rows[set->n_rows++];
    *row = (struct sh_consistency_row){.recording = recording,
                                       .end = end,
                                       .end_order = order,
                                       .n = place,
                                       .number = number,
                                       .place = place};
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        row->value[m] = sh_quantity_known(value, 0.01);
    }
    set->n_recordings = recording + 1;
    set->n_ends = end + 1;
    set->n_shots++;
    return row;
}

void shot_rows_shoot(struct sh_consistency_set *set,
                     const struct shot_rows_archer *archer,
                     struct sh_random *random)
{
    const size_t recording = set->n_recordings;
    const size_t before = set->n_ends;
    for (size_t end = 0; end < archer->n_ends; end++) {
        const double of_end = archer->end_sd * sh_random_get_normal(random);
        const bool is_clocked = archer->is_blocked ? end >= archer->n_ends / 2 : end % 2 == 1;
        for (unsigned number = 1; number <= archer->n_arrows; number++) {
            double value =
                HOLD_S * exp(of_end + archer->arrow_sd * sh_random_get_normal(random));
            value += archer->per_number * (double)(number - 1) + archer->per_end * (double)end +
                     (is_clocked ? archer->clock_s : 0.0);
            shot_rows_add(set, recording, before + end, number, value)->is_clocked = is_clocked;
        }
    }
}
