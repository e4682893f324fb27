/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Any profile, calibrated anew in its own text: what comes out reads as meant, and once more
 * with the same calibration nothing changes.
 */
#include <string.h>

#include "fuzz/fuzz.h"
#include "sensor/profile_edit.h"
#include "sensor/profile_format.h"

/* Another calibration for the last channel, and a crosstalk for its stream. */
static void calibrate(struct sh_profile *profile)
{
    struct sh_stream *stream = &profile->streams[profile->n_streams - 1].stream;
    struct sh_channel *channel = &stream->channel[stream->n_channels - 1];
    channel->scale = 1.0;
    channel->scale_u = 0.0;
    channel->quadratic = 0.0;
    channel->quadratic_u = 0.0;
    channel->n_curve = 2;
    channel->curve[0] = (struct sh_curve_point){10.0, 0.0, 0.5};
    channel->curve[1] = (struct sh_curve_point){700.0, 40.0, 0.75};
    memcpy(channel->calibrated, "2026-05-01", sizeof "2026-05-01");
    stream->has_crosstalk = true;
    for (size_t i = 0; i < stream->n_channels; i++) {
        for (size_t k = 0; k < stream->n_channels; k++) {
            stream->crosstalk[i][k] = i == k ? 1.0 : -0.25;
        }
    }
}

static void check_result(const struct sh_text *text, struct sh_profile *profile)
{
    struct sh_text again;
    struct sh_error err = {.status = SH_OK};
    sh_text_init(&again, 0);
    SH_FUZZ_CHECK(sh_profile_edit_format(text->data, text->n_bytes, "again", profile, &again,
                                         &err) == SH_OK);
    SH_FUZZ_CHECK(again.n_bytes == text->n_bytes &&
                  memcmp(again.data, text->data, text->n_bytes) == 0);
    sh_text_close(&again);
}

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t n_bytes)
{
    struct sh_error err = {.status = SH_OK};
    struct sh_profile *profile = malloc(sizeof *profile);
    char *old = malloc(n_bytes + 1);
    struct sh_text text;
    if (profile == NULL || old == NULL) {
        abort();
    }
    memcpy(old, bytes, n_bytes);
    sh_text_init(&text, 0);
    if (sh_profile_parse(old, n_bytes, "input", profile, &err) == SH_OK) {
        calibrate(profile);
        enum sh_status status =
            sh_profile_edit_format(old, n_bytes, "input", profile, &text, &err);
        if (status == SH_OK) {
            check_result(&text, profile);
        } else {
            /* a crosstalk's row that is too long for a line */
            SH_FUZZ_CHECK(strstr(err.what, "too long") != NULL);
        }
    }
    sh_text_close(&text);
    free(old);
    free(profile);
    return 0;
}
