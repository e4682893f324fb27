/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_voice.h"

#include <stdio.h>
#include <string.h>

static void say(const struct sh_limit_voice *voice, const char *text)
{
    char line[SH_ERROR_LINE_BYTES + 2];
    (void)snprintf(line, sizeof line, "%s\n", text);
    voice->sink.say(voice->sink.context, line);
}

/* What has been shown stands in the recording already, whatever then happens to the program. */
static enum sh_status
take_event(void *context, const struct sh_limit_event *event, struct sh_error *err)
{
    struct sh_limit_voice *voice = context;
    const struct sh_mark mark = sh_limit_guard_make_mark(event);
    char line[SH_FINDING_TEXT_BYTES + 16];
    (void)snprintf(line, sizeof line, "%s: %s\n",
                   event->kind == SH_LIMIT_EVENT_REACHED ? "LIMIT" : "warning", event->text);
    const enum sh_status status = voice->sink.mark(voice->sink.context, &mark, err);
    voice->sink.say(voice->sink.context, line);
    voice->has_bell = voice->has_sound;
    return status;
}

static void say_limits(const struct sh_limit_voice *voice)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_limit_guard_list(voice->guard, &text);
    if (text.status == SH_OK && text.n_bytes > 0) {
        voice->sink.say(voice->sink.context, text.data);
    }
    sh_text_close(&text);
}

enum sh_status sh_limit_voice_open(struct sh_limit_voice *voice,
                                   const struct sh_limit_voice_config *config,
                                   struct sh_error *err)
{
    const struct sh_limit_guard_config guarding = {
        .session = config->session,
        .home = config->home,
        .may_analyze = config->is_first,
        .skip = (const char(*)[SH_HOME_PATH_BYTES])config->result->folder,
        .n_skip = config->result->n_recordings,
        .store = &voice->earlier,
        .sink = {take_event, voice}};
    struct sh_text warnings;
    struct sh_error why = {0};
    sh_text_init(&warnings, 0);
    enum sh_status status = sh_limit_guard_open(&guarding, &voice->guard, &warnings, &why);
    if (warnings.data != NULL) {
        voice->sink.say(voice->sink.context, warnings.data);
    }
    sh_text_close(&warnings);
    if (status == SH_OK) {
        say_limits(voice);
    } else if (config->is_first) {
        *err = why;
        return status;
    } else {
        char line[SH_ERROR_LINE_BYTES];
        sh_error_format(&why, line);
        say(voice, line);
        say(voice, "warning: this archer's limits are UNKNOWN and not watched");
    }
    return SH_OK;
}

void sh_limit_voice_end(struct sh_limit_voice *voice)
{
    sh_limit_guard_close(&voice->guard);
}

void sh_limit_voice_close(struct sh_limit_voice *voice)
{
    sh_limit_guard_close(&voice->guard);
    sh_limit_store_close(&voice->earlier);
}

enum sh_status sh_limit_voice_push(struct sh_limit_voice *voice,
                                   const struct sh_clocks *clocks,
                                   const struct sh_block *block,
                                   double begin_s,
                                   struct sh_error *err)
{
    const struct sh_timebase *timebase = &clocks->timebase[block->stream];
    const double first = (double)block->first_frame;
    const double n = (double)block->n_frames;
    if (voice->guard == NULL || block->n_frames == 0) {
        return SH_OK;
    }
    double from_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, first, NULL);
    double until_s = sh_timebase_time(timebase, SH_TIMEBASE_FORWARD, first + n, NULL);
    return sh_limit_guard_push(voice->guard, block, from_s - begin_s, (until_s - from_s) / n,
                               err);
}

enum sh_status sh_limit_voice_take(struct sh_limit_voice *voice,
                                   const struct sh_shot_record *record,
                                   struct sh_error *err)
{
    return voice->guard != NULL ? sh_limit_guard_take(voice->guard, record, err) : SH_OK;
}

enum sh_status sh_limit_voice_amend(struct sh_limit_voice *voice,
                                    const struct sh_shot_record *records,
                                    size_t n,
                                    struct sh_error *err)
{
    return voice->guard != NULL ? sh_limit_guard_amend(voice->guard, records, n, err) : SH_OK;
}

void sh_limit_voice_rate(struct sh_limit_voice *voice, const struct sh_mark *mark)
{
    if (mark->kind != SH_MARK_PAIN) {
        return;
    }
    struct sh_limit_guard_cautions cautions = {.has_stop = mark->rating.value > 0.0 &&
                                                           strcmp(mark->when, "during") == 0};
    if (voice->guard != NULL) {
        cautions = sh_limit_guard_rate(voice->guard, mark);
    }
    if (cautions.has_stop) {
        say(voice, sh_rating_get_stop_caution());
    }
    if (cautions.has_ask) {
        say(voice, sh_rating_get_ask_caution());
    }
}

enum sh_limit_state sh_limit_voice_get_state(const struct sh_limit_voice *voice,
                                             const struct sh_mark *limit)
{
    return voice->guard != NULL ? sh_limit_guard_get_state(voice->guard, limit)
                                : SH_LIMIT_UNKNOWN;
}

void sh_limit_voice_ring(struct sh_limit_voice *voice)
{
    if (voice->has_bell && voice->guard != NULL && sh_limit_guard_is_quiet(voice->guard)) {
        voice->has_bell = false;
        voice->sink.ring(voice->sink.context);
    }
}
