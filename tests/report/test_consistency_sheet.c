/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_sheet.h"

#include <jansson.h>
#include <string.h>

#include "report/consistency_csv.h"
#include "report/consistency_json.h"
#include "report/consistency_plot.h"
#include "report/consistency_table.h"
#include "report/width_check.h"
#include "series/shot_rows.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

#define COLUMNS 80u

/* A study of a session, and the sheet over it. */
struct made {
    struct sh_consistency_set set;
    struct sh_consistency_study study;
    struct sh_consistency_sheet sheet;
};

static const char *const names[] = {"evening"};

static void make(struct made *made, const struct shot_rows_archer *archer, bool has_scores)
{
    const struct sh_clock_effect_arrows arrows = {4, 6};
    const struct sh_consistency_config config = sh_consistency_config_default();
    struct sh_random random;
    memset(made, 0, sizeof *made);
    sh_random_init(&random, 5);
    shot_rows_shoot(&made->set, archer, &random);
    for (size_t i = 0; i < made->set.n_rows && has_scores; i++) {
        made->set.rows[i].has_score = true;
        made->set.rows[i].score = made->set.rows[i].value[0].value > 3.0 ? 8.0 : 10.0;
    }
    assert_int_equal(sh_consistency_study_open(&made->set, &config, &arrows, &made->study),
                     SH_OK);
    made->sheet = (struct sh_consistency_sheet){"wren", names, 1, &made->study};
}

static void close_made(struct made *made)
{
    sh_consistency_study_close(&made->study);
    sh_consistency_set_close(&made->set);
}

/* The table's words with each run of blanks and line breaks as one blank. */
static char *write_flat(const struct made *made, struct sh_text *text)
{
    size_t n = 0;
    sh_text_init(text, 0);
    assert_int_equal(sh_consistency_table_write(&made->sheet, text), SH_OK);
    for (size_t i = 0; i < text->n_bytes; i++) {
        const bool is_blank = strchr(" \n", text->data[i]) != NULL;
        if (!is_blank) {
            text->data[n++] = text->data[i];
        } else if (n > 0 && text->data[n - 1] != ' ') {
            text->data[n++] = ' ';
        }
    }
    text->data[n] = '\0';
    return text->data;
}

static const struct shot_rows_archer rushed = {12, 6, 0.02, 0.1, 0.0, 0.0, -1.0, false};
static const struct shot_rows_archer steady = {12, 6, 0.02, 0.1, 0.0, 0.0, 0.0, false};

static void test_says_a_difference(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, &rushed, true);
    const char *flat = write_flat(&made, &text);
    assert_says(flat, "Under the clock the hold of arrows 4 to 6 was ");
    assert_says(flat, " s shorter (");
    assert_says(flat, "than without it: 6 ends against 6.");
    assert_says(flat, "Under the clock the tremor of arrows 4 to 6 was ");
    assert_says(flat, " N smaller (");
    assert_says(flat, "A lower score goes with a larger hold: rank correlation -");
    /* z of sqrt(0.077) is 0.28498: 3 + 1.0385 x 11.67897 / 0.081214 = 152.3 */
    assert_says(flat, "takes 153 arrows to see");
    assert_says(flat, "seed 1;");
    sh_text_close(&text);
    close_made(&made);
}

static void test_claims_nothing(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, &steady, false);
    const char *flat = write_flat(&made, &text);
    assert_says(flat, "The clock makes no difference to the hold that 6 ends under it and 6 "
                      "without could show; one of ");
    assert_keeps_quiet(flat, "Under the clock the ");
    assert_says(flat, "Over the session there is no change that these ends could show.");
    assert_says(flat, "The score is not set beside the measures: fewer than 10");
    assert_says(flat, "beyond three sigma (0.27 %)");
    assert_keeps_quiet(flat, "nine in a row");
    assert_keeps_quiet(flat, "nan");
    sh_text_close(&text);
    close_made(&made);
}

/* No line of table or drawing is wider than a terminal. */
static void test_width(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, &rushed, true);
    sh_text_init(&text, 0);
    assert_int_equal(sh_consistency_table_write(&made.sheet, &text), SH_OK);
    assert_int_equal(sh_consistency_plot_draw(&made.sheet, SH_TERMINAL_BRAILLE, &text), SH_OK);
    assert_says(text.data, "hold (s)");
    assert_says(text.data, "limit");
    width_check(text.data, COLUMNS);
    sh_text_close(&text);
    close_made(&made);
}

static void test_json(void **state)
{
    struct made made;
    struct sh_text text;
    make(&made, &rushed, true);
    sh_text_init(&text, 0);
    assert_int_equal(sh_consistency_json_write(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    const json_t *hold = json_object_get(json_object_get(root, "measures"), "hold_time_s");
    const json_t *effect = json_object_get(hold, "clocked_less_free");
    assert_near(json_real_value(json_object_get(effect, "value")),
                made.study.clock[0].difference, 0, 1e-15);
    assert_true(json_is_true(json_object_get(effect, "seen")));
    assert_int_equal(json_integer_value(json_object_get(effect, "first_arrow")), 4);
    assert_near(json_real_value(json_object_get(json_object_get(hold, "mean"), "lo")),
                made.study.steady[0].mean.lo, 0, 1e-15);
    assert_true(json_array_size(json_object_get(root, "sentences")) > 10);
    assert_true(json_is_object(json_object_get(hold, "score_odds")));
    assert_int_equal(json_integer_value(json_object_get(root, "seed")), 1);
    json_decref(root);
    sh_text_close(&text);
    close_made(&made);
}

static void check_commas(const char *line, size_t n_expected)
{
    size_t n = 0;
    for (const char *c = line; *c != '\0'; c++) {
        n += *c == ',' ? 1 : 0;
    }
    if (n != n_expected) {
        fail_msg("%zu commas: %s", n, line);
    }
}

/* Nine columns in every row. */
static void test_csv(void **state)
{
    struct made made;
    struct sh_text text;
    size_t n_lines = 0;
    make(&made, &rushed, false);
    sh_text_init(&text, 0);
    assert_int_equal(sh_consistency_csv_write(&made.sheet, &text), SH_OK);
    for (char *line = strtok(text.data, "\r\n"); line != NULL; line = strtok(NULL, "\r\n")) {
        check_commas(line, 8);
        n_lines++;
    }
    assert_int_equal(n_lines, 1 + 10 * SH_CONSISTENCY_MEASURES);
    sh_text_close(&text);
    close_made(&made);
}

/* An empty set is said to be so, and is drawn as nothing. */
static void test_nothing(void **state)
{
    const struct shot_rows_archer nobody = {0};
    struct made made;
    struct sh_text text;
    make(&made, &nobody, false);
    sh_text_init(&text, 0);
    assert_int_equal(sh_consistency_plot_draw(&made.sheet, SH_TERMINAL_PLAIN, &text), SH_OK);
    assert_null(text.data);
    assert_says(write_flat(&made, &text), "The hold: fewer than two arrows show it.");
    sh_text_close(&text);
    close_made(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_says_a_difference),
        cmocka_unit_test(test_claims_nothing),
        cmocka_unit_test(test_width),
        cmocka_unit_test(test_json),
        cmocka_unit_test(test_csv),
        cmocka_unit_test(test_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
