/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/limit_list.h"

#include <stdio.h>

#include "base/day.h"
#include "report/analysis_table.h"
#include "report/load_words.h"
#include "report/paragraph.h"
#include "report/shot_json.h"

#define FORMAT_NAME    "stringhand-limits"
#define FORMAT_VERSION 1
#define LEAD_BYTES     24u

static void say(struct sh_text *text, const char *lead, size_t n_indent, const char *string)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, SH_ANALYSIS_TABLE_COLUMNS, lead, n_indent);
    sh_paragraph_put(&paragraph, string);
    sh_paragraph_end(&paragraph);
}

static void write_entry(struct sh_text *text, const struct sh_load_sheet_limit *entry)
{
    struct sh_text words;
    char lead[LEAD_BYTES];
    sh_text_init(&words, 0);
    sh_load_words_put_limit(&words, entry);
    (void)snprintf(lead, sizeof lead, "no. %zu: ", entry->number);
    if (words.status == SH_OK) {
        say(text, lead, 4, words.data);
    } else if (text->status == SH_OK) {
        text->status = words.status;
    }
    sh_text_close(&words);
}

enum sh_status sh_limit_list_write_table(const struct sh_limit_list *list, struct sh_text *text)
{
    struct sh_paragraph paragraph;
    char words[48];
    char date[SH_DAY_BYTES];
    sh_day_format(list->day, date);
    (void)snprintf(words, sizeof words, "as they stand on %s:", date);
    sh_paragraph_init(&paragraph, text, SH_ANALYSIS_TABLE_COLUMNS, "", 2);
    sh_paragraph_put(&paragraph, "Limits of");
    sh_paragraph_put(&paragraph, list->athlete);
    sh_paragraph_put(&paragraph, words);
    sh_paragraph_end(&paragraph);
    if (list->n_entries == 0) {
        say(text, "  ", 2, "none is set. The program has none of its own.");
    }
    for (size_t i = 0; i < list->n_entries; i++) {
        write_entry(text, &list->entries[i]);
    }
    sh_text_puts(text, "\n");
    for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
        say(text, "", 2, sh_load_words_get_caution(i));
    }
    return text->status;
}

static void
put_string(struct sh_json_put *put, json_t *object, const char *key, const char *text)
{
    sh_json_put_value(put, object, key, sh_shot_json_make_string(text));
}

/* A text that may be missing. */
static void
put_given(struct sh_json_put *put, json_t *object, const char *key, const char *text)
{
    if (text[0] != '\0') {
        put_string(put, object, key, text);
    } else {
        sh_json_put_value(put, object, key, json_null());
    }
}

void sh_limit_list_put(struct sh_json_put *put,
                       json_t *object,
                       const struct sh_load_sheet_limit *entry)
{
    const struct sh_person_limit *limit = entry->limit;
    char date[SH_DAY_BYTES] = "";
    sh_json_put_count(put, object, "number", entry->number);
    put_string(put, object, "what", limit->what);
    put_given(put, object, "finger", limit->finger);
    put_string(put, object, "per", limit->per);
    sh_json_put_known(put, object, "most", limit->most.is_given, entry->plan.value);
    sh_json_put_known(put, object, "least", !limit->most.is_given, entry->plan.value);
    sh_json_put_known(put, object, "weekly_step", limit->weekly_step.is_given,
                      limit->weekly_step.value);
    put_given(put, object, "set_by", limit->set_by);
    put_given(put, object, "set_on", limit->set_on);
    put_given(put, object, "from", limit->from);
    put_given(put, object, "until", limit->until);
    sh_json_put_value(put, object, "in_force", json_boolean(entry->plan.is_in_force));
    sh_json_put_value(put, object, "step_waits", json_boolean(entry->plan.is_waiting));
    if (entry->plan.has_next) {
        sh_day_format(entry->plan.next_day, date);
    }
    put_given(put, object, "next_step_on", date);
}

void sh_limit_list_put_cautions(struct sh_json_put *put, json_t *root)
{
    json_t *list = json_array();
    for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
        if (json_array_append_new(list, json_string(sh_load_words_get_caution(i))) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, "cautions");
        }
    }
    sh_json_put_value(put, root, "cautions", list);
}

static void write_root(struct sh_json_put *put, json_t *root, const struct sh_limit_list *list)
{
    char date[SH_DAY_BYTES];
    sh_day_format(list->day, date);
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_number(put, root, "version", FORMAT_VERSION);
    put_string(put, root, "athlete", list->athlete);
    sh_json_put_text(put, root, "on", date);
    json_t *limits = sh_json_put_list(put, root, "limits");
    for (size_t i = 0; i < list->n_entries; i++) {
        sh_limit_list_put(put, sh_json_put_object_at(put, limits, i), &list->entries[i]);
    }
    sh_limit_list_put_cautions(put, root);
}

enum sh_status sh_limit_list_write_json(const struct sh_limit_list *list, struct sh_text *text)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_object();
    if (root == NULL) {
        return SH_ERR_MEMORY;
    }
    write_root(&put, root, list);
    return sh_json_put_finish(&put, root, text);
}
