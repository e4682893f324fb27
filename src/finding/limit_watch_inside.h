/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_FINDING_LIMIT_WATCH_INSIDE_H
#define SH_FINDING_LIMIT_WATCH_INSIDE_H

#include "base/day.h"
#include "finding/limit_kind.h"
#include "finding/limit_lane.h"
#include "finding/limit_pull.h"
#include "finding/limit_watch.h"
#include "metrology/load_drift.h"

/*
 * What limit_watch.c (samples in, draws found) and limit_check.c (figures held against limits)
 * share. Not for others.
 */

#define FINGERS     SH_LIMIT_TALLY_FINGERS
#define STRING      FINGERS /* place of the string's lane behind the fingers' */
#define PENDING_MAX 8u      /* draws that have ended and are not measured yet */

_Static_assert(SH_LIMIT_WATCH_LIMITS_MAX <= 64, "struct told has a bit for each limit");

/* One limit and what has been told of it. */
struct entry {
    const struct sh_mark *mark;
    struct sh_limit_kind kind;
    size_t finger; /* FINGERS: none named */
    bool is_span;  /* session or day */
    bool has_near; /* told: of this draw, or of the span */
    bool has_reached;
    enum sh_limit_state state; /* of this draw or the last one, or of the span */
    double near_s;             /* when last */
    double reached_s;
};

/* A draw that has ended, by its running figures; where there are too many, further ones are
 * added to the last. */
struct pending {
    size_t n_draws;
    double end_s;
    struct sh_limit_tally_sum impulse_n_s[FINGERS];
    struct sh_limit_tally_sum peak_n[FINGERS];
};

/* What was told of a draw that has been measured: bit i of entry i, a limit a shot. */
struct told {
    uint64_t near;
    uint64_t reached;
    bool is_unknown[FINGERS];
};

/* A force channel's place. */
struct place {
    bool is_there;
    size_t stream;
    size_t channel;
    struct sh_limit_lane lane;
    bool has_begun; /* the lane is open */
};

struct sh_limit_watch {
    struct sh_limit_watch_config config;
    char date[SH_DAY_BYTES];
    struct entry entry[SH_LIMIT_WATCH_LIMITS_MAX];
    size_t n;
    struct place place[FINGERS + 1];
    struct sh_load_drift_state drift[SH_STREAMS_MAX][SH_STREAM_CHANNELS_MAX];
    bool has_force;
    size_t main_stream;
    struct sh_limit_pull pull;
    double now_s;
    uint64_t n_low[FINGERS];
    bool is_unknown[FINGERS]; /* in this pull */
    double unknown_s[FINGERS];
    struct sh_limit_tally tally; /* of draws that have been measured */
    struct pending pending[PENDING_MAX];
    size_t n_pending;
    struct told *told; /* owned, [n_told]: of draws that have been measured, in their order */
    size_t n_told;
    size_t told_capacity;
    bool has_end;
    double end_s; /* of the last draw */
};

/* Holds running forces and impulses against their limits: each sample of a pull. */
enum sh_status sh_limit_check_forces(struct sh_limit_watch *watch, struct sh_error *err);

/* A draw has begun: the number of draws, and the rest before it. */
enum sh_status sh_limit_check_draw(struct sh_limit_watch *watch, struct sh_error *err);

/* Looks for fingers whose load is not known: each sample of a pull. */
enum sh_status sh_limit_check_sensors(struct sh_limit_watch *watch, struct sh_error *err);

/* What a limit on peak or impulse is held against now: draws measured, ended and running. */
struct sh_limit_tally_sum sh_limit_check_sum(const struct sh_limit_watch *watch,
                                             const struct entry *entry);

/* Tells that a limit is near or reached (state); what was told of it before is not asked. */
enum sh_status sh_limit_check_tell(const struct sh_limit_watch *watch,
                                   const struct entry *entry,
                                   enum sh_limit_state state,
                                   const struct sh_quantity *value,
                                   double t_s,
                                   struct sh_error *err);

/* Tells that what a finger carries is not known, and why; nothing where no limit needs it. */
enum sh_status sh_limit_check_tell_unknown(const struct sh_limit_watch *watch,
                                           size_t finger,
                                           double t_s,
                                           const char *why,
                                           struct sh_error *err);

#endif
