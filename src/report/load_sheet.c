/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_sheet.h"

#include "base/day.h"

const struct sh_load_history_row *sh_load_sheet_find(const struct sh_load_sheet *sheet, int day)
{
    const struct sh_load_history *history = sheet->history;
    if (history->n_rows == 0 || day < history->rows[0].day) {
        return NULL;
    }
    size_t index = (size_t)((long)day - history->rows[0].day);
    return index < history->n_rows ? &history->rows[index] : NULL;
}

struct sh_day_load sh_load_sheet_get_week(const struct sh_load_sheet *sheet, int monday)
{
    struct sh_day_load week = {0};
    for (int day = monday; day < monday + SH_DAY_WEEK; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row != NULL && day >= sheet->first_day && day <= sheet->last_day) {
            sh_day_load_add_day(&week, row->load);
        }
    }
    return week;
}

bool sh_load_sheet_has_draws(const struct sh_load_sheet *sheet)
{
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row != NULL && row->load->n_draws > 0) {
            return true;
        }
    }
    return false;
}
