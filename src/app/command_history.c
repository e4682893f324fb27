/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <stdio.h>
#include <string.h>

#include "app/commands.h"
#include "app/forget.h"
#include "app/forget_dialogue.h"
#include "app/history_update.h"
#include "app/home.h"
#include "app/say.h"
#include "report/history_list.h"

#define ROOTS_MAX 100u

static const struct sh_command_option options[] = {
    {"format", "FORMAT", "table (default), json or csv", 0},
    {"rebuild", NULL, "make the index anew from the folders", 0},
    {"forget", "ATHLETE", "show all there is of a person; ask to hide, then to remove it", 0},
    {"unhide", "ATHLETE", "take back that a person is hidden", 0},
    {"yes", NULL, "with --forget: hide without asking", 0},
    {"confirm", "NAME", "with --yes: the person's name again, to remove all for good", 0},
    {"home", "FOLDER", "where recordings/ and the index lie", 0},
};

static const struct format {
    const char *name;
    enum sh_status (*write)(const struct sh_history_list *list, struct sh_text *text);
} formats[] = {
    {"table", sh_history_list_write_table},
    {"json", sh_history_list_write_json},
    {"csv", sh_history_list_write_csv},
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

/* The home's recordings, and those below the folders that were named. */
static enum sh_status list_recordings(const char *home,
                                      const struct sh_command_line *line,
                                      bool may_be_none,
                                      struct sh_recording_list *list,
                                      struct sh_error *err)
{
    char folder[SH_HOME_PATH_BYTES];
    (void)snprintf(folder, sizeof folder, "%.*s/recordings", (int)sizeof folder - 16, home);
    struct sh_error missing = {0};
    enum sh_status status = sh_recording_list_add(list, folder, &missing);
    if (status == SH_ERR_NOT_FOUND && (may_be_none || line->n_operands > 0)) {
        status = SH_OK; /* nothing was captured into this home yet */
    } else if (status != SH_OK) {
        *err = missing;
    }
    for (size_t i = 0; i < line->n_operands && status == SH_OK; i++) {
        status = sh_recording_list_add(list, line->operands[i], err);
    }
    sh_recording_list_settle(list);
    return status;
}

/* None that cannot be read is passed over in silence. */
static void say_failure(void *context, const struct sh_error *failure)
{
    (void)context;
    (void)sh_say_error(failure, SH_EXIT_INPUT);
}

static enum sh_status take_entry(void *context, const struct sh_index_entry *entry)
{
    return sh_history_list_add(context, entry);
}

/* What was done, in one line for people. */
static void say_result(const struct sh_history_update_result *result)
{
    (void)fprintf(stderr,
                  "recordings: %zu unchanged, %zu read, %zu moved, %zu copies, %zu gone, "
                  "%zu of people who are hidden, %zu that cannot be read\n",
                  result->n_unchanged, result->n_put, result->n_moved, result->n_copies,
                  result->n_removed, result->n_hidden, result->n_failed);
}

/* Brings the index up to date and lists it. */
static enum sh_status update(const struct sh_recording_list *recordings,
                             const char *home,
                             bool from_nothing,
                             struct sh_history_list *list,
                             struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct sh_index *index = NULL;
    struct sh_history_update_result result;
    const struct sh_thresholds thresholds = sh_thresholds_default();
    struct sh_hidden_people hidden = sh_hidden_people_open(home);
    const struct sh_history_update_config config = {.list = recordings,
                                                    .thresholds = &thresholds,
                                                    .hidden = &hidden,
                                                    .sink = {say_failure, NULL},
                                                    .from_nothing = from_nothing};
    (void)snprintf(path, sizeof path, "%.*s/history.sqlite", (int)sizeof path - 20, home);
    enum sh_status status = sh_home_make_folder(home, err);
    if (status == SH_OK) {
        status = sh_index_open(path, &index, err);
    }
    if (status == SH_OK) {
        status = sh_history_update_run(index, &config, &result, err);
    }
    if (status == SH_OK) {
        say_result(&result);
        const struct sh_index_filter all = {0};
        const struct sh_index_entry_sink sink = {take_entry, list};
        status = sh_index_query_recordings(index, &all, &sink, err);
    }
    sh_index_close(&index);
    sh_hidden_people_close(&hidden);
    return status;
}

/* Options that go together, and names that are names. */
static enum sh_status check_options(const struct sh_command *command,
                                    const struct sh_command_line *line,
                                    struct sh_error *err)
{
    const char *forget = sh_command_get(command, line, "forget", NULL);
    const char *confirm = sh_command_get(command, line, "confirm", NULL);
    const bool is_yes = sh_command_get(command, line, "yes", NULL) != NULL;
    if (forget != NULL && sh_command_get(command, line, "unhide", NULL) != NULL) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history --unhide", "give one of the two",
                            "it does not go with --forget");
    }
    if (is_yes && forget == NULL) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history --yes", "give --forget ATHLETE too",
                            "nothing is asked here");
    }
    if (confirm != NULL && !is_yes) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history --confirm",
                            "give --forget ATHLETE and --yes too",
                            "nothing is removed by it alone");
    }
    if (confirm != NULL && strcmp(confirm, forget) != 0) {
        return sh_error_set(err, SH_ERR_ARGUMENT, "history --confirm",
                            "type the name that is to be forgotten",
                            "'%s' is another name than '%s'", confirm, forget);
    }
    return SH_OK;
}

static enum sh_exit
forget(const struct sh_command *command, const struct sh_command_line *line, const char *home)
{
    struct sh_recording_list recordings = {0};
    struct sh_error err = {0};
    const struct sh_forget_dialogue dialogue = {
        .home = home,
        .athlete = sh_command_get(command, line, "forget", NULL),
        .list = &recordings,
        .is_yes = sh_command_get(command, line, "yes", NULL) != NULL,
        .confirm = sh_command_get(command, line, "confirm", NULL)};
    const enum sh_status status = list_recordings(home, line, true, &recordings, &err);
    const enum sh_exit done =
        status == SH_OK ? sh_forget_dialogue_run(&dialogue) : sh_say_error(&err, SH_EXIT_INPUT);
    sh_recording_list_close(&recordings);
    return done;
}

/* What is wished for at first: --unhide, then the list. */
static enum sh_status unhide(const struct sh_command *command,
                             const struct sh_command_line *line,
                             const char *home,
                             struct sh_error *err)
{
    const char *athlete = sh_command_get(command, line, "unhide", NULL);
    return athlete == NULL ? SH_OK : sh_forget_unhide(home, athlete, err);
}

static enum sh_exit list(const struct sh_command *command,
                         const struct sh_command_line *line,
                         const char *home,
                         const struct format *format)
{
    struct sh_error err = {0};
    struct sh_recording_list recordings = {0};
    struct sh_history_list list = {0};
    struct sh_text text;
    enum sh_status status = unhide(command, line, home, &err);
    if (status == SH_OK) {
        status = list_recordings(home, line, false, &recordings, &err);
    }
    if (status == SH_OK) {
        status = update(&recordings, home,
                        sh_command_get(command, line, "rebuild", NULL) != NULL, &list, &err);
    }
    sh_text_init(&text, 0);
    if (status == SH_OK) {
        (void)format->write(&list, &text);
    }
    sh_history_list_close(&list);
    sh_recording_list_close(&recordings);
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
    const char *name = sh_command_get(command, line, "format", "table");
    const struct format *format = find_format(name);
    if (format == NULL) {
        (void)sh_error_set(&err, SH_ERR_ARGUMENT, "history --format", "take table, json or csv",
                           "'%s' is no format", name);
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (check_options(command, line, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_USAGE);
    }
    if (sh_home_find(sh_command_get(command, line, "home", NULL), home, &err) != SH_OK) {
        return sh_say_error(&err, SH_EXIT_INPUT);
    }
    return sh_command_get(command, line, "forget", NULL) != NULL
               ? forget(command, line, home)
               : list(command, line, home, format);
}

const struct sh_command sh_command_history = {
    .name = "history",
    .operands = "[FOLDER...]",
    .summary = "Index all recordings of the home, and below the folders named, and list them.",
    .details =
        "The index (history.sqlite in the home) is made from the recordings and can be\n"
        "deleted at any time: nothing that a person entered is lost by it.\n"
        "\n"
        "Who is hidden (--forget, after one yes) is in no list, comparison or consistency "
        "until\n"
        "--unhide. After a second yes her recordings' folders, her file and her rows are\n"
        "removed for good: only files a recording is made of, in the home and below the\n"
        "folders named, and no copies made elsewhere.",
    .n_operands_min = 0,
    .n_operands_max = ROOTS_MAX,
    .options = options,
    .n_options = sizeof options / sizeof options[0],
    .run = run,
};
