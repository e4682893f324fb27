/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_serial.h"

#include <errno.h>
#include <fcntl.h>
#include <libserialport.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sensor/port.h"
#include "support/cmocka_all.h"

/*
 * libserialport is replaced by a library that is not there (a program's own functions
 * come before a library's), so that each of its answers can be had: a pseudo-terminal stands
 * for the device. A function of the library has no context, hence the global.
 */

enum step {
    STEP_NONE,
    STEP_NAME,
    STEP_OPEN,
    STEP_HANDLE,
    STEP_BAUD,
    STEP_BITS,
    STEP_PARITY,
    STEP_STOP_BITS,
    STEP_FLOW,
    STEP_CONFIG_NEW,
    STEP_CONFIG_GET,
    STEP_CONFIG_BAUD,
    STEP_END
};

#define DRIVER_STUCK_BAUD 9600

static struct {
    int sensor_end;
    const char *path; /* of the pseudo-terminal behind the port */
    enum step fail_at;
    enum sp_return answer;
    int os_number;
    int descriptor;
    int baud;
    bool is_stuck; /* takes every rate and stays at 9600 */
    int n_ports;   /* objects of the library that are not yet freed */
    int n_configs;
    int n_open;
} fake; /* NOLINT(cppcoreguidelines-avoid-non-const-global-variables) */

static enum sp_return answer_of(enum step step)
{
    return fake.fail_at == step ? fake.answer : SP_OK;
}

enum sp_return sp_get_port_by_name(const char *name, struct sp_port **port)
{
    assert_string_equal(name, "/dev/ttyFAKE0");
    if (answer_of(STEP_NAME) == SP_OK) {
        *port = malloc(1);
        fake.n_ports++;
    }
    return answer_of(STEP_NAME);
}

enum sp_return sp_open(struct sp_port *port, enum sp_mode flags)
{
    assert_int_equal(flags, SP_MODE_READ);
    if (answer_of(STEP_OPEN) == SP_OK) {
        fake.descriptor = open(fake.path, O_RDWR | O_NOCTTY | O_NONBLOCK);
        assert_true(fake.descriptor >= 0);
        fake.n_open++;
    }
    return answer_of(STEP_OPEN);
}

enum sp_return sp_close(struct sp_port *port)
{
    assert_int_equal(close(fake.descriptor), 0);
    fake.n_open--;
    return SP_OK;
}

void sp_free_port(struct sp_port *port)
{
    free(port);
    fake.n_ports--;
}

enum sp_return sp_get_port_handle(const struct sp_port *port, void *result)
{
    memcpy(result, &fake.descriptor, sizeof fake.descriptor);
    return answer_of(STEP_HANDLE);
}

enum sp_return sp_set_baudrate(struct sp_port *port, int baud)
{
    fake.baud = fake.is_stuck ? DRIVER_STUCK_BAUD : baud;
    return answer_of(STEP_BAUD);
}

enum sp_return sp_set_bits(struct sp_port *port, int bits)
{
    assert_int_equal(bits, 8);
    return answer_of(STEP_BITS);
}

enum sp_return sp_set_parity(struct sp_port *port, enum sp_parity parity)
{
    assert_int_equal(parity, SP_PARITY_NONE);
    return answer_of(STEP_PARITY);
}

enum sp_return sp_set_stopbits(struct sp_port *port, int bits)
{
    assert_int_equal(bits, 1);
    return answer_of(STEP_STOP_BITS);
}

enum sp_return sp_set_flowcontrol(struct sp_port *port, enum sp_flowcontrol flow)
{
    assert_int_equal(flow, SP_FLOWCONTROL_NONE);
    return answer_of(STEP_FLOW);
}

enum sp_return sp_new_config(struct sp_port_config **config)
{
    if (answer_of(STEP_CONFIG_NEW) == SP_OK) {
        *config = malloc(1);
        fake.n_configs++;
    }
    return answer_of(STEP_CONFIG_NEW);
}

void sp_free_config(struct sp_port_config *config)
{
    free(config);
    fake.n_configs--;
}

enum sp_return sp_get_config(struct sp_port *port, struct sp_port_config *config)
{
    return answer_of(STEP_CONFIG_GET);
}

enum sp_return sp_get_config_baudrate(const struct sp_port_config *config, int *baud)
{
    *baud = fake.baud;
    return answer_of(STEP_CONFIG_BAUD);
}

int sp_last_error_code(void)
{
    return fake.os_number;
}

static int set_up(void **state)
{
    memset(&fake, 0, sizeof fake);
    fake.sensor_end = posix_openpt(O_RDWR | O_NOCTTY);
    if (fake.sensor_end < 0 || grantpt(fake.sensor_end) != 0 ||
        unlockpt(fake.sensor_end) != 0) {
        return -1;
    }
    fake.path = ptsname(fake.sensor_end);
    return 0;
}

static int tear_down(void **state)
{
    return close(fake.sensor_end);
}

static enum sh_status open_fake(int baud, int *descriptor, struct sh_error *err)
{
    *descriptor = -1;
    *err = (struct sh_error){.status = SH_OK};
    enum sh_status status = sh_port_serial_open("/dev/ttyFAKE0", baud, descriptor, err);
    assert_int_equal(fake.n_ports, 0);
    assert_int_equal(fake.n_configs, 0);
    assert_int_equal(fake.n_open, 0);
    assert_int_equal(*descriptor >= 0, status == SH_OK);
    return status;
}

/* The descriptor outlives the library's object and does not block. */
static void test_opens(void **state)
{
    struct sh_error err;
    int descriptor = -1;
    char byte = 0;
    assert_int_equal(open_fake(921600, &descriptor, &err), SH_OK);
    assert_int_equal(fake.baud, 921600);
    assert_int_equal(read(descriptor, &byte, 1), -1);
    assert_int_equal(errno, EAGAIN);
    assert_true((fcntl(descriptor, F_GETFD) & FD_CLOEXEC) != 0);
    assert_int_equal(close(descriptor), 0);
}

/* Some drivers say yes to every rate; the sensor's bytes would be noise. */
static void test_another_rate_is_refused(void **state)
{
    struct sh_error err;
    int descriptor = -1;
    fake.is_stuck = true;
    assert_int_equal(open_fake(9600, &descriptor, &err), SH_OK);
    assert_int_equal(close(descriptor), 0);
    assert_int_equal(open_fake(921600, &descriptor, &err), SH_ERR_UNSUPPORTED);
    assert_string_equal(err.what, "the port runs at 9600 baud instead of 921600");
    assert_string_equal(err.where, "/dev/ttyFAKE0");
}

struct translation {
    enum sp_return answer;
    int os_number;
    enum sh_status status;
};

/* Every step of the opening may fail in every way; nothing is left open or unfreed. */
static void test_every_step_may_fail(void **state)
{
    static const struct translation translations[] = {
        {SP_ERR_ARG, 0, SH_ERR_NOT_FOUND},
        {SP_ERR_MEM, 0, SH_ERR_MEMORY},
        {SP_ERR_SUPP, 0, SH_ERR_UNSUPPORTED},
        {SP_ERR_FAIL, ENOENT, SH_ERR_NOT_FOUND},
        {SP_ERR_FAIL, EACCES, SH_ERR_PERMISSION},
        {SP_ERR_FAIL, EBUSY, SH_ERR_BUSY},
        {SP_ERR_FAIL, EIO, SH_ERR_IO},
    };
    for (int step = STEP_NAME; step < STEP_END; step++) {
        for (size_t i = 0; i < sizeof translations / sizeof translations[0]; i++) {
            struct sh_error err;
            int descriptor = -1;
            fake.fail_at = (enum step)step;
            fake.answer = translations[i].answer;
            fake.os_number = translations[i].os_number;
            assert_int_equal(open_fake(115200, &descriptor, &err), translations[i].status);
            assert_int_equal(err.status, translations[i].status);
            assert_string_not_equal(err.what, "");
        }
    }
}

static void test_no_permission_names_the_group(void **state)
{
    struct sh_error err;
    int descriptor = -1;
    fake.fail_at = STEP_OPEN;
    fake.answer = SP_ERR_FAIL;
    fake.os_number = EACCES;
    assert_int_equal(open_fake(115200, &descriptor, &err), SH_ERR_PERMISSION);
    assert_non_null(strstr(err.todo, "dialout"));
}

static void test_is_locked(void **state)
{
    struct sh_error err;
    int first = -1;
    int second = -1;
    assert_int_equal(open_fake(115200, &first, &err), SH_OK);
    assert_int_equal(open_fake(115200, &second, &err), SH_ERR_BUSY);
    assert_int_equal(close(first), 0);
    assert_int_equal(open_fake(115200, &second, &err), SH_OK);
    assert_int_equal(close(second), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_opens, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_another_rate_is_refused, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_every_step_may_fail, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_no_permission_names_the_group, set_up, tear_down),
        cmocka_unit_test_setup_teardown(test_is_locked, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
