/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/collector.h"

#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"

static void grow(struct collected_stream *stream, size_t n_frames)
{
    while (stream->n_frames + n_frames > stream->capacity_frames) {
        stream->capacity_frames =
            stream->capacity_frames > 0 ? 2 * stream->capacity_frames : 1024;
    }
    size_t n_values = stream->capacity_frames * stream->n_channels;
    stream->raw = realloc(stream->raw, n_values * sizeof *stream->raw);
    stream->is_filled =
        realloc(stream->is_filled, stream->capacity_frames * sizeof *stream->is_filled);
    assert_non_null(stream->raw);
    assert_non_null(stream->is_filled);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct collector *collector = context;
    if (collector->n_events_left-- == 0) {
        return sh_error_set(err, SH_ERR_BUSY, "collector", NULL, "asked to stop");
    }
    assert_in_range(block->stream, 0, SH_STREAMS_MAX - 1);
    struct collected_stream *stream = &collector->streams[block->stream];
    assert_true(block->n_frames > 0);
    assert_true(stream->n_channels == 0 || stream->n_channels == block->n_channels);
    stream->n_channels = block->n_channels;
    assert_int_equal(block->first_frame, stream->n_frames);
    grow(stream, block->n_frames);
    memcpy(stream->raw + stream->n_frames * stream->n_channels, block->raw,
           block->n_frames * stream->n_channels * sizeof *stream->raw);
    for (size_t i = 0; i < block->n_frames; i++) {
        stream->is_filled[stream->n_frames + i] = block->is_filled;
    }
    stream->n_frames += block->n_frames;
    stream->n_blocks++;
    if (block->n_frames > stream->longest_block_frames) {
        stream->longest_block_frames = block->n_frames;
    }
    return SH_OK;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct collector *collector = context;
    if (collector->n_events_left-- == 0) {
        return sh_error_set(err, SH_ERR_BUSY, "collector", NULL, "asked to stop");
    }
    assert_in_range(stream, 0, SH_STREAMS_MAX - 1);
    struct collected_stream *to = &collector->streams[stream];
    /* neither behind its frame nor in the middle of a block: at the frame it counts from */
    assert_int_equal(anchor->frame, to->n_frames);
    assert_true(to->n_anchors < COLLECTOR_ANCHORS_MAX);
    to->anchors[to->n_anchors++] = *anchor;
    return SH_OK;
}

struct sh_block_sink collector_open(struct collector *collector)
{
    *collector = (struct collector){.n_events_left = SIZE_MAX};
    return (struct sh_block_sink){take_block, take_anchor, collector};
}

void collector_close(struct collector *collector)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        free(collector->streams[i].raw);
        free(collector->streams[i].is_filled);
    }
    *collector = (struct collector){0};
}

enum sh_status collector_read(struct collector *collector,
                              const char *folder,
                              struct sh_recording_reader **reader,
                              struct sh_error *err)
{
    struct sh_recording_reader *own = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    const struct sh_block_sink sink = collector_open(collector);
    enum sh_status status = sh_recording_reader_open(folder, &config, &own, err);
    if (status == SH_OK) {
        status = sh_recording_reader_push(own, &sink, err);
    }
    if (reader != NULL) {
        *reader = own;
    } else {
        sh_recording_reader_close(&own);
    }
    return status;
}

void collector_check_same(const struct collector *got, const struct collector *expected)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        const struct collected_stream *a = &got->streams[i];
        const struct collected_stream *b = &expected->streams[i];
        assert_int_equal(a->n_frames, b->n_frames);
        assert_int_equal(a->n_anchors, b->n_anchors);
        assert_int_equal(a->n_channels, b->n_channels);
        if (a->n_frames > 0) {
            assert_memory_equal(a->raw, b->raw, a->n_frames * a->n_channels * sizeof *a->raw);
            assert_memory_equal(a->is_filled, b->is_filled, a->n_frames * sizeof *a->is_filled);
        }
        assert_memory_equal(a->anchors, b->anchors, a->n_anchors * sizeof *a->anchors);
    }
}
