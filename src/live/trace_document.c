/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/trace_document.h"

#include <math.h>

#include "live/number_text.h"
#include "live/shot_window.h"
#include "live/trace_evidence.h"
#include "live/trace_points.h"

#define LEAD_S       3.5  /* read before the draw start, for the rest level */
#define MARGIN_S     0.05 /* read either side, for delays */
#define LONGEST_S    170.0
#define TIME_DIGITS  7
#define VALUE_DIGITS 6

struct sh_trace_document_config sh_trace_document_config_default(void)
{
    return (struct sh_trace_document_config){.align = SH_EVENT_RELEASE,
                                             .from_s = -5.0,
                                             .until_s = 1.5,
                                             .n_points = 1500,
                                             .reading = SH_TIMEBASE_BETWEEN};
}

static enum sh_status check_config(const struct sh_trace_document_config *config,
                                   struct sh_error *err)
{
    bool is_aligned = config->align == SH_EVENT_RELEASE || config->align == SH_EVENT_CLICKER ||
                      config->align == SH_EVENT_FULL_DRAW;
    bool is_span = config->from_s >= -SH_TRACE_DOCUMENT_REACH_S &&
                   config->until_s <= SH_TRACE_DOCUMENT_REACH_S &&
                   config->from_s < config->until_s;
    if (!is_aligned || !is_span || config->n_points < SH_TRACE_DOCUMENT_POINTS_MIN ||
        config->n_points > SH_TRACE_DOCUMENT_POINTS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "trace",
                            "align=release, clicker or full_draw; from and to within 60 s; "
                            "points 16 to 8000",
                            "there is no such trace");
    }
    return SH_OK;
}

/* The event at 0: the one asked for, or the first that is known. */
static enum sh_event find_align(const struct sh_shot *shot, enum sh_event wanted)
{
    const enum sh_event order[] = {wanted, SH_EVENT_RELEASE, SH_EVENT_LET_DOWN, SH_EVENT_END,
                                   SH_EVENT_DRAW_START};
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        if (sh_quantity_is_known(&shot->event_s[order[i]])) {
            return order[i];
        }
    }
    return SH_EVENT_COUNT;
}

/* One trace being written. */
struct trace {
    const struct sh_trace_document_config *config;
    const struct sh_shot_record *record;
    const struct sh_shot_view *view;
    bool has_force;
    enum sh_role main_role; /* where has_force */
    double align_s;
    struct sh_trace_points points;
};

static void write_channel(struct trace *trace,
                          const struct sh_shot_stream *stream,
                          size_t k,
                          struct sh_text *text)
{
    const struct sh_channel *channel = &stream->stream->channel[k];
    const struct sh_quantity *rest = &stream->rest_n[k];
    const struct sh_trace_points_span span = {.zero_s = trace->align_s,
                                              .from_s = trace->config->from_s,
                                              .until_s = trace->config->until_s,
                                              .n_pieces = trace->config->n_points};
    sh_trace_points_fill(&trace->points, &span, stream, k,
                         sh_quantity_is_known(rest) ? rest->value : 0.0);
    sh_text_puts(text, "{\"stream\":");
    sh_number_text_put_string(text, stream->stream->name);
    sh_text_printf(text, ",\"role\":\"%s\",\"axis\":", sh_channel_role_name(channel->role));
    sh_number_text_put_name(text, sh_channel_axis_name(channel->axis));
    sh_text_puts(text, ",\"finger\":");
    sh_number_text_put_name(text, sh_channel_finger_name(channel->finger));
    sh_text_puts(text, ",\"unit\":");
    sh_number_text_put_string(text, channel->unit);
    sh_text_puts(text, ",\"rate_hz\":");
    sh_number_text_put(text, stream->stream->rate_hz, 9);
    sh_text_puts(text, ",\"t\":");
    sh_number_text_put_list(text, trace->points.t_s, trace->points.n, TIME_DIGITS);
    sh_text_puts(text, ",\"lo\":");
    sh_number_text_put_list(text, trace->points.lo, trace->points.n, VALUE_DIGITS);
    sh_text_puts(text, ",\"hi\":");
    sh_number_text_put_list(text, trace->points.hi, trace->points.n, VALUE_DIGITS);
    sh_text_puts(text, "}");
}

/* Whether a session has a channel of a role. */
static bool has_role(const struct sh_session *session, enum sh_role role)
{
    bool has = false;
    for (size_t i = 0; i < session->n_streams; i++) {
        const struct sh_stream *stream = &session->streams[i].stream;
        for (size_t k = 0; k < stream->n_channels; k++) {
            has = has || stream->channel[k].role == role;
        }
    }
    return has;
}

/* Whether a channel was asked for; is_first: it is the first that there is. */
static bool
is_wanted(const struct trace *trace, const struct sh_channel *channel, bool is_first)
{
    bool is_main = trace->has_force ? channel->role == trace->main_role : is_first;
    switch (trace->config->channels) {
    case SH_TRACE_CHANNELS_MAIN:
        return is_main;
    case SH_TRACE_CHANNELS_OTHERS:
        return !is_main;
    case SH_TRACE_CHANNELS_ALL:
    default:
        return true;
    }
}

/* Those of a stream that were asked for; *comma stands before each but the first of all. */
static void write_stream(struct trace *trace,
                         const struct sh_shot_stream *stream,
                         bool is_first,
                         const char **comma,
                         struct sh_text *text)
{
    for (size_t k = 0; k < stream->stream->n_channels; k++) {
        if (is_wanted(trace, &stream->stream->channel[k], is_first && k == 0)) {
            sh_text_puts(text, *comma);
            write_channel(trace, stream, k, text);
            *comma = ",";
        }
    }
}

static void write_channels(struct trace *trace, struct sh_text *text)
{
    bool is_first = true;
    const char *comma = "";
    sh_text_puts(text, "\"channels\":[");
    for (size_t i = 0; i < trace->view->n_streams; i++) {
        if (trace->view->stream[i].n_frames > 0) {
            write_stream(trace, &trace->view->stream[i], is_first, &comma, text);
            is_first = false;
        }
    }
    sh_text_puts(text, "]");
}

static void write_events(const struct trace *trace, struct sh_text *text)
{
    sh_text_puts(text, ",\"events\":{");
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        const struct sh_quantity *at = &trace->record->shot.event_s[i];
        sh_text_printf(text, "%s\"%s_s\":", i > 0 ? "," : "",
                       sh_shot_event_stem((enum sh_event)i));
        sh_number_text_put(text,
                           sh_quantity_is_known(at) ? at->value - trace->align_s : (double)NAN,
                           TIME_DIGITS);
    }
    sh_text_puts(text, "}");
}

static void write_trend(const struct trace *trace, struct sh_text *text)
{
    struct sh_trace_evidence line;
    if (!sh_trace_evidence_find_trend(trace->record, trace->view, &line)) {
        sh_text_puts(text, ",\"trend\":null");
        return;
    }
    const double t[2] = {line.from_s - trace->align_s, line.until_s - trace->align_s};
    const double v[2] = {line.from_value, line.until_value};
    sh_text_puts(text, ",\"trend\":{\"role\":\"string_force\",\"t\":");
    sh_number_text_put_list(text, t, 2, TIME_DIGITS);
    sh_text_puts(text, ",\"v\":");
    sh_number_text_put_list(text, v, 2, VALUE_DIGITS);
    sh_text_puts(text, "}");
}

static void write_evidence(const struct trace *trace, struct sh_text *text)
{
    bool is_first = true;
    sh_text_puts(text, ",\"evidence\":[");
    for (size_t i = 0; i < trace->record->n_findings; i++) {
        const struct sh_finding *finding = &trace->record->findings[i];
        struct sh_trace_evidence found;
        if (!sh_trace_evidence_find(finding->code, trace->record, trace->view, &found)) {
            continue;
        }
        sh_text_printf(text, "%s{\"code\":\"%s\",\"role\":\"%s\",\"unit\":\"%s\",\"from\":",
                       is_first ? "" : ",", sh_code_name(finding->code),
                       found.is_share ? "finger_force" : "string_force",
                       found.is_share ? "1" : "N");
        sh_number_text_put(text, found.from_s - trace->align_s, TIME_DIGITS);
        sh_text_puts(text, ",\"to\":");
        sh_number_text_put(text, found.until_s - trace->align_s, TIME_DIGITS);
        sh_text_puts(text, ",\"v_from\":");
        sh_number_text_put(text, found.from_value, VALUE_DIGITS);
        sh_text_puts(text, ",\"v_to\":");
        sh_number_text_put(text, found.until_value, VALUE_DIGITS);
        sh_text_puts(text, ",\"text\":");
        sh_number_text_put_string(text, finding->text);
        sh_text_puts(text, "}");
        is_first = false;
    }
    sh_text_puts(text, "]}");
}

/* What has to be read: what is shown, and of forces the rest before the draw and the hold. */
static struct sh_shot_window_config get_window(const struct sh_shot *shot,
                                               const struct sh_trace_document_config *config,
                                               double align_s)
{
    const struct sh_quantity *start = &shot->event_s[SH_EVENT_DRAW_START];
    double draw_start_s = sh_quantity_is_known(start) ? start->value : (double)NAN;
    double shown_s = align_s + config->from_s - MARGIN_S;
    double until_s = fmax(align_s + config->until_s, align_s) + MARGIN_S;
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        bool is_over = i == SH_EVENT_RELEASE || i == SH_EVENT_LET_DOWN;
        if (is_over && sh_quantity_is_known(&shot->event_s[i])) {
            until_s = fmax(until_s, shot->event_s[i].value + MARGIN_S);
        }
    }
    double from_s = isfinite(draw_start_s) ? fmin(shown_s, draw_start_s - LEAD_S) : shown_s;
    from_s = fmax(from_s, until_s - LONGEST_S);
    shown_s = fmax(shown_s, from_s);
    return (struct sh_shot_window_config){.from_s = shown_s,
                                          .until_s = until_s,
                                          .draw_start_s = draw_start_s,
                                          .reading = config->reading,
                                          .lead_s = shown_s - from_s};
}

static void write_all(struct trace *trace, enum sh_event align, struct sh_text *text)
{
    sh_text_printf(text, "{\"n\":%u,\"align\":\"%s\",\"align_s\":%.9g,", trace->record->shot.n,
                   sh_shot_event_stem(align), trace->align_s);
    write_channels(trace, text);
    write_events(trace, text);
    write_trend(trace, text);
    write_evidence(trace, text);
}

static void find_main(const struct sh_session *session, struct trace *trace)
{
    bool has_string = has_role(session, SH_ROLE_STRING_FORCE);
    trace->has_force = has_string || has_role(session, SH_ROLE_FINGER_FORCE);
    trace->main_role = has_string ? SH_ROLE_STRING_FORCE : SH_ROLE_FINGER_FORCE;
}

enum sh_status sh_trace_document_write(struct sh_recording_reader *reader,
                                       const struct sh_shot_record *record,
                                       const struct sh_trace_document_config *config,
                                       struct sh_text *text,
                                       struct sh_error *err)
{
    struct sh_owned_view window;
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    enum sh_event align = find_align(&record->shot, config->align);
    if (align == SH_EVENT_COUNT) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, "trace", NULL,
                            "nothing is known of when draw %u was", record->shot.n);
    }
    double align_s = record->shot.event_s[align].value;
    struct trace trace = {.config = config, .record = record, .view = &window.view};
    struct sh_shot_window_config wanted = get_window(&record->shot, config, align_s);
    trace.align_s = align_s;
    find_main(sh_recording_reader_session(reader), &trace);
    wanted.is_force_only = config->channels == SH_TRACE_CHANNELS_MAIN && trace.has_force;
    status = sh_shot_window_open(reader, &wanted, &window, err);
    if (status != SH_OK) {
        return status;
    }
    status = sh_trace_points_open(config->n_points, &trace.points);
    if (status == SH_OK) {
        write_all(&trace, align, text);
        status = text->status;
    } else {
        status = sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    sh_trace_points_close(&trace.points);
    sh_owned_view_close(&window);
    return status;
}
