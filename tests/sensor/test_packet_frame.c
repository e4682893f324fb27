/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/packet_frame.h"

#include <string.h>

#include "sensor/crc.h"
#include "support/cmocka_all.h"

#define FRAMES_MAX 600u

struct kept {
    struct sh_frame frames[FRAMES_MAX];
    size_t n;
    size_t fail_at; /* refuse this frame, counted from 1; 0: none */
};

/* Bytes of several packets, one behind the other. */
struct wire {
    uint8_t bytes[4 * SH_PACKET_FRAME_BYTES_MAX];
    size_t n;
};

static enum sh_status keep(void *context, const struct sh_frame *frame)
{
    struct kept *kept = context;
    assert_true(kept->n < FRAMES_MAX);
    kept->frames[kept->n++] = *frame;
    return kept->n == kept->fail_at ? SH_ERR_FULL : SH_OK;
}

static struct sh_packet_frame make(struct kept *kept)
{
    struct sh_packet_frame decoder;
    struct sh_frame_sink sink = {keep, kept};
    memset(kept, 0, sizeof *kept);
    sh_packet_frame_init(&decoder, &sink);
    return decoder;
}

static void put(struct wire *wire, const struct sh_packet *packet)
{
    size_t n = 0;
    assert_int_equal(sh_packet_frame_encode(packet, wire->bytes + wire->n, &n), SH_OK);
    wire->n += n;
    assert_true(wire->n <= sizeof wire->bytes - SH_PACKET_FRAME_BYTES_MAX);
}

static void put_bytes(struct wire *wire, const void *bytes, size_t n)
{
    memcpy(wire->bytes + wire->n, bytes, n);
    wire->n += n;
}

/* Stuffs and ends a body with a right check sum. */
static void put_body(struct wire *wire, const uint8_t *body, size_t n)
{
    uint8_t checked[SH_PACKET_FRAME_BODY_MAX + 64];
    uint16_t crc = sh_crc_ccitt_false(body, n);
    memcpy(checked, body, n);
    checked[n] = (uint8_t)crc;
    checked[n + 1] = (uint8_t)(crc >> 8);
    wire->n += sh_cobs_encode(checked, n + 2, wire->bytes + wire->n);
    wire->bytes[wire->n++] = 0;
}

static const int32_t few_counts[] = {0, -1, 32767, -32768, 256, 7};
static const int32_t wide_counts[] = {INT32_MAX, INT32_MIN, -70000};

static const struct sh_packet narrow = {.stream = 1,
                                        .sequence = 65535,
                                        .device_time_us = 4294967000u,
                                        .period_ns = 312500,
                                        .n_frames = 3,
                                        .n_channels = 2,
                                        .format = SH_PACKET_FORMAT_INT16,
                                        .counts = few_counts};
static const struct sh_packet wide = {.stream = 7,
                                      .sequence = 5,
                                      .device_time_us = 10,
                                      .n_frames = 1,
                                      .n_channels = 3,
                                      .format = SH_PACKET_FORMAT_INT32,
                                      .counts = wide_counts};

/* The byte order of the layout, written out by hand; the CRC by the catalogue's polynomial. */
static void test_layout(void **state)
{
    static const uint8_t expected[] = {0x17, 0x05, 0x00, 0x0a, 0x00, 0x00, 0x00, 0x00, 0x00,
                                       0x00, 0x00, 0x01, 0x03, 0x04, 0xff, 0xff, 0xff, 0x7f,
                                       0x00, 0x00, 0x00, 0x80, 0x90, 0xee, 0xfe, 0xff};
    struct wire wire = {.n = 0};
    put(&wire, &wide);
    assert_int_equal(wire.bytes[wire.n - 1], 0);
    assert_null(memchr(wire.bytes, 0, wire.n - 1));
    uint8_t body[64];
    size_t n = 0;
    assert_int_equal(sh_cobs_decode(wire.bytes, wire.n - 1, body, &n), SH_OK);
    assert_int_equal(n, sizeof expected + 2);
    assert_memory_equal(body, expected, sizeof expected);
    assert_int_equal(body[n - 2] | body[n - 1] << 8,
                     sh_crc_ccitt_false(expected, sizeof expected));
}

static void make_stream(struct wire *wire)
{
    struct sh_packet packet = narrow;
    put_bytes(wire, "tail of a packet\0", 17);
    put(wire, &packet);
    put(wire, &wide);
    put_bytes(wire, "\0\0", 2);
    packet.sequence = 2; /* 0 and 1 lost */
    packet.device_time_us += 2000;
    put(wire, &packet);
    packet.sequence = 0; /* late */
    put(wire, &packet);
    put(wire, &packet); /* repeated */
    put_bytes(wire, "no end", 6);
}

static void check_stream(const struct sh_packet_frame *decoder, const struct kept *kept)
{
    assert_int_equal(kept->n, 13);
    /* 4294967000 + 312.5 and + 625 us, beyond the counter's end */
    assert_int_equal(kept->frames[0].device_time_us, 4294967000u);
    assert_int_equal(kept->frames[1].device_time_us, 17);
    assert_int_equal(kept->frames[2].device_time_us, 329);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(kept->frames[i].stream, 1);
        assert_int_equal(kept->frames[i].n_channels, 2);
        assert_int_equal(kept->frames[i].counts[0], few_counts[2 * i]);
        assert_int_equal(kept->frames[i].counts[1], few_counts[2 * i + 1]);
    }
    assert_int_equal(kept->frames[3].stream, 7);
    assert_memory_equal(kept->frames[3].counts, wide_counts, sizeof wide_counts);
    assert_int_equal(decoder->counts.good, 13);
    assert_int_equal(decoder->counts.damaged, 2);
    assert_int_equal(decoder->counts.skipped_bytes, 17 + 6);
    assert_int_equal(decoder->counts.lost, 6);
    assert_int_equal(decoder->counts.late, 3);
    assert_int_equal(decoder->counts.repeated, 3);
}

static void test_whole_and_every_cut(void **state)
{
    static struct kept kept;
    struct wire wire = {.n = 0};
    make_stream(&wire);
    for (size_t cut = 0; cut <= wire.n; cut++) {
        struct sh_packet_frame decoder = make(&kept);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, cut), SH_OK);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes + cut, wire.n - cut), SH_OK);
        sh_packet_frame_flush(&decoder);
        sh_packet_frame_flush(&decoder);
        check_stream(&decoder, &kept);
    }
    struct sh_packet_frame decoder = make(&kept);
    for (size_t i = 0; i < wire.n; i++) {
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes + i, 1), SH_OK);
    }
    sh_packet_frame_flush(&decoder);
    check_stream(&decoder, &kept);
}

static void test_reset_is_fresh(void **state)
{
    static struct kept kept;
    struct wire wire = {.n = 0};
    make_stream(&wire);
    struct sh_packet_frame decoder = make(&kept);
    assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, 60), SH_OK);
    sh_packet_frame_reset(&decoder);
    memset(&kept, 0, sizeof kept);
    assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
    sh_packet_frame_flush(&decoder);
    check_stream(&decoder, &kept);
}

/* No flip of one bit of a packet is taken for a packet. */
static void test_every_flipped_bit_is_found(void **state)
{
    static struct kept kept;
    struct wire wire = {.n = 0};
    put(&wire, &narrow);
    for (size_t bit = 0; bit < 8 * (wire.n - 1); bit++) {
        struct sh_packet_frame decoder = make(&kept);
        wire.bytes[bit / 8] ^= (uint8_t)(1u << bit % 8);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
        wire.bytes[bit / 8] ^= (uint8_t)(1u << bit % 8);
        assert_int_equal(kept.n, 0);
        assert_true(decoder.counts.damaged >= 1);
        assert_in_range(decoder.counts.skipped_bytes, wire.n - 1, wire.n);
    }
}

struct bad_field {
    size_t at;
    uint8_t value;
};

/* A right check sum does not make a packet of a body whose fields are out of range. */
static void test_fields_out_of_range(void **state)
{
    static const uint8_t good[] = {0x10, 1, 0, 1, 0, 0, 0, 1, 0, 0, 0, 2, 1, 2, 9, 0, 8, 0};
    static const struct bad_field bad[] = {{0, 0x00}, {0, 0x20}, {0, 0x18}, {7, 0},  {11, 0},
                                           {11, 1},   {11, 3},   {12, 0},   {12, 2}, {12, 17},
                                           {13, 0},   {13, 1},   {13, 4}};
    static struct kept kept;
    for (size_t i = 0; i <= sizeof bad / sizeof bad[0]; i++) {
        uint8_t body[sizeof good];
        memcpy(body, good, sizeof good);
        bool is_bad = i < sizeof bad / sizeof bad[0];
        if (is_bad) {
            body[bad[i].at] = bad[i].value;
        }
        struct wire wire = {.n = 0};
        put_body(&wire, body, sizeof body);
        struct sh_packet_frame decoder = make(&kept);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
        assert_int_equal(kept.n, is_bad ? 0 : 2);
        assert_int_equal(decoder.counts.damaged, is_bad ? 1 : 0);
        assert_int_equal(decoder.counts.skipped_bytes, is_bad ? wire.n : 0);
    }
}

/* 255 frames of 8 channels of 2 bytes are 4096 bytes with head and check sum. */
static void test_longest_body(void **state)
{
    static struct kept kept;
    static int32_t counts[SH_PACKET_FRAME_FRAMES_MAX * SH_STREAM_CHANNELS_MAX];
    for (size_t i = 0; i < sizeof counts / sizeof counts[0]; i++) {
        counts[i] = (int32_t)(i % 60000) - 30000;
    }
    struct sh_packet packet = {.period_ns = 1000000,
                               .n_frames = 255,
                               .n_channels = 8,
                               .format = SH_PACKET_FORMAT_INT16,
                               .counts = counts};
    struct wire wire = {.n = 0};
    put(&wire, &packet);
    struct sh_packet_frame decoder = make(&kept);
    assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
    assert_int_equal(kept.n, 255);
    assert_int_equal(kept.frames[254].counts[7], counts[255 * 8 - 1]);
    assert_int_equal(kept.frames[254].device_time_us, 254000);

    uint8_t to[SH_PACKET_FRAME_BYTES_MAX];
    size_t n = 99;
    packet.n_channels = 9;
    assert_int_equal(sh_packet_frame_encode(&packet, to, &n), SH_ERR_ARGUMENT);
    packet.n_channels = 8;
    packet.n_frames = 256;
    assert_int_equal(sh_packet_frame_encode(&packet, to, &n), SH_ERR_ARGUMENT);
    assert_int_equal(n, 99);
}

/* What finds no room is one damaged packet, and the next packet is read again. */
static void test_packet_without_end(void **state)
{
    static struct kept kept;
    static uint8_t noise[SH_PACKET_FRAME_BYTES_MAX + 1];
    memset(noise, 1, sizeof noise);
    for (size_t n = SH_PACKET_FRAME_BYTES_MAX - 1; n <= SH_PACKET_FRAME_BYTES_MAX + 1; n++) {
        struct wire wire = {.n = 0};
        put_bytes(&wire, noise, n);
        put_bytes(&wire, "\0", 1);
        put(&wire, &wide);
        struct sh_packet_frame decoder = make(&kept);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
        assert_int_equal(kept.n, 1);
        assert_int_equal(decoder.counts.damaged, 1);
        assert_int_equal(decoder.counts.skipped_bytes, n + 1);
    }
}

struct verdict {
    uint16_t first;
    uint16_t second;
    uint64_t lost;
    uint64_t late;
    uint64_t repeated;
};

static void test_sequence_limits(void **state)
{
    static const struct verdict verdicts[] = {
        {0, 1, 0, 0, 0},     {65535, 0, 0, 0, 0},   {0, 2, 1, 0, 0},    {0, 0, 0, 0, 1},
        {100, 99, 0, 1, 0},  {100, 37, 0, 1, 0},    {100, 36, 0, 0, 0}, {0, 65473, 0, 1, 0},
        {0, 65472, 0, 0, 0}, {7, 1031, 1023, 0, 0}, {7, 1032, 0, 0, 0}, {40000, 0, 0, 0, 0},
        {0, 64, 63, 0, 0},   {1, 64, 62, 0, 0},
    };
    static struct kept kept;
    for (size_t i = 0; i < sizeof verdicts / sizeof verdicts[0]; i++) {
        struct sh_packet packet = wide;
        struct wire wire = {.n = 0};
        packet.sequence = verdicts[i].first;
        put(&wire, &packet);
        packet.sequence = verdicts[i].second;
        put(&wire, &packet);
        struct sh_packet_frame decoder = make(&kept);
        assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
        assert_int_equal(kept.n, 2);
        assert_int_equal(decoder.counts.lost, verdicts[i].lost);
        assert_int_equal(decoder.counts.late, verdicts[i].late);
        assert_int_equal(decoder.counts.repeated, verdicts[i].repeated);
    }
}

/* Each stream has a sequence of its own. */
static void test_streams_do_not_mix(void **state)
{
    static struct kept kept;
    struct wire wire = {.n = 0};
    struct sh_packet packet = wide;
    for (uint16_t i = 0; i < 8; i++) {
        packet.stream = i % 2;
        packet.sequence = (uint16_t)(i / 2 + 500 * (i % 2));
        put(&wire, &packet);
    }
    struct sh_packet_frame decoder = make(&kept);
    assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_OK);
    assert_int_equal(decoder.counts.good, 8);
    assert_int_equal(decoder.counts.lost + decoder.counts.late + decoder.counts.repeated, 0);
}

static void test_the_sinks_status_comes_back(void **state)
{
    static struct kept kept;
    struct wire wire = {.n = 0};
    put(&wire, &narrow);
    struct sh_packet_frame decoder = make(&kept);
    kept.fail_at = 2;
    assert_int_equal(sh_packet_frame_push(&decoder, wire.bytes, wire.n), SH_ERR_FULL);
    assert_int_equal(kept.n, 2);
    assert_int_equal(decoder.counts.good, 2);
}

static void test_encoder_limits(void **state)
{
    static const int32_t wide16[] = {32768, -32769};
    uint8_t to[SH_PACKET_FRAME_BYTES_MAX];
    size_t n = 99;
    struct sh_packet bad[8];
    for (size_t i = 0; i < 8; i++) {
        bad[i] = narrow;
    }
    bad[0].stream = SH_STREAMS_MAX;
    bad[1].n_frames = 0;
    bad[2].n_channels = 0;
    bad[3].n_channels = SH_STREAM_CHANNELS_MAX + 1;
    bad[4].format = (enum sh_packet_format)3;
    bad[5].period_ns = 0;
    bad[6].n_frames = 1;
    bad[6].n_channels = 1;
    bad[6].counts = wide16;
    bad[7] = bad[6];
    bad[7].counts = wide16 + 1;
    for (size_t i = 0; i < 8; i++) {
        assert_int_equal(sh_packet_frame_encode(&bad[i], to, &n), SH_ERR_ARGUMENT);
    }
    assert_int_equal(n, 99);
    bad[7].format = SH_PACKET_FORMAT_INT32;
    assert_int_equal(sh_packet_frame_encode(&bad[7], to, &n), SH_OK);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_layout),
        cmocka_unit_test(test_whole_and_every_cut),
        cmocka_unit_test(test_reset_is_fresh),
        cmocka_unit_test(test_every_flipped_bit_is_found),
        cmocka_unit_test(test_fields_out_of_range),
        cmocka_unit_test(test_longest_body),
        cmocka_unit_test(test_packet_without_end),
        cmocka_unit_test(test_sequence_limits),
        cmocka_unit_test(test_streams_do_not_mix),
        cmocka_unit_test(test_the_sinks_status_comes_back),
        cmocka_unit_test(test_encoder_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
