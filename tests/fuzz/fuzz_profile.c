/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any bytes as a sensor profile: refused with its line, or complete, within all bounds and the
 * same again once written and read.
 */
#include <math.h>
#include <string.h>

#include "fuzz/fuzz.h"
#include "sensor/profile.h"
#include "sensor/profile_format.h"

static void check_channel(const struct sh_channel *channel)
{
    SH_FUZZ_CHECK(isfinite(channel->scale) && isfinite(channel->zero));
    SH_FUZZ_CHECK(channel->scale_u >= 0.0 && channel->zero_u >= 0.0 && channel->noise >= 0.0);
    SH_FUZZ_CHECK(channel->n_curve != 1 && channel->n_curve <= SH_CHANNEL_CURVE_MAX);
    SH_FUZZ_CHECK(!channel->has_range || channel->range_low < channel->range_high);
    SH_FUZZ_CHECK(channel->unit[0] != '\0');
    SH_FUZZ_CHECK((channel->role == SH_ROLE_FINGER_FORCE) ==
                  (channel->finger != SH_FINGER_NONE));
    SH_FUZZ_CHECK((channel->role == SH_ROLE_BOW_ACCELERATION) ==
                  (channel->axis != SH_AXIS_NONE));
}

static void check_stream(const struct sh_profile_stream *stream)
{
    SH_FUZZ_CHECK(stream->number < SH_STREAMS_MAX);
    SH_FUZZ_CHECK(stream->n_columns >= stream->stream.n_channels &&
                  stream->n_columns <= SH_STREAM_CHANNELS_MAX);
    SH_FUZZ_CHECK(stream->stream.n_channels >= 1);
    SH_FUZZ_CHECK(stream->stream.rate_hz >= SH_PROFILE_RATE_MIN_HZ &&
                  stream->stream.rate_hz <= SH_PROFILE_RATE_MAX_HZ);
    for (size_t i = 0; i < stream->stream.n_channels; i++) {
        SH_FUZZ_CHECK(stream->column[i] < stream->n_columns);
        check_channel(&stream->stream.channel[i]);
    }
}

/* Lines that become too long (names, rows of crosstalk) are the only reason to be refused. */
static void check_again(struct sh_profile *profile)
{
    struct sh_text text;
    struct sh_text again;
    struct sh_error err = {.status = SH_OK};
    sh_text_init(&text, 0);
    sh_text_init(&again, 0);
    sh_profile_format(profile, &text);
    SH_FUZZ_CHECK(text.status == SH_OK);
    if (sh_profile_parse(text.data, text.n_bytes, "again", profile, &err) == SH_OK) {
        sh_profile_format(profile, &again);
        SH_FUZZ_CHECK(again.status == SH_OK && strcmp(text.data, again.data) == 0);
    } else {
        SH_FUZZ_CHECK(strstr(err.what, "too long") != NULL);
    }
    sh_text_close(&again);
    sh_text_close(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_profile *profile = malloc(sizeof *profile);
    char *text = malloc(n_bytes + 1);
    if (profile == NULL || text == NULL) {
        abort();
    }
    memcpy(text, bytes, n_bytes);
    enum sh_status status = sh_profile_parse(text, n_bytes, "input", profile, &err);
    if (status == SH_OK) {
        SH_FUZZ_CHECK(profile->n_streams >= 1 && profile->n_streams <= SH_STREAMS_MAX);
        for (size_t i = 0; i < profile->n_streams; i++) {
            check_stream(&profile->streams[i]);
        }
        check_again(profile);
    } else {
        SH_FUZZ_CHECK(status == SH_ERR_FORMAT && err.status == status);
        SH_FUZZ_CHECK(strncmp(err.where, "input", strlen("input")) == 0);
        SH_FUZZ_CHECK(err.what[0] != '\0' && err.todo[0] != '\0');
    }
    free(text);
    free(profile);
    return 0;
}
