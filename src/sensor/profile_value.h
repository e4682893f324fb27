/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_PROFILE_VALUE_H
#define SH_SENSOR_PROFILE_VALUE_H

#include <stddef.h>

#include "base/status.h"

/*
 * Strict reading of the values of a sensor profile. Every function answers SH_ERR_FORMAT, and
 * says in line->err what is wrong and what to do, where the value is not exactly of its kind;
 * nothing is cut or clamped. Tests: tests/sensor/test_profile.c.
 */

/* One "key = value" of a profile. All borrowed. */
struct sh_profile_line {
    const char *where; /* "gauge.ini:12" */
    const char *key;
    const char *value;
    struct sh_error *err;
};

/* A decimal number, low <= value <= high ("inf", "nan" and hexadecimal are none). */
enum sh_status sh_profile_value_number(const struct sh_profile_line *line,
                                       double low,
                                       double high,
                                       double *out);

/* A whole number, low <= value <= high. */
enum sh_status
sh_profile_value_integer(const struct sh_profile_line *line, int low, int high, int *out);

/* n numbers (1 to 16), separated by blanks or a comma. */
enum sh_status
sh_profile_value_numbers(const struct sh_profile_line *line, size_t n, double *out);

/* A text that is not empty and fits n_bytes with its end. */
enum sh_status
sh_profile_value_text(const struct sh_profile_line *line, char *to, size_t n_bytes);

/* A day of the calendar, "2026-05-01"; to holds 11 bytes. */
enum sh_status sh_profile_value_date(const struct sh_profile_line *line, char to[11]);

#endif
