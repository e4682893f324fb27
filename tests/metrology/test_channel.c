/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/channel.h"

#include "support/cmocka_all.h"

static void test_names_lead_back(void **state)
{
    for (int i = SH_ROLE_STRING_FORCE; i <= SH_ROLE_SOUND; i++) {
        enum sh_role role = SH_ROLE_SOUND;
        assert_true(sh_channel_role_find(sh_channel_role_name((enum sh_role)i), &role));
        assert_int_equal(role, i);
    }
    for (int i = SH_AXIS_X; i <= SH_AXIS_Z; i++) {
        enum sh_axis axis = SH_AXIS_NONE;
        assert_true(sh_channel_axis_find(sh_channel_axis_name((enum sh_axis)i), &axis));
        assert_int_equal(axis, i);
    }
    for (int i = SH_FINGER_INDEX; i <= SH_FINGER_RING; i++) {
        enum sh_finger finger = SH_FINGER_NONE;
        assert_true(sh_channel_finger_find(sh_channel_finger_name((enum sh_finger)i), &finger));
        assert_int_equal(finger, i);
    }
}

static void test_unknown_names_find_nothing(void **state)
{
    enum sh_role role = SH_ROLE_SOUND;
    enum sh_axis axis = SH_AXIS_Y;
    enum sh_finger finger = SH_FINGER_RING;
    assert_false(sh_channel_role_find("String_Force", &role));
    assert_false(sh_channel_axis_find("", &axis));
    assert_false(sh_channel_finger_find("thumb", &finger));
    assert_int_equal(role, SH_ROLE_SOUND);
    assert_int_equal(axis, SH_AXIS_Y);
    assert_int_equal(finger, SH_FINGER_RING);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_names_lead_back),
        cmocka_unit_test(test_unknown_names_find_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
