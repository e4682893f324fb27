/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/consistency_source.h"
#include "app/home.h"
#include "app/say.h"
#include "report/consistency_csv.h"
#include "report/consistency_json.h"
#include "report/consistency_plot.h"
#include "report/consistency_table.h"

#define RECORDINGS_MAX 100u
#define NUMBER_MAX     1000u

static const struct sh_command_option options[] = {
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"arrows", "A-B", "compare clocked and free shooting in these arrows of an end only", 0},
    {"all-rules", NULL, "chart with all rules for runs, each with its false alarms", 0},
    {"plot", NULL, "draw the hold arrow by arrow, with the chart's limits", 0},
    {"plain", NULL, "draw with nothing but ASCII", 0},
    {"seed", "N", "start of the intervals' random numbers; 1 if not given", 0},
    {"home", "FOLDER", "where an athlete's recordings lie", 0},
};

static const struct format {
    const char *name;
    enum sh_status (*write)(const struct sh_consistency_sheet *sheet, struct sh_text *text);
} formats[] = {
    {"table", sh_consistency_table_write},
    {"json", sh_consistency_json_write},
    {"csv", sh_consistency_csv_write},
};

/* What was asked for. */
struct wish {
    const struct format *format;
    struct sh_consistency_config config;
    struct sh_clock_effect_arrows arrows;
    bool is_plotted;
    enum sh_terminal_charset charset;
};

static enum sh_status read_format(const char *name, struct wish *wish, struct sh_error *err)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            wish->format = &formats[i];
            return SH_OK;
        }
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "consistency --format", "take table, json or csv",
                        "'%s' is no format", name);
}

/* A whole number up to most that begins a word; *rest is what follows. */
static bool parse_count(const char *word, unsigned long most, unsigned long *out, char **rest)
{
    errno = 0;
    *out = strtoul(word, rest, 10);
    return word[0] >= '0' && word[0] <= '9' && errno == 0 && *out <= most;
}

static enum sh_status read_arrows(const char *word, struct wish *wish, struct sh_error *err)
{
    unsigned long first = 0;
    unsigned long last = 0;
    char *rest = NULL;
    if (parse_count(word, NUMBER_MAX, &first, &rest) && rest[0] == '-' &&
        parse_count(rest + 1, NUMBER_MAX, &last, &rest) && *rest == '\0' && first >= 1 &&
        last >= first) {
        wish->arrows = (struct sh_clock_effect_arrows){(unsigned)first, (unsigned)last};
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "consistency --arrows",
                        "give two numbers, as in 4-6", "'%s' is not understood", word);
}

static enum sh_status read_seed(const char *word, struct wish *wish, struct sh_error *err)
{
    unsigned long seed = 0;
    char *rest = NULL;
    if (parse_count(word, ~0ul >> 1, &seed, &rest) && *rest == '\0') {
        wish->config.seed = seed;
        return SH_OK;
    }
    return sh_error_set(err, SH_ERR_ARGUMENT, "consistency --seed", "give a whole number",
                        "'%s' is not understood", word);
}

static enum sh_status read_wish(const struct sh_command *command,
                                const struct sh_command_line *line,
                                struct wish *wish,
                                struct sh_error *err)
{
    const char *arrows = sh_command_get(command, line, "arrows", NULL);
    const char *seed = sh_command_get(command, line, "seed", "1");
    *wish = (struct wish){.format = &formats[0], .config = sh_consistency_config_default()};
    wish->is_plotted = sh_command_get(command, line, "plot", NULL) != NULL;
    wish->charset = sh_command_get(command, line, "plain", NULL) != NULL ? SH_TERMINAL_PLAIN
                                                                         : SH_TERMINAL_BRAILLE;
    if (sh_command_get(command, line, "all-rules", NULL) != NULL) {
        wish->config.rules = SH_RUN_RULES_ALL;
    }
    enum sh_status status =
        read_format(sh_command_get(command, line, "format", "table"), wish, err);
    if (status == SH_OK && arrows != NULL) {
        status = read_arrows(arrows, wish, err);
    }
    if (status == SH_OK) {
        status = read_seed(seed, wish, err);
    }
    if (status == SH_OK && wish->is_plotted && wish->format != &formats[0]) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "consistency --plot", "leave --format out",
                              "a drawing goes with a table only");
    }
    return status;
}

static enum sh_status write_all(const struct sh_consistency_source *source,
                                const struct wish *wish,
                                struct sh_text *text,
                                struct sh_error *err)
{
    struct sh_consistency_study study;
    enum sh_status status =
        sh_consistency_study_open(&source->set, &wish->config, &wish->arrows, &study);
    if (status == SH_OK) {
        const struct sh_consistency_sheet sheet = {.athlete = source->athlete,
                                                   .recordings = source->name_list,
                                                   .n_recordings = source->n,
                                                   .study = &study};
        status = wish->format->write(&sheet, text);
        if (status == SH_OK && wish->is_plotted) {
            sh_text_puts(text, "\n");
            status = sh_consistency_plot_draw(&sheet, wish->charset, text);
        }
    }
    sh_consistency_study_close(&study);
    return status == SH_OK ? SH_OK
                           : sh_error_set(err, status, "consistency", NULL,
                                          "the figures cannot be worked out");
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_consistency_source source = {0};
    struct wish wish = {0};
    struct sh_text text;
    if (read_wish(command, line, &wish, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    enum sh_status status =
        sh_home_find(sh_command_get(command, line, "home", NULL), home, &err);
    if (status == SH_OK) {
        const struct sh_history_update_sink unread = {sh_say_unread, NULL};
        status = sh_consistency_source_read(home, line->operands, line->n_operands, &unread,
                                            &source, &err);
    }
    sh_text_init(&text, 0);
    if (status == SH_OK) {
        status = write_all(&source, &wish, &text, &err);
    }
    sh_consistency_source_close(&source);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return sh_say_text(&text);
}

const struct sh_command sh_command_consistency = {
    .name = "consistency",
    .operands = "ATHLETE|RECORDING...",
    .summary = "Tell whether hold and rest stay the same, over a session and under a clock.",
    .details = "A recording may be a folder that holds several. One athlete at a time: people\n"
               "are not compared.",
    .n_operands_min = 1,
    .n_operands_max = RECORDINGS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
