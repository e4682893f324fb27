/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/shock.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N         12800u
#define RELEASE_S 2.0 /* of 4 s at 3200 Hz */
#define SHOCK_S   2.015

/* Two axes of a bow that is held still. */
struct fixture {
    double time_s[N];
    double value[2][N];
    unsigned char flags[N];
    double work[2 * N];
    struct sh_stream described;
    struct sh_shot_stream stream;
    struct sh_shock_config config;
};

static void fill(struct fixture *f, uint64_t seed, double rate_hz)
{
    struct sh_random random;
    sh_random_init(&random, seed);
    memset(f, 0, sizeof *f);
    f->described = (struct sh_stream){.rate_hz = rate_hz, .n_channels = 2};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = (double)i / rate_hz;
        f->value[0][i] = 9.81 + 0.3 * sh_random_get_normal(&random);
        f->value[1][i] = 0.3 * sh_random_get_normal(&random);
    }
    f->stream = (struct sh_shot_stream){.stream = &f->described,
                                        .n_frames = N,
                                        .time_s = f->time_s,
                                        .value = {f->value[0], f->value[1]},
                                        .flags = f->flags};
    f->config = (struct sh_shock_config){.stream = &f->stream,
                                         .n_channels = 2,
                                         .channel = {0, 1},
                                         .from_s = 1.8,
                                         .until_s = 2.5};
}

/* A mode that is struck: amplitude, frequency, seconds to 1 / e. */
static void
strike(struct fixture *f, double time_s, double amplitude, double hz, double decay_s)
{
    for (size_t i = 0; i < N; i++) {
        const double after_s = f->time_s[i] - time_s;
        if (after_s > 0.0) {
            const double shape = amplitude * exp(-after_s / decay_s);
            f->value[0][i] += shape * sin(2.0 * SH_PI * hz * after_s);
            f->value[1][i] += 0.6 * shape * cos(2.0 * SH_PI * hz * after_s);
        }
    }
}

static void shoot(struct fixture *f)
{
    strike(f, RELEASE_S, 8.0, 280.0, 0.006); /* the string slips off */
    strike(f, SHOCK_S, 250.0, 600.0, 0.004); /* the shock */
    strike(f, SHOCK_S, 60.0, 40.0, 0.15);    /* the bow rings */
}

static enum sh_shock_answer judge(struct fixture *f, struct sh_shock_found *found)
{
    return sh_shock_judge(&f->config, f->work, found);
}

/* Runs the watch over all samples; the frames of its triggers. */
static size_t watch(const struct fixture *f, uint64_t *trigger, size_t n_max)
{
    struct sh_shock shock;
    size_t n = 0;
    sh_shock_init(&shock, f->described.rate_hz, f->config.channel, 2, 0);
    for (size_t i = 0; i < N; i++) {
        const double value[2] = {f->value[0][i], f->value[1][i]};
        if (sh_shock_push(&shock, value)) {
            assert_true(n < n_max);
            trigger[n++] = shock.trigger_frame;
        }
    }
    return n;
}

/* Shots at any rate: found by the watch once, judged to be one, timed by the string's slip. */
static void test_shots(void **state)
{
    static const double rates_hz[] = {800.0, 1600.0, 3200.0};
    static struct fixture f;
    for (size_t r = 0; r < 3; r++) {
        double square = 0.0;
        for (uint64_t seed = 0; seed < 10; seed++) {
            uint64_t trigger[4];
            struct sh_shock_found found;
            fill(&f, seed, rates_hz[r]);
            shoot(&f);
            assert_int_equal(watch(&f, trigger, 4), 1);
            assert_near((double)trigger[0] / rates_hz[r], SHOCK_S, 0.003, 0.0);
            assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
            assert_false(found.release_s.has_interval);
            assert_near(found.release_s.value, RELEASE_S, 2.5 / rates_hz[r], 0.0);
            assert_true(found.peak_m_s2 > 120.0);
            assert_near(found.before_m_s2, 0.42, 0.0, 0.2);
            const double off = (found.release_s.value - RELEASE_S) / found.release_s.u;
            square += off * off / 10.0;
        }
        assert_true(square < 2.25);
    }
}

/* Where the slip does not show, or something else shakes just before (the clicker, right before
 * the release), the arrow's time on the string before the shock. */
static void test_slip_not_seen(void **state)
{
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 1, 3200.0);
    strike(&f, SHOCK_S, 250.0, 600.0, 0.004);
    strike(&f, SHOCK_S, 60.0, 40.0, 0.15);
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    assert_true(found.release_s.has_interval);
    assert_near(found.release_s.value, SHOCK_S - 0.015, 0.001, 0.0);
    assert_near(found.release_s.lo, SHOCK_S - 0.020, 0.001, 0.0);
    assert_near(found.release_s.hi, SHOCK_S - 0.010, 0.001, 0.0);
    fill(&f, 1, 3200.0);
    shoot(&f);
    strike(&f, RELEASE_S - 0.012, 20.0, 420.0, 0.02);
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    assert_true(found.release_s.has_interval);
    assert_near(found.release_s.value, SHOCK_S - 0.015, 0.001, 0.0);
}

/* A clicker, a hard knock that dies at once, soft ringing, a bow that is carried about. */
static void test_refusals(void **state)
{
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 2, 3200.0);
    strike(&f, RELEASE_S, 45.0, 420.0, 0.02);
    assert_int_equal(judge(&f, &found), SH_SHOCK_NONE);
    assert_int_equal(found.release_s.why, SH_WHY_NOT_SEEN);
    fill(&f, 2, 3200.0);
    strike(&f, RELEASE_S, 300.0, 500.0, 0.006);
    assert_int_equal(judge(&f, &found), SH_SHOCK_NONE);
    fill(&f, 2, 3200.0);
    strike(&f, RELEASE_S, 40.0, 40.0, 0.2);
    assert_int_equal(judge(&f, &found), SH_SHOCK_NONE);
    fill(&f, 2, 3200.0);
    for (size_t i = 0; i < N; i++) {
        f.value[0][i] += 12.0 * sin(2.0 * SH_PI * 50.0 * f.time_s[i]);
    }
    shoot(&f);
    assert_int_equal(judge(&f, &found), SH_SHOCK_NONE);
}

/* Against the session's usual ringing, just above and below the limit. */
static void test_usual_ringing(void **state)
{
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 3, 3200.0);
    shoot(&f);
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    f.config.usual_m_s2 = 0.99 * found.tail_m_s2 / SH_SHOCK_USUAL_RATIO;
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    f.config.usual_m_s2 = 1.01 * found.tail_m_s2 / SH_SHOCK_USUAL_RATIO;
    assert_int_equal(judge(&f, &found), SH_SHOCK_NONE);
}

/* Samples lost from one time to another: the last one before is repeated. */
static void lose(struct fixture *f, double from_s, double until_s)
{
    const size_t end = (size_t)(until_s * f->described.rate_hz);
    for (size_t i = (size_t)(from_s * f->described.rate_hz); i < end; i++) {
        f->flags[i] = SH_SHOT_FLAG_FILLED;
        f->value[0][i] = f->value[0][i - 1];
        f->value[1][i] = f->value[1][i - 1];
    }
}

/* Samples lost in the hold change nothing; lost around the release they widen the interval,
 * which holds the release all the same. */
static void test_losses(void **state)
{
    static const double span_s[][2] = {{RELEASE_S - 0.01, RELEASE_S + 0.003},
                                       {RELEASE_S + 0.003, RELEASE_S + 0.01},
                                       {RELEASE_S + 0.005, RELEASE_S + 0.02},
                                       {RELEASE_S - 0.01, RELEASE_S + 0.04}};
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 6, 3200.0);
    shoot(&f);
    lose(&f, RELEASE_S - 0.5, RELEASE_S - 0.45);
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    assert_false(found.release_s.has_interval);
    assert_near(found.release_s.value, RELEASE_S, 0.001, 0.0);
    for (size_t i = 0; i < sizeof span_s / sizeof span_s[0]; i++) {
        fill(&f, 7 + i, 3200.0);
        shoot(&f);
        lose(&f, span_s[i][0], span_s[i][1]);
        assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
        assert_true(found.release_s.has_interval);
        assert_true(found.release_s.lo <= RELEASE_S && found.release_s.hi >= RELEASE_S);
        assert_true(found.release_s.hi - found.release_s.lo < 0.1);
    }
}

/* Where the sensor reaches its range the slip looks as strong as the shock. */
static void test_clipped(void **state)
{
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 8, 3200.0);
    shoot(&f);
    strike(&f, RELEASE_S, 30.0, 280.0, 0.006);
    for (size_t i = 0; i < N; i++) {
        f.flags[i] = fabs(f.value[0][i]) >= 70.0 ? SH_SHOT_FLAG_CLIPPED : 0;
        f.value[0][i] = fmax(fmin(f.value[0][i], 70.0), -70.0);
        f.value[1][i] = fmax(fmin(f.value[1][i], 70.0), -70.0);
    }
    assert_int_equal(judge(&f, &found), SH_SHOCK_FOUND);
    assert_false(found.release_s.has_interval);
    assert_near(found.release_s.value, RELEASE_S, 0.001, 0.0);
}

static void test_what_cannot_be_judged(void **state)
{
    static struct fixture f;
    struct sh_shock_found found;
    fill(&f, 4, 79.0);
    assert_int_equal(judge(&f, &found), SH_SHOCK_UNKNOWN);
    fill(&f, 4, 3200.0);
    shoot(&f);
    lose(&f, SHOCK_S + 0.05, SHOCK_S + 0.1);
    assert_int_equal(judge(&f, &found), SH_SHOCK_UNKNOWN);
    memset(f.flags, 0, sizeof f.flags);
    f.config.from_s = 3.999;
    f.config.until_s = 9.0;
    assert_int_equal(judge(&f, &found), SH_SHOCK_UNKNOWN);
    f.stream.n_frames = 0;
    assert_int_equal(judge(&f, &found), SH_SHOCK_UNKNOWN);
}

/* Two shocks within a second are one trigger, two further apart are two. */
static void test_watch_merges(void **state)
{
    static struct fixture f;
    uint64_t trigger[4];
    fill(&f, 5, 3200.0);
    strike(&f, 1.0, 100.0, 300.0, 0.01);
    strike(&f, 1.9, 100.0, 300.0, 0.01);
    assert_int_equal(watch(&f, trigger, 4), 1);
    strike(&f, 2.6, 100.0, 300.0, 0.01);
    assert_int_equal(watch(&f, trigger, 4), 2);
    fill(&f, 5, 3200.0);
    strike(&f, 1.0, 20.0, 300.0, 0.01);
    assert_int_equal(watch(&f, trigger, 4), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_shots),
        cmocka_unit_test(test_slip_not_seen),
        cmocka_unit_test(test_losses),
        cmocka_unit_test(test_clipped),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_usual_ringing),
        cmocka_unit_test(test_what_cannot_be_judged),
        cmocka_unit_test(test_watch_merges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
