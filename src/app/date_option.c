/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/date_option.h"

#include <string.h>
#include <time.h>

#include "base/day.h"

int sh_date_option_get_today(void)
{
    struct tm local = {0};
    char text[SH_DAY_BYTES];
    int day = 0;
    time_t now = time(NULL);
    (void)localtime_r(&now, &local);
    if (strftime(text, sizeof text, "%Y-%m-%d", &local) > 0) {
        (void)sh_day_parse(text, &day);
    }
    return day;
}

enum sh_status
sh_date_option_parse(const char *where, const char *text, int *day, struct sh_error *err)
{
    if (strcmp(text, "today") == 0 || strcmp(text, "yesterday") == 0) {
        *day = sh_date_option_get_today() - (text[0] == 'y' ? 1 : 0);
        return SH_OK;
    }
    return sh_day_parse(text, day)
               ? SH_OK
               : sh_error_set(err, SH_ERR_ARGUMENT, where,
                              "write it as 2026-05-14, or today or yesterday",
                              "'%s' is no day of the calendar", text);
}
