/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "shot/blow.h"

#include <math.h>
#include <stdbool.h>

#include "shot/high_pass.h"
#include "signal/onset.h"
#include "signal/stats.h"

#define BEFORE_S       0.006 /* before the strongest block, not compared with it */
#define LOOK_BEFORE_S  0.012 /* of the first block, where the arrival is picked */
#define TAIL_RATIO     0.1   /* of the blocks, whose energies show how they fall off */
#define TAIL_MIN       5.0
#define TAIL_MAX       100.0
#define BACK_RATIO     0.02 /* of the strongest block: an earlier one belongs to it */
#define BACK_NOISE     4.0  /* and this many times the median block */
#define BACK_SQUARE    6.0  /* over the median square: a sample that is not noise */
#define LAG_PER_LN     0.3  /* of the fading likelihood, in the choice of the block */
#define ONSET_EDGE     ((size_t)3)
#define SMALLEST_SHARE 1e-12 /* of the strongest: quieter is as quiet as that */
#define SMALLEST       1e-300
#define TAIL_SMALLEST  1e-3 /* no law falls off faster than that */

/* The span, filtered. */
struct span {
    struct sh_high_pass pass;
    size_t n; /* as in pass */
    size_t n_block;
    size_t n_blocks;
    double foreign_per_s;
    double *energy;  /* [n_blocks] */
    double *strong;  /* [n]: the channel with the largest energy in the end */
    double *scratch; /* [n] */
    double *sum;     /* [n]: summed squares */
};

/* Summed squares of all channels, energies of the blocks. */
static bool fill_span(struct span *span)
{
    if (sh_high_pass_add(&span->pass, span->scratch, span->sum) != SH_OK) {
        return false;
    }
    for (size_t b = 0; b < span->n_blocks; b++) {
        span->energy[b] = 0.0;
        for (size_t i = 0; i < span->n_block; i++) {
            span->energy[b] += span->sum[b * span->n_block + i];
        }
    }
    return true;
}

double sh_blow_get_weight(double lag_s)
{
    return lag_s > SH_BLOW_LAG_S ? exp((SH_BLOW_LAG_S - lag_s) / SH_BLOW_FADE_S) : 1.0;
}

double sh_blow_get_foreign(double foreign_per_s, double lag_s)
{
    const double late_s = fmax(lag_s - SH_BLOW_REACTION_S, 0.0);
    const double width_s = SH_BLOW_REACTION_S + SH_BLOW_REACTION_FADE_S; /* of reactions */
    return foreign_per_s * width_s * exp(late_s / SH_BLOW_REACTION_FADE_S);
}

/* How an archer's own blow fades so long before a release, as a logarithm. */
static double get_log_fading(const struct span *span, double lag_s)
{
    const double late_s =
        span->foreign_per_s > 0.0 ? fmax(lag_s - SH_BLOW_REACTION_S, 0.0) : 0.0;
    return log(sh_blow_get_weight(lag_s)) - late_s / SH_BLOW_REACTION_FADE_S;
}

/* From a block to the end of the span. */
static double get_lag_s(const struct span *span, size_t b)
{
    const double frames = (double)(span->n_blocks - b) * (double)span->n_block;
    return frames / span->pass.stream->stream->rate_hz;
}

static size_t find_strongest(const struct span *span)
{
    size_t best = 0;
    double best_score = -(double)INFINITY;
    for (size_t b = 0; b < span->n_blocks; b++) {
        const double score = log(fmax(span->energy[b], 1e-300)) +
                             LAG_PER_LN * get_log_fading(span, get_lag_s(span, b));
        if (score > best_score) {
            best = b;
            best_score = score;
        }
    }
    return best;
}

/* Sorted energies of the blocks that are not near the strongest; returns how many. */
static size_t list_others(const struct span *span, size_t best, double rate_hz, double *others)
{
    const double block_s = (double)span->n_block / rate_hz;
    const size_t before = (size_t)ceil(BEFORE_S / block_s);
    const size_t after = (size_t)ceil(SH_BLOW_RING_S / block_s);
    size_t n = 0;
    for (size_t b = 0; b < span->n_blocks; b++) {
        if (b + before < best || b > best + after) {
            others[n++] = span->energy[b];
        }
    }
    sh_stats_sort(others, n);
    return n;
}

double sh_blow_get_tail(const double *sorted, size_t n)
{
    const double wanted = fmin(TAIL_MAX, fmax(TAIL_MIN, TAIL_RATIO * (double)n));
    const size_t k = (size_t)fmin(wanted, (double)n - 1.0);
    const double smallest = fmax(SMALLEST_SHARE * sorted[n - 1], SMALLEST);
    const double base = log(fmax(sorted[n - 1 - k], smallest));
    double sum = 0.0;
    for (size_t i = n - k; i < n; i++) {
        sum += log(fmax(sorted[i], smallest)) - base;
    }
    return fmax(sum / (double)k, TAIL_SMALLEST);
}

static double get_probability(double contrast, double tail, double prior, double foreign)
{
    if (contrast <= 0.0) {
        return 0.0;
    }
    const double by_chance = exp(-contrast / tail) / tail;
    const double by_blow = 1.0 / SH_BLOW_CONTRAST_MAX;
    const double blow = prior * by_blow;
    return blow / (blow + foreign * by_blow + (1.0 - prior) * by_chance);
}

/* The first block of the event whose strongest one is best. */
static size_t find_first(const struct span *span, size_t best, double median)
{
    const double limit = fmax(BACK_RATIO * span->energy[best], BACK_NOISE * median);
    size_t first = best;
    while (first > 0 && span->energy[first - 1] > limit) {
        first--;
    }
    return first;
}

/* Leaves the filtered channel that is strongest in the event in span->strong. */
static void find_channel(struct span *span, size_t best)
{
    double largest = -1.0;
    for (size_t c = 0; c < span->pass.n_channels; c++) {
        double energy = 0.0;
        if (sh_high_pass_filter(&span->pass, c, span->scratch) != SH_OK) {
            continue;
        }
        for (size_t i = 0; i < span->n_block; i++) {
            const double y = span->scratch[best * span->n_block + i];
            energy += y * y;
        }
        if (energy > largest) {
            double *swap = span->strong;
            largest = energy;
            span->strong = span->scratch;
            span->scratch = swap;
        }
    }
}

/* First arrival, in frames of the span. */
static struct sh_onset pick(struct span *span, size_t first, size_t best, double rate_hz)
{
    const size_t look = (size_t)ceil(LOOK_BEFORE_S * rate_hz) + ONSET_EDGE;
    const size_t from = first * span->n_block > look ? first * span->n_block - look : 0;
    size_t until = (best + 1) * span->n_block;
    until = until > from + 2 * ONSET_EDGE ? until : from + 2 * ONSET_EDGE;
    until = until < span->n ? until : span->n;
    struct sh_onset onset = {.index = (double)(first * span->n_block),
                             .u = (double)span->n_block / sqrt(12.0)};
    struct sh_onset found;
    if (sh_onset_find_aic(span->strong + from, until - from, ONSET_EDGE, span->scratch,
                          &found) == SH_OK) {
        onset = found;
        onset.index += (double)from;
    }
    return onset;
}

/*
 * The pick lies on the first samples that stand out as a whole; the event began before them, as
 * long as each sample before is still beyond noise, and within the step before the first.
 */
static double go_back(const struct span *span, double index, double noise_square)
{
    size_t i = (size_t)fmax(0.0, floor(index));
    const size_t furthest = i > span->n_block ? i - span->n_block : 0;
    while (i > furthest && span->sum[i - 1] > BACK_SQUARE * noise_square) {
        i--;
    }
    return (double)i - 0.5;
}

static void weigh(const struct sh_blow_config *config, struct span *span, struct sh_blow *out)
{
    const double rate_hz = config->stream->stream->rate_hz;
    const size_t best = find_strongest(span);
    double *others = span->scratch;
    const size_t n = list_others(span, best, rate_hz, others);
    if (n < SH_BLOW_BLOCKS_MIN || !(span->energy[best] > 0.0)) {
        return;
    }
    const double smallest = SMALLEST_SHARE * span->energy[best];
    const double contrast = log(span->energy[best]) - log(fmax(others[n - 1], smallest));
    const double tail = sh_blow_get_tail(others, n);
    const double median = others[n / 2];
    const double lag_s = get_lag_s(span, best);
    const double prior = config->prior * sh_blow_get_weight(lag_s);
    const double foreign = sh_blow_get_foreign(config->foreign_per_s, lag_s);
    out->probability = get_probability(contrast, tail, prior, foreign);
    out->noise = sqrt(median / (double)span->n_block);
    const size_t first = find_first(span, best, median);
    for (size_t i = first * span->n_block; i < (best + 1) * span->n_block; i++) {
        out->amplitude = fmax(out->amplitude, sqrt(span->sum[i]));
    }
    find_channel(span, best);
    const struct sh_onset onset = pick(span, first, best, rate_hz);
    const double index = go_back(span, onset.index, median / (double)span->n_block);
    out->time_s = sh_high_pass_get_time_s(&span->pass, index, hypot(onset.u, 1.0 / sqrt(12.0)));
}

void sh_blow_find(const struct sh_blow_config *config, double *work, struct sh_blow *out)
{
    const struct sh_shot_stream *stream = config->stream;
    const double rate_hz = stream->stream->rate_hz;
    *out = (struct sh_blow){.time_s = sh_quantity_unknown(SH_WHY_TOO_SHORT)};
    if (rate_hz < SH_BLOW_RATE_MIN_HZ) {
        out->time_s = sh_quantity_unknown(SH_WHY_TOO_SLOW);
        return;
    }
    struct span span = {.pass = {.stream = stream,
                                 .n_channels = config->n_channels,
                                 .corner_hz = config->corner_hz},
                        .foreign_per_s = config->foreign_per_s,
                        .n_block = (size_t)fmax(1.0, floor(SH_BLOW_BLOCK_S * rate_hz))};
    for (size_t c = 0; c < config->n_channels; c++) {
        span.pass.channel[c] = config->channel[c];
    }
    const size_t first = sh_high_pass_get_frame(&span.pass, config->from_s);
    const size_t end = sh_high_pass_get_frame(&span.pass, config->until_s);
    if (end < first + SH_BLOW_BLOCKS_MIN * span.n_block) {
        return;
    }
    span.sum = work;
    span.energy = work + stream->n_frames;
    span.strong = span.energy + stream->n_frames;
    span.scratch = span.strong + stream->n_frames;
    /* whole blocks, counted back from the end: nothing of it is lost there */
    span.n_blocks = (end - first) / span.n_block;
    span.n = span.n_blocks * span.n_block;
    span.pass.n = span.n;
    span.pass.first = end - span.n;
    if (sh_high_pass_is_lost(&span.pass)) {
        out->time_s = sh_quantity_unknown(SH_WHY_GAP);
        return;
    }
    if (fill_span(&span)) {
        weigh(config, &span, out);
    }
}
