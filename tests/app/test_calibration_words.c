/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_words.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

#define COLUMNS_MAX 79u

/* A cell with 80 counts a newton and half a count of noise, up and down to 20 kg. */
static void make(struct sh_calibration_result *result, double bend, double back, double drift)
{
    static const double masses_kg[] = {0, 5, 10, 15, 20, 15, 10, 5, 0};
    *result = (struct sh_calibration_result){
        .place = {.gravity_m_s2 = sh_quantity_known(9.81, 0.0005), .mass_u_ratio = 0.0005},
        .is_gravity_given = true,
        .channel = {.role = SH_ROLE_STRING_FORCE, .scale = 1.0}};
    for (size_t i = 0; i < sizeof masses_kg / sizeof masses_kg[0]; i++) {
        const double force_n = masses_kg[i] * 9.81 * (1.0 - SH_HUNG_MASS_BUOYANCY_RATIO);
        const bool is_down = i > 4;
        const struct sh_reading_table_row row = {
            .mass_kg = masses_kg[i],
            .counts = 800.0 + 80.0 * force_n + bend * force_n * force_n +
                      (is_down ? back : 0.0) + (i == 8 ? drift - back : 0.0) +
                      (i % 2 == 0 ? 0.4 : -0.4),
            .noise_counts = 0.5,
            .n_samples = 1.0};
        assert_int_equal(sh_reading_table_add(&result->table, &row, 0), SH_OK);
    }
}

static void check_width(const char *line)
{
    if (strcspn(line, "\n") > COLUMNS_MAX) {
        fail_msg("over 79 columns: %.100s", line);
    }
}

static void say(struct sh_calibration_result *result, struct sh_text *text)
{
    struct sh_error err = {0};
    assert_int_equal(sh_calibration_result_solve(result, "2026-05-01", &err), SH_OK);
    sh_text_reset(text);
    sh_calibration_words_format_verdict(result, text);
    assert_int_equal(text->status, SH_OK);
    for (const char *at = text->data; *at != '\0'; at += strcspn(at, "\n") + 1) {
        check_width(at);
    }
}

static void test_sentences(void **state)
{
    static struct sh_calibration_result result;
    struct sh_text text;
    sh_text_init(&text, 0);
    make(&result, 0.0, 0.0, 0.0);
    say(&result, &text);
    assert_says(text.data, "follows a straight line");
    assert_says(text.data, "No bend that these readings could show");
    assert_says(text.data, "Zero stayed within its noise");
    assert_says(text.data, "Up and down agree within their noise");
    assert_says(text.data, "load drift is unknown");
    assert_says(text.data, "the air's lift +-");
    assert_null(strstr(text.data, "--latitude"));
    assert_null(strstr(text.data, "Warning"));
    assert_string_equal(result.channel.calibrated, "2026-05-01");
    make(&result, 0.01, 0.0, 0.0);
    result.is_gravity_given = false;
    say(&result, &text);
    assert_says(text.data, "line with a square term");
    assert_says(text.data, "A straight line would not do");
    assert_says(text.data, "--latitude");
    make(&result, 0.0, 16.0, 8.0);
    result.table.row[2].is_unsettled = true;
    result.channel.has_range = true;
    result.channel.range_low = -1.0;
    result.channel.range_high = 16000.0;
    say(&result, &text);
    assert_says(text.data, "Zero moved by +0.1 N");
    assert_says(text.data, "Coming down it reads +0.2 N");
    assert_says(text.data, "of 9 readings 1 had not settled");
    assert_says(text.data, "at the end of the sensor's range: 1 of 9");
    sh_text_close(&text);
}

/* A thin sensor, at the end of its range while nothing hangs: that is its dead zone. */
static void test_thin_sensor(void **state)
{
    static struct sh_calibration_result result;
    struct sh_text text;
    sh_text_init(&text, 0);
    make(&result, 0.0, 0.0, 0.0);
    result.table.n = 0;
    for (int i = 0; i <= 30; i++) {
        const double above_n = fmax(0.0, 0.1 * i * 9.81 - 2.0);
        const struct sh_reading_table_row row = {.mass_kg = 0.1 * i,
                                                 .counts = 900.0 * above_n / (9.0 + above_n) +
                                                           (i % 3 == 1 ? 0.8 : 0.0),
                                                 .noise_counts = 0.5,
                                                 .n_samples = 1.0};
        assert_int_equal(sh_reading_table_add(&result.table, &row, 0), SH_OK);
    }
    result.channel.has_range = true;
    result.channel.range_high = 1023.0;
    say(&result, &text);
    assert_says(text.data, "follows a saturating curve with a dead zone");
    assert_says(text.data, "It wakes at 2 N");
    assert_null(strstr(text.data, "Warning"));
    sh_text_close(&text);
}

static void test_load_drift(void **state)
{
    static struct sh_calibration_result result;
    struct sh_text text;
    sh_text_init(&text, 0);
    for (int has_drift = 0; has_drift < 2; has_drift++) {
        make(&result, 0.0, 0.0, 0.0);
        result.channel.load_drift_ratio = 0.5; /* of an earlier calibration */
        result.channel.load_drift_time_s = 9.0;
        result.table.n_steady = 100;
        for (size_t i = 0; i < 100; i++) {
            const double t_s = 0.25 + 0.5 * (double)i;
            const double ratio = has_drift == 1 ? 0.02 * -expm1(-t_s / 6.0) : 0.0;
            result.table.steady_s[i] = t_s;
            result.table.steady_counts[i] =
                800.0 + 80.0 * 196.2 * (1.0 + ratio) + (i % 3 == 0 ? 0.4 : -0.2);
        }
        say(&result, &text);
        assert_says(text.data,
                    has_drift == 1 ? "it drifts by +2 " : "no drift that this record");
        assert_near(result.channel.load_drift_ratio, has_drift == 1 ? 0.02 : 0.0, 0.001, 0.0);
        assert_near(result.channel.load_drift_time_s, has_drift == 1 ? 6.0 : 0.0, 0.3, 0.0);
    }
    sh_text_close(&text);
}

static void test_plot_and_table(void **state)
{
    static struct sh_calibration_result result;
    struct sh_text text;
    sh_text_init(&text, 0);
    make(&result, 0.0, 16.0, 0.0);
    say(&result, &text);
    sh_text_reset(&text);
    sh_calibration_words_draw_residuals(&result, SH_TERMINAL_PLAIN, &text);
    assert_says(text.data, "sensor less mass (N)");
    assert_true(strchr(strchr(text.data, '\n'), 'o') != NULL);
    assert_true(strchr(strchr(text.data, '\n'), 'v') != NULL);
    for (const char *at = text.data; *at != '\0'; at++) {
        assert_true((unsigned char)*at < 0x80);
    }
    sh_text_reset(&text);
    sh_calibration_words_format_table(&result, &text);
    assert_says(text.data, "  4    15.0000    147.128");
    assert_says(text.data, " down ");
    sh_text_reset(&text);
    sh_calibration_words_format_keys(&result, &text);
    assert_says(text.data, "scale = 0.01249");
    assert_says(text.data, "calibrated = 2026-05-01\n");
    sh_text_close(&text);
    assert_non_null(strstr(sh_calibration_words_get_cautions(), "safety line"));
}

static void test_refusals(void **state)
{
    static struct sh_calibration_result result;
    struct sh_error err = {0};
    make(&result, 0.0, 0.0, 0.0);
    result.place.mass_u_ratio = 1.0;
    assert_int_equal(sh_calibration_result_solve(&result, "2026-05-01", &err), SH_ERR_ARGUMENT);
    assert_non_null(strstr(err.what, "no force can be had"));
    err = (struct sh_error){0};
    make(&result, 0.0, 0.0, 0.0);
    result.table.n = 3;
    assert_int_equal(sh_calibration_result_solve(&result, "2026-05-01", &err), SH_ERR_SHORT);
    err = (struct sh_error){0};
    make(&result, 0.0, 0.0, 0.0);
    result.table.n_steady = 3;
    assert_int_equal(sh_calibration_result_solve(&result, "2026-05-01", &err), SH_ERR_SHORT);
    assert_string_equal(err.where, "steady load");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sentences),  cmocka_unit_test(test_thin_sensor),
        cmocka_unit_test(test_load_drift), cmocka_unit_test(test_plot_and_table),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
