/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_json.h"

#include <jansson.h>

#include "measure/catalog.h"
#include "recording/json_put.h"
#include "report/comparison_words.h"
#include "report/sentence_list.h"
#include "report/shot_json.h"

#define FORMAT_NAME    "stringhand-comparison"
#define FORMAT_VERSION 1

static const char *get_why_name(enum sh_before_after_why why)
{
    switch (why) {
    case SH_BEFORE_AFTER_KNOWN:
        return "";
    case SH_BEFORE_AFTER_NO_VALUES:
        return "no values";
    case SH_BEFORE_AFTER_FEW:
        return "too few";
    case SH_BEFORE_AFTER_IN_ORDER:
        return "no turns";
    case SH_BEFORE_AFTER_STILL:
        return "no scatter";
    }
    return "";
}

static void
put_counts(struct sh_json_put *put, json_t *object, const char *key, const size_t count[2])
{
    const double both[2] = {(double)count[0], (double)count[1]};
    sh_json_put_numbers(put, object, key, both, 2);
}

static void put_figure(struct sh_json_put *put,
                       json_t *list,
                       size_t k,
                       const struct sh_before_after *figure)
{
    const struct sh_comparison_kind *kind = sh_comparison_get_kind(k);
    const bool is_known = figure->why == SH_BEFORE_AFTER_KNOWN;
    const bool is_list = sh_catalog_get_parts(kind->measure) > 1;
    json_t *object = sh_json_put_object_at(put, list, k);
    char key[SH_CATALOG_KEY_BYTES];
    sh_catalog_key(kind->measure, SH_CATALOG_VALUE, key);
    sh_json_put_text(put, object, "measure", key);
    sh_json_put_known(put, object, "part", is_list, (double)(kind->part + 1));
    sh_json_put_text(put, object, "way", sh_comparison_get_way_name(figure->way));
    sh_json_put_text(put, object, "why", get_why_name(figure->why));
    put_counts(put, object, "arrows", figure->n_arrows);
    put_counts(put, object, "observations", figure->n_observations);
    sh_json_put_known(put, object, "mean_1", is_known, figure->mean[0]);
    sh_json_put_known(put, object, "mean_2", is_known, figure->mean[1]);
    sh_json_put_known(put, object, "shift", is_known, figure->shift);
    sh_json_put_known(put, object, "u", is_known, figure->u);
    sh_json_put_known(put, object, "lo", is_known, figure->lo);
    sh_json_put_known(put, object, "hi", is_known, figure->hi);
    sh_json_put_known(put, object, "reach_of_all", is_known, figure->reach_of_all);
    sh_json_put_known(put, object, "p", is_known, figure->p);
    sh_json_put_known(put, object, "p_of_all", is_known, figure->p_of_all);
    sh_json_put_known(put, object, "p_least", is_known, figure->p_least);
    sh_json_put_known(put, object, "sd", is_known, figure->sd);
    sh_json_put_known(put, object, "visible", is_known && figure->visible > 0.0,
                      figure->visible);
    sh_json_put_known(put, object, "change_least",
                      is_known && figure->way == SH_BEFORE_AFTER_SESSIONS,
                      figure->change_least);
    sh_json_put_known(put, object, "needed", is_known && figure->n_needed > 0.0,
                      figure->n_needed);
    sh_json_put_value(put, object, "hidden", json_boolean(is_known && figure->is_hidden));
    sh_json_put_value(put, object, "seen", json_boolean(sh_before_after_is_seen(figure)));
}

static void fill(const struct sh_comparison_sheet *sheet, struct sh_json_put *put, json_t *root)
{
    sh_json_put_text(put, root, "format", FORMAT_NAME);
    sh_json_put_count(put, root, "version", FORMAT_VERSION);
    sh_json_put_value(put, root, "athlete", sh_shot_json_make_string(sheet->athlete));
    sh_json_put_value(put, root, "by",
                      sheet->key != NULL ? sh_shot_json_make_string(sheet->key) : json_null());
    sh_json_put_value(put, root, "first", sh_shot_json_make_string(sheet->side[0]));
    sh_json_put_value(put, root, "second", sh_shot_json_make_string(sheet->side[1]));
    put_counts(put, root, "recordings", sheet->set->n_recordings);
    put_counts(put, root, "sessions", sheet->set->n_sessions);
    sh_json_put_count(put, root, "seed", sheet->seed);
    sh_json_put_value(put, root, "other_calibration",
                      json_boolean(sheet->comparison->has_other_calibration));
    struct sh_sentence_list said = {put, sh_json_put_list(put, root, "sentences")};
    const struct sh_comparison_words_sink sink = {sh_sentence_list_take, &said};
    const enum sh_status status = sh_comparison_words_each(sheet, &sink);
    if (status != SH_OK) {
        sh_json_put_fail(put, status, "sentences");
    }
    json_t *list = sh_json_put_list(put, root, "figures");
    for (size_t k = 0; k < SH_COMPARISON_KINDS; k++) {
        put_figure(put, list, k, &sheet->comparison->figure[k]);
    }
}

enum sh_status sh_comparison_json_write(const struct sh_comparison_sheet *sheet,
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
