/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/code.h"

#include <string.h>

#include "support/cmocka_all.h"

static void test_names_lead_back(void **state)
{
    for (int i = 0; i < SH_CODE_COUNT; i++) {
        enum sh_code code = SH_CODE_COUNT;
        assert_true(sh_code_find(sh_code_name((enum sh_code)i), &code));
        assert_int_equal(code, i);
        assert_true(strlen(sh_code_title((enum sh_code)i)) > 0);
    }
    enum sh_code code = SH_CODE_FLINCH;
    assert_false(sh_code_find("Creep", &code));
    assert_int_equal(code, SH_CODE_FLINCH);
}

/* The codes are fixed by the result format: docs/findings.md. */
static void test_codes_of_the_format(void **state)
{
    static const char *const codes[] = {
        "creep",         "flinch",    "collapse",     "early-loose", "anticipated-clicker",
        "late-reaction", "long-hold", "short-hold",   "tremor-rise", "rushed-set-up",
        "clock-risk",    "let-down",  "finger-slide", "finger-limit"};
    static const char *const qualities[] = {"clipped", "gap",       "short",     "noisy",
                                            "dead",    "corrected", "finger-sum"};
    assert_int_equal(sizeof codes / sizeof codes[0], SH_CODE_COUNT);
    for (int i = 0; i < SH_CODE_COUNT; i++) {
        assert_string_equal(sh_code_name((enum sh_code)i), codes[i]);
    }
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        assert_string_equal(sh_code_quality_name((enum sh_code_quality)i), qualities[i]);
        assert_true(strlen(sh_code_quality_title((enum sh_code_quality)i)) > 0);
    }
    assert_string_equal(sh_code_basis_name(SH_CODE_BASIS_FIXED), "fixed");
    assert_string_equal(sh_code_basis_name(SH_CODE_BASIS_USER), "user");
    assert_string_equal(sh_code_basis_name(SH_CODE_BASIS_HISTORY), "history");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_lead_back),
        cmocka_unit_test(test_codes_of_the_format),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
