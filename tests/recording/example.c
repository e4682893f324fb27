/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/example.h"

#include <math.h>
#include <stdio.h>

#include "recording/recording_writer.h"
#include "support/cmocka_all.h"

#define STEP_S       0.1
#define STEPS_PER_S  ((size_t)10)
#define STRING_BLOCK ((size_t)100)
#define BOW_BLOCK    ((size_t)320)
#define BOW_CHANNELS ((size_t)3)

void example_open(struct sh_session *session)
{
    *session = (struct sh_session){.started = "2026-05-14T09:30:00.000Z",
                                   .utc_offset_min = 120,
                                   .athlete = "plover",
                                   .n_streams = 2};
    struct sh_stream *string = &session->streams[0].stream;
    struct sh_stream *bow = &session->streams[1].stream;
    (void)snprintf(string->name, sizeof string->name, "string");
    (void)snprintf(bow->name, sizeof bow->name, "bow");
    string->rate_hz = EXAMPLE_STRING_HZ;
    string->n_channels = 1;
    string->channel[0] = (struct sh_channel){.role = SH_ROLE_STRING_FORCE,
                                             .unit = "N",
                                             .scale = 0.0125,
                                             .zero = 812.0,
                                             .has_range = true,
                                             .range_low = -8388608.0,
                                             .range_high = 8388607.0};
    bow->rate_hz = EXAMPLE_BOW_HZ;
    bow->offset_s = 0.0031;
    bow->n_channels = BOW_CHANNELS;
    for (size_t i = 0; i < BOW_CHANNELS; i++) {
        bow->channel[i] = (struct sh_channel){.role = SH_ROLE_BOW_ACCELERATION,
                                              .axis = (enum sh_axis)(SH_AXIS_X + (int)i),
                                              .unit = "m/s2",
                                              .scale = 0.0383,
                                              .has_range = true,
                                              .range_low = -4096.0,
                                              .range_high = 4095.0};
    }
}

static enum sh_status
push_string(const struct sh_block_sink *sink, uint64_t step, struct sh_error *err)
{
    double raw[STRING_BLOCK];
    uint64_t first = step * STRING_BLOCK;
    if (step % STEPS_PER_S == 0) {
        const struct sh_anchor anchor = {first, (double)first / EXAMPLE_STRING_HZ * 1.0002,
                                         0.0002};
        enum sh_status status = sink->anchor(sink->context, 0, &anchor, err);
        if (status != SH_OK) {
            return status;
        }
    }
    for (size_t i = 0; i < STRING_BLOCK; i++) {
        raw[i] = round(1e6 * sin(0.01 * (double)(first + i))) + 0.0; /* counts have no -0 */
    }
    /* where nothing is lost, the middle part has no frames */
    const bool has_gap = step % (3 * STEPS_PER_S) == 0;
    const size_t cuts[4] = {0, 20, has_gap ? 50 : 20, STRING_BLOCK};
    enum sh_status status = SH_OK;
    for (size_t k = 0; k < 3 && status == SH_OK; k++) {
        for (size_t i = cuts[k]; k == 1 && i < cuts[k + 1]; i++) {
            raw[i] = raw[cuts[k] - 1];
        }
        const struct sh_block block = {0, first + cuts[k], cuts[k + 1] - cuts[k],
                                       1, raw + cuts[k],   k == 1};
        status = block.n_frames > 0 ? sink->block(sink->context, &block, err) : SH_OK;
    }
    return status;
}

static enum sh_status
push_bow(const struct sh_block_sink *sink, uint64_t step, struct sh_error *err)
{
    double raw[BOW_BLOCK * BOW_CHANNELS];
    uint64_t first = step * BOW_BLOCK;
    for (size_t i = 0; i < BOW_BLOCK * BOW_CHANNELS; i++) {
        raw[i] = round(4095.0 * sin(0.003 * (double)(first * BOW_CHANNELS + i))) + 0.0;
    }
    const struct sh_block block = {1, first, BOW_BLOCK, BOW_CHANNELS, raw, false};
    return sink->block(sink->context, &block, err);
}

enum sh_status example_push(const struct sh_block_sink *sink,
                            double from_s,
                            double until_s,
                            struct sh_error *err)
{
    enum sh_status status = SH_OK;
    uint64_t until = (uint64_t)lround(until_s / STEP_S);
    for (uint64_t step = (uint64_t)lround(from_s / STEP_S); step < until && status == SH_OK;
         step++) {
        status = push_string(sink, step, err);
        if (status == SH_OK) {
            status = push_bow(sink, step, err);
        }
    }
    return status;
}

enum sh_status example_record(const char *folder, bool is_synced, struct sh_error *err)
{
    struct sh_session session;
    const struct sh_mark mark = {.kind = SH_MARK_NOTE, .text = "a"};
    const double wide = 1e9; /* the range of the string's file is 24 bits */
    const struct sh_block block = {0, 1100, 1, 1, &wide, false};
    struct sh_recording_writer_config config = sh_recording_writer_config_default();
    struct sh_recording_writer *writer = NULL;
    config.is_synced = is_synced;
    example_open(&session);
    enum sh_status status = sh_recording_writer_open(folder, &session, &config, &writer, err);
    if (status != SH_OK) {
        assert_null(writer);
        return status;
    }
    const struct sh_block_sink sink = sh_recording_writer_sink(writer);
    status = example_push(&sink, 0.0, 1.1, err);
    if (status == SH_OK) {
        status = sh_recording_writer_add_mark(writer, &mark, err);
    }
    if (status == SH_OK) {
        status = sink.block(sink.context, &block, err);
    }
    if (status == SH_OK) {
        status = sh_recording_writer_finish(writer, true, err);
    }
    sh_recording_writer_close(&writer);
    return status;
}
