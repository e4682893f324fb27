/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_result.h"

#include <math.h>
#include <stdio.h>

#include "metrology/scale.h"

static enum sh_status fill_readings(struct sh_calibration_result *result,
                                    struct sh_calibration_reading *readings,
                                    struct sh_error *err)
{
    for (size_t i = 0; i < result->table.n; i++) {
        const struct sh_reading_table_row *row = &result->table.row[i];
        struct sh_hung_mass_force force = {0};
        enum sh_status status = sh_hung_mass_get_force(&result->place, row->mass_kg, &force);
        if (status != SH_OK) {
            return sh_error_set(err, status, NULL, "give gravity in m/s2 and shares below 1",
                                "no force can be had from %g kg here", row->mass_kg);
        }
        if (force.force_n >= result->largest.force_n) {
            result->largest = force;
        }
        readings[i] = (struct sh_calibration_reading){.force_n = force.force_n,
                                                      .counts = row->counts,
                                                      .noise_counts = row->noise_counts,
                                                      .n_samples = row->n_samples,
                                                      .is_down = row->is_down};
    }
    return SH_OK;
}

static enum sh_status solve_drift(struct sh_calibration_result *result, struct sh_error *err)
{
    struct sh_reading_table *table = &result->table;
    double force_n[SH_LOAD_DRIFT_POINTS_MAX];
    if (table->n_steady == 0) {
        return SH_OK;
    }
    for (size_t i = 0; i < table->n_steady; i++) {
        force_n[i] = sh_scale_value(&result->channel, table->steady_counts[i]);
    }
    enum sh_status status =
        sh_load_drift_solve(table->steady_s, force_n, table->n_steady, &result->drift);
    if (status != SH_OK) {
        return sh_error_set(err, status, "steady load",
                            "record at least 8 rising times under one load",
                            "its drift cannot be worked out");
    }
    result->has_steady = true;
    result->channel.load_drift_ratio = result->drift.is_real ? result->drift.ratio : 0.0;
    result->channel.load_drift_time_s = result->drift.is_real ? result->drift.time_s : 0.0;
    return SH_OK;
}

/* Noise of a sample where nothing hangs, in the unit. */
static double find_noise(const struct sh_calibration_result *result)
{
    double squares = 0.0;
    double n = 0.0;
    for (size_t i = 0; i < result->table.n; i++) {
        const struct sh_reading_table_row *row = &result->table.row[i];
        if (row->noise_counts > 0.0 && !(row->mass_kg > 0.0)) {
            squares += row->noise_counts * row->noise_counts;
            n += 1.0;
        }
    }
    return n > 0.0 && result->channel.n_curve == 0
               ? sqrt(squares / n) * fabs(result->channel.scale)
               : result->channel.noise;
}

enum sh_status sh_calibration_result_solve(struct sh_calibration_result *result,
                                           const char *date,
                                           struct sh_error *err)
{
    struct sh_calibration_reading readings[SH_CALIBRATION_READINGS_MAX] = {{0}};
    struct sh_calibration_channel_doubt doubt = {.force_u_ratio =
                                                     sh_hung_mass_get_u_ratio(&result->place)};
    enum sh_status status = fill_readings(result, readings, err);
    if (status == SH_OK) {
        status = sh_calibration_solve(readings, result->table.n, &result->calibration, err);
    }
    if (status != SH_OK) {
        return status;
    }
    const struct sh_calibration *calibration = &result->calibration;
    const struct sh_calibration_reading *last = &calibration->reading[calibration->n - 1];
    if (!(readings[0].force_n > 0.0) && !(last->force_n > 0.0)) {
        doubt.zero_drift_counts = last->counts - readings[0].counts;
    }
    status = sh_calibration_channel_fill(calibration, &doubt, &result->channel);
    if (status != SH_OK) {
        return sh_error_set(err, status, NULL, "take more readings",
                            "no reading is left over for an uncertainty");
    }
    result->channel.noise = find_noise(result);
    (void)snprintf(result->channel.calibrated, sizeof result->channel.calibrated, "%s", date);
    status = solve_drift(result, err);
    sh_calibration_check_readings(calibration, &result->channel, &result->check);
    return status;
}

double sh_calibration_result_get_u_n(const struct sh_calibration_result *result)
{
    const double rest = sh_calibration_get_counts(&result->calibration, 0.0);
    const double full =
        sh_calibration_get_counts(&result->calibration, result->calibration.force_max_n);
    return sh_scale_difference_u(&result->channel, full, rest);
}
