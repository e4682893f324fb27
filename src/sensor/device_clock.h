/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_SENSOR_DEVICE_CLOCK_H
#define SH_SENSOR_DEVICE_CLOCK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/status.h"

/*
 * A device's microsecond counter against the host's clock.
 *
 * Each arrival gives the device time of a frame and the host time at which its bytes were read.
 * An arrival is never early, only late (buffers, polling, a busy host), so the line that ties
 * the two clocks lies below all arrivals: of the lines below them the one with the least sum of
 * distances (Moon, Skelly and Towsley 1999, IEEE INFOCOM), which is the edge of the lower
 * convex hull under their middle. It is taken over the earliest arrival in each second of the
 * last SH_DEVICE_CLOCK_BINS with any; how late most frames come does not matter.
 * No heap, one thread at a time. Test: tests/sensor/test_device_clock.c.
 */

#define SH_DEVICE_CLOCK_BINS         64u
#define SH_DEVICE_CLOCK_BIN_US       1000000
#define SH_DEVICE_CLOCK_BACK_MAX_US  1000000 /* further back, and the device began anew */
#define SH_DEVICE_CLOCK_EARLY_MAX_US 2000000 /* so much too early, too */
/* Until arrivals have come for that long, all of them may have waited somewhere for so long. */
#define SH_DEVICE_CLOCK_NEW_US      8000000
#define SH_DEVICE_CLOCK_WAIT_MAX_US 60000000

struct sh_device_clock_config {
    double latency_s;       /* least time from a sample to its arrival; 0 or more */
    double latency_u_s;     /* its standard uncertainty */
    double drift_u_ratio;   /* standard uncertainty of the device's rate before it is known */
    double drift_max_ratio; /* a greater difference of the rates is not believed; below 0.1 */
};

/* The earliest arrival within one second of device time. */
struct sh_device_clock_bin {
    int64_t device_us;
    int64_t late_us; /* host time less device time */
};

/* All state; plain memory, nothing to close. */
struct sh_device_clock {
    struct sh_device_clock_config config;
    struct sh_device_clock_bin bins[SH_DEVICE_CLOCK_BINS]; /* by device time ascending */
    size_t n_bins;
    bool has_arrival;
    int64_t newest_us;  /* largest device time so far, unwrapped */
    int64_t host_us;    /* of the last arrival */
    int64_t epoch_us;   /* device time less the device's counter, but for whole wraps */
    double drift_ratio; /* what was known of the rate when the device began anew */
    double drift_u_ratio;
    uint64_t n_restarts;
};

/* A line that ties the clocks: host = host_us + (device - device_us) (1 + drift_ratio). */
struct sh_device_clock_line {
    int64_t device_us;
    double host_us; /* the latency is taken off */
    double drift_ratio;
    double u_us;          /* standard uncertainty of host_us */
    double drift_u_ratio; /* of drift_ratio */
};

/* No latency, 2 ms uncertain; the rate 1e-3 uncertain, at most 2e-2 off. */
struct sh_device_clock_config sh_device_clock_config_default(void);

/*
 * A clock without arrivals. Copies config. SH_ERR_ARGUMENT: not finite, a negative value, or a
 * limit of config passed.
 */
enum sh_status sh_device_clock_init(struct sh_device_clock *clock,
                                    const struct sh_device_clock_config *config);

/* As after init. */
void sh_device_clock_reset(struct sh_device_clock *clock);

/*
 * Takes an arrival: counter is the device's, host_us (any start, never going back) when its
 * bytes were read. Returns the unwrapped device time, any number of wraps told apart by the
 * host's clock as long as the two agree within 35 minutes. A device that began anew (its
 * counter jumped) is counted in n_restarts; its device time goes on where the host's clock puts
 * it, above all before, and the fit begins anew from the rate known so far.
 * Cost: SH_DEVICE_CLOCK_BINS comparisons.
 */
int64_t sh_device_clock_push(struct sh_device_clock *clock, int64_t host_us, uint32_t counter);

/*
 * The line as of now. While the arrivals span less than 8 s, or show a rate that is not
 * believed, the rate is the one known before (at first 1, its uncertainty that of config).
 * Uncertainty of host_us: latency, the scatter of the arrivals, and the host's time stamps; at
 * least 68 % of simulated errors lie within it, 95 % within twice (the tests say how). A
 * constant share of the delay cannot be seen: it belongs to config. SH_ERR_SHORT: no arrival
 * yet. Cost: SH_DEVICE_CLOCK_BINS log of it.
 */
enum sh_status sh_device_clock_get_line(const struct sh_device_clock *clock,
                                        struct sh_device_clock_line *line);

/* Host time in microseconds of a device time (a fraction is allowed). u_us may be NULL. */
double sh_device_clock_line_host(const struct sh_device_clock_line *line,
                                 double device_us,
                                 double *u_us);

/* Device time in microseconds at a host time. */
double sh_device_clock_line_device(const struct sh_device_clock_line *line, double host_us);

#endif
