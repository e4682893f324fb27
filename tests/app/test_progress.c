/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/progress.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include "support/cmocka_all.h"

#define PATIENCE_MS 2000
#define SLICE_MS    250

static void pause_ms(long ms)
{
    const struct timespec pause = {.tv_sec = ms / 1000, .tv_nsec = ms % 1000 * 1000000};
    (void)nanosleep(&pause, NULL);
}

static size_t read_all(int from, char *bytes, size_t size)
{
    size_t n = 0;
    ssize_t got = 0;
    while (n + 1 < size && (got = read(from, bytes + n, size - 1 - n)) > 0) {
        n += (size_t)got;
    }
    bytes[n] = '\0';
    return n;
}

/* A long task with end in place of standard error; gives what stood there after two thirds. */
static void work(int end, int from, char *early, size_t size)
{
    struct sh_progress progress;
    int before = dup(STDERR_FILENO);
    assert_true(before >= 0);
    assert_true(dup2(end, STDERR_FILENO) >= 0);
    sh_progress_init(&progress, "kiln");
    sh_progress_set(&progress, 60.0);
    pause_ms(PATIENCE_MS - SLICE_MS);
    sh_progress_set(&progress, 120.0);
    (void)read_all(from, early, size);
    pause_ms(2L * SLICE_MS);
    sh_progress_set(&progress, 180.0);
    sh_progress_set(&progress, 240.0); /* too soon behind the other */
    sh_progress_close(&progress);
    sh_progress_close(&progress);
    assert_true(dup2(before, STDERR_FILENO) >= 0);
    (void)close(before);
}

static void test_a_terminal_sees_it_after_two_seconds(void **state)
{
    char early[256];
    char late[256];
    int terminal = posix_openpt(O_RDWR | O_NOCTTY | O_NONBLOCK);
    assert_true(terminal >= 0);
    assert_int_equal(grantpt(terminal), 0);
    assert_int_equal(unlockpt(terminal), 0);
    int end = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    assert_true(end >= 0);
    work(end, terminal, early, sizeof early);
    (void)read_all(terminal, late, sizeof late);
    assert_string_equal(early, "");
    assert_string_equal(late, "\rkiln: 3 min of the recording done\x1b[K\r\x1b[K");
    (void)close(end);
    (void)close(terminal);
}

static void test_others_never_see_it(void **state)
{
    char early[256];
    char late[256];
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    assert_int_equal(fcntl(ends[0], F_SETFL, O_NONBLOCK), 0);
    work(ends[1], ends[0], early, sizeof early);
    (void)read_all(ends[0], late, sizeof late);
    assert_string_equal(early, "");
    assert_string_equal(late, "");
    (void)close(ends[0]);
    (void)close(ends[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_terminal_sees_it_after_two_seconds),
        cmocka_unit_test(test_others_never_see_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
