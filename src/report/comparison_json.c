/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/comparison_json.h"

#include <jansson.h>

#include "measure/catalog.h"
#include "recording/json_put.h"
#include "recording/json_text.h"
#include "report/comparison_words.h"
#include "report/shot_json.h"

#define FORMAT_NAME    "stringhand-comparison"
#define FORMAT_VERSION 1

/* A list of sentences being filled. */
struct filling {
    struct sh_json_put *put;
    json_t *list;
};

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

static void put_known(
    struct sh_json_put *put, json_t *object, const char *key, bool is_known, double number)
{
    if (is_known) {
        sh_json_put_number(put, object, key, number);
    } else {
        sh_json_put_value(put, object, key, json_null());
    }
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
    put_known(put, object, "part", is_list, (double)(kind->part + 1));
    sh_json_put_text(put, object, "way", sh_comparison_get_way_name(figure->way));
    sh_json_put_text(put, object, "why", get_why_name(figure->why));
    put_counts(put, object, "arrows", figure->n_arrows);
    put_counts(put, object, "observations", figure->n_observations);
    put_known(put, object, "mean_1", is_known, figure->mean[0]);
    put_known(put, object, "mean_2", is_known, figure->mean[1]);
    put_known(put, object, "shift", is_known, figure->shift);
    put_known(put, object, "u", is_known, figure->u);
    put_known(put, object, "lo", is_known, figure->lo);
    put_known(put, object, "hi", is_known, figure->hi);
    put_known(put, object, "reach_of_all", is_known, figure->reach_of_all);
    put_known(put, object, "p", is_known, figure->p);
    put_known(put, object, "p_of_all", is_known, figure->p_of_all);
    put_known(put, object, "p_least", is_known, figure->p_least);
    put_known(put, object, "sd", is_known, figure->sd);
    put_known(put, object, "visible", is_known && figure->visible > 0.0, figure->visible);
    put_known(put, object, "change_least", is_known && figure->way == SH_BEFORE_AFTER_SESSIONS,
              figure->change_least);
    put_known(put, object, "needed", is_known && figure->n_needed > 0.0, figure->n_needed);
    sh_json_put_value(put, object, "hidden", json_boolean(is_known && figure->is_hidden));
    sh_json_put_value(put, object, "seen", json_boolean(sh_before_after_is_seen(figure)));
}

static enum sh_status take_sentence(void *context, const char *sentence)
{
    const struct filling *filling = context;
    if (json_array_append_new(filling->list, sh_shot_json_make_string(sentence)) != 0) {
        sh_json_put_fail(filling->put, SH_ERR_MEMORY, "sentences");
    }
    return filling->put->status;
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
    struct filling filling = {put, sh_json_put_list(put, root, "sentences")};
    const struct sh_comparison_words_sink sink = {take_sentence, &filling};
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
    if (put.status == SH_OK) {
        sh_json_text_write(text, root);
        sh_text_puts(text, "\n");
    }
    json_decref(root);
    if (put.status != SH_OK && text->status == SH_OK) {
        text->status = put.status;
    }
    return text->status;
}
