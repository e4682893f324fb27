/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/mark_json.h"

#include <stdio.h>

#include "recording/json_case.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static enum sh_status parse(const char *text, struct sh_mark *mark, struct sh_error *err)
{
    struct sh_json_cursor cursor;
    json_t *root = json_case_load(text);
    sh_json_cursor_init(&cursor, "a.json", err);
    sh_mark_json_parse(&cursor, root, mark);
    json_decref(root);
    return cursor.status;
}

static void check_format(const char *before, const struct sh_mark *mark, const char *after)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_case_load(before);
    sh_mark_json_format(&put, root, mark);
    assert_int_equal(put.status, SH_OK);
    json_case_check_text(root, JSON_REAL_PRECISION(15), after);
}

/* One of each kind, as the program itself writes them. */
static const char *const examples[] = {
    "{\"t_s\": 31.2, \"kind\": \"clock\", \"seconds\": 120, \"elapsed_s\": 12.5, \"arrows\": "
    "6}",
    "{\"t_s\": 40, \"kind\": \"clock-stop\"}",
    "{\"t_s\": 41, \"kind\": \"overrun\", \"shot\": 3}",
    "{\"t_s\": 52.9, \"kind\": \"arrow\", \"shot\": 3, \"score\": 9}",
    "{\"t_s\": 151, \"kind\": \"end\", \"scores\": [9, 9, 8]}",
    "{\"t_s\": 60, \"kind\": \"note\", \"text\": \"new tab leather\"}",
    "{\"t_s\": 61, \"kind\": \"correction\", \"shot\": 2, \"event\": \"clicker_s\", "
    "\"value_s\": "
    "49.812}",
    "{\"t_s\": 61, \"kind\": \"correction\", \"shot\": 2, \"event\": \"clicker_s\", "
    "\"value_s\": null}",
    "{\"t_s\": 61, \"kind\": \"correction\", \"event\": \"release_s\", \"value_s\": 50.5, "
    "\"value_u_s\": 0.002}",
    "{\"t_s\": 0, \"kind\": \"pain\", \"when\": \"before\", \"rating\": 2}",
    "{\"t_s\": 0, \"kind\": \"limit\", \"what\": \"finger_peak_n\", \"finger\": \"ring\", "
    "\"per\": "
    "\"shot\", \"most\": 45, \"set_by\": \"hand clinic\", \"from\": \"2026-05-01\", \"until\": "
    "\"2026-06-01\"}",
    "{\"t_s\": 0, \"kind\": \"limit\", \"what\": \"rest_s\", \"per\": \"session\", \"least\": "
    "30}",
    "{\"t_s\": 9, \"kind\": \"limit-reached\", \"what\": \"finger_peak_n\"}",
    "{\"t_s\": 9, \"kind\": \"warning\", \"text\": \"the cable was pulled\"}",
};

static void test_each_kind_leads_back(void **state)
{
    for (size_t i = 0; i < sizeof examples / sizeof examples[0]; i++) {
        struct sh_mark mark;
        assert_int_equal(parse(examples[i], &mark, NULL), SH_OK);
        assert_true(mark.kind != SH_MARK_OTHER);
        assert_int_equal(mark.kept, 0);
        check_format("{}", &mark, examples[i]);
        check_format(examples[i], &mark, examples[i]);
    }
}

static void test_values_land_in_their_members(void **state)
{
    struct sh_mark mark;
    assert_int_equal(parse(examples[0], &mark, NULL), SH_OK);
    assert_int_equal(mark.kind, SH_MARK_CLOCK);
    assert_near(mark.t_s, 31.2, 0.0, 0.0);
    assert_near(mark.seconds.value, 120.0, 0.0, 0.0);
    assert_near(mark.elapsed_s.value, 12.5, 0.0, 0.0);
    assert_false(mark.score.is_given);
    assert_int_equal(parse(examples[4], &mark, NULL), SH_OK);
    assert_int_equal(mark.n_scores, 3);
    assert_near(mark.scores[2], 8.0, 0.0, 0.0);
    assert_int_equal(parse(examples[8], &mark, NULL), SH_OK);
    assert_near(mark.value_u_s.value, 0.002, 0.0, 0.0);
    assert_int_equal(parse(examples[10], &mark, NULL), SH_OK);
    assert_string_equal(mark.finger, "ring");
    assert_string_equal(mark.until, "2026-06-01");
    assert_near(mark.most.value, 45.0, 0.0, 0.0);
    assert_false(mark.least.is_given);
}

static void test_unknown_keys_and_kinds_are_kept(void **state)
{
    struct sh_mark mark;
    const char *whistle =
        "{\"kind\": \"whistle\", \"t_s\": 5, \"score\": \"loud\", \"x\": [1]}";
    assert_int_equal(parse(whistle, &mark, NULL), SH_OK);
    assert_int_equal(mark.kind, SH_MARK_OTHER);
    mark.t_s = 6.5;
    check_format(whistle, &mark,
                 "{\"kind\": \"whistle\", \"t_s\": 6.5, \"score\": \"loud\", \"x\": [1]}");
    const char *note = "{\"t_s\": 5, \"kind\": \"note\", \"by\": \"plover\", \"text\": \"a\"}";
    assert_int_equal(parse(note, &mark, NULL), SH_OK);
    mark.text[0] = '\0';
    check_format(note, &mark, "{\"t_s\": 5, \"kind\": \"note\", \"by\": \"plover\"}");
}

/* A correction without a value says the same as a null; it stays as it was written. */
static void test_a_null_is_written_once(void **state)
{
    struct sh_mark mark;
    const char *bare = "{\"t_s\": 61, \"kind\": \"correction\", \"event\": \"clicker_s\"}";
    assert_int_equal(parse(bare, &mark, NULL), SH_OK);
    assert_false(mark.value_s.is_given);
    check_format(bare, &mark, bare);
    check_format("{}", &mark,
                 "{\"t_s\": 61, \"kind\": \"correction\", \"event\": \"clicker_s\", "
                 "\"value_s\": null}");
}

static void test_an_unknown_kind_cannot_be_made(void **state)
{
    struct sh_json_put put = {SH_OK, NULL};
    const struct sh_mark mark = {.kind = SH_MARK_OTHER};
    json_t *root = json_object();
    sh_mark_json_format(&put, root, &mark);
    assert_int_equal(put.status, SH_ERR_ARGUMENT);
    json_decref(root);
}

static void test_offences_are_named(void **state)
{
    static const struct json_case_offence cases[] = {
        {"5", "a.json", "is not an object"},
        {"{\"kind\": \"note\"}", "a.json: t_s", "is missing"},
        {"{\"t_s\": \"5\", \"kind\": \"note\"}", "a.json: t_s", "is not a number"},
        {"{\"t_s\": 5}", "a.json: kind", "is missing"},
        {"{\"t_s\": 5, \"kind\": \"\"}", "a.json: kind", "is missing"},
        {"{\"t_s\": 5, \"kind\": 7}", "a.json: kind", "is not a text"},
        {"{\"t_s\": 5, \"kind\": \"clock\"}", "a.json: seconds", "is missing"},
        {"{\"t_s\": 5, \"kind\": \"clock\", \"seconds\": 0}", "a.json: seconds",
         "is not above 0"},
        {"{\"t_s\": 5, \"kind\": \"arrow\", \"score\": \"9\"}", "a.json: score",
         "is not a number"},
        {"{\"t_s\": 5, \"kind\": \"end\", \"scores\": 9}", "a.json: scores", "is not a list"},
        {"{\"t_s\": 5, \"kind\": \"end\", \"scores\": [9, null]}", "a.json: scores",
         "is not a list of 2 numbers"},
        {"{\"t_s\": 5, \"kind\": \"correction\"}", "a.json: event", "is missing"},
        {"{\"t_s\": 5, \"kind\": \"pain\"}", "a.json: rating", "is missing"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"per\": \"day\", \"most\": 1}", "a.json: what",
         "is missing"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"what\": \"draws\", \"most\": 1}", "a.json: per",
         "is missing"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"what\": \"draws\", \"per\": \"day\"}",
         "a.json: most", "is missing"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"what\": \"draws\", \"per\": \"year\", \"most\": "
         "1}",
         "a.json: per", "is no span of a limit"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"what\": \"draws\", \"per\": \"day\", \"most\": "
         "1, "
         "\"finger\": \"thumb\"}",
         "a.json: finger", "is no finger"},
        {"{\"t_s\": 5, \"kind\": \"limit\", \"what\": \"draws\", \"per\": \"day\", \"most\": "
         "1, "
         "\"until\": \"soon\"}",
         "a.json: until", "is not a date"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_mark mark;
        struct sh_error err = {0};
        const enum sh_status status = parse(cases[i].text, &mark, &err);
        json_case_check_offence(&cases[i], status, &err);
    }
}

/* An end mark with n scores of 10. */
static void make_end(char *text, size_t text_bytes, size_t n)
{
    int used = snprintf(text, text_bytes, "{\"t_s\": 1, \"kind\": \"end\", \"scores\": [10");
    for (size_t i = 1; i < n; i++) {
        used += snprintf(text + used, text_bytes - (size_t)used, ", 10");
    }
    (void)snprintf(text + used, text_bytes - (size_t)used, "]}");
}

static void test_scores_have_a_bound(void **state)
{
    char text[1024];
    struct sh_mark mark;
    struct sh_error err = {0};
    make_end(text, sizeof text, SH_MARK_SCORES_MAX);
    assert_int_equal(parse(text, &mark, NULL), SH_OK);
    assert_int_equal(mark.n_scores, SH_MARK_SCORES_MAX);
    make_end(text, sizeof text, SH_MARK_SCORES_MAX + 1);
    assert_int_equal(parse(text, &mark, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what, "has more than 72 scores");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_kind_leads_back),
        cmocka_unit_test(test_values_land_in_their_members),
        cmocka_unit_test(test_unknown_keys_and_kinds_are_kept),
        cmocka_unit_test(test_a_null_is_written_once),
        cmocka_unit_test(test_an_unknown_kind_cannot_be_made),
        cmocka_unit_test(test_offences_are_named),
        cmocka_unit_test(test_scores_have_a_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
