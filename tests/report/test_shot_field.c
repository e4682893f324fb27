/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_field.h"

#include <math.h>
#include <string.h>

#include "report/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define FIELDS_MAX 256

/* What came out of a walk. */
struct seen {
    size_t n_fields;
    size_t stop_at; /* 0: never */
    char key[FIELDS_MAX][SH_CATALOG_KEY_BYTES];
    struct sh_shot_field field[FIELDS_MAX];
};

static enum sh_status take(void *context, const struct sh_shot_field *field)
{
    struct seen *seen = context;
    assert_true(seen->n_fields < FIELDS_MAX);
    (void)strcpy(seen->key[seen->n_fields], field->key);
    seen->field[seen->n_fields] = *field;
    seen->n_fields++;
    return seen->n_fields == seen->stop_at ? SH_ERR_FULL : SH_OK;
}

static const struct sh_shot_field *find(const struct seen *seen, const char *key)
{
    for (size_t i = 0; i < seen->n_fields; i++) {
        if (strcmp(seen->key[i], key) == 0) {
            return &seen->field[i];
        }
    }
    fail_msg("no field %s", key);
    return NULL;
}

static void walk(const struct sh_shot_record *record, struct seen *seen)
{
    memset(seen, 0, sizeof *seen);
    struct sh_shot_field_sink sink = {take, seen};
    assert_int_equal(sh_shot_field_each(record, &sink), SH_OK);
}

static struct seen seen;

static void test_each_field_once_in_one_order(void **state)
{
    static const struct sh_shot_record nothing;
    static struct seen other;
    struct sh_analysis analysis;
    made_analysis(&analysis);
    walk(&nothing, &seen);
    walk(&analysis.shots[0], &other);
    /* four a quantity, the clicker's two, the answer of the vibration */
    assert_int_equal(seen.n_fields, 4 * SH_EVENT_COUNT + 2 + 4 * SH_MEASURE_COUNT + 1);
    assert_int_equal(other.n_fields, seen.n_fields);
    for (size_t i = 0; i < seen.n_fields; i++) {
        assert_string_equal(seen.key[i], other.key[i]);
        assert_false(sh_shot_field_is_known(&seen.field[i]));
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(seen.key[i], seen.key[k]);
        }
    }
    assert_string_equal(seen.key[0], "draw_start_s");
    assert_string_equal(seen.key[1], "draw_start_u_s");
    sh_analysis_close(&analysis);
}

static void test_values(void **state)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    walk(&analysis.shots[0], &seen);
    assert_near(find(&seen, "release_s")->number[0], 25.009, 0, 0);
    assert_near(find(&seen, "release_u_s")->number[0], 0.0005, 0, 0);
    assert_false(find(&seen, "release_lo_s")->is_known[0]);
    assert_near(find(&seen, "end_lo_s")->number[0], 25.55, 0, 0);
    assert_near(find(&seen, "end_hi_s")->number[0], 25.75, 0, 0);
    assert_false(find(&seen, "let_down_s")->is_known[0]);
    assert_string_equal(find(&seen, "clicker_sensor")->text, "acceleration");
    assert_near(find(&seen, "clicker_probability")->number[0], 0.998, 0, 0);
    assert_near(find(&seen, "creep_m")->number[0], 0.0052, 0, 0);
    const struct sh_shot_field *share = find(&seen, "finger_share");
    assert_int_equal(share->group, SH_SHOT_FIELD_MEASURES);
    assert_int_equal(share->n_parts, 3);
    assert_true(sh_shot_field_is_known(share));
    assert_false(share->is_known[1]);
    assert_near(share->number[2], 0.19, 0, 0);
    assert_true(find(&seen, "vibration_clipped")->answer);
    assert_int_equal(find(&seen, "tremor_band_n")->n_parts, 4);
    sh_analysis_close(&analysis);
}

static void test_no_sensor_no_probability(void **state)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    walk(&analysis.shots[1], &seen);
    assert_false(find(&seen, "clicker_sensor")->is_known[0]);
    assert_false(find(&seen, "clicker_probability")->is_known[0]);
    assert_false(find(&seen, "vibration_clipped")->is_known[0]);
    sh_analysis_close(&analysis);
}

static void test_what_is_not_finite_is_unknown(void **state)
{
    static struct sh_shot_record record;
    record.shot.event_s[SH_EVENT_RELEASE] = sh_quantity_known((double)NAN, (double)INFINITY);
    walk(&record, &seen);
    assert_false(find(&seen, "release_s")->is_known[0]);
    assert_false(find(&seen, "release_u_s")->is_known[0]);
}

static void test_the_sink_ends_the_walk(void **state)
{
    static const struct sh_shot_record nothing;
    struct sh_shot_field_sink sink = {take, &seen};
    walk(&nothing, &seen);
    size_t n_all = seen.n_fields;
    for (size_t stop_at = 1; stop_at <= n_all; stop_at++) {
        memset(&seen, 0, sizeof seen);
        seen.stop_at = stop_at;
        assert_int_equal(sh_shot_field_each(&nothing, &sink), SH_ERR_FULL);
        assert_int_equal(seen.n_fields, stop_at);
    }
}

static void test_changed(void **state)
{
    struct sh_analysis analysis;
    char key[SH_CATALOG_KEY_BYTES] = "untouched";
    made_analysis(&analysis);
    assert_true(sh_shot_field_get_changed(&analysis.shots[0], 0, key));
    assert_string_equal(key, "clicker_s");
    assert_true(sh_shot_field_get_changed(&analysis.shots[0], 1, key));
    assert_string_equal(key, "creep_n");
    assert_false(sh_shot_field_get_changed(&analysis.shots[0], 2, key));
    assert_string_equal(key, "creep_n");
    assert_true(sh_shot_field_get_changed(&analysis.shots[1], 0, key));
    assert_string_equal(key, "kind");
    assert_false(sh_shot_field_get_changed(&analysis.shots[2], 0, key));
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_each_field_once_in_one_order),
        cmocka_unit_test(test_values),
        cmocka_unit_test(test_no_sensor_no_probability),
        cmocka_unit_test(test_what_is_not_finite_is_unknown),
        cmocka_unit_test(test_the_sink_ends_the_walk),
        cmocka_unit_test(test_changed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
