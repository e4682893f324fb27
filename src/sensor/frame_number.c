/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/frame_number.h"

#include <math.h>

#define SECOND_US 1000000
/* A period found further from the nominal one is a fault, not a rate. */
#define PERIOD_OFF_MAX_RATIO 0.2

enum sh_status sh_frame_number_init(struct sh_frame_number *number, double rate_hz)
{
    if (!(rate_hz >= SH_FRAME_NUMBER_RATE_MIN_HZ && rate_hz <= SH_FRAME_NUMBER_RATE_MAX_HZ)) {
        return SH_ERR_ARGUMENT;
    }
    double period_us = (double)SECOND_US / rate_hz;
    *number = (struct sh_frame_number){.nominal_period_us = period_us, .period_us = period_us};
    return SH_OK;
}

bool sh_frame_number_has_frame(const struct sh_frame_number *number)
{
    return number->n_recent > 0;
}

/* Appends to a row of marks; the oldest leaves a full one. */
static void append(struct sh_frame_number_mark *row,
                   size_t *n,
                   size_t n_max,
                   struct sh_frame_number_mark mark)
{
    if (*n == n_max) {
        for (size_t i = 1; i < n_max; i++) {
            row[i - 1] = row[i];
        }
        (*n)--;
    }
    row[(*n)++] = mark;
}

static struct sh_frame_number_mark last_of(const struct sh_frame_number *number)
{
    return number->recent[number->n_recent - 1];
}

/* Takes a frame a second as a mark; the period is that between the oldest and the newest. */
static void find_period(struct sh_frame_number *number, struct sh_frame_number_mark mark)
{
    if (number->n_marks > 0 &&
        mark.device_us - number->marks[number->n_marks - 1].device_us < SECOND_US) {
        return;
    }
    append(number->marks, &number->n_marks, SH_FRAME_NUMBER_MARKS, mark);
    const struct sh_frame_number_mark *oldest = &number->marks[0];
    if (number->n_marks < 2) {
        return;
    }
    double period_us =
        (double)(mark.device_us - oldest->device_us) / (double)(mark.frame - oldest->frame);
    if (fabs(period_us / number->nominal_period_us - 1.0) <= PERIOD_OFF_MAX_RATIO) {
        number->period_us = period_us;
    }
}

void sh_frame_number_set_first(struct sh_frame_number *number, int64_t device_us)
{
    number->recent[0] = (struct sh_frame_number_mark){0, device_us};
    number->n_recent = 1;
}

static enum sh_frame_number_verdict judge_old(const struct sh_frame_number *number,
                                              int64_t device_us)
{
    for (size_t i = 0; i < number->n_recent; i++) {
        if (number->recent[i].device_us == device_us) {
            return SH_FRAME_NUMBER_REPEATED;
        }
    }
    return SH_FRAME_NUMBER_LATE;
}

enum sh_frame_number_verdict
sh_frame_number_push(struct sh_frame_number *number, int64_t device_us, uint64_t *frame)
{
    struct sh_frame_number_mark mark = {0, device_us};
    if (number->n_recent > 0) {
        struct sh_frame_number_mark last = last_of(number);
        if (device_us <= last.device_us) {
            return judge_old(number, device_us);
        }
        double steps =
            round(sh_frame_number_get_frame(number, (double)device_us) - (double)last.frame);
        mark.frame = last.frame + (steps > 1.0 ? (uint64_t)steps : 1);
        if (mark.frame > last.frame + 1) {
            number->n_recent = 0; /* what lay before the hole says nothing of what follows */
        }
    }
    append(number->recent, &number->n_recent, SH_FRAME_NUMBER_RECENT, mark);
    find_period(number, mark);
    *frame = mark.frame;
    return SH_FRAME_NUMBER_NEW;
}

/* Mean device time of the recent frames, each taken to the last one's place. */
static double last_time_us(const struct sh_frame_number *number)
{
    struct sh_frame_number_mark last = last_of(number);
    double sum_us = 0.0;
    for (size_t i = 0; i < number->n_recent; i++) {
        const struct sh_frame_number_mark *mark = &number->recent[i];
        sum_us += (double)(mark->device_us - last.device_us) +
                  (double)(last.frame - mark->frame) * number->period_us;
    }
    return (double)last.device_us + sum_us / (double)number->n_recent;
}

double sh_frame_number_get_time(const struct sh_frame_number *number, uint64_t frame)
{
    double steps = (double)frame - (double)last_of(number).frame;
    return last_time_us(number) + steps * number->period_us;
}

double sh_frame_number_get_frame(const struct sh_frame_number *number, double device_us)
{
    double steps = (device_us - last_time_us(number)) / number->period_us;
    return (double)last_of(number).frame + steps;
}

double sh_frame_number_get_rate_hz(const struct sh_frame_number *number)
{
    return (double)SECOND_US / number->period_us;
}
