/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_value.h"

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define BLANKS         " \t"
#define NUMBER_LETTERS "0123456789+-.eE"
#define DATE_DIGITS    "0123456789"
#define DATE_BYTES     10u
#define MONTHS_IN_YEAR 12
#define FEBRUARY       2

static enum sh_status
refuse(const struct sh_profile_line *line, const char *todo, const char *what)
{
    return sh_error_set(line->err, SH_ERR_FORMAT, line->where, todo, "%s = %s: %s", line->key,
                        line->value, what);
}

/* Reads one number at *at and moves *at behind it. */
static bool take_number(const char **at, double *out)
{
    size_t n_bytes = strspn(*at, NUMBER_LETTERS);
    char *end = NULL;
    double value = strtod(*at, &end);
    if (n_bytes == 0 || end != *at + n_bytes || !isfinite(value)) {
        return false;
    }
    *at = end;
    *out = value;
    return true;
}

enum sh_status sh_profile_value_number(const struct sh_profile_line *line,
                                       double low,
                                       double high,
                                       double *out)
{
    const char *at = line->value;
    double value = 0.0;
    if (!take_number(&at, &value) || *at != '\0') {
        return refuse(line, "give one number, such as 0.0125", "this is no number");
    }
    if (value < low || value > high) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "check the value",
                            "%s = %s: outside %g to %g", line->key, line->value, low, high);
    }
    *out = value;
    return SH_OK;
}

enum sh_status
sh_profile_value_integer(const struct sh_profile_line *line, int low, int high, int *out)
{
    double value = 0.0;
    if (strpbrk(line->value, ".eE") != NULL) {
        return refuse(line, "give a whole number", "this is no whole number");
    }
    enum sh_status status = sh_profile_value_number(line, low, high, &value);
    if (status == SH_OK) {
        *out = (int)value;
    }
    return status;
}

enum sh_status
sh_profile_value_numbers(const struct sh_profile_line *line, size_t n, double *out)
{
    const char *at = line->value;
    for (size_t i = 0; i < n; i++) {
        const char *before = at;
        if (i > 0) {
            at += strspn(at, BLANKS);
            at += *at == ',' ? 1 : 0;
            at += strspn(at, BLANKS);
        }
        if ((i > 0 && at == before) || !take_number(&at, &out[i])) {
            return sh_error_set(line->err, SH_ERR_FORMAT, line->where,
                                "separate the numbers by blanks or commas",
                                "%s = %s: %zu numbers are wanted", line->key, line->value, n);
        }
    }
    if (*at != '\0') {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "take the rest away",
                            "%s = %s: %zu numbers are wanted", line->key, line->value, n);
    }
    return SH_OK;
}

enum sh_status
sh_profile_value_text(const struct sh_profile_line *line, char *to, size_t n_bytes)
{
    size_t length = strlen(line->value);
    if (length == 0) {
        return refuse(line, "give a value or take the line away", "nothing is given");
    }
    if (length >= n_bytes) {
        return sh_error_set(line->err, SH_ERR_FORMAT, line->where, "shorten it",
                            "%s: over %zu bytes", line->key, n_bytes - 1);
    }
    memcpy(to, line->value, length + 1);
    return SH_OK;
}

static int days_of_month(int year, int month)
{
    static const int days[MONTHS_IN_YEAR] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool is_leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return days[month - 1] + (month == FEBRUARY && is_leap ? 1 : 0);
}

static bool is_date(const char *text)
{
    if (strlen(text) != DATE_BYTES || strspn(text, DATE_DIGITS) != 4 || text[4] != '-' ||
        strspn(text + 5, DATE_DIGITS) != 2 || text[7] != '-' ||
        strspn(text + 8, DATE_DIGITS) != 2) {
        return false;
    }
    long year = strtol(text, NULL, 10);
    long month = strtol(text + 5, NULL, 10);
    long day = strtol(text + 8, NULL, 10);
    return month >= 1 && month <= MONTHS_IN_YEAR && day >= 1 &&
           day <= days_of_month((int)year, (int)month);
}

enum sh_status sh_profile_value_date(const struct sh_profile_line *line, char to[11])
{
    if (!is_date(line->value)) {
        return refuse(line, "give the day as 2026-05-01", "this is no day of the calendar");
    }
    memcpy(to, line->value, DATE_BYTES + 1);
    return SH_OK;
}
