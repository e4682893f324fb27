/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>

#include "app/commands.h"
#include "app/format.h"
#include "app/passes.h"
#include "app/say.h"

static const struct sh_command_option options[] = {
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"first-pass", NULL, "only the first pass: what capture showed", 0},
    {"history", "FOLDER", "an earlier recording of the same athlete; may be repeated", 0},
    {"thresholds", "FILE", "thresholds of the findings, see docs/findings.md", 0},
};

#define HISTORY 2 /* index of --history */

/* The texts of a repeated option. */
static size_t collect(const struct sh_command_line *line,
                      size_t option,
                      const char *texts[SH_COMMAND_VALUES_MAX])
{
    size_t n = 0;
    for (size_t i = 0; i < line->n_values; i++) {
        if (line->values[i].option == option) {
            texts[n++] = line->values[i].text;
        }
    }
    return n;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    const char *history[SH_COMMAND_VALUES_MAX];
    struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_error err = {0};
    struct sh_analysis analysis = {0};
    const char *name = sh_command_get(command, line, "format", "table");
    const struct sh_format *format = sh_format_find(name);
    if (format == NULL) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, "analyze --format", "take table, json or csv",
                           "'%s' is no format", name);
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    const char *path = sh_command_get(command, line, "thresholds", NULL);
    if (path != NULL && sh_thresholds_read(path, &thresholds, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    const struct sh_passes_config config = {
        .thresholds = &thresholds,
        .history = history,
        .n_history = collect(line, HISTORY, history),
        .is_first_only = sh_command_get(command, line, "first-pass", NULL) != NULL};
    if (sh_passes_run(line->operands[0], &config, &analysis, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    struct sh_text text;
    sh_text_init(&text, 0);
    (void)format->write(&analysis, &text);
    sh_analysis_close(&analysis);
    return sh_say_text(&text);
}

const struct sh_command sh_command_analyze = {
    .name = "analyze",
    .operands = "RECORDING",
    .summary = "Find and measure the shots of a recording, and say what stands out.",
    .n_operands_min = 1,
    .n_operands_max = 1,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
