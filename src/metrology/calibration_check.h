/* SPDX-License-Identifier: GPL-3.0-or-later */
#ifndef SH_METROLOGY_CALIBRATION_CHECK_H
#define SH_METROLOGY_CALIBRATION_CHECK_H

#include "metrology/calibration.h"
#include "metrology/channel.h"

/*
 * What a calibration's readings say about the sensor beside its law. Any thread, no heap.
 * Test: tests/metrology/test_calibration.c.
 */

/* Zero after less zero before. */
struct sh_calibration_zero_drift {
    bool is_known; /* the first and the last reading are without load, with others between */
    double counts;
    double u_counts; /* from the two readings' noise */
    double force_n;  /* the same at the law's first slope */
    double ratio;    /* of the largest force */
    bool is_real;    /* beyond 1.96 u */
};

/* Largest difference between coming down and going up at the same force. */
struct sh_calibration_hysteresis {
    bool is_known;  /* some force was read both ways */
    double force_n; /* the force at which it is largest */
    double counts;  /* down less up, means */
    double u_counts;
    double difference_n;
    double ratio; /* of the largest force */
    bool is_real; /* beyond 1.96 u */
};

struct sh_calibration_check {
    struct sh_calibration_zero_drift zero_drift;
    struct sh_calibration_hysteresis hysteresis;
    double residual_n[SH_CALIBRATION_READINGS_MAX]; /* channel's value less the force */
    double residual_max_n;                          /* its largest size */
    double residual_sd_n;
    size_t n_clipped; /* readings at the channel's range; but for those in a dead zone */
};

/*
 * Looks at the readings through the channel that was made from the calibration (its scale or
 * curve, and its range). u of a difference: the readings' own noise, or the scatter about the
 * law where they tell none.
 */
void sh_calibration_check_readings(const struct sh_calibration *calibration,
                                   const struct sh_channel *channel,
                                   struct sh_calibration_check *out);

#endif
