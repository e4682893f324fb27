/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/shot_sentence.h"

#include <stdio.h>
#include <string.h>

#include "support/cmocka_all.h"

static void put(struct sh_shot_record *record, enum sh_measure measure, double value)
{
    *sh_catalog_get_mutable(&record->measures, measure, 0) = sh_quantity_known(value, 0.001);
}

static void check(const struct sh_shot_record *record, const char *expected)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shot_sentence_format(record, &text);
    assert_int_equal(text.status, SH_OK);
    assert_string_equal(text.data, expected);
    sh_text_close(&text);
}

static void test_shot_with_all_known(void **state)
{
    struct sh_shot_record record = {.shot = {.n = 3, .kind = SH_SHOT_SHOT}};
    put(&record, SH_MEASURE_HOLD_TIME, 3.607);
    put(&record, SH_MEASURE_HOLD_FORCE, 178.23);
    put(&record, SH_MEASURE_CLICKER_REACTION, 0.1378);
    check(&record, "Shot 3: held 3.61 s at 178.2 N, released 138 ms after the click.\n");
}

static void test_what_is_unknown_is_left_out(void **state)
{
    struct sh_shot_record record = {.shot = {.n = 1, .kind = SH_SHOT_SHOT}};
    check(&record, "Shot 1: released.\n");
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known(20.114, 0.001);
    check(&record, "Shot 1: released at 20.11 s.\n");
    put(&record, SH_MEASURE_CLICKER_REACTION, 0.172);
    check(&record, "Shot 1: released at 20.11 s, 172 ms after the click.\n");
    *sh_catalog_get_mutable(&record.measures, SH_MEASURE_CLICKER_REACTION, 0) =
        sh_quantity_unknown(SH_WHY_NOT_SEEN);
    put(&record, SH_MEASURE_HOLD_FORCE, 80.0);
    check(&record, "Shot 1: released at 20.11 s at 80.0 N.\n");
    put(&record, SH_MEASURE_HOLD_TIME, 2.0);
    check(&record, "Shot 1: held 2.00 s at 80.0 N.\n");
}

static void test_draws_that_are_no_shots(void **state)
{
    struct sh_shot_record record = {.shot = {.n = 2, .kind = SH_SHOT_LET_DOWN}};
    check(&record, "Draw 2: let down.\n");
    record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(4.5, 0.001);
    check(&record, "Draw 2: let down, drawn at 4.50 s.\n");
    record.shot.kind = SH_SHOT_UNRESOLVED;
    check(&record, "Draw 2: cannot be told from a let-down, drawn at 4.50 s.\n");
    put(&record, SH_MEASURE_HOLD_TIME, 2.0);
    check(&record, "Draw 2: cannot be told from a let-down, drawn at 4.50 s.\n");
}

static void add_finding(struct sh_shot_record *record, enum sh_code code, const char *text)
{
    struct sh_finding *finding = &record->findings[record->n_findings++];
    finding->code = code;
    (void)snprintf(finding->text, sizeof finding->text, "%s", text);
}

/* That a let-down was let down stands in the sentence already. */
static void test_findings_follow_one_a_line(void **state)
{
    struct sh_shot_record record = {.shot = {.n = 4, .kind = SH_SHOT_LET_DOWN}};
    add_finding(&record, SH_CODE_LET_DOWN, "The draw was let down.");
    add_finding(&record, SH_CODE_LONG_HOLD, "Held long.");
    add_finding(&record, SH_CODE_FINGER_LIMIT, "Over 100 % of what was agreed.");
    check(&record, "Draw 4: let down.\n  Held long.\n  Over 100 % of what was agreed.\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shot_with_all_known),
        cmocka_unit_test(test_what_is_unknown_is_left_out),
        cmocka_unit_test(test_draws_that_are_no_shots),
        cmocka_unit_test(test_findings_follow_one_a_line),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
