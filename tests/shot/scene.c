/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

#include <math.h>
#include <stdlib.h>

#include "support/cmocka_all.h"

void scene_make(struct scene *scene, unsigned faults, uint64_t seed)
{
    const struct sh_bow_law_config config = sh_bow_law_config_default();
    struct sh_bow_law bow;
    struct sh_archer_plan plan;
    struct sh_random random;
    sh_random_init(&random, seed);
    sh_archer_plan_draw(&plan, faults, &random);
    assert_int_equal(sh_bow_law_init(&bow, &config, NULL), SH_OK);
    sh_string_signal_init(&scene->signal, &bow, &plan);
    assert_int_equal(sh_shot_truth_find(&scene->signal, &scene->truth, NULL), SH_OK);
}

double scene_frame(const struct scene_sampling *how, double time_s)
{
    return (time_s + how->lead_s) * how->rate_hz + how->phase;
}

double scene_time_s(const struct scene_sampling *how, double frame)
{
    return (frame - how->phase) / how->rate_hz - how->lead_s;
}

/* The force at a time, or its mean around it. */
static double get_force_n(const struct scene *scene, double time_s, double boxcar_s)
{
    const int n = boxcar_s > 0.0 ? 50 : 1;
    double sum_n = 0.0;
    for (int i = 0; i < n; i++) {
        const double off_s = boxcar_s * (((double)i + 0.5) / (double)n - 0.5);
        sum_n += sh_string_signal_get_force_n(&scene->signal, time_s + off_s);
    }
    return sum_n / (double)n;
}

double *scene_sample(const struct scene *scene, const struct scene_sampling *how, size_t *n)
{
    struct sh_random random;
    sh_random_init(&random, how->seed);
    *n = (size_t)scene_frame(how, scene->signal.plan.loose_s + how->tail_s);
    double *force_n = calloc(*n, sizeof *force_n);
    assert_non_null(force_n);
    for (size_t i = 0; i < *n; i++) {
        force_n[i] = get_force_n(scene, scene_time_s(how, (double)i), how->boxcar_s) +
                     how->noise_n * sh_random_get_normal(&random);
    }
    return force_n;
}
