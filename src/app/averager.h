/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_APP_AVERAGER_H
#define SH_APP_AVERAGER_H

#include <stdbool.h>
#include <stddef.h>

#include "base/status.h"
#include "sensor/profile.h"

/*
 * Steady readings of a sensor for a calibration: one stream's counts averaged once they have
 * settled, with their noise and how many independent samples that noise is worth.
 * Test: tests/loop/test_calibrate.c.
 */

#define SH_AVERAGER_BATCH_S      0.1 /* samples are gathered so long first */
#define SH_AVERAGER_SECONDS_MIN  0.5
#define SH_AVERAGER_SECONDS_MAX  60.0
#define SH_AVERAGER_STEADY_MAX_S 600.0

struct sh_averager; /* opaque */

struct sh_averager_config {
    const struct sh_profile *profile; /* kept */
    const char *address;              /* of the port, kept */
    size_t stream;                    /* index in the profile */
};

struct sh_averager_reading {
    size_t n_channels;
    double counts[SH_STREAM_CHANNELS_MAX];       /* means */
    double noise_counts[SH_STREAM_CHANNELS_MAX]; /* SD of a sample */
    /* samples that the mean is worth: fewer than were taken where they hang together */
    double n_samples[SH_STREAM_CHANNELS_MAX];
    bool is_settled; /* of the channel asked for: both halves agree */
    double waited_s; /* before the readings that were kept */
};

/* Opens the port. Statuses of sh_intake_open. */
enum sh_status sh_averager_open(const struct sh_averager_config *config,
                                struct sh_averager **out,
                                struct sh_error *err);

/* Closes and sets *averager to NULL. Takes NULL inside. */
void sh_averager_close(struct sh_averager **averager);

/*
 * Lets the sensor's bytes pass by for at most 20 ms, so that none pile up while a person
 * thinks. SH_ERR_NOT_FOUND: the sensor has gone. Statuses of sh_intake_step.
 */
enum sh_status sh_averager_idle(struct sh_averager *averager, struct sh_error *err);

/*
 * Waits until the halves of the last seconds (0.5 to 60, on the sensor's clock) of a channel
 * agree within four standard uncertainties of their difference, at most five times as long,
 * and averages those seconds. The uncertainty comes from the differences of neighbouring
 * batches (von Neumann 1941), which a slow drift does not widen. Those above;
 * SH_ERR_NOT_FOUND also where no frame comes for 5 s; SH_ERR_ARGUMENT (seconds, channel).
 */
enum sh_status sh_averager_take(struct sh_averager *averager,
                                size_t channel,
                                double seconds,
                                struct sh_averager_reading *out,
                                struct sh_error *err);

/* Where a record goes: arrays of the caller's. */
struct sh_averager_parts {
    size_t n;       /* 8 to a part every SH_AVERAGER_BATCH_S */
    double *time_s; /* [n], from the start */
    double *counts; /* [n] */
};

/*
 * Means of a channel over equal parts of so many seconds (under SH_AVERAGER_STEADY_MAX_S), for
 * its load drift. Statuses of sh_averager_take.
 */
enum sh_status sh_averager_record(struct sh_averager *averager,
                                  size_t channel,
                                  double seconds,
                                  const struct sh_averager_parts *parts,
                                  struct sh_error *err);

#endif
