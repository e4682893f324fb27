/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/port_reader.h"

#include <errno.h>
#include <fcntl.h>
#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define PORT_MS 20
#define WAIT_MS 5000 /* longer than anything takes that works */
#define LEAST   (SH_PORT_READER_PIECE_BYTES + SH_PIECE_QUEUE_HEAD_BYTES)

static struct sh_port_reader_config make_config(const char *address)
{
    struct sh_port_reader_config config = sh_port_reader_config_default();
    config.port.address = address;
    config.port.timeout_ms = PORT_MS;
    return config;
}

static struct sh_port_reader *must_open(const struct sh_port_reader_config *config)
{
    struct sh_port_reader *reader = NULL;
    struct sh_error err = {0};
    assert_int_equal(sh_port_reader_open(config, &reader, &err), SH_OK);
    assert_non_null(reader);
    return reader;
}

static struct sh_port_reader_reading
must_read(struct sh_port_reader *reader, uint8_t *bytes, size_t n_bytes, int timeout_ms)
{
    struct sh_port_reader_reading reading;
    struct sh_error err = {0};
    assert_int_equal(sh_port_reader_read(reader, bytes, n_bytes, timeout_ms, &reading, &err),
                     SH_OK);
    assert_int_equal(reading.piece.n_bytes > 0, reading.answer == SH_PORT_DATA);
    return reading;
}

static void expect_answer(struct sh_port_reader *reader, enum sh_port_answer answer)
{
    uint8_t byte = 0;
    int timeout_ms = answer == SH_PORT_NOTHING_YET ? 0 : WAIT_MS;
    assert_int_equal(must_read(reader, &byte, 1, timeout_ms).answer, answer);
}

/* Reads on from one byte to another and checks that they count up, modulo 251. */
static void expect_count(struct sh_port_reader *reader, size_t from, size_t until)
{
    uint8_t bytes[4096];
    size_t n = from;
    while (n < until) {
        size_t n_max = until - n < sizeof bytes ? until - n : sizeof bytes;
        const struct sh_port_reader_reading reading = must_read(reader, bytes, n_max, WAIT_MS);
        assert_int_equal(reading.answer, SH_PORT_DATA);
        assert_false(reading.piece.follows_loss);
        for (size_t i = 0; i < reading.piece.n_bytes; i++) {
            assert_int_equal(bytes[i], (n + i) % 251);
        }
        n += reading.piece.n_bytes;
    }
}

static void pause_ms(long ms)
{
    const struct timespec pause = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};
    assert_int_equal(nanosleep(&pause, NULL), 0);
}

static int64_t now_us(clockid_t clock)
{
    struct timespec now;
    assert_int_equal(clock_gettime(clock, &now), 0);
    return (int64_t)now.tv_sec * 1000000 + now.tv_nsec / 1000;
}

static int open_sensor_end(char path[64])
{
    int sensor = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(sensor >= 0);
    assert_int_equal(grantpt(sensor), 0);
    assert_int_equal(unlockpt(sensor), 0);
    (void)snprintf(path, 64, "%s", ptsname(sensor));
    return sensor;
}

/* Sends bytes that count up, modulo 251; false where that fails. */
static bool put_count(int descriptor, size_t n_bytes)
{
    uint8_t bytes[1024];
    ssize_t n_sent = 1;
    for (size_t n = 0; n < n_bytes && n_sent > 0; n += (size_t)n_sent) {
        size_t n_now = n_bytes - n < sizeof bytes ? n_bytes - n : sizeof bytes;
        for (size_t i = 0; i < n_now; i++) {
            bytes[i] = (uint8_t)((n + i) % 251);
        }
        n_sent = write(descriptor, bytes, n_now);
    }
    return n_sent > 0;
}

static void send_count(int descriptor, size_t n_bytes)
{
    assert_true(put_count(descriptor, n_bytes));
}

/* More than any kernel holds for a terminal, while nobody takes it. */
static void test_a_taker_that_is_held_up(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    const struct sh_port_reader_config config = make_config(path);
    struct sh_port_reader *reader = must_open(&config);
    send_count(sensor, 1000000);
    expect_count(reader, 0, 1000000);
    expect_answer(reader, SH_PORT_NOTHING_YET);
    assert_int_equal(sh_port_reader_get_lost_bytes(reader), 0);
    sh_port_reader_close(&reader);
    assert_null(reader);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

/* Each piece keeps the time at which it came, not that at which it is taken. */
static void test_times_of_arrival(void **state)
{
    char path[64];
    uint8_t bytes[8];
    int64_t sent_us[4];
    int64_t listened_us = 0;
    int sensor = open_sensor_end(path);
    const struct sh_port_reader_config config = make_config(path);
    struct sh_port_reader *reader = must_open(&config);
    const int64_t begin_us = now_us(CLOCK_MONOTONIC);
    for (size_t i = 0; i < 4; i++) {
        pause_ms(100);
        sent_us[i] = now_us(CLOCK_MONOTONIC);
        assert_int_equal(write(sensor, "a", 1), 1);
    }
    pause_ms(300);
    const int64_t end_us = now_us(CLOCK_MONOTONIC);
    for (size_t i = 0; i < 4; i++) {
        const struct sh_port_reader_reading reading =
            must_read(reader, bytes, sizeof bytes, WAIT_MS);
        const int64_t next_us = i < 3 ? sent_us[i + 1] : end_us;
        assert_int_equal(reading.piece.n_bytes, 1);
        assert_in_range(reading.piece.host_time_us, sent_us[i], next_us);
        assert_in_range(reading.piece.listened_us, listened_us,
                        next_us - begin_us + 1000L * PORT_MS);
        listened_us = reading.piece.listened_us;
    }
    /* without bytes: up to when nothing had come */
    struct sh_port_reader_reading nothing = must_read(reader, bytes, sizeof bytes, 0);
    for (int i = 0; i < WAIT_MS / 10 && nothing.piece.host_time_us < end_us; i++) {
        nothing = must_read(reader, bytes, sizeof bytes, 10);
        assert_int_equal(nothing.answer, SH_PORT_NOTHING_YET);
    }
    assert_in_range(nothing.piece.host_time_us, end_us, now_us(CLOCK_MONOTONIC));
    assert_true(nothing.piece.listened_us > listened_us);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

/* Is a process stopped? By its state in /proc/PID/stat. */
static bool is_stopped(pid_t pid)
{
    char path[64];
    char text[256] = "";
    (void)snprintf(path, sizeof path, "/proc/%ld/stat", (long)pid);
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return false;
    }
    const char *state = fgets(text, sizeof text, file) != NULL ? strrchr(text, ')') : NULL;
    (void)fclose(file);
    return state != NULL && strlen(state) > 2 && state[2] == 'T';
}

/* A process that is stopped does not listen: its clock of listening stands still. */
static void test_a_sleep_is_not_listening(void **state)
{
    char path[64];
    uint8_t byte = 0;
    int sensor = open_sensor_end(path);
    const struct sh_port_reader_config config = make_config(path);
    struct sh_port_reader *reader = must_open(&config);
    pause_ms(200);
    const struct sh_port_reader_reading before = must_read(reader, &byte, 1, 0);
    const pid_t sleeper = getpid();
    pid_t waker = fork();
    assert_true(waker >= 0);
    if (waker == 0) {
        for (int i = 0; i < WAIT_MS && !is_stopped(sleeper); i++) {
            pause_ms(1);
        }
        pause_ms(1500);
        (void)kill(sleeper, SIGCONT);
        _exit(0);
    }
    assert_int_equal(raise(SIGSTOP), 0); /* for 1.5 s */
    assert_int_equal(waitpid(waker, NULL, 0), waker);
    pause_ms(100);
    const struct sh_port_reader_reading after = must_read(reader, &byte, 1, 0);
    const int64_t passed_us = after.piece.host_time_us - before.piece.host_time_us;
    const int64_t listened_us = after.piece.listened_us - before.piece.listened_us;
    assert_true(passed_us >= 1400000);
    assert_true(listened_us > 0);
    assert_true(passed_us - listened_us >= 1400000);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

/* Until the reader's thread has dealt with all that was sent. */
static uint64_t await_loss(struct sh_port_reader *reader, uint64_t least_bytes)
{
    uint64_t n_bytes = 0;
    uint64_t before = 0;
    for (int i = 0; i < WAIT_MS / 100 && (n_bytes < least_bytes || n_bytes != before); i++) {
        before = n_bytes;
        pause_ms(100);
        n_bytes = sh_port_reader_get_lost_bytes(reader);
    }
    return n_bytes;
}

/* A terminal that sends on: what finds no room is counted, and the next piece says so. */
static void test_an_overflow_is_told(void **state)
{
    char path[64];
    uint8_t bytes[4096];
    size_t n_taken = 0;
    size_t n_told = 0;
    int sensor = open_sensor_end(path);
    struct sh_port_reader_config config = make_config(path);
    config.buffer_bytes = LEAST;
    struct sh_port_reader *reader = must_open(&config);
    send_count(sensor, 200000);
    const uint64_t n_lost_bytes = await_loss(reader, 200000 - LEAST);
    struct sh_port_reader_reading reading = must_read(reader, bytes, sizeof bytes, 0);
    while (reading.answer == SH_PORT_DATA) {
        n_told += reading.piece.follows_loss ? 1 : 0;
        for (size_t i = 0; i < reading.piece.n_bytes && n_told == 0; i++) {
            assert_int_equal(bytes[i], (n_taken + i) % 251); /* the oldest are kept */
        }
        n_taken += reading.piece.n_bytes;
        reading = must_read(reader, bytes, sizeof bytes, 0);
    }
    assert_true(n_taken > LEAST / 2);
    assert_int_equal(n_taken + n_lost_bytes, 200000);
    assert_int_equal(write(sensor, "b", 1), 1);
    reading = must_read(reader, bytes, sizeof bytes, WAIT_MS);
    assert_int_equal(reading.piece.n_bytes, 1);
    assert_true(n_told > 0 || reading.piece.follows_loss);
    assert_int_equal(write(sensor, "c", 1), 1);
    reading = must_read(reader, bytes, sizeof bytes, WAIT_MS);
    assert_false(reading.piece.follows_loss);
    assert_int_equal(sh_port_reader_get_lost_bytes(reader), n_lost_bytes);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

struct sending {
    int descriptor;
    size_t n_bytes;
    bool is_sent;
};

static void *send_all(void *context)
{
    struct sending *sending = context;
    sending->is_sent = put_count(sending->descriptor, sending->n_bytes);
    return NULL;
}

/* Writers that can be made to wait do, and not a byte is lost in the smallest buffer. */
static void check_waits(const struct sh_port_reader_config *config, int sensor)
{
    pthread_t thread;
    struct sending sending = {sensor, 1000000, false};
    struct sh_port_reader *reader = must_open(config);
    assert_int_equal(pthread_create(&thread, NULL, send_all, &sending), 0);
    pause_ms(300);
    expect_count(reader, 0, 1000000);
    assert_int_equal(pthread_join(thread, NULL), 0);
    assert_true(sending.is_sent);
    assert_int_equal(sh_port_reader_get_lost_bytes(reader), 0);
    sh_port_reader_close(&reader);
}

static void test_a_pipe_waits(void **state)
{
    char path[] = "/tmp/sh_reader_XXXXXX";
    assert_non_null(mkdtemp(path));
    char pipe[64];
    (void)snprintf(pipe, sizeof pipe, "%s/pipe", path);
    assert_int_equal(mkfifo(pipe, 0600), 0);
    int sensor = open(pipe, O_RDWR);
    assert_true(sensor >= 0);
    struct sh_port_reader_config config = make_config(pipe);
    config.buffer_bytes = LEAST;
    check_waits(&config, sensor);
    assert_int_equal(close(sensor), 0);
    assert_int_equal(unlink(pipe), 0);
    assert_int_equal(rmdir(path), 0);
}

static void test_a_patient_terminal_waits(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port_reader_config config = make_config(path);
    config.buffer_bytes = LEAST;
    config.is_patient = true;
    check_waits(&config, sensor);
    assert_int_equal(close(sensor), 0);
}

/* A file comes whole through the smallest buffer, then its end, again and again. */
static void test_a_file(void **state)
{
    char path[] = "/tmp/sh_reader_XXXXXX";
    int file = mkstemp(path);
    assert_true(file >= 0);
    send_count(file, 3000000);
    assert_int_equal(close(file), 0);
    struct sh_port_reader_config config = make_config(path);
    config.buffer_bytes = LEAST;
    struct sh_port_reader *reader = must_open(&config);
    pause_ms(50);
    expect_count(reader, 0, 3000000);
    expect_answer(reader, SH_PORT_END);
    expect_answer(reader, SH_PORT_END);
    assert_int_equal(sh_port_reader_get_lost_bytes(reader), 0);
    sh_port_reader_close(&reader);
    /* closed in the middle, while its thread waits for room */
    reader = must_open(&config);
    pause_ms(50);
    sh_port_reader_close(&reader);
    assert_int_equal(unlink(path), 0);
}

/* The end comes behind the last bytes; the port is then free, and can be opened again. */
static void test_a_hang_up_and_after(void **state)
{
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port_reader_config config = make_config(path);
    struct sh_port_reader *reader = must_open(&config);
    struct sh_port_reader *second = NULL;
    struct sh_error busy = {0};
    assert_int_equal(sh_port_reader_open(&config, &second, &busy), SH_ERR_BUSY);
    assert_null(second);
    send_count(sensor, 1000);
    expect_count(reader, 0, 1); /* its thread has them: a hang-up discards what nobody read */
    assert_int_equal(close(sensor), 0);
    expect_count(reader, 1, 1000);
    expect_answer(reader, SH_PORT_END);
    expect_answer(reader, SH_PORT_END);
    sh_port_reader_close(&reader);
    struct sh_error gone = {0};
    assert_int_equal(sh_port_reader_open(&config, &second, &gone), SH_ERR_NOT_FOUND);
    assert_string_equal(gone.where, path);
    sensor = open_sensor_end(path);
    config.port.address = path;
    reader = must_open(&config);
    send_count(sensor, 500);
    expect_count(reader, 0, 500);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

/* A read waits no longer than it was told to, a close no longer than the port's timeout; a
 * thread with nothing to do takes no time. */
static void test_waits_are_short_and_idle(void **state)
{
    char path[64];
    uint8_t byte = 0;
    int sensor = open_sensor_end(path);
    const struct sh_port_reader_config config = make_config(path);
    struct sh_port_reader *reader = must_open(&config);
    int64_t cpu_us = now_us(CLOCK_PROCESS_CPUTIME_ID);
    int64_t begin_us = now_us(CLOCK_MONOTONIC);
    assert_int_equal(must_read(reader, &byte, 1, 300).answer, SH_PORT_NOTHING_YET);
    assert_in_range(now_us(CLOCK_MONOTONIC) - begin_us, 300000, 3000000);
    assert_true(now_us(CLOCK_PROCESS_CPUTIME_ID) - cpu_us < 60000);
    begin_us = now_us(CLOCK_MONOTONIC);
    sh_port_reader_close(&reader);
    assert_true(now_us(CLOCK_MONOTONIC) - begin_us < 3000000); /* 20 ms on a free machine */
    assert_int_equal(close(sensor), 0);
}

/* A failure of the port comes back with its words, again each time. */
static void test_a_failing_port(void **state)
{
    char path[64];
    uint8_t byte = 0;
    int sensor = open_sensor_end(path);
    int standard_input = dup(STDIN_FILENO);
    int unreadable = open("/dev/null", O_WRONLY);
    assert_true(standard_input >= 0 && unreadable >= 0);
    assert_int_equal(dup2(unreadable, STDIN_FILENO), STDIN_FILENO);
    const struct sh_port_reader_config config = make_config("-");
    struct sh_port_reader *reader = must_open(&config);
    for (int i = 0; i < 2; i++) {
        struct sh_port_reader_reading reading;
        struct sh_error err = {0};
        assert_int_equal(sh_port_reader_read(reader, &byte, 1, WAIT_MS, &reading, &err),
                         SH_ERR_IO);
        assert_int_equal(err.status, SH_ERR_IO);
        assert_int_equal(err.os_number, EBADF);
        assert_string_equal(err.where, "-");
    }
    sh_port_reader_close(&reader);
    assert_int_equal(dup2(standard_input, STDIN_FILENO), STDIN_FILENO);
    (void)close(standard_input);
    (void)close(unreadable);
    (void)close(sensor);
}

static void test_settings_that_cannot_be_used(void **state)
{
    struct sh_port_reader *reader = NULL;
    uint8_t byte = 0;
    char path[64];
    int sensor = open_sensor_end(path);
    struct sh_port_reader_config config = make_config(path);
    struct sh_error err = {0};
    config.buffer_bytes = LEAST - 1;
    assert_int_equal(sh_port_reader_open(&config, &reader, &err), SH_ERR_ARGUMENT);
    assert_string_equal(err.where, path);
    config.buffer_bytes = LEAST;
    config.port.baud = 0;
    err = (struct sh_error){0};
    assert_int_equal(sh_port_reader_open(&config, &reader, &err), SH_ERR_ARGUMENT);
    assert_null(reader);
    config.port.baud = 115200;
    reader = must_open(&config);
    struct sh_port_reader_reading reading;
    err = (struct sh_error){0};
    assert_int_equal(sh_port_reader_read(reader, &byte, 0, 0, &reading, &err), SH_ERR_ARGUMENT);
    sh_port_reader_close(&reader);
    assert_int_equal(close(sensor), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_taker_that_is_held_up),
        cmocka_unit_test(test_times_of_arrival),
        cmocka_unit_test(test_a_sleep_is_not_listening),
        cmocka_unit_test(test_an_overflow_is_told),
        cmocka_unit_test(test_a_pipe_waits),
        cmocka_unit_test(test_a_patient_terminal_waits),
        cmocka_unit_test(test_a_file),
        cmocka_unit_test(test_a_hang_up_and_after),
        cmocka_unit_test(test_waits_are_short_and_idle),
        cmocka_unit_test(test_a_failing_port),
        cmocka_unit_test(test_settings_that_cannot_be_used),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
