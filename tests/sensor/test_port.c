/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port.h"

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define SHORT_MS 20

static enum sh_status open_at(const char *address, struct sh_port **port, struct sh_error *err)
{
    struct sh_port_config config = sh_port_config_default();
    config.address = address;
    config.timeout_ms = SHORT_MS;
    *err = (struct sh_error){.status = SH_OK};
    return sh_port_open(&config, port, err);
}

static struct sh_port *must_open(const char *address)
{
    struct sh_port *port = NULL;
    struct sh_error err;
    assert_int_equal(open_at(address, &port, &err), SH_OK);
    assert_non_null(port);
    return port;
}

static void refuses(const char *address, enum sh_status status)
{
    struct sh_port *port = NULL;
    struct sh_error err;
    assert_int_equal(open_at(address, &port, &err), status);
    assert_null(port);
    assert_int_equal(err.status, status);
    assert_string_not_equal(err.what, "");
    assert_string_not_equal(err.todo, "");
    assert_string_equal(err.where, address);
}

static struct sh_port_reading read_some(struct sh_port *port, uint8_t *bytes, size_t n)
{
    struct sh_port_reading reading;
    struct sh_error err = {.status = SH_OK};
    assert_int_equal(sh_port_read(port, bytes, n, &reading, &err), SH_OK);
    assert_int_equal(reading.n_bytes > 0, reading.answer == SH_PORT_DATA);
    return reading;
}

static void expect_bytes(struct sh_port *port, const char *expected)
{
    uint8_t bytes[64];
    size_t n = 0;
    while (n < strlen(expected)) {
        struct sh_port_reading reading = read_some(port, bytes + n, sizeof bytes - n);
        assert_int_equal(reading.answer, SH_PORT_DATA);
        n += reading.n_bytes;
    }
    assert_int_equal(n, strlen(expected));
    assert_memory_equal(bytes, expected, n);
}

static void expect_answer(struct sh_port *port, enum sh_port_answer answer)
{
    uint8_t bytes[8];
    assert_int_equal(read_some(port, bytes, sizeof bytes).answer, answer);
}

static void send_text(int descriptor, const char *text)
{
    assert_int_equal(write(descriptor, text, strlen(text)), strlen(text));
}

static double now_s(void)
{
    struct timespec now;
    assert_int_equal(clock_gettime(CLOCK_MONOTONIC, &now), 0);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static double cpu_s(void)
{
    struct timespec now;
    assert_int_equal(clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now), 0);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* The sensor's end of a new pseudo-terminal; path is our end's name. */
static int open_sensor_end(char path[64])
{
    int sensor = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(sensor >= 0);
    assert_int_equal(grantpt(sensor), 0);
    assert_int_equal(unlockpt(sensor), 0);
    assert_non_null(ptsname(sensor));
    (void)snprintf(path, 64, "%s", ptsname(sensor));
    return sensor;
}

static void test_pseudo_terminal_data_and_silence(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    double before_s = now_s();
    expect_answer(port, SH_PORT_NOTHING_YET);
    assert_true(now_s() - before_s >= 0.001 * SHORT_MS);
    send_text(sensor, "1,2\r\n3,4\n");
    expect_bytes(port, "1,2\r\n3,4\n"); /* raw: the carriage return is not changed */
    expect_answer(port, SH_PORT_NOTHING_YET);
    sh_port_close(&port);
    assert_null(port);
    assert_int_equal(close(sensor), 0);
}

/* Opened some time before it is read: what came meanwhile is dropped, however much it is. */
static void test_pseudo_terminal_is_resumed(void **state)
{
    char path[64];
    struct sh_port_config config = sh_port_config_default();
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    for (size_t i = 0; i < 300; i++) {
        send_text(sensor, "1,2\n3,4\n5,6\n");
    }
    config.address = "the same";
    config.timeout_ms = 2 * SHORT_MS;
    double before_s = now_s();
    sh_port_resume(port, &config);
    assert_true(now_s() - before_s >= 0.001 * SH_PORT_RESUME_MS);
    before_s = now_s();
    expect_answer(port, SH_PORT_NOTHING_YET);
    assert_true(now_s() - before_s >= 0.002 * SHORT_MS);
    send_text(sensor, "7,8\n");
    expect_bytes(port, "7,8\n");
    assert_int_equal(close(sensor), 0);
    sh_port_resume(port, &config); /* pulled meanwhile: no wait for it */
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
}

/* Every byte value passes, and none is echoed to the sensor. */
static void test_pseudo_terminal_is_raw(void **state)
{
    char path[64];
    uint8_t bytes[256];
    uint8_t got[256];
    size_t n = 0;
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    for (size_t i = 0; i < sizeof bytes; i++) {
        bytes[i] = (uint8_t)i;
    }
    assert_int_equal(write(sensor, bytes, sizeof bytes), sizeof bytes);
    while (n < sizeof got) {
        struct sh_port_reading reading = read_some(port, got + n, sizeof got - n);
        assert_int_equal(reading.answer, SH_PORT_DATA);
        n += reading.n_bytes;
    }
    assert_memory_equal(got, bytes, sizeof bytes);
    assert_int_equal(fcntl(sensor, F_SETFL, O_NONBLOCK), 0);
    assert_int_equal(read(sensor, got, sizeof got), -1);
    sh_port_close(&port);
    assert_int_equal(close(sensor), 0);
}

/* A pulled cable is an end at once, each time, and costs no time to ask for. */
static void test_hang_up_is_the_end(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    send_text(sensor, "12");
    expect_bytes(port, "12");
    assert_int_equal(close(sensor), 0);
    double before_s = now_s();
    double before_cpu_s = cpu_s();
    for (int i = 0; i < 10; i++) {
        expect_answer(port, SH_PORT_END);
    }
    assert_true(now_s() - before_s < 1.0);
    assert_true(cpu_s() - before_cpu_s < 0.1);
    sh_port_close(&port);
    refuses(path, SH_ERR_NOT_FOUND);
}

static void test_terminal_is_locked(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    refuses(path, SH_ERR_BUSY);
    sh_port_close(&port);
    port = must_open(path);
    sh_port_close(&port);
    assert_int_equal(close(sensor), 0);
}

static void test_link_to_a_terminal(void **state)
{
    char path[64];
    char folder[] = "/tmp/sh_port_XXXXXX";
    char link_path[64];
    int sensor = open_sensor_end(path);
    assert_non_null(mkdtemp(folder));
    (void)snprintf(link_path, sizeof link_path, "%s/sensor", folder);
    assert_int_equal(symlink(path, link_path), 0);
    struct sh_port *port = must_open(link_path);
    send_text(sensor, "5,6\n");
    expect_bytes(port, "5,6\n");
    sh_port_close(&port);
    assert_int_equal(unlink(link_path), 0);
    assert_int_equal(rmdir(folder), 0);
    assert_int_equal(close(sensor), 0);
}

static void test_file_ends(void **state)
{
    char path[] = "/tmp/sh_port_XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    send_text(file, "1,2\n");
    struct sh_port *port = must_open(path);
    expect_bytes(port, "1,2\n");
    expect_answer(port, SH_PORT_END);
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
    assert_int_equal(close(file), 0);
    assert_int_equal(unlink(path), 0);
}

/* A pipe without a writer is waited for; with the writer gone it ends, data first. */
static void test_pipe(void **state)
{
    char path[] = "/tmp/sh_port_XXXXXX";
    int file = mkstemp(path);
    assert_int_equal(close(file), 0);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(mkfifo(path, 0600), 0);
    struct sh_port *port = must_open(path);
    expect_answer(port, SH_PORT_NOTHING_YET);
    int writer = open(path, O_WRONLY);
    assert_true(writer >= 0);
    send_text(writer, "7,8\n");
    assert_int_equal(close(writer), 0);
    expect_bytes(port, "7,8\n");
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
    assert_int_equal(unlink(path), 0);
}

static void test_standard_input_stays_open(void **state)
{
    int ends[2];
    int kept = dup(STDIN_FILENO);
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(dup2(ends[0], STDIN_FILENO), STDIN_FILENO);
    struct sh_port *port = must_open("-");
    expect_answer(port, SH_PORT_NOTHING_YET);
    send_text(ends[1], "9\n");
    expect_bytes(port, "9\n");
    assert_int_equal(close(ends[1]), 0);
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
    assert_true(fcntl(STDIN_FILENO, F_GETFD) >= 0);
    assert_int_equal(close(ends[0]), 0);
    if (kept >= 0) {
        assert_int_equal(dup2(kept, STDIN_FILENO), STDIN_FILENO);
        assert_int_equal(close(kept), 0);
    }
}

/* A server on a free port of this machine; address holds how to reach it. */
static int open_server(char address[64])
{
    struct sockaddr_in place = {.sin_family = AF_INET};
    socklen_t n_bytes = sizeof place;
    place.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    int server = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(server >= 0);
    assert_int_equal(bind(server, (struct sockaddr *)&place, sizeof place), 0);
    assert_int_equal(listen(server, 1), 0);
    assert_int_equal(getsockname(server, (struct sockaddr *)&place, &n_bytes), 0);
    (void)snprintf(address, 64, "tcp:127.0.0.1:%u", (unsigned)ntohs(place.sin_port));
    return server;
}

static void test_tcp(void **state)
{
    char address[64];
    int server = open_server(address);
    struct sh_port *port = must_open(address);
    int sensor = accept(server, NULL, NULL);
    assert_true(sensor >= 0);
    expect_answer(port, SH_PORT_NOTHING_YET);
    send_text(sensor, "1,2\n");
    expect_bytes(port, "1,2\n");
    assert_int_equal(close(sensor), 0);
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
    assert_int_equal(close(server), 0);
    refuses(address, SH_ERR_IO); /* nobody listens any more */
}

/* A server that is killed resets the connection: an end, not a failure of ours. */
static void test_tcp_reset_is_the_end(void **state)
{
    char address[64];
    int server = open_server(address);
    struct sh_port *port = must_open(address);
    int sensor = accept(server, NULL, NULL);
    struct linger none = {.l_onoff = 1, .l_linger = 0};
    assert_int_equal(setsockopt(sensor, SOL_SOCKET, SO_LINGER, &none, sizeof none), 0);
    assert_int_equal(close(sensor), 0);
    expect_answer(port, SH_PORT_END);
    sh_port_close(&port);
    assert_int_equal(close(server), 0);
}

static void test_addresses_that_cannot_be_read(void **state)
{
    static const char *const addresses[] = {
        "tcp:",         "tcp:localhost", "tcp:localhost:",  "tcp::4000",
        "tcp:a:0",      "tcp:a:65536",   "tcp:a:4000x",     "tcp:a:000004000",
        "tcp:::1:4000", "usb:",          "tcp:[::1]4000:1", "tcp:[]:4000"};
    for (size_t i = 0; i < sizeof addresses / sizeof addresses[0]; i++) {
        refuses(addresses[i], SH_ERR_ARGUMENT);
    }
}

static void test_what_is_not_there(void **state)
{
    refuses("/dev/no-such-port", SH_ERR_NOT_FOUND);
    refuses("/tmp", SH_ERR_UNSUPPORTED);
    refuses("/dev/null", SH_ERR_NOT_FOUND); /* no serial port */
    refuses("usb:ffff:fffe", SH_ERR_NOT_FOUND);
    refuses("tcp:no-such-host.invalid:4000", SH_ERR_NOT_FOUND);
}

static enum sh_status open_with(const char *address, int baud, int timeout_ms)
{
    struct sh_port_config config = {address, baud, timeout_ms};
    struct sh_port *port = NULL;
    struct sh_error err = {.status = SH_OK};
    enum sh_status status = sh_port_open(&config, &port, &err);
    assert_int_equal(err.status, status);
    sh_port_close(&port);
    return status;
}

static void test_setting_limits(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port_config config = sh_port_config_default();
    assert_int_equal(config.baud, 115200);
    assert_int_equal(config.timeout_ms, 200);
    assert_int_equal(open_with(NULL, 9600, 200), SH_ERR_ARGUMENT);
    assert_int_equal(open_with("", 9600, 200), SH_ERR_ARGUMENT);
    assert_int_equal(open_with(path, 0, 200), SH_ERR_ARGUMENT);
    assert_int_equal(open_with(path, 1, 200), SH_OK);
    assert_int_equal(open_with(path, 9600, -1), SH_ERR_ARGUMENT);
    assert_int_equal(open_with(path, 9600, 0), SH_OK);
    assert_int_equal(open_with(path, 9600, 10000), SH_OK);
    assert_int_equal(open_with(path, 9600, 10001), SH_ERR_ARGUMENT);
    assert_int_equal(close(sensor), 0);
}

static void test_no_room(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    struct sh_port_reading reading;
    struct sh_error err = {.status = SH_OK};
    uint8_t byte = 0;
    assert_int_equal(sh_port_read(port, &byte, 0, &reading, &err), SH_ERR_ARGUMENT);
    sh_port_close(&port);
    sh_port_close(&port);
    assert_int_equal(close(sensor), 0);
}

/* The host time is taken at the read, on the monotonic clock. */
static void test_host_time(void **state)
{
    char path[64];
    uint8_t bytes[8];
    int sensor = open_sensor_end(path);
    struct sh_port *port = must_open(path);
    send_text(sensor, "x");
    double before_s = now_s();
    struct sh_port_reading reading = read_some(port, bytes, sizeof bytes);
    assert_in_range((uintmax_t)reading.host_time_us, (uintmax_t)(1e6 * before_s) - 1,
                    (uintmax_t)(1e6 * now_s()) + 1);
    sh_port_close(&port);
    assert_int_equal(close(sensor), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_pseudo_terminal_data_and_silence),
        cmocka_unit_test(test_pseudo_terminal_is_resumed),
        cmocka_unit_test(test_pseudo_terminal_is_raw),
        cmocka_unit_test(test_hang_up_is_the_end),
        cmocka_unit_test(test_terminal_is_locked),
        cmocka_unit_test(test_link_to_a_terminal),
        cmocka_unit_test(test_file_ends),
        cmocka_unit_test(test_pipe),
        cmocka_unit_test(test_standard_input_stays_open),
        cmocka_unit_test(test_tcp),
        cmocka_unit_test(test_tcp_reset_is_the_end),
        cmocka_unit_test(test_addresses_that_cannot_be_read),
        cmocka_unit_test(test_what_is_not_there),
        cmocka_unit_test(test_setting_limits),
        cmocka_unit_test(test_no_room),
        cmocka_unit_test(test_host_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
