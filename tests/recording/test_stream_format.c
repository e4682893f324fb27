/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_format.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define DAY_S 86400.0

/* Two channels at 1000 Hz; the second has the range given. */
static unsigned choose_bits(double low, double high)
{
    struct sh_stream stream = {.rate_hz = 1000.0, .n_channels = 2};
    struct sh_audio_writer_config config;
    stream.channel[0] = (struct sh_channel){.has_range = true, .range_high = 1023.0};
    stream.channel[1] =
        (struct sh_channel){.has_range = true, .range_low = low, .range_high = high};
    assert_true(sh_stream_format_choose(&stream, DAY_S, &config));
    assert_int_equal(config.n_channels, 2);
    assert_near(config.rate_hz, 1000.0, 0.0, 0.0);
    assert_int_equal(config.container, SH_AUDIO_WAV);
    return config.bits;
}

static void test_bits_follow_the_widest_range(void **state)
{
    assert_int_equal(choose_bits(0.0, 1.0), 16);
    assert_int_equal(choose_bits(-32768.0, 32767.0), 16);
    assert_int_equal(choose_bits(-32769.0, 0.0), 24);
    assert_int_equal(choose_bits(0.0, 32768.0), 24);
    assert_int_equal(choose_bits(-8388608.0, 8388607.0), 24);
    assert_int_equal(choose_bits(0.0, 8388608.0), 32);
    assert_int_equal(choose_bits(-1e300, 1e300), 32);
}

static void test_an_unknown_range_takes_all_bits(void **state)
{
    const struct sh_stream stream = {.rate_hz = 1000.0, .n_channels = 1};
    struct sh_audio_writer_config config;
    assert_true(sh_stream_format_choose(&stream, DAY_S, &config));
    assert_int_equal(config.bits, 32);
}

static void test_values_and_counts_do_not_mix(void **state)
{
    struct sh_stream stream = {.rate_hz = 1000.0, .n_channels = 2};
    struct sh_audio_writer_config config;
    stream.channel[1].is_physical = true;
    assert_false(sh_stream_format_choose(&stream, DAY_S, &config));
    stream.channel[0].is_physical = true;
    assert_true(sh_stream_format_choose(&stream, DAY_S, &config));
    assert_int_equal(config.bits, 0);
}

static void test_long_streams_become_rf64(void **state)
{
    /* 40 kB a second in 16 bits */
    struct sh_audio_writer_config config = {SH_AUDIO_WAV, 16, 2, 10000.0};
    double limit_s = 4294900000.0 / (10000.0 * 2.0 * 2.0);
    assert_int_equal(sh_stream_format_container(&config, limit_s - 1.0), SH_AUDIO_WAV);
    assert_int_equal(sh_stream_format_container(&config, limit_s + 1.0), SH_AUDIO_RF64);
    config.bits = 32;
    assert_int_equal(sh_stream_format_container(&config, limit_s - 1.0), SH_AUDIO_RF64);
    assert_int_equal(sh_stream_format_container(&config, limit_s / 2.0 - 1.0), SH_AUDIO_WAV);
    config.bits = 0;
    assert_int_equal(sh_stream_format_container(&config, limit_s / 4.0 + 1.0), SH_AUDIO_RF64);
}

static void
check_name(struct sh_session *session, size_t index, const char *name, const char *file)
{
    (void)snprintf(session->streams[index].stream.name, SH_STREAM_NAME_BYTES, "%s", name);
    sh_stream_format_name(session, index);
    assert_string_equal(session->streams[index].file, file);
}

static void test_names_are_plain_and_differ(void **state)
{
    struct sh_session session = {.n_streams = 7};
    check_name(&session, 0, "string", "string.wav");
    check_name(&session, 1, "String", "String-2.wav");
    check_name(&session, 2, "string", "string-3.wav");
    check_name(&session, 3, "", "stream.wav");
    check_name(&session, 4, "../bow\n1", "___bow_1.wav");
    check_name(&session, 5, "B\xc3\xb6gen", "B__gen.wav");
    char longest[SH_STREAM_NAME_BYTES];
    char file[SH_SESSION_FILE_BYTES];
    memset(longest, 'x', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    (void)snprintf(file, sizeof file, "%s.wav", longest);
    check_name(&session, 6, longest, file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bits_follow_the_widest_range),
        cmocka_unit_test(test_an_unknown_range_takes_all_bits),
        cmocka_unit_test(test_values_and_counts_do_not_mix),
        cmocka_unit_test(test_long_streams_become_rf64),
        cmocka_unit_test(test_names_are_plain_and_differ),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
