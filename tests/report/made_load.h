/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_REPORT_MADE_LOAD_H
#define SH_TESTS_REPORT_MADE_LOAD_H

#include "report/load_sheet.h"

/*
 * A sheet made by hand, from Thursday 2026-05-07 to 2026-05-16: measured (one shot, one
 * let-down, one draw that clipped), rest, unknown twice, draws by hand, a recording that could
 * not be read, measured again; limits of each form, ratings that rise, sensors with and without
 * calibration. With is_long, thirty measured days come before, so that the ratio is known on
 * the 7th.
 */
struct made_load {
    struct sh_day_load_list days;
    struct sh_load_history history;
    struct sh_person_limit limit[4];
    struct sh_load_sheet_limit entry[4];
    struct sh_rating rating[3];
    struct sh_load_sheet_verdict verdict[2];
    struct sh_load_sheet_sensor sensor[3];
    struct sh_load_sheet sheet;
};

/* To be closed. Fails the running test where it cannot. */
void made_load_open(struct made_load *made, bool is_long);
void made_load_close(struct made_load *made);

#endif
