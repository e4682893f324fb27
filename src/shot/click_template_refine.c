/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>

#include "base/units.h"
#include "shot/blow.h"
#include "shot/click_template_inside.h"
#include "shot/clicker.h"
#include "signal/stats.h"

#define SEEN_LEAST   0.25
#define NOISE_MARGIN 2.5758 /* standard deviations of the noise, on top of what was there */
#define ROUNDING_U   0.1    /* frames: of the parabola through a peak */
#define SWING_S      0.006  /* two swings of 333 Hz; further off is another blow */
#define DOUBT        3.0    /* standard uncertainties between two times of one blow */

/* The matched filter's output over a span. */
struct output {
    double *amount; /* [n]: of the shape that begins at each frame */
    size_t n;
    size_t peak;
    double noise;  /* standard deviation, from the median size */
    double second; /* largest away from the peak */
    double tail;   /* how the largest sizes fall off */
};

/*
 * A shape that begins shortly before the span's end is seen in part: what there is of it stands
 * for the whole, where that part holds SEEN_LEAST of its energy (a shape's is 1).
 */
static void complete_amounts(const struct sh_click_template *click, struct output *out)
{
    double energy = 1.0;
    const size_t n_part = click->n_frames < out->n ? click->n_frames : out->n;
    for (size_t length = n_part; length-- > 1;) {
        for (size_t a = 0; a < click->n_axes; a++) {
            const double x = click->shape[a * click->n_frames + length];
            energy -= x * x;
        }
        if (energy < SEEN_LEAST) {
            return;
        }
        out->amount[out->n - length] /= energy;
    }
}

static void
judge_output(const struct sh_click_template *click, struct output *out, double *work)
{
    const size_t before = click->n_frames;
    const size_t after = (size_t)ceil(SH_BLOW_RING_S * click->rate_hz);
    out->peak = 0;
    for (size_t i = 0; i < out->n; i++) {
        out->peak = out->amount[i] > out->amount[out->peak] ? i : out->peak;
    }
    /* the largest of each shape's length, so that neighbours do not count as many */
    size_t n = 0;
    size_t n_all = 0;
    for (size_t i = 0; i < out->n; i++) {
        if (i + before < out->peak || i > out->peak + after) {
            work[n_all++] = fabs(out->amount[i]);
        }
    }
    for (size_t i = 0; i < n_all; i += click->n_before) {
        double largest = 0.0;
        for (size_t k = i; k < i + click->n_before && k < n_all; k++) {
            largest = fmax(largest, work[k]);
        }
        work[n++] = largest; /* n is not above i */
    }
    sh_stats_sort(work, n);
    out->second = n > 0 ? work[n - 1] : 0.0;
    out->noise = n > 0 ? work[n / 2] / sqrt(2.0 * log((double)click->n_before + 2.0)) : 0.0;
    out->tail = n >= SH_BLOW_BLOCKS_MIN ? sh_blow_get_tail(work, n) : 0.0;
}

/* lag_s: from the peak to the release. */
static double get_probability(const struct sh_click_template *click,
                              const struct output *out,
                              double all_prior,
                              double lag_s)
{
    const double prior = all_prior * sh_blow_get_weight(lag_s);
    const double foreign_per_s =
        click->sensor == SH_CLICKER_SOUND ? SH_CLICKER_FOREIGN_PER_S : 0.0;
    const double amount = out->amount[out->peak];
    if (!(amount > out->second) || !(prior > 0.0)) {
        return 0.0;
    }
    const double contrast = log(amount) - log(fmax(out->second, 1e-12 * amount));
    const double by_chance = exp(-contrast / out->tail) / out->tail;
    const double off = (log(amount) - click->log_mean) / click->log_sd;
    const double by_blow = exp(-0.5 * off * off) / (click->log_sd * sqrt(2.0 * SH_PI));
    const double blow = prior * by_blow;
    const double foreign = sh_blow_get_foreign(foreign_per_s, lag_s) / SH_BLOW_CONTRAST_MAX;
    const double all = blow + foreign + (1.0 - prior) * by_chance;
    return all > 0.0 ? blow / all : 0.0;
}

/* The weakest but 0.5 % of the archer's blows. */
static double get_weakest(const struct sh_click_template *click)
{
    return exp(click->log_mean - SH_CLICK_TEMPLATE_WEAKEST * click->log_sd);
}

/* It would have stood out of all that was there. */
static bool is_no_blow(const struct sh_click_template *click, const struct output *out)
{
    return out->amount[out->peak] + NOISE_MARGIN * out->noise < get_weakest(click);
}

/* The shape fits nearly as well a whole swing off: then its blow's own first arrival stands. */
static bool is_swing_off(const struct sh_quantity *arrival_s, const struct sh_quantity *shape_s)
{
    if (!sh_quantity_is_known(arrival_s)) {
        return false;
    }
    const double apart_s = fabs(shape_s->value - arrival_s->value);
    return apart_s > DOUBT * hypot(shape_s->u, arrival_s->u) && apart_s < SWING_S;
}

static void take_result(const struct sh_click_template *click,
                        const struct output *out,
                        const struct sh_high_pass *pass,
                        double probability,
                        struct sh_shot *shot)
{
    shot->clicker_probability = probability;
    if (probability < SH_CLICKER_PROBABILITY_MIN) {
        shot->event_s[SH_EVENT_CLICKER] = sh_quantity_unknown(SH_WHY_NOT_SEEN);
        shot->clicker_sensor = SH_CLICKER_NONE;
        shot->strip = is_no_blow(click, out) ? SH_STRIP_NO_BLOW : SH_STRIP_UNKNOWN;
        return;
    }
    const struct sh_match match = sh_click_template_get_match(click);
    const double bend = sh_match_get_bend(&match, click->shape);
    const double noise = out->noise / (out->amount[out->peak] * fmax(bend, 1e-6));
    const double index = sh_match_get_top(out->amount, out->n, out->peak) + click->arrival;
    const struct sh_quantity time_s =
        sh_high_pass_get_time_s(pass, index, hypot(hypot(noise, click->arrival_u), ROUNDING_U));
    if (!is_swing_off(&shot->event_s[SH_EVENT_CLICKER], &time_s)) {
        shot->event_s[SH_EVENT_CLICKER] = time_s;
    }
    shot->clicker_sensor = click->sensor;
    shot->strip = SH_STRIP_FELL;
}

/* Is the clicker of this shot one to look for again, and where? */
static bool find_span(const struct sh_click_template *click,
                      const struct sh_shot_view *view,
                      const struct sh_shot *shot,
                      struct sh_high_pass *pass)
{
    double from_s = 0.0;
    double until_s = 0.0;
    size_t stream = 0;
    const bool is_settled =
        shot->clicker_sensor == SH_CLICKER_CONTACT || shot->strip == SH_STRIP_CONTACT_CLOSED;
    if (click->n_used == 0 || is_settled || shot->kind == SH_SHOT_LET_DOWN ||
        !sh_clicker_get_span(shot, &from_s, &until_s) ||
        !sh_click_template_find_axes(view, click->sensor, &stream, pass) ||
        stream != click->stream || pass->n_channels != click->n_axes ||
        fabs(pass->stream->stream->rate_hz - click->rate_hz) > 0.0) {
        return false;
    }
    pass->first = sh_high_pass_get_frame(pass, from_s);
    const size_t end = sh_high_pass_get_frame(pass, until_s);
    pass->n = end > pass->first ? end - pass->first : 0;
    return pass->n > click->n_frames && !sh_high_pass_is_lost(pass);
}

/* How much of the shape begins at each frame of a span; false where it cannot be worked out. */
static bool run_filter(const struct sh_click_template *click,
                       const struct sh_high_pass *pass,
                       double *work,
                       struct output *out)
{
    const struct sh_match match = sh_click_template_get_match(click);
    *out = (struct output){.amount = work + pass->stream->n_frames, .n = pass->n};
    for (size_t i = 0; i < out->n; i++) {
        out->amount[i] = 0.0;
    }
    for (size_t a = 0; a < pass->n_channels; a++) {
        if (sh_high_pass_filter(pass, a, work) != SH_OK) {
            return false;
        }
        sh_match_filter(&match, click->shape + a * click->n_frames, work, pass->n, out->amount);
    }
    complete_amounts(click, out);
    return true;
}

/*
 * Could a blow hide between the span's end and the release itself, which is not known so well?
 * What is there may be the release's own beginning: then nothing is said either.
 */
static bool may_hide(const struct sh_click_template *click,
                     const struct sh_high_pass *pass,
                     const struct sh_shot *shot,
                     double *work)
{
    struct sh_high_pass longer = *pass;
    struct output out;
    const double until_s = shot->event_s[SH_EVENT_RELEASE].value - SH_CLICKER_GUARD_S;
    const size_t end = sh_high_pass_get_frame(pass, until_s);
    longer.n = end > pass->first ? end - pass->first : 0;
    if (longer.n <= pass->n || !run_filter(click, &longer, work, &out)) {
        return false;
    }
    for (size_t i = pass->n - click->n_frames; i < out.n; i++) {
        if (out.amount[i] >= get_weakest(click)) {
            return true;
        }
    }
    return false;
}

void sh_click_template_refine(const struct sh_click_template *click,
                              const struct sh_shot_view *view,
                              double prior,
                              double *work,
                              struct sh_shot *shot)
{
    struct sh_high_pass pass;
    if (!(prior > 0.0) || !find_span(click, view, shot, &pass)) {
        return;
    }
    struct output out;
    if (!run_filter(click, &pass, work, &out)) {
        return;
    }
    judge_output(click, &out, work);
    if (!(out.tail > 0.0)) {
        return;
    }
    const double arrival_s =
        sh_high_pass_get_time_s(&pass, (double)out.peak + click->arrival, 0.0).value;
    const double lag_s = shot->event_s[SH_EVENT_RELEASE].value - arrival_s;
    take_result(click, &out, &pass, get_probability(click, &out, prior, lag_s), shot);
    if (shot->strip == SH_STRIP_NO_BLOW && may_hide(click, &pass, shot, work)) {
        shot->strip = SH_STRIP_UNKNOWN;
    }
}
