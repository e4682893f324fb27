/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_LIVE_WAVE_H
#define SH_LIVE_WAVE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/text.h"

/*
 * The course of any number of channels over a whole session, at any zoom: the lowest and the
 * highest value of each piece of time, kept in levels of which each holds four pieces of the
 * one below. No peak is ever lost; where there was no sample there is nothing. Samples are
 * added while others look.
 *
 * Memory is bounded: 10.7 bytes a channel and piece (20 MB for 7 channels of the default), used
 * as time goes by. When the pieces are used up, each two are laid together: they are twice as
 * long from then on, and the same memory holds twice the time (the default: 5 ms for the first
 * 22 minutes, 10 ms up to 44).
 *
 * One thread at a time: whoever shares a wave locks it. Test of all: tests/live/test_wave.c.
 */
struct sh_wave;

#define SH_WAVE_CHANNELS_MAX 128u
#define SH_WAVE_BINS_MAX     4194304u
#define SH_WAVE_STEPS_MAX    8192u
#define SH_WAVE_TIME_MAX_S   1.0e7

struct sh_wave_config {
    size_t n_channels; /* 1 to SH_WAVE_CHANNELS_MAX */
    double bin_s;      /* length of the shortest piece, above 0 */
    size_t n_bins_max; /* 16 to SH_WAVE_BINS_MAX */
};

/* No channels, 5 ms, 262,144 pieces. */
struct sh_wave_config sh_wave_config_default(void);

/* SH_ERR_ARGUMENT with the reason, SH_ERR_MEMORY. Gives *out, to be closed. */
enum sh_status
sh_wave_open(const struct sh_wave_config *config, struct sh_wave **out, struct sh_error *err);

/* Closes and sets *wave to NULL. Takes NULL inside. */
void sh_wave_close(struct sh_wave **wave);

/* Frames of one stream, one after the other. Borrowed. */
struct sh_wave_frames {
    size_t first_channel; /* of the wave: the stream's channel 0 */
    size_t n_channels;
    size_t n_frames;
    const double *value; /* [n_frames][n_channels]; what is not finite was lost */
    double start_s;      /* time of the first frame on the recording's clock */
    double step_s;       /* from one frame to the next, above 0 */
    bool is_lost;        /* all of it stands for lost samples: nothing is drawn there */
};

/*
 * Adds them. Each channel's frames come in order of time; a frame before 0 s is passed over.
 * A sample stands for the time up to the next, so that a slow sensor has no holes; over lost
 * ones nothing is drawn. SH_ERR_ARGUMENT: no such channels, step_s, or a time beyond
 * SH_WAVE_TIME_MAX_S; nothing is added. Cost: some 10 ns a sample.
 */
enum sh_status sh_wave_push(struct sh_wave *wave, const struct sh_wave_frames *frames);

/* End of the latest piece that holds a sample, s; 0 where there is none. */
double sh_wave_get_end_s(const struct sh_wave *wave);

/* Which steps of time are looked at. */
struct sh_wave_window {
    uint64_t first; /* shortest piece that the first step begins with */
    size_t n_bins;  /* shortest pieces a step */
    size_t n_steps; /* up to SH_WAVE_STEPS_MAX */
    size_t level;   /* that is read from */
    double start_s; /* of the first step: a multiple of step_s */
    double step_s;
};

/*
 * Chooses the steps that cover from_s to until_s with at most n_points + 1 of them; times below
 * 0 count as 0. Steps begin at multiples of their length, so that windows of equal length that
 * follow each other fit together. SH_ERR_ARGUMENT: not from_s < until_s (both finite, from 0
 * on), n_points not within 1 to SH_WAVE_STEPS_MAX - 1.
 */
enum sh_status sh_wave_select(const struct sh_wave *wave,
                              double from_s,
                              double until_s,
                              size_t n_points,
                              struct sh_wave_window *window);

/*
 * Lowest and highest value of a channel in a step (as float, the nearest); false, both
 * untouched, where there is none. Cost: up to 16 pieces.
 */
bool sh_wave_find(const struct sh_wave *wave,
                  const struct sh_wave_window *window,
                  size_t channel,
                  size_t step,
                  double *lo,
                  double *hi);

/*
 * Appends the window as JSON (docs/live.md, WAVE): {"type":"wave","recording":ID,"t0":…,"dt":…,
 * "channels":[{"lo":[…],"hi":[…]}…]}, null where there is nothing. Steps behind the latest
 * sample of all are left out. Failures stay in text->status.
 */
void sh_wave_format(const struct sh_wave *wave,
                    const struct sh_wave_window *window,
                    unsigned recording,
                    struct sh_text *text);

#endif
