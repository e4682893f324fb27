/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/goal_sheet.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "base/day.h"
#include "measure/catalog.h"
#include "recording/json_put.h"
#include "report/analysis_table.h"
#include "report/paragraph.h"
#include "report/shot_json.h"
#include "report/utf8.h"
#include "series/goal_band.h"

#define FORMAT_NAME    "stringhand-goals"
#define FORMAT_VERSION 1
#define PER_CENT       100.0
#define MONTH_BYTES    8u /* "2026-05" */
#define NAME_COLUMNS   20u

static const char caution[] =
    "A share is no score: published studies explain about 8 % of where an arrow lands by its "
    "timing. The interval allows for arrows of one end being alike.";

/* One line of the sheet: a session, or a month. */
struct row {
    char date[SH_DAY_BYTES]; /* "2026-05-14", "2026-05" */
    const char *name;        /* NULL: a month */
    struct sh_goal_share share;
};

/* All lines, sessions first. */
struct rows {
    struct row *row; /* owned, [n] */
    size_t n;
    size_t n_sessions;
};

static size_t get_end(const struct sh_goal_sheet *sheet, size_t session)
{
    return session + 1 < sheet->n_sessions ? sheet->sessions[session + 1].first : sheet->n;
}

/* The sessions from..until (without) as one line. */
static void fill_row(const struct sh_goal_sheet *sheet,
                     const enum sh_goal_place *place,
                     size_t from,
                     size_t until,
                     struct row *row)
{
    const size_t first = sheet->sessions[from].first;
    const size_t last = get_end(sheet, until - 1);
    sh_day_format(sheet->sessions[from].day, row->date);
    sh_goal_band_find_share(place + first, sheet->end + first, last - first, &row->share);
}

static bool is_same_month(int day, int other)
{
    char a[SH_DAY_BYTES];
    char b[SH_DAY_BYTES];
    sh_day_format(day, a);
    sh_day_format(other, b);
    return strncmp(a, b, MONTH_BYTES - 1) == 0;
}

static void
fill_rows(const struct sh_goal_sheet *sheet, const enum sh_goal_place *place, struct rows *rows)
{
    const struct sh_goal_sheet_session *sessions = sheet->sessions;
    for (size_t i = 0; i < sheet->n_sessions; i++) {
        struct row *row = &rows->row[rows->n++];
        fill_row(sheet, place, i, i + 1, row);
        row->name = sessions[i].name;
    }
    rows->n_sessions = rows->n;
    for (size_t i = 0; i < sheet->n_sessions;) {
        size_t until = i + 1;
        while (until < sheet->n_sessions &&
               is_same_month(sessions[i].day, sessions[until].day)) {
            until++;
        }
        struct row *row = &rows->row[rows->n++];
        fill_row(sheet, place, i, until, row);
        row->date[MONTH_BYTES - 1] = '\0';
        i = until;
    }
}

/* None where no goal is in force. */
static enum sh_status make_rows(const struct sh_goal_sheet *sheet,
                                const struct sh_person_goal *goal,
                                struct rows *rows)
{
    *rows = (struct rows){0};
    if (goal == NULL) {
        return SH_OK;
    }
    const struct sh_goal_band band = {goal->least, goal->most};
    enum sh_goal_place *place = calloc(sheet->n + 1, sizeof *place);
    rows->row = calloc(2 * sheet->n_sessions + 1, sizeof *rows->row);
    const bool is_fine = place != NULL && rows->row != NULL;
    if (is_fine) {
        for (size_t i = 0; i < sheet->n; i++) {
            place[i] = sh_goal_band_judge(&band, sheet->hold_s[i]);
        }
        fill_rows(sheet, place, rows);
    }
    free(place);
    return is_fine ? SH_OK : SH_ERR_MEMORY;
}

static const struct sh_person_goal *find_goal(const struct sh_goal_sheet *sheet)
{
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(SH_MEASURE_HOLD_TIME, SH_CATALOG_VALUE, key);
    return sh_person_find_goal(sheet->person, key);
}

static void say(struct sh_text *text, const char *lead, size_t n_indent, const char *string)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, SH_ANALYSIS_TABLE_COLUMNS, lead, n_indent);
    sh_paragraph_put(&paragraph, string);
    sh_paragraph_end(&paragraph);
}

/* One goal, "hold 2.00 to 3.00 s, set on 2026-05-14 by coach". */
static void say_goal(struct sh_text *text, const char *lead, const struct sh_person_goal *goal)
{
    struct sh_text line;
    sh_text_init(&line, 0);
    sh_text_printf(&line, "hold %.4g to %.4g s, set on %s", goal->least, goal->most,
                   goal->set_on);
    if (goal->set_by[0] != '\0') {
        sh_text_printf(&line, " by %s", goal->set_by);
    }
    if (goal->arrows > 0) {
        sh_text_printf(&line, ", from the middle 80 %% of %" PRIu64 " best arrows",
                       goal->arrows);
    }
    if (goal->ended_on[0] != '\0') {
        sh_text_printf(&line, ", until %s", goal->ended_on);
    }
    sh_text_puts(&line, ".");
    if (line.status == SH_OK) {
        say(text, lead, 4, line.data);
    } else if (text->status == SH_OK) {
        text->status = line.status;
    }
    sh_text_close(&line);
}

static void write_row(const struct row *row, struct sh_text *text)
{
    const struct sh_goal_share *share = &row->share;
    const char *name = row->name != NULL ? row->name : "";
    size_t n_columns = sh_utf8_get_columns(name, strlen(name));
    sh_text_printf(text, "%-10s  ", row->date);
    sh_utf8_put(text, name, SH_UTF8_MASK_CONTROL);
    for (; n_columns < NAME_COLUMNS; n_columns++) {
        sh_text_puts(text, " ");
    }
    sh_text_printf(text, "%7zu%7zu%8zu%6zu", share->n, share->n_short, share->n_inside,
                   share->n_long);
    if (share->n > 0) {
        sh_text_printf(text, "%6.0f %%", PER_CENT * share->ratio);
    }
    if (share->has_interval) {
        sh_text_printf(text, "%5.0f to %3.0f", PER_CENT * share->lo, PER_CENT * share->hi);
    }
    sh_text_puts(text, "\n");
}

static void write_rows(const struct rows *rows, struct sh_text *text)
{
    if (rows->n == 0) {
        return;
    }
    sh_text_printf(text, "\n%-10s  %-*s%7s%7s%8s%6s%8s%12s\n", "session", (int)NAME_COLUMNS, "",
                   "arrows", "short", "inside", "long", "share", "95 %");
    for (size_t i = 0; i < rows->n; i++) {
        if (i == rows->n_sessions) {
            sh_text_puts(text, "month\n");
        }
        write_row(&rows->row[i], text);
    }
}

enum sh_status sh_goal_sheet_write_table(const struct sh_goal_sheet *sheet,
                                         struct sh_text *text)
{
    const struct sh_person *person = sheet->person;
    const struct sh_person_goal *goal = find_goal(sheet);
    struct rows rows;
    enum sh_status status = make_rows(sheet, goal, &rows);
    if (status == SH_OK) {
        struct sh_paragraph paragraph;
        sh_paragraph_init(&paragraph, text, SH_ANALYSIS_TABLE_COLUMNS, "", 2);
        sh_paragraph_put(&paragraph, "Goals of");
        sh_paragraph_put(&paragraph, person->name);
        sh_paragraph_end(&paragraph);
        if (goal != NULL) {
            say_goal(text, "  now: ", goal);
        } else {
            say(text, "  ", 4, "none is in force. Set one with --hold 2.0-3.0 or --from-best.");
        }
        for (size_t i = person->n_goals; i > 0; i--) {
            if (person->goals[i - 1].ended_on[0] != '\0') {
                say_goal(text, "  earlier: ", &person->goals[i - 1]);
            }
        }
        write_rows(&rows, text);
        sh_text_puts(text, "\n");
        say(text, "", 0, caution);
        status = text->status;
    }
    free(rows.row);
    return status;
}

static void put_text(struct sh_json_put *put, json_t *object, const char *key, const char *text)
{
    sh_json_put_value(put, object, key,
                      text[0] != '\0' ? sh_shot_json_make_string(text) : json_null());
}

static void put_goal(struct sh_json_put *put, json_t *object, const struct sh_person_goal *goal)
{
    put_text(put, object, "what", goal->what);
    sh_json_put_number(put, object, "least", goal->least);
    sh_json_put_number(put, object, "most", goal->most);
    put_text(put, object, "basis", goal->basis);
    sh_json_put_count(put, object, "arrows", goal->arrows);
    put_text(put, object, "set_by", goal->set_by);
    put_text(put, object, "set_on", goal->set_on);
    put_text(put, object, "ended_on", goal->ended_on);
}

static void put_row(struct sh_json_put *put, json_t *object, const struct row *row)
{
    const struct sh_goal_share *share = &row->share;
    sh_json_put_text(put, object, row->name != NULL ? "date" : "month", row->date);
    if (row->name != NULL) {
        put_text(put, object, "session", row->name);
    }
    sh_json_put_count(put, object, "arrows", share->n);
    sh_json_put_count(put, object, "ends", share->n_ends);
    sh_json_put_count(put, object, "short", share->n_short);
    sh_json_put_count(put, object, "inside", share->n_inside);
    sh_json_put_count(put, object, "long", share->n_long);
    sh_json_put_known(put, object, "share", share->n > 0, share->ratio);
    sh_json_put_known(put, object, "lo", share->has_interval, share->lo);
    sh_json_put_known(put, object, "hi", share->has_interval, share->hi);
}

static void write_root(struct sh_json_put *put,
                       json_t *root,
                       const struct sh_goal_sheet *sheet,
                       const struct rows *rows)
{
    const struct sh_person *person = sheet->person;
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_number(put, root, "version", FORMAT_VERSION);
    put_text(put, root, "athlete", person->name);
    json_t *goals = sh_json_put_list(put, root, "goals");
    for (size_t i = 0; i < person->n_goals; i++) {
        put_goal(put, sh_json_put_object_at(put, goals, i), &person->goals[i]);
    }
    json_t *sessions = sh_json_put_list(put, root, "sessions");
    json_t *months = sh_json_put_list(put, root, "months");
    for (size_t i = 0; i < rows->n; i++) {
        const bool is_session = i < rows->n_sessions;
        put_row(put,
                sh_json_put_object_at(put, is_session ? sessions : months,
                                      is_session ? i : i - rows->n_sessions),
                &rows->row[i]);
    }
    sh_json_put_text(put, root, "caution", caution);
}

enum sh_status sh_goal_sheet_write_json(const struct sh_goal_sheet *sheet, struct sh_text *text)
{
    struct sh_json_put put = {SH_OK, NULL};
    struct rows rows;
    json_t *root = json_object();
    enum sh_status status = make_rows(sheet, find_goal(sheet), &rows);
    if (root == NULL) {
        status = SH_ERR_MEMORY;
    }
    if (status == SH_OK) {
        write_root(&put, root, sheet, &rows);
        status = sh_json_put_finish(&put, root, text);
    } else {
        json_decref(root);
    }
    free(rows.row);
    return status;
}
