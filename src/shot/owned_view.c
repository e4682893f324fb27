/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/owned_view.h"

#include <stdlib.h>

enum sh_status sh_owned_view_allocate(struct sh_owned_view *owned,
                                      size_t stream,
                                      size_t n_channels,
                                      size_t n_frames,
                                      double *value[SH_STREAM_CHANNELS_MAX])
{
    double *memory = malloc(((n_channels + 1) * n_frames + 1) * sizeof *memory);
    owned->memory[stream] = memory;
    owned->flags[stream] = calloc(n_frames + 1, 1);
    for (size_t c = 0; memory != NULL && c < n_channels; c++) {
        value[c] = memory + (c + 1) * n_frames;
    }
    return memory != NULL && owned->flags[stream] != NULL ? SH_OK : SH_ERR_MEMORY;
}

void sh_owned_view_close(struct sh_owned_view *owned)
{
    for (size_t i = 0; i < SH_STREAMS_MAX; i++) {
        free(owned->memory[i]);
        free(owned->flags[i]);
    }
    free(owned->net_n);
    *owned = (struct sh_owned_view){.net_n = NULL};
}
