/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/release.h"

#include <math.h>
#include <stdlib.h>

#include "scene.h"
#include "support/cmocka_all.h"
#include "support/near.h"

#define SEEDS 60u

/* What the release or the let-down of one simulated draw came out as. */
struct outcome {
    double error_s;
    double u_s;
    bool is_inside; /* the truth lies in the 95 % interval */
};

struct found {
    struct sh_pull *pull;
    struct sh_fall fall;
};

static struct found load(const double *net_n, size_t n, const struct scene_sampling *how)
{
    struct found found = {0};
    assert_int_equal(sh_pull_open(how->rate_hz, n, &found.pull, NULL), SH_OK);
    assert_int_equal(sh_pull_load(found.pull, net_n, n, how->noise_n), SH_OK);
    assert_true(sh_fall_find(found.pull, 0, found.pull->n, &found.fall));
    return found;
}

static struct outcome find_release(unsigned faults, const struct scene_sampling *how)
{
    struct scene scene;
    scene_make(&scene, faults, how->seed);
    size_t n = 0;
    double *net_n = scene_sample(&scene, how, &n);
    struct found found = load(net_n, n, how);
    const struct sh_release_force force = {net_n, n, how->rate_hz, how->noise_n};
    struct sh_release release;
    sh_release_find(&force, found.pull, &found.fall, &release);
    assert_true(sh_quantity_is_known(&release.release));
    assert_near(release.drop_n.value, scene.signal.loose_force_n, 1.0,
                how->rate_hz < 150.0 ? 0.05 : 0.03);
    double lo = 0.0;
    double hi = 0.0;
    sh_quantity_interval(&release.release, &lo, &hi);
    const double truth = scene_frame(how, scene.truth.release_s);
    const struct outcome outcome = {(release.release.value - truth) / how->rate_hz,
                                    release.release.u / how->rate_hz,
                                    truth >= lo && truth <= hi};
    sh_pull_close(&found.pull);
    free(net_n);
    return outcome;
}

/* Error of the release no larger than stated, at most allowed_s rms, the truth inside the 95 %
 * interval; without a bias that would matter. */
static void
check_rate(double rate_hz, double noise_n, double boxcar_s, unsigned faults, double allowed_s)
{
    double square_s2 = 0.0;
    double square = 0.0;
    double mean_s = 0.0;
    unsigned n_inside = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        const struct scene_sampling how = {.rate_hz = rate_hz,
                                           .phase = fmod(0.37 * (double)seed, 1.0),
                                           .lead_s = 2.0,
                                           .tail_s = 2.0,
                                           .noise_n = noise_n,
                                           .boxcar_s = boxcar_s,
                                           .seed = seed};
        const struct outcome outcome = find_release(faults, &how);
        square_s2 += outcome.error_s * outcome.error_s / SEEDS;
        square += outcome.error_s * outcome.error_s / (outcome.u_s * outcome.u_s) / SEEDS;
        mean_s += outcome.error_s / SEEDS;
        n_inside += outcome.is_inside ? 1 : 0;
    }
    print_message("%g Hz, %g N: %.5f s rms, %.5f s off, %.2f u, %u of %u inside\n", rate_hz,
                  noise_n, sqrt(square_s2), mean_s, sqrt(square), n_inside, SEEDS);
    assert_true(sqrt(square_s2) < allowed_s);
    assert_true(square < 1.44);
    assert_true(n_inside >= SEEDS * 9 / 10);
}

static void test_releases_of_simulated_shots(void **state)
{
    check_rate(80.0, 0.3, 0.0, 0, 0.004);
    check_rate(80.0, 0.3, 0.0125, 0, 0.004);
    check_rate(200.0, 0.3, 0.0, 0, 0.0015);
    check_rate(200.0, 0.3, 0.005, 0, 0.0015);
    check_rate(500.0, 0.3, 0.0, 0, 0.0006);
    check_rate(1000.0, 0.3, 0.0, 0, 0.0004);
    check_rate(1000.0, 1.0, 0.001, 0, 0.0004);
    check_rate(1000.0, 0.3, 0.0, SH_ARCHER_COLLAPSE, 0.0004);
    check_rate(3200.0, 0.3, 0.0, 0, 0.0003);
    check_rate(10000.0, 0.3, 0.0, 0, 0.0003);
}

/* A let-down of straight lines: 10 % below the largest mean, the last time. */
static void test_let_down_is_the_last_time(void **state)
{
    double net_n[8000];
    for (size_t i = 0; i < 8000; i++) {
        const double t_s = 0.001 * (double)i;
        double force_n = t_s < 1.0 ? 0.0 : 100.0;
        if (t_s >= 2.0 && t_s < 3.0) {
            force_n = 100.0 - 60.0 * (t_s - 2.0); /* gives way, to 40 N */
        } else if (t_s >= 3.0 && t_s < 4.0) {
            force_n = 40.0 + 60.0 * (t_s - 3.0);
        } else if (t_s >= 5.0) {
            force_n = fmax(0.0, 100.0 - 50.0 * (t_s - 5.0));
        }
        net_n[i] = force_n;
    }
    const struct scene_sampling how = {.rate_hz = 1000.0, .noise_n = 0.1};
    struct found found = load(net_n, 8000, &how);
    const struct sh_quantity let_down = sh_release_find_let_down(found.pull, 0, &found.fall);
    assert_true(sh_quantity_is_known(&let_down));
    assert_near(0.001 * let_down.value, 5.2, 0.0005, 0.0);
    assert_true(let_down.u > 0.2 && let_down.u < 2.0);
    sh_pull_close(&found.pull);
}

/* Let-downs of the simulated archer, the truth worked out on the noise-free force. */
static void test_let_downs_of_simulated_draws(void **state)
{
    static const double rates_hz[] = {80.0, 1000.0, 3200.0};
    for (uint64_t seed = 0; seed < 30; seed++) {
        struct scene scene;
        scene_make(&scene, SH_ARCHER_LET_DOWN, seed);
        struct scene_sampling how = {.rate_hz = 10000.0, .lead_s = 2.0, .tail_s = 2.0};
        size_t n = 0;
        double *net_n = scene_sample(&scene, &how, &n);
        struct found truth = load(net_n, n, &how);
        const struct sh_quantity true_frame =
            sh_release_find_let_down(truth.pull, 0, &truth.fall);
        const double true_s = scene_time_s(&how, true_frame.value);
        sh_pull_close(&truth.pull);
        free(net_n);
        how.rate_hz = rates_hz[seed % 3];
        how.noise_n = 0.2;
        how.seed = seed;
        net_n = scene_sample(&scene, &how, &n);
        struct found found = load(net_n, n, &how);
        const struct sh_quantity let_down =
            sh_release_find_let_down(found.pull, 0, &found.fall);
        assert_true(sh_quantity_is_known(&let_down));
        assert_near(scene_time_s(&how, let_down.value), true_s,
                    0.002 + 4.0 * let_down.u / how.rate_hz, 0.0);
        sh_pull_close(&found.pull);
        free(net_n);
    }
}

/* Samples that end with the fall leave nothing to fit. */
static void test_too_short(void **state)
{
    double net_n[8] = {0.0, 100.0, 100.0, 100.0, 0.0, 0.0, 0.0, 0.0};
    const struct scene_sampling how = {.rate_hz = 80.0};
    struct found found = load(net_n, 7, &how);
    const struct sh_release_force force = {net_n, 7, 80.0, 0.1};
    struct sh_release release;
    sh_release_find(&force, found.pull, &found.fall, &release);
    assert_int_equal(release.release.why, SH_WHY_TOO_SHORT);
    sh_pull_close(&found.pull);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_releases_of_simulated_shots),
        cmocka_unit_test(test_let_down_is_the_last_time),
        cmocka_unit_test(test_let_downs_of_simulated_draws),
        cmocka_unit_test(test_too_short),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
