/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/session_quality.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "base/text.h"

#define PER_CENT 100.0

/* One sentence for all streams that lost samples: a code is said once. */
static void add_lost(const struct sh_session *session, struct sh_analysis *analysis)
{
    char text[SH_ANALYSIS_TEXT_BYTES] = "";
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_session_stream *stream = &session->streams[i];
        uint64_t n_lost = 0;
        for (size_t k = 0; k < stream->n_gaps; k++) {
            n_lost += stream->gaps[k].n_frames;
        }
        if (n_lost > 0) {
            size_t n_bytes = strlen(text);
            double n_all = (double)(n_lost + stream->frames.good);
            (void)snprintf(text + n_bytes, sizeof text - n_bytes,
                           "%s%" PRIu64 " sample%s of %.64s %s lost in %zu gap%s (%.2g %%)",
                           n_bytes > 0 ? ", " : "", n_lost, n_lost > 1 ? "s" : "",
                           stream->stream.name, n_lost > 1 ? "were" : "was", stream->n_gaps,
                           stream->n_gaps > 1 ? "s" : "", PER_CENT * (double)n_lost / n_all);
        }
    }
    if (text[0] != '\0') {
        sh_analysis_add_quality(analysis, SH_CODE_QUALITY_GAP, text);
    }
}

/* The corrected events of one draw, ", draw 2 clicker". */
static void append_corrected(const struct sh_shot *shot, struct sh_text *text)
{
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        if (shot->is_corrected[event]) {
            sh_text_printf(text, "%s draw %u %s%s", text->n_bytes > 0 ? "," : "", shot->n,
                           sh_shot_event_title((enum sh_event)event),
                           sh_quantity_is_known(&shot->event_s[event]) ? ""
                                                                       : " (was not there)");
        }
    }
}

/* Which events a person corrected; as many as fit are named. */
static void add_corrected(struct sh_analysis *analysis)
{
    struct sh_text list;
    char text[SH_ANALYSIS_TEXT_BYTES];
    sh_text_init(&list, 0);
    for (size_t i = 0; i < analysis->n_shots; i++) {
        append_corrected(&analysis->shots[i].shot, &list);
    }
    if (list.n_bytes > 0) {
        int n_used = snprintf(text, sizeof text, "corrected by a person:%s", list.data);
        if (n_used >= (int)sizeof text) {
            (void)snprintf(text + sizeof text - 4, 4, "...");
        }
        sh_analysis_add_quality(analysis, SH_CODE_QUALITY_CORRECTED, text);
    }
    sh_text_close(&list);
}

void sh_session_quality_add(const struct sh_session *session, struct sh_analysis *analysis)
{
    add_lost(session, analysis);
    add_corrected(analysis);
    for (int code = 0; code < SH_CODE_QUALITY_COUNT; code++) {
        size_t n = 0;
        for (size_t i = 0; i < analysis->n_shots; i++) {
            n += analysis->shots[i].quality[code] ? 1 : 0;
        }
        if (n > 0) {
            char text[SH_ANALYSIS_TEXT_BYTES];
            (void)snprintf(text, sizeof text, "%zu of %zu draws: %s", n, analysis->n_shots,
                           sh_code_quality_title((enum sh_code_quality)code));
            sh_analysis_add_quality(analysis, (enum sh_code_quality)code, text);
        }
    }
}
