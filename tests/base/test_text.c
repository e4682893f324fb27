/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/text.h"

#include <string.h>

#include "support/cmocka_all.h"

static void test_grows(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    for (int i = 0; i < 5000; i++) {
        sh_text_printf(&text, "%d,", i);
    }
    assert_int_equal(text.status, SH_OK);
    assert_int_equal(text.n_bytes, strlen(text.data));
    assert_string_equal(text.data + text.n_bytes - 10, "4998,4999,");
    sh_text_reset(&text);
    assert_string_equal(text.data, "");
    sh_text_close(&text);
    sh_text_close(&text);
    assert_null(text.data);
}

static void test_limit(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 8);
    sh_text_puts(&text, "1234567");
    assert_int_equal(text.status, SH_OK);
    sh_text_puts(&text, "8");
    assert_int_equal(text.status, SH_ERR_FULL);
    assert_string_equal(text.data, "1234567");
    sh_text_reset(&text);
    sh_text_puts(&text, "ok");
    assert_string_equal(text.data, "ok");
    sh_text_close(&text);
}

static void test_markup(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_put_markup(&text, "<b a='x' c=\"y\">&</b> m/s²");
    assert_string_equal(text.data,
                        "&lt;b a=&#39;x&#39; c=&quot;y&quot;&gt;&amp;&lt;/b&gt; m/s²");
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_grows),
        cmocka_unit_test(test_limit),
        cmocka_unit_test(test_markup),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
