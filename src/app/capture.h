/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_H
#define SH_APP_CAPTURE_H

#include <signal.h>

#include "app/capture_sensors.h"
#include "app/clocks.h"
#include "app/entry.h"
#include "finding/analysis.h"
#include "finding/limit.h"
#include "sensor/frame.h"
#include "series/shooting_clock.h"
#include "shot/segmenter.h"

/*
 * Records until it is told to end: sensors into recordings, shots to whoever looks, what is
 * entered into marks. It knows no terminal and no page: those are fronts (struct
 * sh_capture_front), any number of them side by side, all on the thread that runs the capture.
 *
 * Where its setup may wait it can be idle: no sensor has been chosen, nothing is recorded; the
 * shooting clock goes on, and fronts are asked what to do as ever.
 */
struct sh_capture;

/* What came of it. */
struct sh_capture_result {
    size_t n_recordings;
    uint64_t n_good_frames;
    char (*folder)[SH_HOME_PATH_BYTES]; /* owned, [n_recordings] */
};

/* Frees what the result owns and zeroes it. Takes a zeroed result. */
void sh_capture_result_close(struct sh_capture_result *result);

/* A recording that begins or has ended; all borrowed. */
struct sh_capture_recording {
    const char *folder; /* made with the first samples or the first mark */
    const struct sh_session *session;
    double begin_s;            /* 0 s of the recording on the sensors' clock */
    bool has_folder;           /* at the end: something was recorded */
    struct sh_analysis *shown; /* at the end: its shots, complete; NULL: setup has no format */
};

/*
 * Somebody who looks on and may enter things. Each function may be NULL; what it is given is
 * borrowed for the call. It must not wait for anything: the sensors wait meanwhile.
 */
struct sh_capture_front {
    /* Whole lines for people. */
    void (*say)(void *context, const char *text);
    /* A warning's sound, where it is switched on: never while a string is pulled. */
    void (*ring)(void *context);
    /* The shooting clock signals, for who sounds it in a way of its own; is_before_draws: to
     * the line or to shoot, when nobody may have drawn. */
    void (*signal)(void *context, unsigned n_strokes, bool is_before_draws);
    void (*begin)(void *context, const struct sh_capture_recording *recording);
    /* Samples, after they were kept; clocks give their times, on the sensors' clock. */
    void (*block)(void *context, const struct sh_block *block, const struct sh_clocks *clocks);
    /* A draw of the first pass, its times in the recording, with its samples. */
    void (*shot)(void *context,
                 const struct sh_shot_record *record,
                 const struct sh_shot_view *view);
    /* A mark that was kept, its time in the recording. */
    void (*mark)(void *context, const struct sh_mark *mark);
    /* Called also after a failure, err then NULL. */
    enum sh_status (*end)(void *context,
                          const struct sh_capture_recording *recording,
                          struct sh_error *err);
    /* There is no sensor (any more), or another archer has come meanwhile; why: what went wrong
     * with those there were, NULL: nothing did. */
    void (*idle)(void *context, const struct sh_session *session, const struct sh_error *why);
    /* Some fifty times a second: the place for sh_capture_obey and sh_capture_get_view. */
    enum sh_status (*step)(void *context, struct sh_capture *capture, struct sh_error *err);
    void *context;
};

/* What is going on. */
struct sh_capture_view {
    const char *athlete;
    double now_s; /* in the recording */
    struct sh_segmenter_state state;
    struct sh_frame_counts counts; /* of all streams */
    bool is_pulled;                /* a sensor is not there now */
    bool is_idle;                  /* none has been chosen; state is all zero */
};

/* Shows it as it is now; athlete is borrowed until the next step. */
void sh_capture_get_view(const struct sh_capture *capture, struct sh_capture_view *out);

/* Is there a recording, if only one that waits for its first samples? False: it is idle. */
bool sh_capture_is_recording(const struct sh_capture *capture);

/* What one of the setup's sensors has given since it was opened. */
struct sh_capture_hearing {
    bool is_open;
    uint64_t n_good;  /* frames, of all its streams */
    uint64_t n_bytes; /* whatever came */
};

/* Shows it; sensor is below the setup's n_sensors. */
struct sh_capture_hearing sh_capture_get_hearing(const struct sh_capture *capture,
                                                 size_t sensor);

/*
 * Other sensors (taken), or with none of them the end of recording until some are chosen: what
 * runs ends with all it has, the next begins, a clock that runs goes on. Where they do not fit
 * together, or the port of one is found not to open (app/capture_ports.h) all stays as it is;
 * where one cannot be opened later the capture is idle: refused then says why. From a front's
 * step, with a setup that may wait. SH_OK then, too: other statuses are those of the writer's
 * end.
 */
enum sh_status sh_capture_change_sensors(struct sh_capture *capture,
                                         struct sh_capture_choice *choice,
                                         struct sh_error *refused,
                                         struct sh_error *err);

/* How a limit among the marks of the recording's session stands; see sh_limit_watch_get_state.
 */
enum sh_limit_state sh_capture_get_limit(const struct sh_capture *capture,
                                         const struct sh_mark *limit);

/* What the shooting clock has left, in words; nothing where none runs. */
void sh_capture_put_clock(const struct sh_capture *capture, struct sh_text *text);

/* The shooting clock as it is seen now, and its format (borrowed until the next step). False:
 * no clock has been started. */
bool sh_capture_find_clock(const struct sh_capture *capture,
                           struct sh_shooting_clock_view *view,
                           const struct sh_round_format **format);

/* Is there a format that the clock could start with? */
bool sh_capture_has_format(const struct sh_capture *capture);

/* The format that the clock starts with next (copied). SH_ERR_BUSY: it runs. */
enum sh_status sh_capture_choose_clock(struct sh_capture *capture,
                                       const struct sh_round_format *format,
                                       struct sh_error *err);

/* Keeps a mark whose time in the recording is known, and shows it to the fronts. Statuses of
 * the recording's writer. */
enum sh_status sh_capture_keep_mark(struct sh_capture *capture,
                                    const struct sh_mark *mark,
                                    struct sh_error *err);

/* The session as recording.json has it, borrowed until the next mark or tag; NULL: there is no
 * folder yet. */
const struct sh_session *sh_capture_get_session(const struct sh_capture *capture);

/* Takes the mark at an index of that session's list back. Statuses of the recording's writer.
 */
enum sh_status
sh_capture_remove_mark(struct sh_capture *capture, size_t index, struct sh_error *err);

/*
 * Sets a tag (an empty value takes it away) of the recording that runs and of those of the same
 * archer that follow it; another archer's begin with the tags of the setup. SH_ERR_ARGUMENT,
 * SH_ERR_FORMAT and SH_ERR_FULL: it cannot be set, all stays as it was; other statuses of the
 * recording's writer.
 */
enum sh_status
sh_capture_set_tag(struct sh_capture *capture, const struct sh_tag *tag, struct sh_error *err);

/* Draws of the recording that runs, records[n] all there are, have been corrected and measured
 * anew: judges them all, and goes on from them, and so do the limits that are watched. See
 * sh_pipeline_amend, sh_limit_watch_amend. Statuses of the recording's writer: a warning. */
enum sh_status sh_capture_amend(struct sh_capture *capture,
                                struct sh_shot_record *records,
                                size_t n,
                                struct sh_error *err);

/*
 * Does what was entered, now; a mark gets its time and its shot in entry. Where nothing is
 * recorded a mark that is not the clock's is passed over: ask sh_capture_is_recording before.
 * Statuses of the recording's writer and, with another archer, of its start. From a front's
 * step only.
 */
enum sh_status
sh_capture_obey(struct sh_capture *capture, struct sh_entry *entry, struct sh_error *err);

/*
 * Runs a capture before n_fronts fronts (kept). should_end is set from outside (a signal) to
 * end it cleanly. Changes in setup who shoots and, where others are chosen, the sensors.
 *
 * It ends with its sensors where they are those it began with; chosen ones that end or fail
 * leave it idle, and the first failure of one that recorded comes back at the end.
 * SH_ERR_FORMAT where not one good frame came from the last; statuses of ports, writer, stages
 * and fronts. What was recorded until a failure stays.
 */
enum sh_status sh_capture_run(struct sh_capture_setup *setup,
                              const struct sh_capture_front *fronts,
                              size_t n_fronts,
                              const volatile sig_atomic_t *should_end,
                              struct sh_capture_result *result,
                              struct sh_error *err);

#endif
