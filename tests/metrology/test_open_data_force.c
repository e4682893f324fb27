/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Force sensors nobody here made; the folder is named by STRINGHAND_OPEN_DATA. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/units.h"
#include "metrology/calibration.h"
#include "metrology/calibration_channel.h"
#include "metrology/calibration_check.h"
#include "metrology/scale.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SENSORS  5u
#define ROWS_MAX 128u

static FILE *open_data(const char *name)
{
    const char *folder = getenv("STRINGHAND_OPEN_DATA");
    char path[512];
    if (folder == NULL) {
        print_message("%s: STRINGHAND_OPEN_DATA names no folder\n", name);
        skip();
    }
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    FILE *stream = fopen(path, "r");
    if (stream == NULL) {
        fail_msg("%s is missing", path);
    }
    return stream;
}

/* Readings of sensor 1 to SENSORS; the masses are taken as grams. Returns how many. */
static size_t read_sensor(size_t sensor, struct sh_calibration_reading *readings)
{
    char line[256];
    size_t n = 0;
    FILE *stream = open_data("thin-force-sensors/calibration.csv");
    assert_non_null(fgets(line, sizeof line, stream)); /* heads */
    while (fgets(line, sizeof line, stream) != NULL) {
        char *at = line;
        const double mass_g = strtod(line, NULL);
        for (size_t i = 0; i < sensor; i++) {
            at = strchr(at, ',');
            assert_non_null(at);
            at++;
        }
        char *end = NULL;
        const double counts = strtod(at, &end);
        if (end != at) {
            assert_true(n < ROWS_MAX);
            readings[n++] = (struct sh_calibration_reading){
                .force_n = mass_g * SH_UNITS_GRAM_KG * SH_UNITS_G0_M_S2,
                .counts = counts,
                .n_samples = 1.0};
        }
    }
    assert_int_equal(fclose(stream), 0);
    return n;
}

static void check_monotone(const struct sh_channel *channel)
{
    double last_n = sh_scale_value(channel, -2000.0);
    for (int counts = -1999; counts <= 4096; counts++) {
        const double now_n = sh_scale_value(channel, counts);
        assert_true(now_n > last_n);
        last_n = now_n;
    }
}

/* The law in use does better than a straight line, by F test, and goes one way everywhere. */
static void test_thin_sensors(void **state)
{
    for (size_t sensor = 1; sensor <= SENSORS; sensor++) {
        struct sh_calibration_reading readings[ROWS_MAX];
        struct sh_calibration calibration;
        struct sh_calibration_check check;
        struct sh_channel channel = {0};
        const struct sh_calibration_channel_doubt doubt = {0};
        const size_t n = read_sensor(sensor, readings);
        assert_true(n >= 20);
        assert_int_equal(sh_calibration_solve(readings, n, &calibration, NULL), SH_OK);
        const struct sh_calibration_fit *fit = &calibration.fit[calibration.law];
        const double line_sd =
            sqrt(calibration.fit[SH_CALIBRATION_LINE].residual_squares / (double)(n - 2));
        assert_true(calibration.law == SH_CALIBRATION_POWER ||
                    calibration.law == SH_CALIBRATION_SATURATING);
        assert_true(fit->has_test && fit->test.p < 1e-9);
        assert_int_equal(sh_calibration_channel_fill(&calibration, &doubt, &channel), SH_OK);
        sh_calibration_check_readings(&calibration, &channel, &check);
        check_monotone(&channel);
        const struct sh_response_curve *curve = calibration.law == SH_CALIBRATION_POWER
                                                    ? &calibration.power
                                                    : &calibration.saturating;
        print_message("sensor %zu, %zu readings: %s, dead zone %.2f N, residual SD %.1f counts "
                      "(line %.1f), F %.0f, p %.1e; in force SD %.2f N, largest %.2f N\n",
                      sensor, n, sh_calibration_law_name(calibration.law), curve->start_n,
                      calibration.scatter_counts, line_sd, fit->test.f, fit->test.p,
                      check.residual_sd_n, check.residual_max_n);
        assert_true(calibration.scatter_counts < 0.3 * line_sd);
        assert_true(curve->start_n < 0.4); /* 20 to 30 g by eye */
    }
}

/* Mean and noise of the samples of a span of time. */
static struct sh_calibration_reading
average(const double *t_s, const double *volts, size_t n, const double span_s[2])
{
    double sum = 0.0;
    double squares = 0.0;
    double count = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (t_s[i] >= span_s[0] && t_s[i] < span_s[1]) {
            sum += volts[i];
            squares += volts[i] * volts[i];
            count += 1.0;
        }
    }
    const double mean = sum / count;
    return (struct sh_calibration_reading){.counts = mean,
                                           .noise_counts =
                                               sqrt(fmax(0.0, squares / count - mean * mean)),
                                           .n_samples = count};
}

/*
 * A load cell's log has no masses, but rest before and after one load: its noise and its zero
 * drift can be judged as in a calibration (20 s each; the loaded part stands in between).
 */
static void test_load_cell_log(void **state)
{
    static char text[1u << 20];
    static double t_s[40000];
    static double volts[40000];
    size_t n = 0;
    FILE *stream = open_data("load-cell-log/thrust.csv");
    double *rows[] = {t_s, volts};
    for (size_t row = 0; row < 2; row++) {
        assert_non_null(fgets(text, sizeof text, stream));
        n = 0;
        for (char *at = strtok(text, ",\r\n"); at != NULL; at = strtok(NULL, ",\r\n")) {
            assert_true(n < 40000);
            rows[row][n++] = strtod(at, NULL);
        }
    }
    assert_int_equal(fclose(stream), 0);
    const double from_s[] = {130.0, 159.0, 180.0};
    const double until_s[] = {150.0, 160.0, 200.0};
    struct sh_calibration_reading readings[3];
    for (size_t k = 0; k < 3; k++) {
        const double span_s[2] = {from_s[k], until_s[k]};
        readings[k] = average(t_s, volts, n, span_s);
    }
    /* loads are not known: the voltage itself stands for the force at three levels */
    struct sh_calibration_reading made[6] = {readings[0]};
    for (size_t i = 1; i < 5; i++) {
        made[i] = (struct sh_calibration_reading){.force_n = (double)i,
                                                  .counts = readings[0].counts + (double)i,
                                                  .n_samples = 1.0,
                                                  .noise_counts = readings[0].noise_counts};
    }
    made[5] = readings[2];
    struct sh_calibration calibration;
    struct sh_calibration_check check;
    struct sh_channel channel = {.scale = 1.0};
    assert_int_equal(sh_calibration_solve(made, 6, &calibration, NULL), SH_OK);
    sh_calibration_check_readings(&calibration, &channel, &check);
    print_message("load-cell log: noise %.4f V, zero drift %.4f +- %.4f V\n",
                  readings[0].noise_counts, check.zero_drift.counts,
                  1.96 * check.zero_drift.u_counts);
    assert_true(check.zero_drift.is_known && check.zero_drift.is_real);
    assert_near(check.zero_drift.counts, 0.0094, 0.0015, 0.0); /* 0.1614 to 0.1708 by NumPy */
    assert_near(readings[0].noise_counts, 0.0152, 0.001, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_thin_sensors),
        cmocka_unit_test(test_load_cell_log),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
