/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/history_list.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "base/day.h"
#include "report/csv_text.h"
#include "report/shot_json.h"
#include "report/utf8.h"

#define FIRST_CAPACITY 64u
#define NAME_COLUMNS   20u

enum sh_status sh_history_list_add(struct sh_history_list *list,
                                   const struct sh_index_entry *entry)
{
    if (list->n == list->capacity) {
        const size_t capacity = list->capacity == 0 ? FIRST_CAPACITY : 2 * list->capacity;
        struct sh_index_entry *grown = realloc(list->entries, capacity * sizeof *grown);
        if (grown == NULL) {
            return SH_ERR_MEMORY;
        }
        list->entries = grown;
        list->capacity = capacity;
    }
    list->entries[list->n++] = *entry;
    return SH_OK;
}

void sh_history_list_close(struct sh_history_list *list)
{
    free(list->entries);
    *list = (struct sh_history_list){0};
}

/* The local day on which a recording started; "" where its start is no instant. */
static void format_day(const struct sh_index_recording *recording, char text[SH_DAY_BYTES])
{
    int day = 0;
    text[0] = '\0';
    if (sh_day_parse_instant(recording->started, recording->utc_offset_min, &day)) {
        sh_day_format(day, text);
    }
}

/* One archer's line. */
struct line {
    const char *athlete;
    size_t n_recordings;
    size_t n_draws;
    const struct sh_index_recording *first;
    const struct sh_index_recording *last;
};

static struct line sum_up(const struct sh_history_list *list, const char *athlete)
{
    struct line line = {.athlete = athlete};
    for (size_t i = 0; i < list->n; i++) {
        const struct sh_index_entry *entry = &list->entries[i];
        if (strcmp(entry->recording.athlete, athlete) == 0) {
            line.first = line.first == NULL ? &entry->recording : line.first;
            line.last = &entry->recording;
            line.n_recordings++;
            line.n_draws += entry->n_shots;
        }
    }
    return line;
}

static void write_line(const struct line *line, struct sh_text *text)
{
    char first[SH_DAY_BYTES];
    char last[SH_DAY_BYTES];
    const char *name = line->athlete[0] != '\0' ? line->athlete : "(no name)";
    format_day(line->first, first);
    format_day(line->last, last);
    const size_t n_columns = sh_utf8_get_columns(name, strlen(name));
    sh_utf8_put(text, name, SH_UTF8_MASK_CONTROL);
    for (size_t i = n_columns; i < NAME_COLUMNS; i++) {
        sh_text_puts(text, " ");
    }
    sh_text_printf(text, "%s%12zu%8zu  %-10s  %-10s\n", n_columns < NAME_COLUMNS ? "" : " ",
                   line->n_recordings, line->n_draws, first, last);
}

/* Whether an earlier entry is of the same archer. */
static bool was_before(const struct sh_history_list *list, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        if (strcmp(list->entries[k].recording.athlete, list->entries[i].recording.athlete) ==
            0) {
            return true;
        }
    }
    return false;
}

enum sh_status sh_history_list_write_table(const struct sh_history_list *list,
                                           struct sh_text *text)
{
    if (list->n == 0) {
        sh_text_puts(text, "No recordings.\n");
        return text->status;
    }
    sh_text_printf(text, "%-20s%12s%8s  %-10s  %-10s\n", "archer", "recordings", "draws",
                   "first day", "last day");
    for (size_t i = 0; i < list->n; i++) {
        if (!was_before(list, i)) {
            const struct line line = sum_up(list, list->entries[i].recording.athlete);
            write_line(&line, text);
        }
    }
    return text->status;
}

/* Takes value, even where it fails. */
static bool put(json_t *object, const char *key, json_t *value)
{
    return json_object_set_new(object, key, value) == 0;
}

static json_t *make_entry(const struct sh_index_entry *entry)
{
    const struct sh_index_recording *recording = &entry->recording;
    json_t *object = json_object();
    bool is_full = put(object, "folder", sh_shot_json_make_string(recording->folder));
    is_full = put(object, "content", json_string(recording->content)) && is_full;
    is_full = put(object, "started", sh_shot_json_make_string(recording->started)) && is_full;
    is_full = put(object, "session", sh_shot_json_make_string(recording->session)) && is_full;
    is_full = put(object, "athlete", sh_shot_json_make_string(recording->athlete)) && is_full;
    is_full = put(object, "bow", sh_shot_json_make_string(recording->bow)) && is_full;
    is_full = put(object, "channels", sh_shot_json_make_string(recording->channels)) && is_full;
    is_full = put(object, "program", sh_shot_json_make_string(recording->program)) && is_full;
    is_full = put(object, "duration_s", json_real(entry->duration_s)) && is_full;
    is_full = put(object, "draws", json_integer((json_int_t)entry->n_shots)) && is_full;
    if (!is_full) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static int take_piece(const char *bytes, size_t n_bytes, void *context)
{
    struct sh_text *text = context;
    sh_text_write(text, bytes, n_bytes);
    return text->status == SH_OK ? 0 : -1;
}

enum sh_status sh_history_list_write_json(const struct sh_history_list *list,
                                          struct sh_text *text)
{
    sh_text_puts(text,
                 "{\"format\": \"stringhand-history\", \"version\": 1, \"recordings\": [");
    for (size_t i = 0; i < list->n && text->status == SH_OK; i++) {
        sh_text_puts(text, i == 0 ? "\n  " : ",\n  ");
        json_t *entry = make_entry(&list->entries[i]);
        if ((entry == NULL || json_dump_callback(entry, take_piece, text, 0) != 0) &&
            text->status == SH_OK) {
            text->status = SH_ERR_MEMORY;
        }
        json_decref(entry);
    }
    sh_text_puts(text, list->n > 0 ? "\n ]}\n" : "]}\n");
    return text->status;
}

enum sh_status sh_history_list_write_csv(const struct sh_history_list *list,
                                         struct sh_text *text)
{
    sh_text_puts(text, "folder,content,started,session,athlete,bow,channels,program,duration_s,"
                       "draws\r\n");
    for (size_t i = 0; i < list->n; i++) {
        const struct sh_index_recording *recording = &list->entries[i].recording;
        const char *const cells[] = {
            recording->folder,  recording->content, recording->started,  recording->session,
            recording->athlete, recording->bow,     recording->channels, recording->program};
        for (size_t c = 0; c < sizeof cells / sizeof cells[0]; c++) {
            sh_csv_text_put(text, cells[c]);
            sh_text_puts(text, ",");
        }
        sh_text_printf(text, "%.17g,%zu\r\n", list->entries[i].duration_s,
                       list->entries[i].n_shots);
    }
    return text->status;
}
