/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_TESTS_RECORDING_EXAMPLE_H
#define SH_TESTS_RECORDING_EXAMPLE_H

#include <stdbool.h>

#include "recording/session.h"
#include "sensor/block.h"

/*
 * A session of two streams to be recorded, and what its sensors give: string force at 1000 Hz
 * with anchors and lost samples, the bow in three axes at 3200 Hz.
 */

#define EXAMPLE_STRING_HZ 1000.0
#define EXAMPLE_BOW_HZ    3200.0

void example_open(struct sh_session *session);

/*
 * Pushes the seconds from from_s to until_s (multiples of 0.1) through sink, as live sensors
 * would: blocks of 0.1 s in turn, an anchor of the string at each full second, frames 20 to 49
 * of each third second lost. The first status that is not SH_OK stops and comes back.
 */
enum sh_status example_push(const struct sh_block_sink *sink,
                            double from_s,
                            double until_s,
                            struct sh_error *err);

/*
 * Records 1.1 s of it, a mark and a count that widens the string's file, and has all turned to
 * FLAC; is_synced as the writer's config has it. The first status that is not SH_OK stops and
 * comes back.
 */
enum sh_status example_record(const char *folder, bool is_synced, struct sh_error *err);

#endif
