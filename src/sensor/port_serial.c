/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_serial.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <stdbool.h>
#include <stddef.h>
#include <sys/file.h>
#include <termios.h>
#include <unistd.h>

#define DATA_BITS     8
#define TODO_BUSY     "close the program that reads it"
#define TODO_PORT     "plug the sensor in, or check the name"
#define TODO_ACCESS   "add yourself to the group that owns the port (dialout), log in again"
#define TODO_RATE     "use a rate that the port can do, here and in the sensor"
#define TODO_TERMINAL "give a serial port or a pseudo-terminal"

/* Two readers would each get half of the bytes. */
static enum sh_status lock(int descriptor, const char *path, struct sh_error *err)
{
    if (flock(descriptor, LOCK_EX | LOCK_NB) == 0) {
        return SH_OK;
    }
    if (errno == EWOULDBLOCK) {
        return sh_error_set(err, SH_ERR_BUSY, path, TODO_BUSY, "someone else reads this port");
    }
    return sh_error_set_os(err, errno, path, NULL, "cannot lock the port");
}

static enum sh_status set_library_error(struct sh_error *err,
                                        enum sp_return answer,
                                        const char *path,
                                        const char *what)
{
    switch (answer) {
    case SP_ERR_FAIL: {
        int os_number = sp_last_error_code();
        const char *todo = os_number == EACCES || os_number == EPERM ? TODO_ACCESS
                           : os_number == EBUSY                      ? TODO_BUSY
                                                                     : TODO_PORT;
        return sh_error_set_os(err, os_number, path, todo, "%s", what);
    }
    case SP_ERR_MEM:
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "%s: out of memory", what);
    case SP_ERR_SUPP:
        return sh_error_set(err, SH_ERR_UNSUPPORTED, path, TODO_RATE, "%s: not supported",
                            what);
    case SP_ERR_ARG:
        return sh_error_set(err, SH_ERR_NOT_FOUND, path, TODO_PORT, "%s", what);
    case SP_OK:
        break;
    }
    return SH_OK;
}

static enum sp_return apply_settings(struct sp_port *serial, int baud)
{
    enum sp_return answer = sp_set_baudrate(serial, baud);
    if (answer == SP_OK) {
        answer = sp_set_bits(serial, DATA_BITS);
    }
    if (answer == SP_OK) {
        answer = sp_set_parity(serial, SP_PARITY_NONE);
    }
    if (answer == SP_OK) {
        answer = sp_set_stopbits(serial, 1);
    }
    if (answer == SP_OK) {
        answer = sp_set_flowcontrol(serial, SP_FLOWCONTROL_NONE);
    }
    return answer;
}

static enum sp_return read_rate_back(struct sp_port *serial, int *baud)
{
    struct sp_port_config *config = NULL;
    enum sp_return answer = sp_new_config(&config);
    if (answer != SP_OK) {
        return answer;
    }
    answer = sp_get_config(serial, config);
    if (answer == SP_OK) {
        answer = sp_get_config_baudrate(config, baud);
    }
    sp_free_config(config);
    return answer;
}

static enum sh_status
set_up(struct sp_port *serial, const char *path, int baud, struct sh_error *err)
{
    int baud_now = 0;
    enum sp_return answer = apply_settings(serial, baud);
    if (answer != SP_OK) {
        return set_library_error(err, answer, path, "cannot set up the port");
    }
    answer = read_rate_back(serial, &baud_now);
    if (answer != SP_OK) {
        return set_library_error(err, answer, path, "cannot read the port's rate back");
    }
    if (baud_now != baud) {
        return sh_error_set(err, SH_ERR_UNSUPPORTED, path, TODO_RATE,
                            "the port runs at %d baud instead of %d", baud_now, baud);
    }
    return SH_OK;
}

/* A descriptor of our own, so that the library's object need not outlive the opening. */
static enum sh_status
take_descriptor(const struct sp_port *serial, const char *path, int *out, struct sh_error *err)
{
    int borrowed = -1;
    enum sp_return answer = sp_get_port_handle(serial, &borrowed);
    if (answer != SP_OK) {
        return set_library_error(err, answer, path, "the port has no descriptor");
    }
    int descriptor = fcntl(borrowed, F_DUPFD_CLOEXEC, 0);
    if (descriptor < 0) {
        return sh_error_set_os(err, errno, path, NULL, "cannot keep the port open");
    }
    enum sh_status status = lock(descriptor, path, err);
    if (status != SH_OK) {
        (void)close(descriptor);
        return status;
    }
    *out = descriptor;
    return SH_OK;
}

enum sh_status
sh_port_serial_open(const char *path, int baud, int *descriptor, struct sh_error *err)
{
    struct sp_port *serial = NULL;
    int taken = -1;
    enum sp_return answer = sp_get_port_by_name(path, &serial);
    if (answer != SP_OK) {
        return set_library_error(err, answer, path, "no serial port of this name");
    }
    enum sh_status status = SH_OK;
    answer = sp_open(serial, SP_MODE_READ);
    if (answer != SP_OK) {
        status = set_library_error(err, answer, path, "cannot open the port");
        goto out;
    }
    status = take_descriptor(serial, path, &taken, err);
    if (status == SH_OK) {
        status = set_up(serial, path, baud, err);
    }
    (void)sp_close(serial);
out:
    sp_free_port(serial);
    if (status == SH_OK) {
        *descriptor = taken;
    } else if (taken >= 0) {
        (void)close(taken);
    }
    return status;
}

static enum sh_status make_raw(int descriptor, const char *path, struct sh_error *err)
{
    struct termios settings;
    if (tcgetattr(descriptor, &settings) != 0) {
        return sh_error_set_os(err, errno, path, TODO_TERMINAL, "this is no terminal");
    }
    cfmakeraw(&settings);
    settings.c_cflag |= CREAD | CLOCAL;
    if (tcsetattr(descriptor, TCSANOW, &settings) != 0) {
        return sh_error_set_os(err, errno, path, NULL, "cannot set up the terminal");
    }
    return SH_OK;
}

enum sh_status
sh_port_serial_open_pseudo(const char *path, int *descriptor, struct sh_error *err)
{
    int opened = open(path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    if (opened < 0) {
        return sh_error_set_os(err, errno, path, TODO_PORT, "cannot open the terminal");
    }
    enum sh_status status = lock(opened, path, err);
    if (status == SH_OK) {
        status = make_raw(opened, path, err);
    }
    if (status != SH_OK) {
        (void)close(opened);
        return status;
    }
    *descriptor = opened;
    return SH_OK;
}
