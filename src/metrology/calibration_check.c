/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "metrology/calibration_check.h"

#include <math.h>

#include "metrology/scale.h"

#define LIMIT_U         1.96 /* of a difference that is no chance */
#define RELATIVE_DIGITS 1e-12
#define BEYOND_ZERO     0.05 /* of the largest force: where the sensor is awake */

static double get_u(const struct sh_calibration *calibration,
                    const struct sh_calibration_reading *reading)
{
    return reading->noise_counts > 0.0 ? reading->noise_counts / sqrt(reading->n_samples)
                                       : calibration->scatter_counts;
}

static bool is_unloaded(const struct sh_calibration_reading *reading)
{
    return !(reading->force_n > 0.0);
}

static void check_zero(const struct sh_calibration *calibration,
                       const struct sh_channel *channel,
                       struct sh_calibration_zero_drift *out)
{
    const struct sh_calibration_reading *first = &calibration->reading[0];
    const struct sh_calibration_reading *last = &calibration->reading[calibration->n - 1];
    if (calibration->n < 3 || !is_unloaded(first) || !is_unloaded(last)) {
        return;
    }
    const double awake_n = BEYOND_ZERO * calibration->force_max_n;
    const double awake = sh_calibration_get_counts(calibration, awake_n);
    out->is_known = true;
    out->counts = last->counts - first->counts;
    out->u_counts = hypot(get_u(calibration, first), get_u(calibration, last));
    out->force_n = out->counts * sh_scale_slope(channel, awake);
    out->ratio = out->force_n / calibration->force_max_n;
    out->is_real = fabs(out->counts) > LIMIT_U * out->u_counts;
}

/* Mean counts of the readings of a force, one way; false where there are none. */
static bool find_mean(const struct sh_calibration *calibration,
                      double force_n,
                      bool is_down,
                      double *mean,
                      double *u)
{
    double sum = 0.0;
    double squares = 0.0;
    double n = 0.0;
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        if (reading->is_down == is_down &&
            fabs(reading->force_n - force_n) <= RELATIVE_DIGITS * calibration->force_max_n) {
            const double own = get_u(calibration, reading);
            sum += reading->counts;
            squares += own * own;
            n += 1.0;
        }
    }
    *mean = n > 0.0 ? sum / n : 0.0;
    *u = n > 0.0 ? sqrt(squares) / n : 0.0;
    return n > 0.0;
}

static void check_hysteresis(const struct sh_calibration *calibration,
                             const struct sh_channel *channel,
                             struct sh_calibration_hysteresis *out)
{
    for (size_t i = 0; i < calibration->n; i++) {
        const double force_n = calibration->reading[i].force_n;
        double up = 0.0;
        double down = 0.0;
        double up_u = 0.0;
        double down_u = 0.0;
        if (!(force_n > 0.0) || !find_mean(calibration, force_n, false, &up, &up_u) ||
            !find_mean(calibration, force_n, true, &down, &down_u)) {
            continue;
        }
        const double difference_n = sh_scale_value(channel, down) - sh_scale_value(channel, up);
        if (!out->is_known || fabs(difference_n) > fabs(out->difference_n)) {
            *out = (struct sh_calibration_hysteresis){
                .is_known = true,
                .force_n = force_n,
                .counts = down - up,
                .u_counts = hypot(up_u, down_u),
                .difference_n = difference_n,
                .ratio = difference_n / calibration->force_max_n,
                .is_real = fabs(down - up) > LIMIT_U * hypot(up_u, down_u),
            };
        }
    }
}

/* Where a dead zone ends; below any force without one. */
static double get_wakes_n(const struct sh_calibration *calibration)
{
    if (calibration->law == SH_CALIBRATION_POWER) {
        return calibration->power.start_n;
    }
    return calibration->law == SH_CALIBRATION_SATURATING ? calibration->saturating.start_n
                                                         : -1.0;
}

void sh_calibration_check_readings(const struct sh_calibration *calibration,
                                   const struct sh_channel *channel,
                                   struct sh_calibration_check *out)
{
    double squares = 0.0;
    const double wakes_n = get_wakes_n(calibration);
    *out = (struct sh_calibration_check){0};
    for (size_t i = 0; i < calibration->n; i++) {
        const struct sh_calibration_reading *reading = &calibration->reading[i];
        const double rest_n = sh_scale_value(channel, reading->counts) - reading->force_n;
        out->residual_n[i] = rest_n;
        out->residual_max_n = fmax(out->residual_max_n, fabs(rest_n));
        const bool is_asleep = reading->force_n <= wakes_n;
        out->n_clipped += !is_asleep && sh_scale_is_clipped(channel, reading->counts) ? 1 : 0;
        squares += rest_n * rest_n;
    }
    const size_t freedom = calibration->fit[calibration->law].freedom;
    out->residual_sd_n = freedom > 0 ? sqrt(squares / (double)freedom) : 0.0;
    check_zero(calibration, channel, &out->zero_drift);
    check_hysteresis(calibration, channel, &out->hysteresis);
}
