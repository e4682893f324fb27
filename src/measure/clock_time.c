/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/clock_time.h"

static bool is_of_clock(const struct sh_mark *mark)
{
    return mark->kind == SH_MARK_CLOCK || mark->kind == SH_MARK_CLOCK_STOP;
}

/* The last mark about the clock up to at_s, or NULL. */
static const struct sh_mark *find_last(const struct sh_mark *marks, size_t n_marks, double at_s)
{
    const struct sh_mark *last = NULL;
    for (size_t i = 0; i < n_marks; i++) {
        const bool is_before = is_of_clock(&marks[i]) && marks[i].t_s <= at_s;
        if (is_before && (last == NULL || marks[i].t_s >= last->t_s)) {
            last = &marks[i];
        }
    }
    return last;
}

static bool
was_stopped(const struct sh_mark *marks, size_t n_marks, double after_s, double until_s)
{
    for (size_t i = 0; i < n_marks; i++) {
        const struct sh_mark *mark = &marks[i];
        if (mark->kind == SH_MARK_CLOCK_STOP && mark->t_s > after_s && mark->t_s <= until_s) {
            return true;
        }
    }
    return false;
}

bool sh_clock_time_find(const struct sh_mark *marks,
                        size_t n_marks,
                        double at_s,
                        struct sh_clock_time *out)
{
    const struct sh_mark *mark = find_last(marks, n_marks, at_s);
    if (mark == NULL || mark->kind != SH_MARK_CLOCK) {
        return false;
    }
    const double elapsed_s = mark->elapsed_s.is_given ? mark->elapsed_s.value : 0.0;
    const double began_s = mark->t_s - elapsed_s;
    const bool goes_on = was_stopped(marks, n_marks, began_s, mark->t_s);
    *out = (struct sh_clock_time){.began_s = began_s,
                                  .allowed_s = goes_on ? mark->t_s : began_s,
                                  .has_length = mark->seconds.is_given,
                                  .length_s = mark->seconds.value};
    return true;
}

static struct sh_quantity get_time_left(const struct sh_scene *scene,
                                        const struct sh_quantity *event)
{
    struct sh_clock_time clock;
    if (!sh_quantity_is_known(event)) {
        return sh_quantity_unknown(event->why);
    }
    if (!sh_clock_time_find(scene->marks, scene->n_marks, event->value, &clock)) {
        const struct sh_mark *last = find_last(scene->marks, scene->n_marks, event->value);
        return sh_quantity_unknown(last == NULL ? SH_WHY_NOT_GIVEN : SH_WHY_NOT_APPLICABLE);
    }
    if (!clock.has_length) {
        return sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    }
    const struct sh_quantity runs_out = sh_quantity_known(clock.began_s + clock.length_s, 0.0);
    return sh_scene_difference(&runs_out, event);
}

static struct sh_quantity get_setup(const struct sh_scene *scene)
{
    struct sh_clock_time clock;
    const struct sh_quantity draw_start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    struct sh_quantity allowed = scene->previous_release_s;
    if (!sh_quantity_is_known(&draw_start)) {
        return sh_quantity_unknown(draw_start.why);
    }
    const bool runs =
        sh_clock_time_find(scene->marks, scene->n_marks, draw_start.value, &clock);
    if (runs && (!sh_quantity_is_known(&allowed) || clock.allowed_s > allowed.value)) {
        allowed = sh_quantity_known(clock.allowed_s, 0.0);
    } else if (sh_quantity_is_known(&allowed)) {
        return sh_scene_since_previous(scene, SH_EVENT_DRAW_START);
    }
    if (!sh_quantity_is_known(&allowed)) {
        return sh_quantity_unknown(SH_WHY_NOT_GIVEN);
    }
    return sh_scene_difference(&draw_start, &allowed);
}

void sh_clock_time_measure(const struct sh_scene *scene, struct sh_measures *measures)
{
    const struct sh_quantity draw_start = sh_scene_event(scene, SH_EVENT_DRAW_START);
    const struct sh_quantity release = sh_scene_event(scene, SH_EVENT_RELEASE);
    measures->quantity[SH_MEASURE_SETUP_TIME_FIRST] = get_setup(scene);
    measures->quantity[SH_MEASURE_TIME_LEFT_DRAW_FIRST] = get_time_left(scene, &draw_start);
    measures->quantity[SH_MEASURE_TIME_LEFT_RELEASE_FIRST] = get_time_left(scene, &release);
}
