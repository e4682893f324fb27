/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_table.h"

#include <math.h>
#include <stdio.h>

#include "report/analysis_table.h"
#include "report/consistency_words.h"
#include "report/paragraph.h"

#define COLUMNS    SH_ANALYSIS_TABLE_COLUMNS
#define CELL_BYTES 64
#define TEN        10.0

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

static void put_head(const struct sh_consistency_sheet *sheet, struct sh_text *text)
{
    const struct sh_consistency_set *set = sheet->study->set;
    char counts[128];
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, COLUMNS, "", 2);
    sh_paragraph_put(&paragraph, "How alike the shots of");
    sh_paragraph_put(&paragraph, sheet->athlete[0] != '\0' ? sheet->athlete : "(no name)");
    (void)snprintf(counts, sizeof counts, "are: %zu arrows, %zu ends, %zu recordings.",
                   set->n_shots, set->n_ends, set->n_recordings);
    sh_paragraph_put(&paragraph, counts);
    sh_paragraph_end(&paragraph);
    sh_text_puts(text, "\n");
}

/* "-0.40 (-0.60 to -0.20)" */
static void format_effect(const struct sh_clock_effect *effect,
                          double factor,
                          int n_decimals,
                          char cell[CELL_BYTES])
{
    if (effect->why != SH_CLOCK_EFFECT_KNOWN) {
        (void)snprintf(cell, CELL_BYTES, "-");
        return;
    }
    (void)snprintf(cell, CELL_BYTES, "%.*f (%.*f to %.*f)", n_decimals,
                   factor * effect->difference, n_decimals, factor * effect->lo, n_decimals,
                   factor * effect->hi);
}

static void put_effects(const struct sh_consistency_sheet *sheet, struct sh_text *text)
{
    const struct sh_consistency_study *study = sheet->study;
    sh_text_printf(text, "\n%-28s%-26s%s\n", "difference: clocked - free",
                   "last - first of end", "every ten arrows");
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        const struct sh_consistency_kind *kind =
            sh_consistency_set_get_kind((enum sh_consistency_measure)m);
        const int n_decimals =
            sh_consistency_words_get_decimals((enum sh_consistency_measure)m);
        char cells[3][CELL_BYTES];
        char head[CELL_BYTES];
        (void)snprintf(head, sizeof head, "%s (%s)", kind->title, kind->symbol);
        format_effect(&study->clock[m], 1.0, n_decimals, cells[0]);
        format_effect(&study->last[m], 1.0, n_decimals, cells[1]);
        format_effect(&study->per_arrow[m], TEN, n_decimals, cells[2]);
        sh_text_printf(text, "%s\n", head);
        sh_text_printf(text, "  %-25s %-25s %s\n", cells[0], cells[1], cells[2]);
    }
}

static void put_sizes(const struct sh_consistency_sheet *sheet, struct sh_text *text)
{
    sh_text_printf(text, "\n%-21s%7s%9s%9s%10s%11s%11s\n", "figure", "arrows", "mean", "SD",
                   "within", "between", "sensor u");
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        const struct sh_consistency *steady = &sheet->study->steady[m];
        const struct sh_consistency_kind *kind =
            sh_consistency_set_get_kind((enum sh_consistency_measure)m);
        const int n_decimals =
            sh_consistency_words_get_decimals((enum sh_consistency_measure)m) + 1;
        char head[CELL_BYTES];
        (void)snprintf(head, sizeof head, "%s (%s)", kind->title, kind->symbol);
        sh_text_printf(text, "%-21s%7zu", head, steady->column.n);
        if (!steady->mean.is_known) {
            sh_text_puts(text, "        -\n");
            continue;
        }
        sh_text_printf(text, "%9.*f%9.*f", n_decimals, steady->mean.value, n_decimals,
                       steady->sd.value);
        if (steady->has_parts) {
            sh_text_printf(text, "%10.*f%11.*f", n_decimals, steady->parts.within_sd,
                           n_decimals, sqrt(steady->parts.between_variance));
        } else {
            sh_text_printf(text, "%10s%11s", "-", "-");
        }
        sh_text_printf(text, "%11.*f\n", n_decimals, steady->measured_u);
    }
}

enum sh_status sh_consistency_table_write(const struct sh_consistency_sheet *sheet,
                                          struct sh_text *text)
{
    char seed[160];
    const struct sh_consistency_words_sink sink = {take_sentence, text};
    put_head(sheet, text);
    const enum sh_status status = sh_consistency_words_each(sheet, &sink);
    put_sizes(sheet, text);
    put_effects(sheet, text);
    sh_text_puts(text, "\n");
    put_paragraph(text, "",
                  "In brackets: 95 % intervals, each of one figure alone. A difference is only "
                  "called one where it also stands when all five measures are allowed for.");
    (void)snprintf(seed, sizeof seed,
                   "Intervals of mean and scatter: whole ends drawn afresh, %zu times, seed "
                   "%llu; with few ends they are too narrow (docs/consistency.md).",
                   sheet->study->config.n_draws, (unsigned long long)sheet->study->config.seed);
    put_paragraph(text, "", seed);
    return status == SH_OK ? text->status : status;
}
