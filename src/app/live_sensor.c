/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_sensor.h"

#include <math.h>

#include "live/number_text.h"
#include "metrology/scale.h"

#define COUNT_DIGITS 9
#define NOISE_DIGITS 4

void sh_live_sensor_init(struct sh_live_sensor *sensor, const struct sh_session *session)
{
    *sensor = (struct sh_live_sensor){.session = session};
}

static void end_noise(struct sh_live_sensor_channel *channel)
{
    if (channel->n_differences == 0) {
        return;
    }
    const double counts = sqrt(channel->square / (6.0 * (double)channel->n_differences));
    channel->noise_counts = channel->has_noise ? fmin(counts, channel->last_counts) : counts;
    channel->last_counts = counts;
    channel->has_noise = true;
}

/* Standard deviation of what has come of this turn. */
static double find_moved(const struct sh_live_sensor_channel *channel, size_t n)
{
    if (n < 2) {
        return 0.0;
    }
    const double square = channel->sum_2 - channel->sum * channel->sum / (double)n;
    return sqrt(fmax(0.0, square) / (double)(n - 1));
}

static void end_turn(struct sh_live_sensor_stream *stream, size_t n_channels)
{
    for (size_t c = 0; c < n_channels; c++) {
        struct sh_live_sensor_channel *channel = &stream->channel[c];
        const double mean = channel->level + channel->sum / (double)stream->n_in_turn;
        channel->first_mean = channel->has_mean ? channel->first_mean : mean;
        channel->mean = mean;
        channel->has_mean = true;
        channel->turn_mean[channel->n_turns++ % SH_LIVE_SENSOR_TURNS_MAX] = mean;
        end_noise(channel);
        channel->was_at_range = channel->is_at_range;
        channel->is_at_range = false;
        channel->moved = find_moved(channel, stream->n_in_turn);
        channel->sum = 0.0;
        channel->sum_2 = 0.0;
        channel->square = 0.0;
        channel->n_differences = 0;
    }
    stream->turn_frame = stream->next_frame;
    stream->n_in_turn = 0;
}

static void push_sample(struct sh_live_sensor_stream *stream,
                        struct sh_live_sensor_channel *channel,
                        const struct sh_channel *about,
                        double raw)
{
    const bool is_first = stream->next_frame == stream->first_frame;
    const double step = is_first ? 0.0 : raw - channel->raw;
    if (is_first || fabs(step) > 0.0) {
        channel->changed_frame = stream->next_frame;
    }
    channel->lowest = is_first ? raw : fmin(channel->lowest, raw);
    channel->highest = is_first ? raw : fmax(channel->highest, raw);
    if (channel->has_step) {
        channel->square += (step - channel->step) * (step - channel->step);
        channel->n_differences++;
    }
    channel->step = step;
    channel->has_step = !is_first;
    channel->level = stream->n_in_turn == 0 ? raw : channel->level;
    channel->sum += raw - channel->level;
    channel->sum_2 += (raw - channel->level) * (raw - channel->level);
    channel->raw = raw;
    channel->is_at_range = channel->is_at_range || sh_scale_is_clipped(about, raw);
}

/* Lost samples only let time go by. */
void sh_live_sensor_push(struct sh_live_sensor *sensor, const struct sh_block *block)
{
    struct sh_live_sensor_stream *stream = &sensor->stream[block->stream];
    const struct sh_stream *about = &sensor->session->streams[block->stream].stream;
    const uint64_t n_turn = (uint64_t)fmax(1.0, SH_LIVE_SENSOR_TURN_S * about->rate_hz);
    if (!stream->has_begun) {
        *stream = (struct sh_live_sensor_stream){.has_begun = true,
                                                 .first_frame = block->first_frame,
                                                 .turn_frame = block->first_frame};
    }
    stream->next_frame = block->first_frame;
    for (size_t i = 0; i < block->n_frames; i++) {
        for (size_t c = 0; !block->is_filled && c < block->n_channels; c++) {
            push_sample(stream, &stream->channel[c], &about->channel[c],
                        block->raw[i * block->n_channels + c]);
        }
        stream->n_in_turn += block->is_filled ? 0 : 1;
        stream->next_frame++;
        if (stream->next_frame - stream->turn_frame >= n_turn && stream->n_in_turn > 0) {
            end_turn(stream, block->n_channels);
        }
    }
}

/* For which share of its latest turns has it stood nearer to high than to low? */
static double find_high_share(const struct sh_live_sensor_channel *channel,
                              const struct sh_channel *about,
                              double middle)
{
    const size_t n_all = channel->n_turns;
    const size_t n = n_all < SH_LIVE_SENSOR_TURNS_MAX ? n_all : SH_LIVE_SENSOR_TURNS_MAX;
    size_t n_high = 0;
    for (size_t i = 0; i < n; i++) {
        n_high += sh_scale_value(about, channel->turn_mean[i]) >= middle ? 1 : 0;
    }
    return (double)n_high / (double)n;
}

/* Does a pull make the reading go the wrong way? */
static bool is_reversed(const struct sh_live_sensor_channel *channel,
                        const struct sh_channel *about)
{
    const bool is_force =
        about->role == SH_ROLE_STRING_FORCE || about->role == SH_ROLE_FINGER_FORCE;
    if (!is_force || !channel->has_mean) {
        return false;
    }
    const double first = sh_scale_value(about, channel->first_mean);
    const double of_lowest = sh_scale_value(about, channel->lowest);
    const double of_highest = sh_scale_value(about, channel->highest);
    const double low = fmin(of_lowest, of_highest);
    const double high = fmax(of_lowest, of_highest);
    const double share = find_high_share(channel, about, 0.5 * (low + high));
    if (first - low >= SH_LIVE_SENSOR_REVERSED_N && first - low > high - first) {
        return share >= 0.5;
    }
    return high - low >= SH_LIVE_SENSOR_REVERSED_N &&
           channel->n_turns >= SH_LIVE_SENSOR_TURNS_MAX && share >= SH_LIVE_SENSOR_HIGH_SHARE;
}

static const char *judge(const struct sh_live_sensor_stream *stream,
                         const struct sh_live_sensor_channel *channel,
                         const struct sh_stream *about,
                         const struct sh_channel *channel_about)
{
    const double still_s =
        (double)(stream->next_frame - channel->changed_frame) / about->rate_hz;
    const double noise =
        channel->noise_counts * fabs(sh_scale_slope(channel_about, channel->raw));
    if (channel->is_at_range || channel->was_at_range) {
        return "at-range";
    }
    if (channel_about->role != SH_ROLE_CLICKER_CONTACT && still_s > SH_LIVE_SENSOR_DEAD_S) {
        return "dead";
    }
    if (is_reversed(channel, channel_about)) {
        return "reversed";
    }
    const bool is_stated = channel_about->noise > 0.0 && channel->has_noise;
    return is_stated && noise > SH_LIVE_SENSOR_NOISY * channel_about->noise ? "noisy" : "ok";
}

static void
write_channel(const struct sh_live_sensor *sensor, size_t s, size_t c, struct sh_text *text)
{
    const struct sh_stream *about = &sensor->session->streams[s].stream;
    const struct sh_channel *channel_about = &about->channel[c];
    const struct sh_live_sensor_stream *stream = &sensor->stream[s];
    const struct sh_live_sensor_channel *channel = &stream->channel[c];
    const bool is_known = stream->has_begun;
    const double range[2] = {channel_about->range_low, channel_about->range_high};
    const double span[2] = {channel->lowest, channel->highest};
    sh_text_puts(text, "{\"stream\":");
    sh_number_text_put_string(text, about->name);
    sh_text_printf(text,
                   ",\"role\":\"%s\",\"axis\":", sh_channel_role_name(channel_about->role));
    sh_number_text_put_name(text, sh_channel_axis_name(channel_about->axis));
    sh_text_puts(text, ",\"finger\":");
    sh_number_text_put_name(text, sh_channel_finger_name(channel_about->finger));
    sh_text_puts(text, ",\"raw\":");
    sh_number_text_put(text, is_known ? channel->raw : (double)NAN, COUNT_DIGITS);
    sh_text_puts(text, ",\"noise_counts\":");
    sh_number_text_put(text, channel->has_noise ? channel->noise_counts : (double)NAN,
                       NOISE_DIGITS);
    sh_text_puts(text, ",\"range\":");
    if (channel_about->has_range) {
        sh_number_text_put_list(text, range, 2, COUNT_DIGITS);
    } else {
        sh_text_puts(text, "null");
    }
    sh_text_puts(text, ",\"span\":");
    if (is_known) {
        sh_number_text_put_list(text, span, 2, COUNT_DIGITS);
    } else {
        sh_text_puts(text, "null");
    }
    sh_text_printf(text, ",\"state\":\"%s\"}",
                   is_known ? judge(stream, channel, about, channel_about) : "dead");
}

void sh_live_sensor_write(const struct sh_live_sensor *sensor, struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, "{\"type\":\"sensor\",\"channels\":[");
    for (size_t s = 0; s < sensor->session->n_streams; s++) {
        for (size_t c = 0; c < sensor->session->streams[s].stream.n_channels; c++) {
            sh_text_puts(text, comma);
            write_channel(sensor, s, c, text);
            comma = ",";
        }
    }
    sh_text_puts(text, "]}");
}

bool sh_live_sensor_find_mean(const struct sh_live_sensor *sensor,
                              size_t stream,
                              size_t channel,
                              double *mean)
{
    const struct sh_live_sensor_channel *found = &sensor->stream[stream].channel[channel];
    if (!found->has_mean) {
        return false;
    }
    *mean = found->mean;
    return true;
}

bool sh_live_sensor_is_moving(const struct sh_live_sensor *sensor,
                              size_t stream,
                              size_t channel)
{
    const struct sh_live_sensor_stream *of = &sensor->stream[stream];
    const struct sh_live_sensor_channel *found = &of->channel[channel];
    const struct sh_channel *about = &sensor->session->streams[stream].stream.channel[channel];
    const double moved = fmax(found->moved, find_moved(found, of->n_in_turn));
    const double moved_n = moved * fabs(sh_scale_slope(about, found->raw));
    return moved_n > SH_LIVE_SENSOR_MOVES_N &&
           moved > SH_LIVE_SENSOR_MOVES * found->noise_counts;
}
