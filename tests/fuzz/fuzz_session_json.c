/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as recording.json: refused with its line, or a session within all bounds which is
 * the same again once written and read.
 */
#include <math.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "recording/session_json.h"

static void check_stream(const struct sh_session_stream *stream)
{
    const struct sh_timebase *timebase = &stream->timebase;
    uint64_t end = 0;
    SH_FUZZ_CHECK(isfinite(stream->stream.rate_hz) && stream->stream.rate_hz > 0.0);
    SH_FUZZ_CHECK(stream->stream.n_channels >= 1 &&
                  stream->stream.n_channels <= SH_STREAM_CHANNELS_MAX);
    SH_FUZZ_CHECK(stream->file[0] != '\0' && strchr(stream->file, '/') == NULL);
    for (size_t i = 1; i < timebase->n_anchors; i++) {
        SH_FUZZ_CHECK(timebase->anchors[i].frame > timebase->anchors[i - 1].frame);
        SH_FUZZ_CHECK(timebase->anchors[i].time_s > timebase->anchors[i - 1].time_s);
    }
    for (size_t i = 0; i < stream->n_gaps; i++) {
        SH_FUZZ_CHECK(stream->gaps[i].n_frames > 0 && stream->gaps[i].frame >= end);
        SH_FUZZ_CHECK(stream->gaps[i].n_frames <= UINT64_MAX - stream->gaps[i].frame);
        end = stream->gaps[i].frame + stream->gaps[i].n_frames;
    }
    for (size_t i = 0; i < stream->stream.n_channels; i++) {
        const struct sh_channel *channel = &stream->stream.channel[i];
        SH_FUZZ_CHECK(isfinite(channel->scale) && isfinite(channel->zero));
        SH_FUZZ_CHECK(channel->scale_u >= 0.0 && channel->zero_u >= 0.0);
        SH_FUZZ_CHECK(channel->n_curve <= SH_CHANNEL_CURVE_MAX);
        SH_FUZZ_CHECK(!channel->has_range || channel->range_low < channel->range_high);
    }
}

static void check_session(const struct sh_session *session)
{
    SH_FUZZ_CHECK(session->n_streams >= 1 && session->n_streams <= SH_STREAMS_MAX);
    SH_FUZZ_CHECK(session->n_tags <= SH_SESSION_TAGS_MAX);
    for (size_t i = 0; i < session->n_streams; i++) {
        check_stream(&session->streams[i]);
    }
    for (size_t i = 0; i < session->n_marks; i++) {
        SH_FUZZ_CHECK(isfinite(session->marks[i].t_s));
        SH_FUZZ_CHECK(session->marks[i].n_scores <= SH_MARK_SCORES_MAX);
    }
}

/* What was read is written, and read and written again: the same bytes. */
static void check_again(const struct sh_session *session, const struct sh_session_json *kept)
{
    struct sh_session again = {0};
    struct sh_session_json *kept_again = NULL;
    struct sh_text one;
    struct sh_text two;
    struct sh_error err = {.status = SH_OK};
    sh_text_init(&one, 0);
    sh_text_init(&two, 0);
    SH_FUZZ_CHECK(sh_session_json_format(session, kept, &one, &err) == SH_OK);
    SH_FUZZ_CHECK(sh_session_json_parse(one.data, one.n_bytes, "again", &again, &kept_again,
                                        &err) == SH_OK);
    SH_FUZZ_CHECK(sh_session_json_format(&again, kept_again, &two, &err) == SH_OK);
    SH_FUZZ_CHECK(one.n_bytes == two.n_bytes && memcmp(one.data, two.data, one.n_bytes) == 0);
    sh_text_close(&one);
    sh_text_close(&two);
    sh_session_close(&again);
    sh_session_json_close(&kept_again);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_session *session = calloc(1, sizeof *session);
    struct sh_session_json *kept = NULL;
    struct sh_error err = {.status = SH_OK};
    char *text = malloc(n_bytes > 0 ? n_bytes : 1);
    if (session == NULL || text == NULL) {
        abort();
    }
    memcpy(text, bytes, n_bytes);
    enum sh_status status = sh_session_json_parse(text, n_bytes, "input", session, &kept, &err);
    if (status == SH_OK) {
        check_session(session);
        check_again(session, kept);
    } else {
        SH_FUZZ_CHECK(status == SH_ERR_FORMAT || status == SH_ERR_UNSUPPORTED ||
                      status == SH_ERR_FULL);
        SH_FUZZ_CHECK(err.status == status && kept == NULL && session->n_streams == 0);
        SH_FUZZ_CHECK(strncmp(err.where, "input", strlen("input")) == 0);
        SH_FUZZ_CHECK(err.what[0] != '\0');
    }
    sh_session_json_close(&kept);
    sh_session_close(session);
    free(session);
    free(text);
    return 0;
}
