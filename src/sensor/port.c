/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "sensor/port_list.h"
#include "sensor/port_serial.h"
#include "sensor/port_tcp.h"

#define TIMEOUT_MS_MAX   10000
#define DROP_MS          5 /* a wait, and bytes, of dropping what has been sent */
#define DROP_BYTES       4096
#define US_PER_MS        1000
#define TODO_ADDRESS     "give -, tcp:HOST:PORT, usb:VID:PID, usb:SERIAL or a path"
#define TODO_PORT        "plug the sensor in, or check the name"
#define TERMINALS_FOLDER "/dev/pts/"

struct sh_port {
    const char *address;
    int descriptor;
    int timeout_ms;
    bool is_borrowed; /* standard input is not ours to close */
    bool is_terminal;
};

struct sh_port_config sh_port_config_default(void)
{
    return (struct sh_port_config){.baud = SH_PORT_BAUD_DEFAULT,
                                   .timeout_ms = SH_PORT_TIMEOUT_MS_DEFAULT};
}

static enum sh_status check_config(const struct sh_port_config *config, struct sh_error *err)
{
    if (config->address == NULL || config->address[0] == '\0') {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, TODO_ADDRESS, "no port is given");
    }
    if (config->baud < 1) {
        return sh_error_set(err, SH_ERR_ARGUMENT, config->address, "give a rate such as 115200",
                            "%d is no baud rate", config->baud);
    }
    if (config->timeout_ms < 0 || config->timeout_ms > TIMEOUT_MS_MAX) {
        return sh_error_set(err, SH_ERR_ARGUMENT, config->address, "give 0 to 10000 ms",
                            "%d ms is out of range for the read timeout", config->timeout_ms);
    }
    return SH_OK;
}

/* Links such as those under /dev/serial/by-id are followed: the library knows real names only.
 */
static enum sh_status
open_terminal(const char *path, int baud, int *descriptor, struct sh_error *err)
{
    char *real = realpath(path, NULL);
    if (real == NULL) {
        return sh_error_set_os(err, errno, path, TODO_PORT, "cannot follow the name");
    }
    bool is_pseudo = strncmp(real, TERMINALS_FOLDER, strlen(TERMINALS_FOLDER)) == 0;
    enum sh_status status = is_pseudo ? sh_port_serial_open_pseudo(real, descriptor, err)
                                      : sh_port_serial_open(real, baud, descriptor, err);
    free(real);
    return status;
}

static enum sh_status
open_file(const char *path, bool is_pipe, int *descriptor, struct sh_error *err)
{
    int flags = O_RDONLY | O_CLOEXEC | (is_pipe ? O_NONBLOCK : 0);
    *descriptor = open(path, flags);
    if (*descriptor < 0) {
        return sh_error_set_os(err, errno, path, "check that you may read it", "cannot open");
    }
    return SH_OK;
}

static enum sh_status
open_path(const char *path, int baud, struct sh_port *port, struct sh_error *err)
{
    struct stat about;
    if (stat(path, &about) != 0) {
        return sh_error_set_os(err, errno, path, "plug the sensor in, or check the name",
                               "no such port");
    }
    if (S_ISDIR(about.st_mode)) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, path, TODO_ADDRESS, "this is a folder");
    }
    if (!S_ISCHR(about.st_mode)) {
        return open_file(path, S_ISFIFO(about.st_mode), &port->descriptor, err);
    }
    port->is_terminal = true;
    return open_terminal(path, baud, &port->descriptor, err);
}

static enum sh_status
open_usb(const char *address, int baud, struct sh_port *port, struct sh_error *err)
{
    char path[SH_PORT_LIST_TEXT_BYTES];
    enum sh_status status = sh_port_list_find_usb(address, path, err);
    return status == SH_OK ? open_path(path, baud, port, err) : status;
}

static enum sh_status
open_address(const struct sh_port_config *config, struct sh_port *port, struct sh_error *err)
{
    const char *address = config->address;
    if (strcmp(address, "-") == 0) {
        port->descriptor = STDIN_FILENO;
        port->is_borrowed = true;
        return SH_OK;
    }
    if (strncmp(address, SH_PORT_TCP_PREFIX, strlen(SH_PORT_TCP_PREFIX)) == 0) {
        return sh_port_tcp_open(address, &port->descriptor, err);
    }
    if (strncmp(address, SH_PORT_LIST_USB_PREFIX, strlen(SH_PORT_LIST_USB_PREFIX)) == 0) {
        return open_usb(address, config->baud, port, err);
    }
    return open_path(address, config->baud, port, err);
}

enum sh_status
sh_port_open(const struct sh_port_config *config, struct sh_port **out, struct sh_error *err)
{
    enum sh_status status = check_config(config, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_port *port = calloc(1, sizeof *port);
    if (port == NULL) {
        return sh_error_set(err, SH_ERR_MEMORY, config->address, NULL, "out of memory");
    }
    port->address = config->address;
    port->timeout_ms = config->timeout_ms;
    port->descriptor = -1;
    status = open_address(config, port, err);
    if (status != SH_OK) {
        sh_port_close(&port);
        return status;
    }
    *out = port;
    return SH_OK;
}

static int64_t monotonic_us(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

/*
 * A read of 0 bytes is the end of a file and of a connection. A terminal gives it for "nothing
 * there" too; there a hang-up shows in that it can no longer say how many bytes wait.
 */
static bool is_ended(const struct sh_port *port)
{
    int n_waiting = 0;
    return !port->is_terminal || ioctl(port->descriptor, FIONREAD, &n_waiting) != 0;
}

static bool is_hang_up(const struct sh_port *port, int os_number)
{
    return (port->is_terminal && (os_number == EIO || os_number == ENXIO)) ||
           os_number == ECONNRESET;
}

/* Reads what poll has announced; revents without bytes must never be "nothing yet" for ever. */
static enum sh_status read_now(const struct sh_port *port,
                               uint8_t *bytes,
                               size_t n_bytes_max,
                               short revents,
                               struct sh_port_reading *reading,
                               struct sh_error *err)
{
    ssize_t n = read(port->descriptor, bytes, n_bytes_max);
    int os_number = errno;
    reading->host_time_us = monotonic_us();
    if (n > 0) {
        reading->answer = SH_PORT_DATA;
        reading->n_bytes = (size_t)n;
        return SH_OK;
    }
    bool is_gone = (revents & (POLLHUP | POLLERR)) != 0;
    if (n == 0) {
        reading->answer = is_gone || is_ended(port) ? SH_PORT_END : SH_PORT_NOTHING_YET;
        return SH_OK;
    }
    if (is_hang_up(port, os_number)) {
        reading->answer = SH_PORT_END;
        return SH_OK;
    }
    if (os_number == EINTR || (os_number == EAGAIN && !is_gone)) {
        return SH_OK;
    }
    return sh_error_set_os(err, os_number, port->address, "check the cable", "reading failed");
}

enum sh_status sh_port_read(struct sh_port *port,
                            uint8_t *bytes,
                            size_t n_bytes_max,
                            struct sh_port_reading *reading,
                            struct sh_error *err)
{
    *reading = (struct sh_port_reading){.answer = SH_PORT_NOTHING_YET};
    if (n_bytes_max == 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, port->address, NULL, "no room to read into");
    }
    struct pollfd waiting = {.fd = port->descriptor, .events = POLLIN};
    int n_ready = poll(&waiting, 1, port->timeout_ms);
    if (n_ready < 0 && errno != EINTR) {
        return sh_error_set_os(err, errno, port->address, NULL, "waiting for bytes failed");
    }
    if (n_ready <= 0) {
        reading->host_time_us = monotonic_us();
        return SH_OK;
    }
    return read_now(port, bytes, n_bytes_max, waiting.revents, reading, err);
}

void sh_port_resume(struct sh_port *port, const struct sh_port_config *config)
{
    const int64_t end_us = monotonic_us() + (int64_t)SH_PORT_RESUME_MS * US_PER_MS;
    uint8_t dropped[DROP_BYTES];
    struct sh_port_reading reading = {.answer = SH_PORT_NOTHING_YET};
    struct sh_error seen_later = {.status = SH_OK};
    port->address = config->address;
    port->timeout_ms = DROP_MS;
    while (monotonic_us() < end_us && reading.answer != SH_PORT_END &&
           sh_port_read(port, dropped, sizeof dropped, &reading, &seen_later) == SH_OK) {
    }
    port->timeout_ms = config->timeout_ms;
}

bool sh_port_is_terminal(const struct sh_port *port)
{
    return port->is_terminal;
}

void sh_port_close(struct sh_port **port)
{
    if (*port == NULL) {
        return;
    }
    if ((*port)->descriptor >= 0 && !(*port)->is_borrowed) {
        (void)close((*port)->descriptor);
    }
    free(*port);
    *port = NULL;
}
