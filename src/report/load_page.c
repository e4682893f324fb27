/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_page.h"

#include "base/day.h"
#include "report/load_plot.h"
#include "report/load_words.h"
#include "report/page_cell.h"
#include "report/page_style.h"
#include "report/utf8.h"

#define PER_CENT 100.0

/* A page being written; words is a piece of text before it is escaped. */
struct page {
    const struct sh_load_sheet *sheet;
    struct sh_text *text;
    struct sh_text words;
};

/* Appends the words, escaped, and empties them. */
static void put_words(struct page *page)
{
    if (page->text->status == SH_OK) {
        page->text->status = page->words.status;
    }
    sh_text_put_markup(page->text, page->words.data != NULL ? page->words.data : "");
    sh_text_reset(&page->words);
}

/* The columns behind the day. */
enum column {
    KIND,
    DRAWS,
    IMPULSE, /* of each finger, and together */
    SHARE = IMPULSE + SH_DAY_LOAD_FINGERS + 1,
    PEAK,
    AVERAGE_7,
    AVERAGE_28,
    N_COLUMNS
};

static const char *const columns[N_COLUMNS] = {
    [KIND] = "it is",
    [DRAWS] = "draws",
    [IMPULSE] = "impulse, index",
    [IMPULSE + 1] = "impulse, middle",
    [IMPULSE + 2] = "impulse, ring",
    [IMPULSE + 3] = "impulse, together",
    [SHARE] = "ring's share",
    [PEAK] = "ring's largest force",
    [AVERAGE_7] = "together, 7-day average",
    [AVERAGE_28] = "together, 28-day average",
};

/* The words as a cell. */
static void put_cell(struct page *page, size_t column)
{
    if (page->text->status == SH_OK) {
        page->text->status = page->words.status;
    }
    sh_page_cell_put(page->text, columns[column],
                     page->words.data != NULL ? page->words.data : "");
    sh_text_reset(&page->words);
}

static void put_string(struct page *page, const char *string)
{
    sh_utf8_put(&page->words, string, SH_UTF8_MASK_CONTROL);
    put_words(page);
}

static void put_date(struct page *page, int day)
{
    char date[SH_DAY_BYTES];
    sh_day_format(day, date);
    sh_text_puts(page->text, date);
}

static void write_top(struct page *page)
{
    sh_text_puts(page->text,
                 "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                 "style-src 'unsafe-inline'\"/>\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                 "<title>Loads of ");
    put_string(page, page->sheet->athlete);
    sh_text_puts(page->text, "</title>\n<style>\n");
    sh_text_puts(page->text, sh_page_style_get());
    sh_text_puts(page->text, sh_page_style_get_stack());
    sh_text_puts(page->text, sh_page_style_get_print());
    sh_text_puts(page->text,
                 "td.words{text-align:left}td.words,td.two{white-space:normal}\n"
                 "tr.note span{font-weight:600;position:sticky;left:.6rem;display:inline-block;"
                 "max-width:min(44rem,74vw)}tr:has(+tr.note)>*{border-bottom:0}\n"
                 "th[scope=row]{white-space:nowrap}th[scope=col]{white-space:normal}\n"
                 "</style></head>\n<body>\n");
    sh_text_puts(page->text, sh_page_style_get_textures());
    sh_text_puts(page->text, "<main>\n<header><h1>What the fingers of ");
    put_string(page, page->sheet->athlete);
    sh_text_puts(page->text, " carried</h1>\n<p>From ");
    put_date(page, page->sheet->first_day);
    sh_text_puts(page->text, " to ");
    put_date(page, page->sheet->last_day);
    sh_text_puts(page->text, ". ");
    put_string(page, sh_load_words_get_caution(0));
    sh_text_puts(page->text, " <strong>");
    put_string(page, sh_load_words_get_caution(1));
    sh_text_puts(page->text, "</strong></p></header>\n");
}

static void write_plot(struct page *page)
{
    struct sh_text plot;
    sh_text_init(&plot, 0);
    sh_load_plot_draw(&plot, page->sheet);
    if (page->text->status == SH_OK) {
        page->text->status = plot.status;
    }
    if (plot.n_bytes > 0) {
        sh_text_puts(
            page->text,
            "<section><h2>Impulse by day</h2>\n<figure class=\"card\"><figcaption>Force times "
            "time of all draws, let-downs too. A question mark: a part is unknown, the bar is "
            "what is known; without a bar nothing is. A dash: rest.</figcaption>\n"
            "<ul class=\"key\">\n"
            "<li><svg aria-hidden=\"true\"><rect class=\"filled\" width=\"100%\" "
            "height=\"100%\"/></svg>ring</li>\n"
            "<li><svg aria-hidden=\"true\"><rect class=\"hold\" width=\"100%\" "
            "height=\"100%\"/></svg>middle</li>\n"
            "<li><svg aria-hidden=\"true\"><rect class=\"draw\" width=\"100%\" "
            "height=\"100%\"/></svg>index</li>\n</ul>\n");
        sh_text_write(page->text, plot.data, plot.n_bytes);
        sh_text_puts(page->text, "</figure></section>\n");
    }
    sh_text_close(&plot);
}

static void put_quantity(struct page *page,
                         enum column column,
                         const struct sh_quantity *quantity,
                         double factor,
                         const char *unit)
{
    sh_load_words_put_quantity(&page->words, quantity, factor, unit);
    put_cell(page, column);
}

/* A sum that is known, or at least so much. */
static void put_sum(struct page *page, const struct sh_day_load *load, size_t finger)
{
    const struct sh_quantity impulse = sh_day_load_get_impulse_n_s(load, finger);
    const struct sh_load_sum *sum =
        finger < SH_DAY_LOAD_FINGERS ? &load->impulse_n_s[finger] : &load->sum_n_s;
    const struct sh_quantity known = sh_quantity_known(sum->value, sum->u);
    bool is_least = !sh_quantity_is_known(&impulse) && sum->n_known > 0;
    sh_text_puts(&page->words, is_least ? "at least " : "");
    sh_load_words_put_quantity(&page->words, is_least ? &known : &impulse, 1.0, "N s");
    put_cell(page, IMPULSE + finger);
}

static void write_day(struct page *page, const struct sh_load_history_row *row)
{
    const struct sh_day_load *load = row->load;
    const struct sh_load_history_average *average = &row->average[SH_LOAD_HISTORY_ALL];
    sh_text_puts(page->text, "<tr><th scope=\"row\">");
    put_date(page, row->day);
    sh_text_puts(page->text, "</th>");
    sh_text_puts(&page->words, sh_day_load_kind_name(sh_day_load_get_kind(load)));
    put_cell(page, KIND);
    sh_text_printf(&page->words, "%s%zu draw%s", load->n_unread > 0 ? "at least " : "",
                   load->n_draws, load->n_draws == 1 ? "" : "s");
    put_cell(page, DRAWS);
    for (size_t i = 0; i <= SH_DAY_LOAD_FINGERS; i++) {
        put_sum(page, load, i);
    }
    const struct sh_quantity share = sh_day_load_get_share(load, 2);
    put_quantity(page, SHARE, &share, PER_CENT, "%");
    const struct sh_quantity none = sh_quantity_unknown(SH_WHY_NOT_APPLICABLE);
    bool is_idle = load->n_draws == 0 && load->n_unread == 0;
    put_quantity(page, PEAK, is_idle ? &none : &load->peak_n[2], 1.0, "N");
    put_quantity(page, AVERAGE_7, &average->value[0], 1.0, "N s");
    put_quantity(page, AVERAGE_28, &average->value[1], 1.0, "N s");
    sh_text_puts(page->text, "</tr>\n");
    sh_load_words_put_notes(&page->words, page->sheet, row->day);
    if (page->words.n_bytes > 0) {
        sh_text_printf(page->text,
                       "<tr class=\"note\"><td class=\"words\" colspan=\"%d\"><span>",
                       N_COLUMNS + 1);
        put_words(page);
        sh_text_puts(page->text, "</span></td></tr>\n");
    }
}

static bool is_unknown(const struct sh_load_history_row *row)
{
    return sh_day_load_get_kind(row->load) == SH_DAY_LOAD_UNKNOWN;
}

/* The unknown days in a row from day on as one row; their last one. */
static int write_unknown(struct page *page, int day)
{
    const struct sh_load_sheet *sheet = page->sheet;
    int last = day;
    const struct sh_load_history_row *next = sh_load_sheet_find(sheet, last + 1);
    while (last < sheet->last_day && next != NULL && is_unknown(next)) {
        next = sh_load_sheet_find(sheet, ++last + 1);
    }
    sh_text_puts(page->text, "<tr><th scope=\"row\">");
    put_date(page, day);
    if (last > day) {
        sh_text_puts(page->text, "<br/>to ");
        put_date(page, last);
    }
    sh_text_printf(page->text,
                   "</th><td class=\"words\" colspan=\"%d\">unknown: nobody has said anything "
                   "of it; not counted as rest, the averages stop here</td></tr>\n",
                   N_COLUMNS);
    return last;
}

static void write_days(struct page *page)
{
    const struct sh_load_sheet *sheet = page->sheet;
    sh_text_puts(page->text,
                 "<section><h2>Day by day</h2>\n<div class=\"card wide\" tabindex=\"0\" "
                 "role=\"region\" aria-label=\"Loads day by day\"><table class=\"stack\">\n"
                 "<thead><tr><th scope=\"col\">day</th>");
    for (size_t i = 0; i < N_COLUMNS; i++) {
        sh_text_puts(page->text, "<th scope=\"col\">");
        sh_text_put_markup(page->text, columns[i]);
        sh_text_puts(page->text, "</th>");
    }
    sh_text_puts(page->text, "</tr></thead>\n<tbody>\n");
    for (int day = sheet->first_day; day <= sheet->last_day; day++) {
        const struct sh_load_history_row *row = sh_load_sheet_find(sheet, day);
        if (row != NULL && is_unknown(row)) {
            day = write_unknown(page, day);
        } else if (row != NULL) {
            write_day(page, row);
        }
    }
    sh_text_puts(page->text, "</tbody></table></div></section>\n");
}

static void write_weeks(struct page *page)
{
    const struct sh_load_sheet *sheet = page->sheet;
    sh_text_puts(page->text, "<section><h2>Weeks, from Monday on</h2>\n<ul>\n");
    for (int monday = sh_day_get_monday(sheet->first_day); monday <= sheet->last_day;
         monday += SH_DAY_WEEK) {
        const struct sh_day_load week = sh_load_sheet_get_week(sheet, monday);
        const struct sh_quantity all = sh_day_load_get_impulse_n_s(&week, SH_DAY_LOAD_FINGERS);
        sh_text_puts(page->text, "<li>");
        put_date(page, monday);
        sh_text_puts(&page->words, ": ");
        sh_load_words_put_kinds(&page->words, &week);
        sh_load_words_put_draws(&page->words, &week);
        sh_text_puts(&page->words, "; together ");
        sh_load_words_put_sum(&page->words, &all, &week.sum_n_s);
        put_words(page);
        sh_text_puts(page->text, "</li>\n");
    }
    sh_text_puts(page->text, "</ul></section>\n");
}

static void write_limits(struct page *page)
{
    const struct sh_load_sheet *sheet = page->sheet;
    sh_text_puts(page->text, "<section><h2>Limits</h2>\n<ul>\n");
    if (sheet->n_limits == 0) {
        sh_text_puts(page->text, "<li>None is set. The program has none of its own.</li>\n");
    }
    for (size_t i = 0; i < sheet->n_limits; i++) {
        sh_text_printf(page->text, "<li>no. %zu: ", sheet->limits[i].number);
        sh_load_words_put_limit(&page->words, &sheet->limits[i]);
        sh_text_puts(&page->words, "; ");
        sh_load_words_put_verdicts(&page->words, sheet, sheet->limits[i].number);
        put_words(page);
        sh_text_puts(page->text, "</li>\n");
    }
    sh_text_puts(page->text, "</ul></section>\n");
}

static void write_ratings(struct page *page)
{
    const struct sh_load_sheet *sheet = page->sheet;
    sh_text_puts(page->text, "<section><h2>Ratings of pain</h2>\n<ul>\n");
    if (sheet->n_ratings == 0) {
        sh_text_puts(page->text, "<li>None is given.</li>\n");
    }
    for (size_t i = 0; i < sheet->n_ratings; i++) {
        sh_text_puts(page->text, "<li>");
        sh_load_words_put_rating(&page->words, sheet->ratings, i);
        put_words(page);
        sh_text_puts(page->text, "</li>\n");
    }
    sh_text_puts(page->text, "</ul>\n");
    if (sheet->n_ratings > 0 && sh_rating_is_rise(sheet->ratings, sheet->n_ratings - 1)) {
        sh_text_puts(page->text, "<p><strong>");
        put_string(page, sh_rating_get_ask_caution());
        sh_text_puts(page->text, "</strong></p>\n");
    }
    sh_text_puts(page->text, "</section>\n");
}

static void write_sensors(struct page *page)
{
    const struct sh_load_sheet *sheet = page->sheet;
    sh_text_puts(page->text, "<section><h2>What stands behind the figures</h2>\n<ul>\n");
    if (sheet->n_sensors == 0) {
        sh_text_puts(page->text, "<li>No recording.</li>\n");
    }
    for (size_t i = 0; i < sheet->n_sensors; i++) {
        sh_text_puts(page->text, "<li>");
        sh_load_words_put_sensor(&page->words, &sheet->sensors[i]);
        put_words(page);
        sh_text_puts(page->text, "</li>\n");
    }
    sh_text_puts(page->text,
                 "</ul>\n<p class=\"soft\">The figure behind \xC2\xB1 is half of a 95 % "
                 "interval, and at most that: errors of one calibration are taken to go the "
                 "same way in all draws.</p></section>\n");
}

/* Beside the averages, with what speaks against it; no part of it is marked good or bad. */
static void write_ratio(struct page *page)
{
    const struct sh_load_history_row *row =
        sh_load_sheet_find(page->sheet, page->sheet->last_day);
    if (row == NULL || !sh_quantity_is_known(&row->average[SH_LOAD_HISTORY_ALL].ratio)) {
        return;
    }
    sh_text_puts(page->text, "<section><h2>Short average beside long</h2>\n<p>");
    sh_text_puts(&page->words, "Of the last day, all fingers together: ");
    sh_load_words_put_average(&page->words, row, SH_LOAD_HISTORY_ALL);
    sh_text_puts(&page->words, "; ");
    sh_load_words_put_ratio(&page->words, &row->average[SH_LOAD_HISTORY_ALL]);
    sh_text_puts(&page->words, ". ");
    sh_text_puts(&page->words, sh_load_average_get_objections());
    put_words(page);
    sh_text_puts(page->text, "</p></section>\n");
}

static void write_bottom(struct page *page)
{
    sh_text_puts(page->text, "<section><h2>Cautions</h2>\n<ul>\n");
    for (size_t i = 0; sh_load_words_get_caution(i) != NULL; i++) {
        sh_text_puts(page->text, "<li>");
        put_string(page, sh_load_words_get_caution(i));
        sh_text_puts(page->text, "</li>\n");
    }
    sh_text_puts(page->text,
                 "</ul></section>\n</main>\n<footer><p>Made by stringhand " SH_VERSION
                 " from recordings and what was said of the days.</p></footer>\n"
                 "</body></html>\n");
}

enum sh_status sh_load_page_write(const struct sh_load_sheet *sheet, struct sh_text *text)
{
    struct page page = {.sheet = sheet, .text = text};
    sh_text_init(&page.words, 0);
    write_top(&page);
    write_plot(&page);
    write_days(&page);
    write_weeks(&page);
    write_limits(&page);
    write_ratings(&page);
    write_sensors(&page);
    write_ratio(&page);
    write_bottom(&page);
    sh_text_close(&page.words);
    return text->status;
}
