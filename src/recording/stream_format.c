/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/stream_format.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define LETTERS                                                                                \
    "abcdefghijklmnopqrstuvwxyz"                                                               \
    "ABCDEFGHIJKLMNOPQRSTUVWXYZ"                                                               \
    "0123456789-_"
#define WAV_BYTES_MAX 4294900000.0 /* 4 GiB less room for headers */
#define BITS_WIDE     32u

static bool fits_range(const struct sh_channel *channel, unsigned bits)
{
    double limit = ldexp(1.0, (int)bits - 1);
    return channel->has_range && channel->range_low >= -limit &&
           channel->range_high <= limit - 1.0;
}

static unsigned choose_bits(const struct sh_stream *stream)
{
    for (unsigned bits = 16; bits < BITS_WIDE; bits += 8) {
        bool fits = true;
        for (size_t i = 0; i < stream->n_channels; i++) {
            fits = fits && fits_range(&stream->channel[i], bits);
        }
        if (fits) {
            return bits;
        }
    }
    return BITS_WIDE;
}

enum sh_audio_container sh_stream_format_container(const struct sh_audio_writer_config *config,
                                                   double longest_s)
{
    double value_bytes = config->bits > 0 ? config->bits / 8.0 : sizeof(double);
    double n_bytes = longest_s * config->rate_hz * (double)config->n_channels * value_bytes;
    return n_bytes > WAV_BYTES_MAX ? SH_AUDIO_RF64 : SH_AUDIO_WAV;
}

bool sh_stream_format_choose(const struct sh_stream *stream,
                             double longest_s,
                             struct sh_audio_writer_config *config)
{
    size_t n_physical = 0;
    for (size_t i = 0; i < stream->n_channels && i < SH_STREAM_CHANNELS_MAX; i++) {
        n_physical += stream->channel[i].is_physical ? 1 : 0;
    }
    if (n_physical > 0 && n_physical != stream->n_channels) {
        return false;
    }
    *config = (struct sh_audio_writer_config){.bits = n_physical > 0 ? 0 : choose_bits(stream),
                                              .n_channels = stream->n_channels,
                                              .rate_hz = stream->rate_hz};
    config->container = sh_stream_format_container(config, longest_s);
    return true;
}

static bool is_taken(const struct sh_session *session, size_t index)
{
    for (size_t i = 0; i < index; i++) {
        if (strcasecmp(session->streams[i].file, session->streams[index].file) == 0) {
            return true;
        }
    }
    return false;
}

void sh_stream_format_name(struct sh_session *session, size_t index)
{
    struct sh_session_stream *stream = &session->streams[index];
    char stem[SH_STREAM_NAME_BYTES];
    const char *name = stream->stream.name[0] != '\0' ? stream->stream.name : "stream";
    (void)snprintf(stem, sizeof stem, "%s", name);
    for (char *letter = stem; *letter != '\0'; letter++) {
        if (strchr(LETTERS, *letter) == NULL) {
            *letter = '_';
        }
    }
    (void)snprintf(stream->file, sizeof stream->file, "%s.wav", stem);
    for (unsigned n = 2; is_taken(session, index); n++) {
        (void)snprintf(stream->file, sizeof stream->file, "%s-%u.wav", stem, n);
    }
}
