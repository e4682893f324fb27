/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/same_calibration.h"

#include <stdio.h>

#include "support/cmocka_all.h"

/* Two recordings with one force channel each, alike. */
static void fill(struct sh_session *session)
{
    struct sh_stream *stream = &session->streams[0].stream;
    *session = (struct sh_session){.n_streams = 1};
    stream->n_channels = 2;
    stream->channel[0].role = SH_ROLE_BOW_ACCELERATION;
    stream->channel[1].role = SH_ROLE_FINGER_FORCE;
    stream->channel[1].finger = SH_FINGER_RING;
    stream->channel[1].scale = 0.0125;
    stream->channel[1].n_curve = 2;
    stream->channel[1].curve[1].value = 50.0;
    (void)snprintf(stream->channel[1].calibrated, sizeof stream->channel[1].calibrated,
                   "2026-05-01");
}

static void test_force_channels(void **state)
{
    static struct sh_session a;
    static struct sh_session b;
    fill(&a);
    fill(&b);
    assert_false(sh_same_calibration_is_other(&a, &b));
    b.streams[0].stream.channel[0].scale = 9.0; /* no force */
    assert_false(sh_same_calibration_is_other(&a, &b));
    b.streams[0].stream.channel[1].curve[1].value = 50.5;
    assert_true(sh_same_calibration_is_other(&a, &b));
    fill(&b);
    b.streams[0].stream.channel[1].scale = 0.0126;
    assert_true(sh_same_calibration_is_other(&a, &b));
    fill(&b);
    b.streams[0].stream.channel[1].calibrated[9] = '2';
    assert_true(sh_same_calibration_is_other(&a, &b));
    fill(&b);
    b.streams[0].stream.channel[1].finger = SH_FINGER_INDEX; /* another finger's */
    assert_false(sh_same_calibration_is_other(&a, &b));
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_force_channels)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
