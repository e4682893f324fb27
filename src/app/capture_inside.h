/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_CAPTURE_INSIDE_H
#define SH_APP_CAPTURE_INSIDE_H

#include "app/capture_clock.h"
#include "app/capture_fronts.h"
#include "app/clock_voice.h"
#include "app/intake_set.h"
#include "app/limit_voice.h"
#include "app/take.h"

/* Inside of a capture, shared by its own files alone. */
struct sh_capture {
    struct sh_capture_setup *setup;
    struct sh_capture_result *result;
    struct sh_capture_fronts fronts;
    struct sh_intake_set intakes;
    struct sh_clocks clocks;                 /* of all sensors */
    struct sh_take *take;                    /* NULL: it is idle */
    struct sh_tag tags[SH_SESSION_TAGS_MAX]; /* of the setup */
    size_t n_tags;
    struct sh_analysis shown;        /* the take's shots, for setup->format */
    char folder[SH_HOME_PATH_BYTES]; /* of the take */
    struct sh_limit_voice voice;     /* of limits and ratings */
    int64_t start_us;
    double take_begin_s; /* on the sensors' clock */
    int64_t counted_us;
    struct sh_mark clock; /* the last one started; its time on the sensors' clock */
    bool has_clock;       /* it has not been stopped */
    struct sh_capture_clock shooting;
    struct sh_clock_voice clock_voice;
    struct sh_round_format chosen; /* of the clock, in place of the setup's */
    unsigned last_shot;            /* the last shot of the take, for scores; 0: none */
    struct sh_frame_counts before[SH_STREAMS_MAX]; /* the take: of its streams */
    bool has_ended;
    bool has_told_loss;      /* that bytes found no room */
    bool has_taken;          /* a take was begun before this one */
    bool has_chosen;         /* the sensors are not those it began with */
    uint64_t n_good_frames;  /* of the sensors that ran last */
    struct sh_error failure; /* the first of chosen sensors while they recorded */
};

/* The present on the sensors' clock. A replay's is that of its samples. */
double sh_capture_find_now_s(const struct sh_capture *capture);

/* Host's monotonic time. */
int64_t sh_capture_get_host_us(void);

/* capture_takes.c: one recording after another. */

/* Begins a take at capture->take_begin_s. */
enum sh_status sh_capture_begin_take(struct sh_capture *capture, struct sh_error *err);

/* Ends it, and adds it to the result where there is something in it. err may be NULL. */
enum sh_status sh_capture_end_take(struct sh_capture *capture, struct sh_error *err);

/* Another archer: this recording ends, the next begins with the sensors' next frames. */
enum sh_status
sh_capture_change_archer(struct sh_capture *capture, const char *athlete, struct sh_error *err);

/* A clock that runs goes on in a take that has just begun. */
enum sh_status sh_capture_carry_clock(struct sh_capture *capture, struct sh_error *err);

/* Gives the take what became of its own frames. */
void sh_capture_pass_counts(struct sh_capture *capture);

/* capture_change.c: sensors that come and go. */

/* Opens the setup's sensors and a take for what they send, or is idle where there are none.
 * Statuses of sh_intake_set_open, sh_capture_begin_take. To be ended where it is SH_OK. */
enum sh_status sh_capture_open_sensors(struct sh_capture *capture, struct sh_error *err);

/* Hands on all they hold, ends the take, says what came in, and closes them. Twice is harmless.
 * err may be NULL. */
enum sh_status sh_capture_end_sensors(struct sh_capture *capture, struct sh_error *err);

/* One step of the sensors, 20 ms at most where nothing comes. *can_go_on is false once all is
 * over. Statuses of sh_intake_set_step of those it began with. */
enum sh_status
sh_capture_step_sensors(struct sh_capture *capture, bool *can_go_on, struct sh_error *err);

#endif
