/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/session_document.h"

#include <math.h>
#include <stdlib.h>

#include "live/number_text.h"
#include "series/consistency_set.h"
#include "signal/control_chart.h"

#define DIGITS     6
#define NORMAL_975 1.959963984540054

/* A time of one arrow. */
struct arrow {
    double t_s;
    double value_s;
    unsigned number; /* of the draw */
};

/* Times of one kind, arrow by arrow. */
struct series {
    struct arrow *arrows; /* owned, [n] */
    size_t n;
    bool has_chart;
    struct sh_control_chart chart; /* of the logarithm */
};

static double find_time_s(const struct sh_analysis *analysis, unsigned n)
{
    for (size_t i = 0; i < analysis->n_shots; i++) {
        if (analysis->shots[i].shot.n == n) {
            return sh_analysis_get_time_s(&analysis->shots[i]);
        }
    }
    return (double)NAN;
}

/* Takes one arrow in where its value is known and has a logarithm. */
static void add_arrow(const struct sh_analysis *analysis,
                      const struct sh_consistency_row *row,
                      enum sh_consistency_measure measure,
                      struct series *series)
{
    const struct sh_quantity *value = &row->value[measure];
    if (!row->is_let_down && sh_quantity_is_known(value) && value->value > 0.0) {
        series->arrows[series->n++] =
            (struct arrow){find_time_s(analysis, row->n), value->value, row->n};
    }
}

/* It is to be closed (free of arrows) whatever comes back. */
static enum sh_status fill_series(const struct sh_analysis *analysis,
                                  const struct sh_consistency_set *set,
                                  enum sh_consistency_measure measure,
                                  struct series *series)
{
    double *log_value = malloc((set->n_rows + 1) * sizeof *log_value);
    series->arrows = malloc((set->n_rows + 1) * sizeof *series->arrows);
    if (log_value == NULL || series->arrows == NULL) {
        free(log_value);
        return SH_ERR_MEMORY;
    }
    for (size_t i = 0; i < set->n_rows; i++) {
        add_arrow(analysis, &set->rows[i], measure, series);
    }
    for (size_t i = 0; i < series->n; i++) {
        log_value[i] = log(series->arrows[i].value_s);
    }
    series->has_chart =
        sh_control_chart_get_individuals(log_value, series->n, &series->chart) == SH_OK;
    free(log_value);
    return SH_OK;
}

static bool is_outside(const struct series *series, size_t i)
{
    const double log_value = log(series->arrows[i].value_s);
    return series->has_chart &&
           (log_value < series->chart.lower || log_value > series->chart.upper);
}

static size_t count_outside(const struct series *series)
{
    size_t n = 0;
    for (size_t i = 0; i < series->n; i++) {
        n += is_outside(series, i) ? 1 : 0;
    }
    return n;
}

static void put_chart_value(const struct series *series, double log_value, struct sh_text *text)
{
    sh_number_text_put(text, series->has_chart ? exp(log_value) : (double)NAN, DIGITS);
}

static void write_series(const struct series *series, struct sh_text *text)
{
    sh_text_puts(text, "{\"t_s\":[");
    for (size_t i = 0; i < series->n; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, series->arrows[i].t_s, 9);
    }
    sh_text_puts(text, "],\"n\":[");
    for (size_t i = 0; i < series->n; i++) {
        sh_text_printf(text, "%s%u", i > 0 ? "," : "", series->arrows[i].number);
    }
    sh_text_puts(text, "],\"value_s\":[");
    for (size_t i = 0; i < series->n; i++) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, series->arrows[i].value_s, DIGITS);
    }
    sh_text_puts(text, "]");
    sh_text_puts(text, ",\"mean\":");
    put_chart_value(series, series->chart.centre, text);
    sh_text_puts(text, ",\"lo\":");
    put_chart_value(series, series->chart.lower, text);
    sh_text_puts(text, ",\"hi\":");
    put_chart_value(series, series->chart.upper, text);
    sh_text_puts(text, ",\"outside\":[");
    const char *comma = "";
    for (size_t i = 0; i < series->n; i++) {
        if (is_outside(series, i)) {
            sh_text_printf(text, "%s%u", comma, series->arrows[i].number);
            comma = ",";
        }
    }
    sh_text_puts(text, "]}");
}

static void
write_spectrum(unsigned n, const struct sh_shot_spectrum *spectrum, struct sh_text *text)
{
    sh_text_printf(text, "{\"n\":%u,\"f_hz\":[", n);
    for (size_t i = 0; i < spectrum->n; i += SH_SESSION_DOCUMENT_SPECTRUM_STRIDE) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, (double)i * spectrum->step_hz, DIGITS);
    }
    sh_text_puts(text, "],\"density\":[");
    for (size_t i = 0; i < spectrum->n; i += SH_SESSION_DOCUMENT_SPECTRUM_STRIDE) {
        sh_text_puts(text, i > 0 ? "," : "");
        sh_number_text_put(text, spectrum->density[i], 4);
    }
    sh_text_puts(text, "]}");
}

static void write_spectra(const struct sh_session_document *document, struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, ",\"spectra\":[");
    for (size_t i = 0; document->spectra != NULL && i < document->analysis->n_shots; i++) {
        if (document->spectra[i].hold.n > 0) {
            sh_text_puts(text, comma);
            write_spectrum(document->analysis->shots[i].shot.n, &document->spectra[i].hold,
                           text);
            comma = ",";
        }
    }
    sh_text_puts(text, "]");
}

static bool has_shares(const struct sh_shot_record *record)
{
    for (size_t k = 0; k < SH_PARTS_FINGERS_COUNT; k++) {
        if (!sh_quantity_is_known(
                sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SHARE, k))) {
            return false;
        }
    }
    return record->shot.kind == SH_SHOT_SHOT;
}

/* One column of the shares: a finger's, or with part 3 the draws' numbers. */
static void
write_share_column(const struct sh_analysis *analysis, size_t part, struct sh_text *text)
{
    const char *comma = "";
    for (size_t i = 0; i < analysis->n_shots; i++) {
        const struct sh_shot_record *record = &analysis->shots[i];
        if (!has_shares(record)) {
            continue;
        }
        sh_text_puts(text, comma);
        comma = ",";
        if (part < SH_PARTS_FINGERS_COUNT) {
            sh_number_text_put(
                text, sh_catalog_get(&record->measures, SH_MEASURE_FINGER_SHARE, part)->value,
                DIGITS);
        } else {
            sh_text_printf(text, "%u", record->shot.n);
        }
    }
}

static void write_shares(const struct sh_analysis *analysis, struct sh_text *text)
{
    const char *comma = "";
    sh_text_puts(text, ",\"shares\":{\"n\":[");
    write_share_column(analysis, SH_PARTS_FINGERS_COUNT, text);
    for (size_t part = 0; part < SH_PARTS_FINGERS_COUNT; part++) {
        sh_text_printf(text, "],\"%s\":[",
                       sh_catalog_get_part_name(SH_MEASURE_FINGER_SHARE, part));
        write_share_column(analysis, part, text);
    }
    sh_text_puts(text, "],\"u\":[");
    for (size_t i = 0; i < analysis->n_shots; i++) {
        double u[SH_PARTS_FINGERS_COUNT];
        if (!has_shares(&analysis->shots[i])) {
            continue;
        }
        for (size_t k = 0; k < SH_PARTS_FINGERS_COUNT; k++) {
            u[k] = sh_catalog_get(&analysis->shots[i].measures, SH_MEASURE_FINGER_SHARE, k)->u;
        }
        sh_text_puts(text, comma);
        sh_number_text_put_list(text, u, SH_PARTS_FINGERS_COUNT, 4);
        comma = ",";
    }
    sh_text_puts(text, "]}");
}

static size_t count_inside(const struct sh_session_document *document,
                           const struct series *hold)
{
    size_t n = 0;
    for (size_t i = 0; i < hold->n; i++) {
        n += hold->arrows[i].value_s >= document->band_lo_s &&
                     hold->arrows[i].value_s <= document->band_hi_s
                 ? 1
                 : 0;
    }
    return n;
}

static void write_band(const struct sh_session_document *document,
                       const struct series *hold,
                       struct sh_text *text)
{
    if (!document->has_band || hold->n == 0) {
        sh_text_puts(text, ",\"in_band\":null");
        return;
    }
    double n = (double)hold->n;
    double share = (double)count_inside(document, hold) / n;
    const double z2 = NORMAL_975 * NORMAL_975;
    double middle = (share + z2 / (2.0 * n)) / (1.0 + z2 / n);
    double reach =
        NORMAL_975 / (1.0 + z2 / n) * sqrt(share * (1.0 - share) / n + z2 / (4.0 * n * n));
    sh_text_puts(text, ",\"in_band\":{\"from_s\":");
    sh_number_text_put(text, document->band_lo_s, DIGITS);
    sh_text_puts(text, ",\"to_s\":");
    sh_number_text_put(text, document->band_hi_s, DIGITS);
    sh_text_puts(text, ",\"share\":");
    sh_number_text_put(text, share, DIGITS);
    sh_text_puts(text, ",\"lo\":");
    sh_number_text_put(text, fmax(middle - reach, 0.0), DIGITS);
    sh_text_puts(text, ",\"hi\":");
    sh_number_text_put(text, fmin(middle + reach, 1.0), DIGITS);
    sh_text_printf(text, ",\"n\":%zu}", hold->n);
}

static void write_sentences(const struct series *hold, struct sh_text *text)
{
    size_t n_outside = count_outside(hold);
    sh_text_puts(text, ",\"sentences\":[");
    if (hold->has_chart) {
        sh_text_printf(text,
                       "\"%zu arrows were held, most of them %.2f to %.2f s (limits of a "
                       "steady series); ",
                       hold->n, exp(hold->chart.lower), exp(hold->chart.upper));
        if (n_outside == 0) {
            sh_text_puts(text, "none lies outside.\"");
        } else {
            sh_text_printf(text, "%zu %s outside.\"", n_outside,
                           n_outside == 1 ? "lies" : "lie");
        }
    } else {
        sh_text_puts(text, "\"Too few arrows for limits: two are needed.\"");
    }
    sh_text_puts(text, "]}");
}

enum sh_status sh_session_document_write(const struct sh_session_document *document,
                                         struct sh_text *text)
{
    struct sh_consistency_set set = {.rows = NULL};
    struct series hold = {.n = 0};
    struct series setup = {.n = 0};
    enum sh_status status =
        sh_consistency_set_add(&set, document->analysis, document->marks, document->n_marks);
    if (status == SH_OK) {
        status = fill_series(document->analysis, &set, SH_CONSISTENCY_HOLD, &hold);
    }
    if (status == SH_OK) {
        status = fill_series(document->analysis, &set, SH_CONSISTENCY_SETUP, &setup);
    }
    if (status == SH_OK) {
        sh_text_puts(text, "{\"hold\":");
        write_series(&hold, text);
        sh_text_puts(text, ",\"setup\":");
        write_series(&setup, text);
        write_spectra(document, text);
        write_shares(document->analysis, text);
        write_band(document, &hold, text);
        write_sentences(&hold, text);
    } else if (text->status == SH_OK) {
        text->status = status;
    }
    free(hold.arrows);
    free(setup.arrows);
    sh_consistency_set_close(&set);
    return text->status;
}
