/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Whole simulated sessions, sampled by sensors with their clocks, against what truly happened.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "shot/segmenter.h"
#include "sim/channel_set.h"
#include "sim/sampler.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SHOTS_MAX 64u

struct heard {
    struct sh_segmenter *segmenter;
    struct sh_click_template *learns; /* or NULL */
    double *work;
    bool wants_anchors; /* and wants_blocks: what is passed on to the segmenter */
    bool wants_blocks;
    size_t n_shots;
    struct sh_shot shot[SHOTS_MAX];
};

static enum sh_status keep_shot(void *context,
                                const struct sh_shot *shot,
                                const struct sh_shot_view *view,
                                struct sh_error *err)
{
    struct heard *heard = context;
    assert_true(heard->n_shots < SHOTS_MAX);
    heard->shot[heard->n_shots++] = *shot;
    if (heard->learns != NULL) {
        sh_click_template_learn(heard->learns, view, shot, heard->work);
    }
    return SH_OK;
}

static enum sh_status
pass_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    const struct heard *heard = context;
    return heard->wants_blocks ? sh_segmenter_push_block(heard->segmenter, block, err) : SH_OK;
}

static enum sh_status
pass_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    const struct heard *heard = context;
    return heard->wants_anchors
               ? sh_segmenter_push_anchor(heard->segmenter, stream, anchor, err)
               : SH_OK;
}

/* Sends the whole session once. */
static void send(const struct sh_session_plan *plan,
                 const struct sh_stream_source_config *stream,
                 size_t n_streams,
                 struct heard *heard)
{
    const struct sh_sampler_config sampling = {
        .plan = plan, .seed = 3, .stream = stream, .n_streams = n_streams, .block_frames = 64};
    const struct sh_block_sink sink = {pass_block, pass_anchor, heard};
    struct sh_sampler *sampler = NULL;
    assert_int_equal(sh_sampler_open(&sampling, &sink, &sampler, NULL), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, 1e9, NULL), SH_OK);
    sh_sampler_close(&sampler);
}

/* Runs a plan through the sensors of a set and the segmenter; a second pass where a template
 * is given. learns: filled from the shots, or NULL. */
static void run_pass(const struct sh_session_plan *plan,
                     const char *set,
                     const struct sh_click_template *click,
                     struct sh_click_template *learns,
                     struct heard *heard)
{
    struct sh_stream_source_config stream[SH_CHANNEL_SET_STREAMS_MAX];
    size_t n_streams = 0;
    assert_int_equal(sh_channel_set_find(set, stream, &n_streams, NULL), SH_OK);
    struct sh_segmenter_config config = sh_segmenter_config_default();
    config.n_streams = n_streams;
    size_t n_work = 0;
    for (size_t s = 0; s < n_streams; s++) {
        config.stream[s] = &stream[s].stream;
        n_work = (size_t)fmax((double)n_work, 2.0 * 61.0 * stream[s].stream.rate_hz);
    }
    config.bow.draw_weight_n = sh_quantity_known(plan->config.bow.full_force_n, 1.0);
    config.bow.clicker = plan->config.has_clicker ? SH_ANSWER_YES : SH_ANSWER_NO;
    config.reading = click != NULL ? SH_TIMEBASE_BETWEEN : SH_TIMEBASE_FORWARD;
    config.click = click;
    const struct sh_shot_sink shots = {keep_shot, heard};
    *heard = (struct heard){.learns = learns, .work = calloc(n_work, sizeof(double))};
    assert_non_null(heard->work);
    assert_int_equal(sh_segmenter_open(&config, &shots, &heard->segmenter, NULL), SH_OK);
    heard->wants_anchors = true;
    heard->wants_blocks = click == NULL;
    send(plan, stream, n_streams, heard);
    if (click != NULL) {
        heard->wants_anchors = false;
        heard->wants_blocks = true;
        send(plan, stream, n_streams, heard);
    }
    assert_int_equal(sh_segmenter_flush(heard->segmenter, NULL), SH_OK);
    sh_segmenter_close(&heard->segmenter);
    free(heard->work);
}

static void run(const struct sh_session_plan *plan, const char *set, struct heard *heard)
{
    run_pass(plan, set, NULL, NULL, heard);
}

static struct sh_session_plan *open_plan(uint64_t seed, size_t n_draws, double fault_ratio)
{
    struct sh_session_plan_config config = sh_session_plan_config_default();
    config.seed = seed;
    config.n_draws = n_draws;
    for (size_t i = 0; i < sizeof config.fault_ratio / sizeof config.fault_ratio[0]; i++) {
        config.fault_ratio[i] = fault_ratio;
    }
    struct sh_session_plan *plan = NULL;
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    return plan;
}

/* Errors of one event over a session, in seconds and in stated uncertainties. */
struct errors {
    unsigned n;
    double largest_s;
    double square_s2;
    double square_u;
};

static void add_error(struct errors *errors, const struct sh_quantity *time_s, double truth_s)
{
    const double off_s = time_s->value - truth_s;
    errors->n++;
    errors->largest_s = fmax(errors->largest_s, fabs(off_s));
    errors->square_s2 += off_s * off_s;
    errors->square_u += off_s * off_s / (time_s->u * time_s->u);
}

static void check_errors(const char *what, const struct errors *errors, double allowed_s)
{
    if (errors->n == 0) {
        return;
    }
    const double n = errors->n;
    const double rms_s = sqrt(errors->square_s2 / n);
    print_message("  %-12s %3u: %.5f s rms, %.5f s at most, %.2f u\n", what, errors->n, rms_s,
                  errors->largest_s, sqrt(errors->square_u / n));
    assert_true(rms_s <= allowed_s);
    assert_true(sqrt(errors->square_u / n) < 1.6);
}

struct session_errors {
    struct errors draw_start;
    struct errors full_draw;
    struct errors clicker;
    struct errors release;
    struct errors let_down;
    unsigned n_missed; /* clickers that fell and were not seen */
    unsigned n_invented;
};

static void compare(const struct sh_shot *shot,
                    const struct sh_truth *truth,
                    double clicker_s,
                    struct session_errors *errors)
{
    const bool is_let_down = truth->kind == SH_TRUTH_LET_DOWN;
    assert_int_equal(shot->n, truth->n);
    assert_int_equal(shot->kind, is_let_down ? SH_SHOT_LET_DOWN : SH_SHOT_SHOT);
    assert_true(sh_quantity_is_known(&shot->event_s[SH_EVENT_DRAW_START]));
    assert_true(sh_quantity_is_known(&shot->event_s[SH_EVENT_FULL_DRAW]));
    assert_true(sh_quantity_is_known(&shot->event_s[SH_EVENT_END]));
    add_error(&errors->draw_start, &shot->event_s[SH_EVENT_DRAW_START], truth->draw_start_s);
    add_error(&errors->full_draw, &shot->event_s[SH_EVENT_FULL_DRAW], truth->full_draw_s);
    if (is_let_down) {
        add_error(&errors->let_down, &shot->event_s[SH_EVENT_LET_DOWN], truth->let_down_s);
    } else {
        add_error(&errors->release, &shot->event_s[SH_EVENT_RELEASE], truth->release_s);
    }
    const struct sh_quantity *found_s = &shot->event_s[SH_EVENT_CLICKER];
    const bool is_found = sh_quantity_is_known(found_s);
    if (is_found && truth->has_clicker) {
        add_error(&errors->clicker, found_s, clicker_s);
    }
    errors->n_missed += truth->has_clicker && !is_found ? 1 : 0;
    errors->n_invented += !truth->has_clicker && is_found ? 1 : 0;
}

static void check_set(const struct sh_session_plan *plan,
                      const char *set,
                      enum sh_clicker_sensor sensor,
                      double release_s)
{
    static struct heard heard;
    struct session_errors errors = {.n_missed = 0};
    run(plan, set, &heard);
    print_message("%s: %zu of %zu draws\n", set, heard.n_shots, plan->n_draws);
    assert_int_equal(heard.n_shots, plan->n_draws);
    for (size_t k = 0; k < plan->n_draws; k++) {
        const struct sh_truth *truth = &plan->truth[k];
        const double clicker_s = sensor == SH_CLICKER_CONTACT        ? truth->clicker_contact_s
                                 : sensor == SH_CLICKER_ACCELERATION ? truth->clicker_blow_s
                                                                     : truth->clicker_sound_s;
        compare(&heard.shot[k], truth, clicker_s, &errors);
    }
    check_errors("draw start", &errors.draw_start, 0.02);
    check_errors("full draw", &errors.full_draw, 0.02);
    check_errors("clicker", &errors.clicker, 0.0015);
    check_errors("release", &errors.release, release_s);
    check_errors("let-down", &errors.let_down, 0.01);
    if (sensor != SH_CLICKER_NONE) {
        print_message("  clicker missed %u, invented %u\n", errors.n_missed, errors.n_invented);
        assert_true(10 * errors.n_missed <= plan->n_draws);
        assert_int_equal(errors.n_invented, 0);
    }
}

static void test_clean_session(void **state)
{
    struct sh_session_plan *plan = open_plan(21, 12, 0.0);
    check_set(plan, "force80", SH_CLICKER_NONE, 0.004);
    check_set(plan, "force1000", SH_CLICKER_NONE, 0.0006);
    check_set(plan, "force_bow", SH_CLICKER_ACCELERATION, 0.0006);
    check_set(plan, "contact", SH_CLICKER_CONTACT, 0.0006);
    check_set(plan, "sound", SH_CLICKER_SOUND, 0.0006);
    sh_session_plan_close(&plan);
}

static void test_session_with_faults(void **state)
{
    struct sh_session_plan *plan = open_plan(22, 24, 0.15);
    check_set(plan, "force_bow", SH_CLICKER_ACCELERATION, 0.0006);
    check_set(plan, "contact", SH_CLICKER_CONTACT, 0.0006);
    check_set(plan, "fingers_bow", SH_CLICKER_ACCELERATION, 0.006);
    sh_session_plan_close(&plan);
}

/* Without a force: every release is found by its shock, and nothing else is. */
static void test_acceleration_alone(void **state)
{
    static struct heard heard;
    struct sh_session_plan *plan = open_plan(23, 36, 0.1);
    struct errors release = {.n = 0};
    struct errors clicker = {.n = 0};
    size_t next = 0;
    run(plan, "bow", &heard);
    for (size_t k = 0; k < plan->n_draws; k++) {
        const struct sh_truth *truth = &plan->truth[k];
        if (truth->kind == SH_TRUTH_LET_DOWN) {
            continue;
        }
        assert_true(next < heard.n_shots);
        const struct sh_shot *shot = &heard.shot[next++];
        assert_int_equal(shot->n, next);
        assert_int_equal(shot->kind, SH_SHOT_SHOT);
        assert_int_equal(shot->event_s[SH_EVENT_FULL_DRAW].why, SH_WHY_NO_CHANNEL);
        assert_int_equal(shot->rest_n.why, SH_WHY_NO_CHANNEL);
        assert_true(sh_quantity_is_known(&shot->event_s[SH_EVENT_END]));
        add_error(&release, &shot->event_s[SH_EVENT_RELEASE], truth->release_s);
        const struct sh_quantity *clicker_s = &shot->event_s[SH_EVENT_CLICKER];
        assert_true(truth->has_clicker || !sh_quantity_is_known(clicker_s));
        if (sh_quantity_is_known(clicker_s)) {
            add_error(&clicker, clicker_s, truth->clicker_blow_s);
        }
    }
    print_message("bow: %zu shots of %zu\n", heard.n_shots, next);
    assert_int_equal(heard.n_shots, next);
    check_errors("release", &release, 0.001);
    check_errors("clicker", &clicker, 0.001);
    sh_session_plan_close(&plan);
}

/* The second pass: clickers sharper, and early looses with the strip still standing told. */
static void test_second_pass(void **state)
{
    static struct heard heard;
    struct sh_session_plan_config config = sh_session_plan_config_default();
    struct sh_session_plan *plan = NULL;
    struct sh_click_template *click = NULL;
    struct errors first = {.n = 0};
    struct errors second = {.n = 0};
    unsigned n_early = 0;
    unsigned n_told = 0;
    config.seed = 24;
    config.n_draws = 48;
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        config.fault_ratio[i] = 1u << i == (unsigned)SH_ARCHER_EARLY_LOOSE ? 0.5 : 0.0;
    }
    assert_int_equal(sh_session_plan_open(&config, &plan, NULL), SH_OK);
    assert_int_equal(sh_click_template_open(&click, NULL), SH_OK);
    run_pass(plan, "force_bow", NULL, click, &heard);
    assert_int_equal(heard.n_shots, plan->n_draws);
    for (size_t k = 0; k < plan->n_draws; k++) {
        const struct sh_quantity *clicker_s = &heard.shot[k].event_s[SH_EVENT_CLICKER];
        assert_int_equal(sh_quantity_is_known(clicker_s), plan->truth[k].has_clicker);
        if (plan->truth[k].has_clicker) {
            add_error(&first, clicker_s, plan->truth[k].clicker_blow_s);
        }
    }
    sh_click_template_finish(click);
    print_message("template of %zu blows\n", sh_click_template_get_count(click));
    run_pass(plan, "force_bow", click, NULL, &heard);
    assert_int_equal(heard.n_shots, plan->n_draws);
    for (size_t k = 0; k < plan->n_draws; k++) {
        const struct sh_shot *shot = &heard.shot[k];
        const struct sh_quantity *clicker_s = &shot->event_s[SH_EVENT_CLICKER];
        assert_int_equal(sh_quantity_is_known(clicker_s), plan->truth[k].has_clicker);
        n_early += plan->truth[k].has_clicker ? 0 : 1;
        n_told += shot->strip == SH_STRIP_NO_BLOW ? 1 : 0;
        if (plan->truth[k].has_clicker) {
            assert_int_equal(shot->strip, SH_STRIP_FELL);
            add_error(&second, clicker_s, plan->truth[k].clicker_blow_s);
        }
    }
    print_message("%u early looses, %u told\n", n_early, n_told);
    check_errors("first pass", &first, 0.001);
    check_errors("second pass", &second, 0.0005);
    assert_true(second.square_s2 < first.square_s2);
    assert_true(n_early >= 10);
    assert_true(n_told * 10 >= n_early * 9);
    sh_click_template_close(&click);
    sh_session_plan_close(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clean_session),
        cmocka_unit_test(test_session_with_faults),
        cmocka_unit_test(test_acceleration_alone),
        cmocka_unit_test(test_second_pass),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
