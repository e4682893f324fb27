/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/clock_face.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "app/clock_screen.h"
#include "app/clock_words.h"
#include "app/prompt.h"

#define STEP_MS    50
#define NS_PER_S   1.0e9
#define ROWS       24u /* of a terminal that does not say */
#define COLUMNS    80u
#define KEYS_MAX   64u
#define ENTER_ALL  "\x1b[?1049h\x1b[?25l" /* a screen of its own, no cursor */
#define LEAVE_ALL  "\x1b[?25h\x1b[?1049l"
#define TO_TOP     "\x1b[H"
#define LINE_END   "\x1b[K\r\n" /* nothing behind it */
#define SCREEN_END "\x1b[J"

struct face {
    const struct sh_clock_face_config *config;
    const volatile sig_atomic_t *should_end;
    struct sh_shooting_clock clock;
    struct sh_clock_voice voice;
    double start_s; /* of the last clock, for the lines */
    struct sh_text shown;
    bool has_ended;
    bool has_keys; /* somebody may still type */
};

static double now_s(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / NS_PER_S;
}

/* Writes out what is printed. */
static enum sh_status flush_out(struct sh_error *err)
{
    return fflush(stdout) == 0 && ferror(stdout) == 0
               ? SH_OK
               : sh_error_set_os(err, errno, "standard output", NULL, "cannot write");
}

static enum sh_status
take_event(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct face *face = context;
    sh_clock_voice_hear(&face->voice, event);
    if (!face->config->has_lines) {
        return SH_OK;
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "%7.1f s  ", event->t_s - face->start_s);
    sh_clock_words_put_event(&text, &face->config->format, event, true);
    sh_text_puts(&text, "\n");
    enum sh_status status = text.status;
    if (status == SH_OK) {
        (void)fputs(text.data, stdout);
        status = flush_out(err);
    }
    sh_text_close(&text);
    return status;
}

static enum sh_status begin(struct face *face, double at_s, struct sh_error *err)
{
    struct sh_shooting_clock *clock = &face->clock;
    if (clock->state == SH_SHOOTING_CLOCK_PAUSED) {
        return sh_shooting_clock_resume(clock, at_s, err);
    }
    if (clock->state == SH_SHOOTING_CLOCK_READY || clock->state == SH_SHOOTING_CLOCK_OVER) {
        face->start_s = at_s;
        return sh_shooting_clock_start(clock, at_s, face->config->first, err);
    }
    return SH_OK;
}

static enum sh_status obey(struct face *face, char key, struct sh_error *err)
{
    struct sh_shooting_clock *clock = &face->clock;
    const double at_s = now_s();
    switch (key) {
    case 'c':
        return begin(face, at_s, err);
    case 'h':
        return sh_shooting_clock_pause(clock, at_s, err);
    case 's':
        return sh_shooting_clock_stop(clock, at_s, err);
    case 'n':
        return sh_shooting_clock_hand_over(clock, at_s, err);
    case 'r':
        return sh_shooting_clock_release(clock, SH_SHOOTING_CLOCK_OWN, at_s, 0.0, err);
    case 'o':
        return sh_shooting_clock_release(clock, SH_SHOOTING_CLOCK_OTHER, at_s, 0.0, err);
    case 'q':
        face->has_ended = true;
        return SH_OK;
    default:
        return SH_OK;
    }
}

/* Waits for keys, not longer than to the next look at the clock; gives how many. */
static size_t await_keys(struct face *face, char keys[KEYS_MAX])
{
    struct pollfd waiting = {.fd = STDIN_FILENO, .events = POLLIN};
    if (poll(&waiting, face->has_keys ? 1 : 0, STEP_MS) <= 0) {
        return 0;
    }
    const ssize_t n = read(STDIN_FILENO, keys, KEYS_MAX);
    face->has_keys = n > 0;
    return n > 0 ? (size_t)n : 0;
}

static char lower(char key)
{
    return (char)(key >= 'A' && key <= 'Z' ? key - 'A' + 'a' : key);
}

static enum sh_status obey_keys(struct face *face, struct sh_error *err)
{
    char keys[KEYS_MAX];
    const size_t n = await_keys(face, keys);
    enum sh_status status = SH_OK;
    for (size_t i = 0; i < n && status == SH_OK && !face->has_ended; i++) {
        status = obey(face, lower(keys[i]), err);
    }
    return status;
}

static struct sh_clock_screen find_screen(const struct face *face)
{
    struct winsize size = {0};
    const bool is_known = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    return (struct sh_clock_screen){.n_rows = is_known ? size.ws_row : ROWS,
                                    .n_columns = is_known ? size.ws_col : COLUMNS,
                                    .is_ascii = face->config->is_ascii};
}

/* Each line up to its end, so that nothing flickers. */
static enum sh_status rewrite(const char *lines, struct sh_error *err)
{
    (void)fputs(TO_TOP, stdout);
    for (const char *at = lines; *at != '\0';) {
        const size_t n = strcspn(at, "\n");
        (void)fwrite(at, 1, n, stdout);
        at += n;
        if (*at == '\n') {
            (void)fputs(LINE_END, stdout);
            at++;
        }
    }
    (void)fputs(SCREEN_END, stdout);
    return flush_out(err);
}

/* Rewrites the screen where it has changed. */
static enum sh_status show(struct face *face, struct sh_error *err)
{
    struct sh_shooting_clock_view view;
    struct sh_text text;
    const struct sh_clock_screen screen = find_screen(face);
    sh_shooting_clock_get(&face->clock, now_s(), &view);
    sh_text_init(&text, 0);
    sh_clock_screen_format(&screen, &face->config->format, &view, &text);
    enum sh_status status = text.status;
    if (status == SH_OK &&
        (face->shown.data == NULL || strcmp(face->shown.data, text.data) != 0)) {
        status = rewrite(text.data, err);
    }
    sh_text_close(&face->shown);
    face->shown = text;
    return status;
}

/* Where nobody can type any more and nothing runs, there is nothing to come. */
static bool is_finished(const struct face *face)
{
    const enum sh_shooting_clock_state state = face->clock.state;
    const bool is_running =
        state == SH_SHOOTING_CLOCK_LINE_UP || state == SH_SHOOTING_CLOCK_SHOOTING;
    return face->has_ended || *face->should_end != 0 || (!face->has_keys && !is_running);
}

static enum sh_status step(struct face *face, struct sh_error *err)
{
    enum sh_status status = sh_shooting_clock_push(&face->clock, now_s(), err);
    if (status == SH_OK && !face->config->has_lines) {
        status = show(face, err);
    }
    if (sh_clock_voice_take(&face->voice, NULL, now_s())) {
        (void)fputs("\a", stderr);
    }
    return status == SH_OK ? obey_keys(face, err) : status;
}

enum sh_status sh_clock_face_run(const struct sh_clock_face_config *config,
                                 const volatile sig_atomic_t *should_end,
                                 struct sh_error *err)
{
    struct face face = {.config = config, .should_end = should_end, .has_keys = true};
    struct sh_prompt prompt;
    enum sh_status status = SH_OK;
    const struct sh_shooting_clock_sink sink = {take_event, &face};
    sh_shooting_clock_init(&face.clock, &config->format, &sink);
    sh_clock_voice_init(&face.voice, config->sound);
    sh_text_init(&face.shown, 0);
    sh_prompt_open(&prompt);
    (void)fputs(config->has_lines ? "" : ENTER_ALL, stdout);
    while (status == SH_OK && !is_finished(&face)) {
        status = step(&face, err);
    }
    (void)fputs(config->has_lines ? "" : LEAVE_ALL, stdout);
    (void)fflush(stdout);
    sh_prompt_close(&prompt);
    sh_text_close(&face.shown);
    if (status == SH_ERR_MEMORY) {
        (void)sh_error_set(err, status, NULL, NULL, "out of memory");
    }
    return status;
}
