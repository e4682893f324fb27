/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/sensor_stream.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "sensor/text_frame.h"
#include "sim/channel_set.h"
#include "sim/sampler.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define BYTES_MAX (1u << 22)

/* Bytes that came, and what a decoder makes of them. */
struct wire {
    uint8_t *bytes;
    size_t n_bytes;
    size_t limit; /* refuses more bytes than this; 0: takes all */
};

struct bench {
    struct sh_stream_source_config source[SH_CHANNEL_SET_STREAMS_MAX];
    const struct sh_stream *stream[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_streams;
    struct sh_session_plan *plan;
    struct sh_sensor_stream sensor;
    struct wire wire;
};

static enum sh_status
take_bytes(void *context, const uint8_t *bytes, size_t n_bytes, struct sh_error *err)
{
    struct wire *wire = context;
    if (wire->limit > 0 && wire->n_bytes + n_bytes > wire->limit) {
        return sh_error_set(err, SH_ERR_IO, NULL, NULL, "unplugged");
    }
    assert_true(wire->n_bytes + n_bytes <= BYTES_MAX);
    memcpy(wire->bytes + wire->n_bytes, bytes, n_bytes);
    wire->n_bytes += n_bytes;
    return SH_OK;
}

static struct bench *open_bench(const char *set)
{
    struct bench *bench = calloc(1, sizeof *bench);
    struct sh_session_plan_config config = sh_session_plan_config_default();
    assert_non_null(bench);
    bench->wire.bytes = malloc(BYTES_MAX);
    assert_non_null(bench->wire.bytes);
    config.n_draws = 1;
    assert_int_equal(sh_session_plan_open(&config, &bench->plan, NULL), SH_OK);
    assert_int_equal(sh_channel_set_find(set, bench->source, &bench->n_streams, NULL), SH_OK);
    for (size_t i = 0; i < bench->n_streams; i++) {
        bench->stream[i] = &bench->source[i].stream;
    }
    return bench;
}

static void close_bench(struct bench *bench)
{
    sh_session_plan_close(&bench->plan);
    free(bench->wire.bytes);
    free(bench);
}

static struct sh_sensor_stream_config make_config(const struct bench *bench,
                                                  enum sh_sensor_framing framing)
{
    return (struct sh_sensor_stream_config){.framing = framing,
                                            .n_streams = bench->n_streams,
                                            .stream = bench->stream,
                                            .start_us = UINT32_MAX - 5000000u,
                                            .has_header = true,
                                            .packet_frames = 20,
                                            .format = SH_PACKET_FORMAT_INT16,
                                            .seed = 5};
}

/* Samples the session through the sensor onto the wire. */
static void
run(struct bench *bench, const struct sh_sensor_stream_config *config, size_t block_frames)
{
    const struct sh_byte_sink byte_sink = {take_bytes, &bench->wire};
    const struct sh_sampler_config sampler_config = {
        bench->plan, 1, bench->source, bench->n_streams, block_frames, false};
    struct sh_sampler *sampler = NULL;
    bench->wire.n_bytes = 0;
    assert_int_equal(sh_sensor_stream_init(&bench->sensor, config, &byte_sink, NULL), SH_OK);
    const struct sh_block_sink sink = sh_sensor_stream_get_sink(&bench->sensor);
    assert_int_equal(sh_sampler_open(&sampler_config, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_flush(&bench->sensor, NULL), SH_OK);
    const size_t n_bytes = bench->wire.n_bytes;
    assert_int_equal(sh_sensor_stream_flush(&bench->sensor, NULL), SH_OK);
    assert_true(bench->wire.n_bytes == n_bytes);
    sh_sampler_close(&sampler);
}

/* What decoded frames are compared with: the sampler's own frames, made once more. */
struct expectation {
    struct sh_sensor_stream *sensor;
    struct sh_stream_source source[SH_CHANNEL_SET_STREAMS_MAX];
    uint64_t next[SH_CHANNEL_SET_STREAMS_MAX];
    uint64_t n_seen;
    bool has_losses; /* then frames may be missing: their times say which */
};

/* Device times: half a microsecond of the packet's rounded period, and half of the counter. */
static bool is_time(uint32_t got_us, uint32_t expected_us)
{
    const uint32_t off_us = got_us - expected_us;
    return off_us <= 1 || off_us >= UINT32_MAX;
}

static enum sh_status check_frame(void *context, const struct sh_frame *frame)
{
    struct expectation *expectation = context;
    struct sh_stream_source *source = &expectation->source[frame->stream];
    uint64_t *next = &expectation->next[frame->stream];
    double raw[SH_STREAM_CHANNELS_MAX];
    while (expectation->has_losses &&
           !is_time(frame->device_time_us, sh_sensor_stream_get_device_time_us(
                                               expectation->sensor, frame->stream, *next))) {
        (*next)++;
        assert_true(*next < 10000000u);
    }
    assert_true(is_time(frame->device_time_us, sh_sensor_stream_get_device_time_us(
                                                   expectation->sensor, frame->stream, *next)));
    sh_stream_source_make(source, *next, raw);
    assert_int_equal(frame->n_channels, source->config.stream.n_channels);
    for (size_t c = 0; c < frame->n_channels; c++) {
        assert_near((double)frame->counts[c], raw[c], 0.0, 0.0);
    }
    (*next)++;
    expectation->n_seen++;
    return SH_OK;
}

/* Without noise a frame can be made once more, whatever the sampler's seeds. */
static void silence(struct bench *bench)
{
    for (size_t i = 0; i < bench->n_streams; i++) {
        for (size_t c = 0; c < bench->source[i].stream.n_channels; c++) {
            bench->source[i].stream.channel[c].noise = 0.0;
        }
    }
}

static void expect(struct expectation *expectation, struct bench *bench)
{
    expectation->sensor = &bench->sensor;
    for (size_t i = 0; i < bench->n_streams; i++) {
        assert_int_equal(sh_stream_source_init(&expectation->source[i], bench->plan,
                                               &bench->source[i], 1, NULL),
                         SH_OK);
    }
}

/* Lines: every frame comes back with its counts, the counter wraps on the way. */
static void test_text(void **state)
{
    struct bench *bench = open_bench("contact");
    struct expectation *expectation = calloc(1, sizeof *expectation);
    assert_non_null(expectation);
    silence(bench);
    const struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_TEXT);
    run(bench, &config, 512);
    expect(expectation, bench);
    struct sh_text_frame decoder;
    const struct sh_frame_sink sink = {check_frame, expectation};
    assert_int_equal(sh_text_frame_init(&decoder, 2, &sink), SH_OK);
    assert_memory_equal(bench->wire.bytes, "micros,count,count\n", 19);
    assert_int_equal(sh_text_frame_push(&decoder, bench->wire.bytes, bench->wire.n_bytes),
                     SH_OK);
    sh_text_frame_flush(&decoder);
    assert_true(decoder.counts.good == bench->sensor.n_frames);
    assert_true(decoder.counts.damaged == 0);
    assert_near((double)decoder.counts.good, 1000.0 * bench->plan->duration_s, 2.0, 1e-4);
    assert_true(bench->plan->duration_s > 6.0); /* longer than to the wrap */
    free(expectation);
    close_bench(bench);
}

/* Packets of two streams of one device. */
static void test_packets(void **state)
{
    struct bench *bench = open_bench("force_bow");
    struct expectation *expectation = calloc(1, sizeof *expectation);
    assert_non_null(expectation);
    silence(bench);
    const struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_PACKET);
    run(bench, &config, 512);
    expect(expectation, bench);
    struct sh_packet_frame *decoder = calloc(1, sizeof *decoder);
    assert_non_null(decoder);
    const struct sh_frame_sink sink = {check_frame, expectation};
    sh_packet_frame_init(decoder, &sink);
    assert_int_equal(sh_packet_frame_push(decoder, bench->wire.bytes, bench->wire.n_bytes),
                     SH_OK);
    sh_packet_frame_flush(decoder);
    assert_true(decoder->counts.good == bench->sensor.n_frames);
    assert_true(decoder->counts.damaged == 0 && decoder->counts.lost == 0);
    assert_true(expectation->next[0] > 9000 && expectation->next[1] > 3 * expectation->next[0]);
    free(decoder);
    free(expectation);
    close_bench(bench);
}

/* Lost frames are not on the wire; counter and sequence tell of them. */
static void test_losses(void **state)
{
    struct bench *bench = open_bench("force1000");
    struct expectation *expectation = calloc(1, sizeof *expectation);
    struct sh_packet_frame *decoder = calloc(1, sizeof *decoder);
    assert_non_null(expectation);
    assert_non_null(decoder);
    silence(bench);
    bench->source[0].lost_per_h = 3600.0;
    bench->source[0].lost_frames_max = 100;
    const struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_PACKET);
    run(bench, &config, 512);
    expect(expectation, bench);
    expectation->has_losses = true;
    const struct sh_frame_sink sink = {check_frame, expectation};
    sh_packet_frame_init(decoder, &sink);
    assert_int_equal(sh_packet_frame_push(decoder, bench->wire.bytes, bench->wire.n_bytes),
                     SH_OK);
    const double n_lost = (double)(expectation->next[0] - expectation->n_seen);
    assert_true(n_lost > 100.0);
    assert_true(decoder->counts.good == expectation->n_seen);
    /* reckoned in packets: of the right size, not exact */
    assert_near((double)decoder->counts.lost, n_lost, 40.0, 0.5);
    free(decoder);
    free(expectation);
    close_bench(bench);
}

/* However the blocks are cut, a stream's bytes are the same; after reset too. */
static void test_cuts(void **state)
{
    const enum sh_sensor_framing framing[] = {SH_SENSOR_FRAMING_TEXT, SH_SENSOR_FRAMING_PACKET};
    for (size_t i = 0; i < 2; i++) {
        struct bench *bench = open_bench("force1000");
        struct sh_sensor_stream_config config = make_config(bench, framing[i]);
        config.damaged_ratio = 0.02;
        bench->source[0].lost_per_h = 1200.0;
        bench->source[0].lost_frames_max = 90;
        run(bench, &config, 4096);
        const size_t n_bytes = bench->wire.n_bytes;
        uint8_t *whole = malloc(n_bytes);
        assert_non_null(whole);
        memcpy(whole, bench->wire.bytes, n_bytes);
        assert_true(bench->sensor.n_damaged > 0);
        run(bench, &config, 1);
        assert_true(bench->wire.n_bytes == n_bytes);
        assert_memory_equal(bench->wire.bytes, whole, n_bytes);
        run(bench, &config, 33);
        assert_memory_equal(bench->wire.bytes, whole, n_bytes);
        free(whole);
        close_bench(bench);
    }
}

static enum sh_status ignore_frame(void *context, const struct sh_frame *frame)
{
    return SH_OK;
}

/* Damage comes as often as asked for and is seen as such, line by line. */
static void test_damage(void **state)
{
    struct bench *bench = open_bench("force1000");
    struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_TEXT);
    struct sh_text_frame decoder;
    const struct sh_frame_sink sink = {ignore_frame, NULL};
    config.damaged_ratio = 0.1;
    run(bench, &config, 512);
    assert_int_equal(sh_text_frame_init(&decoder, 1, &sink), SH_OK);
    assert_int_equal(sh_text_frame_push(&decoder, bench->wire.bytes, bench->wire.n_bytes),
                     SH_OK);
    const double n = (double)bench->sensor.n_frames;
    assert_true(decoder.counts.damaged == bench->sensor.n_damaged);
    assert_true(decoder.counts.good + decoder.counts.damaged == bench->sensor.n_frames);
    assert_near((double)bench->sensor.n_damaged / n, 0.1, 4.0 * sqrt(0.09 / n), 0.0);
    close_bench(bench);
}

/* A sink that refuses stops the sensor. */
static void test_sink_error(void **state)
{
    struct bench *bench = open_bench("force1000");
    const struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_TEXT);
    const struct sh_byte_sink byte_sink = {take_bytes, &bench->wire};
    const double raw[3] = {1.0, 2.0, 3.0};
    const struct sh_block block = {.n_frames = 3, .n_channels = 1, .raw = raw};
    struct sh_error err = {0};
    bench->wire.limit = 30;
    assert_int_equal(sh_sensor_stream_init(&bench->sensor, &config, &byte_sink, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, &err), SH_ERR_IO);
    assert_string_equal(err.what, "unplugged");
    close_bench(bench);
}

/* What the framing cannot carry. */
static void test_bad_blocks(void **state)
{
    struct bench *bench = open_bench("force1000");
    struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_PACKET);
    const struct sh_byte_sink byte_sink = {take_bytes, &bench->wire};
    double raw[2] = {1.5, 0.0};
    struct sh_block block = {.n_frames = 1, .n_channels = 1, .raw = raw};
    assert_int_equal(sh_sensor_stream_init(&bench->sensor, &config, &byte_sink, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_ERR_ARGUMENT);
    raw[0] = 2147483648.0;
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_ERR_ARGUMENT);
    raw[0] = (double)NAN;
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_ERR_ARGUMENT);
    block.stream = 1;
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_ERR_ARGUMENT);
    block.stream = 0;
    block.n_channels = 2;
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_ERR_ARGUMENT);
    block.n_channels = 1;
    raw[0] = 40000.0; /* whole, but beyond 16 bits */
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_flush(&bench->sensor, NULL), SH_ERR_ARGUMENT);
    config.format = SH_PACKET_FORMAT_INT32;
    assert_int_equal(sh_sensor_stream_init(&bench->sensor, &config, &byte_sink, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_push(&bench->sensor, &block, NULL), SH_OK);
    assert_int_equal(sh_sensor_stream_flush(&bench->sensor, NULL), SH_OK);
    close_bench(bench);
}

static void check_init(struct bench *bench,
                       const struct sh_sensor_stream_config *config,
                       enum sh_status expected)
{
    const struct sh_byte_sink sink = {take_bytes, &bench->wire};
    assert_int_equal(sh_sensor_stream_init(&bench->sensor, config, &sink, NULL), expected);
}

static void test_refusals(void **state)
{
    struct bench *bench = open_bench("force_bow");
    struct sh_sensor_stream_config config = make_config(bench, SH_SENSOR_FRAMING_TEXT);
    check_init(bench, &config, SH_ERR_ARGUMENT); /* two streams in lines */
    config.framing = SH_SENSOR_FRAMING_PACKET;
    check_init(bench, &config, SH_OK);
    config.n_streams = 0;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    config.n_streams = 2;
    config.packet_frames = 0;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    config.packet_frames = 256;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    config.packet_frames = 255;
    check_init(bench, &config, SH_OK);
    bench->source[1].stream.n_channels = 8; /* 14 + 255 x 8 x 2 + 2 = 4096 bytes just fit */
    check_init(bench, &config, SH_OK);
    bench->source[1].stream.n_channels = 9;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    bench->source[1].stream.n_channels = 3;
    config.format = (enum sh_packet_format)3;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    config.format = SH_PACKET_FORMAT_INT32;
    config.damaged_ratio = 1.01;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    config.damaged_ratio = 1.0;
    check_init(bench, &config, SH_OK);
    bench->source[0].stream.channel[0].is_physical = true;
    check_init(bench, &config, SH_ERR_UNSUPPORTED);
    bench->source[0].stream.channel[0].is_physical = false;
    bench->source[0].stream.rate_hz = 0.5;
    check_init(bench, &config, SH_ERR_ARGUMENT);
    close_bench(bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text),       cmocka_unit_test(test_packets),
        cmocka_unit_test(test_losses),     cmocka_unit_test(test_cuts),
        cmocka_unit_test(test_damage),     cmocka_unit_test(test_sink_error),
        cmocka_unit_test(test_bad_blocks), cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
