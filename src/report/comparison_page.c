/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_page.h"

#include <math.h>
#include <stdio.h>

#include "report/comparison_plot.h"
#include "report/comparison_words.h"
#include "report/load_words.h"
#include "report/page_cell.h"
#include "report/page_style.h"
#include "report/utf8.h"
#include "series/shift_plan.h"

#define P_LEAST    0.001 /* a smaller p is not told apart */
#define CELL_BYTES 128u

/* A page being written; words is a piece of text before it is escaped. */
struct page {
    const struct sh_comparison_sheet *sheet;
    struct sh_text *text;
    struct sh_text words;
};

static void put_string(struct page *page, const char *string)
{
    sh_utf8_put(&page->words, string, SH_UTF8_MASK_CONTROL);
    if (page->text->status == SH_OK) {
        page->text->status = page->words.status;
    }
    sh_text_put_markup(page->text, page->words.data != NULL ? page->words.data : "");
    sh_text_reset(&page->words);
}

/* "tab thick", or a folder's name, behind the words. */
static void add_side(struct page *page, size_t side)
{
    if (page->sheet->key != NULL) {
        sh_utf8_put(&page->words, page->sheet->key, SH_UTF8_MASK_CONTROL);
        sh_text_puts(&page->words, " ");
    }
    sh_utf8_put(&page->words, page->sheet->side[side], SH_UTF8_MASK_CONTROL);
    if (page->text->status == SH_OK) {
        page->text->status = page->words.status;
    }
}

static void put_side(struct page *page, size_t side)
{
    add_side(page, side);
    sh_text_put_markup(page->text, page->words.data != NULL ? page->words.data : "");
    sh_text_reset(&page->words);
}

static const char *get_athlete(const struct page *page)
{
    return page->sheet->athlete[0] != '\0' ? page->sheet->athlete : "(no name)";
}

static void write_top(struct page *page)
{
    sh_text_puts(page->text,
                 "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                 "style-src 'unsafe-inline'\"/>\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                 "<title>Before and after: ");
    put_string(page, get_athlete(page));
    sh_text_puts(page->text, "</title>\n<style>\n");
    sh_text_puts(page->text, sh_page_style_get());
    sh_text_puts(page->text, "@media screen{.stack th,.stack td{padding:.2rem .45rem}}\n");
    sh_text_puts(page->text, sh_page_style_get_stack());
    sh_text_puts(page->text, sh_page_style_get_print());
    sh_text_puts(page->text, "th[scope=col]{white-space:normal}.found li{margin:.5rem 0}\n"
                             "figure.rows{max-width:46rem}figure.rows .code{font-weight:600}\n"
                             "@media print{.key{break-before:avoid}table{break-inside:avoid}}\n"
                             "</style></head>\n<body>\n");
    sh_text_puts(page->text, sh_page_style_get_textures());
    sh_text_puts(page->text, "<main>\n<header><h1>Before and after: ");
    put_string(page, get_athlete(page));
    sh_text_puts(page->text, "</h1>\n<p>From ");
    put_side(page, 0);
    sh_text_puts(page->text, " to ");
    put_side(page, 1);
    sh_text_puts(page->text, ".</p>\n");
    if (sh_comparison_words_has_fingers(page->sheet)) {
        sh_text_puts(page->text, "<p>");
        put_string(page, sh_load_words_get_caution(0));
        sh_text_puts(page->text, " <strong>");
        put_string(page, sh_load_words_get_caution(1));
        sh_text_puts(page->text, "</strong></p>\n");
    }
    sh_text_puts(page->text, "</header>\n");
}

static enum sh_status take_sentence(void *context, const char *sentence)
{
    struct page *page = context;
    sh_text_puts(page->text, "<li>");
    put_string(page, sentence);
    sh_text_puts(page->text, "</li>\n");
    return page->text->status;
}

static void write_sentences(struct page *page)
{
    const struct sh_comparison_words_sink sink = {take_sentence, page};
    sh_text_puts(page->text, "<section><h2>What was found</h2>\n<ul class=\"found\">\n");
    const enum sh_status status = sh_comparison_words_each_finding(page->sheet, &sink);
    if (page->text->status == SH_OK) {
        page->text->status = status;
    }
    sh_text_puts(page->text, "</ul></section>\n");
}

static void write_key(struct page *page)
{
    sh_text_puts(page->text, "<p>More or less with ");
    put_side(page, 1);
    sh_text_puts(page->text, " than with ");
    put_side(page, 0);
    sh_text_puts(
        page->text,
        ". The line: 95 % limits. The grey band: changes too small for 8 of 10 such "
        "comparisons to show. Each row has its own scale.</p>\n<ul class=\"key\">\n"
        "<li><svg aria-hidden=\"true\"><svg class=\"free\" x=\"50%\" y=\"50%\"><path "
        "class=\"mark filled\" d=\"M-4 0a4 4 0 1 0 8 0a4 4 0 1 0 -8 0z\"/></svg></svg>a "
        "change</li>\n"
        "<li><svg aria-hidden=\"true\"><svg class=\"free\" x=\"50%\" y=\"50%\"><path "
        "class=\"mark hollow\" d=\"M-3.5 -3.5h7v7h-7z\"/></svg></svg>none that could be "
        "shown</li>\n</ul>\n");
}

static void write_plot(struct page *page, const char *title, bool is_of_fingers)
{
    struct sh_text plot;
    sh_text_init(&plot, 0);
    sh_comparison_plot_draw(&plot, page->sheet, is_of_fingers);
    if (page->text->status == SH_OK) {
        page->text->status = plot.status;
    }
    if (plot.n_bytes > 0) {
        sh_text_printf(page->text, "<figure class=\"card rows\"><figcaption>%s</figcaption>\n",
                       title);
        sh_text_write(page->text, plot.data, plot.n_bytes);
        sh_text_puts(page->text, "</figure>\n");
    }
    sh_text_close(&plot);
}

static void write_plots(struct page *page)
{
    sh_text_puts(page->text, "<section><h2>Changes</h2>\n");
    write_key(page);
    sh_text_puts(page->text, "<div class=\"pair\">\n");
    write_plot(page, "Hold, click, force", false);
    write_plot(page, "Fingers", true);
    sh_text_puts(page->text, "</div></section>\n");
}

/* The columns behind the two sides' means. */
enum column { CHANGE, LIMITS, CHANCE, SESSIONS_DIFFER, SEEN, NEEDED, N_COLUMNS };

static const char *const columns[N_COLUMNS] = {
    [CHANGE] = "change",
    [LIMITS] = "95 % limits",
    [CHANCE] = "p, all figures allowed for",
    [SESSIONS_DIFFER] = "two sessions differ by",
    [SEEN] = "would have been seen",
    [NEEDED] = "needed a side",
};

static void put_number(struct page *page,
                       enum column column,
                       const struct sh_comparison_kind *kind,
                       double number)
{
    const double shown = sh_comparison_round(kind, number);
    char cell[CELL_BYTES];
    (void)snprintf(cell, sizeof cell, "%s%.*f %s",
                   column == CHANGE && !(shown < 0.0) ? "+" : "", kind->n_decimals, shown,
                   kind->symbol);
    sh_page_cell_put(page->text, columns[column], cell);
}

/* The mean of a side with what the scatter of its observations leaves open. */
static void put_mean(struct page *page,
                     const struct sh_comparison_kind *kind,
                     const struct sh_before_after *figure,
                     size_t side)
{
    const double half = sh_before_after_find_mean_half(figure, side);
    char cell[CELL_BYTES];
    (void)snprintf(cell, sizeof cell, "%.*f \xC2\xB1%.*f %s", kind->n_decimals,
                   sh_comparison_round(kind, figure->mean[side]), kind->n_decimals,
                   fmax(sh_comparison_round(kind, half), pow(10.0, -kind->n_decimals)),
                   kind->symbol);
    add_side(page, side);
    sh_page_cell_put(page->text, page->words.data, cell);
    sh_text_reset(&page->words);
}

/* How many a side would be needed. */
static void put_needed(struct page *page, const struct sh_before_after *figure)
{
    const char *noun = figure->way == SH_BEFORE_AFTER_SESSIONS ? "sessions" : "ends";
    char cell[CELL_BYTES] = "no number would do";
    if (figure->n_needed > 0.0) {
        (void)snprintf(cell, sizeof cell, "%.0f %s", figure->n_needed, noun);
    } else if (!figure->is_hidden) {
        (void)snprintf(cell, sizeof cell, "over %u %s", SH_SHIFT_PLAN_COUNTED, noun);
    }
    sh_page_cell_put(page->text, columns[NEEDED], cell);
}

static void write_row(struct page *page, size_t k)
{
    const struct sh_comparison_kind *kind = sh_comparison_get_kind(k);
    const struct sh_before_after *figure = &page->sheet->comparison->figure[k];
    char cell[CELL_BYTES];
    sh_text_printf(page->text, "<tr><th scope=\"row\">%s</th>", kind->title);
    put_mean(page, kind, figure, 0);
    put_mean(page, kind, figure, 1);
    put_number(page, CHANGE, kind, figure->shift);
    (void)snprintf(cell, sizeof cell, "%+.*f to %+.*f %s", kind->n_decimals,
                   sh_comparison_round(kind, figure->lo), kind->n_decimals,
                   sh_comparison_round(kind, figure->hi), kind->symbol);
    sh_page_cell_put(page->text, columns[LIMITS], cell);
    (void)snprintf(cell, sizeof cell, "%s%.3f", figure->p_of_all < P_LEAST ? "under " : "",
                   fmax(figure->p_of_all, P_LEAST));
    sh_page_cell_put(page->text, columns[CHANCE], cell);
    if (figure->way == SH_BEFORE_AFTER_SESSIONS) {
        put_number(page, SESSIONS_DIFFER, kind, figure->change_least);
    } else {
        sh_page_cell_put(page->text, columns[SESSIONS_DIFFER], "unknown");
    }
    if (figure->visible > 0.0) {
        put_number(page, SEEN, kind, figure->visible);
    } else {
        sh_page_cell_put(page->text, columns[SEEN], "none");
    }
    put_needed(page, figure);
    sh_text_puts(page->text, "</tr>\n");
}

static void write_table(struct page *page)
{
    sh_text_puts(page->text,
                 "<section><h2>Figures</h2>\n<div class=\"card wide\" tabindex=\"0\" "
                 "role=\"region\" aria-label=\"Figures\"><table class=\"stack\">\n<thead><tr>"
                 "<th scope=\"col\">mean of a side</th><th scope=\"col\">");
    put_side(page, 0);
    sh_text_puts(page->text, "</th><th scope=\"col\">");
    put_side(page, 1);
    for (size_t i = 0; i < N_COLUMNS; i++) {
        sh_text_puts(page->text, "</th><th scope=\"col\">");
        sh_text_put_markup(page->text, columns[i]);
    }
    sh_text_puts(page->text, "</th></tr></thead>\n<tbody>\n");
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        if (page->sheet->comparison->figure[k].why == SH_BEFORE_AFTER_KNOWN) {
            write_row(page, k);
        }
    }
    sh_text_puts(page->text, "</tbody></table></div></section>\n");
}

static void write_how(struct page *page)
{
    sh_text_puts(
        page->text,
        "<section><h2>How to read it</h2>\n<ul>\n"
        "<li>Arrows of one day are alike, so that a day counts once, however many arrows it "
        "has; or ends of both sides count that took turns within one session.</li>\n"
        "<li>Called a change is only what stands with all figures allowed for (p at most 0.05) "
        "and has both limits on one side of 0, what calibrations may be apart allowed for. "
        "Where nothing changes, at most one in 20 "
        "comparisons "
        "calls any figure changed.</li>\n"
        "<li>\xC2\xB1 of a side's mean: half of the 95 % interval that the scatter of its "
        "sessions, ends or arrows leaves open, calibration aside. Two such intervals may "
        "overlap where "
        "the change is sure: only its own limits tell.</li>\n"
        "<li>Two sessions differ by: what two single sessions are apart by in 1 of 20 cases "
        "with nothing changed. A smaller difference between two days says nothing.</li>\n"
        "<li>Would have been seen: the change that 8 of 10 such comparisons would show, as far "
        "as these tell how much they scatter. A smaller one may be there.</li>\n"
        "<li>Needed: how many a side would show a change as large as the one found in 8 of 10 "
        "comparisons. With two or three a side it is a first guess.</li>\n"
        "<li>What else changed between the sides, the season say, cannot be told from the "
        "figures.</li>\n</ul></section>\n");
}

static void write_bottom(struct page *page)
{
    sh_text_puts(page->text, "<section><h2>Cautions</h2>\n<ul>\n");
    for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
        (void)take_sentence(page, sh_load_words_get_caution(i));
    }
    sh_text_printf(page->text,
                   "</ul></section>\n</main>\n<footer><p>Made by stringhand " SH_VERSION
                   " from %zu and %zu recordings.</p></footer>\n</body></html>\n",
                   page->sheet->set->n_recordings[0], page->sheet->set->n_recordings[1]);
}

enum sh_status sh_comparison_page_write(const struct sh_comparison_sheet *sheet,
                                        struct sh_text *text)
{
    struct page page = {.sheet = sheet, .text = text};
    sh_text_init(&page.words, 0);
    write_top(&page);
    write_sentences(&page);
    if (sh_comparison_words_has_figures(sheet)) {
        write_plots(&page);
        write_table(&page);
    }
    write_how(&page);
    write_bottom(&page);
    sh_text_close(&page.words);
    return text->status;
}
