/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_queue.h"
#include "support/cmocka_all.h"

static void test_first_in_first_out(void **state)
{
    struct sh_live_queue queue;
    struct sh_live_command command;
    json_t *object = json_pack("{s:s}", "do", "note");
    sh_live_queue_init(&queue);
    assert_false(sh_live_queue_find(&queue, &command));
    assert_true(sh_live_queue_put(&queue, 1, 7, object));
    assert_int_equal(json_object_set_new(object, "do", json_string("score")), 0);
    assert_true(sh_live_queue_put(&queue, 2, 8, object));
    json_decref(object);
    assert_true(sh_live_queue_find(&queue, &command));
    assert_int_equal(command.viewer, 1);
    assert_int_equal(command.id, 7);
    assert_string_equal(json_string_value(json_object_get(command.object, "do")), "note");
    sh_live_command_close(&command);
    assert_null(command.object);
    sh_live_queue_close(&queue); /* with one in it */
}

static void test_bound(void **state)
{
    struct sh_live_queue queue;
    struct sh_live_command command;
    json_t *object = json_object();
    sh_live_queue_init(&queue);
    for (unsigned turn = 0; turn < 3; turn++) {
        for (unsigned i = 0; i < SH_LIVE_QUEUE_MAX; i++) {
            assert_true(sh_live_queue_put(&queue, i, turn, object));
        }
        assert_false(sh_live_queue_put(&queue, 99, turn, object));
        for (unsigned i = 0; i < SH_LIVE_QUEUE_MAX; i++) {
            assert_true(sh_live_queue_find(&queue, &command));
            assert_int_equal(command.viewer, i);
            sh_live_command_close(&command);
        }
        assert_true(sh_live_queue_put(&queue, 0, turn, object)); /* the ring goes round */
        assert_true(sh_live_queue_find(&queue, &command));
        sh_live_command_close(&command);
    }
    json_decref(object);
    sh_live_queue_close(&queue);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_first_in_first_out),
                                       cmocka_unit_test(test_bound)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
