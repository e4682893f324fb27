/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/stamp.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "support/cmocka_all.h"

/* Zones are POSIX texts, so that no table of them is needed; their sign is west. */
static void check_zone(const char *zone, int offset_min)
{
    struct sh_session session = {0};
    struct tm read = {0};
    assert_int_equal(setenv("TZ", zone, 1), 0);
    tzset();
    time_t before = time(NULL);
    sh_stamp_session(&session);
    time_t after = time(NULL);
    assert_int_equal(session.utc_offset_min, offset_min);
    assert_int_equal(strlen(session.started), strlen("2026-05-14T09:30:00.000Z"));
    char *rest = strptime(session.started, "%Y-%m-%dT%H:%M:%S", &read);
    assert_non_null(rest);
    assert_true(rest[0] == '.' && rest[4] == 'Z');
    time_t stamped = timegm(&read);
    assert_true(stamped >= before && stamped <= after);
}

static void test_utc_and_offset(void **state)
{
    check_zone("UTC0", 0);
    check_zone("KLN-2", 120);
    check_zone("KLN3:30", -210);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_utc_and_offset),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
