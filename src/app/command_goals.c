/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/goal_entry.h"
#include "app/goal_source.h"
#include "app/home.h"
#include "app/home_index.h"
#include "app/say.h"
#include "recording/person_json.h"

static void say_failure(void *context, const struct sh_error *failure)
{
    (void)context;
    (void)sh_say_error(failure, SH_EXIT_INPUT);
}

/* All her arrows; none where the home has no recordings yet. */
static enum sh_status read_arrows(const char *home,
                                  const char *athlete,
                                  struct sh_goal_source *source,
                                  struct sh_error *err)
{
    const struct sh_history_update_sink sink = {say_failure, NULL};
    struct sh_index *index = NULL;
    struct sh_error missing = {0};
    *source = (struct sh_goal_source){0};
    enum sh_status status = sh_home_index_open(home, &sink, &index, &missing);
    if (status == SH_ERR_NOT_FOUND) {
        return SH_OK;
    }
    if (status == SH_OK) {
        status = sh_goal_source_read(index, athlete, source, err);
    } else {
        *err = missing;
    }
    sh_index_close(&index);
    return status;
}

static enum sh_status fill_from_best(const struct sh_goal_source *source,
                                     const char *athlete,
                                     struct sh_goal_entry *entry,
                                     struct sh_error *err)
{
    struct sh_goal_best best;
    const enum sh_status status = sh_goal_source_find_best(source, athlete, &best, err);
    if (status == SH_OK) {
        entry->goal.least = best.band.least_s;
        entry->goal.most = best.band.most_s;
        entry->goal.arrows = best.n_best;
        (void)fprintf(stderr,
                      "from %zu arrows with hold and score, the %zu that scored %g or more\n",
                      best.n_scored, best.n_best, best.score);
    }
    return status;
}

static enum sh_status change(const char *home,
                             const char *athlete,
                             const struct sh_goal_source *source,
                             struct sh_goal_entry *entry,
                             struct sh_error *err)
{
    const struct sh_person_file_change asked = sh_goal_entry_make_change(entry);
    enum sh_status status = SH_OK;
    if (entry->kind == SH_GOAL_ENTRY_NONE) {
        return SH_OK;
    }
    if (entry->kind == SH_GOAL_ENTRY_FROM_BEST) {
        status = fill_from_best(source, athlete, entry, err);
    }
    return status == SH_OK ? sh_person_file_edit(home, athlete, &asked, err) : status;
}

static enum sh_status write(const char *home,
                            const char *athlete,
                            const struct sh_goal_source *source,
                            bool is_json,
                            struct sh_text *text,
                            struct sh_error *err)
{
    struct sh_person person = {0};
    enum sh_status status = sh_person_json_read(home, athlete, &person, NULL, err);
    if (status == SH_OK) {
        const struct sh_goal_sheet sheet = {.person = &person,
                                            .sessions = source->sessions,
                                            .n_sessions = source->n_sessions,
                                            .hold_s = source->hold_s,
                                            .end = source->end,
                                            .n = source->n};
        status = is_json ? sh_goal_sheet_write_json(&sheet, text)
                         : sh_goal_sheet_write_table(&sheet, text);
        if (status != SH_OK) {
            (void)sh_error_set(err, status, athlete, NULL, "%s", sh_status_text(status));
        }
    }
    sh_person_close(&person);
    return status;
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_goal_entry entry;
    struct sh_goal_source source = {0};
    struct sh_text text;
    const char *athlete = line->operands[0];
    const char *format = sh_command_get(command, line, "format", "table");
    const bool is_json = strcmp(format, "json") == 0;
    if (!is_json && strcmp(format, "table") != 0) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, "goals --format", "take table or json",
                           "'%s' is no format", format);
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (sh_goal_entry_read(command, line, &entry, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    sh_text_init(&text, 0);
    enum sh_status status =
        sh_home_find(sh_command_get(command, line, "home", NULL), home, &err);
    if (status == SH_OK) {
        status = sh_hidden_people_check(home, athlete, &err);
    }
    if (status == SH_OK) {
        status = read_arrows(home, athlete, &source, &err);
    }
    if (status == SH_OK) {
        status = change(home, athlete, &source, &entry, &err);
    }
    if (status == SH_OK) {
        status = write(home, athlete, &source, is_json, &text, &err);
    }
    sh_goal_source_close(&source);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return sh_say_text(&text);
}

const struct sh_command sh_command_goals = {
    .name = "goals",
    .operands = "ATHLETE",
    .summary = "Show or set the band an athlete wants her holds in, and the share inside.",
    .details =
        "While capturing, the hold is shown as short, inside or long by word and shape.\n"
        "Earlier goals are kept with who set them and when. --from-best takes the middle 80 %\n"
        "of the holds of her best arrows, and needs 30 arrows with a score.\n"
        "\n"
        "  stringhand goals wren --hold 2.0-3.0 --by coach",
    .n_operands_min = 1,
    .n_operands_max = 1,
    .options = sh_goal_entry_options,
    .n_options = SH_GOAL_ENTRY_OPTIONS,
    .run = run,
};
