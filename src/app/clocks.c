/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clocks.h"

#include <math.h>

enum sh_status sh_clocks_init(struct sh_clocks *clocks, const struct sh_session *session)
{
    *clocks = (struct sh_clocks){.n_streams = session->n_streams};
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < session->n_streams && status == SH_OK; i++) {
        const struct sh_stream *stream = &session->streams[i].stream;
        status = sh_timebase_init(&clocks->timebase[i], stream->rate_hz, stream->offset_s,
                                  stream->offset_u_s);
    }
    return status;
}

void sh_clocks_close(struct sh_clocks *clocks)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        sh_timebase_close(&clocks->timebase[i]);
    }
    *clocks = (struct sh_clocks){0};
}

void sh_clocks_push_block(struct sh_clocks *clocks, const struct sh_block *block)
{
    clocks->next_frame[block->stream] = block->first_frame + block->n_frames;
}

enum sh_status
sh_clocks_push_anchor(struct sh_clocks *clocks, size_t stream, const struct sh_anchor *anchor)
{
    return sh_timebase_append(&clocks->timebase[stream], anchor);
}

bool sh_clocks_find_anchor(const struct sh_clocks *clocks,
                           size_t stream,
                           uint64_t frame,
                           struct sh_anchor *out)
{
    const struct sh_timebase *timebase = &clocks->timebase[stream];
    if (timebase->n_anchors == 0) {
        return false;
    }
    out->frame = frame;
    out->time_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, (double)frame, &out->u_s);
    return true;
}

double sh_clocks_get_now_s(const struct sh_clocks *clocks)
{
    double now_s = 0.0;
    for (size_t i = 0; i < clocks->n_streams; i++) {
        if (clocks->next_frame[i] > 0) {
            now_s = fmax(now_s, sh_timebase_time(&clocks->timebase[i], SH_TIMEBASE_FORWARD,
                                                 (double)clocks->next_frame[i], NULL));
        }
    }
    return now_s;
}
