/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <unistd.h>

#include "app/clock_face.h"
#include "app/clock_setup.h"
#include "app/clock_words.h"
#include "app/commands.h"
#include "app/end_signal.h"
#include "app/in_charge.h"
#include "app/say.h"

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
    struct sh_clock_face_config config = {
        .has_lines = is_given(command, line, "lines") || isatty(STDOUT_FILENO) == 0,
        .is_ascii = is_given(command, line, "ascii"),
        .first = is_given(command, line, "other-first") ? SH_SHOOTING_CLOCK_OTHER
                                                        : SH_SHOOTING_CLOCK_OWN,
        .sound =
            is_given(command, line, "sound") ? SH_CLOCK_VOICE_ONCE : SH_CLOCK_VOICE_SILENT};
    struct sh_error err = {0};
    if (is_given(command, line, "list")) {
        return print_list(sh_command_get(command, line, "rounds", NULL));
    }
    enum sh_status status = read_format(command, line, &config.format, &err);
    if (status == SH_OK && is_given(command, line, "signals")) {
        status = sh_in_charge_ask("clock --signals", "--signals", &err);
        config.sound = SH_CLOCK_VOICE_SIGNALS;
    }
    if (status != SH_OK) {
        return sh_say_error(&err, status == SH_ERR_ARGUMENT ? SH_EXIT_USAGE : SH_EXIT_INPUT);
    }
    const volatile sig_atomic_t *should_end = sh_end_signal_catch();
    status = sh_clock_face_run(&config, should_end, &err);
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
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
