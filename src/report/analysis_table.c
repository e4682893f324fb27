/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_table.h"

#include <stdio.h>

#include "report/clock_table.h"
#include "report/figure_table.h"
#include "report/paragraph.h"

#define COLUMNS SH_ANALYSIS_TABLE_COLUMNS

/* One table being written. */
struct table {
    const struct sh_analysis *analysis;
    struct sh_text *text;
};

/* A paragraph of one string. */
static void say(struct sh_text *text, const char *lead, size_t n_indent, const char *string)
{
    struct sh_paragraph paragraph;
    sh_paragraph_init(&paragraph, text, COLUMNS, lead, n_indent);
    sh_paragraph_put(&paragraph, string);
    sh_paragraph_end(&paragraph);
}

static size_t count_kind(const struct sh_analysis *analysis, enum sh_shot_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n += analysis->shots[i].shot.kind == kind ? 1 : 0;
    }
    return n;
}

static void write_head(const struct table *table)
{
    const struct sh_analysis *analysis = table->analysis;
    struct sh_paragraph paragraph;
    char words[128];
    sh_paragraph_init(&paragraph, table->text, COLUMNS, "", 2);
    sh_paragraph_put(&paragraph, analysis->recording);
    sh_paragraph_put(&paragraph, "by");
    sh_paragraph_put(&paragraph, analysis->athlete);
    (void)snprintf(words, sizeof words, "(%.1f s): shots %zu, let-downs %zu, unresolved %zu.",
                   analysis->duration_s, count_kind(analysis, SH_SHOT_SHOT),
                   count_kind(analysis, SH_SHOT_LET_DOWN),
                   count_kind(analysis, SH_SHOT_UNRESOLVED));
    sh_paragraph_put(&paragraph, words);
    sh_paragraph_end(&paragraph);
}

/* Sentences of one shot, each with its number before it. */
static void write_findings(const struct table *table, const struct sh_shot_record *record)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        char lead[24];
        (void)snprintf(lead, sizeof lead, "%5u  ", record->shot.n);
        say(table->text, lead, 7, record->findings[i].text);
    }
}

static void write_sentences(const struct table *table)
{
    const struct sh_analysis *analysis = table->analysis;
    size_t n_findings = 0;
    size_t n_short = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n_findings += analysis->shots[i].n_findings;
        n_short += analysis->shots[i].quality[SH_CODE_QUALITY_SHORT] ? 1 : 0;
    }
    sh_text_puts(table->text, "\nWhat stands out (draw, sentence; 95 % intervals)\n");
    for (size_t i = 0; i < analysis->n_shots; i++) {
        write_findings(table, &analysis->shots[i]);
    }
    if (n_findings == 0) {
        say(table->text, "  ", 2, "Nothing is beyond its threshold and its own uncertainty.");
    }
    if (n_short > 0) {
        char words[128];
        (void)snprintf(words, sizeof words,
                       "%zu of %zu draws were too short for some measures; those were not "
                       "judged.",
                       n_short, analysis->n_shots);
        say(table->text, "  ", 2, words);
    }
}

static void write_history(const struct table *table)
{
    const struct sh_analysis *analysis = table->analysis;
    if (analysis->n_history == 0) {
        return;
    }
    struct sh_paragraph paragraph;
    sh_text_puts(table->text, "\n");
    sh_paragraph_init(&paragraph, table->text, COLUMNS, "", 2);
    sh_paragraph_put(&paragraph, "Compared with:");
    for (size_t i = 0; i < analysis->n_history; i++) {
        sh_paragraph_put(&paragraph, analysis->history[i]);
    }
    sh_paragraph_end(&paragraph);
}

static bool is_flawed(const struct table *table, size_t i, enum sh_code_quality quality)
{
    return i < table->analysis->n_shots && table->analysis->shots[i].quality[quality];
}

/* Draws with this flaw: "gap (samples were lost) in 2 4-7". Runs of neighbours are one word. */
static void write_flaw(const struct table *table, enum sh_code_quality quality)
{
    const struct sh_shot_record *shots = table->analysis->shots;
    struct sh_paragraph paragraph;
    bool is_begun = false;
    for (size_t i = 0; i < table->analysis->n_shots; i++) {
        char words[128];
        if (!is_flawed(table, i, quality)) {
            continue;
        }
        if (!is_begun) {
            sh_paragraph_init(&paragraph, table->text, COLUMNS, "  ", 4);
            (void)snprintf(words, sizeof words, "%s (%s) in", sh_code_quality_name(quality),
                           sh_code_quality_title(quality));
            sh_paragraph_put(&paragraph, words);
            is_begun = true;
        }
        size_t first = i;
        while (is_flawed(table, i + 1, quality)) {
            i++;
        }
        int n_used = snprintf(words, sizeof words, "%u", shots[first].shot.n);
        if (i > first) {
            (void)snprintf(words + n_used, sizeof words - (size_t)n_used, "-%u",
                           shots[i].shot.n);
        }
        sh_paragraph_put(&paragraph, words);
    }
    if (is_begun) {
        sh_paragraph_end(&paragraph);
    }
}

static void write_quality(const struct table *table)
{
    const struct sh_analysis *analysis = table->analysis;
    bool is_good = analysis->n_quality == 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        for (int k = 0; k < SH_CODE_QUALITY_COUNT; k++) {
            is_good = is_good && !analysis->shots[i].quality[k];
        }
    }
    if (is_good) {
        return;
    }
    sh_text_puts(table->text, "\nData\n");
    for (size_t i = 0; i < analysis->n_quality; i++) {
        say(table->text, "  ", 4, analysis->quality[i].text);
    }
    for (int k = 0; k < SH_CODE_QUALITY_COUNT; k++) {
        write_flaw(table, (enum sh_code_quality)k);
    }
}

enum sh_status sh_analysis_table_write(const struct sh_analysis *analysis, struct sh_text *text)
{
    struct table table = {analysis, text};
    write_head(&table);
    if (analysis->n_shots > 0) {
        write_sentences(&table);
    }
    write_history(&table);
    write_quality(&table);
    sh_clock_table_write(analysis, COLUMNS, text);
    if (analysis->n_shots > 0) {
        sh_figure_table_write(analysis, COLUMNS, text);
    }
    sh_text_puts(text, "\n");
    say(text, "", 0,
        "Not a medical device: limits, pain and return to shooting belong to licensed "
        "practice.");
    return text->status;
}
