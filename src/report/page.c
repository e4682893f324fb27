/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/page.h"

#include <stdio.h>

#include "report/band_plot.h"
#include "report/calibration_section.h"
#include "report/click_plot.h"
#include "report/clock_section.h"
#include "report/figure.h"
#include "report/finger_plot.h"
#include "report/hold_plot.h"
#include "report/page_style.h"
#include "report/page_table.h"
#include "report/shot_rows.h"
#include "report/spectrum_plot.h"
#include "report/utf8.h"

/* A name from outside, masked and escaped. */
static void put_name(struct sh_text *text, const char *name)
{
    struct sh_text clean;
    sh_text_init(&clean, 0);
    sh_utf8_put(&clean, name, SH_UTF8_MASK_CONTROL);
    if (clean.status == SH_OK) {
        sh_text_put_markup(text, clean.data != NULL ? clean.data : "");
    } else if (text->status == SH_OK) {
        text->status = clean.status;
    }
    sh_text_close(&clean);
}

static void write_top(struct sh_text *text, const struct sh_page *pages, size_t n)
{
    sh_text_puts(text,
                 "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"/>\n"
                 "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                 "style-src 'unsafe-inline'\"/>\n"
                 "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                 "<title>");
    put_name(text, pages[0].analysis->recording);
    if (n > 1) {
        sh_text_printf(text, " and %zu more", n - 1);
    }
    sh_text_puts(text, "</title>\n<style>\n");
    sh_text_puts(text, sh_page_style_get());
    sh_text_puts(text, sh_page_style_get_print());
    sh_text_puts(text, "</style></head>\n<body>\n");
    sh_text_puts(text, sh_page_style_get_textures());
    sh_text_puts(text, "<main>\n");
}

static size_t count_kind(const struct sh_analysis *analysis, enum sh_shot_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n += analysis->shots[i].shot.kind == kind ? 1 : 0;
    }
    return n;
}

static void write_header(struct sh_text *text, const struct sh_analysis *analysis)
{
    sh_text_puts(text, "<header><h1>");
    put_name(text, analysis->recording);
    sh_text_puts(text, "</h1>\n<p>");
    put_name(text, analysis->athlete);
    sh_text_puts(text, analysis->athlete[0] != '\0' ? ". " : "");
    sh_text_printf(text,
                   "Length of the recording %.1f s. Shots %zu, let-downs %zu, unresolved "
                   "draws %zu.</p></header>\n",
                   analysis->duration_s, count_kind(analysis, SH_SHOT_SHOT),
                   count_kind(analysis, SH_SHOT_LET_DOWN),
                   count_kind(analysis, SH_SHOT_UNRESOLVED));
}

static bool has_finding(const struct sh_shot_record *record, enum sh_code code)
{
    for (size_t i = 0; i < record->n_findings; i++) {
        if (record->findings[i].code == code) {
            return true;
        }
    }
    return false;
}

static size_t count_code(const struct sh_analysis *analysis, enum sh_code code)
{
    size_t n = 0;
    for (size_t i = 0; i < analysis->n_shots; i++) {
        n += has_finding(&analysis->shots[i], code) ? 1 : 0;
    }
    return n;
}

/* "creep: draws 2, 5 (2 of 24)", each number a link to its draw. */
static void write_code(struct sh_text *text,
                       const struct sh_analysis *analysis,
                       size_t part,
                       enum sh_code code)
{
    const char *mark = "";
    sh_text_printf(text, "<li><span class=\"code\">%s</span>: draw%s", sh_code_title(code),
                   count_code(analysis, code) == 1 ? "" : "s");
    for (size_t i = 0; i < analysis->n_shots; i++) {
        unsigned number = analysis->shots[i].shot.n;
        if (has_finding(&analysis->shots[i], code)) {
            sh_text_printf(text, "%s <a href=\"#draw-%zu-%u\">%u</a>", mark, part, number,
                           number);
            mark = ",";
        }
    }
    sh_text_printf(text, " (%zu of %zu)</li>\n", count_code(analysis, code), analysis->n_shots);
}

static void write_summary(struct sh_text *text, const struct sh_analysis *analysis, size_t part)
{
    bool is_any = false;
    sh_text_puts(text, "<section><h2>What stands out</h2>\n<ul>\n");
    for (int i = 0; i < SH_CODE_COUNT; i++) {
        if (count_code(analysis, (enum sh_code)i) > 0) {
            write_code(text, analysis, part, (enum sh_code)i);
            is_any = true;
        }
    }
    if (!is_any) {
        sh_text_puts(text,
                     analysis->n_shots > 0
                         ? "<li>Nothing is beyond its threshold and its own uncertainty.</li>\n"
                         : "<li>The recording holds no draw.</li>\n");
    }
    sh_text_puts(text, "</ul>\n<p class=\"soft\">A finding is a figure beyond its threshold "
                       "and beyond its own 95 % uncertainty. It says what the sensor saw, not "
                       "what the archer did wrong.");
    for (size_t i = 0; i < analysis->n_history; i++) {
        sh_text_puts(text, i == 0 ? " Compared with: " : ", ");
        put_name(text, analysis->history[i]);
    }
    sh_text_puts(text, analysis->n_history > 0 ? ".</p></section>\n" : "</p></section>\n");
}

static void write_key(struct sh_text *text)
{
    sh_text_puts(
        text, "<ul class=\"key\">\n"
              "<li><svg aria-hidden=\"true\"><rect class=\"draw\" width=\"100%\" "
              "height=\"100%\"/></svg>draw</li>\n"
              "<li><svg aria-hidden=\"true\"><rect class=\"hold\" width=\"100%\" "
              "height=\"100%\"/></svg>hold</li>\n"
              "<li><svg aria-hidden=\"true\"><line class=\"click\" x1=\"50%\" x2=\"50%\" "
              "y1=\"9\" y2=\"20\"/><svg class=\"free\" x=\"50%\" y=\"10\"><path "
              "class=\"mark filled\" d=\"M0 0l-5 -9h10z\"/></svg></svg>clicker</li>\n"
              "<li><svg aria-hidden=\"true\"><line class=\"release\" x1=\"50%\" x2=\"50%\" "
              "y1=\"0\" y2=\"20\"/></svg>release</li>\n"
              "<li><svg aria-hidden=\"true\"><svg class=\"free\" x=\"50%\" y=\"10\"><path "
              "class=\"mark hollow\" d=\"M0 -5l5 5l-5 5l-5 -5z\"/></svg></svg>let-down</li>\n"
              "<li><svg aria-hidden=\"true\"><line class=\"doubt\" x1=\"20%\" x2=\"80%\" "
              "y1=\"10\" y2=\"10\"/></svg>95 % interval of full draw</li>\n"
              "</ul>\n");
}

/* What stands beside a draw's name: "hold 3.61 s". */
struct aside {
    enum sh_measure measure;
    const char *name;
    const char *unit;
    double factor; /* SI to unit */
    int n_decimals_max;
};

static const struct aside asides[] = {
    {SH_MEASURE_HOLD_TIME, "hold", "s", 1.0, 2},
    {SH_MEASURE_CLICKER_REACTION, "click to release", "ms", 1000.0, 0},
    {SH_MEASURE_TIME_LEFT_RELEASE, "clock left", "s", 1.0, 1},
};

/* "data: clipped, short" */
static void write_quality(struct sh_text *text, const struct sh_shot_record *record)
{
    bool is_begun = false;
    for (int i = 0; i < SH_CODE_QUALITY_COUNT; i++) {
        enum sh_code_quality quality = (enum sh_code_quality)i;
        if (record->quality[i]) {
            sh_text_puts(text, is_begun ? ", " : "<span class=\"soft\">data: ");
            sh_text_printf(text, "<abbr title=\"%s\">%s</abbr>", sh_code_quality_title(quality),
                           sh_code_quality_name(quality));
            is_begun = true;
        }
    }
    sh_text_puts(text, is_begun ? "</span>" : "");
}

static void write_asides(struct sh_text *text, const struct sh_shot_record *record)
{
    for (size_t i = 0; i < sizeof asides / sizeof asides[0]; i++) {
        const struct sh_quantity *quantity =
            sh_catalog_get(&record->measures, asides[i].measure, 0);
        char figure[SH_FIGURE_BYTES];
        if (sh_quantity_is_known(quantity)) {
            sh_figure_format_short(quantity, asides[i].factor, asides[i].n_decimals_max,
                                   figure);
            sh_text_printf(text, "<span class=\"soft\">%s %s %s</span>", asides[i].name, figure,
                           asides[i].unit);
        }
    }
    write_quality(text, record);
}

static void write_draw(struct sh_text *text,
                       const struct sh_ruler *axis,
                       const struct sh_shot_record *record,
                       size_t part)
{
    bool is_shot = record->shot.kind == SH_SHOT_SHOT;
    sh_text_printf(text, "<li id=\"draw-%zu-%u\"><div class=\"top\"><h3>Draw %u%s%s</h3>", part,
                   record->shot.n, record->shot.n, is_shot ? "" : ", ",
                   is_shot ? "" : sh_shot_kind_name(record->shot.kind));
    write_asides(text, record);
    sh_text_puts(text, "</div>\n");
    sh_shot_rows_draw(text, axis, record);
    for (size_t i = 0; i < record->n_findings; i++) {
        sh_text_puts(text, i == 0 ? "<ul class=\"said\">\n<li>" : "<li>");
        sh_text_printf(
            text, "<span class=\"code\">%s</span>: ", sh_code_title(record->findings[i].code));
        put_name(text, record->findings[i].text);
        sh_text_puts(text, "</li>\n");
    }
    sh_text_puts(text, record->n_findings > 0 ? "</ul></li>\n" : "</li>\n");
}

static void write_draws(struct sh_text *text, const struct sh_analysis *analysis, size_t part)
{
    if (analysis->n_shots == 0) {
        return;
    }
    struct sh_ruler axis = sh_shot_rows_fit(analysis);
    sh_text_puts(text, "<section><h2>Draw by draw</h2>\n<div class=\"card\">\n");
    write_key(text);
    sh_text_puts(text, "<div class=\"axis-head\">\n");
    sh_shot_rows_draw_head(text, &axis);
    sh_text_puts(text, "</div><ol class=\"draws\">\n");
    for (size_t i = 0; i < analysis->n_shots; i++) {
        write_draw(text, &axis, &analysis->shots[i], part);
    }
    sh_text_puts(text, "</ol></div></section>\n");
}

static void keep_failure(struct sh_text *text, const struct sh_text *part)
{
    text->status = text->status == SH_OK ? part->status : text->status;
}

/* A drawing with what it shows said above it; nothing where there is no drawing. */
static void write_figure(struct sh_text *text, const char *caption, const struct sh_text *plot)
{
    keep_failure(text, plot);
    if (plot->n_bytes > 0) {
        sh_text_printf(text, "<figure class=\"card\"><figcaption>%s</figcaption>\n", caption);
        sh_text_write(text, plot->data, plot->n_bytes);
        sh_text_puts(text, "</figure>\n");
    }
}

/* The force around the click of all shots. */
static void write_clicks(struct sh_text *text, const struct sh_page *page)
{
    struct sh_text plot;
    bool is_by_release = false;
    if (page->traces == NULL) {
        return;
    }
    sh_text_init(&plot, 0);
    sh_click_plot_draw(&plot, page->analysis, page->traces, &is_by_release);
    keep_failure(text, &plot);
    if (plot.n_bytes > 0) {
        sh_text_printf(text, "<section><h2>Around the %s</h2>\n",
                       is_by_release ? "release" : "click");
        write_figure(
            text,
            "Force of all shots laid over each other, less each shot's hold force. Thick: "
            "their median. Dashed, with the draw's number: creep, flinch or collapse.",
            &plot);
        sh_text_puts(text, "</section>\n");
    }
    sh_text_close(&plot);
}

static void write_spectra(struct sh_text *text, const struct sh_page *page)
{
    struct sh_text plot;
    if (page->traces == NULL) {
        return;
    }
    sh_text_init(&plot, 0);
    sh_spectrum_plot_draw(&plot, page->analysis, page->traces);
    write_figure(
        text,
        "Tremor spectra of the force, one a hold. Thick: their median. Dashed, with the "
        "draw's number: tremor that rose in the hold.",
        &plot);
    sh_text_close(&plot);
}

/* The drawings of holds and tremor that there are. */
static void write_hold_plots(struct sh_text *text, const struct sh_page *page)
{
    const double limits_s[2] = {page->thresholds->short_hold_under_s,
                                page->thresholds->long_hold_over_s};
    struct sh_text plot;
    sh_text_init(&plot, 0);
    sh_hold_plot_draw(&plot, page->analysis, limits_s);
    write_figure(text, "Hold of each draw, with its 95 % interval. Hollow: let-down.", &plot);
    write_spectra(text, page);
    sh_text_reset(&plot);
    sh_band_plot_draw(&plot, page->analysis, SH_MEASURE_TREMOR_BAND);
    write_figure(
        text,
        "Tremor of the force by band: a dot a hold, in the order of the draws; the bar "
        "is the median.",
        &plot);
    sh_text_reset(&plot);
    sh_band_plot_draw(&plot, page->analysis, SH_MEASURE_BOW_TREMOR_BAND);
    write_figure(text, "Tremor of the bow by band.", &plot);
    sh_text_close(&plot);
}

/* Nothing where these channels give no drawing: no head without a body. */
static void write_plots(struct sh_text *text, const struct sh_page *page)
{
    struct sh_text plots;
    sh_text_init(&plots, 0);
    write_hold_plots(&plots, page);
    keep_failure(text, &plots);
    if (plots.n_bytes > 0) {
        sh_text_puts(text, "<section><h2>Holds and tremor</h2>\n<div class=\"pair\">\n");
        sh_text_write(text, plots.data, plots.n_bytes);
        sh_text_puts(text, "</div></section>\n");
    }
    sh_text_close(&plots);
}

static void write_fingers(struct sh_text *text, const struct sh_page *page)
{
    struct sh_text plot;
    sh_text_init(&plot, 0);
    sh_finger_plot_draw(&plot, page->analysis);
    keep_failure(text, &plot);
    if (plot.n_bytes > 0) {
        sh_text_puts(text, "<section><h2>The fingers</h2>\n");
        write_figure(
            text,
            "What each finger takes of the load, with its 95 % interval. The line beside it "
            "rises or falls by as much as the share changed through the hold. A time: the ring "
            "finger slid, so long before the release. Thin sensors repeat to several per cent "
            "only.",
            &plot);
        sh_text_puts(text, "</section>\n");
    }
    sh_text_close(&plot);
}

static void write_data(struct sh_text *text, const struct sh_analysis *analysis)
{
    if (analysis->n_quality == 0) {
        return;
    }
    sh_text_puts(text, "<section><h2>The data</h2>\n<ul>\n");
    for (size_t i = 0; i < analysis->n_quality; i++) {
        sh_text_printf(text, "<li>%s: ", sh_code_quality_name(analysis->quality[i].code));
        put_name(text, analysis->quality[i].text);
        sh_text_puts(text, "</li>\n");
    }
    sh_text_puts(text, "</ul></section>\n");
}

static void write_bottom(struct sh_text *text)
{
    sh_text_puts(
        text,
        "<section><h2>Cautions</h2>\n<ul>\n"
        "<li>Not a medical device. Limits, return to shooting and pain belong to licensed "
        "practice; stop on pain.</li>\n"
        "<li>What is not measured is shown as unknown, never as inside a limit.</li>\n"
        "<li>Shoot only on a range, under its rules and its officer. Never draw and let go "
        "without an arrow; nothing may stand in the way of string, arrow or clicker.</li>\n"
        "<li>Local rules of the range and the event come first; sensors and screens may not be "
        "allowed in competition.</li>\n"
        "</ul></section>\n</main>\n<footer><p>Made by stringhand " SH_VERSION
        " from the recording alone; the same recording and options give the same "
        "page.</p></footer>\n</body></html>\n");
}

static void write_recording(struct sh_text *text, const struct sh_page *page, size_t part)
{
    const struct sh_analysis *analysis = page->analysis;
    write_header(text, analysis);
    write_summary(text, analysis, part);
    write_draws(text, analysis, part);
    write_clicks(text, page);
    if (analysis->n_shots > 0) {
        write_plots(text, page);
        write_fingers(text, page);
        sh_text_puts(text, "<section><h2>All figures</h2>\n");
        sh_page_table_write(text, analysis, part);
        sh_text_puts(text, "</section>\n");
    }
    sh_clock_section_write(text, analysis, part);
    write_data(text, analysis);
    sh_calibration_section_write(text, page->streams, page->n_streams);
}

enum sh_status sh_page_write(const struct sh_page *pages, size_t n, struct sh_text *text)
{
    write_top(text, pages, n);
    for (size_t i = 0; i < n; i++) {
        write_recording(text, &pages[i], i + 1);
    }
    write_bottom(text);
    return text->status;
}
