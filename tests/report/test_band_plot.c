/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/band_plot.h"

#include <string.h>

#include "report/markup.h"
#include "support/cmocka_all.h"

static void add(struct sh_analysis *analysis, enum sh_measure measure, const double rms[4])
{
    struct sh_shot_record record;
    memset(&record, 0, sizeof record);
    for (size_t i = 0; i < 4; i++) {
        *sh_catalog_get_mutable(&record.measures, measure, i) = sh_quantity_known(rms[i], 0.01);
    }
    assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
}

static void test_nothing_known_nothing_drawn(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, SH_MEASURE_TREMOR_BAND, (const double[]){0.1, 0.2, 0.3, 0.1});
    sh_text_init(&text, 0);
    sh_band_plot_draw(&text, &analysis, SH_MEASURE_BOW_TREMOR_BAND);
    assert_int_equal(text.n_bytes, 0);
    assert_int_equal(text.status, SH_OK);
    sh_analysis_close(&analysis);
}

static void test_dots_and_medians(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, SH_MEASURE_TREMOR_BAND, (const double[]){0.1, 0.2, 0.3, 0.1});
    add(&analysis, SH_MEASURE_TREMOR_BAND, (const double[]){0.2, 0.4, 0.5, 0.1});
    add(&analysis, SH_MEASURE_TREMOR_BAND, (const double[]){0.3, 0.1, 0.4, 0.1});
    sh_text_init(&text, 0);
    sh_band_plot_draw(&text, &analysis, SH_MEASURE_TREMOR_BAND);
    assert_int_equal(text.status, SH_OK);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "dot filled"), 12);
    assert_int_equal(markup_count(text.data, "class=\"median\""), 4);
    markup_check_has(text.data, ">8-12 Hz</text>");
    markup_check_has(text.data, ">rms (N)</text>");
    /* scale 0 to 0.5 N, 180 px high, bottom at 204: the first band's median 0.2 N at 132 px */
    markup_check_has(text.data,
                     "class=\"median\" x1=\"8.35%\" y1=\"132\" x2=\"27.15%\" y2=\"132\"");
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_the_bow_has_its_own_unit(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "a", "rook");
    add(&analysis, SH_MEASURE_BOW_TREMOR_BAND, (const double[]){0.1, 0.2, 0.3, 0.1});
    sh_text_init(&text, 0);
    sh_band_plot_draw(&text, &analysis, SH_MEASURE_BOW_TREMOR_BAND);
    markup_check_has(text.data, ">rms (m/s\xC2\xB2)</text>");
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_known_nothing_drawn),
        cmocka_unit_test(test_dots_and_medians),
        cmocka_unit_test(test_the_bow_has_its_own_unit),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
