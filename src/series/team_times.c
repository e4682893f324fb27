/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/team_times.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "measure/clock_time.h"
#include "series/arrow.h"

/* A walk through the draws of a recording. */
struct walk {
    const struct sh_analysis *analysis;
    const struct sh_arrow *arrows;
    const struct sh_mark *marks;
    size_t n_marks;
    double started_s;
    struct sh_team_times *times;
    struct sh_team_end end; /* the one being filled */
    bool has_release;       /* in this end */
    double release_s;       /* the last one */
    bool is_trying;         /* an arrow was begun: a draw, perhaps let down */
    bool is_known;          /* the arrow's time can still be had */
    double begin_s;         /* its first draw start */
    double cost_s;          /* of its let-downs */
};

static bool get_event(const struct sh_shot_record *record, enum sh_event event, double *out_s)
{
    const struct sh_quantity *quantity = &record->shot.event_s[event];
    *out_s = quantity->value;
    return sh_quantity_is_known(quantity);
}

/* The last mark at which a clock began or went on, up to at_s; NULL: none. */
static const struct sh_mark *find_clock(const struct walk *walk, double at_s)
{
    const struct sh_mark *last = NULL;
    for (size_t i = 0; i < walk->n_marks; i++) {
        const struct sh_mark *mark = &walk->marks[i];
        if (mark->kind == SH_MARK_CLOCK && mark->t_s <= at_s &&
            (last == NULL || mark->t_s >= last->t_s)) {
            last = mark;
        }
    }
    return last;
}

/* Whether a clock mark carries on what another archer's time began: nothing halted it here. */
static bool is_take_over(const struct walk *walk, const struct sh_mark *clock)
{
    for (size_t i = 0; i < walk->n_marks; i++) {
        const bool is_of_clock =
            walk->marks[i].kind == SH_MARK_CLOCK || walk->marks[i].kind == SH_MARK_CLOCK_STOP;
        if (is_of_clock && walk->marks[i].t_s < clock->t_s) {
            return false;
        }
    }
    return clock->elapsed_s.is_given && clock->elapsed_s.value > 0.0;
}

/* Whether a draw is the first of its end. */
static bool is_first(const struct walk *walk, size_t i)
{
    return i == 0 || walk->arrows[i].end != walk->arrows[i - 1].end;
}

static void open_end(struct walk *walk, size_t i)
{
    walk->has_release = false;
    walk->is_trying = false;
    walk->end = (struct sh_team_end){.first = SH_TEAM_FIRST_KINDS,
                                     .next = walk->times->n_next,
                                     .cost = walk->times->n_costs,
                                     .is_clocked = walk->arrows[i].is_clocked,
                                     .clock_at_s = (double)NAN,
                                     .last_s = (double)NAN};
}

static void close_end(struct walk *walk)
{
    if (walk->end.n_arrows + walk->end.n_let_downs > 0) {
        walk->times->ends[walk->times->n_ends++] = walk->end;
    }
}

/* What a let-down cost: until the next draw of its end begins. */
static void take_let_down(struct walk *walk, size_t i)
{
    double from_s = 0.0;
    double until_s = 0.0;
    walk->end.n_let_downs++;
    if (i + 1 < walk->analysis->n_shots && walk->arrows[i + 1].end == walk->arrows[i].end &&
        get_event(&walk->analysis->shots[i], SH_EVENT_DRAW_START, &from_s) &&
        get_event(&walk->analysis->shots[i + 1], SH_EVENT_DRAW_START, &until_s)) {
        walk->times->cost_s[walk->times->n_costs++] = until_s - from_s;
        walk->end.n_costs++;
        walk->cost_s += until_s - from_s;
    } else {
        walk->is_known = false;
    }
}

/* The time of an end's first arrow, from the clock. */
static void take_first(struct walk *walk, const struct sh_mark *clock, double release_s)
{
    if (clock != NULL && walk->end.is_clocked) {
        const bool is_taken = is_take_over(walk, clock);
        walk->end.first = is_taken ? SH_TEAM_FIRST_HAND_OVER : SH_TEAM_FIRST_START;
        walk->end.first_s = release_s - clock->t_s - walk->cost_s;
        walk->end.taken_s = is_taken ? clock->elapsed_s.value : 0.0;
    }
}

static void note_clock(struct walk *walk, double release_s)
{
    struct sh_clock_time clock;
    if (sh_clock_time_find(walk->marks, walk->n_marks, release_s, &clock)) {
        walk->end.clock_at_s = walk->started_s + clock.began_s;
        walk->end.last_s = release_s - clock.began_s;
    }
}

static void take_shot(struct walk *walk, const struct sh_shot_record *record)
{
    double release_s = 0.0;
    const bool is_released = get_event(record, SH_EVENT_RELEASE, &release_s);
    const bool is_known = walk->is_known && is_released;
    const struct sh_mark *clock =
        walk->end.is_clocked && is_known ? find_clock(walk, walk->begin_s) : NULL;
    walk->end.n_arrows++;
    walk->is_trying = false;
    if (is_known && walk->has_release) {
        const double from_s =
            clock != NULL ? fmax(walk->release_s, clock->t_s) : walk->release_s;
        walk->times->next_s[walk->times->n_next++] = release_s - from_s - walk->cost_s;
        walk->end.n_next++;
    } else if (is_known && walk->end.n_arrows == 1) {
        take_first(walk, clock, release_s);
    } else {
        walk->times->n_unknown++;
    }
    walk->has_release = is_released;
    walk->release_s = release_s;
    if (is_released) {
        note_clock(walk, release_s);
    }
}

static void take_draw(struct walk *walk, size_t i)
{
    const struct sh_shot_record *record = &walk->analysis->shots[i];
    if (!walk->is_trying) {
        walk->is_trying = true;
        walk->is_known = get_event(record, SH_EVENT_DRAW_START, &walk->begin_s);
        walk->cost_s = 0.0;
    }
    if (record->shot.kind == SH_SHOT_SHOT) {
        take_shot(walk, record);
    } else if (record->shot.kind == SH_SHOT_LET_DOWN) {
        take_let_down(walk, i);
    } else {
        walk->is_known = false; /* perhaps an arrow: the next one's time means nothing */
    }
}

static void walk_all(struct walk *walk)
{
    for (size_t i = 0; i < walk->analysis->n_shots; i++) {
        if (is_first(walk, i)) {
            close_end(walk);
            open_end(walk, i);
        }
        take_draw(walk, i);
    }
    close_end(walk); /* one that was never opened holds nothing and is left out */
}

/* Room for n more of each kind. */
static enum sh_status make_room(struct sh_team_times *times, size_t n)
{
    struct sh_team_end *ends = realloc(times->ends, (times->n_ends + n) * sizeof *ends);
    times->ends = ends != NULL ? ends : times->ends;
    double *next_s = realloc(times->next_s, (times->n_next + n) * sizeof *next_s);
    times->next_s = next_s != NULL ? next_s : times->next_s;
    double *cost_s = realloc(times->cost_s, (times->n_costs + n) * sizeof *cost_s);
    times->cost_s = cost_s != NULL ? cost_s : times->cost_s;
    return ends != NULL && next_s != NULL && cost_s != NULL ? SH_OK : SH_ERR_MEMORY;
}

enum sh_status sh_team_times_add(struct sh_team_times *times,
                                 const struct sh_analysis *analysis,
                                 const struct sh_mark *marks,
                                 size_t n_marks,
                                 double started_s)
{
    struct sh_arrow *arrows = calloc(analysis->n_shots + 1, sizeof *arrows);
    enum sh_status status =
        arrows != NULL ? make_room(times, analysis->n_shots + 1) : SH_ERR_MEMORY;
    if (status == SH_OK) {
        struct walk walk = {.analysis = analysis,
                            .arrows = arrows,
                            .marks = marks,
                            .n_marks = n_marks,
                            .started_s = started_s,
                            .times = times};
        sh_arrow_find_all(analysis, marks, n_marks, arrows);
        walk_all(&walk);
    }
    free(arrows);
    return status;
}

static bool is_timed(const struct sh_team_end *end)
{
    return end->n_next > 0 || end->first != SH_TEAM_FIRST_KINDS;
}

static void count_end(const struct sh_team_end *end, struct sh_team_times_count *count)
{
    if (end->first != SH_TEAM_FIRST_KINDS) {
        count->n_first[end->first]++;
    }
    count->n_next += end->n_next;
    count->n_timed_ends += is_timed(end) ? 1 : 0;
    count->n_free_ends += is_timed(end) && !end->is_clocked ? 1 : 0;
    count->n_arrows += end->n_arrows;
    count->n_let_downs += end->n_let_downs;
    count->n_costs += end->n_costs;
}

struct sh_team_times_count sh_team_times_get_count(const struct sh_team_times *times)
{
    struct sh_team_times_count count = {0};
    for (size_t i = 0; i < times->n_ends; i++) {
        count_end(&times->ends[i], &count);
    }
    return count;
}

bool sh_team_times_is_enough(const struct sh_team_times_count *count)
{
    return count->n_next + count->n_first[SH_TEAM_FIRST_START] +
                   count->n_first[SH_TEAM_FIRST_HAND_OVER] >=
               SH_TEAM_TIMES_ARROWS_MIN &&
           count->n_timed_ends >= SH_TEAM_TIMES_ENDS_MIN;
}

size_t sh_team_times_drop_free(struct sh_team_times *times)
{
    struct sh_team_times_count clocked = {0};
    size_t n = 0;
    for (size_t i = 0; i < times->n_ends; i++) {
        if (times->ends[i].is_clocked) {
            count_end(&times->ends[i], &clocked);
        }
    }
    if (!sh_team_times_is_enough(&clocked)) {
        return 0;
    }
    for (size_t i = 0; i < times->n_ends; i++) {
        if (times->ends[i].is_clocked) {
            times->ends[n++] = times->ends[i];
        }
    }
    const size_t n_dropped = times->n_ends - n;
    times->n_ends = n;
    return n_dropped;
}

void sh_team_times_close(struct sh_team_times *times)
{
    free(times->ends);
    free(times->next_s);
    free(times->cost_s);
    memset(times, 0, sizeof *times);
}
