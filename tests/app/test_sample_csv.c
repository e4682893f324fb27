/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/sample_csv.h"

#include "support/cmocka_all.h"

static void check(const struct sh_stream *stream, size_t channel, const char *expected)
{
    char name[SH_SAMPLE_CSV_NAME_BYTES];
    sh_sample_csv_format_name(stream, channel, name);
    assert_string_equal(name, expected);
}

static void test_names(void **state)
{
    static struct sh_stream stream;
    stream.n_channels = 7;
    stream.channel[0].role = SH_ROLE_STRING_FORCE;
    stream.channel[1].role = SH_ROLE_FINGER_FORCE;
    stream.channel[1].finger = SH_FINGER_RING;
    stream.channel[2].role = SH_ROLE_BOW_ACCELERATION;
    stream.channel[2].axis = SH_AXIS_X;
    stream.channel[3].role = SH_ROLE_CLICKER_CONTACT;
    stream.channel[4].role = SH_ROLE_SOUND;
    stream.channel[5].role = SH_ROLE_STRING_FORCE;
    stream.channel[6].role = SH_ROLE_STRING_FORCE;
    check(&stream, 0, "string_force_n");
    check(&stream, 1, "finger_force_ring_n");
    check(&stream, 2, "bow_acceleration_x_m_s2");
    check(&stream, 3, "clicker_contact");
    check(&stream, 4, "sound");
    check(&stream, 5, "string_force_n_2");
    check(&stream, 6, "string_force_n_3");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
