/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_READING_TABLE_H
#define SH_APP_READING_TABLE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "metrology/calibration.h"
#include "metrology/load_drift.h"

/*
 * The readings of a calibration as they were taken, from the dialogue or from a file: masses
 * and counts, and a record under a steady load.
 *
 *     # mass, counts, noise, samples, way
 *     0, 812.2, 3.1, 2000
 *     5 kg, 4735.0, 3.0, 2000
 *     5 kg, 4736.1, 3.2, 2000, down
 *     steady, 0.5, 16500.2        (seconds since the load came on, counts)
 *
 * Noise (SD of a sample) and the number of samples may be left out; the way is down after a
 * larger mass unless it is given. Test: tests/app/test_reading_table.c.
 */

struct sh_reading_table_row {
    double mass_kg;
    double counts;
    double noise_counts; /* 0: not known */
    double n_samples;    /* 1 or more */
    bool is_down;
    bool is_unsettled; /* it was still moving */
};

struct sh_reading_table {
    struct sh_reading_table_row row[SH_CALIBRATION_READINGS_MAX];
    size_t n;
    double steady_s[SH_LOAD_DRIFT_POINTS_MAX];
    double steady_counts[SH_LOAD_DRIFT_POINTS_MAX];
    size_t n_steady;
};

/* Appends a row; is_down is worked out where way is 0 (1: up, -1: down). SH_ERR_FULL. */
enum sh_status sh_reading_table_add(struct sh_reading_table *table,
                                    const struct sh_reading_table_row *row,
                                    int way);

/*
 * Reads a file. SH_ERR_FORMAT, with file and line, where a line cannot be read or there is no
 * reading; SH_ERR_FULL; statuses of sh_table_line_read.
 */
enum sh_status
sh_reading_table_read(const char *path, struct sh_reading_table *table, struct sh_error *err);

#endif
