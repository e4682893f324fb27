/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/frame_flags.h"

#include "metrology/scale.h"
#include "shot/force_scale.h"
#include "shot/shot.h"

unsigned char
sh_frame_flags_get(const struct sh_stream *stream, const double *raw, bool is_filled)
{
    unsigned flags = is_filled ? SH_SHOT_FLAG_FILLED : 0u;
    for (size_t c = 0; c < stream->n_channels; c++) {
        if (sh_scale_is_clipped(&stream->channel[c], raw[c])) {
            flags |= SH_SHOT_FLAG_CLIPPED;
        }
        if (sh_force_scale_is_full(&stream->channel[c], raw[c])) {
            flags |= SH_SHOT_FLAG_FULL;
        }
    }
    return (unsigned char)flags;
}
