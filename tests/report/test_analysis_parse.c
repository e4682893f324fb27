/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_parse.h"

#include <stdlib.h>
#include <string.h>

#include "report/analysis_json.h"
#include "report/made.h"
#include "support/cmocka_all.h"

static void write_made(struct sh_text *text)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    sh_text_init(text, 0);
    assert_int_equal(sh_analysis_json_write(&analysis, text), SH_OK);
    sh_analysis_close(&analysis);
}

static enum sh_status parse(const char *text, struct sh_error *err)
{
    struct sh_analysis analysis = {0};
    *err = (struct sh_error){0};
    const enum sh_status status =
        sh_analysis_parse(text, strlen(text), "analysis.json", &analysis, err);
    if (status != SH_OK) {
        assert_null(analysis.shots); /* untouched */
    }
    sh_analysis_close(&analysis);
    return status;
}

/* Replaces the first place of old in text, which must be there. */
static char *replace(const char *text, const char *old, const char *new)
{
    const char *at = strstr(text, old);
    assert_non_null(at);
    const size_t n_before = (size_t)(at - text);
    const size_t n_bytes = strlen(text) - strlen(old) + strlen(new) + 1;
    char *made = malloc(n_bytes);
    assert_non_null(made);
    memcpy(made, text, n_before);
    memcpy(made + n_before, new, strlen(new));
    strcpy(made + n_before + strlen(new), at + strlen(old));
    return made;
}

static void test_written_read_and_written_is_the_same(void **state)
{
    struct sh_text first;
    struct sh_text second;
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    write_made(&first);
    assert_int_equal(
        sh_analysis_parse(first.data, first.n_bytes, "analysis.json", &analysis, &err), SH_OK);
    assert_true(analysis.n_shots > 1);
    sh_text_init(&second, 0);
    assert_int_equal(sh_analysis_json_write(&analysis, &second), SH_OK);
    assert_string_equal(second.data, first.data);
    sh_analysis_close(&analysis);
    sh_text_close(&first);
    sh_text_close(&second);
}

static void test_every_cut_is_refused(void **state)
{
    struct sh_text text;
    struct sh_error err = {0};
    struct sh_analysis analysis = {0};
    write_made(&text);
    for (size_t n = 0; n + 2 < text.n_bytes; n += 1 + n / 40) {
        assert_int_equal(sh_analysis_parse(text.data, n, "analysis.json", &analysis, &err),
                         SH_ERR_FORMAT);
        assert_null(analysis.shots);
    }
    sh_text_close(&text);
}

static void check_refused(const char *old, const char *new, enum sh_status expected)
{
    struct sh_text text;
    struct sh_error err = {0};
    write_made(&text);
    char *changed = replace(text.data, old, new);
    assert_int_equal(parse(changed, &err), expected);
    assert_non_null(strstr(err.where, "analysis.json"));
    free(changed);
    sh_text_close(&text);
}

static void test_what_is_no_result_is_refused(void **state)
{
    struct sh_error err = {0};
    assert_int_equal(parse("[]", &err), SH_ERR_FORMAT);
    assert_int_equal(parse("{}", &err), SH_ERR_FORMAT);
    check_refused("stringhand-analysis", "stringhand-recording", SH_ERR_FORMAT);
    check_refused("\"program\": \"stringhand ", "\"program\": \"stringhand 0.0.",
                  SH_ERR_UNSUPPORTED);
    check_refused("\"version\": 1", "\"version\": 2", SH_ERR_UNSUPPORTED);
    check_refused("\"duration_s\"", "\"duration\"", SH_ERR_FORMAT);
    check_refused("\"shots\"", "\"draws\"", SH_ERR_FORMAT);
    check_refused("\"kind\": \"shot\"", "\"kind\": \"arrow\"", SH_ERR_FORMAT);
    check_refused("\"events\"", "\"moments\"", SH_ERR_FORMAT);
    check_refused("\"n\": 1", "\"n\": -1", SH_ERR_FORMAT);
    check_refused("\"n\": 1", "\"n\": \"1\"", SH_ERR_FORMAT);
}

/* An analysis of before scores were in it, one of none, and one that is no number. */
static void test_scores(void **state)
{
    struct sh_text text;
    struct sh_analysis analysis = {0};
    struct sh_error err = {0};
    write_made(&text);
    assert_int_equal(
        sh_analysis_parse(text.data, text.n_bytes, "analysis.json", &analysis, &err), SH_OK);
    assert_true(analysis.shots[0].has_score);
    assert_true(analysis.shots[0].score > 8.9 && analysis.shots[0].score < 9.1);
    assert_false(analysis.shots[1].has_score);
    sh_analysis_close(&analysis);
    char *without = replace(text.data, "\"score\": 9.0", "\"other\": 9.0");
    assert_int_equal(parse(without, &err), SH_OK);
    free(without);
    char *wrong = replace(text.data, "\"score\": null", "\"score\": \"nine\"");
    assert_int_equal(parse(wrong, &err), SH_ERR_FORMAT);
    free(wrong);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_written_read_and_written_is_the_same),
        cmocka_unit_test(test_every_cut_is_refused),
        cmocka_unit_test(test_what_is_no_result_is_refused),
        cmocka_unit_test(test_scores),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
