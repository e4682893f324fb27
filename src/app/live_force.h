/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_LIVE_FORCE_H
#define SH_APP_LIVE_FORCE_H

#include "recording/session.h"
#include "shot/release_watch.h"
#include "shot/rest.h"

/*
 * What the page shows of the forces while they come: a release at once, and what each finger
 * carries now. Indicative; the measures of the shot count. A plain value without heap; one
 * thread at a time. Test: tests/app/test_live_force.c.
 */
#define SH_LIVE_FORCE_FINGERS 3u

struct sh_live_force_finger {
    bool is_present;
    size_t stream;
    size_t channel;
    struct sh_rest rest;
    double force_n; /* net, about the last 20 ms */
    double peak_n;  /* the largest of it in this draw, or the last one */
    bool has_value;
};

struct sh_live_force {
    bool is_present; /* there is a force by which a release shows */
    size_t stream;
    size_t n_channels; /* the string's one, or the fingers that stand in for it */
    size_t channel[SH_STREAM_CHANNELS_MAX];
    struct sh_release_watch watch;
    bool has_begun;
    double rate_hz;
    double threshold_n;
    bool was_drawn;
    struct sh_live_force_finger finger[SH_LIVE_FORCE_FINGERS]; /* index, middle, ring */
    double finger_rate_hz[SH_LIVE_FORCE_FINGERS];
};

/* For the streams of a session (borrowed): the string's force, or the fingers of the stream
 * with most of them. */
void sh_live_force_init(struct sh_live_force *force, const struct sh_session *session);

/*
 * Takes one frame of a stream in physical values [channels of the stream]. True where a release
 * shows with it: *out then has frames of that stream.
 */
bool sh_live_force_push(struct sh_live_force *force,
                        size_t stream,
                        uint64_t frame,
                        const double *value,
                        bool is_filled,
                        struct sh_release_watch_event *out);

/* A finger's peak in the last draw as it has been measured: in place of the running one; an
 * unknown one and one that comes while a draw runs are passed over. */
void sh_live_force_set_peak(struct sh_live_force *force,
                            size_t finger,
                            const struct sh_quantity *peak_n);

/* Has any finger a value? */
bool sh_live_force_has_fingers(const struct sh_live_force *force);

#endif
