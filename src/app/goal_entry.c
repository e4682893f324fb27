/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/goal_entry.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/date_option.h"
#include "app/hold_goal.h"
#include "base/day.h"
#include "measure/catalog.h"
#include "report/utf8.h"

const struct sh_command_option sh_goal_entry_options[SH_GOAL_ENTRY_OPTIONS] = {
    {"hold", "A-B", "set the band of the hold, in seconds: 2.0-3.0", 0},
    {"from-best", NULL, "set it from the athlete's own best arrows", 0},
    {"clear", NULL, "no goal any more", 0},
    {"by", "TEXT", "who sets it", 0},
    {"on", "DATE", "the day of all this; today if not given", 0},
    {"format", "FORMAT", "table (default) or json", 0},
    {"home", "FOLDER", "where recordings and people's files lie", 0},
};

static enum sh_status
read_band(const char *word, struct sh_person_goal *goal, struct sh_error *err)
{
    char *rest = NULL;
    goal->least = strtod(word, &rest);
    bool is_band = rest != word && *rest == '-' && word[0] >= '0' && word[0] <= '9';
    if (is_band) {
        const char *second = rest + 1;
        goal->most = strtod(second, &rest);
        is_band = second[0] >= '0' && second[0] <= '9' && *rest == '\0';
    }
    return is_band && goal->least > 0.0 && goal->least < goal->most &&
                   goal->most <= SH_HOLD_GOAL_MAX_S
               ? SH_OK
               : sh_error_set(err, SH_ERR_ARGUMENT, "goals --hold",
                              "give two times in seconds, as in 2.0-3.0",
                              "'%s' is no band of up to 60 s", word);
}

/* Who and when, of a new goal. */
static enum sh_status read_rest(const char *by, struct sh_goal_entry *out, struct sh_error *err)
{
    struct sh_person_goal *goal = &out->goal;
    sh_catalog_key(SH_MEASURE_HOLD_TIME, SH_CATALOG_VALUE, goal->what);
    sh_day_format(out->day, goal->set_on);
    (void)snprintf(goal->basis, sizeof goal->basis, "%s",
                   out->kind == SH_GOAL_ENTRY_SET ? "person" : "best-arrows");
    if (by == NULL) {
        return SH_OK;
    }
    if (strlen(by) >= sizeof goal->set_by || !sh_utf8_is_valid(by)) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "goals --by", "take a shorter text, in UTF-8",
                            "'%s' cannot be used", by);
    }
    (void)snprintf(goal->set_by, sizeof goal->set_by, "%s", by);
    return SH_OK;
}

enum sh_status sh_goal_entry_read(const struct sh_command *command,
                                  const struct sh_command_line *line,
                                  struct sh_goal_entry *out,
                                  struct sh_error *err)
{
    const char *hold = sh_command_get(command, line, "hold", NULL);
    const char *by = sh_command_get(command, line, "by", NULL);
    const bool is_best = sh_command_get(command, line, "from-best", NULL) != NULL;
    const bool is_clear = sh_command_get(command, line, "clear", NULL) != NULL;
    *out = (struct sh_goal_entry){.kind = hold != NULL ? SH_GOAL_ENTRY_SET
                                          : is_best    ? SH_GOAL_ENTRY_FROM_BEST
                                          : is_clear   ? SH_GOAL_ENTRY_CLEAR
                                                       : SH_GOAL_ENTRY_NONE};
    if ((hold != NULL ? 1 : 0) + (is_best ? 1 : 0) + (is_clear ? 1 : 0) > 1) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "goals", "give one of them",
                            "--hold, --from-best and --clear do not go together");
    }
    if (by != NULL && hold == NULL && !is_best) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "goals --by",
                            "give --hold or --from-best too", "nothing is set here");
    }
    enum sh_status status = sh_date_option_parse(
        "goals --on", sh_command_get(command, line, "on", "today"), &out->day, err);
    if (status == SH_OK && hold != NULL) {
        status = read_band(hold, &out->goal, err);
    }
    if (status == SH_OK && (hold != NULL || is_best)) {
        status = read_rest(by, out, err);
    }
    return status;
}

/* The goal in force ends; false: there is none. */
static bool end_goal(struct sh_person *person, int day)
{
    bool was_there = false;
    for (size_t i = 0; i < person->n_goals; i++) {
        if (person->goals[i].ended_on[0] == '\0') {
            sh_day_format(day, person->goals[i].ended_on);
            was_there = true;
        }
    }
    return was_there;
}

static enum sh_status apply(void *context, struct sh_person *person, struct sh_error *err)
{
    const struct sh_goal_entry *entry = context;
    const bool was_there = end_goal(person, entry->day);
    if (entry->kind == SH_GOAL_ENTRY_CLEAR) {
        return was_there ? SH_OK
                         : sh_error_set(err, SH_ERR_NOT_FOUND, person->name,
                                        "see 'stringhand goals'", "no goal is in force");
    }
    const enum sh_status status = sh_person_add_goal(person, &entry->goal);
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, person->name, NULL, "%s", sh_status_text(status));
}

struct sh_person_file_change sh_goal_entry_make_change(struct sh_goal_entry *entry)
{
    return (struct sh_person_file_change){apply, entry};
}
