/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/capture.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/capture_clock.h"
#include "app/clocks.h"
#include "app/entry.h"
#include "app/intake_set.h"
#include "app/limit_voice.h"
#include "app/live_line.h"
#include "app/prompt.h"
#include "app/shot_sentence.h"
#include "app/shown.h"
#include "app/stamp.h"
#include "app/take.h"
#include "app/take_folder.h"

#define COUNTS_US 1000000
#define US_PER_S  1000000
#define NS_PER_US 1000

struct capture {
    const struct sh_capture_setup *setup;
    struct sh_capture_result *result;
    struct sh_intake_set intakes;
    struct sh_clocks clocks; /* of all sensors */
    struct sh_take *take;
    struct sh_analysis shown;        /* the take's shots, for setup->format */
    char folder[SH_HOME_PATH_BYTES]; /* of the take */
    struct sh_live_line line;
    struct sh_limit_voice voice; /* of limits and ratings */
    struct sh_prompt prompt;
    int64_t start_us;
    double take_begin_s; /* on the sensors' clock */
    int64_t counted_us;
    struct sh_mark clock; /* the last one started; its time on the sensors' clock */
    bool has_clock;       /* it has not been stopped */
    struct sh_capture_clock shooting;
    unsigned last_shot; /* the last shot of the take, for scores; 0: none */
    struct sh_frame_counts before[SH_STREAMS_MAX]; /* the take: of its streams */
    bool has_ended;
};

static int64_t now_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

static double since_start_s(const struct capture *capture)
{
    return (double)(now_us() - capture->start_us) / US_PER_S;
}

/* The present on the sensors' clock. A replay's is that of its samples. */
static double find_now_s(const struct capture *capture)
{
    return capture->setup->is_replay ? sh_clocks_get_now_s(&capture->clocks)
                                     : since_start_s(capture);
}

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct capture *capture = context;
    (void)view;
    if (capture->setup->format != NULL) {
        enum sh_status status = sh_analysis_add(&capture->shown, record);
        if (status != SH_OK) {
            return sh_error_set(err, status, capture->folder, NULL, "too many shots");
        }
    }
    if (record->shot.kind == SH_SHOT_SHOT) {
        capture->last_shot = record->shot.n;
    }
    enum sh_status timed =
        sh_capture_clock_take(&capture->shooting, record, capture->take_begin_s, err);
    if (timed != SH_OK) {
        return timed;
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shot_sentence_format(record, &text);
    if (text.status == SH_OK) {
        sh_live_line_print(&capture->line, text.data);
    }
    sh_text_close(&text);
    return sh_limit_voice_take(&capture->voice, record, err);
}

static enum sh_status choose_folder(struct capture *capture, struct sh_error *err)
{
    const struct sh_capture_setup *setup = capture->setup;
    time_t now = time(NULL);
    struct sh_take_folder_config config = {.out = setup->out,
                                           .home = setup->home,
                                           .athlete = setup->session->athlete,
                                           .n_before = capture->result->n_recordings};
    (void)localtime_r(&now, &config.local);
    return sh_take_folder_choose(&config, capture->folder, err);
}

static enum sh_status begin_take(struct capture *capture, struct sh_error *err)
{
    struct sh_session *session = capture->setup->session;
    sh_stamp_session(session);
    const struct sh_limit_voice_config limits = {.session = session,
                                                 .home = capture->setup->home,
                                                 .is_first = capture->take_begin_s <= 0.0,
                                                 .result = capture->result};
    enum sh_status status = choose_folder(capture, err);
    if (status == SH_OK) {
        status = sh_limit_voice_open(&capture->voice, &limits, err);
    }
    if (status != SH_OK) {
        return status;
    }
    const struct sh_take_config config = {.folder = capture->folder,
                                          .session = session,
                                          .thresholds = &capture->setup->thresholds,
                                          .clocks = &capture->clocks,
                                          .begin_s = capture->take_begin_s,
                                          .sink = {take_record, capture}};
    char name[SH_SESSION_FILE_BYTES];
    sh_home_copy_name(capture->folder, name, sizeof name);
    sh_analysis_init(&capture->shown, name, session->athlete);
    capture->last_shot = 0;
    status = sh_take_open(&config, &capture->take, err);
    capture->voice.take = capture->take;
    return status;
}

/* Gives the take what became of its own frames. */
static void pass_counts(struct capture *capture)
{
    struct sh_frame_counts counts[SH_STREAMS_MAX];
    size_t n = sh_intake_set_get_counts(&capture->intakes, counts);
    for (size_t i = 0; i < n; i++) {
        const struct sh_frame_counts *before = &capture->before[i];
        counts[i].good -= before->good;
        counts[i].damaged -= before->damaged;
        counts[i].repeated -= before->repeated;
        counts[i].late -= before->late;
        counts[i].lost -= before->lost;
        counts[i].skipped_bytes -= before->skipped_bytes;
        sh_take_set_counts(capture->take, i, &counts[i]);
    }
}

static enum sh_status
add_folder(struct sh_capture_result *result, const char *folder, struct sh_error *err)
{
    size_t n = result->n_recordings;
    char(*grown)[SH_HOME_PATH_BYTES] = realloc(result->folder, (n + 1) * sizeof *grown);
    if (grown == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    result->folder = grown;
    (void)snprintf(grown[n], sizeof grown[n], "%s", folder);
    result->n_recordings++;
    return SH_OK;
}

/* Its path, or its shots as they were shown. */
static enum sh_status print_take(struct capture *capture, struct sh_error *err)
{
    const struct sh_format *format = capture->setup->format;
    if (format != NULL) {
        sh_take_complete(capture->take, &capture->shown);
    }
    sh_live_line_close(&capture->line);
    return sh_shown_print(capture->folder, format, &capture->shown, err);
}

static enum sh_status end_take(struct capture *capture, struct sh_error *err)
{
    pass_counts(capture);
    bool has_folder = sh_take_has_folder(capture->take);
    enum sh_status status = sh_take_finish(capture->take, capture->setup->to_flac, err);
    if (has_folder && status == SH_OK) {
        status = add_folder(capture->result, capture->folder, err);
    }
    if (has_folder) {
        enum sh_status printed = print_take(capture, status == SH_OK ? err : NULL);
        status = status != SH_OK ? status : printed;
    }
    sh_take_close(&capture->take);
    sh_limit_voice_end(&capture->voice);
    sh_analysis_close(&capture->shown);
    return status;
}

/* The sensors' blocks go to whatever take is running. */
static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct capture *capture = context;
    const struct sh_block_sink sink = sh_take_get_sink(capture->take);
    sh_clocks_push_block(&capture->clocks, block);
    enum sh_status status = sink.block(sink.context, block, err);
    return status == SH_OK ? sh_limit_voice_push(&capture->voice, &capture->clocks, block,
                                                 capture->take_begin_s, err)
                           : status;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    struct capture *capture = context;
    const struct sh_block_sink sink = sh_take_get_sink(capture->take);
    enum sh_status status = sh_clocks_push_anchor(&capture->clocks, stream, anchor);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, NULL, "the clock of stream %zu is full", stream);
    }
    return sink.anchor(sink.context, stream, anchor, err);
}

/* A clock that is running goes on in the next recording. */
static enum sh_status carry_clock(struct capture *capture, struct sh_error *err)
{
    double elapsed_s = capture->take_begin_s - capture->clock.t_s;
    elapsed_s += capture->clock.elapsed_s.is_given ? capture->clock.elapsed_s.value : 0.0;
    if (!capture->has_clock || elapsed_s >= capture->clock.seconds.value) {
        return SH_OK;
    }
    struct sh_mark mark = capture->clock;
    mark.t_s = 0.0;
    mark.elapsed_s = (struct sh_mark_number){true, elapsed_s};
    return sh_take_add_mark(capture->take, &mark, err);
}

/* Another archer: this recording ends, the next begins with the sensors' next frames. */
static enum sh_status
change_archer(struct capture *capture, const char *athlete, struct sh_error *err)
{
    enum sh_status status = end_take(capture, err);
    struct sh_session *session = capture->setup->session;
    (void)snprintf(session->athlete, sizeof session->athlete, "%.127s", athlete);
    capture->take_begin_s = find_now_s(capture);
    (void)sh_intake_set_get_counts(&capture->intakes, capture->before);
    if (status == SH_OK) {
        status = begin_take(capture, err);
    }
    status = status == SH_OK ? carry_clock(capture, err) : status;
    return status == SH_OK
               ? sh_capture_clock_hand_over(&capture->shooting, capture->take_begin_s, err)
               : status;
}

static enum sh_status
put_clock_mark(void *context, const struct sh_mark *mark, struct sh_error *err)
{
    struct capture *capture = context;
    struct sh_mark kept = *mark;
    if (mark->kind != SH_MARK_OVERRUN) {
        capture->has_clock = mark->kind == SH_MARK_CLOCK;
        capture->clock = *mark;
    }
    kept.t_s = fmax(mark->t_s - capture->take_begin_s, 0.0);
    return sh_take_add_mark(capture->take, &kept, err);
}

static void say_clock(void *context, const char *line)
{
    struct capture *capture = context;
    sh_live_line_print(&capture->line, line);
}

static enum sh_status
add_mark(struct capture *capture, struct sh_mark *mark, struct sh_error *err)
{
    mark->t_s = find_now_s(capture) - capture->take_begin_s;
    sh_limit_voice_rate(&capture->voice, mark);
    if (mark->kind == SH_MARK_ARROW) {
        mark->shot = (struct sh_mark_number){capture->last_shot > 0, capture->last_shot};
    }
    return sh_take_add_mark(capture->take, mark, err);
}

/* Says what became of what was typed. */
static void confirm(struct capture *capture, const struct sh_entry *entry)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_entry_format(entry, &text);
    if (text.status == SH_OK && text.n_bytes > 0) {
        sh_live_line_print(&capture->line, text.data);
    }
    sh_text_close(&text);
}

static bool is_of_clock(const struct sh_mark *mark)
{
    return mark->kind == SH_MARK_CLOCK || mark->kind == SH_MARK_CLOCK_STOP;
}

static enum sh_status obey(struct capture *capture, const char *typed, struct sh_error *err)
{
    struct sh_entry entry;
    struct sh_error refused = {0};
    if (sh_entry_parse(typed, &entry, &refused) != SH_OK) {
        char message[SH_ERROR_LINE_BYTES];
        char line[SH_ERROR_LINE_BYTES + 1];
        sh_error_format(&refused, message);
        (void)snprintf(line, sizeof line, "%s\n", message);
        sh_live_line_print(&capture->line, line);
        return SH_OK;
    }
    enum sh_status status = SH_OK;
    switch (entry.kind) {
    case SH_ENTRY_NOTHING:
        break;
    case SH_ENTRY_MARK:
        status = is_of_clock(&entry.mark) ? sh_capture_clock_obey(&capture->shooting, &entry,
                                                                  find_now_s(capture), err)
                                          : add_mark(capture, &entry.mark, err);
        break;
    case SH_ENTRY_CLOCK:
        status = sh_capture_clock_obey(&capture->shooting, &entry, find_now_s(capture), err);
        break;
    case SH_ENTRY_ARCHER:
        status = change_archer(capture, entry.athlete, err);
        break;
    case SH_ENTRY_END:
        capture->has_ended = true;
        break;
    }
    if (status == SH_OK) {
        confirm(capture, &entry);
    }
    return status;
}

static enum sh_status obey_all(struct capture *capture, struct sh_error *err)
{
    char typed[SH_PROMPT_LINE_BYTES];
    enum sh_status status = SH_OK;
    while (status == SH_OK && !capture->has_ended &&
           sh_prompt_find_line(&capture->prompt, typed)) {
        status = obey(capture, typed, err);
    }
    return status;
}

static void show(struct capture *capture)
{
    struct sh_live_line_view view = {.athlete = capture->setup->session->athlete,
                                     .counts = sh_intake_set_add_up(&capture->intakes),
                                     .is_pulled = !sh_intake_set_is_whole(&capture->intakes),
                                     .typed = capture->prompt.typed};
    struct sh_text left;
    sh_text_init(&left, 0);
    sh_capture_clock_put_left(&capture->shooting, find_now_s(capture), &left);
    view.clock = left.data;
    sh_take_get_state(capture->take, &view.state);
    sh_live_line_set(&capture->line, &view);
    sh_text_close(&left);
    sh_limit_voice_ring(&capture->voice);
    if (now_us() - capture->counted_us >= COUNTS_US) {
        capture->counted_us = now_us();
        pass_counts(capture);
    }
}

static enum sh_status push_clock(struct capture *capture, struct sh_error *err)
{
    struct sh_segmenter_state state;
    sh_take_get_state(capture->take, &state);
    return sh_capture_clock_push(&capture->shooting, find_now_s(capture), &state, err);
}

static enum sh_status
run_loop(struct capture *capture, const volatile sig_atomic_t *should_end, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    while (status == SH_OK && !capture->has_ended && *should_end == 0) {
        bool can_go_on = true;
        status = sh_intake_set_step(&capture->intakes, &can_go_on, err);
        if (status == SH_OK) {
            status = obey_all(capture, err);
        }
        if (status == SH_OK) {
            status = push_clock(capture, err);
        }
        show(capture);
        double seconds = capture->setup->seconds;
        bool is_over = seconds > 0.0 && since_start_s(capture) >= seconds;
        capture->has_ended = capture->has_ended || is_over || !can_go_on;
    }
    return status;
}

/* What came in and what did not, in one line. */
static enum sh_status report_frames(struct capture *capture, struct sh_error *err)
{
    struct sh_frame_counts sum = sh_intake_set_add_up(&capture->intakes);
    uint64_t n_strange = sh_intake_set_get_strange(&capture->intakes);
    char text[256];
    (void)snprintf(text, sizeof text,
                   "frames: %" PRIu64 " good, %" PRIu64 " lost, %" PRIu64 " damaged, %" PRIu64
                   " repeated, %" PRIu64 " late, %" PRIu64
                   " that do not fit the profile; %" PRIu64 " bytes skipped\n",
                   sum.good, sum.lost, sum.damaged, sum.repeated, sum.late, n_strange,
                   sum.skipped_bytes);
    sh_live_line_print(&capture->line, text);
    capture->result->n_good_frames = sum.good;
    if (sum.good > 0) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_FORMAT, capture->setup->address[0],
                        "check the port, its baud rate and the profile's columns",
                        "not one good frame came");
}

/* Standard input is the keyboard's unless a sensor speaks there. */
static void open_prompt(struct capture *capture)
{
    for (size_t i = 0; i < capture->setup->n_sensors; i++) {
        if (strcmp(capture->setup->address[i], "-") == 0) {
            sh_prompt_open_silent(&capture->prompt);
            return;
        }
    }
    sh_prompt_open(&capture->prompt);
}

static void close_all(struct capture *capture)
{
    sh_live_line_close(&capture->line);
    sh_prompt_close(&capture->prompt);
    sh_intake_set_close(&capture->intakes);
    sh_take_close(&capture->take);
    sh_limit_voice_close(&capture->voice);
    sh_analysis_close(&capture->shown);
    sh_clocks_close(&capture->clocks);
}

void sh_capture_result_close(struct sh_capture_result *result)
{
    free(result->folder);
    *result = (struct sh_capture_result){0};
}

enum sh_status sh_capture_run(const struct sh_capture_setup *setup,
                              const volatile sig_atomic_t *should_end,
                              struct sh_capture_result *result,
                              struct sh_error *err)
{
    struct capture capture = {.setup = setup, .result = result, .start_us = now_us()};
    *result = (struct sh_capture_result){0};
    const struct sh_capture_clock_sink marks = {put_clock_mark, say_clock, &capture};
    sh_live_line_init(&capture.line);
    capture.voice.line = &capture.line;
    capture.voice.has_sound = setup->has_sound;
    sh_capture_clock_init(&capture.shooting, setup->has_clock ? &setup->clock : NULL, &marks);
    enum sh_status status = sh_clocks_init(&capture.clocks, setup->session);
    status = status == SH_OK ? begin_take(&capture, err) : status;
    if (status == SH_OK) {
        const struct sh_block_sink sink = {
            .block = take_block, .anchor = take_anchor, .context = &capture};
        status = sh_intake_set_open(setup, capture.start_us, &sink, &capture.intakes, err);
    }
    if (status == SH_OK) {
        open_prompt(&capture);
        if (capture.prompt.is_terminal) {
            (void)fputs(sh_entry_get_help(), stderr);
        }
        status = run_loop(&capture, should_end, err);
        enum sh_status flushed =
            sh_intake_set_flush(&capture.intakes, status == SH_OK ? err : NULL);
        status = status != SH_OK ? status : flushed;
        enum sh_status ended = end_take(&capture, status == SH_OK ? err : NULL);
        status = status != SH_OK ? status : ended;
        enum sh_status counted = report_frames(&capture, status == SH_OK ? err : NULL);
        status = status != SH_OK ? status : counted;
    }
    close_all(&capture);
    return status;
}
