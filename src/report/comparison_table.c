/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_table.h"

#include <stdio.h>

#include "report/analysis_table.h"
#include "report/comparison_words.h"
#include "report/paragraph.h"

#define COLUMNS    SH_ANALYSIS_TABLE_COLUMNS
#define CELL_BYTES 64

static void put_paragraph(struct sh_text *text, const char *lead, const char *words)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, COLUMNS, lead, 2);
    sh_paragraph_put(&paragraph, words);
    sh_paragraph_end(&paragraph);
}

static enum sh_status take_sentence(void *context, const char *sentence)
{
    struct sh_text *text = context;
    put_paragraph(text, "- ", sentence);
    return text->status;
}

static void put_head(const struct sh_comparison_sheet *sheet, struct sh_text *text)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, COLUMNS, "", 2);
    struct sh_text name;
    sh_text_init(&name, 0);
    sh_text_printf(&name, "%s:", sheet->athlete[0] != '\0' ? sheet->athlete : "(no name)");
    sh_paragraph_put(&paragraph, name.data != NULL ? name.data : "(no name):");
    sh_text_close(&name);
    for (size_t k = 0; k < 2; k++) {
        sh_paragraph_put(&paragraph, k == 0 ? "from" : "to");
        if (sheet->key != NULL) {
            sh_paragraph_put(&paragraph, sheet->key);
        }
        sh_paragraph_put(&paragraph, sheet->side[k]);
    }
    sh_paragraph_end(&paragraph);
    sh_text_puts(text, "\n");
}

static void put_row(const struct sh_comparison_kind *kind,
                    const struct sh_before_after *figure,
                    struct sh_text *text)
{
    char head[CELL_BYTES];
    char limits[CELL_BYTES];
    char seen[CELL_BYTES] = "-";
    char needed[CELL_BYTES] = "-";
    const int n = kind->n_decimals;
    (void)snprintf(head, sizeof head, "%s (%s)", kind->title, kind->symbol);
    (void)snprintf(limits, sizeof limits, "%+.*f to %+.*f", n,
                   sh_comparison_round(kind, figure->lo), n,
                   sh_comparison_round(kind, figure->hi));
    if (figure->visible > 0.0) {
        (void)snprintf(seen, sizeof seen, "%.*f", n,
                       sh_comparison_round(kind, figure->visible));
    }
    if (figure->n_needed > 0.0) {
        (void)snprintf(needed, sizeof needed, "%.0f", figure->n_needed);
    }
    sh_text_printf(text, "%-26s%7.*f%8.*f%8.*f %-17s%7s%6s\n", head, n,
                   sh_comparison_round(kind, figure->mean[0]), n,
                   sh_comparison_round(kind, figure->mean[1]), n,
                   sh_comparison_round(kind, figure->shift), limits, seen, needed);
}

static void put_table(const struct sh_comparison_sheet *sheet, struct sh_text *text)
{
    sh_text_printf(text, "\n%-26s%7s%8s%8s %-17s%7s%6s\n", "mean of a side", "first", "second",
                   "change", "95 %", "seen", "need");
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        const struct sh_before_after *figure = &sheet->comparison->figure[k];
        if (figure->why == SH_BEFORE_AFTER_KNOWN) {
            put_row(sh_comparison_get_kind(k), figure, text);
        }
    }
    sh_text_puts(text, "\n");
    put_paragraph(
        text, "",
        "95 %: each figure's own limits; called a change only where it also stands with "
        "all figures allowed for. seen: the change that 8 of 10 such comparisons would "
        "show. need: sessions (or ends) a side to show the change found so; - for more "
        "than 1000, or where calibrations hide it. How: docs/compare.md.");
}

enum sh_status sh_comparison_table_write(const struct sh_comparison_sheet *sheet,
                                         struct sh_text *text)
{
    const struct sh_comparison_words_sink sink = {take_sentence, text};
    put_head(sheet, text);
    const enum sh_status status = sh_comparison_words_each(sheet, &sink);
    if (sh_comparison_words_has_figures(sheet)) {
        put_table(sheet, text);
    }
    return status == SH_OK ? text->status : status;
}
