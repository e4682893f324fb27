/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/sensor.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "support/cmocka_all.h"

static void
make_path(const struct sensor_config *config, const char *ending, char path[SCRATCH_PATH_BYTES])
{
    char name[64];
    (void)snprintf(name, sizeof name, "%s.%s", config->name, ending);
    scratch_path(config->scratch, name, path);
}

void sensor_start(struct sensor *sensor, const struct sensor_config *config)
{
    make_path(config, "port", sensor->port);
    make_path(config, "ini", sensor->profile);
    make_path(config, "truth", sensor->truth);
    const char *words[] = {
        "simulate",      "--pty",       "--link",         sensor->port,    "--set",
        config->set,     "--draws",     config->draws,    "--speed",       config->speed,
        "--write-truth", sensor->truth, "--write-sensor", sensor->profile, NULL};
    const struct program_config program = {
        .scratch = config->scratch, .name = config->name, .words = words};
    program_start(&sensor->program, &program);
    program_await_file(sensor->port);
}

void sensor_end(struct sensor *sensor)
{
    int status = program_wait(&sensor->program);
    if (status != 0) {
        fail_msg("the simulator ended with %d: %s", status, program_read_err(&sensor->program));
    }
}

void sensor_save(struct sensor *sensor, const char *path)
{
    char bytes[4096];
    ssize_t n = 0;
    int port = open(sensor->port, O_RDONLY | O_NOCTTY | O_CLOEXEC);
    FILE *file = fopen(path, "wb");
    assert_true(port >= 0);
    assert_non_null(file);
    while ((n = read(port, bytes, sizeof bytes)) > 0 || (n < 0 && errno == EINTR)) {
        size_t n_bytes = n > 0 ? (size_t)n : 0;
        assert_int_equal(fwrite(bytes, 1, n_bytes, file), n_bytes);
    }
    assert_int_equal(fclose(file), 0);
    (void)close(port);
    sensor_end(sensor);
}
