/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/spike.h"

#include <math.h>
#include <string.h>

#define FRAMES_NEEDED 3u /* before the one that settles it */

void sh_spike_init(struct sh_spike *spike, const struct sh_stream *stream)
{
    *spike = (struct sh_spike){.n_values = stream->n_channels};
    for (size_t c = 0; c < stream->n_channels; c++) {
        const enum sh_role role = stream->channel[c].role;
        if (role == SH_ROLE_STRING_FORCE || role == SH_ROLE_FINGER_FORCE) {
            spike->channel[spike->n_channels++] = c;
        }
    }
}

/* Does last stand alone between middle and next? */
static bool is_alone(const struct sh_spike *spike, size_t c, double next)
{
    const double up = spike->last[c] - spike->middle[c];
    const double down = spike->last[c] - next;
    const double least = fmin(fabs(up), fabs(down));
    return least >= SH_SPIKE_MIN_N && up * down > 0.0 &&
           fabs(next - spike->middle[c]) < SH_SPIKE_AGREE_RATIO * least &&
           fabs(spike->middle[c] - spike->before[c]) < SH_SPIKE_AGREE_RATIO * least;
}

struct sh_spike_frame sh_spike_push(struct sh_spike *spike, const double *value, bool is_filled)
{
    struct sh_spike_frame out = {.is_present = spike->n_frames > 0,
                                 .is_filled = spike->is_filled,
                                 .value = spike->middle};
    for (size_t i = 0; i < spike->n_channels && spike->n_frames == FRAMES_NEEDED; i++) {
        const size_t c = spike->channel[i];
        if (is_alone(spike, c, value[c])) {
            spike->last[c] = 0.5 * (spike->middle[c] + value[c]);
            out.is_mended = true;
        }
    }
    const size_t n_bytes = spike->n_values * sizeof *value;
    memcpy(spike->before, spike->middle, n_bytes);
    memcpy(spike->middle, spike->last, n_bytes);
    memcpy(spike->last, value, n_bytes);
    spike->is_filled = is_filled;
    spike->n_frames += spike->n_frames < FRAMES_NEEDED ? 1 : 0;
    return out;
}

struct sh_spike_frame sh_spike_flush(const struct sh_spike *spike)
{
    return (struct sh_spike_frame){
        .is_present = spike->n_frames > 0, .is_filled = spike->is_filled, .value = spike->last};
}
