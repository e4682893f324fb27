/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/clock_table.h"

#include <stdio.h>
#include <stdlib.h>

#include "report/clock_sentence.h"
#include "report/paragraph.h"
#include "signal/stats.h"

#define NAME_COLUMNS 11u /* "  clock 123" */
#define CELL_COLUMNS 7u
#define MEDIAN_MIN   3u /* clocks */

/* One section being written. */
struct section {
    const struct sh_analysis *analysis;
    const struct sh_clock_draw *draws;
    double *work; /* [n_shots] */
    size_t n_columns;
    unsigned n_clocks;
    unsigned n_arrows; /* of the clock that has most */
    struct sh_text *text;
};

/* A line of cells that goes on below itself where it is full. */
struct row {
    const struct section *section;
    size_t n_cells;
};

static void begin_row(struct row *row, const struct section *section, const char *name)
{
    *row = (struct row){.section = section};
    sh_text_printf(section->text, "%-*s", (int)NAME_COLUMNS, name);
}

static void put_cell(struct row *row, const char *cell)
{
    const size_t n_a_line = (row->section->n_columns - NAME_COLUMNS) / CELL_COLUMNS;
    if (row->n_cells > 0 && row->n_cells % n_a_line == 0) {
        sh_text_printf(row->section->text, "\n%-*s", (int)NAME_COLUMNS, "");
    }
    sh_text_printf(row->section->text, "%*s", (int)CELL_COLUMNS, cell);
    row->n_cells++;
}

static void put_seconds(struct row *row, const struct sh_quantity *seconds)
{
    char cell[32] = "-";
    if (sh_quantity_is_known(seconds)) {
        (void)snprintf(cell, sizeof cell, "%.1f", seconds->value);
    }
    put_cell(row, cell);
}

static const struct sh_quantity *get_left(const struct section *section, size_t i)
{
    return sh_catalog_get(&section->analysis->shots[i].measures, SH_MEASURE_TIME_LEFT_RELEASE,
                          0);
}

/* All clocks are of one arrow: turns of alternating shooting. */
static bool is_in_turns(const struct section *section)
{
    return section->n_clocks > 1 && section->n_arrows <= 1;
}

static void write_clock(const struct section *section, unsigned clock, bool is_all)
{
    struct row row;
    char name[32];
    (void)snprintf(name, sizeof name, "  clock %u", clock);
    begin_row(&row, section, is_all ? "  turns" : name);
    for (size_t i = 0; i < section->analysis->n_shots; i++) {
        const struct sh_clock_draw *draw = &section->draws[i];
        if (draw->arrow > 0 && (is_all || draw->clock == clock)) {
            put_seconds(&row, get_left(section, i));
        }
    }
    sh_text_puts(section->text, "\n");
}

/* Of one arrow over the clocks; unknown where too few show it. */
static struct sh_quantity find_median(const struct section *section, unsigned arrow)
{
    size_t n = 0;
    for (size_t i = 0; i < section->analysis->n_shots; i++) {
        const struct sh_quantity *left = get_left(section, i);
        if (section->draws[i].arrow == arrow && sh_quantity_is_known(left)) {
            section->work[n++] = left->value;
        }
    }
    return n >= MEDIAN_MIN ? sh_quantity_known(sh_stats_select_median(section->work, n), 0.0)
                           : sh_quantity_unknown(SH_WHY_TOO_SHORT);
}

static void write_medians(const struct section *section)
{
    struct row row;
    if (is_in_turns(section) || section->n_clocks < MEDIAN_MIN) {
        return;
    }
    begin_row(&row, section, "  median");
    for (unsigned arrow = 1; arrow <= section->n_arrows; arrow++) {
        const struct sh_quantity median = find_median(section, arrow);
        put_seconds(&row, &median);
    }
    sh_text_puts(section->text, "\n");
}

/* What there is to be said of the draws, in their order. */
static void write_sentences(const struct section *section)
{
    for (size_t i = 0; i < section->analysis->n_shots; i++) {
        struct sh_paragraph paragraph;
        char sentence[SH_CLOCK_SENTENCE_BYTES];
        if (sh_clock_sentence_format(&section->analysis->shots[i], &section->draws[i],
                                     sentence)) {
            sh_paragraph_init(&paragraph, section->text, section->n_columns, "  ", 4);
            sh_paragraph_put(&paragraph, sentence);
            sh_paragraph_end(&paragraph);
        }
    }
}

static void write_section(const struct section *section)
{
    struct row row;
    sh_text_puts(section->text, "\nSeconds left at the release\n");
    begin_row(&row, section, "  arrow");
    const size_t n = is_in_turns(section) ? section->n_clocks : section->n_arrows;
    for (size_t i = 1; i <= n; i++) {
        char cell[32];
        (void)snprintf(cell, sizeof cell, "%zu", i);
        put_cell(&row, cell);
    }
    sh_text_puts(section->text, "\n");
    const unsigned n_rows = is_in_turns(section) ? 1 : section->n_clocks;
    for (unsigned clock = 1; clock <= n_rows; clock++) {
        write_clock(section, clock, is_in_turns(section));
    }
    write_medians(section);
    write_sentences(section);
}

void sh_clock_table_write(const struct sh_analysis *analysis,
                          size_t n_columns,
                          struct sh_text *text)
{
    struct sh_clock_draw *draws = calloc(analysis->n_shots + 1, sizeof *draws);
    double *work = calloc(analysis->n_shots + 1, sizeof *work);
    struct section section = {.analysis = analysis,
                              .draws = draws,
                              .work = work,
                              .n_columns = n_columns,
                              .text = text};
    if (draws == NULL || work == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
        goto out;
    }
    section.n_clocks = sh_clock_draw_find_all(analysis, draws);
    for (size_t i = 0; i < analysis->n_shots; i++) {
        section.n_arrows =
            draws[i].arrow > section.n_arrows ? draws[i].arrow : section.n_arrows;
    }
    if (section.n_clocks > 0) {
        write_section(&section);
    }
out:
    free(work);
    free(draws);
}
