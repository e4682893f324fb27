/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Recordings nobody here made; the folder is named by STRINGHAND_OPEN_DATA. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "signal/detrend.h"
#include "signal/multitaper.h"
#include "signal/onset.h"
#include "support/cmocka_all.h"
#include "support/open_data.h"
#include "support/reference.h"

#define N_FFT       16384u
#define SAMPLES_MAX 16384u

/* Hand tremor: time stamps (ns) and three axes, put on an even grid of 100 Hz. */
struct tremor {
    size_t n;
    double time_s[SAMPLES_MAX];
    double axis[3][SAMPLES_MAX];
    double even[SAMPLES_MAX];
};

static void read_tremor(const char *name, struct tremor *t)
{
    FILE *stream = sh_open_data_file(name);
    double first_ns = 0.0;
    double row[4];
    t->n = 0;
    while (t->n < SAMPLES_MAX && sh_open_data_read_row(stream, row, 4) == 4) {
        first_ns = t->n == 0 ? row[0] : first_ns;
        t->time_s[t->n] = (row[0] - first_ns) * 1e-9;
        for (size_t k = 0; k < 3; k++) {
            t->axis[k][t->n] = row[k + 1];
        }
        t->n++;
    }
    (void)fclose(stream);
    assert_true(t->n > 1000);
}

static size_t even_out(struct tremor *t, size_t axis)
{
    size_t n_even = (size_t)(t->time_s[t->n - 1] * 100.0);
    size_t j = 0;
    for (size_t i = 0; i < n_even; i++) {
        double time_s = (double)i / 100.0;
        while (t->time_s[j + 1] < time_s) {
            j++;
        }
        double share = (time_s - t->time_s[j]) / (t->time_s[j + 1] - t->time_s[j]);
        t->even[i] = t->axis[axis][j] + share * (t->axis[axis][j + 1] - t->axis[axis][j]);
    }
    return n_even;
}

/* Peak within 4-15 Hz of the power of the three axes together. */
static struct sh_psd_peak find_tremor(const char *name)
{
    static struct tremor tremor;
    static double power[N_FFT / 2 + 1];
    struct tremor *t = &tremor;
    memset(power, 0, sizeof(power));
    read_tremor(name, t);
    const struct sh_multitaper_config config = sh_multitaper_config_default();
    struct sh_multitaper *multitaper = NULL;
    assert_int_equal(sh_multitaper_open(&config, &multitaper, NULL), SH_OK);
    struct sh_psd psd;
    for (size_t axis = 0; axis < 3; axis++) {
        size_t n = even_out(t, axis);
        assert_int_equal(sh_detrend_line(t->even, NULL, n, t->even), SH_OK);
        const struct sh_multitaper_window window = {.x = t->even, .n = n, .rate_hz = 100.0};
        assert_int_equal(sh_multitaper_run(multitaper, &window), SH_OK);
        assert_int_equal(sh_multitaper_get_psd(multitaper, &psd), SH_OK);
        for (size_t i = 0; i < psd.n_bins; i++) {
            power[i] += psd.power[i];
        }
    }
    psd.power = power;
    struct sh_psd_peak peak;
    assert_int_equal(sh_psd_find_peak(&psd, 4.0, 15.0, &peak), SH_OK);
    sh_multitaper_close(&multitaper);
    return peak;
}

static void test_postural_tremor(void **state)
{
    struct sh_psd_peak peak = find_tremor("hand-tremor/postural_left.csv");
    sh_reference_row("hand tremor, held out, Hz", "SciPy, zero-padded Hann", 7.8,
                     peak.frequency_hz.value, 0.3);
}

static void test_resting_tremor(void **state)
{
    struct sh_psd_peak peak = find_tremor("hand-tremor/rest_left.csv");
    sh_reference_row("hand tremor, at rest, Hz", "SciPy, zero-padded Hann", 5.9,
                     peak.frequency_hz.value, 0.3);
}

/* First burst of a muscle: window up to its height. */
static void test_muscle_onset(void **state)
{
    FILE *stream = sh_open_data_file("muscle-onset/emg.csv");
    static double x[SAMPLES_MAX];
    static double work[SAMPLES_MAX];
    static struct sh_onset_rank ranks[SAMPLES_MAX];
    size_t n = 0;
    double row[2];
    while (n < SAMPLES_MAX && sh_open_data_read_row(stream, row, 2) == 2) {
        x[n++] = row[1];
    }
    (void)fclose(stream);
    assert_true(n > 700);
    struct sh_onset onset;
    assert_int_equal(sh_onset_find_aic(x, 700, 10, work, &onset), SH_OK);
    sh_reference_row("muscle's onset, s", "AIC picker, other program", 0.393,
                     (onset.index + 1.0) / 1000.0, 0.002);
    for (size_t i = 0; i < 700; i++) {
        x[i] = fabs(x[i]);
    }
    assert_int_equal(sh_onset_find_rank(x, 700, 10, ranks, &onset), SH_OK);
    sh_reference_row("muscle's onset by ranks, s", "AIC picker, other program", 0.393,
                     (onset.index + 1.0) / 1000.0, 0.02);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_postural_tremor),
        cmocka_unit_test(test_resting_tremor),
        cmocka_unit_test(test_muscle_onset),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
