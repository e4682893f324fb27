/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_table.h"

#include <string.h>

#include "report/made.h"
#include "report/width_check.h"
#include "support/cmocka_all.h"
#include "support/says.h"

#define PM "\xC2\xB1"

static void write_table(struct sh_analysis *analysis, struct sh_text *text)
{
    sh_text_init(text, 0);
    assert_int_equal(sh_analysis_table_write(analysis, text), SH_OK);
    sh_analysis_close(analysis);
}

static void write_made(struct sh_text *text)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    write_table(&analysis, text);
}

static void test_sentences_come_before_figures(void **state)
{
    struct sh_text text;
    write_made(&text);
    assert_says(text.data,
                "2026-05-14_0930_wren by wren, \"the small\" (612.4 s): shots 2, let-downs 1,");

    assert_says(text.data, "    1  The draw got shorter, by \"5.2 mm\".\n");
    assert_says(text.data, "    2  The draw was brought back without a release.\n");
    assert_true(strstr(text.data, "The draw got shorter") < strstr(text.data, "3.607"));
    assert_says(text.data, "Compared with: 2026-05-12_1800_wren\n");
    sh_text_close(&text);
}

static void test_data_flaws_name_their_draws(void **state)
{
    struct sh_text text;
    write_made(&text);
    assert_says(text.data, "  18 samples were lost.\n");
    assert_says(text.data, "  clipped (a sample reached its channel's range) in 1\n");
    assert_says(text.data, "  short (too short for some measures) in 2\n");
    assert_says(text.data,
                "1 of 3 draws were too short for some measures; those were not judged.");
    sh_text_close(&text);
}

static void test_figures_carry_their_uncertainty(void **state)
{
    struct sh_text text;
    write_made(&text);
    assert_says(text.data, "3.607 " PM "0.020");
    assert_says(text.data, "178.25 " PM "0.78");
    assert_says(text.data, "5.20 " PM "0.98"); /* creep in mm */
    assert_says(text.data, "41.0 " PM "2.0");  /* share in per cent */
    assert_says(text.data, "over 450.0");
    assert_keeps_quiet(text.data, "450.0 " PM);
    assert_says(text.data, "\n2 let-down ");
    assert_says(text.data, "draw            score");
    assert_says(text.data, "\n1                   9  ");
    assert_says(text.data, "\n2 let-down          -  ");
    sh_text_close(&text);
}

static void test_unknown_is_a_dash_or_named(void **state)
{
    struct sh_text text;
    write_made(&text);
    assert_says(text.data, "- is unknown or does not apply");
    assert_says(text.data, "Unknown, not worked out: reaction (ms),");
    assert_says(text.data, "ring (Hz)");
    assert_keeps_quiet(text.data, "middle share  "); /* no shot knows it: no column */
    assert_says(text.data, "middle share (%)");
    assert_keeps_quiet(text.data, "nan");
    sh_text_close(&text);
}

/* A full house: every measure known, with a wide interval, in 300 shots. */
static void test_no_line_is_too_wide(void **state)
{
    struct sh_text text;
    static struct sh_shot_record record;
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "2026-05-14_0930_heron",
                     "\xE9\xB3\xA5\xE9\xB3\xA5 the heron of the old kilns and chimneys");
    for (unsigned n = 1; n <= 300; n++) {
        record.shot.n = n;
        record.shot.kind = n % 7 == 0 ? SH_SHOT_UNRESOLVED : SH_SHOT_SHOT;
        for (size_t i = 0; i < SH_MEASURE_PLACES; i++) {
            record.measures.quantity[i] = (struct sh_quantity){.value = 0.1234 * n,
                                                               .u = 0.01,
                                                               .lo = 0.1 * n,
                                                               .hi = 0.15 * n,
                                                               .has_interval = n % 2 == 0,
                                                               .why = SH_WHY_KNOWN};
        }
        record.quality[SH_CODE_QUALITY_NOISY] = true;
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    }
    write_table(&analysis, &text);
    width_check(text.data, SH_ANALYSIS_TABLE_COLUMNS);
    assert_keeps_quiet(text.data, "Unknown");
    assert_says(text.data, "be) in 1-300\n");
    assert_says(text.data, "294 unresolved");
    sh_text_close(&text);
}

static void test_made_is_not_too_wide(void **state)
{
    struct sh_text text;
    write_made(&text);
    width_check(text.data, SH_ANALYSIS_TABLE_COLUMNS);
    sh_text_close(&text);
}

static void test_nothing_to_say(void **state)
{
    struct sh_text text;
    static struct sh_shot_record record;
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "rook");
    record.shot.n = 1;
    assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    write_table(&analysis, &text);
    assert_says(text.data, "Nothing is beyond its threshold and its own uncertainty.");
    assert_keeps_quiet(text.data, "Data");
    sh_text_close(&text);
}

static void test_no_draws(void **state)
{
    struct sh_text text;
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "tuesday", "rook\x1B[2J");
    write_table(&analysis, &text);
    assert_says(text.data, "shots 0, let-downs 0, unresolved 0.");
    assert_says(text.data, "rook\xEF\xBF\xBD[2J");
    assert_keeps_quiet(text.data, "\x1B");
    sh_text_close(&text);
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_text text;
    struct sh_analysis analysis;
    made_analysis(&analysis);
    for (size_t limit_bytes = 1; limit_bytes < 1000; limit_bytes += 37) {
        sh_text_init(&text, limit_bytes);
        assert_int_equal(sh_analysis_table_write(&analysis, &text), SH_ERR_FULL);
        sh_text_close(&text);
    }
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_sentences_come_before_figures),
        cmocka_unit_test(test_data_flaws_name_their_draws),
        cmocka_unit_test(test_figures_carry_their_uncertainty),
        cmocka_unit_test(test_unknown_is_a_dash_or_named),
        cmocka_unit_test(test_no_line_is_too_wide),
        cmocka_unit_test(test_made_is_not_too_wide),
        cmocka_unit_test(test_nothing_to_say),
        cmocka_unit_test(test_no_draws),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
