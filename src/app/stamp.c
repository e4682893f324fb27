/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/stamp.h"

#include <stdio.h>
#include <time.h>

#define SECONDS_PER_MIN 60
#define NS_PER_MS       1000000

void sh_stamp_session(struct sh_session *session)
{
    struct timespec now = {0};
    struct tm utc = {0};
    struct tm local = {0};
    char second[32];
    (void)clock_gettime(CLOCK_REALTIME, &now);
    (void)gmtime_r(&now.tv_sec, &utc);
    (void)localtime_r(&now.tv_sec, &local);
    (void)strftime(second, sizeof second, "%Y-%m-%dT%H:%M:%S", &utc);
    (void)snprintf(session->started, sizeof session->started, "%s.%03ldZ", second,
                   now.tv_nsec / NS_PER_MS);
    session->utc_offset_min = (int)(local.tm_gmtoff / SECONDS_PER_MIN);
}
