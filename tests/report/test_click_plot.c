/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/click_plot.h"

#include <stdlib.h>
#include <string.h>

#include "report/markup.h"
#include "report/spectrum_plot.h"
#include "support/cmocka_all.h"

#define N_SHOTS 3u

static struct sh_analysis analysis;
static struct sh_trace *traces;

/* Three shots with a hold at 170 N: the second has creep, the third no click. */
static int make_shots(void **state)
{
    sh_analysis_init(&analysis, "a", "rook");
    traces = calloc(N_SHOTS, sizeof *traces);
    assert_non_null(traces);
    for (unsigned i = 0; i < N_SHOTS; i++) {
        struct sh_shot_record record;
        memset(&record, 0, sizeof record);
        record.shot.n = i + 1;
        record.measures.quantity[SH_MEASURE_HOLD_FORCE_FIRST] = sh_quantity_known(170.0, 0.1);
        record.n_findings = i == 1 ? 2 : 0;
        record.findings[0].code = SH_CODE_CREEP;
        record.findings[1].code = SH_CODE_TREMOR_RISE;
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
        traces[i].event_s[SH_EVENT_RELEASE] = sh_quantity_known(0.0, 0.0);
        if (i < 2) {
            traces[i].event_s[SH_EVENT_CLICKER] = sh_quantity_known(-0.15, 0.0);
        }
        for (size_t k = 0; k < 100; k++) {
            traces[i].close_s[k] = -1.5 + 0.018 * (double)k;
            traces[i].close_n[k] = traces[i].close_s[k] < 0.0 ? 170.0 : 0.0;
            traces[i].spectrum_hz[k] = 0.25 * (double)k;
            traces[i].spectrum_n2_per_hz[k] = 0.01;
        }
        traces[i].n_close = 100;
        traces[i].n_spectrum = 100;
    }
    return 0;
}

static int free_shots(void **state)
{
    sh_analysis_close(&analysis);
    free(traces);
    return 0;
}

static void test_laid_at_the_click(void **state)
{
    struct sh_text text;
    bool is_by_release = true;
    sh_text_init(&text, 0);
    sh_click_plot_draw(&text, &analysis, traces, &is_by_release);
    assert_false(is_by_release);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "\"curve\""), 1);
    assert_int_equal(markup_count(text.data, "curve-marked"), 1);
    markup_check_has(text.data, "time from the click (s)");
    sh_text_close(&text);
}

/* A hold shorter than the second before the click: the draw itself must not set the scale. */
static void test_the_draw_does_not_set_the_scale(void **state)
{
    struct sh_text text;
    bool is_by_release = false;
    traces[0].event_s[SH_EVENT_FULL_DRAW] = sh_quantity_known(-0.6, 0.0);
    for (size_t k = 0; traces[0].close_s[k] < -0.6; k++) {
        traces[0].close_n[k] = 90.0;
    }
    traces[1].close_n[60] = 165.5; /* -0.42 s: a dip of 4.5 N */
    sh_text_init(&text, 0);
    sh_click_plot_draw(&text, &analysis, traces, &is_by_release);
    markup_check(text.data);
    markup_check_has(text.data, ">-5</text>");
    markup_check_has(text.data, ">2</text>");
    assert_int_equal(markup_count(text.data, ">-6</text>"), 0);
    assert_int_equal(markup_count(text.data, ">5</text>"), 0);
    sh_text_close(&text);
}

static void test_laid_at_the_release_without_clicks(void **state)
{
    struct sh_text text;
    bool is_by_release = false;
    for (unsigned i = 0; i < N_SHOTS; i++) {
        traces[i].event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    sh_text_init(&text, 0);
    sh_click_plot_draw(&text, &analysis, traces, &is_by_release);
    assert_true(is_by_release);
    assert_int_equal(markup_count(text.data, "\"curve\""), 2);
    assert_int_equal(markup_count(text.data, "curve-middle"), 1);
    markup_check_has(text.data, "time from the release (s)");
    sh_text_close(&text);
}

static void test_no_traces_no_drawing(void **state)
{
    struct sh_text text;
    bool is_by_release = false;
    for (unsigned i = 0; i < N_SHOTS; i++) {
        traces[i].n_close = 0;
        traces[i].n_spectrum = 0;
    }
    sh_text_init(&text, 0);
    sh_click_plot_draw(&text, &analysis, traces, &is_by_release);
    sh_spectrum_plot_draw(&text, &analysis, traces);
    assert_int_equal(text.n_bytes, 0);
    assert_int_equal(text.status, SH_OK);
    sh_text_close(&text);
}

/* sqrt(0.01) = 0.1 N per root Hz is the scale's top. */
static void test_spectra(void **state)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_spectrum_plot_draw(&text, &analysis, traces);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "\"curve\""), 2);
    assert_int_equal(markup_count(text.data, "curve-marked"), 1);
    assert_int_equal(markup_count(text.data, "curve-middle"), 1);
    markup_check_has(text.data, ">0.10</text>");
    markup_check_has(text.data, "frequency (Hz)");
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_laid_at_the_click, make_shots, free_shots),
        cmocka_unit_test_setup_teardown(test_laid_at_the_release_without_clicks, make_shots,
                                        free_shots),
        cmocka_unit_test_setup_teardown(test_the_draw_does_not_set_the_scale, make_shots,
                                        free_shots),
        cmocka_unit_test_setup_teardown(test_no_traces_no_drawing, make_shots, free_shots),
        cmocka_unit_test_setup_teardown(test_spectra, make_shots, free_shots),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
