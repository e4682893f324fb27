/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/evening.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/audio_writer.h"
#include "recording/session_json.h"
#include "support/cmocka_all.h"

#define TWO_PI 6.283185307179586

static const char recording[] =
    "{\"format\": \"stringhand-recording\", \"version\": 1, "
    "\"started\": \"2026-05-14T09:30:00.000Z\", \"athlete\": \"wren\", "
    "\"tags\": {\"tab\": \"thick leather\"}, \"streams\": ["
    "{\"name\": \"string\", \"file\": \"string.wav\", \"rate_hz\": 1000, \"channels\": ["
    "{\"role\": \"string_force\", \"unit\": \"N\"},"
    "{\"role\": \"finger_force\", \"finger\": \"index\", \"unit\": \"N\"},"
    "{\"role\": \"finger_force\", \"finger\": \"middle\", \"unit\": \"N\"},"
    "{\"role\": \"finger_force\", \"finger\": \"ring\", \"unit\": \"N\"}],"
    "\"gaps\": [{\"frame\": 24500, \"frames\": 100}]},"
    "{\"name\": \"bow\", \"file\": \"bow.wav\", \"rate_hz\": 3200, \"channels\": ["
    "{\"role\": \"bow_acceleration\", \"axis\": \"x\", \"unit\": \"m/s2\"}]}],"
    "\"marks\": [{\"t_s\": 30.0, \"kind\": \"arrow\", \"shot\": 1, \"score\": 9},"
    "{\"t_s\": 31.0, \"kind\": \"note\", \"text\": \"new tab\"}]}";

static double get_net_n(double time_s)
{
    if (time_s < 20.0 || time_s >= 25.14) {
        return 0.0;
    }
    if (time_s < 21.2) {
        return 180.0 * (time_s - 20.0) / 1.2;
    }
    return 180.0 - 3.0 * fmin(fmax((time_s - 22.5) / 0.5, 0.0), 1.0);
}

double evening_get_force_n(double time_s)
{
    return 2.0 + get_net_n(time_s);
}

double evening_get_finger_n(double time_s, int finger)
{
    double ring = time_s < 24.0 ? 0.3 : 0.2;
    double share = finger == 1 ? 0.4 : finger == 2 ? 0.6 - ring : ring;
    return 1.0 + share * get_net_n(time_s);
}

double evening_get_bow_m_s2(double time_s)
{
    double after_s = time_s - 25.14;
    double ring = after_s >= 0.0 ? 100.0 * exp(-after_s / 0.1) : 0.0;
    return 9.81 + ring * sin(TWO_PI * EVENING_RING_HZ * after_s);
}

static void
write_audio(const struct scratch *scratch, const char *name, size_t n_channels, double rate_hz)
{
    char path[SCRATCH_PATH_BYTES];
    struct sh_audio_writer *writer = NULL;
    const struct sh_audio_writer_config config = {SH_AUDIO_WAV, 0, n_channels, rate_hz};
    size_t n_frames = n_channels > 1 ? EVENING_FRAMES : EVENING_BOW_FRAMES;
    double *raw = malloc(n_frames * n_channels * sizeof *raw);
    assert_non_null(raw);
    for (size_t i = 0; i < n_frames; i++) {
        double time_s = (double)i / rate_hz;
        for (size_t k = 0; k < n_channels; k++) {
            double force_n =
                k == 0 ? evening_get_force_n(time_s) : evening_get_finger_n(time_s, (int)k);
            raw[i * n_channels + k] = n_channels > 1 ? force_n : evening_get_bow_m_s2(time_s);
        }
    }
    scratch_path(scratch, name, path);
    assert_int_equal(sh_audio_writer_open(path, &config, &writer, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_write(writer, raw, n_frames, NULL), SH_OK);
    assert_int_equal(sh_audio_writer_finish(writer, NULL), SH_OK);
    sh_audio_writer_close(&writer);
    free(raw);
}

void evening_make(const struct scratch *scratch)
{
    char path[SCRATCH_PATH_BYTES];
    scratch_path(scratch, SH_SESSION_JSON_FILE, path);
    scratch_write(path, recording, strlen(recording));
    write_audio(scratch, "string.wav", 4, 1000.0);
    write_audio(scratch, "bow.wav", 1, 3200.0);
}

static void
set_measure(struct sh_shot_record *record, enum sh_measure measure, size_t part, double value)
{
    *sh_catalog_get_mutable(&record->measures, measure, part) = sh_quantity_known(value, 0.01);
}

static void add_finding(struct sh_shot_record *record, enum sh_code code, const char *words)
{
    struct sh_finding *finding = &record->findings[record->n_findings++];
    finding->code = code;
    finding->value = sh_quantity_known(3.0, 0.1);
    finding->threshold = 0.5;
    (void)snprintf(finding->text, sizeof finding->text, "%s", words);
}

struct sh_shot_record evening_get_record(void)
{
    static const double event_s[SH_EVENT_COUNT] = {20.0, 21.2, 25.0, 25.14, (double)NAN, 25.8};
    struct sh_shot_record record = {.shot = {.n = 1, .kind = SH_SHOT_SHOT}};
    for (int i = 0; i < SH_EVENT_COUNT; i++) {
        record.shot.event_s[i] = isfinite(event_s[i])
                                     ? sh_quantity_known(event_s[i], 0.001)
                                     : sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    }
    set_measure(&record, SH_MEASURE_HOLD_TIME, 0, 3.94);
    set_measure(&record, SH_MEASURE_CREEP_RATE, 0, 0.0);
    set_measure(&record, SH_MEASURE_RELEASE_FORCE, 0, 177.0);
    set_measure(&record, SH_MEASURE_FINGER_SLIDE, 0, 24.0);
    add_finding(&record, SH_CODE_CREEP, "Draw length got shorter.");
    add_finding(&record, SH_CODE_LONG_HOLD, "Held long.");
    add_finding(&record, SH_CODE_FINGER_SLIDE, "The ring finger let go.");
    return record;
}
