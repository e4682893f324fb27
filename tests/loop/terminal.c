/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/terminal.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <time.h>
#include <unistd.h>

#include "signal/random.h"
#include "support/cmocka_all.h"

#define SLICE_MS  10
#define MS_PER_S  1000.0
#define CHUNK     4096u
#define PERIOD_US 1000u
#define COUNT     812

static void pause_ms(long ms)
{
    const struct timespec pause = {.tv_nsec = ms * 1000000};
    (void)nanosleep(&pause, NULL);
}

void terminal_open(struct terminal *terminal)
{
    struct termios raw;
    terminal->end = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(terminal->end >= 0);
    assert_int_equal(grantpt(terminal->end), 0);
    assert_int_equal(unlockpt(terminal->end), 0);
    (void)snprintf(terminal->path, sizeof terminal->path, "%s", ptsname(terminal->end));
    int other = open(terminal->path, O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(other >= 0);
    assert_int_equal(tcgetattr(other, &raw), 0);
    cfmakeraw(&raw);
    assert_int_equal(tcsetattr(other, TCSANOW, &raw), 0);
    (void)close(other); /* so that a missing reader shows */
    assert_int_equal(fcntl(terminal->end, F_SETFL, O_NONBLOCK), 0);
}

/* Waits SLICE_MS for events; what is there. */
static short wait_for(const struct terminal *terminal, short events)
{
    struct pollfd waiting = {.fd = terminal->end, .events = events};
    (void)poll(&waiting, 1, SLICE_MS);
    return waiting.revents;
}

void terminal_await_reader(const struct terminal *terminal)
{
    double waited_ms = 0.0;
    while ((wait_for(terminal, POLLOUT) & POLLHUP) != 0) {
        pause_ms(SLICE_MS);
        waited_ms += SLICE_MS;
        assert_true(waited_ms < MS_PER_S * TERMINAL_LIMIT_S);
    }
}

void terminal_send(const struct terminal *terminal, const char *bytes, size_t n_bytes)
{
    double waited_ms = 0.0;
    while (n_bytes > 0) {
        short ready = wait_for(terminal, POLLOUT);
        if ((ready & POLLHUP) != 0) {
            fail_msg("the reader of %s went away", terminal->path);
        }
        ssize_t n_sent = (ready & POLLOUT) != 0 ? write(terminal->end, bytes, n_bytes) : 0;
        if (n_sent < 0) {
            assert_int_equal(errno, EAGAIN);
        } else if (n_sent > 0) {
            bytes += n_sent;
            n_bytes -= (size_t)n_sent;
            waited_ms = 0.0;
            continue;
        }
        pause_ms(SLICE_MS);
        waited_ms += SLICE_MS;
        assert_true(waited_ms < MS_PER_S * TERMINAL_LIMIT_S);
    }
}

/* The reader's bytes that it has not read yet. */
static int count_unread(const struct terminal *terminal)
{
    int other = open(terminal->path, O_RDONLY | O_NOCTTY | O_NONBLOCK | O_CLOEXEC);
    int n_bytes = 0;
    assert_true(other >= 0);
    assert_int_equal(ioctl(other, FIONREAD, &n_bytes), 0);
    (void)close(other);
    return n_bytes;
}

void terminal_close(struct terminal *terminal)
{
    double waited_ms = 0.0;
    while ((wait_for(terminal, POLLOUT) & POLLHUP) == 0 && count_unread(terminal) > 0) {
        pause_ms(SLICE_MS);
        waited_ms += SLICE_MS;
        assert_true(waited_ms < MS_PER_S * TERMINAL_LIMIT_S);
    }
    (void)close(terminal->end);
}

void terminal_send_garbage(const struct terminal *terminal, size_t n_bytes)
{
    struct sh_random random;
    char chunk[CHUNK];
    sh_random_init(&random, 11);
    while (n_bytes > 0) {
        size_t n = n_bytes < CHUNK ? n_bytes : CHUNK;
        for (size_t i = 0; i < n; i++) {
            chunk[i] = (char)(unsigned char)sh_random_get_below(&random, 256);
        }
        terminal_send(terminal, chunk, n);
        n_bytes -= n;
    }
}

void terminal_send_lines(const struct terminal *terminal, size_t from, size_t until)
{
    char line[64];
    for (size_t i = from; i < until; i++) {
        int n = snprintf(line, sizeof line, "%zu,%d\n", PERIOD_US * i, COUNT);
        terminal_send(terminal, line, (size_t)n);
    }
}
