/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/calibration_section.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/says.h"

static void write_section(const struct sh_stream *streams, size_t n, struct sh_text *text)
{
    sh_text_reset(text);
    sh_calibration_section_write(text, streams, n);
    assert_int_equal(text->status, SH_OK);
}

static void test_line(void **state)
{
    struct sh_stream stream = {.n_channels = 1,
                               .channel = {{.role = SH_ROLE_STRING_FORCE,
                                            .calibrated = "2026-05-01",
                                            .scale = -0.0125,
                                            .scale_u = 0.000025,
                                            .zero = 812.0,
                                            .load_drift_ratio = 0.03,
                                            .load_drift_time_s = 4.0}}};
    struct sh_text text;
    sh_text_init(&text, 0);
    write_section(&stream, 1, &text);
    assert_says(text.data,
                "string: calibrated on 2026-05-01. A net force of 100 N is known to ±0.39 N");
    assert_says(text.data, "Load drift of +3 % in 4 s is taken off");
    assert_null(strstr(text.data, "<svg"));
    stream.channel[0].calibrated[0] = '\0';
    stream.channel[0].scale_u = 0.0;
    stream.channel[0].load_drift_time_s = 0.0;
    write_section(&stream, 1, &text);
    assert_says(text.data, "<strong>not calibrated</strong>");
    assert_says(text.data, "was not given");
    assert_null(strstr(text.data, "Load drift"));
    sh_text_close(&text);
}

static void test_curve_and_crosstalk(void **state)
{
    const struct sh_stream streams[2] = {
        {.n_channels = 1, .channel = {{.role = SH_ROLE_BOW_ACCELERATION, .scale = 1.0}}},
        {.n_channels = 2,
         .has_crosstalk = true,
         .channel = {{.role = SH_ROLE_FINGER_FORCE,
                      .finger = SH_FINGER_RING,
                      .calibrated = "2026-05-01",
                      .n_curve = 4,
                      .curve = {{-900.0, -0.1, 0.5},
                                {20.0, 0.0, 0.5},
                                {400.0, 25.0, 1.0},
                                {700.0, 60.0, 2.0}}},
                     {.role = SH_ROLE_CLICKER_CONTACT, .scale = 1.0}}}};
    struct sh_text text;
    sh_text_init(&text, 0);
    write_section(streams, 2, &text);
    assert_says(text.data,
                "ring finger: calibrated on 2026-05-01. A net force of 60 N is known to ±4");
    assert_says(text.data, "neighbouring sensors");
    assert_says(text.data, "<svg");
    assert_says(text.data, "curve-middle");
    assert_says(text.data, "force by counts");
    assert_null(strstr(text.data, "NaN"));
    assert_null(strstr(text.data, "nan"));
    sh_text_close(&text);
}

static void test_nothing_without_force(void **state)
{
    const struct sh_stream stream = {
        .n_channels = 1, .channel = {{.role = SH_ROLE_BOW_ACCELERATION, .scale = 1.0}}};
    struct sh_text text;
    sh_text_init(&text, 0);
    write_section(&stream, 1, &text);
    write_section(&stream, 0, &text);
    assert_int_equal(text.n_bytes, 0);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_line),
        cmocka_unit_test(test_curve_and_crosstalk),
        cmocka_unit_test(test_nothing_without_force),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
