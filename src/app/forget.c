/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/forget.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "app/date_option.h"
#include "app/person_file.h"
#include "base/day.h"
#include "history/index.h"
#include "recording/atomic_file.h"

static enum sh_status set_mark(void *context, struct sh_person *person, struct sh_error *err)
{
    const char *athlete = context;
    (void)err;
    if (person->hidden_on[0] == '\0') {
        sh_day_format(sh_date_option_get_today(), person->hidden_on);
    }
    (void)snprintf(person->name, sizeof person->name, "%s", athlete);
    return SH_OK;
}

static enum sh_status take_mark(void *context, struct sh_person *person, struct sh_error *err)
{
    const char *athlete = context;
    if (person->hidden_on[0] == '\0') {
        return sh_error_set(err, SH_ERR_NOT_FOUND, athlete, "see 'stringhand history'",
                            "this athlete is not hidden");
    }
    person->hidden_on[0] = '\0';
    return SH_OK;
}

/* The athlete's rows go, and their bytes; no index is none to take them out of. */
static enum sh_status remove_rows(const char *home, const char *athlete, struct sh_error *err)
{
    char path[SH_HOME_PATH_BYTES];
    struct stat file;
    struct sh_index *index = NULL;
    size_t n_rows = 0;
    (void)snprintf(path, sizeof path, "%.*s/history.sqlite", (int)sizeof path - 20, home);
    if (stat(path, &file) != 0 && errno == ENOENT) {
        return SH_OK;
    }
    enum sh_status status = sh_index_open(path, &index, err);
    if (status == SH_OK) {
        status = sh_index_remove_athlete(index, athlete, &n_rows, err);
    }
    if (status == SH_OK) {
        status = sh_index_scrub(index, err);
    }
    sh_index_close(&index);
    return status;
}

enum sh_status sh_forget_hide(const char *home, const char *athlete, struct sh_error *err)
{
    char name[SH_SESSION_NAME_BYTES];
    const struct sh_person_file_change change = {set_mark, name};
    (void)snprintf(name, sizeof name, "%s", athlete);
    const enum sh_status status = sh_person_file_edit(home, athlete, &change, err);
    return status == SH_OK ? remove_rows(home, athlete, err) : status;
}

enum sh_status sh_forget_unhide(const char *home, const char *athlete, struct sh_error *err)
{
    char name[SH_SESSION_NAME_BYTES];
    const struct sh_person_file_change change = {take_mark, name};
    (void)snprintf(name, sizeof name, "%s", athlete);
    return sh_person_file_edit(home, athlete, &change, err);
}

static void remove_one(const char *folder, const char *athlete, struct sh_forget_result *result)
{
    struct sh_recording_remove_size size;
    struct sh_error failure = {0};
    char line[SH_ERROR_LINE_BYTES];
    if (sh_recording_remove_run(folder, athlete, &size, &failure) == SH_OK) {
        result->n_removed++;
        return;
    }
    result->n_failed++;
    sh_error_format(&failure, line);
    sh_text_printf(&result->failures, "stays: %s\n", line);
}

/* The person's file, and what a rewrite that was cut off left beside it. */
static enum sh_status remove_person(const char *path, struct sh_error *err)
{
    static const char *const endings[] = {".new", ""};
    char file[SH_HOME_PATH_BYTES + 8];
    bool was_there = false;
    for (size_t i = 0; i < 2; i++) {
        (void)snprintf(file, sizeof file, "%s%s", path, endings[i]);
        if (unlink(file) == 0) {
            was_there = true;
        } else if (errno != ENOENT) {
            return sh_error_set_os(err, errno, file, "check who may write there",
                                   "the file cannot be removed");
        }
    }
    return was_there ? sh_atomic_file_sync_folder(path, err) : SH_OK;
}

enum sh_status sh_forget_remove(const char *home,
                                const char *athlete,
                                const struct sh_forget_plan *plan,
                                struct sh_forget_result *result,
                                struct sh_error *err)
{
    enum sh_status status = SH_OK;
    *result = (struct sh_forget_result){0};
    sh_text_init(&result->failures, 0);
    for (size_t i = 0; i < plan->n; i++) {
        remove_one(plan->items[i].folder, athlete, result);
    }
    if (result->n_failed == 0) {
        status = remove_person(plan->person_file, err);
    }
    return status == SH_OK ? remove_rows(home, athlete, err) : status;
}
