/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/made_fingers.h"

#include <math.h>

#include "base/units.h"

struct made_fingers made_fingers_default(void)
{
    return (struct made_fingers){
        .hold_n = {60.0, 70.0, 50.0},
        .half_fall_s = {MADE_RELEASE_S, MADE_RELEASE_S, MADE_RELEASE_S},
        .fall_s = 0.004,
        .slide_s = {6.0, 7.0}};
}

static double get_drawn(double t_s)
{
    if (t_s < MADE_PRELOAD_S) {
        return 0.0;
    }
    const double drawn = t_s - MADE_DRAW_START_S;
    return fmin(0.1 + 0.9 * fmax(drawn, 0.0) / (MADE_FULL_DRAW_S - MADE_DRAW_START_S), 1.0);
}

double made_fingers_get(const void *context, double t_s, size_t k)
{
    static const double takes[3] = {1.0, 0.0, -1.0};
    const struct made_fingers *fingers = context;
    const double length_s = fingers->slide_s[1] - fingers->slide_s[0];
    const double slid = fmin(fmax((t_s - fingers->slide_s[0]) / length_s, 0.0), 1.0);
    const double fall = (t_s - fingers->half_fall_s[k]) / fingers->fall_s + 0.5;
    const double left = 0.5 + 0.5 * cos(SH_PI * fmin(fmax(fall, 0.0), 1.0));
    return (fingers->hold_n[k] * get_drawn(t_s) + takes[k] * slid * fingers->slide_n) * left;
}

void made_fingers_open(struct made *made, const struct made_fingers *fingers, double rate_hz)
{
    const struct made_config config = {
        .rate_hz = rate_hz, .finger = {made_fingers_get, fingers}, .finger_rest_n = 2.5};
    made_open(made, &config);
}
