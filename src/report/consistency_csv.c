/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_csv.h"

#include <math.h>

#include "report/csv_text.h"

static void put_start(struct sh_text *text, size_t m, const char *figure)
{
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(sh_consistency_set_get_kind((enum sh_consistency_measure)m)->measure,
                   SH_CATALOG_VALUE, key);
    sh_csv_text_put(text, key);
    sh_text_printf(text, ",%s", figure);
}

static void put_figure(struct sh_text *text,
                       size_t m,
                       const char *name,
                       const struct sh_consistency *steady,
                       const struct sh_consistency_figure *figure)
{
    put_start(text, m, name);
    if (figure->is_known) {
        sh_text_printf(text, ",%.17g", figure->value);
    } else {
        sh_text_puts(text, ",");
    }
    if (figure->has_interval) {
        sh_text_printf(text, ",%.17g,%.17g", figure->lo, figure->hi);
    } else {
        sh_text_puts(text, ",,");
    }
    sh_text_printf(text, ",,,%zu,%zu\r\n", steady->column.n, steady->column.n_ends);
}

static void put_effect(struct sh_text *text,
                       size_t m,
                       const char *name,
                       const struct sh_clock_effect *effect)
{
    put_start(text, m, name);
    if (effect->why == SH_CLOCK_EFFECT_KNOWN) {
        sh_text_printf(text, ",%.17g,%.17g,%.17g,%.17g,%.17g,,%zu\r\n", effect->difference,
                       effect->lo, effect->hi, effect->p_of_all, effect->visible,
                       effect->n_free + effect->n_clocked);
    } else {
        sh_text_puts(text, ",,,,,,,\r\n");
    }
}

static void put_link(struct sh_text *text, size_t m, const struct sh_score_link *link)
{
    put_start(text, m, "score_correlation");
    if (link->is_known) {
        sh_text_printf(text, ",%.17g,%.17g,%.17g,%.17g,%.17g,%zu,\r\n", link->spearman.value,
                       link->spearman.lo, link->spearman.hi, link->p_of_all, link->visible,
                       link->n);
    } else {
        sh_text_puts(text, ",,,,,,,\r\n");
    }
}

static void put_odds(struct sh_text *text, size_t m, const struct sh_score_odds *odds)
{
    const struct sh_score_odds_term *term = &odds->term[m];
    put_start(text, m, "score_odds");
    if (odds->why == SH_SCORE_ODDS_KNOWN && term->is_in) {
        sh_text_printf(text, ",%.17g,%.17g,%.17g,%.17g,%.17g,%zu,\r\n", term->ratio, term->lo,
                       term->hi, term->p_of_all, term->visible, odds->n);
    } else {
        sh_text_puts(text, ",,,,,,,\r\n");
    }
}

enum sh_status sh_consistency_csv_write(const struct sh_consistency_sheet *sheet,
                                        struct sh_text *text)
{
    const struct sh_consistency_study *study = sheet->study;
    sh_text_puts(text, "measure,figure,value,lo,hi,p,visible,n_arrows,n_ends\r\n");
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        const struct sh_consistency *steady = &study->steady[m];
        const struct sh_consistency_figure within = {.is_known = steady->has_parts,
                                                     .value = steady->parts.within_sd};
        const struct sh_consistency_figure between = {
            .is_known = steady->has_parts, .value = sqrt(steady->parts.between_variance)};
        put_figure(text, m, "mean", steady, &steady->mean);
        put_figure(text, m, "sd", steady, &steady->sd);
        put_figure(text, m, "cv", steady, &steady->cv_ratio);
        put_figure(text, m, "within_sd", steady, &within);
        put_figure(text, m, "between_sd", steady, &between);
        put_effect(text, m, "clocked_less_free", &study->clock[m]);
        put_effect(text, m, "last_less_first", &study->last[m]);
        put_effect(text, m, "per_arrow", &study->per_arrow[m]);
        put_link(text, m, &study->links[m]);
        put_odds(text, m, &study->odds);
    }
    return text->status;
}
