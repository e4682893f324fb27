/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/sensor_file.h"

#include <stdio.h>
#include <stdlib.h>

#include "sim/sampler.h"
#include "sim/sensor_stream.h"
#include "support/cmocka_all.h"

#define BLOCK_FRAMES  1024
#define PACKET_FRAMES 20

static enum sh_status
put_bytes(void *context, const uint8_t *bytes, size_t n_bytes, struct sh_error *err)
{
    FILE *file = context;
    return fwrite(bytes, 1, n_bytes, file) == n_bytes
               ? SH_OK
               : sh_error_set(err, SH_ERR_IO, NULL, NULL, "cannot write");
}

void sensor_file_sample(const struct sh_simulation *simulation,
                        const struct sh_block_sink *sink)
{
    const struct sh_sampler_config config = {.plan = simulation->plan,
                                             .seed = simulation->seed,
                                             .stream = simulation->source,
                                             .n_streams = simulation->n_sources,
                                             .block_frames = BLOCK_FRAMES};
    struct sh_sampler *sampler = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_sampler_open(&config, sink, &sampler, &err), SH_OK);
    assert_int_equal(sh_sampler_advance(sampler, simulation->plan->duration_s + 1.0, &err),
                     SH_OK);
    sh_sampler_close(&sampler);
}

uint64_t sensor_file_write(const struct sh_simulation *simulation,
                           double damaged_ratio,
                           const char *path)
{
    const struct sh_stream *streams[SH_CHANNEL_SET_STREAMS_MAX];
    for (size_t i = 0; i < simulation->n_sources; i++) {
        streams[i] = &simulation->source[i].stream;
    }
    const struct sh_sensor_stream_config config = {.framing = simulation->n_sources > 1
                                                                  ? SH_SENSOR_FRAMING_PACKET
                                                                  : SH_SENSOR_FRAMING_TEXT,
                                                   .n_streams = simulation->n_sources,
                                                   .stream = streams,
                                                   .start_us = 4290000000u, /* wraps soon */
                                                   .has_header = true,
                                                   .packet_frames = PACKET_FRAMES,
                                                   .format = SH_PACKET_FORMAT_INT32,
                                                   .damaged_ratio = damaged_ratio,
                                                   .seed = 3};
    struct sh_sensor_stream *stream = calloc(1, sizeof *stream);
    FILE *file = fopen(path, "wb");
    assert_non_null(stream);
    assert_non_null(file);
    const struct sh_byte_sink sink = {put_bytes, file};
    struct sh_error err = {0};
    assert_int_equal(sh_sensor_stream_init(stream, &config, &sink, &err), SH_OK);
    const struct sh_block_sink blocks = sh_sensor_stream_get_sink(stream);
    sensor_file_sample(simulation, &blocks);
    assert_int_equal(sh_sensor_stream_flush(stream, &err), SH_OK);
    uint64_t n_damaged = stream->n_damaged;
    assert_int_equal(fclose(file), 0);
    free(stream);
    return n_damaged;
}

void sensor_file_open_simulation(const char *set,
                                 size_t n_draws,
                                 struct sh_simulation *simulation)
{
    struct sh_simulation_config config = sh_simulation_config_default();
    struct sh_error err = {0};
    config.seed = 5;
    config.set = set;
    config.n_draws = n_draws;
    config.is_one_device = true;
    assert_int_equal(sh_simulation_open(&config, simulation, &err), SH_OK);
}

struct sh_profile *sensor_file_make_profile(const struct sh_simulation *simulation)
{
    struct sh_profile *profile = calloc(1, sizeof *profile);
    assert_non_null(profile);
    sh_simulation_make_profile(simulation, profile);
    return profile;
}
