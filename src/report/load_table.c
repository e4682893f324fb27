/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_table.h"

#include <stdio.h>

#include "base/day.h"
#include "report/analysis_table.h"
#include "report/load_words.h"
#include "report/paragraph.h"

#define COLUMNS  SH_ANALYSIS_TABLE_COLUMNS
#define INDENT   12u /* behind "2026-05-14  " */
#define BULLET   "  "
#define PER_CENT 100.0

/* A sheet being written; words is a line in the making. */
struct table {
    const struct sh_load_sheet *sheet;
    struct sh_text *text;
    struct sh_text words;
};

/* Puts the line in the making as a paragraph. */
static void put_line(struct table *table, const char *lead, size_t n_indent)
{
    struct sh_paragraph paragraph;
    if (table->text->status == SH_OK) {
        table->text->status = table->words.status;
    }
    sh_paragraph_init(&paragraph, table->text, COLUMNS, lead, n_indent);
    sh_paragraph_put(&paragraph, table->words.data != NULL ? table->words.data : "");
    sh_paragraph_end(&paragraph);
    sh_text_reset(&table->words);
}

static void put_indented(struct table *table)
{
    put_line(table, "            ", INDENT + 2);
}

static void put_string(struct table *table, const char *string, const char *lead)
{
    sh_text_puts(&table->words, string);
    put_line(table, lead, 4);
}

static bool has_forces(const struct sh_day_load *load)
{
    return load->impulse_n_s[0].n_known + load->impulse_n_s[1].n_known +
               load->impulse_n_s[2].n_known >
           0;
}

static void put_impulses(struct table *table, const struct sh_day_load *load)
{
    for (size_t i = 0; i <= SH_DAY_LOAD_FINGERS; i++) {
        const struct sh_quantity impulse = sh_day_load_get_impulse_n_s(load, i);
        const struct sh_load_sum *sum =
            i < SH_DAY_LOAD_FINGERS ? &load->impulse_n_s[i] : &load->sum_n_s;
        sh_text_printf(&table->words, "%s%s ",
                       i > 0 ? ", " : "impulse: ", sh_load_words_get_finger(i));
        sh_load_words_put_sum(&table->words, &impulse, sum);
    }
    const struct sh_quantity share = sh_day_load_get_share(load, 2);
    sh_text_puts(&table->words, "; the ring finger's share ");
    sh_load_words_put_quantity(&table->words, &share, PER_CENT, "%");
    put_indented(table);
}

static void put_peaks(struct table *table, const struct sh_day_load *load)
{
    const double level_n = table->sheet->level_n;
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        sh_text_printf(&table->words, "%s%s ",
                       i > 0 ? ", " : "largest force: ", sh_load_words_get_finger(i));
        sh_load_words_put_quantity(&table->words, &load->peak_n[i], 1.0, "N");
    }
    put_indented(table);
    if (!(level_n > 0.0)) {
        return;
    }
    sh_text_printf(&table->words, "at %.4g N or more: ", level_n);
    for (size_t i = 0; i < SH_DAY_LOAD_FINGERS; i++) {
        sh_text_printf(&table->words, "%s%s %zu of %zu draws", i > 0 ? ", " : "",
                       sh_load_words_get_finger(i), load->n_above[i], load->n_peaks[i]);
    }
    put_indented(table);
}

static void put_forces(struct table *table, const struct sh_day_load *load)
{
    if (has_forces(load)) {
        put_impulses(table, load);
        put_peaks(table, load);
    } else if (load->n_draws + load->n_unread > 0) {
        sh_text_puts(&table->words, "what each finger carried is unknown");
        put_indented(table);
    }
}

static void put_averages(struct table *table, const struct sh_load_history_row *row)
{
    sh_text_puts(&table->words, "together: ");
    sh_load_words_put_average(&table->words, row, SH_LOAD_HISTORY_ALL);
    put_indented(table);
    sh_text_puts(&table->words, "ring: ");
    sh_load_words_put_average(&table->words, row, SH_LOAD_HISTORY_RING);
    put_indented(table);
    sh_text_puts(&table->words, "draws: ");
    sh_load_words_put_average(&table->words, row, SH_LOAD_HISTORY_DRAWS);
    put_indented(table);
}

/* Ratings and limits beside the loads. */
static void put_notes(struct table *table, int day)
{
    sh_load_words_put_notes(&table->words, table->sheet, day);
    if (table->words.n_bytes > 0) {
        put_indented(table);
    }
}

static void put_day(struct table *table, const struct sh_load_history_row *row)
{
    const enum sh_day_load_kind kind = sh_day_load_get_kind(row->load);
    char date[SH_DAY_BYTES];
    sh_day_format(row->day, date);
    sh_text_printf(&table->words, "%s  %s", date, sh_day_load_kind_name(kind));
    if (kind == SH_DAY_LOAD_REST) {
        sh_text_puts(&table->words, ", as a person has said");
        put_line(table, "", INDENT);
    } else {
        sh_text_puts(&table->words, ": ");
        sh_load_words_put_draws(&table->words, row->load);
        put_line(table, "", INDENT);
        put_forces(table, row->load);
    }
    put_notes(table, row->day);
    put_averages(table, row);
}

/* The last of the unknown days in a row that begin with day. */
static int find_last_unknown(const struct sh_load_sheet *sheet, int day)
{
    int last = day;
    const struct sh_load_history_row *row = sh_load_sheet_find(sheet, last + 1);
    while (last < sheet->last_day && row != NULL &&
           sh_day_load_get_kind(row->load) == SH_DAY_LOAD_UNKNOWN) {
        row = sh_load_sheet_find(sheet, ++last + 1);
    }
    return last;
}

static void put_unknown(struct table *table, int first, int last)
{
    char date[SH_DAY_BYTES];
    sh_day_format(first, date);
    sh_text_puts(&table->words, date);
    if (last > first) {
        sh_day_format(last, date);
        sh_text_printf(&table->words, " to %s", date);
    }
    sh_text_puts(&table->words, "  unknown: nobody has said anything; not counted as rest");
    put_line(table, "", INDENT);
}

static void write_days(struct table *table)
{
    const struct sh_load_sheet *sheet = table->sheet;
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row == NULL) {
            continue;
        }
        if (sh_day_load_get_kind(row->load) == SH_DAY_LOAD_UNKNOWN) {
            int last = find_last_unknown(sheet, day);
            put_unknown(table, day, last);
            day = last;
        } else {
            put_day(table, row);
        }
    }
}

static void write_weeks(struct table *table)
{
    const struct sh_load_sheet *sheet = table->sheet;
    sh_text_puts(table->text, "\nWeeks, from Monday on\n");
    for (int monday = sh_day_get_monday(sheet->first_day); monday <= sheet->last_day;
         monday += SH_DAY_WEEK) {
        const struct sh_day_load week = sh_load_sheet_get_week(sheet, monday);
        const struct sh_quantity all = sh_day_load_get_impulse_n_s(&week, SH_DAY_LOAD_FINGERS);
        char date[SH_DAY_BYTES];
        sh_day_format(monday, date);
        sh_text_printf(&table->words, "%s  ", date);
        sh_load_words_put_kinds(&table->words, &week);
        sh_load_words_put_draws(&table->words, &week);
        sh_text_puts(&table->words, "; together ");
        sh_load_words_put_sum(&table->words, &all, &week.sum_n_s);
        put_line(table, "", INDENT);
    }
}

static void write_limits(struct table *table)
{
    const struct sh_load_sheet *sheet = table->sheet;
    sh_text_puts(table->text, "\nLimits\n");
    if (sheet->n_limits == 0) {
        put_string(table, "None is set. The program has none of its own.", BULLET);
    }
    for (size_t i = 0; i < sheet->n_limits; i++) {
        sh_text_printf(&table->words, "no. %zu: ", sheet->limits[i].number);
        sh_load_words_put_limit(&table->words, &sheet->limits[i]);
        sh_text_puts(&table->words, "; ");
        sh_load_words_put_verdicts(&table->words, sheet, sheet->limits[i].number);
        put_line(table, BULLET, 4);
    }
}

static void write_ratings(struct table *table)
{
    const struct sh_load_sheet *sheet = table->sheet;
    sh_text_puts(table->text, "\nRatings of pain\n");
    if (sheet->n_ratings == 0) {
        put_string(table, "None is given.", BULLET);
    }
    for (size_t i = 0; i < sheet->n_ratings; i++) {
        sh_load_words_put_rating(&table->words, sheet->ratings, i);
        put_line(table, BULLET, 4);
    }
    if (sheet->n_ratings > 0 && sh_rating_is_rise(sheet->ratings, sheet->n_ratings - 1)) {
        put_string(table, sh_rating_get_ask_caution(), BULLET);
    }
}

static void write_sensors(struct table *table)
{
    const struct sh_load_sheet *sheet = table->sheet;
    sh_text_puts(table->text, "\nWhat stands behind the figures\n");
    if (sheet->n_sensors == 0) {
        put_string(table, "No recording.", BULLET);
    }
    for (size_t i = 0; i < sheet->n_sensors; i++) {
        sh_load_words_put_sensor(&table->words, &sheet->sensors[i]);
        put_line(table, BULLET, 4);
    }
    put_string(
        table,
        "The figure behind \xC2\xB1 is half of a 95 % interval, and at most that: errors "
        "of one calibration are taken to go the same way in all draws. Let-downs count.",
        BULLET);
}

/* Beside the loads, with what speaks against it; no part of it is marked good or bad. */
static void write_ratio(struct table *table)
{
    const struct sh_load_history_row *row =
        sh_load_sheet_find(table->sheet, table->sheet->last_day);
    if (row == NULL || !sh_quantity_is_known(&row->average[SH_LOAD_HISTORY_ALL].ratio)) {
        return;
    }
    sh_text_puts(table->text, "\nShort average beside long\n");
    sh_text_puts(&table->words, "Of the last day, all fingers together: ");
    sh_load_words_put_average(&table->words, row, SH_LOAD_HISTORY_ALL);
    sh_text_puts(&table->words, "; ");
    sh_load_words_put_ratio(&table->words, &row->average[SH_LOAD_HISTORY_ALL]);
    sh_text_puts(&table->words, ". ");
    put_string(table, sh_load_average_get_objections(), BULLET);
}

static void write_head(struct table *table)
{
    char first[SH_DAY_BYTES];
    char last[SH_DAY_BYTES];
    char words[64];
    struct sh_paragraph paragraph;
    sh_day_format(table->sheet->first_day, first);
    sh_day_format(table->sheet->last_day, last);
    (void)snprintf(words, sizeof words, "from %s to %s.", first, last);
    sh_paragraph_init(&paragraph, table->text, COLUMNS, "", 2);
    sh_paragraph_put(&paragraph, "What the fingers of");
    sh_paragraph_put(&paragraph, table->sheet->athlete);
    sh_paragraph_put(&paragraph, "carried,");
    sh_paragraph_put(&paragraph, words);
    sh_paragraph_end(&paragraph);
    sh_text_puts(table->text, "\n");
}

enum sh_status sh_load_table_write(const struct sh_load_sheet *sheet, struct sh_text *text)
{
    struct table table = {.sheet = sheet, .text = text};
    sh_text_init(&table.words, 0);
    write_head(&table);
    write_days(&table);
    write_weeks(&table);
    write_limits(&table);
    write_ratings(&table);
    write_sensors(&table);
    write_ratio(&table);
    sh_text_puts(text, "\n");
    for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
        put_string(&table, sh_load_words_get_caution(i), "");
    }
    sh_text_close(&table.words);
    return text->status;
}
