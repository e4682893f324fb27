/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "app/capture_inside.h"
#include "app/stamp.h"
#include "app/take_folder.h"

static enum sh_status take_record(void *context,
                                  const struct sh_shot_record *record,
                                  const struct sh_shot_view *view,
                                  struct sh_error *err)
{
    struct sh_capture *capture = context;
    if (capture->setup->format != NULL) {
        enum sh_status status = sh_analysis_add(&capture->shown, record);
        if (status != SH_OK) {
            return sh_error_set(err, status, capture->folder, NULL, "too many shots");
        }
    }
    if (record->shot.kind == SH_SHOT_SHOT) {
        capture->last_shot = record->shot.n;
    }
    enum sh_status timed = sh_capture_clock_take(
        &capture->shooting, record, capture->take_begin_s, sh_capture_find_now_s(capture), err);
    if (timed != SH_OK) {
        return timed;
    }
    sh_capture_fronts_shot(&capture->fronts, record, view);
    return sh_limit_voice_take(&capture->voice, record, err);
}

static enum sh_status choose_folder(struct sh_capture *capture, struct sh_error *err)
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

static struct sh_capture_recording describe(const struct sh_capture *capture)
{
    return (struct sh_capture_recording){.folder = capture->folder,
                                         .session = capture->setup->session,
                                         .begin_s = capture->take_begin_s};
}

enum sh_status sh_capture_begin_take(struct sh_capture *capture, struct sh_error *err)
{
    struct sh_session *session = capture->setup->session;
    sh_stamp_session(session);
    const struct sh_limit_voice_config limits = {.session = session,
                                                 .home = capture->setup->home,
                                                 .is_first = !capture->has_taken,
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
    if (status == SH_OK) {
        capture->has_taken = true;
        const struct sh_capture_recording recording = describe(capture);
        sh_capture_fronts_begin(&capture->fronts, &recording);
    }
    return status;
}

void sh_capture_pass_counts(struct sh_capture *capture)
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

/* Shows the fronts what is over: its shots, where they were asked for, are complete. */
static enum sh_status
show_end(struct sh_capture *capture, bool has_folder, struct sh_error *err)
{
    struct sh_capture_recording recording = describe(capture);
    recording.has_folder = has_folder;
    if (capture->setup->format != NULL && has_folder) {
        sh_take_complete(capture->take, &capture->shown);
        recording.shown = &capture->shown;
    }
    return sh_capture_fronts_end(&capture->fronts, &recording, err);
}

enum sh_status sh_capture_end_take(struct sh_capture *capture, struct sh_error *err)
{
    bool has_folder = sh_take_has_folder(capture->take);
    if (has_folder) {
        sh_capture_pass_counts(capture);
    }
    enum sh_status status = sh_take_finish(capture->take, capture->setup->to_flac, err);
    if (has_folder && status == SH_OK) {
        status = add_folder(capture->result, capture->folder, err);
    }
    enum sh_status shown = show_end(capture, has_folder, status == SH_OK ? err : NULL);
    status = status != SH_OK ? status : shown;
    sh_take_close(&capture->take);
    sh_limit_voice_end(&capture->voice);
    sh_analysis_close(&capture->shown);
    return status;
}

enum sh_status sh_capture_carry_clock(struct sh_capture *capture, struct sh_error *err)
{
    double elapsed_s = capture->take_begin_s - capture->clock.t_s;
    elapsed_s += capture->clock.elapsed_s.is_given ? capture->clock.elapsed_s.value : 0.0;
    if (!capture->has_clock || elapsed_s >= capture->clock.seconds.value) {
        return SH_OK;
    }
    struct sh_mark mark = capture->clock;
    mark.t_s = 0.0;
    mark.elapsed_s = (struct sh_mark_number){true, elapsed_s};
    return sh_capture_keep_mark(capture, &mark, err);
}

/* Somebody else begins with the tags that were given, without those that were set meanwhile. */
static void name_archer(struct sh_capture *capture, const char *athlete)
{
    struct sh_session *session = capture->setup->session;
    if (strcmp(session->athlete, athlete) != 0) {
        memcpy(session->tags, capture->tags, sizeof session->tags);
        session->n_tags = capture->n_tags;
    }
    (void)snprintf(session->athlete, sizeof session->athlete, "%.127s", athlete);
}

enum sh_status
sh_capture_change_archer(struct sh_capture *capture, const char *athlete, struct sh_error *err)
{
    if (capture->take == NULL) {
        name_archer(capture, athlete);
        sh_capture_fronts_idle(&capture->fronts, capture->setup->session, NULL);
        return sh_capture_clock_hand_over(&capture->shooting, sh_capture_find_now_s(capture),
                                          err);
    }
    enum sh_status status = sh_capture_end_take(capture, err);
    name_archer(capture, athlete);
    capture->take_begin_s = sh_capture_find_now_s(capture);
    (void)sh_intake_set_get_counts(&capture->intakes, capture->before);
    if (status == SH_OK) {
        status = sh_capture_begin_take(capture, err);
    }
    status = status == SH_OK ? sh_capture_carry_clock(capture, err) : status;
    return status == SH_OK
               ? sh_capture_clock_hand_over(&capture->shooting, capture->take_begin_s, err)
               : status;
}
