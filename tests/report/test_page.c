/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page.h"

#include <string.h>

#include "report/made.h"
#include "report/markup.h"
#include "support/cmocka_all.h"

static struct sh_text text;

static void write_page(struct sh_analysis *analysis)
{
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_page page = {analysis, &thresholds, NULL, NULL, 0};
    sh_text_init(&text, 0);
    assert_int_equal(sh_page_write(&page, 1, &text), SH_OK);
    sh_analysis_close(analysis);
}

static void write_made(void)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    write_page(&analysis);
}

static void test_well_formed_and_alone(void **state)
{
    static const char *const forbidden[] = {"http:",  "https:", "<script", " src=", "@import",
                                            "<link ", "onload", "<img",    "//",    "url(h"};
    write_made();
    markup_check(text.data);
    for (size_t i = 0; i < sizeof forbidden / sizeof forbidden[0]; i++) {
        if (strstr(text.data, forbidden[i]) != NULL) {
            fail_msg("the page holds '%s'", forbidden[i]);
        }
    }
    markup_check_has(text.data, "default-src 'none'");
    markup_check_has(text.data, "<html lang=\"en\">");
    assert_int_equal(markup_count(text.data, "<h1>"), 1);
    sh_text_close(&text);
}

static void test_sentences_come_first(void **state)
{
    write_made();
    markup_check_has(text.data, "<span class=\"code\">creep</span>: draw <a "
                                "href=\"#draw-1-1\">1</a> (1 of 3)");
    markup_check_has(text.data, "The draw got shorter, by &quot;5.2 mm&quot;.");
    assert_true(strstr(text.data, "What stands out") < strstr(text.data, "<td>"));
    markup_check_has(text.data, "Compared with: 2026-05-12_1800_wren.");
    markup_check_has(text.data, "18 samples were lost.");
    sh_text_close(&text);
}

static void test_each_draw_has_a_row_and_a_link_target(void **state)
{
    write_made();
    markup_check_has(text.data, "<li id=\"draw-1-1\">");
    markup_check_has(text.data, "<li id=\"draw-1-3\">");
    assert_int_equal(markup_count(text.data, "<li id=\"draw-"), 3);
    markup_check_has(text.data, "Draw 2, let-down");
    markup_check_has(text.data, "data: <abbr title=\"samples were lost\">gap</abbr>");
    assert_int_equal(markup_count(text.data, "<figure"), 2); /* holds, fingers; no tremor */
    sh_text_close(&text);
}

static void test_two_recordings(void **state)
{
    struct sh_analysis analysis;
    struct sh_thresholds thresholds = sh_thresholds_default();
    made_analysis(&analysis);
    const struct sh_page pages[] = {{&analysis, &thresholds, NULL, NULL, 0},
                                    {&analysis, &thresholds, NULL, NULL, 0}};
    sh_text_init(&text, 0);
    assert_int_equal(sh_page_write(pages, 2, &text), SH_OK);
    markup_check(text.data);
    assert_int_equal(markup_count(text.data, "<h1>"), 2);
    assert_int_equal(markup_count(text.data, "<li id=\"draw-2-1\">"), 1);
    assert_int_equal(markup_count(text.data, "Not a medical device."), 1);
    markup_check_has(text.data, " and 1 more</title>");
    sh_analysis_close(&analysis);
    sh_text_close(&text);
}

/* A draw of which only its time is known, by nobody: no head without a body, no stray stop;
 * draws are counted in the plural, and what is wrong with the data is told once. */
static void test_little_is_known(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "evening", "");
    for (unsigned i = 1; i <= 2; i++) {
        struct sh_shot_record record = {.shot = {.n = i, .kind = SH_SHOT_SHOT}};
        record.quality[SH_CODE_QUALITY_CLIPPED] = true;
        record.quality[SH_CODE_QUALITY_SHORT] = true;
        record.findings[0].code = SH_CODE_EARLY_LOOSE;
        record.n_findings = 1;
        assert_int_equal(sh_analysis_add(&analysis, &record), SH_OK);
    }
    write_page(&analysis);
    markup_check(text.data);
    assert_null(strstr(text.data, "Holds and tremor"));
    markup_check_has(text.data, "<p>Length of the recording");
    markup_check_has(text.data, "early loose</span>: draws <a ");
    assert_int_equal(markup_count(text.data, "data: <abbr"), 2);
    markup_check_has(text.data, "clipped</abbr>, <abbr");
    sh_text_close(&text);
    write_made();
    assert_int_equal(markup_count(text.data, "<h2>Holds and tremor</h2>"), 1);
    sh_text_close(&text);
}

static void test_cautions(void **state)
{
    write_made();
    markup_check_has(text.data, "Not a medical device.");
    markup_check_has(text.data, "stop on pain");
    markup_check_has(text.data, "Shoot only on a range");
    markup_check_has(text.data, "never as inside a limit");
    sh_text_close(&text);
}

static void test_names_cannot_break_out(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "<script>alert(1)</script>\xFF", "\"><b>&\x1B");
    assert_int_equal(sh_analysis_add_history(&analysis, "<i>"), SH_OK);
    sh_analysis_add_quality(&analysis, SH_CODE_QUALITY_GAP, "</ul>");
    write_page(&analysis);
    markup_check(text.data);
    assert_null(strstr(text.data, "<script"));
    assert_null(strchr(text.data, '\x1B'));
    markup_check_has(text.data, "&lt;script&gt;alert(1)&lt;/script&gt;\xEF\xBF\xBD");
    markup_check_has(text.data, "The recording holds no draw.");
    sh_text_close(&text);
}

static void test_same_bytes(void **state)
{
    write_made();
    struct sh_text first = text;
    write_made();
    assert_string_equal(first.data, text.data);
    sh_text_close(&first);
    sh_text_close(&text);
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_analysis analysis;
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_page page = {&analysis, &thresholds, NULL, NULL, 0};
    made_analysis(&analysis);
    for (size_t limit_bytes = 1; limit_bytes < 12000; limit_bytes += 531) {
        sh_text_init(&text, limit_bytes);
        assert_int_equal(sh_page_write(&page, 1, &text), SH_ERR_FULL);
        sh_text_close(&text);
    }
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_well_formed_and_alone),
        cmocka_unit_test(test_sentences_come_first),
        cmocka_unit_test(test_each_draw_has_a_row_and_a_link_target),
        cmocka_unit_test(test_two_recordings),
        cmocka_unit_test(test_little_is_known),
        cmocka_unit_test(test_cautions),
        cmocka_unit_test(test_names_cannot_break_out),
        cmocka_unit_test(test_same_bytes),
        cmocka_unit_test(test_a_full_text_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
