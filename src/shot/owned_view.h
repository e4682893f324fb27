/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_OWNED_VIEW_H
#define SH_SHOT_OWNED_VIEW_H

#include "base/status.h"
#include "shot/shot.h"

/*
 * A view of samples together with the memory that they lie in: what is read back from a
 * recording's files (shot/recall.h, live/shot_window.h). The view points into it and into the
 * session that was read from. One thread at a time. Tests: tests/shot/test_recall.c,
 * tests/live/test_shot_window.c.
 */
struct sh_owned_view {
    struct sh_shot_view view;
    double *memory[SH_STREAMS_MAX]; /* time, then each channel */
    unsigned char *flags[SH_STREAMS_MAX];
    double *net_n; /* of the force; NULL: there is none */
};

/*
 * Makes room for n_frames of a stream: its times in memory[stream], its channels in
 * value[n_channels], both without values yet, its flags all 0. SH_ERR_MEMORY: to be closed all
 * the same.
 */
enum sh_status sh_owned_view_allocate(struct sh_owned_view *owned,
                                      size_t stream,
                                      size_t n_channels,
                                      size_t n_frames,
                                      double *value[SH_STREAM_CHANNELS_MAX]);

/* Frees what it owns and zeroes it. Takes a zeroed one. */
void sh_owned_view_close(struct sh_owned_view *owned);

#endif
