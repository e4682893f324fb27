/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/figure_table.h"

#include <stdio.h>
#include <string.h>

#include "report/column.h"
#include "report/exposure_note.h"
#include "report/figure.h"
#include "report/paragraph.h"
#include "report/utf8.h"

#define NAME_COLUMNS  14u /* "123 unresolved" */
#define SCORE_COLUMNS 5u  /* "score" */
#define GUTTER        2u

/* One table being written. */
struct figures {
    const struct sh_analysis *analysis;
    struct sh_text *text;
    size_t width[SH_COLUMN_COUNT]; /* 0: no shot knows the measure */
    bool has_scores;
};

static size_t get_columns(const char *string)
{
    return sh_utf8_get_columns(string, strlen(string));
}

/* A cell at the right end of its column, with the gutter before it. */
static void put_right(struct sh_text *text, const char *cell, size_t width)
{
    size_t used = get_columns(cell);
    size_t n_blanks = GUTTER + (width > used ? width - used : 0);
    sh_text_printf(text, "%*s%s", (int)n_blanks, "", cell);
}

/* The score has no unit and no uncertainty. */
static void put_score(const struct figures *figures, const struct sh_shot_record *record)
{
    char cell[SH_FIGURE_BYTES] = "-";
    if (record->has_score) {
        (void)snprintf(cell, sizeof cell, "%g", record->score);
    }
    put_right(figures->text, cell, SCORE_COLUMNS);
}

static void write_heads(const struct figures *figures, size_t first, size_t last)
{
    const bool has_scores = figures->has_scores && first == 0;
    sh_text_printf(figures->text, "\n%-*s", (int)NAME_COLUMNS, "draw");
    if (has_scores) {
        put_right(figures->text, "score", SCORE_COLUMNS);
    }
    for (size_t i = first; i < last; i++) {
        if (figures->width[i] > 0) {
            put_right(figures->text, sh_column_get(i)->head, figures->width[i]);
        }
    }
    sh_text_printf(figures->text, "\n%*s", (int)NAME_COLUMNS, "");
    if (has_scores) {
        put_right(figures->text, "", SCORE_COLUMNS);
    }
    for (size_t i = first; i < last; i++) {
        if (figures->width[i] > 0) {
            put_right(figures->text, sh_column_get(i)->unit, figures->width[i]);
        }
    }
    sh_text_puts(figures->text, "\n");
}

static void write_row(const struct figures *figures,
                      const struct sh_shot_record *record,
                      size_t first,
                      size_t last)
{
    bool is_shot = record->shot.kind == SH_SHOT_SHOT;
    char name[32];
    (void)snprintf(name, sizeof name, "%u %s", record->shot.n,
                   is_shot ? "" : sh_shot_kind_name(record->shot.kind));
    sh_text_printf(figures->text, "%-*s", (int)NAME_COLUMNS, name);
    if (figures->has_scores && first == 0) {
        put_score(figures, record);
    }
    for (size_t i = first; i < last; i++) {
        char cell[SH_FIGURE_BYTES];
        if (figures->width[i] > 0) {
            sh_column_format(sh_column_get(i), record, cell);
            put_right(figures->text, cell, figures->width[i]);
        }
    }
    sh_text_puts(figures->text, "\n");
}

/* Some columns, from first to before last, of all shots. */
static void write_block(const struct figures *figures, size_t first, size_t last)
{
    write_heads(figures, first, last);
    for (size_t k = 0; k < figures->analysis->n_shots; k++) {
        write_row(figures, &figures->analysis->shots[k], first, last);
    }
}

/* As many columns a block as fit. */
static void write_blocks(const struct figures *figures, size_t n_columns)
{
    const size_t scores = figures->has_scores ? GUTTER + SCORE_COLUMNS : 0;
    size_t used = NAME_COLUMNS + scores;
    size_t first = 0;
    bool is_empty = true; /* the block so far */
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        size_t added = figures->width[i] > 0 ? figures->width[i] + GUTTER : 0;
        if (!is_empty && used + added > n_columns) {
            write_block(figures, first, i);
            first = i;
            used = NAME_COLUMNS;
            is_empty = true;
        }
        used += added;
        is_empty = is_empty && added == 0;
    }
    if (!is_empty || (figures->has_scores && first == 0)) {
        write_block(figures, first, SH_COLUMN_COUNT);
    }
}

/* What no draw knows, for this reason, as the first shot gives it. */
static void write_unknown(const struct figures *figures, enum sh_why why, size_t n_columns)
{
    struct sh_paragraph paragraph;
    bool is_begun = false;
    char words[128];
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        const struct sh_column *column = sh_column_get(i);
        const struct sh_quantity *first =
            sh_column_get_quantity(column, sh_column_find_first(figures->analysis));
        if (figures->width[i] > 0 || first->why != why) {
            continue;
        }
        if (is_begun) {
            sh_paragraph_put(&paragraph, words);
        } else {
            (void)snprintf(words, sizeof words, "%s:", sh_quantity_why_text(why));
            sh_paragraph_init(&paragraph, figures->text, n_columns, "", 2);
            sh_paragraph_put(&paragraph, "Unknown,");
            sh_paragraph_put(&paragraph, words);
            is_begun = true;
        }
        (void)snprintf(words, sizeof words, "%s (%s),", column->head, column->unit);
    }
    if (is_begun) {
        words[strlen(words) - 1] = '.';
        sh_paragraph_put(&paragraph, words);
        sh_paragraph_end(&paragraph);
    }
}

static void write_legend(const struct figures *figures, size_t n_columns)
{
    struct sh_paragraph paragraph;
    sh_text_puts(figures->text, "\n");
    sh_paragraph_init(&paragraph, figures->text, n_columns, "", 0);
    sh_paragraph_put(&paragraph, "\xC2\xB1 and (from to) are 95 % intervals;");
    sh_paragraph_put(&paragraph, "- is unknown or does not apply;");
    sh_paragraph_put(&paragraph,
                     "over: the sensor reached its range, the figure is a lower bound.");
    sh_paragraph_put(&paragraph, "Vibration of the bow hand is indicative.");
    sh_paragraph_end(&paragraph);
}

/* What the shots mean for the bow hand's day. */
static void write_exposure(const struct figures *figures, size_t n_columns)
{
    struct sh_paragraph paragraph;
    struct sh_text note;
    sh_text_init(&note, 0);
    sh_exposure_note_write(figures->analysis, &note);
    if (note.status == SH_OK && note.n_bytes > 0) {
        sh_paragraph_init(&paragraph, figures->text, n_columns, "", 0);
        sh_paragraph_put(&paragraph, note.data);
        sh_paragraph_end(&paragraph);
    }
    sh_text_close(&note);
}

void sh_figure_table_write(const struct sh_analysis *analysis,
                           size_t n_columns,
                           struct sh_text *text)
{
    struct figures figures = {.analysis = analysis, .text = text};
    for (size_t i = 0; i < analysis->n_shots; i++) {
        figures.has_scores = figures.has_scores || analysis->shots[i].has_score;
    }
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        figures.width[i] = sh_column_find_width(sh_column_get(i), analysis);
    }
    write_blocks(&figures, n_columns);
    write_legend(&figures, n_columns);
    write_exposure(&figures, n_columns);
    for (int why = 0; why <= SH_WHY_UNRESOLVED && analysis->n_shots > 0; why++) {
        write_unknown(&figures, (enum sh_why)why, n_columns);
    }
}
