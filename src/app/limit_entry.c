/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/limit_entry.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "app/date_option.h"
#include "base/day.h"
#include "base/units.h"
#include "finding/limit_kind.h"
#include "report/utf8.h"

#define VALUE_MAX 1e6
#define PER_CENT  100.0

const struct sh_command_option sh_limit_entry_options[SH_LIMIT_ENTRY_OPTIONS] = {
    {"set", "WHAT",
     "set a limit on finger_peak_n, finger_impulse_n_s, finger_share, draws, rest_s ...", 0},
    {"finger", "FINGER", "index, middle or ring", 0},
    {"per", "SPAN", "shot, session or day", 0},
    {"most", "VALUE", "in the unit of WHAT; 45, 45N, 10lb, 25%", 0},
    {"least", "VALUE", "the same, for what must not be less", 0},
    {"weekly", "STEP", "planned change a week, from --from on; 2 or -5", 0},
    {"by", "TEXT", "who sets it, or confirms", 0},
    {"from", "DATE", "first day in force", 0},
    {"until", "DATE", "last day in force", 0},
    {"end", "NUMBER", "end the limit of that number", 0},
    {"confirm", NULL, "a person has looked at it: planned steps go on", 0},
    {"on", "DATE", "the day of all this; today if not given", 0},
    {"format", "FORMAT", "table (default) or json", 0},
    {"home", "FOLDER", "where recordings and people's files lie", 0},
};

/* One command line being read. */
struct reading {
    const struct sh_command *command;
    const struct sh_command_line *line;
    struct sh_error *err;
};

static const char *get(const struct reading *reading, const char *option)
{
    return sh_command_get(reading->command, reading->line, option, NULL);
}

static enum sh_status
refuse(const struct reading *reading, const char *option, const char *text, const char *todo)
{
    char where[64];
    (void)snprintf(where, sizeof where, "limits --%s", option);
    return text != NULL ? sh_error_set(reading->err, SH_ERR_ARGUMENT, where, todo,
                                       "'%s' cannot be used", text)
                        : sh_error_set(reading->err, SH_ERR_ARGUMENT, where, todo,
                                       "this does not go together");
}

/* A number in the unit of the limit: newtons also in pounds, shares also in per cent. */
static bool parse_value(const char *text, const struct sh_limit_kind *kind, double *value)
{
    char *unit = NULL;
    double number = strtod(text, &unit);
    bool is_force = strcmp(kind->unit, "N") == 0;
    bool is_share = strcmp(kind->unit, "%") == 0;
    bool is_pounds = strcmp(unit, "lb") == 0 || strcmp(unit, "lbf") == 0;
    double factor = 1.0;
    if (unit == text || !(fabs(number) <= VALUE_MAX)) {
        return false;
    }
    if (is_force && is_pounds) {
        factor = SH_UNITS_LBF_N;
    } else if (is_share && strcmp(unit, "%") == 0) {
        factor = 1.0 / PER_CENT;
    } else if (!(unit[0] == '\0' || (is_force && strcmp(unit, "N") == 0))) {
        return false;
    }
    *value = number * factor;
    return true;
}

static enum sh_status read_values(const struct reading *reading, struct sh_person_limit *limit)
{
    static const char *const todo = "give a number in the unit of WHAT";
    const char *most = get(reading, "most");
    const char *least = get(reading, "least");
    const char *weekly = get(reading, "weekly");
    struct sh_limit_kind kind;
    if ((most == NULL) == (least == NULL)) {
        return refuse(reading, "set", NULL, "give one of --most and --least");
    }
    const char *wrong =
        sh_limit_kind_check(limit->what, limit->finger, limit->per, most != NULL);
    if (wrong != NULL || !sh_limit_kind_find(limit->what, &kind)) {
        return refuse(reading, "set", limit->what, wrong);
    }
    struct sh_mark_number *value = most != NULL ? &limit->most : &limit->least;
    value->is_given = parse_value(most != NULL ? most : least, &kind, &value->value);
    if (!value->is_given || value->value < 0.0) {
        return refuse(reading, most != NULL ? "most" : "least", most != NULL ? most : least,
                      todo);
    }
    if (weekly == NULL) {
        return SH_OK;
    }
    limit->weekly_step.is_given = parse_value(weekly, &kind, &limit->weekly_step.value);
    if (!limit->weekly_step.is_given || !(fabs(limit->weekly_step.value) > 0.0)) {
        return refuse(reading, "weekly", weekly, todo);
    }
    return limit->from[0] != '\0'
               ? SH_OK
               : refuse(reading, "weekly", NULL, "give --from too: the weeks count from it");
}

static enum sh_status
copy_date(const struct reading *reading, const char *option, char to[SH_MARK_DATE_BYTES])
{
    const char *text = get(reading, option);
    char where[64];
    int day = 0;
    if (text == NULL) {
        return SH_OK;
    }
    (void)snprintf(where, sizeof where, "limits --%s", option);
    enum sh_status status = sh_date_option_parse(where, text, &day, reading->err);
    if (status == SH_OK) {
        sh_day_format(day, to);
    }
    return status;
}

static enum sh_status
copy_text(const struct reading *reading, const char *option, char *to, size_t n_bytes)
{
    const char *text = get(reading, option);
    if (text == NULL) {
        return SH_OK;
    }
    if (strlen(text) >= n_bytes || !sh_utf8_is_valid(text)) {
        return refuse(reading, option, text, "take a shorter text, in UTF-8");
    }
    (void)snprintf(to, n_bytes, "%s", text);
    return SH_OK;
}

static enum sh_status read_set(const struct reading *reading, struct sh_limit_entry *entry)
{
    struct sh_person_limit *limit = &entry->limit;
    enum sh_status status = copy_text(reading, "set", limit->what, sizeof limit->what);
    if (get(reading, "per") == NULL) {
        return refuse(reading, "set", NULL, "give --per shot, session or day");
    }
    if (status == SH_OK) {
        status = copy_text(reading, "finger", limit->finger, sizeof limit->finger);
    }
    if (status == SH_OK) {
        status = copy_text(reading, "per", limit->per, sizeof limit->per);
    }
    if (status == SH_OK) {
        status = copy_text(reading, "by", limit->set_by, sizeof limit->set_by);
    }
    if (status == SH_OK) {
        status = copy_date(reading, "from", limit->from);
    }
    if (status == SH_OK) {
        status = copy_date(reading, "until", limit->until);
    }
    if (status == SH_OK && limit->from[0] != '\0' && limit->until[0] != '\0' &&
        strcmp(limit->from, limit->until) > 0) {
        status = refuse(reading, "until", limit->until, "end it after its first day");
    }
    sh_day_format(entry->day, limit->set_on);
    return status == SH_OK ? read_values(reading, limit) : status;
}

static enum sh_status read_end(const struct reading *reading, struct sh_limit_entry *entry)
{
    const char *text = get(reading, "end");
    char *end = NULL;
    errno = 0;
    unsigned long number = strtoul(text, &end, 10);
    if (end == text || *end != '\0' || text[0] == '-' || errno != 0 || number == 0) {
        return refuse(reading, "end", text, "give the limit's number, from 1 on");
    }
    entry->number = number;
    return SH_OK;
}

static enum sh_status read_confirm(const struct reading *reading, struct sh_limit_entry *entry)
{
    struct sh_person_confirmation *confirmation = &entry->confirmation;
    sh_day_format(entry->day, confirmation->on);
    if (get(reading, "by") == NULL) {
        return refuse(reading, "confirm", NULL, "say who confirms: --by TEXT");
    }
    return copy_text(reading, "by", confirmation->by, sizeof confirmation->by);
}

/* What is asked for; options of a limit that is not set are refused. */
static enum sh_status read_kind(const struct reading *reading, struct sh_limit_entry *entry)
{
    static const char *const of_set[] = {"finger", "per",  "most", "least",
                                         "weekly", "from", "until"};
    bool is_set = get(reading, "set") != NULL;
    bool is_end = get(reading, "end") != NULL;
    bool is_confirm = get(reading, "confirm") != NULL;
    if ((is_set ? 1 : 0) + (is_end ? 1 : 0) + (is_confirm ? 1 : 0) > 1) {
        return refuse(reading, is_set ? "set" : "end", NULL,
                      "give --set, --end and --confirm one at a time");
    }
    for (size_t i = 0; i < sizeof of_set / sizeof of_set[0] && !is_set; i++) {
        if (get(reading, of_set[i]) != NULL) {
            return refuse(reading, of_set[i], NULL, "it belongs to --set WHAT");
        }
    }
    if (get(reading, "by") != NULL && !is_set && !is_confirm) {
        return refuse(reading, "by", NULL, "it belongs to --set or --confirm");
    }
    entry->kind = is_set       ? SH_LIMIT_ENTRY_SET
                  : is_end     ? SH_LIMIT_ENTRY_END
                  : is_confirm ? SH_LIMIT_ENTRY_CONFIRM
                               : SH_LIMIT_ENTRY_NONE;
    return SH_OK;
}

enum sh_status sh_limit_entry_read(const struct sh_command *command,
                                   const struct sh_command_line *line,
                                   struct sh_limit_entry *out,
                                   struct sh_error *err)
{
    const struct reading reading = {command, line, err};
    const char *on = sh_command_get(command, line, "on", "today");
    *out = (struct sh_limit_entry){0};
    enum sh_status status = sh_date_option_parse("limits --on", on, &out->day, err);
    if (status == SH_OK) {
        status = read_kind(&reading, out);
    }
    if (status != SH_OK) {
        return status;
    }
    switch (out->kind) {
    case SH_LIMIT_ENTRY_SET:
        return read_set(&reading, out);
    case SH_LIMIT_ENTRY_END:
        return read_end(&reading, out);
    case SH_LIMIT_ENTRY_CONFIRM:
        return read_confirm(&reading, out);
    case SH_LIMIT_ENTRY_NONE:
        break;
    }
    return SH_OK;
}

/* Its last day becomes the one before entry's. */
static enum sh_status
end_limit(const struct sh_limit_entry *entry, struct sh_person *person, struct sh_error *err)
{
    if (entry->number > person->n_limits) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, person->name, "see 'stringhand limits'",
                            "there is no limit no. %zu", entry->number);
    }
    sh_day_format(entry->day - 1, person->limits[entry->number - 1].until);
    return SH_OK;
}

static enum sh_status apply(void *context, struct sh_person *person, struct sh_error *err)
{
    struct sh_limit_entry *entry = context;
    enum sh_status status = SH_OK;
    switch (entry->kind) {
    case SH_LIMIT_ENTRY_SET:
        status = sh_person_add_limit(person, &entry->limit);
        break;
    case SH_LIMIT_ENTRY_END:
        return end_limit(entry, person, err);
    case SH_LIMIT_ENTRY_CONFIRM:
        status = sh_person_add_confirmation(person, &entry->confirmation);
        break;
    case SH_LIMIT_ENTRY_NONE:
        break;
    }
    return status == SH_OK
               ? SH_OK
               : sh_error_set(err, status, person->name, NULL, "%s", sh_status_text(status));
}

struct sh_person_file_change sh_limit_entry_make_change(struct sh_limit_entry *entry)
{
    return (struct sh_person_file_change){apply, entry};
}
