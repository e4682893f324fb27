/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clocks.h"

#include <stdlib.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static struct sh_session *make_session(void)
{
    struct sh_session *session = calloc(1, sizeof *session);
    assert_non_null(session);
    session->n_streams = 2;
    session->streams[0].stream.rate_hz = 1000.0;
    session->streams[1].stream.rate_hz = 100.0;
    session->streams[1].stream.offset_s = 0.5;
    return session;
}

static void
push_anchor(struct sh_clocks *clocks, size_t stream, uint64_t frame, double time_s, double u_s)
{
    const struct sh_anchor anchor = {.frame = frame, .time_s = time_s, .u_s = u_s};
    assert_int_equal(sh_clocks_push_anchor(clocks, stream, &anchor), SH_OK);
}

static void test_anchors_go_on_along_the_last_line(void **state)
{
    struct sh_session *session = make_session();
    struct sh_clocks clocks;
    struct sh_anchor anchor;
    assert_int_equal(sh_clocks_init(&clocks, session), SH_OK);
    assert_false(sh_clocks_find_anchor(&clocks, 0, 500, &anchor));
    push_anchor(&clocks, 0, 0, 0.1, 0.002);
    assert_true(sh_clocks_find_anchor(&clocks, 0, 500, &anchor)); /* at the nominal rate */
    assert_int_equal(anchor.frame, 500);
    assert_near(anchor.time_s, 0.6, 1e-12, 0);
    assert_near(anchor.u_s, 0.002, 0, 0);
    push_anchor(&clocks, 0, 1000, 1.102, 0.002); /* the sensor is 0.2 % slow */
    assert_true(sh_clocks_find_anchor(&clocks, 0, 1000, &anchor));
    assert_near(anchor.time_s, 1.102, 0, 0);
    assert_near(anchor.u_s, 0.002, 0, 0);
    assert_true(sh_clocks_find_anchor(&clocks, 0, 6000, &anchor));
    assert_near(anchor.time_s, 1.102 + 5.0 * 1.002, 1e-12, 0);
    assert_true(anchor.u_s > 0.01); /* five spans on, both errors count */
    assert_false(sh_clocks_find_anchor(&clocks, 1, 6000, &anchor));
    sh_clocks_close(&clocks);
    free(session);
}

static void test_the_present_is_that_of_the_furthest_stream(void **state)
{
    struct sh_session *session = make_session();
    struct sh_clocks clocks;
    assert_int_equal(sh_clocks_init(&clocks, session), SH_OK);
    assert_near(sh_clocks_get_now_s(&clocks), 0.0, 0, 0);
    const struct sh_block string = {.stream = 0, .first_frame = 0, .n_frames = 250};
    sh_clocks_push_block(&clocks, &string);
    assert_near(sh_clocks_get_now_s(&clocks), 0.25, 1e-12, 0);
    const struct sh_block bow = {.stream = 1, .first_frame = 20, .n_frames = 10};
    sh_clocks_push_block(&clocks, &bow);
    assert_near(sh_clocks_get_now_s(&clocks), 0.8, 1e-12, 0);
    push_anchor(&clocks, 0, 0, 7.0, 0.001);
    assert_near(sh_clocks_get_now_s(&clocks), 7.25, 1e-12, 0);
    sh_clocks_close(&clocks);
    free(session);
}

static void test_what_is_refused(void **state)
{
    struct sh_session *session = make_session();
    struct sh_clocks clocks;
    assert_int_equal(sh_clocks_init(&clocks, session), SH_OK);
    push_anchor(&clocks, 0, 10, 1.0, 0.001);
    const struct sh_anchor same = {.frame = 10, .time_s = 2.0, .u_s = 0.001};
    assert_int_equal(sh_clocks_push_anchor(&clocks, 0, &same), SH_ERR_ARGUMENT);
    sh_clocks_close(&clocks);
    session->streams[1].stream.rate_hz = 0.0;
    assert_int_equal(sh_clocks_init(&clocks, session), SH_ERR_ARGUMENT);
    sh_clocks_close(&clocks);
    sh_clocks_close(&clocks);
    free(session);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_anchors_go_on_along_the_last_line),
        cmocka_unit_test(test_the_present_is_that_of_the_furthest_stream),
        cmocka_unit_test(test_what_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
