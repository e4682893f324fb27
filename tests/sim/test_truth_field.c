/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/truth_field.h"

#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

static const struct sh_truth_field *find_field(const char *key)
{
    const struct sh_truth_field *field = NULL;
    for (size_t i = 0; (field = sh_truth_field_get(i)) != NULL; i++) {
        if (strcmp(field->key, key) == 0) {
            return field;
        }
    }
    return NULL;
}

/* No key twice, no two fields over the same doubles. */
static void test_distinct(void **state)
{
    const struct sh_truth_field *a = NULL;
    for (size_t i = 0; (a = sh_truth_field_get(i)) != NULL; i++) {
        assert_true(a->n_figures == 1 || a->n_figures == SH_TRUTH_FIELD_FIGURES_MAX);
        assert_true(a->offset + a->n_figures * sizeof(double) <= sizeof(struct sh_truth));
        for (size_t j = 0; j < i; j++) {
            const struct sh_truth_field *b = sh_truth_field_get(j);
            assert_string_not_equal(a->key, b->key);
            assert_true(a->offset >= b->offset + b->n_figures * sizeof(double) ||
                        b->offset >= a->offset + a->n_figures * sizeof(double));
        }
    }
    assert_string_equal(sh_truth_field_group_name(SH_TRUTH_GROUP_EVENTS), "events");
}

/* What is copied in comes out again, where its name says. */
static void test_copy(void **state)
{
    struct sh_truth truth = {0};
    const double one[3] = {2.5, 0.0, 0.0};
    const double three[3] = {0.4, 0.4, 0.2};
    double got[3] = {0.0};
    sh_truth_field_copy_in(find_field("release_s"), one, &truth);
    assert_near(truth.release_s, 2.5, 0.0, 0.0);
    sh_truth_field_copy_in(find_field("finger_share"), three, &truth);
    assert_near(truth.finger_share[2], 0.2, 0.0, 0.0);
    sh_truth_field_copy_out(find_field("finger_share"), &truth, got);
    assert_memory_equal(got, three, sizeof three);
    truth.clicker_contact_s = 7.0;
    sh_truth_field_copy_out(find_field("clicker_s"), &truth, got);
    assert_near(got[0], 7.0, 0.0, 0.0);
}

static void check_applies(const char *key, const struct sh_truth *truth, bool expected)
{
    assert_true(sh_truth_field_applies(find_field(key), truth) == expected);
}

/* Each condition, met and not met. */
static void test_applies(void **state)
{
    struct sh_truth truth = {.kind = SH_TRUTH_SHOT};
    check_applies("draw_start_s", &truth, true);
    check_applies("release_s", &truth, true);
    check_applies("let_down_s", &truth, false);
    check_applies("clicker_s", &truth, false);
    check_applies("setup_time_s", &truth, false);
    check_applies("time_left_draw_s", &truth, false);
    check_applies("time_left_release_s", &truth, false);
    check_applies("flinch_s", &truth, false);
    check_applies("finger_slide_s", &truth, false);
    truth.has_clicker = truth.has_setup = truth.has_clock = truth.has_finger_slide = true;
    truth.flinch_m = 0.005;
    check_applies("clicker_s", &truth, true);
    check_applies("setup_time_s", &truth, true);
    check_applies("time_left_draw_s", &truth, true);
    check_applies("time_left_release_s", &truth, true);
    check_applies("flinch_s", &truth, true);
    check_applies("finger_slide_s", &truth, true);
    truth.kind = SH_TRUTH_LET_DOWN;
    check_applies("release_s", &truth, false);
    check_applies("let_down_s", &truth, true);
    check_applies("time_left_release_s", &truth, false);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_distinct),
        cmocka_unit_test(test_copy),
        cmocka_unit_test(test_applies),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
