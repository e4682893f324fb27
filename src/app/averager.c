/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/averager.h"

#include <math.h>
#include <stdlib.h>
#include <time.h>

#include "app/intake.h"

#define STEP_MS        20
#define SILENCE_US     5000000
#define US_PER_S       1000000
#define NS_PER_US      1000
#define WAIT_TIMES     5.0 /* the averaging time: how long a sensor may take to settle */
#define SETTLED_U      4.0
#define SETTLED_COUNTS 0.02 /* a difference no sensor can show */
#define SKIPPED        3u   /* first batches: what was under way when the person answered */
#define BATCHES_MAX    6000u

struct batch {
    double n;
    double mean[SH_STREAM_CHANNELS_MAX];
    double squares[SH_STREAM_CHANNELS_MAX]; /* about the mean */
};

struct sh_averager {
    struct sh_averager_config config;
    struct sh_intake *intake;
    size_t n_channels;
    double rate_hz;
    double batch_frames;
    struct batch *batch; /* [BATCHES_MAX], owned */
    size_t n_batches;    /* complete ones */
    int64_t heard_us;    /* when frames last came */
};

static int64_t now_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

/* Adds a frame to the batch under way (Welford 1962). */
static void add_frame(struct sh_averager *averager, const double *raw)
{
    if (averager->n_batches == BATCHES_MAX) {
        return;
    }
    struct batch *batch = &averager->batch[averager->n_batches];
    batch->n += 1.0;
    for (size_t i = 0; i < averager->n_channels; i++) {
        const double off = raw[i] - batch->mean[i];
        batch->mean[i] += off / batch->n;
        batch->squares[i] += off * (raw[i] - batch->mean[i]);
    }
    if (batch->n >= averager->batch_frames) {
        averager->n_batches++;
        if (averager->n_batches < BATCHES_MAX) {
            averager->batch[averager->n_batches] = (struct batch){0};
        }
    }
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    struct sh_averager *averager = context;
    (void)err;
    if (block->stream != averager->config.stream || block->is_filled) {
        return SH_OK;
    }
    averager->heard_us = now_us();
    for (size_t i = 0; i < block->n_frames; i++) {
        add_frame(averager, block->raw + i * block->n_channels);
    }
    return SH_OK;
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    (void)context;
    (void)stream;
    (void)anchor;
    (void)err;
    return SH_OK;
}

static void forget(struct sh_averager *averager)
{
    averager->n_batches = 0;
    averager->batch[0] = (struct batch){0};
    averager->heard_us = now_us();
}

enum sh_status sh_averager_open(const struct sh_averager_config *config,
                                struct sh_averager **out,
                                struct sh_error *err)
{
    struct sh_averager *averager = calloc(1, sizeof *averager);
    enum sh_status status = SH_ERR_MEMORY;
    if (averager == NULL) {
        return sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    const struct sh_stream *stream = &config->profile->streams[config->stream].stream;
    averager->config = *config;
    averager->n_channels = stream->n_channels;
    averager->rate_hz = stream->rate_hz;
    averager->batch_frames = fmax(1.0, floor(SH_AVERAGER_BATCH_S * stream->rate_hz));
    averager->batch = calloc(BATCHES_MAX, sizeof *averager->batch);
    if (averager->batch == NULL) {
        (void)sh_error_set(err, status, NULL, NULL, "out of memory");
        goto out;
    }
    const struct sh_intake_config intake = {
        .profile = config->profile,
        .address = config->address,
        .start_host_us = now_us(),
        .timeout_ms = STEP_MS,
        .sink = {.block = take_block, .anchor = take_anchor, .context = averager}};
    status = sh_intake_open(&intake, &averager->intake, err);
out:
    if (status == SH_OK) {
        forget(averager);
        *out = averager;
    } else {
        sh_averager_close(&averager);
    }
    return status;
}

void sh_averager_close(struct sh_averager **averager)
{
    if (*averager == NULL) {
        return;
    }
    sh_intake_close(&(*averager)->intake);
    free((*averager)->batch);
    free(*averager);
    *averager = NULL;
}

static enum sh_status step(struct sh_averager *averager, struct sh_error *err)
{
    enum sh_intake_answer answer = SH_INTAKE_NOTHING_YET;
    enum sh_status status = sh_intake_step(averager->intake, &answer, err);
    if (status == SH_OK && answer == SH_INTAKE_END) {
        status = sh_error_set(err, SH_ERR_NOT_FOUND, averager->config.address,
                              "plug it in and begin anew", "the sensor has gone");
    }
    return status;
}

/* What has waited is of before: it is taken, and left out. */
enum sh_status sh_averager_idle(struct sh_averager *averager, struct sh_error *err)
{
    enum sh_status status = step(averager, err);
    forget(averager);
    return status;
}

/* Steps until there are so many batches, those skipped not counted. */
static enum sh_status gather(struct sh_averager *averager, size_t n, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    while (status == SH_OK && averager->n_batches < SKIPPED + n) {
        status = step(averager, err);
        if (status == SH_OK && now_us() - averager->heard_us > SILENCE_US) {
            status = sh_error_set(err, SH_ERR_NOT_FOUND, averager->config.address,
                                  "check the port, its baud rate and the profile's columns",
                                  "no good frame came for 5 s");
        }
    }
    return status;
}

static double get_mean(const struct batch *batch, size_t n, size_t channel)
{
    double sum = 0.0;
    double total = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += batch[i].n * batch[i].mean[channel];
        total += batch[i].n;
    }
    return sum / total;
}

static bool is_settled(const struct batch *batch, size_t n, size_t channel)
{
    const size_t half = n / 2;
    double squares = 0.0;
    for (size_t i = 1; i < n; i++) {
        const double step = batch[i].mean[channel] - batch[i - 1].mean[channel];
        squares += step * step;
    }
    const double batch_u = sqrt(0.5 * squares / (double)(n - 1));
    const double difference_u = batch_u * sqrt(2.0 / (double)half);
    const double difference =
        get_mean(batch + n - half, half, channel) - get_mean(batch, half, channel);
    return fabs(difference) <= SETTLED_U * difference_u + SETTLED_COUNTS;
}

static void
average(const struct batch *batch, size_t n, size_t channel, struct sh_averager_reading *out)
{
    const double mean = get_mean(batch, n, channel);
    double squares = 0.0;
    double between = 0.0;
    double total = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double off = batch[i].mean[channel] - mean;
        squares += batch[i].squares[channel] + batch[i].n * off * off;
        between += off * off;
        total += batch[i].n;
    }
    const double variance = squares / fmax(1.0, total - 1.0);
    const double mean_variance = between / (double)(n - 1) / (double)n;
    out->counts[channel] = mean;
    out->noise_counts[channel] = sqrt(variance);
    out->n_samples[channel] =
        mean_variance > 0.0 ? fmin(total, fmax(1.0, variance / mean_variance)) : total;
}

static enum sh_status check_request(const struct sh_averager *averager,
                                    size_t channel,
                                    double seconds,
                                    double seconds_max,
                                    struct sh_error *err)
{
    if (channel < averager->n_channels && seconds >= SH_AVERAGER_SECONDS_MIN &&
        seconds <= seconds_max) {
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "averaging", "take 0.5 to 60 s, records to 600",
                        "%g s of column %zu cannot be had", seconds, channel + 1);
}

enum sh_status sh_averager_take(struct sh_averager *averager,
                                size_t channel,
                                double seconds,
                                struct sh_averager_reading *out,
                                struct sh_error *err)
{
    enum sh_status status =
        check_request(averager, channel, seconds, SH_AVERAGER_SECONDS_MAX, err);
    if (status != SH_OK) {
        return status;
    }
    const size_t n = (size_t)lround(seconds / SH_AVERAGER_BATCH_S);
    const size_t n_last = (size_t)(WAIT_TIMES * (double)n);
    size_t first = 0;
    *out = (struct sh_averager_reading){.n_channels = averager->n_channels};
    status = sh_averager_idle(averager, err);
    for (first = 0; first <= n_last && status == SH_OK && !out->is_settled; first++) {
        status = gather(averager, first + n, err);
        out->is_settled =
            status == SH_OK && is_settled(averager->batch + SKIPPED + first, n, channel);
    }
    if (status != SH_OK) {
        return status;
    }
    first--;
    out->waited_s = (double)first * SH_AVERAGER_BATCH_S;
    for (size_t i = 0; i < averager->n_channels; i++) {
        average(averager->batch + SKIPPED + first, n, i, out);
    }
    return SH_OK;
}

enum sh_status sh_averager_record(struct sh_averager *averager,
                                  size_t channel,
                                  double seconds,
                                  const struct sh_averager_parts *parts,
                                  struct sh_error *err)
{
    const size_t n = parts->n;
    const double n_batches = floor(seconds / SH_AVERAGER_BATCH_S);
    enum sh_status status =
        check_request(averager, channel, seconds, SH_AVERAGER_STEADY_MAX_S - 1.0, err);
    if (status == SH_OK && (n < 8 || (double)n > n_batches)) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "averaging", "record for longer",
                              "%g s do not make %zu parts", seconds, n);
    }
    if (status != SH_OK) {
        return status;
    }
    status = sh_averager_idle(averager, err);
    status = status == SH_OK ? gather(averager, (size_t)n_batches, err) : status;
    for (size_t i = 0; status == SH_OK && i < n; i++) {
        const size_t from = i * (size_t)n_batches / n;
        const size_t until = (i + 1) * (size_t)n_batches / n;
        parts->counts[i] = get_mean(averager->batch + SKIPPED + from, until - from, channel);
        parts->time_s[i] =
            ((double)SKIPPED + 0.5 * (double)(from + until)) * SH_AVERAGER_BATCH_S;
    }
    return status;
}
