/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/arrow.h"

#include <math.h>

#include "measure/clock_time.h"

/* The marks under which the draws are sorted. */
struct order {
    const struct sh_mark *marks;
    size_t n_marks;
    bool has_ends;
};

/* Under which clock a draw was. */
struct clock {
    bool runs;
    bool is_for_one; /* alternating shooting: an arrow a clock */
    double began_s;  /* afresh: a clock that was halted and goes on is the same one */
};

static double find_fresh_s(const struct order *order, double at_s)
{
    double fresh_s = -HUGE_VAL;
    for (size_t i = 0; i < order->n_marks; i++) {
        const struct sh_mark *mark = &order->marks[i];
        const bool is_fresh = !mark->elapsed_s.is_given || !(mark->elapsed_s.value > 0.0);
        if (mark->kind == SH_MARK_CLOCK && is_fresh && mark->t_s <= at_s) {
            fresh_s = fmax(fresh_s, mark->t_s);
        }
    }
    return fresh_s;
}

static bool is_for_one(const struct order *order, double at_s)
{
    const struct sh_mark *last = NULL;
    for (size_t i = 0; i < order->n_marks; i++) {
        const struct sh_mark *mark = &order->marks[i];
        if (mark->kind == SH_MARK_CLOCK && mark->t_s <= at_s &&
            (last == NULL || mark->t_s >= last->t_s)) {
            last = mark;
        }
    }
    return last != NULL && last->arrows.is_given && last->arrows.value < 1.5;
}

static struct clock find_clock(const struct order *order, double at_s)
{
    struct sh_clock_time found;
    if (!sh_clock_time_find(order->marks, order->n_marks, at_s, &found)) {
        return (struct clock){.runs = false};
    }
    return (struct clock){.runs = true,
                          .is_for_one = is_for_one(order, at_s),
                          .began_s = find_fresh_s(order, at_s)};
}

static bool has_end_mark(const struct order *order, double after_s, double until_s)
{
    for (size_t i = 0; i < order->n_marks; i++) {
        const struct sh_mark *mark = &order->marks[i];
        if (mark->kind == SH_MARK_END && mark->t_s > after_s && mark->t_s <= until_s) {
            return true;
        }
    }
    return false;
}

static double get_or(const struct sh_quantity *event, double otherwise_s)
{
    return sh_quantity_is_known(event) ? event->value : otherwise_s;
}

/* When a draw began, and when it was over. */
static double get_begin_s(const struct sh_shot_record *record)
{
    return get_or(&record->shot.event_s[SH_EVENT_DRAW_START], sh_analysis_get_time_s(record));
}

static double get_over_s(const struct sh_shot_record *record)
{
    return fmax(sh_analysis_get_time_s(record), get_begin_s(record));
}

/* Whether a new end begins between two draws in a row. */
static bool begins_end(const struct order *order,
                       const struct sh_shot_record *before,
                       const struct sh_shot_record *record)
{
    const double over_s = get_over_s(before);
    const double begin_s = get_begin_s(record);
    const struct clock earlier = find_clock(order, get_begin_s(before));
    const struct clock later = find_clock(order, begin_s);
    if (earlier.runs != later.runs) {
        return true;
    }
    if (later.runs && !(earlier.is_for_one && later.is_for_one)) {
        return later.began_s > earlier.began_s;
    }
    return order->has_ends ? has_end_mark(order, over_s, begin_s)
                           : begin_s - over_s >= SH_ARROW_END_GAP_S;
}

/* The shot that a score is of: the last that was released up to the mark, else the one named.
 */
static size_t find_scored(const struct sh_analysis *analysis, const struct sh_mark *mark)
{
    size_t found = analysis->n_shots;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot *shot = &analysis->shots[i].shot;
        const struct sh_quantity *release = &shot->event_s[SH_EVENT_RELEASE];
        if (shot->kind == SH_SHOT_SHOT && sh_quantity_is_known(release) &&
            release->value <= mark->t_s) {
            found = i;
        }
    }
    for (size_t i = 0; i < analysis->n_shots && found == analysis->n_shots; i++) {
        const struct sh_shot *shot = &analysis->shots[i].shot;
        if (mark->shot.is_given && shot->kind == SH_SHOT_SHOT &&
            fabs(mark->shot.value - (double)shot->n) < 0.5) {
            found = i;
        }
    }
    return found;
}

static void set_scores(const struct sh_analysis *analysis,
                       const struct order *order,
                       struct sh_arrow *arrows)
{
    for (size_t i = 0; i < order->n_marks; i++) {
        const struct sh_mark *mark = &order->marks[i];
        if (mark->kind != SH_MARK_ARROW || !mark->score.is_given) {
            continue;
        }
        const size_t shot = find_scored(analysis, mark);
        if (shot < analysis->n_shots) {
            arrows[shot].has_score = true;
            arrows[shot].score = mark->score.value;
        }
    }
}

static bool has_kind(const struct sh_mark *marks, size_t n_marks, enum sh_mark_kind kind)
{
    for (size_t i = 0; i < n_marks; i++) {
        if (marks[i].kind == kind) {
            return true;
        }
    }
    return false;
}

void sh_arrow_find_all(const struct sh_analysis *analysis,
                       const struct sh_mark *marks,
                       size_t n_marks,
                       struct sh_arrow *arrows)
{
    const struct order order = {marks, n_marks, has_kind(marks, n_marks, SH_MARK_END)};
    unsigned end = 1;
    unsigned n_released = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        if (i > 0 && begins_end(&order, record - 1, record)) {
            end++;
            n_released = 0;
        }
        arrows[i] = (struct sh_arrow){
            .end = end, .is_clocked = find_clock(&order, get_begin_s(record)).runs};
        if (record->shot.kind == SH_SHOT_SHOT) {
            arrows[i].number = ++n_released;
        }
    }
    set_scores(analysis, &order, arrows);
}

void sh_arrow_put_scores(struct sh_analysis *analysis,
                         const struct sh_mark *marks,
                         size_t n_marks)
{
    for (size_t i = 0; i < analysis->n_shots; i++) {
        analysis->shots[i].has_score = false;
        analysis->shots[i].score = 0.0;
    }
    for (size_t i = 0; i < n_marks; i++) {
        const bool is_score = marks[i].kind == SH_MARK_ARROW && marks[i].score.is_given;
        const size_t shot = is_score ? find_scored(analysis, &marks[i]) : analysis->n_shots;
        if (shot < analysis->n_shots) {
            analysis->shots[shot].has_score = true;
            analysis->shots[shot].score = marks[i].score.value;
        }
    }
}
