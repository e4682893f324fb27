/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_BENCH_EVENTS_PRACTICE_H
#define SH_TESTS_BENCH_EVENTS_PRACTICE_H

#include "recording/session.h"
#include "sim/disturbance.h"
#include "sim/stream_source.h"

/*
 * Short simulated sessions for the accuracy of events, each with another bow, archer and
 * sensor: draw weight 40 to 300 N, faults, let-downs, half draws, and in part of the sessions
 * hum, bumps, zero steps, spikes, lost frames, an acceleration that clips and a force sensor
 * that is too weak for the bow.
 */

#define PRACTICE_STREAMS_MAX 4u
#define PRACTICE_DRAWS       6u

struct practice {
    uint64_t seed;
    struct sh_session_plan *plan; /* owned */
    struct sh_stream_source_config source[PRACTICE_STREAMS_MAX];
    size_t n_sources;
    struct sh_session *session; /* owned */
    struct sh_disturbance_config disturbance;
    bool is_clean; /* no disturbance, nothing lost, no clipping */
};

/* Name of a set of channels by its number from 0; NULL beyond the last. */
const char *practice_get_set(size_t index);

/* Draws the session of that seed on a set. *practice is to be closed whatever comes back. */
enum sh_status
practice_open(struct practice *practice, const char *set, uint64_t seed, struct sh_error *err);

void practice_close(struct practice *practice);

/* Writes it as a recording into folder, which must not exist. */
enum sh_status
practice_write(const struct practice *practice, const char *folder, struct sh_error *err);

#endif
