/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_MEASURE_WORKSPACE_H
#define SH_MEASURE_WORKSPACE_H

#include <stddef.h>

#include "base/status.h"
#include "metrology/channel.h"
#include "signal/decimate.h"
#include "signal/hand_arm.h"
#include "signal/multitaper.h"
#include "signal/ringing.h"
#include "signal/theil_sen.h"

/*
 * What measuring needs besides the samples: transforms, resamplers and scratch arrays, opened
 * once for a recording, so that no heap is touched while shots come in. One thread at a time.
 */

#define SH_WORKSPACE_HOLD_MAX_S 80.0  /* longest span that is measured, and the default */
#define SH_WORKSPACE_TREMOR_HZ  200.0 /* rate at which tremor is looked at */
#define SH_WORKSPACE_TAPERS     5u    /* of its spectrum */
#define SH_WORKSPACE_POINTS_MAX 160u  /* 10 ms means in a second, at any rate */
/* Room for them, their times and Theil-Sen's work. */
#define SH_WORKSPACE_POINTS_ROOM                                                               \
    (2u * SH_WORKSPACE_POINTS_MAX + SH_THEIL_SEN_WORK(SH_WORKSPACE_POINTS_MAX))
#define SH_WORKSPACE_BINS_MAX 8193u /* of a spectrum padded to 16384 */
/* Longest window of ringing, samples: a quarter of a second up to 32 kHz, less above. */
#define SH_WORKSPACE_RING_MAX    8192.0
#define SH_WORKSPACE_RATE_MAX_HZ 1.0e5

struct sh_workspace_config {
    size_t n_streams;
    double rate_hz[SH_STREAMS_MAX]; /* nominal, of the views' streams in their order */
    double hold_max_s;              /* 1 to SH_WORKSPACE_HOLD_MAX_S; longer spans: unresolved */
};

/* Borrowed by the stage's own modules; nothing outside the stage looks inside. */
struct sh_workspace {
    struct sh_workspace_config config;
    struct sh_multitaper *multitaper;
    struct sh_ringing *ringing;
    struct sh_hand_arm *hand_arm; /* windows of 1 s; NULL: no stream is fast enough for it */
    struct sh_decimate *decimate[SH_STREAMS_MAX]; /* to SH_WORKSPACE_TREMOR_HZ */
    size_t n_scratch;
    double *scratch[4]; /* each [n_scratch + 1] */
    double *points;     /* [SH_WORKSPACE_POINTS_ROOM] */
    double *sum_power;  /* [SH_WORKSPACE_BINS_MAX] */
};

/* No streams, SH_WORKSPACE_HOLD_MAX_S. */
struct sh_workspace_config sh_workspace_config_default(void);

/*
 * Opens a workspace: about 4 MB and 32 bytes a sample of hold_max_s at the fastest rate.
 * copies config. Gives *out, to be closed. SH_ERR_ARGUMENT with the reason in err: no streams
 * or too many, a rate not within 1 to SH_WORKSPACE_RATE_MAX_HZ, hold_max_s out of its range.
 * SH_ERR_MEMORY. Test: tests/measure/test_workspace.c.
 */
enum sh_status sh_workspace_open(const struct sh_workspace_config *config,
                                 struct sh_workspace **out,
                                 struct sh_error *err);

/* Closes and sets *workspace to NULL; takes NULL, a pointer to NULL and a half-open one. */
void sh_workspace_close(struct sh_workspace **workspace);

#endif
