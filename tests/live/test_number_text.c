/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/number_text.h"

#include <math.h>

#include "support/cmocka_all.h"

static void put_everything(struct sh_text *text)
{
    const double values[] = {1.5, (double)NAN, -0.25, (double)INFINITY};
    const struct sh_quantity known = sh_quantity_known(2.0, 0.1);
    const struct sh_quantity unknown = sh_quantity_unknown(SH_WHY_GAP);
    sh_number_text_put_list(text, values, 4, 6);
    sh_number_text_put(text, 1.0 / 3.0, 4);
    sh_number_text_put_quantity(text, &known, 6);
    sh_number_text_put_quantity(text, &unknown, 6);
    sh_number_text_put_string(text, "a \"w\"\n\xff");
    sh_number_text_put_name(text, "");
    sh_number_text_put_name(text, "x");
}

static void test_parts(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    put_everything(&text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data,
                        "[1.5,null,-0.25,null]0.33332null\"a \\\"w\\\"\\n\xef\xbf\xbd\""
                        "null\"x\"");
    sh_text_close(&text);
}

static void test_limit_is_kept(void **state)
{
    for (size_t limit = 1; limit < 60; limit++) {
        struct sh_text text;
        sh_text_init(&text, limit);
        put_everything(&text);
        assert_true(text.status == SH_OK ? text.n_bytes <= limit : text.status == SH_ERR_FULL);
        sh_text_close(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_parts),
        cmocka_unit_test(test_limit_is_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
