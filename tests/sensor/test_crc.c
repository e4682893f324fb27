/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/crc.h"

#include "support/cmocka_all.h"

/* Check value of CRC-16/CCITT-FALSE in the public catalogues of CRC algorithms. */
static void test_check_value(void **state)
{
    static const uint8_t digits[] = {'1', '2', '3', '4', '5', '6', '7', '8', '9'};
    assert_int_equal(sh_crc_ccitt_false(digits, sizeof digits), 0x29B1);
    assert_int_equal(sh_crc_ccitt_false(digits, 0), 0xFFFF);
}

/* A CRC of 16 bits sees every burst of up to 16 bits: here every flip of one and two bits. */
static void test_sees_flipped_bits(void **state)
{
    uint8_t packet[12] = {3, 1, 4, 1, 5, 9, 2, 6, 5, 3, 5, 8};
    uint16_t good = sh_crc_ccitt_false(packet, sizeof packet);
    for (size_t first = 0; first < 8 * sizeof packet; first++) {
        packet[first / 8] ^= (uint8_t)(1u << (first % 8));
        assert_int_not_equal(sh_crc_ccitt_false(packet, sizeof packet), good);
        for (size_t second = first + 1; second < 8 * sizeof packet; second++) {
            packet[second / 8] ^= (uint8_t)(1u << (second % 8));
            assert_int_not_equal(sh_crc_ccitt_false(packet, sizeof packet), good);
            packet[second / 8] ^= (uint8_t)(1u << (second % 8));
        }
        packet[first / 8] ^= (uint8_t)(1u << (first % 8));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_check_value),
        cmocka_unit_test(test_sees_flipped_bits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
