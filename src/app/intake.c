/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/intake.h"

#include <stdlib.h>
#include <time.h>

#include "sensor/assembler.h"
#include "sensor/packet_frame.h"
#include "sensor/port_reader.h"
#include "sensor/text_frame.h"

#define READ_BYTES  65536u
#define AHEAD_BYTES ((size_t)4 * (SH_PORT_READER_PIECE_BYTES + SH_PIECE_QUEUE_HEAD_BYTES))
#define POLL_MS     50  /* how long the port is waited for at once, and a close may take */
#define NO_LINE     "?" /* what no line can hold */
#define US_PER_S    1000000
#define NS_PER_US   1000

struct sh_intake {
    struct sh_intake_config config;
    struct sh_port_reader_config port_config;
    struct sh_port_reader *port; /* NULL once it has ended */
    struct sh_assembler *assembler;
    struct sh_text_frame text;
    struct sh_packet_frame packets;
    int64_t arrived_us;
    int64_t clock_us;        /* host's time up to which the sensor was listened to, */
    int64_t listened_us;     /* for so long */
    int64_t listened_before; /* before this port was opened */
    uint64_t lost_before;    /* bytes, likewise */
    bool has_failed;
    uint64_t n_bytes;        /* that have come */
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
    intake->port_config = sh_port_reader_config_default();
    intake->port_config.port.address = config->address;
    intake->port_config.port.baud = config->profile->baud;
    intake->port_config.port.timeout_ms = POLL_MS;
    intake->port_config.is_patient = config->is_replay;
    intake->port_config.opened = config->opened;
    if (config->is_replay) {
        intake->port_config.buffer_bytes = AHEAD_BYTES;
    }
    intake->clock_us = now_us();
    enum sh_status status = open_decoder(intake, err);
    if (status == SH_OK) {
        status = open_assembler(intake, err);
    }
    if (status == SH_OK) {
        status = sh_port_reader_open(&intake->port_config, &intake->port, err);
        intake->port_config.opened = NULL;
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
    sh_port_reader_close(&(*intake)->port);
    sh_assembler_close(&(*intake)->assembler);
    free(*intake);
    *intake = NULL;
}

static enum sh_status decode(struct sh_intake *intake, size_t n_bytes, struct sh_error *err)
{
    bool is_packets = intake->config.profile->framing == SH_FRAMING_PACKETS;
    intake->n_bytes += n_bytes;
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
    intake->listened_before = intake->listened_us;
    intake->lost_before += sh_port_reader_get_lost_bytes(intake->port);
    sh_port_reader_close(&intake->port);
    sh_assembler_hang_up(intake->assembler);
    if (intake->config.profile->framing == SH_FRAMING_PACKETS) {
        sh_packet_frame_flush(&intake->packets);
    } else {
        sh_text_frame_flush(&intake->text);
    }
}

/* Two halves of lines must not pass for one; packets have their check sum. */
static enum sh_status part_lines(struct sh_intake *intake)
{
    const uint8_t mark[] = NO_LINE;
    return intake->config.profile->framing == SH_FRAMING_PACKETS
               ? SH_OK
               : sh_text_frame_push(&intake->text, mark, sizeof mark - 1);
}

static void arrive(struct sh_intake *intake, const struct sh_piece *piece)
{
    intake->clock_us = piece->host_time_us;
    intake->listened_us = intake->listened_before + piece->listened_us;
    sh_assembler_arrive(intake->assembler, intake->clock_us, intake->listened_us);
}

/* Takes one piece, or what there is to tell instead. */
static enum sh_status take_piece(struct sh_intake *intake,
                                 int timeout_ms,
                                 size_t *n_bytes,
                                 enum sh_intake_answer *answer,
                                 struct sh_error *err)
{
    struct sh_port_reader_reading reading;
    enum sh_status status = sh_port_reader_read(
        intake->port, intake->bytes, sizeof intake->bytes, timeout_ms, &reading, err);
    if (status != SH_OK) {
        return status;
    }
    *n_bytes = reading.piece.n_bytes;
    arrive(intake, &reading.piece);
    intake->arrived_us = reading.piece.host_time_us;
    switch (reading.answer) {
    case SH_PORT_DATA:
        *answer = SH_INTAKE_DATA;
        status = reading.piece.follows_loss ? part_lines(intake) : SH_OK;
        return status == SH_OK ? decode(intake, *n_bytes, err) : status;
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

/* All that waits, but no more than READ_BYTES and a piece, so that others have their turn. */
static enum sh_status
take_pieces(struct sh_intake *intake, enum sh_intake_answer *answer, struct sh_error *err)
{
    size_t n_bytes = 0;
    size_t n_all_bytes = 0;
    enum sh_status status =
        take_piece(intake, intake->config.timeout_ms, &n_bytes, answer, err);
    for (enum sh_intake_answer next = *answer;
         status == SH_OK && next == SH_INTAKE_DATA && n_all_bytes < READ_BYTES;) {
        status = take_piece(intake, 0, &n_bytes, &next, err);
        n_all_bytes += n_bytes;
        *answer = next == SH_INTAKE_END ? next : *answer;
    }
    return status;
}

/* Nothing can come through a closed port, whether somebody listens or not. */
static void pass_time(struct sh_intake *intake)
{
    const int64_t time_us = now_us();
    intake->listened_before += time_us - intake->clock_us;
    const struct sh_piece nothing = {.host_time_us = time_us};
    arrive(intake, &nothing);
}

enum sh_status
sh_intake_step(struct sh_intake *intake, enum sh_intake_answer *answer, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    *answer = SH_INTAKE_END;
    if (intake->port != NULL) {
        status = take_pieces(intake, answer, err);
    } else {
        pass_time(intake);
    }
    if (status == SH_OK) {
        status = sh_assembler_advance(intake->assembler, err);
    }
    intake->has_failed = status != SH_OK;
    return status;
}

enum sh_status sh_intake_reopen(struct sh_intake *intake, struct sh_error *err)
{
    if (intake->port != NULL) {
        return SH_OK;
    }
    pass_time(intake);
    return sh_port_reader_open(&intake->port_config, &intake->port, err);
}

/* What has come by now; a replay is cut off where it is. */
static enum sh_status take_rest(struct sh_intake *intake, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    enum sh_intake_answer answer = SH_INTAKE_DATA;
    size_t n_bytes = 0;
    for (size_t n = 0; n < SH_PORT_READER_BUFFER_BYTES && answer == SH_INTAKE_DATA &&
                       status == SH_OK && !intake->config.is_replay;
         n += n_bytes) {
        status = take_piece(intake, 0, &n_bytes, &answer, err);
    }
    return status;
}

enum sh_status sh_intake_flush(struct sh_intake *intake, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    if (intake->port != NULL && !intake->has_failed) {
        status = take_rest(intake, err);
    }
    if (intake->port != NULL) {
        end_port(intake);
    }
    return status == SH_OK ? sh_assembler_flush(intake->assembler, err) : status;
}

bool sh_intake_is_open(const struct sh_intake *intake)
{
    return intake->port != NULL;
}

int64_t sh_intake_get_arrival_us(const struct sh_intake *intake)
{
    return intake->arrived_us;
}

uint64_t sh_intake_get_bytes(const struct sh_intake *intake)
{
    return intake->n_bytes;
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
        counts.skipped_bytes += sh_intake_get_lost_bytes(intake);
    }
    return counts;
}

uint64_t sh_intake_get_lost_bytes(const struct sh_intake *intake)
{
    return intake->lost_before +
           (intake->port != NULL ? sh_port_reader_get_lost_bytes(intake->port) : 0);
}

uint64_t sh_intake_get_strange(const struct sh_intake *intake)
{
    return sh_assembler_get_strange(intake->assembler);
}
