/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/intake.h"

#include <stdlib.h>
#include <time.h>

#include "sensor/assembler.h"
#include "sensor/packet_frame.h"
#include "sensor/port.h"
#include "sensor/text_frame.h"

#define READ_BYTES 65536u
#define US_PER_S   1000000
#define NS_PER_US  1000

struct sh_intake {
    struct sh_intake_config config;
    struct sh_port_config port_config;
    struct sh_port *port; /* NULL once it has ended */
    struct sh_assembler *assembler;
    struct sh_text_frame text;
    struct sh_packet_frame packets;
    int64_t arrived_us;
    struct sh_error failure; /* of the stages behind a decoder, which hands on a status only */
    uint8_t bytes[READ_BYTES];
};

static int64_t now_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * US_PER_S + now.tv_nsec / NS_PER_US;
}

static enum sh_status take_frame(void *context, const struct sh_frame *frame)
{
    struct sh_intake *intake = context;
    struct sh_frame picked;
    if (!sh_profile_pick_frame(intake->config.profile, frame, &picked)) {
        picked = *frame; /* the assembler counts it as strange */
        picked.stream = SH_STREAMS_MAX;
    }
    return sh_assembler_push(intake->assembler, &picked, &intake->failure);
}

static enum sh_status
take_block(void *context, const struct sh_block *block, struct sh_error *err)
{
    const struct sh_intake *intake = context;
    struct sh_block moved = *block;
    moved.stream += intake->config.first_stream;
    return intake->config.sink.block(intake->config.sink.context, &moved, err);
}

static enum sh_status
take_anchor(void *context, size_t stream, const struct sh_anchor *anchor, struct sh_error *err)
{
    const struct sh_intake *intake = context;
    return intake->config.sink.anchor(intake->config.sink.context,
                                      stream + intake->config.first_stream, anchor, err);
}

static enum sh_status open_assembler(struct sh_intake *intake, struct sh_error *err)
{
    const struct sh_profile *profile = intake->config.profile;
    struct sh_stream *streams = calloc(SH_STREAMS_MAX, sizeof *streams);
    if (streams == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    for (size_t i = 0; i < profile->n_streams; i++) {
        streams[i] = profile->streams[i].stream;
    }
    const struct sh_assembler_config config = {
        .streams = streams,
        .n_streams = profile->n_streams,
        .start_host_us = intake->config.start_host_us,
        .is_replay = intake->config.is_replay,
        .clock = sh_device_clock_config_default(),
        .sink = {.block = take_block, .anchor = take_anchor, .context = intake}};
    enum sh_status status = sh_assembler_open(&config, &intake->assembler, err);
    free(streams);
    return status;
}

static enum sh_status open_decoder(struct sh_intake *intake, struct sh_error *err)
{
    const struct sh_profile *profile = intake->config.profile;
    const struct sh_frame_sink sink = {take_frame, intake};
    if (profile->framing == SH_FRAMING_PACKETS) {
        sh_packet_frame_init(&intake->packets, &sink);
        return SH_OK;
    }
    enum sh_status status =
        sh_text_frame_init(&intake->text, profile->streams[0].n_columns, &sink);
    if (status != SH_OK) {
        return sh_error_set(err, status, profile->name, "give 1 to 16 columns",
                            "cannot read lines of %zu columns", profile->streams[0].n_columns);
    }
    return SH_OK;
}

enum sh_status sh_intake_open(const struct sh_intake_config *config,
                              struct sh_intake **out,
                              struct sh_error *err)
{
    struct sh_intake *intake = calloc(1, sizeof *intake);
    if (intake == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    intake->config = *config;
    intake->port_config = sh_port_config_default();
    intake->port_config.address = config->address;
    intake->port_config.baud = config->profile->baud;
    intake->port_config.timeout_ms = config->timeout_ms;
    enum sh_status status = open_decoder(intake, err);
    if (status == SH_OK) {
        status = open_assembler(intake, err);
    }
    if (status == SH_OK) {
        status = sh_port_open(&intake->port_config, &intake->port, err);
    }
    if (status == SH_OK) {
        *out = intake;
    } else {
        sh_intake_close(&intake);
    }
    return status;
}

void sh_intake_close(struct sh_intake **intake)
{
    if (intake == NULL || *intake == NULL) {
        return;
    }
    sh_port_close(&(*intake)->port);
    sh_assembler_close(&(*intake)->assembler);
    free(*intake);
    *intake = NULL;
}

static enum sh_status decode(struct sh_intake *intake, size_t n_bytes, struct sh_error *err)
{
    bool is_packets = intake->config.profile->framing == SH_FRAMING_PACKETS;
    enum sh_status status = is_packets
                                ? sh_packet_frame_push(&intake->packets, intake->bytes, n_bytes)
                                : sh_text_frame_push(&intake->text, intake->bytes, n_bytes);
    if (status != SH_OK && err != NULL && err->status == SH_OK) {
        *err = intake->failure;
        err->status = status;
    }
    return status;
}

/* The port has ended: what is left of a line or packet will not go on. */
static void end_port(struct sh_intake *intake)
{
    sh_port_close(&intake->port);
    if (intake->config.profile->framing == SH_FRAMING_PACKETS) {
        sh_packet_frame_flush(&intake->packets);
    } else {
        sh_text_frame_flush(&intake->text);
    }
}

static enum sh_status
read_port(struct sh_intake *intake, enum sh_intake_answer *answer, struct sh_error *err)
{
    struct sh_port_reading reading = {0};
    enum sh_status status =
        sh_port_read(intake->port, intake->bytes, sizeof intake->bytes, &reading, err);
    if (status != SH_OK) {
        return status;
    }
    sh_assembler_arrive(intake->assembler, reading.host_time_us);
    intake->arrived_us = reading.host_time_us;
    switch (reading.answer) {
    case SH_PORT_DATA:
        *answer = SH_INTAKE_DATA;
        return decode(intake, reading.n_bytes, err);
    case SH_PORT_NOTHING_YET:
        *answer = SH_INTAKE_NOTHING_YET;
        return SH_OK;
    case SH_PORT_END:
        break;
    }
    *answer = SH_INTAKE_END;
    end_port(intake);
    return SH_OK;
}

enum sh_status
sh_intake_step(struct sh_intake *intake, enum sh_intake_answer *answer, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    *answer = SH_INTAKE_END;
    if (intake->port != NULL) {
        status = read_port(intake, answer, err);
    } else {
        sh_assembler_arrive(intake->assembler, now_us());
    }
    return status == SH_OK ? sh_assembler_advance(intake->assembler, err) : status;
}

enum sh_status sh_intake_reopen(struct sh_intake *intake, struct sh_error *err)
{
    return intake->port != NULL ? SH_OK
                                : sh_port_open(&intake->port_config, &intake->port, err);
}

enum sh_status sh_intake_flush(struct sh_intake *intake, struct sh_error *err)
{
    if (intake->port != NULL) {
        end_port(intake);
    }
    return sh_assembler_flush(intake->assembler, err);
}

bool sh_intake_is_open(const struct sh_intake *intake)
{
    return intake->port != NULL;
}

int64_t sh_intake_get_arrival_us(const struct sh_intake *intake)
{
    return intake->arrived_us;
}

struct sh_frame_counts sh_intake_get_counts(const struct sh_intake *intake, size_t stream)
{
    struct sh_frame_counts counts = sh_assembler_get_counts(intake->assembler, stream);
    if (stream == 0) {
        bool is_packets = intake->config.profile->framing == SH_FRAMING_PACKETS;
        counts.damaged +=
            is_packets ? intake->packets.counts.damaged : intake->text.counts.damaged;
        counts.skipped_bytes += is_packets ? intake->packets.counts.skipped_bytes
                                           : intake->text.counts.skipped_bytes;
    }
    return counts;
}

uint64_t sh_intake_get_strange(const struct sh_intake *intake)
{
    return sh_assembler_get_strange(intake->assembler);
}
