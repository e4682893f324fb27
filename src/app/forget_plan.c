/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/forget_plan.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "recording/person_json.h"

#define KB_BYTES 1000.0
#define MB_BYTES 1e6

static enum sh_status lack_memory(struct sh_error *err)
{
    return sh_error_set(err, SH_ERR_MEMORY, NULL, NULL, "out of memory");
}

static enum sh_status find_person(const char *home,
                                  const char *athlete,
                                  struct sh_forget_plan *plan,
                                  struct sh_error *err)
{
    struct stat file;
    struct sh_person person = {0};
    enum sh_status status = sh_person_json_make_path(home, athlete, plan->person_file, err);
    if (status != SH_OK) {
        return status;
    }
    plan->has_person_file = lstat(plan->person_file, &file) == 0;
    if (sh_person_json_read(home, athlete, &person, NULL, NULL) == SH_OK) {
        plan->is_hidden = person.hidden_on[0] != '\0';
        sh_person_close(&person);
    }
    return SH_OK;
}

static void add_unread(struct sh_forget_plan *plan, const struct sh_error *failure)
{
    char line[SH_ERROR_LINE_BYTES];
    sh_error_format(failure, line);
    sh_text_printf(&plan->unread, "stays, whose it is cannot be read: %s\n", line);
}

static void look_at(const char *folder, const char *athlete, struct sh_forget_plan *plan)
{
    struct sh_forget_item *item = &plan->items[plan->n];
    struct sh_error failure = {0};
    item->folder = folder;
    if (sh_recording_remove_measure(folder, &item->size, &failure) != SH_OK) {
        add_unread(plan, &failure);
    } else if (strcmp(item->size.athlete, athlete) == 0) {
        plan->n++;
        plan->n_files += item->size.n_files;
        plan->n_bytes += item->size.n_bytes;
    }
}

enum sh_status sh_forget_plan_make(const struct sh_recording_list *list,
                                   const char *home,
                                   const char *athlete,
                                   struct sh_forget_plan *plan,
                                   struct sh_error *err)
{
    *plan = (struct sh_forget_plan){0};
    sh_text_init(&plan->unread, 0);
    enum sh_status status = find_person(home, athlete, plan, err);
    if (status != SH_OK) {
        return status;
    }
    plan->items = calloc(list->n + 1, sizeof *plan->items);
    if (plan->items == NULL) {
        return lack_memory(err);
    }
    for (size_t i = 0; i < list->n; i++) {
        look_at(list->folder[i], athlete, plan);
    }
    if (plan->unread.status != SH_OK) {
        return lack_memory(err);
    }
    if (plan->n == 0 && !plan->has_person_file) {
        return sh_error_set(err, SH_ERR_NOT_FOUND, athlete, "see 'stringhand history'",
                            "there is no recording and no file of that name");
    }
    return SH_OK;
}

static void format_size(uint64_t n_bytes, struct sh_text *text)
{
    const double size = (double)n_bytes;
    if (size < KB_BYTES) {
        sh_text_printf(text, "%" PRIu64 " bytes", n_bytes);
    } else if (size < MB_BYTES) {
        sh_text_printf(text, "%.1f kB", size / KB_BYTES);
    } else {
        sh_text_printf(text, "%.1f MB", size / MB_BYTES);
    }
}

static void format_item(const struct sh_forget_item *item, struct sh_text *text)
{
    sh_text_printf(text, "  %s: %zu file%s, ", item->folder, item->size.n_files,
                   item->size.n_files == 1 ? "" : "s");
    format_size(item->size.n_bytes, text);
    if (item->size.n_others > 0) {
        sh_text_printf(text, "; what else is in it stays: %s", item->size.other);
        if (item->size.n_others > 1) {
            sh_text_printf(text, " and %zu more", item->size.n_others - 1);
        }
    }
    sh_text_puts(text, "\n");
}

void sh_forget_plan_format(const struct sh_forget_plan *plan,
                           const char *athlete,
                           struct sh_text *text)
{
    sh_text_printf(text, "of %s there is:\n", athlete);
    for (size_t i = 0; i < plan->n; i++) {
        format_item(&plan->items[i], text);
    }
    if (plan->has_person_file) {
        sh_text_printf(text, "  %s: limits, goals, ratings, days\n", plan->person_file);
    }
    sh_text_printf(text, "%zu recording%s, %zu file%s, ", plan->n, plan->n == 1 ? "" : "s",
                   plan->n_files, plan->n_files == 1 ? "" : "s");
    format_size(plan->n_bytes, text);
    sh_text_puts(text, plan->is_hidden ? "; hidden\n" : "\n");
    sh_text_puts(text, plan->unread.data != NULL ? plan->unread.data : "");
}

void sh_forget_plan_close(struct sh_forget_plan *plan)
{
    free(plan->items);
    sh_text_close(&plan->unread);
    *plan = (struct sh_forget_plan){0};
}
