/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/people_document.h"

#include <string.h>

#include "support/cmocka_all.h"

static void test_everything(void **state)
{
    struct sh_person_limit limits[3] = {
        {.what = "finger_peak_n",
         .finger = "ring",
         .per = "shot",
         .most = {true, 45.0},
         .from = "2026-05-01",
         .until = "2026-06-01"},
        {.what = "draws", .per = "day", .most = {true, 60.0}, .until = "2026-05-13"},
        {.what = "rest_s", .per = "shot", .least = {true, 30.0}, .from = "2026-05-15"}};
    struct sh_person_goal goals[] = {
        {.what = "hold_time_s", .least = 1.5, .most = 2.5, .ended_on = "2026-04-30"},
        {.what = "hold_time_s", .least = 2.0, .most = 3.25, .set_by = "coach"}};
    const struct sh_person person = {
        .name = "wren", .limits = limits, .n_limits = 3, .goals = goals, .n_goals = 2};
    const struct sh_people_document_entry entry = {.name = "wren",
                                                   .n_shots = 144,
                                                   .n_recordings = 4,
                                                   .last = "2026-05-14T09:30:00.000Z",
                                                   .baseline = {{140, 3.25, 0.5}},
                                                   .person = &person,
                                                   .today = "2026-05-14"};
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_people_document_write(&entry, &text);
    assert_string_equal(
        text.data,
        "{\"name\":\"wren\",\"n_shots\":144,\"n_recordings\":4,"
        "\"last\":\"2026-05-14T09:30:00.000Z\",\"baselines\":[{\"measure\":\"hold_time_s\","
        "\"unit\":\"s\",\"median\":3.25,\"robust_sd\":0.5,\"n\":140}],\"limits\":["
        "{\"what\":\"finger_peak_n\",\"finger\":\"ring\",\"value\":null,\"most\":45,"
        "\"least\":null,\"unit\":\"N\",\"state\":\"unknown\","
        "\"text\":\"ring finger peak force, at most 45 N a shot\"}],"
        "\"goal\":{\"lo_s\":2,\"hi_s\":3.25,\"set_by\":\"coach\"}}");
    sh_text_close(&text);
}

static void test_nothing_known(void **state)
{
    const struct sh_people_document_entry entry = {
        .name = "rook", .last = "", .today = "2026-05-14"};
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_people_document_write(&entry, &text);
    assert_string_equal(text.data,
                        "{\"name\":\"rook\",\"n_shots\":0,\"n_recordings\":0,\"last\":null,"
                        "\"baselines\":[],\"limits\":[],\"goal\":null}");
    sh_text_close(&text);
}

static void test_limits_without_an_end_hold(void **state)
{
    struct sh_person_limit limit = {.what = "rest_s", .per = "shot", .least = {true, 30.0}};
    const struct sh_person person = {.name = "teal", .limits = &limit, .n_limits = 1};
    const struct sh_people_document_entry entry = {
        .name = "teal", .last = "", .person = &person, .today = "2026-05-14"};
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_people_document_write(&entry, &text);
    assert_non_null(strstr(text.data, "\"most\":null,\"least\":30"));
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything),
        cmocka_unit_test(test_nothing_known),
        cmocka_unit_test(test_limits_without_an_end_hold),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
