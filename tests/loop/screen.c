/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "loop/screen.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include "loop/program.h"
#include "report/utf8.h"
#include "support/cmocka_all.h"

#define SLICE_S 0.01
#define ROWS    24

void screen_open(struct screen *screen, size_t n_columns)
{
    const struct winsize size = {.ws_row = ROWS, .ws_col = (unsigned short)n_columns};
    screen->n_columns = n_columns;
    screen->n_bytes = 0;
    screen->n_seen = 0;
    screen->bytes[0] = '\0';
    screen->end = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC | O_NONBLOCK);
    assert_true(screen->end >= 0);
    assert_int_equal(grantpt(screen->end), 0);
    assert_int_equal(unlockpt(screen->end), 0);
    assert_int_equal(ioctl(screen->end, TIOCSWINSZ, &size), 0);
    (void)snprintf(screen->path, sizeof screen->path, "%s", ptsname(screen->end));
}

void screen_close(struct screen *screen)
{
    (void)close(screen->end);
}

void screen_drain(struct screen *screen)
{
    ssize_t n = 0;
    do {
        screen->n_bytes += n > 0 ? (size_t)n : 0;
        assert_true(screen->n_bytes < SCREEN_BYTES);
        n = read(screen->end, screen->bytes + screen->n_bytes, SCREEN_BYTES - screen->n_bytes);
    } while (n > 0);
    screen->bytes[screen->n_bytes] = '\0';
}

void screen_await(struct screen *screen, const char *text)
{
    double waited_s = 0.0;
    const char *found = NULL;
    while (found == NULL) {
        screen_drain(screen);
        found = strstr(screen->bytes + screen->n_seen, text);
        if (found == NULL && waited_s > SCREEN_LIMIT_S) {
            fail_msg("'%s' did not come behind: %s", text, screen->bytes);
        }
        program_pause(SLICE_S);
        waited_s += SLICE_S;
    }
    screen->n_seen = (size_t)(found - screen->bytes) + strlen(text);
}

void screen_type(struct screen *screen, const char *keys)
{
    size_t n_bytes = strlen(keys);
    assert_int_equal(write(screen->end, keys, n_bytes), n_bytes);
}

void screen_check_width(const struct screen *screen)
{
    size_t n_lines = 0;
    const char *at = screen->bytes;
    while ((at = strchr(at, '\r')) != NULL) {
        at++;
        size_t n = strcspn(at, "\r\n\x1b");
        if (at[n] == '\x1b') {
            n_lines++;
            if (sh_utf8_get_columns(at, n) >= screen->n_columns) {
                fail_msg("wider than %zu columns: %.*s", screen->n_columns, (int)n, at);
            }
        }
    }
    assert_true(n_lines > 1);
}

void screen_check_restored(const struct screen *screen)
{
    struct termios settings;
    assert_int_equal(tcgetattr(screen->end, &settings), 0);
    assert_true((settings.c_lflag & ICANON) != 0);
    assert_true((settings.c_lflag & ECHO) != 0);
}
