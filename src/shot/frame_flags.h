/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_FRAME_FLAGS_H
#define SH_SHOT_FRAME_FLAGS_H

#include <stdbool.h>

#include "metrology/channel.h"

/*
 * What one frame of samples is marked with: SH_SHOT_FLAG_... (shot/shot.h) of raw
 * [stream->n_channels], as it stands in the file; is_filled: it stands for a lost one. Any
 * thread. Cost: O(channels). Test: tests/shot/test_recall.c.
 */
unsigned char
sh_frame_flags_get(const struct sh_stream *stream, const double *raw, bool is_filled);

#endif
