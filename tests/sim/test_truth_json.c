/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/truth_json.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sim/session_plan.h"
#include "sim/truth_field.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* A folder of its own for each test. */
static int make_folder(void **state)
{
    char *folder = strdup("/tmp/stringhand-truth-XXXXXX");
    assert_non_null(folder);
    assert_non_null(mkdtemp(folder));
    *state = folder;
    return 0;
}

static void join(char path[256], const char *folder)
{
    (void)snprintf(path, 256, "%s/truth.json", folder);
}

static int remove_folder(void **state)
{
    char path[256];
    join(path, *state);
    (void)unlink(path);
    const int result = rmdir(*state);
    free(*state);
    return result;
}

static struct sh_session_plan *open_plan(void)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    config.n_draws = 25;
    for (size_t i = 0; i < SH_ARCHER_FAULTS; i++) {
        config.fault_ratio[i] = 0.25;
    }
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    return plan;
}

static void check_same(const struct sh_truth *got, const struct sh_truth *expected)
{
    const struct sh_truth_field *field = NULL;
    assert_int_equal(got->n, expected->n);
    assert_int_equal(got->kind, expected->kind);
    assert_int_equal(got->faults, expected->faults);
    assert_true(got->has_clicker == expected->has_clicker);
    assert_true(got->has_setup == expected->has_setup);
    assert_true(got->has_clock == expected->has_clock);
    assert_true(got->has_finger_slide == expected->has_finger_slide);
    for (size_t i = 0; (field = sh_truth_field_get(i)) != NULL; i++) {
        double a[SH_TRUTH_FIELD_FIGURES_MAX] = {0.0};
        double b[SH_TRUTH_FIELD_FIGURES_MAX] = {0.0};
        sh_truth_field_copy_out(field, got, a);
        sh_truth_field_copy_out(field, expected, b);
        assert_memory_equal(a, b, sizeof a);
    }
}

/* A whole session with all faults comes back to the last bit. */
static void test_return(void **state)
{
    char path[256];
    struct sh_session_plan *plan = open_plan();
    const struct sh_truth_set set = {UINT64_MAX, plan->duration_s, plan->n_draws, plan->truth};
    struct sh_truth_set *got = NULL;
    unsigned seen = 0;
    join(path, *state);
    assert_int_equal(sh_truth_json_write(path, &set, NULL), SH_OK);
    assert_int_equal(sh_truth_json_read(path, &got, NULL), SH_OK);
    assert_true(got->seed == UINT64_MAX);
    assert_near(got->duration_s, plan->duration_s, 0.0, 0.0);
    assert_int_equal(got->n_truths, plan->n_draws);
    for (size_t i = 0; i < plan->n_draws; i++) {
        check_same(&got->truth[i], &plan->truth[i]);
        seen |= plan->truth[i].faults;
    }
    assert_true((seen & (unsigned)SH_ARCHER_LET_DOWN) != 0);
    assert_true((seen & (unsigned)SH_ARCHER_FLINCH) != 0);
    assert_true((seen & (unsigned)SH_ARCHER_FINGER_SLIDE) != 0);
    sh_truth_json_close(&got);
    assert_null(got);
    sh_truth_json_close(&got);
    sh_session_plan_close(&plan);
}

/* The contract's keys, null where a let-down has none. */
static void test_keys(void **state)
{
    char path[256];
    struct sh_truth truth = {
        .n = 1, .kind = SH_TRUTH_LET_DOWN, .faults = SH_ARCHER_LET_DOWN, .let_down_s = 9.5};
    const struct sh_truth_set set = {3, 20.0, 1, &truth};
    join(path, *state);
    assert_int_equal(sh_truth_json_write(path, &set, NULL), SH_OK);
    json_t *root = json_load_file(path, 0, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "format")), "stringhand-truth");
    json_t *draw = json_array_get(json_object_get(root, "draws"), 0);
    json_t *events = json_object_get(draw, "events");
    json_t *measures = json_object_get(draw, "measures");
    assert_string_equal(json_string_value(json_object_get(draw, "kind")), "let-down");
    assert_string_equal(json_string_value(json_array_get(json_object_get(draw, "faults"), 0)),
                        "let-down");
    assert_near(json_real_value(json_object_get(events, "let_down_s")), 9.5, 0.0, 0.0);
    assert_true(json_is_null(json_object_get(events, "release_s")));
    assert_true(json_is_null(json_object_get(events, "clicker_s")));
    assert_true(json_is_null(json_object_get(measures, "hold_time_s")));
    assert_true(json_is_null(json_object_get(measures, "finger_share")));
    json_decref(root);
}

static void test_not_finite(void **state)
{
    char path[256];
    struct sh_truth truth = {.n = 1, .full_draw_s = (double)NAN};
    struct sh_truth_set set = {3, 20.0, 1, &truth};
    join(path, *state);
    assert_int_equal(sh_truth_json_write(path, &set, NULL), SH_ERR_NOT_FINITE);
    truth.full_draw_s = 1.0;
    set.duration_s = (double)INFINITY;
    assert_int_equal(sh_truth_json_write(path, &set, NULL), SH_ERR_NOT_FINITE);
    assert_int_equal(access(path, F_OK), -1);
    assert_int_equal(
        sh_truth_json_write("/nowhere/truth.json", &(struct sh_truth_set){0}, NULL),
        SH_ERR_NOT_FOUND);
}

/* Reads text and tells the message's place; *state's folder holds it. */
static enum sh_status read_text(const char *folder, const char *text, struct sh_error *err)
{
    char path[256];
    struct sh_truth_set *set = NULL;
    join(path, folder);
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    const enum sh_status status = sh_truth_json_read(path, &set, err);
    assert_true((set != NULL) == (status == SH_OK));
    sh_truth_json_close(&set);
    return status;
}

/* What is missing or of another type is refused by its name. */
static void test_refusals(void **state)
{
    static const char head[] = "{\"format\": \"stringhand-truth\", \"version\": 1, ";
    static const struct {
        const char *rest;
        const char *where; /* end of the place named */
    } bad[] = {
        {"\"seed\": 1, \"duration_s\": 2.0, \"draws\": []}", "seed"},
        {"\"seed\": \"-1\", \"duration_s\": 2.0, \"draws\": []}", "seed"},
        {"\"seed\": \"99999999999999999999\", \"duration_s\": 2.0, \"draws\": []}", "seed"},
        {"\"seed\": \"1\", \"draws\": []}", "duration_s"},
        {"\"seed\": \"1\", \"duration_s\": 2.0}", "draws"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1}]}", "draws[0].kind"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1, \"kind\": \"x\"}]}",
         "draws[0].kind"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1, \"kind\": \"shot\", "
         "\"faults\": [\"y\"]}]}",
         "draws[0].faults"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1, \"kind\": \"shot\", "
         "\"faults\": []}]}",
         "draws[0].put_in"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1, \"kind\": \"shot\", "
         "\"faults\": [], \"put_in\": {\"expansion_m\": 0, \"creep_m\": 0, \"flinch_m\": 0, "
         "\"collapse_m\": 0}, \"events\": {\"draw_start_s\": 1, \"full_draw_s\": null}}]}",
         "draws[0].events.full_draw_s"},
        {"\"seed\": \"1\", \"duration_s\": 2.0, \"draws\": [{\"n\": 1, \"kind\": \"shot\", "
         "\"faults\": [], \"put_in\": {\"expansion_m\": 0, \"creep_m\": 0, \"flinch_m\": 0, "
         "\"collapse_m\": 0}, \"events\": {\"draw_start_s\": 1, \"full_draw_s\": 2, "
         "\"clicker_s\": \"soon\"}}]}",
         "draws[0].events.clicker_s"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char text[1024];
        struct sh_error err = {0};
        (void)snprintf(text, sizeof text, "%s%s", head, bad[i].rest);
        assert_int_equal(read_text(*state, text, &err), SH_ERR_FORMAT);
        const size_t n_where = strlen(err.where);
        const size_t n_end = strlen(bad[i].where);
        assert_true(n_where > n_end);
        assert_string_equal(err.where + n_where - n_end, bad[i].where);
    }
    struct sh_error err = {0};
    assert_int_equal(read_text(*state, "{\"format\": \"other\", \"version\": 1}", NULL),
                     SH_ERR_FORMAT);
    assert_int_equal(
        read_text(*state, "{\"format\": \"stringhand-truth\", \"version\": 2}", NULL),
        SH_ERR_FORMAT);
    assert_int_equal(read_text(*state, "{\"format\":\n x", &err), SH_ERR_FORMAT);
    assert_non_null(strstr(err.what, "line 2"));
    assert_int_equal(read_text(*state, "[]", NULL), SH_ERR_FORMAT);
    struct sh_truth_set *set = NULL;
    assert_int_equal(sh_truth_json_read("/nowhere/truth.json", &set, NULL), SH_ERR_NOT_FOUND);
    assert_null(set);
}

/* An empty session is one, and what is not known is passed over. */
static void test_unknown_keys(void **state)
{
    assert_int_equal(
        read_text(*state,
                  "{\"format\": \"stringhand-truth\", \"version\": 1, \"seed\": \"0\", "
                  "\"duration_s\": 1, \"draws\": [], \"weather\": \"rain\"}",
                  NULL),
        SH_OK);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_FOLDER(test_return),   IN_FOLDER(test_keys),         IN_FOLDER(test_not_finite),
        IN_FOLDER(test_refusals), IN_FOLDER(test_unknown_keys),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
