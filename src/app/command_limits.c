/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/commands.h"
#include "app/diary.h"
#include "app/home.h"
#include "app/limit_entry.h"
#include "app/say.h"
#include "report/limit_list.h"

/* Limits with where they stand on a day. */
static struct sh_load_sheet_limit *make_entries(const struct sh_diary *diary, int day)
{
    const struct sh_person *person = &diary->person;
    const struct sh_limit_plan_history history = sh_diary_get_plan_history(diary);
    struct sh_load_sheet_limit *entries = calloc(person->n_limits + 1, sizeof *entries);
    for (size_t i = 0; entries != NULL && i < person->n_limits; i++) {
        entries[i].number = i + 1;
        entries[i].limit = &person->limits[i];
        sh_limit_plan_find(&person->limits[i], &history, day, &entries[i].plan);
    }
    return entries;
}

static enum sh_exit show(const char *home, const char *athlete, int day, bool is_json)
{
    const struct sh_diary_config config = {.home = home, .athlete = athlete};
    struct sh_diary diary;
    struct sh_error err = {0};
    struct sh_text text;
    sh_text_init(&text, 0);
    enum sh_status status = sh_diary_read(&config, &diary, &err);
    if (status == SH_OK) {
        struct sh_load_sheet_limit *entries = make_entries(&diary, day);
        const struct sh_limit_list list = {.athlete = athlete,
                                           .day = day,
                                           .entries = entries,
                                           .n_entries = diary.person.n_limits};
        if (entries == NULL) {
            status = sh_error_set(&err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
        } else {
            (void)(is_json ? sh_limit_list_write_json(&list, &text)
                           : sh_limit_list_write_table(&list, &text));
        }
        free(entries);
    }
    if (diary.warnings.data != NULL) {
        (void)fputs(diary.warnings.data, stderr);
    }
    sh_diary_close(&diary);
    if (status != SH_OK) {
        sh_text_close(&text);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return sh_say_text(&text);
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    struct sh_limit_entry entry;
    const char *athlete = line->operands[0];
    const char *format = sh_command_get(command, line, "format", "table");
    bool is_json = strcmp(format, "json") == 0;
    if (!is_json && strcmp(format, "table") != 0) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, "limits --format", "take table or json",
                           "'%s' is no format", format);
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (sh_limit_entry_read(command, line, &entry, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (sh_home_find(sh_command_get(command, line, "home", NULL), home, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    if (entry.kind != SH_LIMIT_ENTRY_NONE) {
        const struct sh_person_file_change change = sh_limit_entry_make_change(&entry);
        if (sh_person_file_edit(home, athlete, &change, &err) != SH_OK) {
            return sh_say_error(&err, SH_EXIT_INPUT);
        }
    }
    return show(home, athlete, entry.day, is_json);
}

const struct sh_command sh_command_limits = {
    .name = "limits",
    .operands = "ATHLETE",
    .summary = "Show or set what a person's fingers may carry; capture warns of it.",
    .details =
        "The program has no limits of its own: they are set, confirmed and ended by a person.\n"
        "A planned step up waits for --confirm after a rising rating or a limit that was\n"
        "reached, on a later day than that. Not a medical device: limits, pain and the return\n"
        "to shooting are decided by licensed practice.\n"
        "\n"
        "  stringhand limits wren --set finger_peak_n --finger ring --per shot --most 45N \\\n"
        "      --by \"hand clinic\" --from 2026-05-01 --until 2026-06-01 --weekly 2N",
    .n_operands_min = 1,
    .n_operands_max = 1,
    .options = sh_limit_entry_options,
    .n_options = SH_LIMIT_ENTRY_OPTIONS,
    .run = run,
};
