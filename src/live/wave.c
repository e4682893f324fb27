/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/wave.h"

#include <math.h>
#include <stdlib.h>

#include "live/number_text.h"

#define LEVELS_MAX   12u /* 4^11 is SH_WAVE_BINS_MAX */
#define BINS_MIN     16u
#define LEVEL_SHIFT  2u /* each level holds 4 pieces of the one below */
#define PIECES_READ  4u /* a step is made of so many pieces at least, where it can be */
#define VALUE_DIGITS 6
#define BIN_S        0.005
/* A millionth of a piece: a sample on a border falls on the same side however it was cut. */
#define BIN_SLACK 1e-6
#define BINS      262144u

/* Lowest above highest: no sample. */
struct channel {
    float *lo[LEVELS_MAX]; /* owned, [capacity >> 2 level] */
    float *hi[LEVELS_MAX];
    size_t n_bins;    /* shortest pieces begun */
    bool is_unbroken; /* a sample came last, not a loss */
    float last;       /* that sample */
};

struct sh_wave {
    struct sh_wave_config config;
    double bin_s; /* grows */
    size_t n_levels;
    struct channel *channels; /* owned, [n_channels] */
};

struct sh_wave_config sh_wave_config_default(void)
{
    return (struct sh_wave_config){.bin_s = BIN_S, .n_bins_max = BINS};
}

/* Pieces of a level that hold n shortest ones. */
static size_t get_pieces(size_t n, size_t level)
{
    return n == 0 ? 0 : ((n - 1) >> (LEVEL_SHIFT * level)) + 1;
}

void sh_wave_close(struct sh_wave **wave)
{
    if (wave == NULL || *wave == NULL) {
        return;
    }
    for (size_t i = 0; (*wave)->channels != NULL && i < (*wave)->config.n_channels; i++) {
        for (size_t level = 0; level < LEVELS_MAX; level++) {
            free((*wave)->channels[i].lo[level]);
            free((*wave)->channels[i].hi[level]);
        }
    }
    free((*wave)->channels);
    free(*wave);
    *wave = NULL;
}

static enum sh_status check_config(const struct sh_wave_config *config, struct sh_error *err)
{
    if (config->n_channels < 1 || config->n_channels > SH_WAVE_CHANNELS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, NULL, "%zu channels of a wave",
                            config->n_channels);
    }
    if (!(config->bin_s > 0.0 && config->bin_s <= SH_WAVE_TIME_MAX_S) ||
        config->n_bins_max < BINS_MIN || config->n_bins_max > SH_WAVE_BINS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, NULL, "%zu pieces of %g s of a wave",
                            config->n_bins_max, config->bin_s);
    }
    return SH_OK;
}

static enum sh_status open_channel(const struct sh_wave *wave, struct channel *channel)
{
    for (size_t level = 0; level < wave->n_levels; level++) {
        size_t n_bytes = (get_pieces(wave->config.n_bins_max, level) + 1) * sizeof(float);
        channel->lo[level] = malloc(n_bytes);
        channel->hi[level] = malloc(n_bytes);
        if (channel->lo[level] == NULL || channel->hi[level] == NULL) {
            return SH_ERR_MEMORY;
        }
    }
    return SH_OK;
}

static enum sh_status open_channels(struct sh_wave *wave)
{
    wave->channels = calloc(wave->config.n_channels, sizeof *wave->channels);
    enum sh_status status = wave->channels != NULL ? SH_OK : SH_ERR_MEMORY;
    for (size_t i = 0; i < wave->config.n_channels && status == SH_OK; i++) {
        status = open_channel(wave, &wave->channels[i]);
    }
    return status;
}

enum sh_status
sh_wave_open(const struct sh_wave_config *config, struct sh_wave **out, struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_wave *wave = calloc(1, sizeof *wave);
    if (wave != NULL) {
        wave->config = *config;
        wave->bin_s = config->bin_s;
        wave->n_levels = 1;
        while (wave->n_levels < LEVELS_MAX &&
               get_pieces(config->n_bins_max, wave->n_levels - 1) > 1) {
            wave->n_levels++;
        }
    }
    status = wave != NULL ? open_channels(wave) : SH_ERR_MEMORY;
    if (status != SH_OK) {
        sh_wave_close(&wave);
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    *out = wave;
    return SH_OK;
}

static void empty_pieces(struct channel *channel, size_t level, size_t from, size_t until)
{
    for (size_t i = from; i < until; i++) {
        channel->lo[level][i] = (float)INFINITY;
        channel->hi[level][i] = -(float)INFINITY;
    }
}

/* Begins the pieces up to n_bins, without samples. */
static void extend(const struct sh_wave *wave, struct channel *channel, size_t n_bins)
{
    for (size_t level = 0; level < wave->n_levels && n_bins > channel->n_bins; level++) {
        empty_pieces(channel, level, get_pieces(channel->n_bins, level),
                     get_pieces(n_bins, level));
    }
    channel->n_bins = n_bins > channel->n_bins ? n_bins : channel->n_bins;
}

static void widen(struct channel *channel, size_t level, size_t piece, float lo, float hi)
{
    channel->lo[level][piece] = fminf(channel->lo[level][piece], lo);
    channel->hi[level][piece] = fmaxf(channel->hi[level][piece], hi);
}

/* Puts a value into a piece of each level; a level that holds it holds it above, too. */
static void put_value(const struct sh_wave *wave, struct channel *channel, size_t bin, float x)
{
    for (size_t level = 0; level < wave->n_levels; level++) {
        size_t piece = bin >> (LEVEL_SHIFT * level);
        if (x >= channel->lo[level][piece] && x <= channel->hi[level][piece]) {
            return;
        }
        widen(channel, level, piece, x, x);
    }
}

/* Lays each two of the shortest pieces together and makes the levels above anew. */
static void halve_channel(const struct sh_wave *wave, struct channel *channel)
{
    size_t n = channel->n_bins;
    for (size_t i = 0; i < (n + 1) / 2; i++) {
        float lo = channel->lo[0][2 * i];
        float hi = channel->hi[0][2 * i];
        channel->lo[0][i] = 2 * i + 1 < n ? fminf(lo, channel->lo[0][2 * i + 1]) : lo;
        channel->hi[0][i] = 2 * i + 1 < n ? fmaxf(hi, channel->hi[0][2 * i + 1]) : hi;
    }
    channel->n_bins = (n + 1) / 2;
    for (size_t level = 1; level < wave->n_levels; level++) {
        empty_pieces(channel, level, 0, get_pieces(channel->n_bins, level));
        for (size_t i = 0; i < get_pieces(channel->n_bins, level - 1); i++) {
            widen(channel, level, i >> LEVEL_SHIFT, channel->lo[level - 1][i],
                  channel->hi[level - 1][i]);
        }
    }
}

/* Makes room for a time, which is the longest ever. */
static void make_room(struct sh_wave *wave, double time_s)
{
    while (time_s / wave->bin_s + BIN_SLACK >= (double)wave->config.n_bins_max) {
        for (size_t i = 0; i < wave->config.n_channels; i++) {
            halve_channel(wave, &wave->channels[i]);
        }
        wave->bin_s *= 2.0;
    }
}

/* One sample; those before reach up to it where none was lost between. */
static void put_sample(const struct sh_wave *wave,
                       struct channel *channel,
                       const struct sh_wave_frames *frames,
                       double time_s,
                       double value)
{
    if (frames->is_lost || !isfinite(value)) {
        channel->is_unbroken = false;
        return;
    }
    size_t bin = (size_t)(time_s / wave->bin_s + BIN_SLACK);
    size_t n_before = channel->n_bins;
    size_t n_reached = (size_t)(frames->step_s / wave->bin_s) + 2u;
    extend(wave, channel, bin + 1);
    size_t first =
        n_before < bin && channel->is_unbroken && bin - n_before <= n_reached ? n_before : bin;
    for (size_t i = first; i < bin; i++) {
        put_value(wave, channel, i, channel->last);
    }
    put_value(wave, channel, bin, (float)value);
    channel->last = (float)value;
    channel->is_unbroken = true;
}

enum sh_status sh_wave_push(struct sh_wave *wave, const struct sh_wave_frames *frames)
{
    size_t n_channels = frames->n_channels;
    double last_s = frames->start_s + (double)frames->n_frames * frames->step_s;
    if (frames->first_channel > wave->config.n_channels ||
        n_channels > wave->config.n_channels - frames->first_channel ||
        !(frames->step_s > 0.0) || !(last_s < SH_WAVE_TIME_MAX_S) ||
        !isfinite(frames->start_s)) {
        return SH_ERR_ARGUMENT;
    }
    for (size_t i = 0; i < frames->n_frames; i++) {
        double time_s = frames->start_s + (double)i * frames->step_s;
        if (time_s < 0.0) {
            continue;
        }
        make_room(wave, time_s);
        for (size_t k = 0; k < n_channels; k++) {
            put_sample(wave, &wave->channels[frames->first_channel + k], frames, time_s,
                       frames->value[i * n_channels + k]);
        }
    }
    return SH_OK;
}

double sh_wave_get_end_s(const struct sh_wave *wave)
{
    size_t n_bins = 0;
    for (size_t i = 0; i < wave->config.n_channels; i++) {
        size_t n = wave->channels[i].n_bins;
        n_bins = n > n_bins ? n : n_bins;
    }
    return (double)n_bins * wave->bin_s;
}

enum sh_status sh_wave_select(const struct sh_wave *wave,
                              double from_s,
                              double until_s,
                              size_t n_points,
                              struct sh_wave_window *window)
{
    double begin_s = from_s < 0.0 ? 0.0 : from_s;
    if (!(begin_s < until_s) || !(until_s <= SH_WAVE_TIME_MAX_S) || n_points < 1 ||
        n_points >= SH_WAVE_STEPS_MAX) {
        return SH_ERR_ARGUMENT;
    }
    double wanted = ceil((until_s - begin_s) / (double)n_points / wave->bin_s - 1e-9);
    size_t n_bins = wanted < 1.0 ? 1 : (size_t)wanted;
    size_t level = 0;
    while (level + 1 < wave->n_levels &&
           (PIECES_READ << (LEVEL_SHIFT * (level + 1))) <= n_bins) {
        level++;
    }
    n_bins = get_pieces(n_bins, level) << (LEVEL_SHIFT * level);
    double step_s = (double)n_bins * wave->bin_s;
    double first = floor(begin_s / step_s);
    double end = ceil(until_s / step_s);
    *window = (struct sh_wave_window){.first = (uint64_t)first * n_bins,
                                      .n_bins = n_bins,
                                      .n_steps = (size_t)(end - first),
                                      .level = level,
                                      .start_s = first * step_s,
                                      .step_s = step_s};
    return SH_OK;
}

bool sh_wave_find(const struct sh_wave *wave,
                  const struct sh_wave_window *window,
                  size_t channel,
                  size_t step,
                  double *lo,
                  double *hi)
{
    const struct channel *course = &wave->channels[channel];
    uint64_t from = (window->first + step * window->n_bins) >> (LEVEL_SHIFT * window->level);
    uint64_t until = from + (window->n_bins >> (LEVEL_SHIFT * window->level));
    uint64_t n = get_pieces(course->n_bins, window->level);
    float low = (float)INFINITY;
    float high = -(float)INFINITY;
    for (uint64_t i = from; i < until && i < n; i++) {
        low = fminf(low, course->lo[window->level][i]);
        high = fmaxf(high, course->hi[window->level][i]);
    }
    if (low > high) {
        return false;
    }
    *lo = (double)low;
    *hi = (double)high;
    return true;
}

static void format_side(const struct sh_wave *wave,
                        const struct sh_wave_window *window,
                        size_t channel,
                        bool is_high,
                        struct sh_text *text)
{
    for (size_t step = 0; step < window->n_steps; step++) {
        double lo = (double)NAN;
        double hi = (double)NAN;
        (void)sh_wave_find(wave, window, channel, step, &lo, &hi);
        sh_text_puts(text, step > 0 ? "," : "");
        sh_number_text_put(text, is_high ? hi : lo, VALUE_DIGITS);
    }
}

void sh_wave_format(const struct sh_wave *wave,
                    const struct sh_wave_window *window,
                    unsigned recording,
                    struct sh_text *text)
{
    struct sh_wave_window shown = *window;
    double reach = ceil((sh_wave_get_end_s(wave) - window->start_s) / window->step_s - 1e-9);
    double n_most = reach > 0.0 ? reach : 0.0;
    shown.n_steps = n_most < (double)window->n_steps ? (size_t)n_most : window->n_steps;
    sh_text_printf(text, "{\"type\":\"wave\",\"recording\":%u,\"t0\":%.9g,\"dt\":%.9g",
                   recording, window->start_s, window->step_s);
    sh_text_puts(text, ",\"channels\":[");
    for (size_t i = 0; i < wave->config.n_channels; i++) {
        sh_text_puts(text, i > 0 ? ",{\"lo\":[" : "{\"lo\":[");
        format_side(wave, &shown, i, false, text);
        sh_text_puts(text, "],\"hi\":[");
        format_side(wave, &shown, i, true, text);
        sh_text_puts(text, "]}");
    }
    sh_text_puts(text, "]}");
}
