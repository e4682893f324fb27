/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_SAMPLE_CSV_H
#define SH_APP_SAMPLE_CSV_H

#include <stdio.h>

#include "recording/recording_reader.h"

/*
 * The samples of a recording as CSV (RFC 4180), one file a stream: the time of each frame on
 * the recording's common clock (read between its anchors, the channels' own delays not taken
 * off), then each channel in its unit as the analysis takes it (crosstalk and load drift taken
 * off), then 1 where samples were lost and the last value stands in for them.
 *
 *     time_s,string_force_n,lost
 *     0.000036,-0.5125,0
 *
 * One thread. Test: tests/app/test_sample_csv.c, tests/loop/test_files.c.
 */

/*
 * Reads the whole recording once and writes stream i into files[i] (kept during the call; NULL:
 * not wanted), [streams of the reader's session]. SH_ERR_IO where a file takes no more;
 * statuses of sh_recording_reader_push; SH_ERR_MEMORY. Cost: some 2 million values a second.
 */
enum sh_status sh_sample_csv_write(struct sh_recording_reader *reader,
                                   FILE *const *files,
                                   struct sh_error *err);

#define SH_SAMPLE_CSV_NAME_BYTES 64u

/* Name of a channel's column: "finger_force_ring_n"; a second one alike ends in "_2". */
void sh_sample_csv_format_name(const struct sh_stream *stream,
                               size_t channel,
                               char name[SH_SAMPLE_CSV_NAME_BYTES]);

#endif
