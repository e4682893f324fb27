/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/event_share.h"

#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_stream string = {
    .n_channels = 2,
    .channel = {{.role = SH_ROLE_STRING_FORCE, .delay_u_s = 0.001},
                {.role = SH_ROLE_CLICKER_CONTACT, .delay_u_s = 0.002}}};
static const struct sh_stream bow = {
    .n_channels = 1, .channel = {{.role = SH_ROLE_BOW_ACCELERATION, .delay_u_s = 0.003}}};

static void make(struct sh_shot_view *view, struct sh_shot *shot)
{
    *view = (struct sh_shot_view){
        .n_streams = 2,
        .stream = {{.stream = &string, .time_u_s = 0.01}, {.stream = &bow, .time_u_s = 0.02}},
        .force = {.is_present = true, .delay_u_s = 0.001, .time_u_s = 0.011}};
    *shot = (struct sh_shot){.clicker_sensor = SH_CLICKER_CONTACT};
    for (int e = 0; e < SH_EVENT_COUNT; e++) {
        shot->event_s[e] = sh_quantity_known(1.0, 0.1);
    }
}

static void test_of_force_and_contact(void **state)
{
    struct sh_shot_view view;
    struct sh_shot shot;
    make(&view, &shot);
    shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_unknown(SH_WHY_GAP);
    sh_event_share_set(&view, &shot);
    const struct sh_event_share *full_draw = &shot.event_share[SH_EVENT_FULL_DRAW];
    assert_true(full_draw->is_known);
    assert_int_equal(full_draw->stream, 0);
    assert_int_equal(full_draw->channel, 0);
    assert_near(full_draw->clock_u_s, 0.011, 0.0, 0.0);
    assert_near(full_draw->delay_u_s, 0.001, 0.0, 0.0);
    assert_int_equal(shot.event_share[SH_EVENT_CLICKER].stream, 0);
    assert_int_equal(shot.event_share[SH_EVENT_CLICKER].channel, 1);
    assert_near(shot.event_share[SH_EVENT_CLICKER].clock_u_s, 0.01, 0.0, 0.0);
    assert_near(shot.event_share[SH_EVENT_CLICKER].delay_u_s, 0.002, 0.0, 0.0);
    assert_false(shot.event_share[SH_EVENT_DRAW_START].is_known);
    assert_false(shot.event_share[SH_EVENT_END].is_known);
}

static void test_without_force(void **state)
{
    struct sh_shot_view view;
    struct sh_shot shot;
    make(&view, &shot);
    view.force.is_present = false;
    shot.clicker_sensor = SH_CLICKER_SOUND; /* no such channel */
    sh_event_share_set(&view, &shot);
    assert_int_equal(shot.event_share[SH_EVENT_RELEASE].stream, 1);
    assert_near(shot.event_share[SH_EVENT_RELEASE].delay_u_s, 0.003, 0.0, 0.0);
    assert_false(shot.event_share[SH_EVENT_CLICKER].is_known);
    shot.clicker_sensor = SH_CLICKER_ACCELERATION;
    sh_event_share_set(&view, &shot);
    assert_int_equal(shot.event_share[SH_EVENT_CLICKER].stream, 1);
    shot.clicker_sensor = SH_CLICKER_NONE;
    sh_event_share_set(&view, &shot);
    assert_false(shot.event_share[SH_EVENT_CLICKER].is_known);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_of_force_and_contact),
        cmocka_unit_test(test_without_force),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
