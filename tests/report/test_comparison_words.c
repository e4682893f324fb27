/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_words.h"

#include <jansson.h>
#include <stdio.h>
#include <string.h>

#include "report/comparison_csv.h"
#include "report/comparison_json.h"
#include "report/comparison_table.h"
#include "report/made_comparison.h"
#include "support/cmocka_all.h"
#include "support/says.h"

/* A comparison made by hand: what is said of it, and that all three ways of writing say it. */

static enum sh_status take(void *context, const char *sentence)
{
    struct sh_text *text = context;
    sh_text_printf(text, "%s\n", sentence);
    return text->status;
}

static void assert_said(const struct made_comparison *made, const char *words)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    const struct sh_comparison_words_sink sink = {take, &text};
    assert_int_equal(sh_comparison_words_each(&made->sheet, &sink), SH_OK);
    assert_says(text.data, words);
    sh_text_close(&text);
}

static void test_what_is_said(void **state)
{
    struct made_comparison made;
    made_comparison_open(&made);
    assert_said(&made, "72 and 71 arrows of 6 and 6 sessions");
    assert_said(&made, "No change that this many sessions could show: hold.");
    made_comparison_add_change(&made);
    assert_said(&made, "ring share: 2.1 % (1.2 to 3.0) less with thick than with thin.");
    assert_said(&made, "repeat only to several per cent");
    assert_said(&made, "Not a medical device.");
    made.comparison.has_other_calibration = true;
    assert_said(&made, "not calibrated alike");
    made.comparison.figure[MADE_RING_SHARE].calibration_u = 0.02;
    made.comparison.figure[MADE_RING_SHARE].reach_of_all = 0.03;
    assert_said(&made, "ring share: moved by 2.1 %, which is no more than the calibrations");
    assert_said(&made, "may be apart.");
    made.comparison.figure[MADE_RING_SHARE].is_hidden = true;
    assert_said(&made, "may be apart; more sessions would not tell.");
    assert_said(&made, "could show: hold. What"); /* and not the share */
}

/* One session a side is never told what made it differ. */
static void test_two_sessions(void **state)
{
    struct made_comparison made;
    made_comparison_open(&made);
    made_comparison_add_change(&made);
    made.comparison.figure[0].way = SH_BEFORE_AFTER_TWO_SESSIONS;
    made.comparison.figure[MADE_RING_SHARE].way = SH_BEFORE_AFTER_TWO_SESSIONS;
    assert_said(&made, "never what made them");
    assert_said(&made,
                "These two sessions differ; why cannot be told from one session a side.");
    made.comparison.figure[0].p_least = 0.3;
    assert_said(&made, "So few could show none, however large.");
}

static void test_no_turns(void **state)
{
    struct made_comparison made;
    made_comparison_open(&made);
    made.comparison.figure[0].way = SH_BEFORE_AFTER_ENDS;
    made.comparison.figure[0].why = SH_BEFORE_AFTER_IN_ORDER;
    assert_said(&made, "cannot be told apart; let the sides take turns end by end.");
    made.comparison.figure[1].why = SH_BEFORE_AFTER_IN_ORDER;
    assert_said(&made, "hold, click to release: within the sessions one side"); /* once */
    made.comparison.figure[0].why = SH_BEFORE_AFTER_FEW;
    assert_said(&made, "shows no scatter");
    made.comparison.figure[0].why = SH_BEFORE_AFTER_STILL;
    assert_said(&made, "are alike");
}

static void test_table(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made_comparison_add_change(&made);
    sh_text_init(&text, 0);
    assert_int_equal(sh_comparison_table_write(&made.sheet, &text), SH_OK);
    assert_non_null(strstr(text.data, "wren: from tab thin to tab thick"));
    assert_non_null(strstr(
        text.data,
        "ring share (%)               22.0    19.9    -2.1 -3.0 to -1.2         1.2     4"));
    for (const char *line = text.data; *line != '\0';) {
        const char *end = strchr(line, '\n');
        assert_true(end - line <= 80);
        line = end + 1;
    }
    sh_text_close(&text);
}

static void test_data(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    json_error_t where;
    made_comparison_open(&made);
    made_comparison_add_change(&made);
    sh_text_init(&text, 0);
    assert_int_equal(sh_comparison_json_write(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, &where);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "stringhand-comparison");
    const json_t *figures = json_object_get(root, "figures");
    assert_int_equal(json_array_size(figures), SH_COMPARISON_KINDS);
    const json_t *ring = json_array_get(figures, MADE_RING_SHARE);
    assert_string_equal(json_string_value(json_object_get(ring, "measure")), "finger_share");
    assert_int_equal(json_integer_value(json_object_get(ring, "part")), 3);
    assert_true(json_is_true(json_object_get(ring, "seen")));
    assert_true(json_is_null(json_object_get(json_array_get(figures, 1), "shift")));
    json_decref(root);
    sh_text_close(&text);
    sh_text_init(&text, 0);
    assert_int_equal(sh_comparison_csv_write(&made.sheet, &text), SH_OK);
    size_t n_commas = 0;
    for (const char *c = text.data; *c != '\0'; c++) {
        n_commas += *c == ',' ? 1u : 0u;
    }
    assert_int_equal(n_commas, 22 * (SH_COMPARISON_KINDS + 1));
    assert_non_null(strstr(text.data, "finger_share,3,sessions,72,71,6,6,0.22"));
    sh_text_close(&text);
}

/* Where nothing can be compared the sentences say why, and no head stands over an empty table.
 */
static void test_nothing_to_compare(void **state)
{
    struct made_comparison made;
    struct sh_text text;
    made_comparison_open(&made);
    made.set.n_sessions[0] = 1;
    made.comparison.figure[0].way = SH_BEFORE_AFTER_ENDS;
    made.comparison.figure[0].why = SH_BEFORE_AFTER_IN_ORDER;
    sh_text_init(&text, 0);
    assert_false(sh_comparison_words_has_figures(&made.sheet));
    assert_int_equal(sh_comparison_table_write(&made.sheet, &text), SH_OK);
    assert_keeps_quiet(text.data, "mean of a side");
    sh_text_close(&text);
    assert_said(&made, "of both sides within one session.");
    made.comparison.figure[0].why = SH_BEFORE_AFTER_KNOWN;
    made.set.n_sessions[0] = 2;
    sh_text_init(&text, 0);
    assert_int_equal(sh_comparison_table_write(&made.sheet, &text), SH_OK);
    assert_says(text.data, "mean of a side");
    sh_text_close(&text);
    assert_said(&made, "of both sides within the same 2 sessions.");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_said), cmocka_unit_test(test_two_sessions),
        cmocka_unit_test(test_no_turns),     cmocka_unit_test(test_table),
        cmocka_unit_test(test_data),         cmocka_unit_test(test_nothing_to_compare),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
