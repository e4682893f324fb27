/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/text_frame.h"

#include <string.h>

#include "support/cmocka_all.h"

#define FRAMES_MAX 32u

struct kept {
    struct sh_frame frames[FRAMES_MAX];
    size_t n;
    size_t fail_at; /* refuse this frame, counted from 1; 0: none */
};

static enum sh_status keep(void *context, const struct sh_frame *frame)
{
    struct kept *kept = context;
    assert_true(kept->n < FRAMES_MAX);
    kept->frames[kept->n++] = *frame;
    return kept->n == kept->fail_at ? SH_ERR_FULL : SH_OK;
}

static struct sh_text_frame make(struct kept *kept, size_t n_channels)
{
    struct sh_text_frame decoder;
    struct sh_frame_sink sink = {keep, kept};
    memset(kept, 0, sizeof *kept);
    assert_int_equal(sh_text_frame_init(&decoder, n_channels, &sink), SH_OK);
    return decoder;
}

static enum sh_status push(struct sh_text_frame *decoder, const char *text, size_t n_bytes)
{
    uint8_t bytes[2048];
    assert_true(n_bytes <= sizeof bytes);
    memcpy(bytes, text, n_bytes);
    return sh_text_frame_push(decoder, bytes, n_bytes);
}

static const char stream_text[] = "# a sensor\n"
                                  "micros,string,bow\r\n"
                                  "1000250,812,-3\r\n"
                                  "\n"
                                  "1001250; 813 ;\t-4\n"
                                  "1002250 814 -5\n"
                                  "10032\x80!50,815,-6\n"
                                  "4294967295,2147483647,-2147483648\n"
                                  "1,2\n"
                                  "late header\n"
                                  "7,8,9";

static void check_stream(const struct sh_text_frame *decoder, const struct kept *kept)
{
    static const struct sh_frame expected[] = {
        {1000250, 2, {812, -3}, 0},
        {1001250, 2, {813, -4}, 0},
        {1002250, 2, {814, -5}, 0},
        {UINT32_MAX, 2, {INT32_MAX, INT32_MIN}, 0},
    };
    assert_int_equal(kept->n, 4);
    assert_memory_equal(kept->frames, expected, sizeof expected);
    assert_int_equal(decoder->counts.good, 4);
    assert_int_equal(decoder->counts.damaged, 4);
    assert_int_equal(decoder->counts.skipped_bytes, 17 + 4 + 12 + 5);
}

static void test_whole_and_every_cut(void **state)
{
    struct kept kept;
    size_t n = sizeof stream_text - 1;
    for (size_t cut = 0; cut <= n; cut++) {
        struct sh_text_frame decoder = make(&kept, 2);
        assert_int_equal(push(&decoder, stream_text, cut), SH_OK);
        assert_int_equal(push(&decoder, stream_text + cut, n - cut), SH_OK);
        sh_text_frame_flush(&decoder);
        sh_text_frame_flush(&decoder);
        check_stream(&decoder, &kept);
    }
    struct sh_text_frame decoder = make(&kept, 2);
    for (size_t i = 0; i < n; i++) {
        assert_int_equal(push(&decoder, stream_text + i, 1), SH_OK);
    }
    sh_text_frame_flush(&decoder);
    check_stream(&decoder, &kept);
}

static void test_reset_is_fresh(void **state)
{
    struct kept kept;
    struct sh_text_frame decoder = make(&kept, 2);
    assert_int_equal(push(&decoder, "1,2,3\n4,5", 9), SH_OK);
    sh_text_frame_reset(&decoder);
    memset(&kept, 0, sizeof kept);
    assert_int_equal(push(&decoder, stream_text, sizeof stream_text - 1), SH_OK);
    sh_text_frame_flush(&decoder);
    check_stream(&decoder, &kept);
}

static void test_lines_that_are_no_frame(void **state)
{
    static const char *const lines[] = {"1,2,3,4\n",
                                        "1,2\n",
                                        ",1,2,3\n",
                                        "1,,2,3\n",
                                        "1,2,3,\n",
                                        "-1,2,3\n",
                                        "4294967296,2,3\n",
                                        "1,2147483648,3\n",
                                        "1,2,-2147483649\n",
                                        "1,2,3.5\n",
                                        "1,2,0x3\n",
                                        "1,-,3\n",
                                        "1,99999999999999999999999,3\n"};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        struct kept kept;
        struct sh_text_frame decoder = make(&kept, 2);
        assert_int_equal(push(&decoder, lines[i], strlen(lines[i])), SH_OK);
        assert_int_equal(kept.n, 0);
        assert_int_equal(decoder.counts.damaged, 1);
        assert_int_equal(decoder.counts.skipped_bytes, strlen(lines[i]));
    }
}

/* The longest line is read, one byte more is damaged, and the next line is read again. */
static void test_line_length(void **state)
{
    char line[SH_TEXT_FRAME_LINE_BYTES + 2];
    for (size_t n = SH_TEXT_FRAME_LINE_BYTES; n <= SH_TEXT_FRAME_LINE_BYTES + 1; n++) {
        struct kept kept;
        struct sh_text_frame decoder = make(&kept, 1);
        memset(line, ' ', sizeof line);
        memcpy(line, "5,6", 3);
        line[n] = '\n';
        assert_int_equal(push(&decoder, line, n + 1), SH_OK);
        assert_int_equal(push(&decoder, "7,8\n", 4), SH_OK);
        bool fits = n == SH_TEXT_FRAME_LINE_BYTES;
        assert_int_equal(kept.n, fits ? 2 : 1);
        assert_int_equal(decoder.counts.damaged, fits ? 0 : 1);
        assert_int_equal(kept.frames[kept.n - 1].device_time_us, 7);
    }
}

static void test_the_sinks_status_comes_back(void **state)
{
    struct kept kept;
    struct sh_text_frame decoder = make(&kept, 1);
    kept.fail_at = 2;
    assert_int_equal(push(&decoder, "1,1\n2,2\n3,3\n", 12), SH_ERR_FULL);
    assert_int_equal(kept.n, 2);
}

static void test_channel_limits(void **state)
{
    struct sh_text_frame decoder;
    struct sh_frame_sink sink = {keep, NULL};
    assert_int_equal(sh_text_frame_init(&decoder, 0, &sink), SH_ERR_ARGUMENT);
    assert_int_equal(sh_text_frame_init(&decoder, SH_STREAM_CHANNELS_MAX, &sink), SH_OK);
    assert_int_equal(sh_text_frame_init(&decoder, SH_STREAM_CHANNELS_MAX + 1, &sink),
                     SH_ERR_ARGUMENT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_whole_and_every_cut),
        cmocka_unit_test(test_reset_is_fresh),
        cmocka_unit_test(test_lines_that_are_no_frame),
        cmocka_unit_test(test_line_length),
        cmocka_unit_test(test_the_sinks_status_comes_back),
        cmocka_unit_test(test_channel_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
