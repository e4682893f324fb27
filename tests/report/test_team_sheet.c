/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/team_sheet.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/team_csv.h"
#include "report/team_json.h"
#include "report/team_table.h"
#include "report/team_words.h"
#include "report/width_check.h"
#include "series/team_made.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/says.h"

#define ARCHERS 3u
#define COLUMNS 80u

/* A team and the sheet over it. */
struct made {
    struct sh_team_times times[ARCHERS];
    struct sh_team_archer archers[ARCHERS];
    struct sh_team_sheet_archer sheet_archers[ARCHERS];
    struct sh_team_chance chances[2];
    struct sh_team_sheet sheet;
};

static const char *const names[ARCHERS] = {"wren", "rook \"r\"", "heron, the elder"};

static void open_made(struct made *made)
{
    static const double next_s[3] = {12.0, 13.0, 15.0};
    memset(made, 0, sizeof *made);
    for (size_t a = 0; a < ARCHERS; a++) {
        team_made_open(&made->times[a]);
        for (size_t i = 0; i < 6; i++) {
            team_made_add(&made->times[a], SH_TEAM_FIRST_START, 13.0 + (double)i, next_s, 3);
        }
        made->archers[a].times = &made->times[a];
        made->archers[a].hand_over = (struct sh_team_hand_over){
            .source = SH_TEAM_HAND_OVER_ASSUMED, .low_s = 3.0, .high_s = 6.0};
    }
}

static void work_out(struct made *made, double shooting_s)
{
    for (size_t i = 0; i < 2; i++) {
        const struct sh_team_plan plan = {made->archers, ARCHERS, 2, 2 - i, shooting_s, false};
        const struct sh_team_chance_config config = {7, 1000, 200, 100};
        assert_int_equal(sh_team_chance_get(&plan, &config, &made->chances[i]), SH_OK);
    }
    for (size_t a = 0; a < ARCHERS; a++) {
        made->sheet_archers[a].name = names[a];
        made->sheet_archers[a].n_recordings = 1;
        made->sheet_archers[a].count = sh_team_times_get_count(&made->times[a]);
    }
    made->sheet =
        (struct sh_team_sheet){"team", made->sheet_archers, ARCHERS, made->chances, 2};
}

static void close_made(struct made *made)
{
    for (size_t a = 0; a < ARCHERS; a++) {
        sh_team_times_close(&made->times[a]);
    }
}

static enum sh_status add_sentence(void *context, const char *sentence)
{
    sh_text_printf(context, "%s\n", sentence);
    return SH_OK;
}

static void check_says(const struct made *made, const char *const *said, const char *unsaid)
{
    struct sh_text text;
    const struct sh_team_words_sink sink = {add_sentence, &text};
    sh_text_init(&text, 0);
    assert_int_equal(sh_team_words_each(&made->sheet, &sink), SH_OK);
    for (size_t i = 0; said[i] != NULL; i++) {
        assert_says(text.data, said[i]);
    }
    if (unsaid != NULL) {
        assert_keeps_quiet(text.data, unsaid);
    }
    sh_text_close(&text);
}

static void test_alike(void **state)
{
    static const char *const said[] = {
        "In turns of 2 arrows the team finishes in time in ",
        "In turns of 1 arrow the team finishes in time in ",
        "The order makes no difference to the time left at the end: nothing was seen",
        ("wren: 24 arrows of 6 ends. On average the first of a turn takes 15.5 s, a further "
         "one "
         "13.3 s. None was let down and none is reckoned with; as many as 12 of 100 could be "
         "(95 %). To take over: 3.0 to 6.0 s (assumed)."),
        "give your own with --hand-over",
        "The rules of the event and of the range come first",
        NULL};
    struct made made;
    open_made(&made);
    work_out(&made, 100.0);
    check_says(&made, said, "cannot be told apart");
    close_made(&made);
}

/* Neither 0 nor 100 of 100 is claimed. */
static void test_never_certain(void **state)
{
    static const char *const early[] = {"finishes in time in over 99 of 100 ends; on average "
                                        "there are left ",
                                        ", in 19 of 20 ends ", NULL};
    static const char *const late[] = {"finishes in time in under 1 of 100 ends; on average it "
                                       "is late by ",
                                       ", in one end of 20 it is late by ", NULL};
    struct made made;
    open_made(&made);
    work_out(&made, 300.0);
    check_says(&made, early, "100 of 100");
    work_out(&made, 40.0);
    check_says(&made, late, "late by -");
    close_made(&made);
}

static void test_given(void **state)
{
    static const char *const said[] = {
        "In turns of 2 arrows and with rook \"r\" first the team finishes in time in ",
        "In turns of 2 arrows most time is left where rook \"r\" begins: 4.5 s more than where "
        "wren does; that follows from the hand-overs that were given.",
        "To take over: 8.0 to 10.0 s (given).", NULL};
    struct made made;
    open_made(&made);
    made.archers[1].hand_over = (struct sh_team_hand_over){
        .source = SH_TEAM_HAND_OVER_GIVEN, .low_s = 8.0, .high_s = 10.0};
    work_out(&made, 100.0);
    check_says(&made, said, NULL);
    close_made(&made);
}

/* Hand-overs that were seen: clearly different, and hardly so. */
static void test_seen(void **state)
{
    static const double seen_s[3][5] = {
        {3.0, 4.0, 3.5, 4.5, 3.6}, {7.0, 8.0, 6.5, 7.7, 8.2}, {3.0, 4.1, 3.6, 4.4, 3.8}};
    static const char *const sure[] = {"most time is left where rook \"r\" begins: 3.7 s (",
                                       " of 100 redraws of the recordings.",
                                       "To take over: 7.5 s, 5 seen.", NULL};
    static const char *const unsure[] = {"the orders cannot be told apart: where heron, the "
                                         "elder begins there are left 0.1 s (",
                                         ", but it was the best in only ", NULL};
    struct made made;
    open_made(&made);
    for (size_t a = 0; a < ARCHERS; a++) {
        made.archers[a].hand_over = (struct sh_team_hand_over){
            .source = SH_TEAM_HAND_OVER_OWN, .seen_s = seen_s[a], .n_seen = 5};
    }
    work_out(&made, 100.0);
    check_says(&made, sure, "--hand-over");
    made.archers[1].hand_over = made.archers[0].hand_over;
    made.archers[1].hand_over.source = SH_TEAM_HAND_OVER_TEAM;
    work_out(&made, 100.0);
    check_says(&made, unsure, "most time");
    close_made(&made);
}

/* What the times do not rest on is said. */
static void test_gaps(void **state)
{
    static const double next_s[3] = {12.0, 13.0, 15.0};
    static const char *const said[] = {
        "Caution: 6 of 6 ends of wren were shot without a clock.",
        "How long the first arrow of a turn takes wren is not known: further arrows stand in",
        "How long a further arrow of a turn takes rook \"r\" is not known: first arrows",
        "2 of 26 draws were let down: 1.1 s an arrow on average.",
        "What a let-down costs heron, the elder is not known",
        "wren: 4 ends without a clock are left out",
        "rook \"r\": the times of 3 arrows are not known.",
        "15.5 s (15.4 s from the clock's start)",
        NULL};
    struct made made;
    open_made(&made);
    sh_team_times_close(&made.times[0]);
    sh_team_times_close(&made.times[1]);
    for (size_t i = 0; i < 10; i++) {
        if (i < 6) {
            team_made_add(&made.times[0], SH_TEAM_FIRST_START, (double)NAN, next_s, 3);
        }
        team_made_add(&made.times[1], SH_TEAM_FIRST_START, 11.0 + (double)i, NULL, 0);
        team_made_add(&made.times[1], SH_TEAM_FIRST_HAND_OVER, 11.1 + (double)i, NULL, 0);
    }
    made.times[0].ends[0].n_let_downs = 0;
    team_made_let_down(&made.times[2], 0.0);
    made.times[2].ends[5].n_costs = 0;
    made.times[2].ends[0].n_let_downs = 1;
    work_out(&made, 100.0);
    made.sheet_archers[0].n_dropped = 4;
    made.sheet_archers[1].n_unknown = 3;
    made.chances[0].archers[1].first_s[SH_TEAM_FIRST_START] = 15.4;
    made.chances[0].archers[1].first_s[SH_TEAM_FIRST_HAND_OVER] = 15.5;
    check_says(&made, said, NULL);
    close_made(&made);
}

static void test_table(void **state)
{
    struct made made;
    struct sh_text text;
    open_made(&made);
    work_out(&made, 100.0);
    sh_text_init(&text, 0);
    assert_int_equal(sh_team_table_write(&made.sheet, &text), SH_OK);
    const char *head =
        "The team of wren, rook \"r\", heron, the elder: 6 arrows in 100 s (team).";
    assert_memory_equal(text.data, head, strlen(head));
    assert_non_null(strstr(text.data, "\nturns of 2: "));
    assert_non_null(strstr(text.data, "\nturns of 1: "));
    assert_non_null(strstr(text.data, "wren 100 to 71,"));
    assert_non_null(strstr(text.data, "seed 7."));
    width_check(text.data, COLUMNS);
    sh_text_close(&text);
    close_made(&made);
}

static double get_number(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void test_json(void **state)
{
    struct made made;
    struct sh_text text;
    open_made(&made);
    made.archers[1].hand_over = (struct sh_team_hand_over){
        .source = SH_TEAM_HAND_OVER_GIVEN, .low_s = 9.0, .high_s = 9.0};
    work_out(&made, 100.0);
    sh_text_init(&text, 0);
    assert_int_equal(sh_team_json_write(&made.sheet, &text), SH_OK);
    json_t *root = json_loads(text.data, 0, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")), "stringhand-team");
    const json_t *archer = json_array_get(json_object_get(root, "archers"), 1);
    assert_string_equal(json_string_value(json_object_get(archer, "name")), names[1]);
    assert_string_equal(json_string_value(json_object_get(archer, "hand_over_from")), "given");
    assert_near(get_number(archer, "first_after_start_s"), 15.5, 1e-12, 0);
    const json_t *turns = json_object_get(root, "turns");
    assert_int_equal(json_array_size(turns), 2);
    const json_t *best = json_object_get(json_array_get(turns, 0), "most_left");
    assert_string_equal(json_string_value(json_object_get(best, "first")), names[1]);
    assert_true(json_is_true(json_object_get(best, "sure")));
    const json_t *orders = json_object_get(json_array_get(turns, 1), "orders");
    assert_int_equal(json_array_size(orders), 6);
    const json_t *order = json_array_get(orders, 5);
    assert_string_equal(json_string_value(json_array_get(json_object_get(order, "archers"), 0)),
                        names[2]);
    assert_int_equal(json_array_size(json_object_get(order, "turns")), 6);
    const json_t *chance = json_object_get(order, "chance");
    assert_near(get_number(chance, "lo"), made.chances[1].orders[5].chance.lo, 0, 0);
    assert_near(get_number(order, "left_in_19_of_20_s"), made.chances[1].orders[5].low_s, 0, 0);
    json_decref(root);
    sh_text_close(&text);
    made.archers[1].hand_over = made.archers[0].hand_over;
    work_out(&made, 100.0);
    sh_text_init(&text, 0);
    assert_int_equal(sh_team_json_write(&made.sheet, &text), SH_OK);
    root = json_loads(text.data, 0, NULL);
    best = json_object_get(json_array_get(json_object_get(root, "turns"), 0), "most_left");
    assert_true(json_is_true(json_object_get(best, "alike")));
    assert_true(json_is_null(json_object_get(best, "first")));
    json_decref(root);
    sh_text_close(&text);
    close_made(&made);
}

static void test_csv(void **state)
{
    struct made made;
    struct sh_text text;
    size_t n_lines = 0;
    open_made(&made);
    work_out(&made, 100.0);
    sh_text_init(&text, 0);
    assert_int_equal(sh_team_csv_write(&made.sheet, &text), SH_OK);
    for (const char *at = text.data; (at = strstr(at, "\r\n")) != NULL; at += 2) {
        n_lines++;
    }
    assert_int_equal(n_lines, 13);
    assert_non_null(strstr(text.data, "archer_3,chance,chance_lo,chance_hi,left_s,"));
    assert_non_null(strstr(text.data, "\r\n2,wren,\"rook \"\"r\"\"\",\"heron, the elder\",0."));
    sh_text_close(&text);
    close_made(&made);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_alike), cmocka_unit_test(test_never_certain),
        cmocka_unit_test(test_given), cmocka_unit_test(test_seen),
        cmocka_unit_test(test_gaps),  cmocka_unit_test(test_table),
        cmocka_unit_test(test_json),  cmocka_unit_test(test_csv),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
