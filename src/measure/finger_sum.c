/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/finger_sum.h"

#include <math.h>

#include "measure/span.h"

#define HOLD_END_S   0.05
#define REST_SPAN_S  0.25
#define STRING_MIN_N 1.0

/* Mean net force of a finger over the hold, with what differs from shot to shot. */
static struct sh_quantity get_finger(const struct sh_scene *scene,
                                     const struct sh_finger_channel *finger,
                                     const double at_s[2])
{
    const struct sh_span span = sh_finger_net_span(scene, finger, at_s[0], at_s[1]);
    if (!sh_span_is_usable(&span)) {
        return sh_quantity_unknown(span.why);
    }
    double sum_n = 0.0;
    for (size_t i = span.first; i < span.first + span.n; i++) {
        sum_n += finger->value[i] - finger->rest_n;
    }
    const double mean_n = sum_n / (double)span.n;
    const double drift = sh_finger_net_drift_u_ratio(finger, 0.5 * (at_s[0] + at_s[1]));
    struct sh_quantity mean = sh_quantity_known(
        mean_n, hypot(finger->rest_u_n, finger->loaded_noise_n / sqrt((double)span.n)));
    sh_scene_add_u(&mean, drift * mean_n);
    return mean;
}

static struct sh_quantity get_string(const struct sh_scene *scene, const double at_s[2])
{
    const struct sh_shot_force *force = &scene->view->force;
    if (!force->is_present || force->is_finger_sum) {
        return sh_quantity_unknown(SH_WHY_NO_CHANNEL);
    }
    const struct sh_span span =
        sh_span_find(&scene->view->stream[force->stream], force->delay_s, at_s[0], at_s[1]);
    if (!sh_span_is_usable(&span)) {
        return sh_quantity_unknown(span.why);
    }
    double sum_n = 0.0;
    for (size_t i = span.first; i < span.first + span.n; i++) {
        sum_n += force->net_n[i];
    }
    const double n_rest = fmax(1.0, REST_SPAN_S * force->rate_hz);
    const double n = (double)span.n;
    return sh_quantity_known(sum_n / n, force->noise_n * sqrt(1.0 / n + 1.0 / n_rest));
}

static struct sh_quantity get_ratio(const struct sh_scene *scene,
                                    const struct sh_finger_net *net)
{
    const struct sh_quantity full_draw = sh_scene_event(scene, SH_EVENT_FULL_DRAW);
    const struct sh_quantity release = sh_scene_event(scene, SH_EVENT_RELEASE);
    if (!sh_quantity_is_known(&full_draw) || !sh_quantity_is_known(&release)) {
        return sh_quantity_unknown(sh_quantity_is_known(&full_draw) ? release.why
                                                                    : full_draw.why);
    }
    const double at_s[2] = {full_draw.value, release.value - HOLD_END_S};
    const struct sh_quantity string = get_string(scene, at_s);
    if (!sh_quantity_is_known(&string)) {
        return string;
    }
    double sum_n = 0.0;
    double u_n = 0.0;
    for (size_t k = 0; k < SH_FINGER_NET_COUNT; k++) {
        const struct sh_quantity finger = get_finger(scene, &net->finger[k], at_s);
        if (!sh_quantity_is_known(&finger)) {
            return finger;
        }
        sum_n += finger.value;
        u_n = hypot(u_n, finger.u);
    }
    if (!(string.value >= STRING_MIN_N)) {
        return sh_quantity_unknown(SH_WHY_UNRESOLVED);
    }
    const double ratio = sum_n / string.value;
    return sh_quantity_known(ratio, hypot(u_n, ratio * string.u) / string.value);
}

void sh_finger_sum_measure(const struct sh_scene *scene,
                           const struct sh_finger_net *net,
                           struct sh_measures *measures)
{
    measures->finger_sum_ratio = get_ratio(scene, net);
}
