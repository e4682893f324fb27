/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page_table.h"

#include "report/column.h"
#include "report/exposure_note.h"
#include "report/figure.h"

/* A sheet of A4 less its margins takes so many characters side by side as it is printed. */
#define PAPER_WIDTH  130u
#define PART_COLUMNS 12u
#define GUTTER       2u
#define NAME_WIDTH   11u /* "23 let-down" */
#define SCORE_WIDTH  5u

/* The columns of one table. */
struct part {
    size_t recording; /* of the page, for links */
    bool has_scores;
    size_t n_columns;
    const struct sh_column *column[PART_COLUMNS];
};

static bool has_scores(const struct sh_analysis *analysis)
{
    bool has = false;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        has = has || analysis->shots[i].has_score;
    }
    return has;
}

static void write_head(struct sh_text *text, const struct part *part)
{
    sh_text_puts(text, "<thead><tr><th scope=\"col\">draw</th>");
    sh_text_puts(text, part->has_scores ? "<th scope=\"col\">score</th>" : "");
    for (size_t i = 0; i < part->n_columns; i++) {
        sh_text_printf(text, "<th scope=\"col\">%s<br/><span class=\"soft\">%s</span></th>",
                       part->column[i]->head, part->column[i]->unit);
    }
    sh_text_puts(text, "</tr></thead>\n");
}

static void
write_row(struct sh_text *text, const struct part *part, const struct sh_shot_record *record)
{
    sh_text_printf(text, "<tr><th scope=\"row\"><a href=\"#draw-%zu-%u\">%u</a>",
                   part->recording, record->shot.n, record->shot.n);
    if (record->shot.kind != SH_SHOT_SHOT) {
        sh_text_printf(text, " %s", sh_shot_kind_name(record->shot.kind));
    }
    sh_text_puts(text, "</th>");
    if (part->has_scores && record->has_score) {
        sh_text_printf(text, "<td>%g</td>", record->score);
    } else if (part->has_scores) {
        sh_text_puts(text, "<td>-</td>");
    }
    for (size_t i = 0; i < part->n_columns; i++) {
        char cell[SH_FIGURE_BYTES];
        sh_column_format(part->column[i], record, cell);
        sh_text_printf(text, "<td>%s</td>", cell);
    }
    sh_text_puts(text, "</tr>\n");
}

/* The next columns that are known and fit on paper, one at least, from column *next on. */
static struct part take_part(const struct sh_analysis *analysis, size_t recording, size_t *next)
{
    struct part part = {.recording = recording,
                        .has_scores = *next == 0 && has_scores(analysis)};
    size_t used = NAME_WIDTH + (part.has_scores ? GUTTER + SCORE_WIDTH : 0);
    for (; *next < SH_COLUMN_COUNT && part.n_columns < PART_COLUMNS; (*next)++) {
        const size_t width = sh_column_find_width(sh_column_get(*next), analysis);
        const size_t added = width > 0 ? GUTTER + width : 0;
        if (used + added > PAPER_WIDTH && part.n_columns > 0) {
            break;
        }
        if (width > 0) {
            part.column[part.n_columns++] = sh_column_get(*next);
        }
        used += added;
    }
    return part;
}

static void
write_part(struct sh_text *text, const struct part *part, const struct sh_analysis *analysis)
{
    sh_text_printf(text,
                   "<div class=\"wide card\" tabindex=\"0\" role=\"region\" "
                   "aria-label=\"Figures from %s on",
                   part->column[0]->head);
    if (part->recording > 1) { /* no two regions of a page have one name */
        sh_text_printf(text, ", recording %zu", part->recording);
    }
    sh_text_puts(text, "\"><table>\n");
    write_head(text, part);
    sh_text_puts(text, "<tbody>\n");
    for (size_t i = 0; i < analysis->n_shots; i++) {
        write_row(text, part, &analysis->shots[i]);
    }
    sh_text_puts(text, "</tbody></table></div>\n");
}

/* Why a column is unknown in every draw; SH_WHY_KNOWN: it is not. */
static enum sh_why find_why(const struct sh_analysis *analysis, size_t i)
{
    const struct sh_column *column = sh_column_get(i);
    if (sh_column_find_width(column, analysis) > 0) {
        return SH_WHY_KNOWN;
    }
    return sh_column_get_quantity(column, sh_column_find_first(analysis))->why;
}

/* The figures that one reason takes away, from column `first` on. */
static void put_unknown(struct sh_text *text,
                        const struct sh_analysis *analysis,
                        enum sh_why why,
                        size_t first)
{
    const char *mark = "";
    for (size_t i = first; i < SH_COLUMN_COUNT; i++) {
        if (find_why(analysis, i) == why) {
            sh_text_printf(text, "%s%s (%s)", mark, sh_column_get(i)->head,
                           sh_column_get(i)->unit);
            mark = ", ";
        }
    }
}

/* Whether a column before the i-th is unknown for the same reason. */
static bool is_told(const struct sh_analysis *analysis, enum sh_why why, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        if (find_why(analysis, k) == why) {
            return true;
        }
    }
    return false;
}

/* One line a reason, however many figures it takes away. */
static void write_unknown(struct sh_text *text, const struct sh_analysis *analysis)
{
    for (size_t i = 0; i < SH_COLUMN_COUNT; i++) {
        const enum sh_why why = find_why(analysis, i);
        if (why != SH_WHY_KNOWN && !is_told(analysis, why, i)) {
            sh_text_printf(text, "<p class=\"soft\">Unknown in every draw (%s): ",
                           sh_quantity_why_text(why));
            put_unknown(text, analysis, why, i);
            sh_text_puts(text, ".</p>\n");
        }
    }
}

static void write_exposure(struct sh_text *text, const struct sh_analysis *analysis)
{
    struct sh_text note;
    sh_text_init(&note, 0);
    sh_exposure_note_write(analysis, &note);
    if (note.status == SH_OK && note.n_bytes > 0) {
        sh_text_printf(text, "<p class=\"soft\">%s</p>\n", note.data);
    } else if (text->status == SH_OK) {
        text->status = note.status;
    }
    sh_text_close(&note);
}

void sh_page_table_write(struct sh_text *text,
                         const struct sh_analysis *analysis,
                         size_t recording)
{
    if (analysis->n_shots == 0) {
        return;
    }
    for (size_t next = 0; next < SH_COLUMN_COUNT;) {
        struct part part = take_part(analysis, recording, &next);
        if (part.n_columns > 0) {
            write_part(text, &part, analysis);
        }
    }
    sh_text_puts(text,
                 "<p class=\"soft\">\xC2\xB1 and (from to) are 95 % intervals. - is unknown "
                 "or does not apply. over: the sensor reached its range, the figure is a "
                 "lower bound. Vibration of the bow hand is indicative.</p>\n");
    write_exposure(text, analysis);
    write_unknown(text, analysis);
}
