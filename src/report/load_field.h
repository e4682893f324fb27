/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_LOAD_FIELD_H
#define SH_REPORT_LOAD_FIELD_H

#include "base/status.h"
#include "report/load_sheet.h"

/*
 * The machine-readable figures of a day or a week, one after the other: JSON and CSV are made
 * from the same list. docs/load.md has their meaning. Test: tests/report/test_load_sheet.c.
 */
struct sh_load_field {
    const char *key;
    size_t n_parts; /* 1, or 3: index, middle, ring */
    bool is_known[SH_DAY_LOAD_FINGERS];
    double number[SH_DAY_LOAD_FINGERS];
};

struct sh_load_field_sink {
    enum sh_status (*field)(void *context, const struct sh_load_field *field);
    void *context;
};

/* Gives the fields of a day's load, or a week's. level_n as of the sheet. A status of the sink
 * stops it and comes back. */
enum sh_status sh_load_field_each_amount(const struct sh_day_load *load,
                                         double level_n,
                                         const struct sh_load_field_sink *sink);

/* Gives the fields of a day's running averages. The same. */
enum sh_status sh_load_field_each_average(const struct sh_load_history_row *row,
                                          const struct sh_load_field_sink *sink);

#endif
