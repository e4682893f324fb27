/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SHOT_PULL_H
#define SH_SHOT_PULL_H

#include <stddef.h>

#include "base/status.h"
#include "signal/gauss.h"

/*
 * The net force around one draw as its slower events need it: averaged to at most about 1 kHz,
 * its 20 ms means and its smoothed rate (docs/definitions.md). Averaging over a millisecond
 * moves nothing that a Gaussian of 50 ms would see.
 *
 * Arrays are taken when it is opened and owned by it; fields are read by the stage only. One
 * thread at a time. Test: tests/shot/test_pull.c.
 */
#define SH_PULL_SIGMA_S     0.05   /* of the rate's Gaussian */
#define SH_PULL_MEAN_S      0.02   /* of the means */
#define SH_PULL_RATE_HZ     1000.0 /* faster samples are averaged down to this or a bit more */
#define SH_PULL_RATE_MIN_HZ 10.0   /* the Gaussian would be narrower than half a sample */

struct sh_pull {
    double frame_rate_hz; /* of the samples that come in */
    size_t n_average;     /* of them averaged into one */
    double rate_hz;       /* of the averages */
    size_t capacity;
    size_t n_mean_window;
    struct sh_gauss *gauss;
    double *force_n;       /* [n] */
    double *mean_n;        /* [n_means], each over n_mean_window averages from its own on */
    double *slope_n_per_s; /* [n_slopes] */
    size_t n;
    size_t n_means;
    size_t n_slopes;
    double noise_n; /* white, of one average */
};

/*
 * Opens a pull for up to n_frames_max frames at frame_rate_hz. SH_ERR_ARGUMENT: a rate not
 * within SH_PULL_RATE_MIN_HZ .. 1e6. SH_ERR_MEMORY. Gives *out, to be closed.
 */
enum sh_status sh_pull_open(double frame_rate_hz,
                            size_t n_frames_max,
                            struct sh_pull **out,
                            struct sh_error *err);

/* Closes and sets *pull to NULL; takes NULL and a pointer to NULL. */
void sh_pull_close(struct sh_pull **pull);

/*
 * Reads net_n[n_frames], n_frames not above n_frames_max (what is over is left out), with its
 * white noise per sample. SH_ERR_SHORT: under two averages or one mean. SH_ERR_NOT_FINITE.
 * Cost: O(n_frames).
 */
enum sh_status
sh_pull_load(struct sh_pull *pull, const double *net_n, size_t n_frames, double noise_n);

/*
 * Works out the rate of the averages first .. end - 1 as if nothing else were there: what lies
 * behind end (the string leaving) does not reach back into it. slope_n_per_s[i] then belongs to
 * average first + i. SH_ERR_SHORT: under two. Cost: O(n 250).
 */
enum sh_status sh_pull_find_slope(struct sh_pull *pull, size_t first, size_t end);

/* Frame (with its fraction) of an average or of a mean, and the average nearest to a frame. */
double sh_pull_get_frame(const struct sh_pull *pull, double average);
double sh_pull_get_mean_frame(const struct sh_pull *pull, double mean);
size_t sh_pull_get_average(const struct sh_pull *pull, size_t frame);

/* Largest of the means that lie wholly within the averages first .. end - 1, and which. Needs
 * one such mean, else the first one is taken. */
double sh_pull_get_largest(const struct sh_pull *pull, size_t first, size_t end, size_t *mean);

#endif
