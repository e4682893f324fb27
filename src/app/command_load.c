/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "app/capture_setup.h"
#include "app/commands.h"
#include "app/date_option.h"
#include "app/home.h"
#include "app/load_book.h"
#include "app/load_entry.h"
#include "app/say.h"
#include "base/day.h"
#include "report/load_csv.h"
#include "report/load_json.h"
#include "report/load_page.h"
#include "report/load_table.h"

static const struct sh_command_option options[] = {
    {"add", "DATE", "draws made without a sensor: --add DATE DRAWS [WEIGHT]", 0},
    {"rest", "DATE", "nothing was shot on that day", 0},
    {"rating", "DATE", "pain, 0 to 10: --rating DATE before|during|after RATING", 0},
    {"forget", "DATE", "take back what was said of that day with the options above", 0},
    {"from", "DATE", "first day shown; 28 days are if not given", 0},
    {"until", "DATE", "last day; today if not given", 0},
    {"level", "FORCE", "count draws in which a finger carried so much, N or with lb", 0},
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"out", "FILE", "write it as a page for a specialist to print, into this file", 'o'},
    {"home", "FOLDER", "where recordings and people's files lie", 0},
};

#define N_ENTRIES 4u /* the first options tell something of a day */

static const struct format {
    const char *name;
    enum sh_status (*write)(const struct sh_load_sheet *sheet, struct sh_text *text);
} formats[] = {
    {"table", sh_load_table_write},
    {"json", sh_load_json_write},
    {"csv", sh_load_csv_write},
};

static const struct format *find_format(const char *name)
{
    for (size_t i = 0; i < sizeof formats / sizeof formats[0]; i++) {
        if (strcmp(formats[i].name, name) == 0) {
            return &formats[i];
        }
    }
    return NULL;
}

/* The one option that tells something; *is_given false where there is none. */
static enum sh_status find_entry(const struct sh_command_line *line,
                                 const struct sh_command_value **value,
                                 struct sh_error *err)
{
    *value = NULL;
    for (size_t i = 0; i < line->n_values; i++) {
        if (line->values[i].option >= N_ENTRIES) {
            continue;
        }
        if (*value != NULL) {
            return sh_error_set(err, SH_ERR_ARGUMENT, "load",
                                "give --add, --rest, --rating and --forget one at a time",
                                "told two things at once");
        }
        *value = &line->values[i];
    }
    if (*value == NULL && line->n_operands > 1) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "load", "see 'stringhand load --help'",
                            "one word too many: %s", line->operands[1]);
    }
    return SH_OK;
}

/* What was understood, and the cautions that go with a rating. */
static void say_entry(const char *athlete, const struct sh_load_entry *entry)
{
    switch (entry->kind) {
    case SH_LOAD_ENTRY_DRAWS:
        (void)fprintf(stderr,
                      "%s, %s: %u draws added by hand; what the fingers carried stays "
                      "unknown.\n",
                      athlete, entry->draws.date, (unsigned)entry->draws.draws);
        break;
    case SH_LOAD_ENTRY_REST:
        (void)fprintf(stderr, "%s, %s: rest.\n", athlete, entry->draws.date);
        break;
    case SH_LOAD_ENTRY_RATING:
        (void)fprintf(stderr, "%s, %s: %.3g of 10 %s shooting.\n", athlete, entry->rating.date,
                      entry->rating.rating, entry->rating.when);
        break;
    case SH_LOAD_ENTRY_FORGET:
        (void)fprintf(stderr, "%s, %s: what was said is taken back (%zu).\n", athlete,
                      entry->draws.date, entry->n_forgotten);
        break;
    }
}

/* Where the new rating is above the one before it, or was given while shooting. */
static enum sh_status say_cautions(const char *home,
                                   const char *athlete,
                                   const struct sh_load_entry *entry,
                                   struct sh_error *err)
{
    const struct sh_diary_config config = {.home = home, .athlete = athlete};
    struct sh_diary diary;
    if (entry->kind != SH_LOAD_ENTRY_RATING) {
        return SH_OK;
    }
    if (entry->rating.rating > 0.0 && strcmp(entry->rating.when, "during") == 0) {
        (void)fprintf(stderr, "%s\n", sh_rating_get_stop_caution());
    }
    enum sh_status status = sh_diary_read(&config, &diary, err);
    bool is_rise = false;
    for (size_t i = 0; status == SH_OK && i < diary.n_ratings; i++) {
        enum sh_rating_when when = SH_RATING_BEFORE;
        bool is_it = diary.ratings[i].day == entry->day &&
                     sh_rating_when_find(entry->rating.when, &when) &&
                     diary.ratings[i].when == when;
        is_rise = is_rise || (is_it && sh_rating_is_rise(diary.ratings, i));
    }
    if (is_rise) {
        (void)fprintf(stderr, "%s\n", sh_rating_get_ask_caution());
    }
    sh_diary_close(&diary);
    return status;
}

static enum sh_exit tell(const char *home,
                         const struct sh_command *command,
                         const struct sh_command_line *line,
                         const struct sh_command_value *value)
{
    struct sh_load_entry entry = {0};
    struct sh_error err = {0};
    const char *athlete = line->operands[0];
    enum sh_status status =
        sh_load_entry_parse(command->options[value->option].name, value->text,
                            line->operands + 1, line->n_operands - 1, &entry, &err);
    if (status != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    const struct sh_person_file_change change = sh_load_entry_make_change(&entry);
    status = sh_person_file_edit(home, athlete, &change, &err);
    if (status == SH_OK) {
        say_entry(athlete, &entry);
        status = say_cautions(home, athlete, &entry, &err);
    }
    return status == SH_OK ? SH_EXIT_DONE : sh_say_error(&err, SH_EXIT_INPUT);
}

static enum sh_status read_days(const struct sh_command *command,
                                const struct sh_command_line *line,
                                struct sh_load_book_config *config,
                                struct sh_error *err)
{
    const char *from = sh_command_get(command, line, "from", NULL);
    const char *until = sh_command_get(command, line, "until", "today");
    const char *level = sh_command_get(command, line, "level", NULL);
    config->has_first = from != NULL;
    enum sh_status status = sh_date_option_parse("load --until", until, &config->last_day, err);
    if (status == SH_OK && from != NULL) {
        status = sh_date_option_parse("load --from", from, &config->first_day, err);
    }
    if (status == SH_OK && config->has_first && config->first_day > config->last_day) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "load --from", "give an earlier day",
                              "the first day lies behind the last");
    }
    if (status == SH_OK && level != NULL &&
        !sh_capture_setup_parse_force(level, false, &config->level_n)) {
        status = sh_error_set(err, SH_ERR_ARGUMENT, "load --level", "give N, or lb",
                              "'%s' cannot be used", level);
    }
    return status;
}

static enum sh_exit
show(const struct sh_load_book_config *config, const struct format *format, const char *out)
{
    struct sh_load_book book;
    struct sh_error err = {0};
    struct sh_text text;
    enum sh_status status = sh_load_book_open(config, &book, &err);
    if (status != SH_OK) {
        sh_load_book_close(&book);
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    if (book.diary.warnings.data != NULL) {
        (void)fputs(book.diary.warnings.data, stderr);
    }
    sh_text_init(&text, 0);
    (void)(out != NULL ? sh_load_page_write : format->write)(&book.sheet, &text);
    sh_load_book_close(&book);
    if (out == NULL && format->write == sh_load_csv_write) {
        sh_say_cautions();
    }
    return out != NULL ? sh_say_file(&text, out) : sh_say_text(&text);
}

static enum sh_exit run(const struct sh_command *command, const struct sh_command_line *line)
{
    char home[SH_HOME_PATH_BYTES];
    struct sh_error err = {0};
    const struct sh_command_value *entry = NULL;
    struct sh_load_book_config config = {.home = home, .athlete = line->operands[0]};
    const char *name = sh_command_get(command, line, "format", "table");
    const struct format *format = find_format(name);
    if (format == NULL) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, "load --format", "take table, json or csv",
                           "'%s' is no format", name);
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (find_entry(line, &entry, &err) != SH_OK ||
        read_days(command, line, &config, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (sh_home_find(sh_command_get(command, line, "home", NULL), home, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return entry != NULL ? tell(home, command, line, entry)
                         : show(&config, format, sh_command_get(command, line, "out", NULL));
}

const struct sh_command sh_command_load = {
    .name = "load",
    .operands = "ATHLETE",
    .summary = "Show what the fingers carried, day by day, or tell what was not recorded.",
    .details =
        "A day is measured, rest (because somebody said so), unmeasured or unknown; an "
        "unknown\n"
        "day is not counted as rest. Not a medical device: limits, pain and the return to\n"
        "shooting are decided by licensed practice. Stop on pain.",
    .n_operands_min = 1,
    .n_operands_max = 3,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
