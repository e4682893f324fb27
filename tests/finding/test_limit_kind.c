/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/limit_kind.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static void test_what_can_be_limited(void **state)
{
    static const struct {
        const char *what;
        enum sh_limit_what kind;
        const char *unit;
        double factor;
    } cases[] = {
        {"finger_peak_n", SH_LIMIT_WHAT_PEAK, "N", 1.0},
        {"finger_impulse_n_s", SH_LIMIT_WHAT_IMPULSE, "N s", 1.0},
        {"finger_share", SH_LIMIT_WHAT_SHARE, "%", 100.0},
        {"draws", SH_LIMIT_WHAT_DRAWS, "draws", 1.0},
        {"rest_s", SH_LIMIT_WHAT_REST, "s", 1.0},
        {"hold_time_s", SH_LIMIT_WHAT_MEASURE, "s", 1.0},
        {"finger_share_change", SH_LIMIT_WHAT_MEASURE, "%", 100.0},
        {"ring_damping", SH_LIMIT_WHAT_MEASURE, "1", 1.0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_limit_kind kind;
        assert_true(sh_limit_kind_find(cases[i].what, &kind));
        assert_int_equal(kind.what, cases[i].kind);
        assert_string_equal(kind.unit, cases[i].unit);
        assert_near(kind.factor, cases[i].factor, 0, 0);
        assert_true(kind.title[0] != '\0');
    }
    struct sh_limit_kind kind = {.what = SH_LIMIT_WHAT_REST};
    assert_false(sh_limit_kind_find("patience", &kind));
    assert_int_equal(kind.what, SH_LIMIT_WHAT_REST);
}

static void test_what_can_be_watched(void **state)
{
    static const struct {
        const char *what;
        const char *finger;
        const char *per;
        bool is_most;
        const char *wrong; /* a word of it; NULL: nothing is */
    } cases[] = {
        {"finger_peak_n", "ring", "shot", true, NULL},
        {"finger_peak_n", "ring", "day", true, NULL},
        {"finger_peak_n", "", "shot", true, "name a finger"},
        {"finger_peak_n", "thumb", "shot", true, "no such finger"},
        {"finger_peak_n", "ring", "week", true, "no such span"},
        {"finger_impulse_n_s", "", "day", true, NULL},
        {"finger_impulse_n_s", "index", "session", true, NULL},
        {"finger_share", "ring", "shot", false, NULL},
        {"draws", "", "day", true, NULL},
        {"draws", "", "shot", true, "one draw"},
        {"draws", "ring", "day", true, "no figure of a finger"},
        {"rest_s", "", "shot", false, NULL},
        {"rest_s", "", "shot", true, "least"},
        {"rest_s", "", "day", false, "each shot only"},
        {"hold_time_s", "", "shot", true, NULL},
        {"hold_time_s", "", "day", true, "each shot only"},
        {"tremor_band_n", "", "shot", true, "bands"},
        {"patience", "", "day", true, "nothing of this name"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const char *wrong =
            sh_limit_kind_check(cases[i].what, cases[i].finger, cases[i].per, cases[i].is_most);
        if (cases[i].wrong == NULL) {
            assert_null(wrong);
        } else {
            assert_non_null(wrong);
            assert_non_null(strstr(wrong, cases[i].wrong));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_can_be_limited),
        cmocka_unit_test(test_what_can_be_watched),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
