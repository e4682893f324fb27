/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/cobs.h"

#include <string.h>

#include "support/cmocka_all.h"

#define LONGEST 600u

/* Examples as published with the method (Cheshire and Baker 1999). */
static void test_published_examples(void **state)
{
    static const struct {
        uint8_t plain[4];
        size_t n_plain;
        uint8_t coded[6];
        size_t n_coded;
    } cases[] = {
        {{0}, 0, {1}, 1},
        {{0}, 1, {1, 1}, 2},
        {{0, 0}, 2, {1, 1, 1}, 3},
        {{0x11, 0x22, 0x00, 0x33}, 4, {0x03, 0x11, 0x22, 0x02, 0x33}, 5},
        {{0x11, 0x22, 0x33, 0x44}, 4, {0x05, 0x11, 0x22, 0x33, 0x44}, 5},
        {{0x11, 0x00, 0x00, 0x00}, 4, {0x02, 0x11, 0x01, 0x01, 0x01}, 5},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        uint8_t to[8] = {0};
        assert_int_equal(sh_cobs_encode(cases[i].plain, cases[i].n_plain, to),
                         cases[i].n_coded);
        assert_memory_equal(to, cases[i].coded, cases[i].n_coded);
        size_t n = 99;
        assert_int_equal(sh_cobs_decode(cases[i].coded, cases[i].n_coded, to, &n), SH_OK);
        assert_int_equal(n, cases[i].n_plain);
        assert_memory_equal(to, cases[i].plain, n);
    }
}

/* Every length around the groups of 254, with zeros here and there and with none. */
static void test_leads_back(void **state)
{
    uint8_t plain[LONGEST];
    uint8_t coded[SH_COBS_ENCODED_MAX(LONGEST)];
    for (size_t zero_each = 0; zero_each < 300; zero_each += 37) {
        for (size_t i = 0; i < LONGEST; i++) {
            uint8_t byte = (uint8_t)(1 + i % 255);
            plain[i] = zero_each != 0 && i % zero_each == 0 ? 0 : byte;
        }
        for (size_t n = 0; n <= LONGEST; n++) {
            size_t n_coded = sh_cobs_encode(plain, n, coded);
            assert_true(n_coded <= SH_COBS_ENCODED_MAX(n));
            assert_null(memchr(coded, 0, n_coded));
            size_t n_back = 0;
            assert_int_equal(sh_cobs_decode(coded, n_coded, coded, &n_back), SH_OK);
            assert_int_equal(n_back, n);
            assert_memory_equal(coded, plain, n);
        }
    }
}

static void test_full_group_with_and_without_tail(void **state)
{
    uint8_t coded[256];
    memset(coded, 7, sizeof coded);
    coded[0] = 0xFF;
    coded[255] = 1;
    uint8_t to[256];
    size_t n = 0;
    assert_int_equal(sh_cobs_decode(coded, 255, to, &n), SH_OK);
    assert_int_equal(n, 254);
    assert_int_equal(sh_cobs_decode(coded, 256, to, &n), SH_OK);
    assert_int_equal(n, 254);
}

static void test_refuses(void **state)
{
    static const uint8_t zero_inside[] = {3, 1, 0};
    static const uint8_t zero_code[] = {2, 1, 0, 1};
    static const uint8_t too_far[] = {4, 1, 1};
    uint8_t to[8];
    size_t n = 0;
    assert_int_equal(sh_cobs_decode(zero_inside, 3, to, &n), SH_ERR_FORMAT);
    assert_int_equal(sh_cobs_decode(zero_code, 4, to, &n), SH_ERR_FORMAT);
    assert_int_equal(sh_cobs_decode(too_far, 3, to, &n), SH_ERR_FORMAT);
    assert_int_equal(sh_cobs_decode(too_far, 0, to, &n), SH_ERR_FORMAT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_examples),
        cmocka_unit_test(test_leads_back),
        cmocka_unit_test(test_full_group_with_and_without_tail),
        cmocka_unit_test(test_refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
