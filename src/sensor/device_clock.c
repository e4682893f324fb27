/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/device_clock.h"

#include <math.h>
#include <stdlib.h>

#define DRIFT_LIMIT_RATIO 0.1
#define SPAN_MIN_US       8e6  /* less, and a rate would be mostly jitter */
#define STAMP_U_US        30.0 /* host time stamps and wake-up of a quiet machine, own choice */
/* Ratio of an exponential's mean to its median. */
#define MEAN_OF_MEDIAN 1.4426950408889634
/*
 * Error of the line at its newest end and of its rate, in units of mean scatter over the number
 * of bins (and, for the rate, over the span): set by simulation, tests/sensor/
 * test_device_clock.c.
 */
#define END_ERROR  3.0
#define RATE_ERROR 4.0

/* A point in the fit: device time from the newest bin, lateness from the first bin. */
struct point {
    double x_us;
    double y_us;
};

struct points {
    struct point at[SH_DEVICE_CLOCK_BINS];
    size_t n;
};

struct sh_device_clock_config sh_device_clock_config_default(void)
{
    return (struct sh_device_clock_config){
        .latency_s = 0.0, .latency_u_s = 0.002, .drift_u_ratio = 1e-3, .drift_max_ratio = 2e-2};
}

static bool is_good(double value, double limit)
{
    return value >= 0.0 && value < limit;
}

enum sh_status sh_device_clock_init(struct sh_device_clock *clock,
                                    const struct sh_device_clock_config *config)
{
    if (!is_good(config->latency_s, (double)INFINITY) ||
        !is_good(config->latency_u_s, (double)INFINITY) ||
        !is_good(config->drift_u_ratio, DRIFT_LIMIT_RATIO) ||
        !is_good(config->drift_max_ratio, DRIFT_LIMIT_RATIO)) {
        return SH_ERR_ARGUMENT;
    }
    *clock =
        (struct sh_device_clock){.config = *config, .drift_u_ratio = config->drift_u_ratio};
    return SH_OK;
}

void sh_device_clock_reset(struct sh_device_clock *clock)
{
    struct sh_device_clock_config config = clock->config;
    *clock = (struct sh_device_clock){.config = config, .drift_u_ratio = config.drift_u_ratio};
}

/* Difference of two counters as the shorter way round. */
static int64_t signed_difference(uint32_t a, uint32_t b)
{
    int64_t difference = (int64_t)(uint32_t)(a - b);
    return difference > INT32_MAX ? difference - (int64_t)UINT32_MAX - 1 : difference;
}

/* The value of the counter, wraps added, that lies nearest to where the host's clock puts it.
 */
static int64_t unwrap(const struct sh_device_clock *clock, int64_t host_us, uint32_t counter)
{
    int64_t likely_us = clock->newest_us + (host_us - clock->host_us);
    return likely_us +
           signed_difference(counter, (uint32_t)(uint64_t)(likely_us - clock->epoch_us));
}

/* Earlier than any arrival could be. */
static bool
is_too_early(const struct sh_device_clock *clock, int64_t host_us, int64_t device_us)
{
    int64_t least_us = clock->bins[0].late_us;
    for (size_t i = 1; i < clock->n_bins; i++) {
        if (clock->bins[i].late_us < least_us) {
            least_us = clock->bins[i].late_us;
        }
    }
    double drift_us =
        clock->config.drift_max_ratio * (double)(device_us - clock->bins[0].device_us);
    int64_t first_us = clock->bins[0].device_us + clock->bins[0].late_us;
    bool is_new = host_us - first_us < SH_DEVICE_CLOCK_NEW_US;
    int64_t early_us = is_new ? SH_DEVICE_CLOCK_WAIT_MAX_US : SH_DEVICE_CLOCK_EARLY_MAX_US;
    return (double)(host_us - device_us - least_us) < -(double)early_us - drift_us;
}

/* The device began anew: its time goes on as the host's clock says, the fit from nothing. */
static int64_t restart(struct sh_device_clock *clock, int64_t host_us, uint32_t counter)
{
    struct sh_device_clock_line line = {0};
    (void)sh_device_clock_get_line(clock, &line); /* there is an arrival */
    double latency_us = 1e6 * clock->config.latency_s;
    int64_t device_us =
        (int64_t)sh_device_clock_line_device(&line, (double)host_us - latency_us);
    if (device_us <= clock->newest_us) {
        device_us = clock->newest_us + 1;
    }
    clock->drift_ratio = line.drift_ratio;
    clock->drift_u_ratio = line.drift_u_ratio;
    clock->epoch_us = device_us - (int64_t)counter;
    clock->n_bins = 0;
    clock->n_restarts++;
    return device_us;
}

static void keep_earliest(struct sh_device_clock *clock, int64_t host_us, int64_t device_us)
{
    struct sh_device_clock_bin bin = {device_us, host_us - device_us};
    struct sh_device_clock_bin *last =
        clock->n_bins > 0 ? &clock->bins[clock->n_bins - 1] : NULL;
    if (last != NULL &&
        device_us / SH_DEVICE_CLOCK_BIN_US <= last->device_us / SH_DEVICE_CLOCK_BIN_US) {
        bool is_same =
            device_us / SH_DEVICE_CLOCK_BIN_US == last->device_us / SH_DEVICE_CLOCK_BIN_US;
        if (is_same && bin.late_us < last->late_us) {
            *last = bin;
        }
        return;
    }
    if (clock->n_bins == SH_DEVICE_CLOCK_BINS) {
        for (size_t i = 1; i < SH_DEVICE_CLOCK_BINS; i++) {
            clock->bins[i - 1] = clock->bins[i];
        }
        clock->n_bins--;
    }
    clock->bins[clock->n_bins++] = bin;
}

int64_t sh_device_clock_push(struct sh_device_clock *clock, int64_t host_us, uint32_t counter)
{
    int64_t device_us = counter;
    if (clock->has_arrival) {
        device_us = unwrap(clock, host_us, counter);
        if (clock->newest_us - device_us > SH_DEVICE_CLOCK_BACK_MAX_US ||
            is_too_early(clock, host_us, device_us)) {
            device_us = restart(clock, host_us, counter);
        }
    }
    if (!clock->has_arrival || device_us > clock->newest_us) {
        clock->newest_us = device_us;
    }
    clock->has_arrival = true;
    clock->host_us = host_us;
    keep_earliest(clock, host_us, device_us);
    return device_us;
}

static struct points collect(const struct sh_device_clock *clock)
{
    struct points points = {.n = clock->n_bins};
    const struct sh_device_clock_bin *newest = &clock->bins[clock->n_bins - 1];
    for (size_t i = 0; i < points.n; i++) {
        points.at[i].x_us = (double)(clock->bins[i].device_us - newest->device_us);
        points.at[i].y_us = (double)(clock->bins[i].late_us - clock->bins[0].late_us);
    }
    return points;
}

static bool turns_up(const struct point *a, const struct point *b, const struct point *c)
{
    return (b->x_us - a->x_us) * (c->y_us - a->y_us) >
           (b->y_us - a->y_us) * (c->x_us - a->x_us);
}

/* Slope of the lower hull's edge under the middle of the points (monotone chain, Andrew 1979).
 */
static double hull_slope(const struct points *points)
{
    struct points hull = {.n = 0};
    double sum_us = 0.0;
    for (size_t i = 0; i < points->n; i++) {
        while (hull.n >= 2 &&
               !turns_up(&hull.at[hull.n - 2], &hull.at[hull.n - 1], &points->at[i])) {
            hull.n--;
        }
        hull.at[hull.n++] = points->at[i];
        sum_us += points->at[i].x_us;
    }
    double middle_us = sum_us / (double)points->n;
    size_t right = 1;
    while (right + 1 < hull.n && hull.at[right].x_us < middle_us) {
        right++;
    }
    const struct point *a = &hull.at[right - 1];
    const struct point *b = &hull.at[right];
    return (b->y_us - a->y_us) / (b->x_us - a->x_us);
}

static int compare_doubles(const void *a, const void *b)
{
    double left = *(const double *)a;
    double right = *(const double *)b;
    return (left > right) - (left < right);
}

/* Mean height of the points over a line, from the median: a stalled host does not count. */
static double mean_height_us(const struct points *points, double slope, double low_us)
{
    double height_us[SH_DEVICE_CLOCK_BINS];
    for (size_t i = 0; i < points->n; i++) {
        height_us[i] = points->at[i].y_us - slope * points->at[i].x_us - low_us;
    }
    qsort(height_us, points->n, sizeof height_us[0], compare_doubles);
    return MEAN_OF_MEDIAN * height_us[(points->n - 1) / 2];
}

enum sh_status sh_device_clock_get_line(const struct sh_device_clock *clock,
                                        struct sh_device_clock_line *line)
{
    if (!clock->has_arrival) {
        return SH_ERR_SHORT;
    }
    const struct points points = collect(clock);
    double span_us = -points.at[0].x_us;
    double slope = span_us >= SPAN_MIN_US ? hull_slope(&points) : (double)INFINITY;
    bool has_slope = fabs(slope) <= clock->config.drift_max_ratio;
    double drift_ratio = has_slope ? slope : clock->drift_ratio;
    double low_us = (double)INFINITY;
    for (size_t i = 0; i < points.n; i++) {
        low_us = fmin(low_us, points.at[i].y_us - drift_ratio * points.at[i].x_us);
    }
    double scatter_us = mean_height_us(&points, drift_ratio, low_us) / (double)points.n;
    double drift_u_ratio = has_slope ? RATE_ERROR * scatter_us / span_us + STAMP_U_US / span_us
                                     : clock->drift_u_ratio;
    double drift_us =
        has_slope ? 0.0 : drift_u_ratio * ((double)SH_DEVICE_CLOCK_BIN_US + span_us) / 2.0;
    const struct sh_device_clock_bin *newest = &clock->bins[clock->n_bins - 1];
    *line = (struct sh_device_clock_line){
        .device_us = newest->device_us,
        .host_us = (double)(newest->device_us + clock->bins[0].late_us) + low_us -
                   1e6 * clock->config.latency_s,
        .drift_ratio = drift_ratio,
        .u_us = sqrt(pow(1e6 * clock->config.latency_u_s, 2) + pow(END_ERROR * scatter_us, 2) +
                     pow(drift_us, 2) + pow(STAMP_U_US, 2)),
        .drift_u_ratio = drift_u_ratio};
    return SH_OK;
}

double sh_device_clock_line_host(const struct sh_device_clock_line *line,
                                 double device_us,
                                 double *u_us)
{
    double from_us = device_us - (double)line->device_us;
    if (u_us != NULL) {
        *u_us = hypot(line->u_us, line->drift_u_ratio * from_us);
    }
    return line->host_us + from_us * (1.0 + line->drift_ratio);
}

double sh_device_clock_line_device(const struct sh_device_clock_line *line, double host_us)
{
    return (double)line->device_us + (host_us - line->host_us) / (1.0 + line->drift_ratio);
}
