/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/blow.h"

#include <math.h>
#include <string.h>

#include "base/units.h"
#include "signal/random.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define N       12800u
#define RATE_HZ 3200.0
#define BLOW_S  2.6 /* of 4 s; the span ends at 3 s */

struct fixture {
    double time_s[N];
    double value[2][N];
    unsigned char flags[N];
    double work[4 * N];
    struct sh_stream described;
    struct sh_shot_stream stream;
    struct sh_blow_config config;
};

/* Noise of 0.3, gravity and a strong tremor, two axes. */
static void fill(struct fixture *f, uint64_t seed, double rate_hz)
{
    struct sh_random random;
    sh_random_init(&random, seed);
    memset(f, 0, sizeof *f);
    f->described = (struct sh_stream){.rate_hz = rate_hz, .n_channels = 2};
    for (size_t i = 0; i < N; i++) {
        f->time_s[i] = (double)i / rate_hz;
        const double tremor = 2.0 * sin(2.0 * SH_PI * 9.0 * f->time_s[i]);
        f->value[0][i] = 9.81 + tremor + 0.3 * sh_random_get_normal(&random);
        f->value[1][i] = tremor + 0.3 * sh_random_get_normal(&random);
    }
    f->stream = (struct sh_shot_stream){.stream = &f->described,
                                        .n_frames = N,
                                        .time_s = f->time_s,
                                        .value = {f->value[0], f->value[1]},
                                        .flags = f->flags};
    f->config = (struct sh_blow_config){.stream = &f->stream,
                                        .n_channels = 2,
                                        .channel = {0, 1},
                                        .corner_hz = 150.0,
                                        .from_s = 0.5,
                                        .until_s = 3.0,
                                        .prior = 0.9};
}

static void add_blow(struct fixture *f, double time_s, double amplitude)
{
    for (size_t i = 0; i < N; i++) {
        const double after_s = f->time_s[i] - time_s;
        if (after_s > 0.0) {
            const double shape = amplitude * exp(-after_s / 0.012);
            f->value[0][i] += shape * sin(2.0 * SH_PI * 420.0 * after_s);
            f->value[1][i] += 0.7 * shape * sin(2.0 * SH_PI * 780.0 * after_s);
        }
    }
}

static struct sh_blow find(struct fixture *f)
{
    struct sh_blow blow;
    sh_blow_find(&f->config, f->work, &blow);
    return blow;
}

/* Strong blows are certain and timed to about a sample; the error agrees with its u. */
static void test_strong_blows(void **state)
{
    static struct fixture f;
    double square = 0.0;
    for (uint64_t seed = 0; seed < 40; seed++) {
        const double at_s = BLOW_S + 0.0001 * (double)seed;
        fill(&f, seed, RATE_HZ);
        add_blow(&f, at_s, 15.0);
        const struct sh_blow blow = find(&f);
        assert_true(sh_quantity_is_known(&blow.time_s));
        assert_true(blow.probability > 0.999);
        assert_near(blow.time_s.value, at_s, 0.001, 0.0);
        assert_near(blow.amplitude, 17.0, 0.0, 0.3);
        assert_near(blow.noise, 0.42, 0.0, 0.2);
        const double off = (blow.time_s.value - at_s) / blow.time_s.u;
        square += off * off / 40.0;
    }
    assert_true(square < 2.25);
}

/* Noise alone seldom passes for a blow: at most 3 % of 200 windows over .9. */
static void test_noise_alone(void **state)
{
    static struct fixture f;
    unsigned n_false = 0;
    for (uint64_t seed = 100; seed < 300; seed++) {
        fill(&f, seed, RATE_HZ);
        n_false += find(&f).probability >= 0.9 ? 1 : 0;
    }
    print_message("noise passes for a blow in %u of 200 windows\n", n_false);
    assert_true(n_false <= 6);
}

/* Fainter and fainter: the probability falls, and a blow like the noise is not seen. */
static void test_faint_blows(void **state)
{
    static struct fixture f;
    double previous = 1.0;
    static const double amplitudes[] = {10.0, 2.0, 0.3};
    for (size_t a = 0; a < 3; a++) {
        double mean = 0.0;
        for (uint64_t seed = 0; seed < 20; seed++) {
            fill(&f, seed, RATE_HZ);
            add_blow(&f, BLOW_S, amplitudes[a]);
            mean += find(&f).probability / 20.0;
        }
        assert_true(mean <= previous + 1e-9);
        previous = mean;
    }
    assert_true(previous < 0.6);
}

/* Two blows alike: neither is sure. One long before the release has to be clearer. */
static void test_contrast_and_lag(void **state)
{
    static struct fixture f;
    fill(&f, 1, RATE_HZ);
    add_blow(&f, BLOW_S, 10.0);
    add_blow(&f, 1.9, 10.0);
    assert_true(find(&f).probability < 0.9);
    fill(&f, 1, RATE_HZ);
    add_blow(&f, 0.7, 2.0);
    const double early = find(&f).probability;
    fill(&f, 1, RATE_HZ);
    add_blow(&f, BLOW_S, 2.0);
    assert_true(find(&f).probability > early);
}

/* Where others are heard too, a strong blow is one's own where reactions lie, not long before.
 */
static void test_blows_of_others(void **state)
{
    static struct fixture f;
    static const double lag_s[] = {0.15, 1.5};
    for (size_t k = 0; k < 2; k++) {
        fill(&f, 4, RATE_HZ);
        add_blow(&f, 3.0 - lag_s[k], 15.0);
        assert_true(find(&f).probability > 0.99);
        f.config.foreign_per_s = 0.05;
        const double probability = find(&f).probability;
        assert_true(k == 0 ? probability > 0.9 && probability < 0.999 : probability < 0.1);
    }
    assert_near(sh_blow_get_foreign(0.05, 0.1), 0.05 * 0.4, 1e-12, 0.0);
    assert_near(sh_blow_get_foreign(0.05, 0.5), 0.05 * 0.4 * exp(2.0), 1e-12, 0.0);
    assert_near(sh_blow_get_foreign(0.0, 0.5), 0.0, 0.0, 0.0);
}

/* Nothing at or after the end of the span counts, nor what lies before it. */
static void test_outside_the_span(void **state)
{
    static struct fixture f;
    fill(&f, 5, RATE_HZ);
    add_blow(&f, 3.0005, 100.0);
    const double after = find(&f).probability;
    fill(&f, 5, RATE_HZ);
    assert_near(after, find(&f).probability, 1e-12, 0.0);
    add_blow(&f, 0.2, 100.0);
    assert_true(find(&f).probability < 0.9);
}

static void test_delay_and_prior(void **state)
{
    static struct fixture f;
    fill(&f, 2, RATE_HZ);
    add_blow(&f, BLOW_S, 15.0);
    const double at_s = find(&f).time_s.value;
    f.described.channel[0].delay_s = 0.01;
    f.described.channel[0].delay_u_s = 0.002;
    const struct sh_blow late = find(&f);
    assert_near(late.time_s.value, at_s - 0.01, 1e-9, 0.0);
    assert_true(late.time_s.u > 0.002);
    f.config.prior = 0.0;
    assert_near(find(&f).probability, 0.0, 0.0, 0.0);
}

static void test_what_cannot_be_seen(void **state)
{
    static struct fixture f;
    fill(&f, 3, 299.0);
    assert_int_equal(find(&f).time_s.why, SH_WHY_TOO_SLOW);
    fill(&f, 3, RATE_HZ);
    f.config.from_s = 2.95;
    assert_int_equal(find(&f).time_s.why, SH_WHY_TOO_SHORT);
    fill(&f, 3, RATE_HZ);
    f.flags[6000] = SH_SHOT_FLAG_FILLED;
    assert_int_equal(find(&f).time_s.why, SH_WHY_GAP);
    memset(f.flags, 0, sizeof f.flags);
    f.stream.n_frames = 0;
    assert_int_equal(find(&f).time_s.why, SH_WHY_TOO_SHORT);
    fill(&f, 3, RATE_HZ);
    memset(f.value, 0, sizeof f.value);
    assert_near(find(&f).probability, 0.0, 0.0, 0.0); /* a dead sensor */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_strong_blows),        cmocka_unit_test(test_noise_alone),
        cmocka_unit_test(test_faint_blows),         cmocka_unit_test(test_contrast_and_lag),
        cmocka_unit_test(test_outside_the_span),    cmocka_unit_test(test_delay_and_prior),
        cmocka_unit_test(test_what_cannot_be_seen), cmocka_unit_test(test_blows_of_others),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
