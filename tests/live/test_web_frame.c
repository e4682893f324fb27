/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/web_frame.h"

#include <stdint.h>
#include <string.h>

#include "support/cmocka_all.h"

#define STREAM_BYTES 70000u
#define LOG_BYTES    70000u

/* What came out: a letter a kind, the bytes, a stop. */
struct log {
    char text[LOG_BYTES];
    size_t n;
    enum sh_status status; /* to be returned */
};

static enum sh_status
take(void *context, enum sh_web_frame_opcode opcode, const char *bytes, size_t n_bytes)
{
    struct log *log = context;
    assert_true(log->n + n_bytes + 2 <= sizeof log->text);
    log->text[log->n++] = (char)('a' + (int)opcode);
    memcpy(log->text + log->n, bytes, n_bytes);
    log->n += n_bytes;
    log->text[log->n++] = '.';
    return log->status;
}

/* Appends a masked frame of n_bytes letters; the length is written in n_length bytes. */
static size_t put(unsigned char *to, unsigned first, size_t n_bytes, size_t n_length)
{
    static const unsigned char mask[4] = {0x11, 0xfe, 0x00, 0x83};
    size_t n = 0;
    to[n++] = (unsigned char)first;
    to[n++] = (unsigned char)(0x80u | (n_length == 0 ? n_bytes : n_length == 2 ? 126u : 127u));
    for (size_t i = n_length; i-- > 0;) {
        to[n++] = (unsigned char)((uint64_t)n_bytes >> (8 * i));
    }
    memcpy(to + n, mask, 4);
    n += 4;
    for (size_t i = 0; i < n_bytes; i++) {
        to[n++] = (unsigned char)((unsigned)('a' + (int)(i % 26)) ^ mask[i % 4]);
    }
    return n;
}

/* Pushes a stream in pieces of n_piece and gives the first status that is not SH_OK. */
static enum sh_status
push_all(const unsigned char *bytes, size_t n_bytes, size_t n_piece, struct log *log)
{
    static struct sh_web_frame frame;
    const struct sh_web_frame_sink sink = {take, log};
    enum sh_status status = SH_OK;
    sh_web_frame_init(&frame, &sink);
    log->n = 0;
    for (size_t i = 0; i < n_bytes && status == SH_OK; i += n_piece) {
        const size_t n = n_bytes - i < n_piece ? n_bytes - i : n_piece;
        status = sh_web_frame_push(&frame, bytes + i, n);
    }
    return status;
}

static void test_cuts_change_nothing(void **state)
{
    static unsigned char stream[STREAM_BYTES];
    static struct log whole;
    static struct log cut;
    size_t n = put(stream, 0x81, 5, 0);
    n += put(stream + n, 0x81, 0, 0);
    n += put(stream + n, 0x8a, 0, 0);
    n += put(stream + n, 0x89, 125, 0);
    n += put(stream + n, 0x81, 126, 2);
    n += put(stream + n, 0x81, SH_WEB_FRAME_BYTES, 2);
    n += put(stream + n, 0x81, SH_WEB_FRAME_BYTES, 8);
    n += put(stream + n, 0x88, 2, 0);
    assert_int_equal(push_all(stream, n, n, &whole), SH_OK);
    assert_memory_equal(whole.text, "babcde.b.k.jabc", 15);
    assert_memory_equal(whole.text + whole.n - 5, ".iab.", 5);
    assert_int_equal(whole.n, 8 * 2 + 5 + 125 + 126 + 2 * SH_WEB_FRAME_BYTES + 2);
    for (size_t n_piece = 1; n_piece < 300; n_piece++) {
        assert_int_equal(push_all(stream, n, n_piece, &cut), SH_OK);
        assert_int_equal(cut.n, whole.n);
        assert_memory_equal(cut.text, whole.text, whole.n);
    }
}

static void test_too_long_is_refused_by_its_head(void **state)
{
    static unsigned char stream[STREAM_BYTES];
    static struct log log;
    size_t n = put(stream, 0x81, SH_WEB_FRAME_BYTES + 1, 2);
    assert_int_equal(push_all(stream, 8, 1, &log), SH_ERR_FULL); /* before a byte of it */
    assert_int_equal(push_all(stream, n, n, &log), SH_ERR_FULL);
    (void)put(stream, 0x81, 10, 8);
    memset(stream + 2, 0xff, 8);
    assert_int_equal(push_all(stream, 14, 1, &log), SH_ERR_FULL);
    (void)put(stream, 0x89, 126, 2);
    assert_int_equal(push_all(stream, 2, 1, &log), SH_ERR_FULL);
    assert_int_equal(log.n, 0);
}

static void test_other_kinds_are_refused(void **state)
{
    static unsigned char stream[64];
    static struct log log;
    static const unsigned firsts[] = {0x01, 0x80, 0x82, 0x83, 0x8b, 0x8f, 0xc1, 0xa1, 0x91, 0};
    for (size_t i = 0; i < sizeof firsts / sizeof firsts[0]; i++) {
        (void)put(stream, firsts[i], 5, 0);
        assert_int_equal(push_all(stream, 2, 1, &log), SH_ERR_FORMAT);
    }
    (void)put(stream, 0x81, 5, 0);
    stream[1] &= 0x7f; /* not masked */
    assert_int_equal(push_all(stream, 2, 2, &log), SH_ERR_FORMAT);
    assert_int_equal(log.n, 0);
}

static void test_sink_stops_it(void **state)
{
    static unsigned char stream[64];
    static struct log log;
    size_t n = put(stream, 0x81, 3, 0);
    n += put(stream + n, 0x81, 4, 0);
    log.status = SH_ERR_IO;
    assert_int_equal(push_all(stream, n, n, &log), SH_ERR_IO);
    assert_int_equal(log.n, 5);
    assert_memory_equal(log.text, "babc.", 5);
    log.status = SH_OK;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cuts_change_nothing),
        cmocka_unit_test(test_too_long_is_refused_by_its_head),
        cmocka_unit_test(test_other_kinds_are_refused),
        cmocka_unit_test(test_sink_stops_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
