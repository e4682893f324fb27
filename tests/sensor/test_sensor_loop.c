/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sensor/assembler.h"
#include "sensor/port.h"
#include "sensor/text_frame.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/*
 * A sensor that is not there speaks into a pseudo-terminal; its lines come back as blocks
 * through port, decoder and assembler.
 */

#define N_FRAMES   3000u
#define LOST_FROM  1200u /* these frames are never sent */
#define LOST_UNTIL 1217u
#define PERIOD_US  1000u
#define FIRST_US   4294000000u /* the counter wraps on the way */

struct loop {
    struct sh_assembler *assembler;
    struct sh_port *port;
    int sensor_end;
    double got[N_FRAMES][2];
    bool is_filled[N_FRAMES];
    size_t n_sent;
    size_t n_got;
    size_t n_anchors;
};

static enum sh_status take_frame(void *context, const struct sh_frame *frame)
{
    struct loop *loop = context;
    return sh_assembler_push(loop->assembler, frame, NULL);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct loop *loop = context;
    assert_int_equal(block->n_channels, 2);
    assert_int_equal(block->first_frame, loop->n_got);
    assert_true(loop->n_got + block->n_frames <= N_FRAMES);
    assert_true(loop->n_anchors > 0);
    for (size_t i = 0; i < block->n_frames; i++) {
        memcpy(loop->got[loop->n_got], block->raw + 2 * i, sizeof loop->got[0]);
        loop->is_filled[loop->n_got++] = block->is_filled;
    }
    return SH_OK;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct loop *loop = context;
    loop->n_anchors++;
    return SH_OK;
}

static int count_of(size_t frame)
{
    return (int)(frame * 37 % 6000) - 2000;
}

static void open_loop(struct loop *loop)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_stream stream = {.name = "string",
                               .rate_hz = 1000.0,
                               .n_channels = 2,
                               .channel = {{.role = SH_ROLE_STRING_FORCE, .scale = 0.0125},
                                           {.role = SH_ROLE_CLICKER_CONTACT, .scale = 1.0}}};
    loop->sensor_end = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(loop->sensor_end >= 0);
    assert_int_equal(grantpt(loop->sensor_end), 0);
    assert_int_equal(unlockpt(loop->sensor_end), 0);
    struct sh_port_config port = sh_port_config_default();
    port.address = ptsname(loop->sensor_end);
    assert_int_equal(sh_port_open(&port, &loop->port, &err), SH_OK);
    struct sh_assembler_config assembler = {.streams = &stream,
                                            .n_streams = 1,
                                            .is_replay = true, /* sent faster than in time */
                                            .clock = sh_device_clock_config_default(),
                                            .sink = {take_block, take_anchor, loop}};
    assert_int_equal(sh_assembler_open(&assembler, &loop->assembler, &err), SH_OK);
}

static void send_frame(struct loop *loop, size_t frame)
{
    char line[64];
    uint32_t device_us = FIRST_US + (uint32_t)frame * PERIOD_US;
    int n = snprintf(line, sizeof line, "%u,%d,%d\r\n", (unsigned)device_us, count_of(frame),
                     frame < N_FRAMES / 2 ? 1 : 0);
    assert_int_equal(write(loop->sensor_end, line, (size_t)n), n);
    loop->n_sent++;
}

/* Reads until every line that was sent has come. */
static void drain(struct loop *loop, struct sh_text_frame *decoder)
{
    uint8_t bytes[301];
    struct sh_port_reading reading = {.answer = SH_PORT_DATA};
    while (decoder->counts.good + decoder->counts.damaged < loop->n_sent) {
        assert_int_equal(sh_port_read(loop->port, bytes, sizeof bytes, &reading, NULL), SH_OK);
        assert_int_equal(reading.answer, SH_PORT_DATA);
        sh_assembler_arrive(loop->assembler, reading.host_time_us, reading.host_time_us);
        assert_int_equal(sh_text_frame_push(decoder, bytes, reading.n_bytes), SH_OK);
        assert_int_equal(sh_assembler_advance(loop->assembler, NULL), SH_OK);
    }
}

static void test_lines_become_blocks(void **state)
{
    struct loop *loop = calloc(1, sizeof *loop);
    struct sh_text_frame decoder;
    assert_non_null(loop);
    open_loop(loop);
    struct sh_frame_sink sink = {take_frame, loop};
    assert_int_equal(sh_text_frame_init(&decoder, 2, &sink), SH_OK);
    for (size_t frame = 0; frame < N_FRAMES; frame++) {
        if (frame >= LOST_FROM && frame < LOST_UNTIL) {
            continue;
        }
        send_frame(loop, frame);
        if (frame % 50 == 49) {
            drain(loop, &decoder);
        }
    }
    assert_int_equal(decoder.counts.good, N_FRAMES - (LOST_UNTIL - LOST_FROM));
    assert_int_equal(decoder.counts.damaged, 0);
    assert_int_equal(sh_assembler_flush(loop->assembler, NULL), SH_OK);
    assert_int_equal(loop->n_got, N_FRAMES);
    for (size_t frame = 0; frame < N_FRAMES; frame++) {
        bool is_lost = frame >= LOST_FROM && frame < LOST_UNTIL;
        int count = count_of(is_lost ? LOST_FROM - 1 : frame);
        assert_near(loop->got[frame][0], (double)count, 0.0, 0.0);
        assert_near(loop->got[frame][1], frame < N_FRAMES / 2 ? 1.0 : 0.0, 0.0, 0.0);
        assert_int_equal(loop->is_filled[frame], is_lost);
    }
    struct sh_frame_counts counts = sh_assembler_get_counts(loop->assembler, 0);
    assert_int_equal(counts.lost, LOST_UNTIL - LOST_FROM);
    assert_int_equal(sh_assembler_get_strange(loop->assembler), 0);
    sh_port_close(&loop->port);
    sh_assembler_close(&loop->assembler);
    assert_int_equal(close(loop->sensor_end), 0);
    free(loop);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines_become_blocks),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
