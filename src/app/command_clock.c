/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ctype.h>
#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/ioctl.h>
#include <time.h>
#include <unistd.h>

#include "app/bell.h"
#include "app/clock_screen.h"
#include "app/clock_setup.h"
#include "app/clock_words.h"
#include "app/commands.h"
#include "app/prompt.h"
#include "app/say.h"

#define STEP_MS   50
#define NS_PER_S  1.0e9
#define ROWS      24u /* of a terminal that does not say */
#define COLUMNS   80u
#define OATH      "I am in charge of this line"
#define ENTER_ALL "\x1b[?1049h\x1b[?25l" /* a screen of its own, no cursor */
#define LEAVE_ALL "\x1b[?25h\x1b[?1049l"

/* What may be heard. */
enum sound {
    SOUND_OFF,
    SOUND_OWN,  /* one stroke before anybody may draw */
    SOUND_RANGE /* the signals of the line */
};

static volatile sig_atomic_t should_end;

static void end_soon(int number)
{
    (void)number;
    should_end = 1;
}

static void catch_signals(void)
{
    struct sigaction action;
    memset(&action, 0, sizeof action);
    action.sa_handler = end_soon;
    (void)sigaction(SIGINT, &action, NULL);
    (void)sigaction(SIGTERM, &action, NULL);
    (void)sigaction(SIGHUP, &action, NULL);
}

/* One clock in front of people. */
struct face {
    struct sh_round_format format;
    enum sh_shooting_clock_side first;
    enum sound sound;
    bool has_lines; /* a line an event, no screen */
    bool is_ascii;
    struct sh_shooting_clock clock;
    struct sh_bell bell;
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

static void ask_bell(struct face *face, const struct sh_shooting_clock_event *event)
{
    const bool is_before_any_draw = event->kind == SH_SHOOTING_CLOCK_EVENT_LINE_UP ||
                                    event->kind == SH_SHOOTING_CLOCK_EVENT_START;
    if (face->sound == SOUND_RANGE) {
        sh_bell_ask(&face->bell, event->n_signals);
    } else if (face->sound == SOUND_OWN && is_before_any_draw) {
        sh_bell_ask(&face->bell, 1);
    }
}

static enum sh_status
take_event(void *context, const struct sh_shooting_clock_event *event, struct sh_error *err)
{
    struct face *face = context;
    ask_bell(face, event);
    if (!face->has_lines) {
        return SH_OK;
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_text_printf(&text, "%7.1f s  ", event->t_s - face->start_s);
    sh_clock_words_put_event(&text, &face->format, event, true);
    sh_text_puts(&text, "\n");
    enum sh_status status = text.status;
    if (status == SH_OK && (fputs(text.data, stdout) < 0 || fflush(stdout) != 0)) {
        status = sh_error_set_os(err, errno, "standard output", NULL, "cannot write");
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
        return sh_shooting_clock_start(clock, at_s, face->first, err);
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

/* Waits for a key, not longer than the next look at the clock. */
static enum sh_status obey_keys(struct face *face, struct sh_error *err)
{
    struct pollfd waiting = {.fd = STDIN_FILENO, .events = POLLIN};
    char keys[64];
    enum sh_status status = SH_OK;
    if (poll(&waiting, face->has_keys ? 1 : 0, STEP_MS) <= 0) {
        return SH_OK;
    }
    ssize_t n = read(STDIN_FILENO, keys, sizeof keys);
    face->has_keys = n > 0;
    for (ssize_t i = 0; i < n && status == SH_OK && !face->has_ended; i++) {
        status = obey(face, (char)tolower((unsigned char)keys[i]), err);
    }
    return status;
}

static struct sh_clock_screen find_screen(const struct face *face)
{
    struct winsize size = {0};
    const bool is_known = ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 0;
    return (struct sh_clock_screen){.n_rows = is_known ? size.ws_row : ROWS,
                                    .n_columns = is_known ? size.ws_col : COLUMNS,
                                    .is_ascii = face->is_ascii};
}

/* Rewrites the screen where it has changed: each line up to its end. */
static enum sh_status show(struct face *face, struct sh_error *err)
{
    struct sh_shooting_clock_view view;
    struct sh_text text;
    const struct sh_clock_screen screen = find_screen(face);
    sh_shooting_clock_get(&face->clock, now_s(), &view);
    sh_text_init(&text, 0);
    sh_clock_screen_format(&screen, &face->format, &view, &text);
    enum sh_status status = text.status;
    const bool is_new = status == SH_OK &&
                        (face->shown.data == NULL || strcmp(face->shown.data, text.data) != 0);
    if (is_new) {
        (void)fputs("\x1b[H", stdout);
        for (const char *at = text.data; *at != '\0'; at++) {
            if (*at == '\n') {
                (void)fputs("\x1b[K\r", stdout);
            }
            (void)fputc(*at, stdout);
        }
        (void)fputs("\x1b[J", stdout);
        if (fflush(stdout) != 0) {
            status = sh_error_set_os(err, errno, "standard output", NULL, "cannot write");
        }
        sh_text_close(&face->shown);
        face->shown = text;
    } else {
        sh_text_close(&text);
    }
    return status;
}

/* Where nobody can type any more and nothing runs, there is nothing to come. */
static bool is_finished(const struct face *face)
{
    const bool is_idle = face->clock.state == SH_SHOOTING_CLOCK_READY ||
                         face->clock.state == SH_SHOOTING_CLOCK_PAUSED ||
                         face->clock.state == SH_SHOOTING_CLOCK_OVER;
    return face->has_ended || should_end != 0 || (!face->has_keys && is_idle);
}

static enum sh_status run_loop(struct face *face, struct sh_error *err)
{
    enum sh_status status = SH_OK;
    while (status == SH_OK && !is_finished(face)) {
        status = sh_shooting_clock_push(&face->clock, now_s(), err);
        if (status == SH_OK && !face->has_lines) {
            status = show(face, err);
        }
        if (sh_bell_take(&face->bell, now_s())) {
            (void)fputs("\a", stderr);
        }
        if (status == SH_OK) {
            status = obey_keys(face, err);
        }
    }
    return status;
}

static enum sh_status run_face(struct face *face, struct sh_error *err)
{
    struct sh_prompt prompt;
    const struct sh_shooting_clock_sink sink = {take_event, face};
    sh_shooting_clock_init(&face->clock, &face->format, &sink);
    sh_bell_init(&face->bell);
    sh_text_init(&face->shown, 0);
    catch_signals();
    sh_prompt_open(&prompt);
    face->has_keys = true;
    if (!face->has_lines) {
        (void)fputs(ENTER_ALL, stdout);
    }
    enum sh_status status = run_loop(face, err);
    if (!face->has_lines) {
        (void)fputs(LEAVE_ALL, stdout);
        (void)fflush(stdout);
    }
    sh_prompt_close(&prompt);
    sh_text_close(&face->shown);
    return status;
}

/* Signals of the line are for the one who is in charge of it, and who says so. */
static enum sh_status confirm(struct sh_error *err)
{
    char typed[128] = "";
    if (isatty(STDIN_FILENO) != 0) {
        (void)fputs("Signals tell all on the line when to shoot. Only the person in charge\n"
                    "gives them; the emergency signal is never given from here.\n"
                    "To switch them on type: " OATH "\n> ",
                    stderr);
        (void)fflush(stderr);
        if (fgets(typed, sizeof typed, stdin) != NULL) {
            typed[strcspn(typed, "\n")] = '\0';
        }
    }
    return strcmp(typed, OATH) == 0
               ? SH_OK
               : sh_error_set(err, SH_ERR_ARGUMENT, "clock --signals",
                              "start without --signals, or type it at a terminal",
                              "'" OATH "' was not typed");
}

static const struct sh_command_option options[] = {
    {"format", "NAME", "how arrows are shot; --list shows the formats", 0},
    {"rounds", "FILE", "formats of your own, see docs/clock.md", 0},
    {"set", "KEY=VALUE", "change a value of the format, shooting_s=100 say; may be repeated",
     0},
    {"other-first", NULL, "in alternating shooting the other begins", 0},
    {"sound", NULL, "one stroke of the terminal's bell before shooting, none while it lasts",
     0},
    {"signals", NULL, "the line's signals by the bell, once you have typed to be in charge", 0},
    {"lines", NULL, "a line an event in place of the large digits", 0},
    {"ascii", NULL, "no block characters", 0},
    {"list", NULL, "print the formats and end", 0},
};

#define SET 2 /* index of --set */

static enum sh_exit print_list(const char *rounds)
{
    struct sh_round_format_set set = sh_round_format_default();
    struct sh_error err = {0};
    struct sh_text text;
    if (rounds != NULL && sh_round_format_read(rounds, &set, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    sh_text_init(&text, 0);
    for (size_t i = 0; i < set.n_formats; i++) {
        sh_clock_words_put_format(&text, &set.format[i]);
        sh_text_puts(&text, "\n");
    }
    return sh_say_text(&text);
}

static enum sh_status read_format(const struct sh_command *command,
                                  const struct sh_command_line *line,
                                  struct sh_round_format *format,
                                  struct sh_error *err)
{
    enum sh_status status = sh_clock_setup_find(sh_command_get(command, line, "format", "free"),
                                                sh_command_get(command, line, "rounds", NULL),
                                                "clock --format", format, err);
    for (size_t i = 0; i < line->n_values && status == SH_OK; i++) {
        if (line->values[i].option == SET) {
            status = sh_clock_setup_set(format, line->values[i].text, "clock --set", err);
        }
    }
    return status == SH_OK ? sh_round_format_check(format, "clock --set", err) : status;
}

static bool
is_given(const struct sh_command *command, const struct sh_command_line *line, const char *name)
{
    return sh_command_get(command, line, name, NULL) != NULL;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    struct face face = {.has_lines =
                            is_given(command, line, "lines") || isatty(STDOUT_FILENO) == 0,
                        .is_ascii = is_given(command, line, "ascii")};
    struct sh_error err = {0};
    if (is_given(command, line, "list")) {
        return print_list(sh_command_get(command, line, "rounds", NULL));
    }
    enum sh_status status = read_format(command, line, &face.format, &err);
    if (status != SH_OK) {
        return sh_say_error(&err, status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT);
    }
    if (is_given(command, line, "other-first")) {
        face.first = SH_SHOOTING_CLOCK_OTHER;
    }
    face.sound = is_given(command, line, "sound") ? SOUND_OWN : SOUND_OFF;
    if (is_given(command, line, "signals")) {
        if (confirm(&err) != SH_OK) {
            return sh_say_error(&err, SH_EXIT_USAGE);
        }
        face.sound = SOUND_RANGE;
    }
    return run_face(&face, &err) == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

const struct sh_command sh_command_clock = {
    .name = "clock",
    .operands = "",
    .summary = "A shooting clock: large digits, formats of rounds, signals of the line.",
    .details =
        "Keys: c starts it and lets it go on, h halts it, s stops it, q ends the program.\n"
        "In alternating shooting r says that you have shot, o that the other has; in teams r\n"
        "counts an arrow and n hands over.\n"
        "\n"
        "It is silent unless told otherwise. A line has one clock and one person in charge:\n"
        "the range, its officer and its rules come first, whatever a screen says. The\n"
        "emergency signal is given by people, never by this program.",
    .n_operands_min = 0,
    .n_operands_max = 0,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
