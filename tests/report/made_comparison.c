/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/made_comparison.h"

void made_comparison_open(struct made_comparison *made)
{
    *made = (struct made_comparison){.set = {.n_sessions = {6, 6}, .n_recordings = {6, 6}}};
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        made->comparison.figure[k] = (struct sh_before_after){.why = SH_BEFORE_AFTER_NO_VALUES};
    }
    made->comparison.figure[0] = (struct sh_before_after){.why = SH_BEFORE_AFTER_KNOWN,
                                                          .n_arrows = {72, 71},
                                                          .n_observations = {6, 6},
                                                          .mean = {3.1, 3.0},
                                                          .shift = -0.1,
                                                          .freedom = 10.0,
                                                          .sd = 0.33,
                                                          .lo = -0.4,
                                                          .hi = 0.2,
                                                          .p_of_all = 0.6,
                                                          .p_least = 0.002,
                                                          .visible = 0.42,
                                                          .n_needed = 40};
    made->sheet = (struct sh_comparison_sheet){.athlete = "wren",
                                               .side = {"thin", "thick"},
                                               .key = "tab",
                                               .set = &made->set,
                                               .comparison = &made->comparison,
                                               .seed = 1};
}

void made_comparison_add_change(struct made_comparison *made)
{
    made->comparison.figure[MADE_RING_SHARE] =
        (struct sh_before_after){.why = SH_BEFORE_AFTER_KNOWN,
                                 .n_arrows = {72, 71},
                                 .n_observations = {6, 6},
                                 .mean = {0.22, 0.199},
                                 .shift = -0.021,
                                 .freedom = 10.0,
                                 .sd = 0.0072,
                                 .lo = -0.03,
                                 .hi = -0.012,
                                 .p_of_all = 0.01,
                                 .p_least = 0.002,
                                 .visible = 0.012,
                                 .n_needed = 4};
}
