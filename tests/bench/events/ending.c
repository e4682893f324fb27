/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "bench/events/ending.h"

#include <math.h>
#include <stdlib.h>

#include "sim/session_signal.h"

#define RATE_HZ    10000.0
#define AFTER_S    2.0
#define PEAK_RATIO 0.05
#define GRAVITY_S  0.5 /* moving mean that is taken off an acceleration */

/* One channel of the truth, over a draw. */
struct channel {
    unsigned part;
    size_t k; /* which finger or axis */
};

static double get_value(const struct sh_session_sample *sample, const struct channel *channel)
{
    switch (channel->part) {
    case SH_SESSION_PART_STRING:
        return sample->string_n;
    case SH_SESSION_PART_FINGERS:
        return sample->finger_n[channel->k];
    default:
        return sample->acceleration_m_s2[channel->k];
    }
}

/* What a channel of a source shows of the truth; false where it is no force or acceleration. */
static bool find_channel(const struct sh_channel *described, struct channel *out)
{
    switch ((int)described->role) {
    case SH_ROLE_STRING_FORCE:
        *out = (struct channel){SH_SESSION_PART_STRING, 0};
        return true;
    case SH_ROLE_FINGER_FORCE:
        *out = (struct channel){SH_SESSION_PART_FINGERS,
                                (size_t)described->finger - SH_FINGER_INDEX};
        return true;
    case SH_ROLE_BOW_ACCELERATION:
        *out =
            (struct channel){SH_SESSION_PART_ACCELERATION, (size_t)described->axis - SH_AXIS_X};
        return true;
    default:
        return false;
    }
}

/* The signal at first_s + i / RATE_HZ, and its sums from the first on. */
static void fill(const struct practice *practice,
                 size_t draw,
                 const struct channel *channel,
                 double first_s,
                 size_t n,
                 double *value,
                 double *sums)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        struct sh_session_sample sample = {.string_n = 0.0};
        sh_session_signal_add(practice->plan, &practice->plan->draw[draw],
                              first_s + (double)i / RATE_HZ, channel->part, &sample);
        value[i] = get_value(&sample, channel);
        sum += value[i];
        sums[i] = sum;
    }
}

/* How far a sample is off its level: 0 for a force, its moving mean for an acceleration. */
static double
get_off(const struct channel *channel, const double *value, const double *sums, size_t i)
{
    const size_t half = (size_t)(0.5 * GRAVITY_S * RATE_HZ);
    if (channel->part != SH_SESSION_PART_ACCELERATION) {
        return fabs(value[i]);
    }
    return fabs(value[i] - (sums[i + half] - sums[i - half - 1]) / (double)(2 * half + 1));
}

static bool find_last(const struct practice *practice,
                      size_t draw,
                      const struct channel *channel,
                      double over_s,
                      double until_s,
                      double *end_s)
{
    const size_t margin = (size_t)(GRAVITY_S * RATE_HZ);
    const double start_s = practice->plan->truth[draw].draw_start_s;
    const size_t from = margin + (size_t)((over_s - start_s) * RATE_HZ);
    const size_t until = margin + (size_t)((until_s - start_s) * RATE_HZ);
    const size_t n = until + margin;
    double *value = calloc(2 * n, sizeof *value);
    if (value == NULL) {
        return false;
    }
    const double first_s = start_s - (double)margin / RATE_HZ;
    fill(practice, draw, channel, first_s, n, value, value + n);
    double peak = 0.0;
    for (size_t i = margin; i < until; i++) {
        peak = fmax(peak, get_off(channel, value, value + n, i));
    }
    size_t i = until;
    while (i > from && get_off(channel, value, value + n, i - 1) <= PEAK_RATIO * peak) {
        i--;
    }
    if (i > from) {
        *end_s = fmax(*end_s, first_s + (double)(i - 1) / RATE_HZ);
    }
    free(value);
    return true;
}

bool ending_find(
    const struct practice *practice, size_t draw, double over_s, double until_s, double *end_s)
{
    bool is_good = true;
    *end_s = over_s;
    for (size_t s = 0; s < practice->n_sources; s++) {
        const struct sh_stream *stream = &practice->source[s].stream;
        for (size_t c = 0; c < stream->n_channels; c++) {
            struct channel channel;
            if (find_channel(&stream->channel[c], &channel)) {
                is_good = is_good && find_last(practice, draw, &channel, over_s,
                                               fmin(until_s, over_s + AFTER_S), end_s);
            }
        }
    }
    return is_good;
}
