/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/rating.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_names(void **state)
{
    enum sh_rating_when when = SH_RATING_BEFORE;
    for (int i = 0; i <= SH_RATING_AFTER; i++) {
        assert_true(sh_rating_when_find(sh_rating_when_name((enum sh_rating_when)i), &when));
        assert_int_equal(when, i);
    }
    assert_false(sh_rating_when_find("noon", &when));
    assert_int_equal(when, SH_RATING_AFTER);
}

static void test_order_and_rises(void **state)
{
    struct sh_rating ratings[] = {
        {11, SH_RATING_AFTER, 3.0},  {10, SH_RATING_DURING, 2.0}, {11, SH_RATING_BEFORE, 1.0},
        {10, SH_RATING_DURING, 4.0}, {10, SH_RATING_BEFORE, 2.0}, {12, SH_RATING_BEFORE, 3.0},
    };
    static const double wanted[] = {2.0, 2.0, 4.0, 1.0, 3.0, 3.0};
    static const bool rises[] = {false, false, true, false, true, false};
    const size_t n = sizeof ratings / sizeof ratings[0];
    sh_rating_sort(ratings, n);
    for (size_t i = 0; i < n; i++) {
        assert_near(ratings[i].rating, wanted[i], 0, 0);
        assert_int_equal(sh_rating_is_rise(ratings, i), rises[i]);
    }
}

static void test_cautions(void **state)
{
    assert_non_null(strstr(sh_rating_get_stop_caution(), "stop"));
    assert_non_null(strstr(sh_rating_get_stop_caution(), "licensed practice"));
    assert_non_null(strstr(sh_rating_get_ask_caution(), "ask your specialist"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names),
        cmocka_unit_test(test_order_and_rises),
        cmocka_unit_test(test_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
