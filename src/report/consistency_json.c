/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/consistency_json.h"

#include <jansson.h>
#include <math.h>

#include "recording/json_put.h"
#include "report/consistency_words.h"
#include "report/sentence_list.h"
#include "report/shot_json.h"

#define FORMAT_NAME    "stringhand-consistency"
#define FORMAT_VERSION 1

static void put_figure(struct sh_json_put *put,
                       json_t *parent,
                       const char *key,
                       const struct sh_consistency_figure *figure)
{
    json_t *object = sh_json_put_object(put, parent, key);
    sh_json_put_known(put, object, "value", figure->is_known, figure->value);
    sh_json_put_known(put, object, "lo", figure->has_interval, figure->lo);
    sh_json_put_known(put, object, "hi", figure->has_interval, figure->hi);
}

static void put_effect(struct sh_json_put *put,
                       json_t *parent,
                       const char *key,
                       const struct sh_clock_effect *effect)
{
    const bool is_known = effect->why == SH_CLOCK_EFFECT_KNOWN;
    json_t *object = sh_json_put_object(put, parent, key);
    sh_json_put_known(put, object, "value", is_known, effect->difference);
    sh_json_put_known(put, object, "u", is_known, effect->u);
    sh_json_put_known(put, object, "lo", is_known, effect->lo);
    sh_json_put_known(put, object, "hi", is_known, effect->hi);
    sh_json_put_known(put, object, "p", is_known, effect->p);
    sh_json_put_known(put, object, "p_of_all", is_known, effect->p_of_all);
    sh_json_put_known(put, object, "visible", is_known, effect->visible);
    sh_json_put_known(put, object, "ends_needed", is_known && effect->n_needed > 0.0,
                      effect->n_needed);
    sh_json_put_count(put, object, "ends_free", effect->n_free);
    sh_json_put_count(put, object, "ends_clocked", effect->n_clocked);
    sh_json_put_count(put, object, "first_arrow", effect->first_number);
    sh_json_put_count(put, object, "last_arrow", effect->last_number);
    sh_json_put_value(put, object, "seen", json_boolean(sh_clock_effect_is_seen(effect)));
}

static void put_link(struct sh_json_put *put, json_t *parent, const struct sh_score_link *link)
{
    json_t *object = sh_json_put_object(put, parent, "score_correlation");
    sh_json_put_known(put, object, "value", link->is_known, link->spearman.value);
    sh_json_put_known(put, object, "lo", link->is_known, link->spearman.lo);
    sh_json_put_known(put, object, "hi", link->is_known, link->spearman.hi);
    sh_json_put_known(put, object, "p_of_all", link->is_known, link->p_of_all);
    sh_json_put_known(put, object, "visible", link->is_known, link->visible);
    sh_json_put_count(put, object, "arrows", link->n);
    sh_json_put_value(put, object, "seen", json_boolean(sh_score_link_is_seen(link)));
}

static void put_odds(struct sh_json_put *put,
                     json_t *parent,
                     const struct sh_score_odds *odds,
                     const struct sh_score_odds_term *term)
{
    const bool is_known = odds->why == SH_SCORE_ODDS_KNOWN && term->is_in;
    json_t *object = sh_json_put_object(put, parent, "score_odds");
    sh_json_put_known(put, object, "value", is_known, term->ratio);
    sh_json_put_known(put, object, "lo", is_known, term->lo);
    sh_json_put_known(put, object, "hi", is_known, term->hi);
    sh_json_put_known(put, object, "for_more", is_known, term->sd);
    sh_json_put_known(put, object, "p", is_known, term->p);
    sh_json_put_known(put, object, "p_of_all", is_known, term->p_of_all);
    sh_json_put_known(put, object, "visible", is_known, term->visible);
    sh_json_put_count(put, object, "arrows", odds->n);
    sh_json_put_value(put, object, "seen", json_boolean(sh_score_odds_is_seen(term)));
}

static void put_chart(struct sh_json_put *put,
                      json_t *parent,
                      const struct sh_consistency_study *study,
                      size_t m)
{
    const struct sh_consistency *steady = &study->steady[m];
    json_t *object = sh_json_put_object(put, parent, "chart");
    json_t *list = sh_json_put_list(put, object, "marked");
    size_t n_marked = 0;
    sh_json_put_value(
        put, object, "of_logarithm",
        json_boolean(sh_consistency_set_get_kind((enum sh_consistency_measure)m)->is_log));
    sh_json_put_known(put, object, "centre", steady->has_chart, steady->chart.centre);
    sh_json_put_known(put, object, "lower", steady->has_chart, steady->chart.lower);
    sh_json_put_known(put, object, "upper", steady->has_chart, steady->chart.upper);
    for (size_t i = 0; steady->has_chart && i < steady->column.n; i++) {
        const struct sh_consistency_row *row = &study->set->rows[steady->column.row[i]];
        if (steady->marks[i] != 0) {
            json_t *mark = sh_json_put_object_at(put, list, n_marked++);
            sh_json_put_count(put, mark, "recording", row->recording);
            sh_json_put_count(put, mark, "n", row->n);
            sh_json_put_count(put, mark, "rules", steady->marks[i]);
        }
    }
}

static void put_measure(struct sh_json_put *put,
                        json_t *measures,
                        const struct sh_consistency_study *study,
                        size_t m)
{
    char key[SH_CATALOG_KEY_BYTES];
    const struct sh_consistency *steady = &study->steady[m];
    sh_catalog_key(sh_consistency_set_get_kind((enum sh_consistency_measure)m)->measure,
                   SH_CATALOG_VALUE, key);
    json_t *object = sh_json_put_object(put, measures, key);
    sh_json_put_count(put, object, "arrows", steady->column.n);
    sh_json_put_count(put, object, "ends", steady->column.n_ends);
    put_figure(put, object, "mean", &steady->mean);
    put_figure(put, object, "sd", &steady->sd);
    put_figure(put, object, "cv", &steady->cv_ratio);
    sh_json_put_known(put, object, "sensor_u", steady->column.n > 0, steady->measured_u);
    sh_json_put_known(put, object, "within_sd", steady->has_parts, steady->parts.within_sd);
    sh_json_put_known(put, object, "between_sd", steady->has_parts,
                      sqrt(steady->parts.between_variance));
    sh_json_put_known(put, object, "between_p", steady->has_parts, steady->parts.p);
    put_chart(put, object, study, m);
    put_effect(put, object, "clocked_less_free", &study->clock[m]);
    put_effect(put, object, "last_less_first", &study->last[m]);
    put_effect(put, object, "per_arrow", &study->per_arrow[m]);
    put_link(put, object, &study->links[m]);
    put_odds(put, object, &study->odds, &study->odds.term[m]);
}

static void
put_survival(struct sh_json_put *put, json_t *root, const struct sh_hold_survival *survival)
{
    json_t *object = sh_json_put_object(put, root, "hold_with_let_downs");
    sh_json_put_count(put, object, "released", survival->n_released);
    sh_json_put_count(put, object, "let_down", survival->n_let_down);
    sh_json_put_known(put, object, "median_s", survival->has_median, survival->median_s);
    sh_json_put_known(put, object, "lo_s", survival->has_lo, survival->lo_s);
    sh_json_put_known(put, object, "hi_s", survival->has_hi, survival->hi_s);
}

static void
fill(const struct sh_consistency_sheet *sheet, struct sh_json_put *put, json_t *root)
{
    const struct sh_consistency_study *study = sheet->study;
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_count(put, root, "version", FORMAT_VERSION);
    sh_json_put_value(put, root, "athlete", sh_shot_json_make_string(sheet->athlete));
    json_t *names = sh_json_put_list(put, root, "recordings");
    for (size_t i = 0; i < sheet->n_recordings; i++) {
        if (json_array_append_new(names, sh_shot_json_make_string(sheet->recordings[i])) != 0) {
            sh_json_put_fail(put, SH_ERR_MEMORY, "recordings");
        }
    }
    sh_json_put_count(put, root, "seed", study->config.seed);
    sh_json_put_count(put, root, "draws", study->config.n_draws);
    sh_json_put_count(put, root, "rules", study->config.rules);
    sh_json_put_count(put, root, "ends", study->set->n_ends);
    sh_json_put_count(put, root, "overruns", study->set->n_overruns);
    sh_json_put_count(put, root, "unresolved", study->set->n_unresolved);
    struct sh_sentence_list said = {put, sh_json_put_list(put, root, "sentences")};
    const struct sh_consistency_words_sink sink = {sh_sentence_list_take, &said};
    const enum sh_status status = sh_consistency_words_each(sheet, &sink);
    if (status != SH_OK) {
        sh_json_put_fail(put, status, "sentences");
    }
    json_t *measures = sh_json_put_object(put, root, "measures");
    for (size_t m = 0; m < SH_CONSISTENCY_MEASURES; m++) {
        put_measure(put, measures, study, m);
    }
    const bool has_odds = study->odds.why == SH_SCORE_ODDS_KNOWN;
    sh_json_put_known(put, root, "score_arrows_needed", has_odds, study->odds.n_needed);
    put_figure(put, root, "hold_s_per_s_left", &study->hold_per_second);
    put_survival(put, root, &study->survival);
}

enum sh_status sh_consistency_json_write(const struct sh_consistency_sheet *sheet,
                                         struct sh_text *text)
{
    struct sh_json_put put = {.status = SH_OK};
    json_t *root = json_object();
    if (root == NULL) {
        return SH_ERR_MEMORY;
    }
    fill(sheet, &put, root);
    return sh_json_put_finish(&put, root, text);
}
