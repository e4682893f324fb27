/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "base/digest.h"

#include <string.h>

#include "support/cmocka_all.h"

/* Test vectors of FNV-1a, 64 bits: draft-eastlake-fnv, its appendix (from memory). */
static void test_vectors(void **state)
{
    static const struct {
        const char *text;
        const char *digest;
    } vectors[] = {
        {"", "cbf29ce484222325"},
        {"a", "af63dc4c8601ec8c"},
        {"foobar", "85944171f73967e8"},
    };
    for (size_t i = 0; i < sizeof vectors / sizeof vectors[0]; i++) {
        char text[SH_DIGEST_TEXT_BYTES];
        sh_digest_format(
            sh_digest_push(SH_DIGEST_EMPTY, vectors[i].text, strlen(vectors[i].text)), text);
        assert_string_equal(text, vectors[i].digest);
    }
}

static void test_pieces_are_the_whole(void **state)
{
    const uint64_t whole = sh_digest_push(SH_DIGEST_EMPTY, "tuesday", 7);
    assert_true(sh_digest_push(sh_digest_push(SH_DIGEST_EMPTY, "tue", 3), "sday", 4) == whole);
    assert_true(sh_digest_push(SH_DIGEST_EMPTY, "tuesdaz", 7) != whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_vectors),
        cmocka_unit_test(test_pieces_are_the_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
