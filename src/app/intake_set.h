/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_INTAKE_SET_H
#define SH_APP_INTAKE_SET_H

#include "app/capture_setup.h"
#include "app/intake.h"

/*
 * All sensors of a capture, side by side: one step moves each of them, those that were pulled
 * are tried again, and their streams count on from one sensor to the next.
 * Test: tests/app/test_intake_set.c.
 */
struct sh_intake_set {
    const struct sh_capture_setup *setup; /* kept */
    struct sh_intake *intake[SH_CAPTURE_SETUP_SENSORS_MAX];
    int64_t reopened_us; /* when pulled ones were last tried */
};

/*
 * Opens all ports, or takes those of setup that are open already. start_us is 0 s of the common
 * clock, host's monotonic time; sink is copied, its context kept. To be closed whatever comes
 * back. Statuses of sh_intake_open.
 */
enum sh_status sh_intake_set_open(struct sh_capture_setup *setup,
                                  int64_t start_us,
                                  const struct sh_block_sink *sink,
                                  struct sh_intake_set *set,
                                  struct sh_error *err);

void sh_intake_set_close(struct sh_intake_set *set);

/*
 * One step of every sensor, 20 ms at most in all where nothing comes. *can_go_on is false once
 * none can speak any more: a pulled cable can be put back, a stream that has ended cannot.
 * Statuses of sh_intake_step.
 */
enum sh_status
sh_intake_set_step(struct sh_intake_set *set, bool *can_go_on, struct sh_error *err);

/* The end: all hand on what they hold. The sink's status. */
enum sh_status sh_intake_set_flush(struct sh_intake_set *set, struct sh_error *err);

/* True while every port is open. */
bool sh_intake_set_is_whole(const struct sh_intake_set *set);

/* Host's monotonic time of the latest reading of any port: of the blocks that are handed on. */
int64_t sh_intake_set_get_arrival_us(const struct sh_intake_set *set);

/* What became of the frames of each stream, in the sink's order; returns how many streams. */
size_t sh_intake_set_get_counts(const struct sh_intake_set *set,
                                struct sh_frame_counts counts[SH_STREAMS_MAX]);

/* The same of all streams together, the frames that fit no stream of a profile, and the bytes
 * that found no room while nobody took them. */
struct sh_frame_counts sh_intake_set_add_up(const struct sh_intake_set *set);
uint64_t sh_intake_set_get_strange(const struct sh_intake_set *set);
uint64_t sh_intake_set_get_lost_bytes(const struct sh_intake_set *set);

#endif
