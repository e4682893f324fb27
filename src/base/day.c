/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/day.h"

#include <stdio.h>
#include <string.h>

#define TEXT_BYTES    10u
#define YEAR_MAX      9999
#define YEAR_DAYS     365
#define FOUR_YEARS    4
#define CENTURY_YEARS 100
#define CYCLE_YEARS   400
#define CYCLE_DAYS    146097 /* of 400 years */
#define EPOCH_DAYS    719162 /* from 0001-01-01 to 1970-01-01 */
#define DAY_MIN       1440
#define HOUR_MIN      60
#define MONDAY_SHIFT  3 /* 1970-01-01 was a Thursday */
#define MONTHS        12

static bool is_leap(int year)
{
    return (year % FOUR_YEARS == 0 && year % CENTURY_YEARS != 0) || year % CYCLE_YEARS == 0;
}

static int count_month_days(int year, int month)
{
    static const int days[MONTHS] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    return days[month - 1] + (month == 2 && is_leap(year) ? 1 : 0);
}

/* Days from 0001-01-01 to the first day of a year. */
static int count_year_days(int year)
{
    int before = year - 1;
    return before * YEAR_DAYS + before / FOUR_YEARS - before / CENTURY_YEARS +
           before / CYCLE_YEARS;
}

/* n digits as a number; -1 where one of them is none. */
static int parse_digits(const char *text, size_t n)
{
    int number = 0;
    for (size_t i = 0; i < n; i++) {
        if (text[i] < '0' || text[i] > '9') {
            return -1;
        }
        number = 10 * number + (text[i] - '0');
    }
    return number;
}

/* The ten bytes of a date at the start of a text. */
static bool parse_date(const char *text, int *day)
{
    if (strlen(text) < TEXT_BYTES || text[4] != '-' || text[7] != '-') {
        return false;
    }
    int year = parse_digits(text, 4);
    int month = parse_digits(text + 5, 2);
    int of_month = parse_digits(text + 8, 2);
    if (year < 1 || month < 1 || month > MONTHS || of_month < 1 ||
        of_month > count_month_days(year, month)) {
        return false;
    }
    int number = count_year_days(year) - EPOCH_DAYS + of_month - 1;
    for (int i = 1; i < month; i++) {
        number += count_month_days(year, i);
    }
    *day = number;
    return true;
}

bool sh_day_parse(const char *text, int *day)
{
    return strlen(text) == TEXT_BYTES && parse_date(text, day);
}

bool sh_day_parse_instant(const char *text, int offset_min, int *day)
{
    int utc = 0;
    if (!parse_date(text, &utc) || strlen(text) < TEXT_BYTES + 6 || text[10] != 'T' ||
        text[13] != ':') {
        return false;
    }
    int hour = parse_digits(text + 11, 2);
    int minute = parse_digits(text + 14, 2);
    if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || offset_min < -DAY_MIN ||
        offset_min > DAY_MIN) {
        return false;
    }
    int local_min = hour * HOUR_MIN + minute + offset_min;
    int shift = local_min < 0 ? -((DAY_MIN - 1 - local_min) / DAY_MIN) : local_min / DAY_MIN;
    *day = utc + shift;
    return true;
}

void sh_day_format(int day, char text[SH_DAY_BYTES])
{
    int left = day + EPOCH_DAYS;
    text[0] = '\0';
    if (left < 0 || left >= count_year_days(YEAR_MAX + 1)) {
        return;
    }
    int year = 1 + CYCLE_YEARS * (left / CYCLE_DAYS);
    while (count_year_days(year + 1) <= left) {
        year++;
    }
    left -= count_year_days(year);
    int month = 1;
    while (left >= count_month_days(year, month)) {
        left -= count_month_days(year, month);
        month++;
    }
    /* four, two and two digits: the ranges stand above */
    (void)snprintf(text, SH_DAY_BYTES, "%04u-%02u-%02u", (unsigned)year % (YEAR_MAX + 1u),
                   (unsigned)month % 100u, (unsigned)(left + 1) % 100u);
}

int sh_day_get_monday(int day)
{
    int since = (day + MONDAY_SHIFT) % SH_DAY_WEEK;
    return day - (since < 0 ? since + SH_DAY_WEEK : since);
}
