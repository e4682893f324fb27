/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/click_learner.h"

#include <math.h>

#include "app/passes.h"
#include "app/recorded.h"
#include "recording/scratch.h"
#include "sim/channel_set.h"
#include "support/cmocka_all.h"

#define DRAWS 9u

static void test_nothing_to_learn_from(void **state)
{
    struct sh_session session = {.n_streams = 1};
    struct sh_click_learner learner;
    const struct sh_shot_view view = {.n_streams = 0};
    const struct sh_shot shot = {.n = 1};
    session.streams[0].stream = (struct sh_stream){.rate_hz = 1000.0, .n_channels = 1};
    session.streams[0].stream.channel[0].role = SH_ROLE_STRING_FORCE;
    assert_int_equal(sh_click_learner_open(&learner, &session, NULL), SH_OK);
    sh_click_learner_learn(&learner, &view, &shot);
    assert_null(sh_click_learner_finish(&learner));
    sh_click_learner_close(&learner);
    session.streams[0].stream.channel[0].role = SH_ROLE_BOW_ACCELERATION;
    assert_int_equal(sh_click_learner_open(&learner, &session, NULL), SH_OK);
    sh_click_learner_learn(&learner, &view, &shot);
    assert_null(sh_click_learner_finish(&learner));
    sh_click_learner_close(&learner);
    sh_click_learner_close(&learner);
}

static void run(const char *folder, bool is_first_only, struct sh_analysis *out)
{
    const struct sh_thresholds thresholds = sh_thresholds_default();
    const struct sh_passes_config config = {.thresholds = &thresholds,
                                            .is_first_only = is_first_only};
    struct sh_error err = {0};
    if (sh_passes_run(folder, &config, out, &err) != SH_OK) {
        fail_msg("%s", err.what);
    }
}

/* Distance of a clicker from the blow it is of; infinite where none is near. */
static double get_error_s(const struct sh_simulation *simulation, double clicker_s)
{
    double nearest_s = (double)INFINITY;
    for (size_t i = 0; i < simulation->plan->n_draws; i++) {
        const struct sh_truth *truth = &simulation->plan->truth[i];
        nearest_s = fmin(nearest_s, fabs(clicker_s - truth->clicker_blow_s));
    }
    return nearest_s;
}

/* Both passes over one evening: all clickers stay, what moves is said, and they come nearer. */
static void test_the_second_pass_knows_the_click(void **state)
{
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_simulation simulation;
    struct sh_analysis first = {0};
    struct sh_analysis second = {0};
    double square_s2[2] = {0.0, 0.0};
    config.seed = 21;
    config.set = "bow";
    config.n_draws = DRAWS;
    scratch_open(&scratch);
    scratch_path(&scratch, "evening", folder);
    recorded_write(&config, folder);
    assert_int_equal(sh_simulation_open(&config, &simulation, NULL), SH_OK);
    run(folder, true, &first);
    run(folder, false, &second);
    assert_int_equal(first.n_shots, DRAWS);
    assert_int_equal(second.n_shots, DRAWS);
    for (size_t i = 0; i < DRAWS; i++) {
        const struct sh_quantity *before = &first.shots[i].shot.event_s[SH_EVENT_CLICKER];
        const struct sh_quantity *after = &second.shots[i].shot.event_s[SH_EVENT_CLICKER];
        assert_true(sh_quantity_is_known(before) && sh_quantity_is_known(after));
        assert_true(second.shots[i].is_event_changed[SH_EVENT_CLICKER]);
        square_s2[0] += pow(get_error_s(&simulation, before->value), 2.0);
        square_s2[1] += pow(get_error_s(&simulation, after->value), 2.0);
    }
    print_message("clicker %.3g s rms in the first pass, %.3g s in the second\n",
                  sqrt(square_s2[0] / DRAWS), sqrt(square_s2[1] / DRAWS));
    assert_true(square_s2[1] < square_s2[0]);
    sh_analysis_close(&first);
    sh_analysis_close(&second);
    sh_simulation_close(&simulation);
    scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_to_learn_from),
        cmocka_unit_test(test_the_second_pass_knows_the_click),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
