/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_INSIDE_H
#define SH_APP_LIVE_INSIDE_H

#include <pthread.h>

#include "app/hold_goal.h"
#include "app/live_draws.h"
#include "app/live_finisher.h"
#include "app/live_force.h"
#include "app/live_page.h"
#include "app/live_queue.h"
#include "app/live_sensor.h"
#include "app/live_sensors.h"
#include "app/live_wave.h"
#include "app/live_zeros.h"
#include "app/shelf.h"
#include "metrology/load_drift.h"

/* What the live page's own files share; nothing else looks inside. */

#define SH_LIVE_PAINTED_MAX 4096u
#define SH_LIVE_MARKS_MAX   2000u /* entries of a recording: each rewrites all of them */
#define SH_LIVE_WAITING_MAX 64u

/* What is measured where it is asked for. */
struct sh_live_measures {
    double painted_ms[SH_LIVE_PAINTED_MAX];
    size_t n_painted;
    double front_s; /* processor time of the front on the capture's thread */
    double begin_s; /* host's monotonic time */
};

/* Who is answered once figures are there. */
struct sh_live_waiting {
    unsigned viewer;
    json_int_t id; /* of the command */
};

struct sh_live_page {
    struct sh_live_page_config config;
    struct sh_server *server;
    struct sh_shelf *shelf;
    struct sh_live_finisher *finisher;
    struct sh_live_queue queue;

    /* Shared with the server's threads. */
    pthread_mutex_t lock;      /* of all here; held until the server is known */
    pthread_mutex_t wave_lock; /* of the pointer wave: held by whoever reads it */
    unsigned current;          /* recording on the shelf that runs; 0: none */
    bool has_sound;
    bool is_in_charge;
    struct sh_hold_goal goal; /* of the archer who shoots */
    struct sh_live_sensors sensors;
    struct sh_live_measures measures;
    struct sh_live_wave *wave;
    struct sh_remeasure *measured; /* owned; to be taken by the thread that captures */

    /* Of the thread that captures. */
    const struct sh_session *session; /* of the recording that runs; NULL: none */
    char folder[SH_HOME_PATH_BYTES];
    double begin_s;
    unsigned id; /* current, without the lock */
    size_t first_channel[SH_STREAMS_MAX];
    struct sh_load_drift_state drift[SH_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
    struct sh_live_force force;
    struct sh_live_sensor sensor;
    struct sh_analysis shots;
    struct sh_live_draws draws; /* those of shots */
    struct sh_live_zeros zeros; /* set since the program began */
    bool is_measuring;          /* some of them, on the finisher's thread */
    struct sh_live_waiting waiting[SH_LIVE_WAITING_MAX];
    size_t n_waiting;
    struct sh_mark *marks; /* owned, [n_marks] */
    size_t n_marks;
    double released_s;   /* the last release that was told, in the recording; NaN: none */
    bool is_moving;      /* as the last state said */
    const char *hearing; /* of the sensors, the worst */
    double state_s; /* when it was told, host's monotonic time; wave and sensors: when next */
    double wave_s;
    double sensor_s;
    double command_s; /* when the next command is taken */
};

/* Host's monotonic time, s. */
double sh_live_now_s(void);

/* Processor time of this thread, s; 0 where nothing is measured. */
double sh_live_thread_s(const struct sh_live_page *page);

/* live_front.c: what the capture calls. */
void sh_live_front_begin(void *context, const struct sh_capture_recording *recording);
void sh_live_front_block(void *context,
                         const struct sh_block *block,
                         const struct sh_clocks *clocks);
void sh_live_front_shot(void *context,
                        const struct sh_shot_record *record,
                        const struct sh_shot_view *view);
void sh_live_front_mark(void *context, const struct sh_mark *mark);
void sh_live_front_say(void *context, const char *text);
enum sh_status sh_live_front_end(void *context,
                                 const struct sh_capture_recording *recording,
                                 struct sh_error *err);

void sh_live_front_idle(void *context,
                        const struct sh_session *session,
                        const struct sh_error *why);

/* Somebody shoots, whose goal counts from now on. */
void sh_live_set_archer(struct sh_live_page *page, const char *athlete);

/* live_zero.c: what the forces read where they stand now. While there is a recording. */

/* A stream by its name, or its number, in a command; false: there is none such. */
bool sh_live_zero_find_stream(const struct sh_live_page *page,
                              const json_t *object,
                              size_t *out);

/* The readings at which the stream's forces would be 0. SH_ERR_ARGUMENT (a curve has its own,
 * or it moves), SH_ERR_SHORT (not enough has come): not all of them can be set to zero. */
enum sh_status sh_live_zero_read(const struct sh_live_page *page,
                                 size_t s,
                                 double zero[SH_STREAM_CHANNELS_MAX],
                                 struct sh_error *refused);

/* Those of the stream's profile, which is their way back. SH_ERR_ARGUMENT: it has them. */
enum sh_status sh_live_zero_read_own(const struct sh_live_page *page,
                                     size_t s,
                                     double zero[SH_STREAM_CHANNELS_MAX],
                                     struct sh_error *refused);

/* The recordings that follow begin with them, also where the sensor is chosen again later. */
void sh_live_zero_put(struct sh_live_page *page,
                      size_t s,
                      const double zero[SH_STREAM_CHANNELS_MAX]);

/* live_choose.c: which sensors. */

/* Answers GET of /api/sensors: the HTTP status. From the server's threads. */
int sh_live_choose_answer(struct sh_live_page *page, struct sh_text *text);

/* Appends ,"athlete","is_idle","error" of a hello. From the server's threads. */
void sh_live_choose_put_hello(struct sh_live_page *page, struct sh_text *text);

/* Looks whether anything comes from the sensors. */
void sh_live_choose_hear(struct sh_live_page *page, const struct sh_capture *capture);

/* Does a "sensor" command; see sh_live_obey. */
enum sh_status sh_live_choose(struct sh_live_page *page,
                              struct sh_capture *capture,
                              const json_t *object,
                              struct sh_error *refused,
                              struct sh_error *err);

/* live_tell.c: messages. */

/* Tells text, unless it failed or is empty, and closes it. */
void sh_live_tell(struct sh_live_page *page,
                  enum sh_room_audience audience,
                  struct sh_text *text);

/* Tells a shot as it now stands, with its score and notes. */
void sh_live_tell_shot(struct sh_live_page *page, unsigned n);

/* Tells a mark: type "mark" for one that was put, "unmark" for one that was taken back. */
void sh_live_tell_mark(struct sh_live_page *page, const char *type, const struct sh_mark *mark);

/* Tells the tags of the recording that runs. */
void sh_live_tell_tags(struct sh_live_page *page, const struct sh_session *session);

void sh_live_tell_warning(struct sh_live_page *page, const char *kind, const char *line);
void sh_live_tell_release(struct sh_live_page *page,
                          double t_s,
                          double hold_s,
                          double sample_ms);

/* Tells that the clock signals: how many strokes, and whether nobody may have drawn yet. */
void sh_live_tell_signal(void *context, unsigned n_strokes, bool is_before_draws);

/* Tells what is due: state, wave, sensors. */
void sh_live_tell_due(struct sh_live_page *page, const struct sh_capture *capture);

/* live_obey.c: commands. */

/*
 * Does what a command wants of the running capture. *refused says why it was not done; the
 * status is other than SH_OK only where the capture itself cannot go on.
 */
enum sh_status sh_live_obey(struct sh_live_page *page,
                            struct sh_capture *capture,
                            const json_t *object,
                            struct sh_error *refused,
                            struct sh_error *err);

/* live_edit.c: tags, and corrections with the figures that follow from them. */

/* Whether a command is one of those that sh_live_edit_run does. */
bool sh_live_edit_is_edit(const json_t *object);

/*
 * Does one for the recording that runs: what is said is in recording.json then. The viewer is
 * answered by it, in one line where it is refused; of a correction and its undo once the draw
 * has been measured anew, by sh_live_edit_step. The status is other than SH_OK only where the
 * capture itself cannot go on.
 */
enum sh_status sh_live_edit_run(struct sh_live_page *page,
                                struct sh_capture *capture,
                                const struct sh_live_command *command,
                                struct sh_error *err);

/* Hands over what was measured (taken). From the finisher's thread. */
void sh_live_edit_take_measured(void *context, struct sh_remeasure *job);

/* Shows what was measured meanwhile, and answers who waits for it. The status is other than
 * SH_OK only where the capture itself cannot go on. */
enum sh_status
sh_live_edit_step(struct sh_live_page *page, struct sh_capture *capture, struct sh_error *err);

/* The recording ends: its corrections are kept, and count in the passes over it. */
void sh_live_edit_end(struct sh_live_page *page);

#endif
