/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_REPORT_COLUMN_H
#define SH_REPORT_COLUMN_H

#include <stddef.h>

#include "finding/analysis.h"
#include "report/figure.h"

/*
 * The measures that people are shown in tables, in the order in which they are shown: one
 * column each, in the unit people use (mm, ms and per cent where SI would be unhandy). All
 * other measures are in the machine-readable output.
 */
struct sh_column {
    enum sh_measure measure;
    size_t part;
    const char *head; /* short: "hold" */
    const char *unit; /* "mm" */
    double factor;    /* SI to unit */
};

#define SH_COLUMN_COUNT 27u

/* Column i, below SH_COLUMN_COUNT; static. Test: tests/report/test_column.c. */
const struct sh_column *sh_column_get(size_t i);

/* The quantity of a column in a record, in SI; never NULL, into record. */
const struct sh_quantity *sh_column_get_quantity(const struct sh_column *column,
                                                 const struct sh_shot_record *record);

/*
 * The figure of a column as text (report/figure.h) in the column's unit; "over 450.0" where the
 * sensor reached its range.
 */
void sh_column_format(const struct sh_column *column,
                      const struct sh_shot_record *record,
                      char cell[SH_FIGURE_BYTES]);

/*
 * Columns of a terminal that the widest of head, unit and figures takes; 0 where no draw knows
 * the measure. Cost: O(shots).
 */
size_t sh_column_find_width(const struct sh_column *column, const struct sh_analysis *analysis);

/* The record that says why a measure is unknown: the first shot, else the first draw. There is
 * one at least. */
const struct sh_shot_record *sh_column_find_first(const struct sh_analysis *analysis);

#endif
