/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/simulated_port.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "sim/sampler.h"
#include "sim/sensor_stream.h"

#define SLICE_S       0.02 /* of wall time: bytes go out so often */
#define DRAIN_S       0.5  /* the reader takes what is left before the line hangs up */
#define FULL_MS       1000 /* how long one wait for a slow reader is */
#define BLOCK_FRAMES  1024
#define PACKET_FRAMES 20
#define NS_PER_S      1e9

/* The line to the reader. */
struct line {
    int terminal;
    bool is_gone; /* the reader went away */
};

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

static void pause_s(double s)
{
    const struct timespec pause = {.tv_sec = (time_t)s,
                                   .tv_nsec = (long)((s - (double)(time_t)s) * NS_PER_S)};
    (void)nanosleep(&pause, NULL);
}

/* Somebody has the other end open. */
static bool has_reader(int terminal)
{
    struct pollfd waiting = {.fd = terminal, .events = POLLOUT};
    return poll(&waiting, 1, 0) >= 0 && (waiting.revents & POLLHUP) == 0;
}

static enum sh_status
send_bytes(void *context, const uint8_t *bytes, size_t n_bytes, struct sh_error *err)
{
    struct line *line = context;
    while (n_bytes > 0 && !line->is_gone) {
        struct pollfd waiting = {.fd = line->terminal, .events = POLLOUT};
        int n_ready = poll(&waiting, 1, FULL_MS);
        if ((waiting.revents & POLLHUP) != 0) {
            line->is_gone = true;
            return SH_OK;
        }
        ssize_t n_sent = n_ready > 0 ? write(line->terminal, bytes, n_bytes) : 0;
        if (n_sent < 0 && errno != EAGAIN && errno != EINTR) {
            line->is_gone = errno == EIO;
            return line->is_gone
                       ? SH_OK
                       : sh_error_set_os(err, errno, "pseudo-terminal", NULL, "cannot send");
        }
        bytes += n_sent > 0 ? n_sent : 0;
        n_bytes -= n_sent > 0 ? (size_t)n_sent : 0;
    }
    return SH_OK;
}

/* Raw bytes both ways; opened and closed once, so that a missing reader shows as hung up. */
static enum sh_status prepare(int terminal, const char *path, struct sh_error *err)
{
    int slave = open(path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    struct termios raw;
    if (slave < 0 || tcgetattr(slave, &raw) != 0) {
        return sh_error_set_os(err, errno, path, NULL, "cannot open the pseudo-terminal");
    }
    cfmakeraw(&raw);
    enum sh_status status = SH_OK;
    if (tcsetattr(slave, TCSANOW, &raw) != 0 || fcntl(terminal, F_SETFL, O_NONBLOCK) != 0) {
        status = sh_error_set_os(err, errno, path, NULL, "cannot set the pseudo-terminal");
    }
    (void)close(slave);
    return status;
}

static enum sh_status open_line(const struct sh_simulated_port_config *config,
                                struct line *line,
                                struct sh_error *err)
{
    line->terminal = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    if (line->terminal < 0 || grantpt(line->terminal) != 0 || unlockpt(line->terminal) != 0) {
        return sh_error_set_os(err, errno, NULL, NULL, "cannot make a pseudo-terminal");
    }
    const char *path = ptsname(line->terminal);
    enum sh_status status = prepare(line->terminal, path, err);
    if (status == SH_OK && config->link != NULL && symlink(path, config->link) != 0) {
        status = sh_error_set_os(err, errno, config->link, "choose another --link",
                                 "cannot make the link");
    }
    if (status == SH_OK) {
        (void)printf("%s\n", config->link != NULL ? config->link : path);
        (void)fflush(stdout);
    }
    return status;
}

static enum sh_status wait_for_reader(const struct sh_simulated_port_config *config,
                                      const struct line *line,
                                      struct sh_error *err)
{
    double until_s = now_s() + config->wait_s;
    while (!has_reader(line->terminal)) {
        if (now_s() >= until_s) {
            return sh_error_set(err, SH_ERR_NOT_FOUND, "simulate --pty",
                                "open the printed path with capture --port",
                                "nobody read from the port for %.0f s", config->wait_s);
        }
        pause_s(SLICE_S);
    }
    return SH_OK;
}

/* The session, paced. */
static enum sh_status send_session(struct sh_sampler *sampler,
                                   struct sh_sensor_stream *stream,
                                   double speed,
                                   const struct line *line,
                                   struct sh_error *err)
{
    double start_s = now_s();
    enum sh_status status = SH_OK;
    while (status == SH_OK && !line->is_gone && !sh_sampler_is_done(sampler)) {
        status = sh_sampler_advance(sampler, (now_s() - start_s) * speed, err);
        pause_s(SLICE_S);
    }
    return status == SH_OK ? sh_sensor_stream_flush(stream, err) : status;
}

static enum sh_status run_line(const struct sh_simulation *simulation,
                               struct sh_sensor_stream *stream,
                               double speed,
                               struct line *line,
                               struct sh_error *err)
{
    const struct sh_stream *streams[SH_CHANNEL_SET_STREAMS_MAX];
    for (size_t i = 0; i < simulation->n_sources; i++) {
        streams[i] = &simulation->source[i].stream;
    }
    const struct sh_sensor_stream_config framing = {.framing = simulation->n_sources > 1
                                                                   ? SH_SENSOR_FRAMING_PACKET
                                                                   : SH_SENSOR_FRAMING_TEXT,
                                                    .n_streams = simulation->n_sources,
                                                    .stream = streams,
                                                    .has_header = true,
                                                    .packet_frames = PACKET_FRAMES,
                                                    .format = SH_PACKET_FORMAT_INT32,
                                                    .seed = simulation->seed};
    const struct sh_byte_sink sink = {send_bytes, line};
    enum sh_status status = sh_sensor_stream_init(stream, &framing, &sink, err);
    if (status != SH_OK) {
        return status;
    }
    const struct sh_sampler_config sampling = {.plan = simulation->plan,
                                               .seed = simulation->seed,
                                               .stream = simulation->source,
                                               .n_streams = simulation->n_sources,
                                               .block_frames = BLOCK_FRAMES,
                                               .has_errors = true};
    const struct sh_block_sink blocks = sh_sensor_stream_get_sink(stream);
    struct sh_sampler *sampler = NULL;
    status = sh_sampler_open(&sampling, &blocks, &sampler, err);
    if (status == SH_OK) {
        status = send_session(sampler, stream, speed, line, err);
    }
    sh_sampler_close(&sampler);
    return status;
}

enum sh_status sh_simulated_port_run(const struct sh_simulation *simulation,
                                     const struct sh_simulated_port_config *config,
                                     struct sh_error *err)
{
    struct line line = {.terminal = -1};
    struct sh_sensor_stream *stream = calloc(1, sizeof *stream);
    if (stream == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
    }
    enum sh_status status = open_line(config, &line, err);
    if (status == SH_OK) {
        status = wait_for_reader(config, &line, err);
    }
    if (status == SH_OK) {
        status = run_line(simulation, stream, config->speed, &line, err);
        pause_s(DRAIN_S);
    }
    if (line.terminal >= 0) {
        (void)close(line.terminal);
    }
    if (config->link != NULL && status != SH_ERR_EXISTS) {
        (void)unlink(config->link);
    }
    free(stream);
    return status;
}
