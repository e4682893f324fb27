/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/shock.h"

#include <math.h>

#include "shot/high_pass.h"

#include "signal/stats.h"

#define SLOW_S         0.05  /* memory of what the watch takes for standing still */
#define BEFORE_S       1.0   /* of stillness looked at, up to */
#define STILL_S        0.1   /* this long before the peak */
#define RISE_S         0.03  /* a shock reaches its peak within this */
#define RISE_RATIO     0.25  /* of the peak: the shock has begun */
#define SLIP_S         0.02  /* the string slips off at most so long before the shock */
#define QUIET_S        0.005 /* and before that nothing shakes; else it is lost in that */
#define ARROW_MEAN_S   0.015 /* time of an arrow on the string, as reckoned from its speed, */
#define ARROW_SPREAD_S 0.005 /* give or take */
#define ARROW_MIN_S    0.008 /* an arrow is on the string at least so long */
#define SOFT_S         0.002 /* the slip grows within this */
#define SLIP_RATIO     8.0   /* mean square after the pick over before it */

#define LOST_MAX 0.5 /* share of the ringing's samples that may be lost */

#define SURE_SQUARE 15.0 /* over the mean square before: a sample that is surely no noise */
#define BACK_SQUARE 6.0  /* one that hardly is */
#define SLIP_U      0.5  /* frames: the step, and half a frame that a soft start may hide */
#define FRAMES_MIN  ((size_t)16)

void sh_shock_init(struct sh_shock *shock,
                   double rate_hz,
                   const size_t *channel,
                   size_t n_channels,
                   uint64_t first_frame)
{
    *shock = (struct sh_shock){
        .rate_hz = rate_hz, .n_channels = n_channels, .next_frame = first_frame};
    for (size_t i = 0; i < n_channels; i++) {
        shock->channel[i] = channel[i];
    }
}

bool sh_shock_push(struct sh_shock *shock, const double *value)
{
    const double share = fmin(1.0, 1.0 / (SLOW_S * shock->rate_hz));
    const uint64_t frame = shock->next_frame++;
    double square = 0.0;
    for (size_t i = 0; i < shock->n_channels; i++) {
        const double now = value[shock->channel[i]];
        double *slow = &shock->slow_m_s2[i];
        if (!shock->has_begun) {
            *slow = now;
        }
        square += (now - *slow) * (now - *slow);
        *slow += share * (now - *slow);
    }
    shock->has_begun = true;
    if (!shock->is_triggered) {
        shock->is_triggered = square > SH_SHOCK_TRIGGER_M_S2 * SH_SHOCK_TRIGGER_M_S2;
        shock->trigger_frame = shock->is_triggered ? frame : shock->trigger_frame;
        return false;
    }
    const double since = (double)(frame - shock->trigger_frame);
    shock->is_triggered = since < SH_SHOCK_MERGE_S * shock->rate_hz;
    return !shock->is_triggered;
}

/* The span of the judgement: squares of what is quick, from a second before on. */
struct span {
    struct sh_high_pass pass;
    double *sum; /* [pass.n] */

    double *scratch; /* [pass.n] */
    double rate_hz;
};

static bool is_lost(const struct span *span, size_t i)
{
    return (span->pass.stream->flags[span->pass.first + i] & SH_SHOT_FLAG_FILLED) != 0;
}

/* Of the frames that are there. */
static double get_mean_square(const struct span *span, size_t first, size_t end)
{
    double sum = 0.0;
    double n = 0.0;
    end = end < span->pass.n ? end : span->pass.n;
    for (size_t i = first; i < end; i++) {
        const bool is_there = !is_lost(span, i);
        sum += is_there ? span->sum[i] : 0.0;
        n += is_there ? 1.0 : 0.0;
    }
    return n > 0.0 ? sum / n : 0.0;
}

/* Share of the frames from first up to but not end that were lost; 0 where there are none. */
static double get_lost_ratio(const struct span *span, size_t first, size_t end)
{
    size_t n = 0;
    end = end < span->pass.n ? end : span->pass.n;
    for (size_t i = first; i < end; i++) {
        n += is_lost(span, i) ? 1 : 0;
    }
    return end > first ? (double)n / (double)(end - first) : 0.0;
}

static size_t back(size_t from, double time_s, double rate_hz)
{
    const size_t frames = (size_t)ceil(time_s * rate_hz);
    return from > frames ? from - frames : 0;
}

/* Where the shock begins: the first frame of its rise at a quarter of its peak. */
static size_t find_begin(const struct span *span, size_t peak)
{
    const double limit = RISE_RATIO * RISE_RATIO * span->sum[peak];
    size_t i = back(peak, RISE_S, span->rate_hz);
    while (i < peak && span->sum[i] < limit) {
        i++;
    }
    return i;
}

/* Back to where the shaking began to grow: a slip starts softly. */
static size_t find_foot(const struct span *span, size_t first, size_t at)
{
    const size_t least = back(at, SOFT_S, span->rate_hz);
    while (at > first && at > least && span->sum[at - 1] < span->sum[at]) {
        at--;
    }
    return at;
}

/*
 * The string's slip before the shock: the first frame from SLIP_S before it on that is surely
 * no noise, and those right before it that hardly are. What shakes already before that (a
 * clicker that rings on) counts as noise. False where nothing stands out so long before until
 * that it can be the slip.
 */
static bool find_slip(const struct span *span,
                      size_t begin,
                      size_t until,
                      double still_square,
                      struct sh_quantity *release_s)
{
    const size_t first = back(begin, SLIP_S, span->rate_hz);
    const size_t quiet = back(first, QUIET_S, span->rate_hz);
    const size_t last = back(until, ARROW_MIN_S, span->rate_hz);
    size_t at = first;
    if (get_lost_ratio(span, quiet, until) > 0.0) {
        return false;
    }
    const double noise = fmax(still_square, get_mean_square(span, quiet, first));
    while (at < last && span->sum[at] <= SURE_SQUARE * noise) {
        at++;
    }
    if (at >= last || get_mean_square(span, at, until) < SLIP_RATIO * noise) {
        return false;
    }
    while (at > first && span->sum[at - 1] > BACK_SQUARE * noise) {
        at--;
    }
    const bool is_still = noise <= BACK_SQUARE * still_square;
    const size_t foot = is_still ? at : find_foot(span, first, at);
    const double u = is_still ? SLIP_U : hypot(SLIP_U, 0.5 * SOFT_S * span->rate_hz);
    *release_s = sh_high_pass_get_time_s(&span->pass, (double)foot - 0.5, u);
    return true;
}

/* An arrow's time on the string before the shock, which began in early .. late. */
static struct sh_quantity reckon_release(const struct span *span, size_t early, size_t late)
{
    const double rate_hz = span->rate_hz;
    const double wide_s = (double)(late - early) / rate_hz;
    const double half_s = ARROW_SPREAD_S + 0.5 * wide_s;
    const double place = 0.5 * (double)(late + early) - 0.5 - ARROW_MEAN_S * rate_hz;
    struct sh_quantity release_s =
        sh_high_pass_get_time_s(&span->pass, place, 2.0 * half_s * rate_hz / sqrt(12.0));
    release_s.has_interval = true;
    release_s.lo = release_s.value - half_s;
    release_s.hi = release_s.value + half_s;
    return release_s;
}

static bool is_clipped(const struct span *span, size_t first, size_t last)
{
    const unsigned char *flags = span->pass.stream->flags + span->pass.first;
    bool has_clipped = false;
    for (size_t i = first; i <= last; i++) {
        has_clipped = has_clipped || (flags[i] & SH_SHOT_FLAG_CLIPPED) != 0;
    }
    return has_clipped;
}

static struct sh_quantity
find_release(const struct span *span, size_t peak, double still_square)
{
    const size_t begin = find_begin(span, peak);
    const double rise_s = (double)(peak - begin) / span->rate_hz;
    struct sh_quantity release_s;
    size_t early = begin;
    if (find_slip(span, begin, begin, still_square, &release_s)) {
        return release_s;
    }
    while (early > 0 && is_lost(span, early - 1)) {
        early--;
    }
    if (rise_s >= ARROW_MEAN_S - ARROW_SPREAD_S && is_clipped(span, begin, peak)) {
        /* where the shock clips, the slip may look as strong */
        return find_slip(span, begin, peak, still_square, &release_s)
                   ? release_s
                   : reckon_release(span, early, peak);
    }
    release_s = reckon_release(span, early, begin);
    if (rise_s >= ARROW_MEAN_S - ARROW_SPREAD_S) {
        /* the ringing is the strongest; or a strong slip, and it begins there */
        release_s.hi += ARROW_MEAN_S - ARROW_SPREAD_S;
        release_s.u = (release_s.hi - release_s.lo) / sqrt(12.0);
    }
    return release_s;
}

/* is_hidden: samples were lost just there, so that the peak may not have been seen. */
static bool is_shock(const struct sh_shock_config *config,
                     const struct sh_shock_found *found,
                     bool is_hidden)
{
    const double still = found->before_m_s2;
    const double least_m_s2 = fmax(SH_SHOCK_PEAK_M_S2, SH_SHOCK_PEAK_RATIO * still);
    return (found->peak_m_s2 >= least_m_s2 || is_hidden) &&
           found->tail_m_s2 >= fmax(SH_SHOCK_TAIL_M_S2, SH_SHOCK_TAIL_RATIO * still) &&
           found->tail_m_s2 >= SH_SHOCK_USUAL_RATIO * config->usual_m_s2;
}

/* Median over 10 ms of the mean squares between two frames: one knock does not raise it. */
static double find_still(const struct span *span, size_t first, size_t end, double *scratch)
{
    const size_t block = (size_t)fmax(1.0, floor(0.01 * span->rate_hz));
    size_t n = 0;
    for (size_t i = first; i + block <= end; i += block) {
        if (get_lost_ratio(span, i, i + block) <= LOST_MAX) {
            scratch[n++] = get_mean_square(span, i, i + block);
        }
    }
    return n > 0 ? sh_stats_select_median(scratch, n) : (double)INFINITY;
}

static bool open_span(const struct sh_shock_config *config, double *work, struct span *span)
{
    const struct sh_shot_stream *stream = config->stream;
    *span = (struct span){.pass = {.stream = stream,
                                   .n_channels = config->n_channels,
                                   .corner_hz = SH_SHOCK_CORNER_HZ},
                          .rate_hz = stream->stream->rate_hz};
    for (size_t c = 0; c < config->n_channels; c++) {
        span->pass.channel[c] = config->channel[c];
    }
    span->sum = work;
    span->scratch = work + stream->n_frames;
    const size_t from =
        sh_high_pass_get_frame(&span->pass, config->from_s - BEFORE_S - STILL_S);
    const size_t end =
        sh_high_pass_get_frame(&span->pass, config->until_s + SH_SHOCK_TAIL_END_S);
    span->pass.first = from;
    span->pass.n = end > from ? end - from : 0;
    return span->rate_hz >= SH_SHOCK_RATE_MIN_HZ && span->pass.n > FRAMES_MIN &&
           sh_high_pass_add(&span->pass, span->scratch, span->sum) == SH_OK;
}

enum sh_shock_answer
sh_shock_judge(const struct sh_shock_config *config, double *work, struct sh_shock_found *found)
{
    struct span span;
    *found = (struct sh_shock_found){.release_s = sh_quantity_unknown(SH_WHY_NOT_SEEN)};
    if (!open_span(config, work, &span)) {
        return SH_SHOCK_UNKNOWN;
    }
    const size_t from = sh_high_pass_get_frame(&span.pass, config->from_s) - span.pass.first;
    const size_t until = sh_high_pass_get_frame(&span.pass, config->until_s) - span.pass.first;
    size_t peak = from;
    for (size_t i = from; i < until; i++) {
        peak = span.sum[i] > span.sum[peak] ? i : peak;
    }
    const size_t tail = peak + (size_t)(SH_SHOCK_TAIL_BEGIN_S * span.rate_hz);
    const size_t tail_end = peak + (size_t)(SH_SHOCK_TAIL_END_S * span.rate_hz);
    const size_t still_end = back(peak, STILL_S, span.rate_hz);
    if (peak >= span.pass.n || tail + 1 >= span.pass.n || still_end < 2 ||
        get_lost_ratio(&span, tail, tail_end) > LOST_MAX) {
        return SH_SHOCK_UNKNOWN;
    }
    const double still_square =
        find_still(&span, back(still_end, BEFORE_S, span.rate_hz), still_end, span.scratch);
    found->peak_m_s2 = sqrt(span.sum[peak]);
    found->tail_m_s2 = sqrt(get_mean_square(&span, tail, tail_end));
    found->before_m_s2 = sqrt(still_square);
    const size_t around = back(peak, RISE_S, span.rate_hz);
    if (!is_shock(config, found, get_lost_ratio(&span, around, tail) > 0.0)) {
        return SH_SHOCK_NONE;
    }
    found->release_s = find_release(&span, peak, still_square);
    return SH_SHOCK_FOUND;
}
