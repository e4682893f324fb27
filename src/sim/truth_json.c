/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sim/truth_json.h"

#include <errno.h>
#include <inttypes.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "recording/atomic_file.h"
#include "recording/json_cursor.h"
#include "recording/json_text.h"
#include "sim/archer.h"
#include "sim/truth_field.h"

#define FORMAT     "stringhand-truth"
#define VERSION    1
#define DRAWS_MAX  100000u
#define SEED_BYTES 24u
#define KIND_BYTES 16u

static json_t *pack_field(const struct sh_truth_field *field, const struct sh_truth *truth)
{
    double figure[SH_TRUTH_FIELD_FIGURES_MAX];
    if (!sh_truth_field_applies(field, truth)) {
        return json_null();
    }
    sh_truth_field_copy_out(field, truth, figure);
    return field->n_figures == 1 ? json_real(figure[0])
                                 : json_pack("[f, f, f]", figure[0], figure[1], figure[2]);
}

static bool put_fields(json_t *draw, const struct sh_truth *truth)
{
    const struct sh_truth_field *field = NULL;
    for (size_t i = 0; (field = sh_truth_field_get(i)) != NULL; i++) {
        json_t *object = json_object_get(draw, sh_truth_field_group_name(field->group));
        if (json_object_set_new(object, field->key, pack_field(field, truth)) != 0) {
            return false;
        }
    }
    return true;
}

static bool put_faults(json_t *array, unsigned faults)
{
    for (unsigned i = 0; i < SH_ARCHER_FAULTS; i++) {
        const unsigned fault = faults & (1u << i);
        const char *name = sh_archer_fault_name((enum sh_archer_fault)fault);
        if (fault != 0 && json_array_append_new(array, json_string(name)) != 0) {
            return false;
        }
    }
    return true;
}

/* NULL where memory ran out. */
static json_t *pack_truth(const struct sh_truth *truth)
{
    json_t *draw = json_pack("{s:I, s:s, s:[], s:{}, s:{}, s:{}}", "n", (json_int_t)truth->n,
                             "kind", truth->kind == SH_TRUTH_SHOT ? "shot" : "let-down",
                             "faults", sh_truth_field_group_name(SH_TRUTH_GROUP_PUT_IN),
                             sh_truth_field_group_name(SH_TRUTH_GROUP_EVENTS),
                             sh_truth_field_group_name(SH_TRUTH_GROUP_MEASURES));
    if (draw != NULL && put_faults(json_object_get(draw, "faults"), truth->faults) &&
        put_fields(draw, truth)) {
        return draw;
    }
    json_decref(draw);
    return NULL;
}

static bool are_finite(const struct sh_truth *truth)
{
    const struct sh_truth_field *field = NULL;
    for (size_t i = 0; (field = sh_truth_field_get(i)) != NULL; i++) {
        double figure[SH_TRUTH_FIELD_FIGURES_MAX] = {0.0};
        sh_truth_field_copy_out(field, truth, figure);
        if (!isfinite(figure[0]) || !isfinite(figure[1]) || !isfinite(figure[2])) {
            return false;
        }
    }
    return true;
}

static enum sh_status check_finite(const struct sh_truth_set *set, struct sh_error *err)
{
    bool is_good = isfinite(set->duration_s);
    for (size_t i = 0; i < set->n_truths && is_good; i++) {
        is_good = are_finite(&set->truth[i]);
    }
    return is_good ? SH_OK
                   : sh_error_set(err, SH_ERR_NOT_FINITE, NULL, NULL,
                                  "the truth holds a figure that is no number");
}

/* NULL where memory ran out. */
static json_t *pack_set(const struct sh_truth_set *set)
{
    char seed[SEED_BYTES];
    (void)snprintf(seed, sizeof seed, "%" PRIu64, set->seed);
    json_t *root = json_pack("{s:s, s:i, s:s, s:f, s:[]}", "format", FORMAT, "version", VERSION,
                             "seed", seed, "duration_s", set->duration_s, "draws");
    json_t *draws = json_object_get(root, "draws");
    for (size_t i = 0; root != NULL && i < set->n_truths; i++) {
        if (json_array_append_new(draws, pack_truth(&set->truth[i])) != 0) {
            json_decref(root);
            root = NULL;
        }
    }
    return root;
}

enum sh_status
sh_truth_json_write(const char *path, const struct sh_truth_set *set, struct sh_error *err)
{
    enum sh_status status = check_finite(set, err);
    if (status != SH_OK) {
        return status;
    }
    struct sh_text text;
    json_t *root = pack_set(set);
    sh_text_init(&text, 0);
    if (root != NULL) {
        sh_json_text_write(&text, root);
        sh_text_puts(&text, "\n");
    }
    if (root == NULL || text.status != SH_OK) {
        status = sh_error_set(err, SH_ERR_MEMORY, path, NULL, "no memory for the truth");
    } else {
        status = sh_atomic_file_write(path, text.data, text.n_bytes, err);
    }
    sh_text_close(&text);
    json_decref(root);
    return status;
}

/* The figures of one field, which applies to the draw. */
static void read_field(struct sh_json_cursor *cursor,
                       const json_t *object,
                       const struct sh_truth_field *field,
                       struct sh_truth *truth)
{
    double figure[SH_TRUTH_FIELD_FIGURES_MAX] = {0.0};
    const json_t *array = NULL;
    if (field->n_figures == 1) {
        sh_json_cursor_need(
            cursor, sh_json_cursor_number(cursor, object, field->key, &figure[0]), field->key);
    } else {
        sh_json_cursor_need(cursor, sh_json_cursor_array(cursor, object, field->key, &array),
                            field->key);
        const size_t place = sh_json_cursor_enter(cursor, field->key);
        (void)sh_json_cursor_tuple(cursor, array, figure, field->n_figures);
        sh_json_cursor_leave(cursor, place);
    }
    sh_truth_field_copy_in(field, figure, truth);
}

static void
read_faults(struct sh_json_cursor *cursor, const json_t *draw, struct sh_truth *truth)
{
    const json_t *array = NULL;
    sh_json_cursor_need(cursor, sh_json_cursor_array(cursor, draw, "faults", &array), "faults");
    for (size_t i = 0; i < json_array_size(array); i++) {
        const char *name = json_string_value(json_array_get(array, i));
        enum sh_archer_fault fault = SH_ARCHER_CREEP;
        if (name == NULL || !sh_archer_fault_find(name, &fault)) {
            sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "faults", "not a known fault", NULL);
            return;
        }
        truth->faults |= (unsigned)fault;
    }
}

static bool has_key(const json_t *draw, enum sh_truth_group group, const char *key)
{
    const json_t *object = json_object_get(draw, sh_truth_field_group_name(group));
    const json_t *value = json_object_get(object, key);
    return value != NULL && !json_is_null(value);
}

/* Kind and what else decides which figures apply. */
static void read_head(struct sh_json_cursor *cursor, const json_t *draw, struct sh_truth *truth)
{
    char kind[KIND_BYTES] = "";
    uint64_t n = 0;
    sh_json_cursor_need(cursor, sh_json_cursor_count(cursor, draw, "n", &n), "n");
    sh_json_cursor_need(cursor, sh_json_cursor_text(cursor, draw, "kind", kind, sizeof kind),
                        "kind");
    truth->n = (size_t)n;
    if (strcmp(kind, "let-down") == 0) {
        truth->kind = SH_TRUTH_LET_DOWN;
    } else if (strcmp(kind, "shot") != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "kind", "neither shot nor let-down", NULL);
    }
    truth->has_clicker = has_key(draw, SH_TRUTH_GROUP_EVENTS, "clicker_s");
    truth->has_setup = has_key(draw, SH_TRUTH_GROUP_MEASURES, "setup_time_s");
    truth->has_clock = has_key(draw, SH_TRUTH_GROUP_MEASURES, "time_left_draw_s");
    truth->has_finger_slide = has_key(draw, SH_TRUTH_GROUP_MEASURES, "finger_slide_s");
}

static void read_group(struct sh_json_cursor *cursor,
                       const json_t *draw,
                       enum sh_truth_group group,
                       struct sh_truth *truth)
{
    const char *name = sh_truth_field_group_name(group);
    const json_t *object = NULL;
    const struct sh_truth_field *field = NULL;
    sh_json_cursor_need(cursor, sh_json_cursor_object(cursor, draw, name, &object), name);
    const size_t place = sh_json_cursor_enter(cursor, name);
    for (size_t i = 0; (field = sh_truth_field_get(i)) != NULL; i++) {
        if (field->group == group && sh_truth_field_applies(field, truth)) {
            read_field(cursor, object, field, truth);
        }
    }
    sh_json_cursor_leave(cursor, place);
}

static void
read_truth(struct sh_json_cursor *cursor, const json_t *draw, struct sh_truth *truth)
{
    *truth = (struct sh_truth){0};
    read_head(cursor, draw, truth);
    read_faults(cursor, draw, truth);
    for (int group = 0; group < SH_TRUTH_GROUPS; group++) {
        read_group(cursor, draw, (enum sh_truth_group)group, truth);
    }
}

static void
read_draws(struct sh_json_cursor *cursor, const json_t *draws, struct sh_truth *truth)
{
    const size_t outer = sh_json_cursor_enter(cursor, "draws");
    for (size_t i = 0; i < json_array_size(draws) && cursor->status == SH_OK; i++) {
        const size_t place = sh_json_cursor_enter_index(cursor, i);
        read_truth(cursor, json_array_get(draws, i), &truth[i]);
        sh_json_cursor_leave(cursor, place);
    }
    sh_json_cursor_leave(cursor, outer);
}

/* Format, version, seed, duration; gives the list of draws. */
static const json_t *
read_top(struct sh_json_cursor *cursor, const json_t *root, struct sh_truth_set *set)
{
    char format[sizeof FORMAT] = "";
    char seed[SEED_BYTES] = "";
    int version = 0;
    const json_t *draws = NULL;
    sh_json_cursor_need(
        cursor, sh_json_cursor_text(cursor, root, "format", format, sizeof format), "format");
    sh_json_cursor_need(cursor,
                        sh_json_cursor_integer(cursor, root, "version", INT32_MAX, &version),
                        "version");
    if (strcmp(format, FORMAT) != 0 || version != VERSION) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, NULL, "no " FORMAT " of version 1", NULL);
    }
    sh_json_cursor_need(cursor, sh_json_cursor_text(cursor, root, "seed", seed, sizeof seed),
                        "seed");
    char *end = NULL;
    errno = 0;
    set->seed = strtoull(seed, &end, 10);
    if (seed[0] < '0' || seed[0] > '9' || *end != '\0' || errno != 0) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "seed", "not a whole number", NULL);
    }
    sh_json_cursor_need(cursor,
                        sh_json_cursor_number(cursor, root, "duration_s", &set->duration_s),
                        "duration_s");
    sh_json_cursor_need(cursor, sh_json_cursor_array(cursor, root, "draws", &draws), "draws");
    if (json_array_size(draws) > DRAWS_MAX) {
        sh_json_cursor_fail(cursor, SH_ERR_FORMAT, "draws", "more draws than any session",
                            NULL);
    }
    return draws;
}

static enum sh_status load_root(const char *path, json_t **root, struct sh_error *err)
{
    json_error_t json_err;
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return sh_error_set_os(err, errno, path, "name a simulated recording's truth.json",
                               "cannot be read");
    }
    *root = json_loadf(file, JSON_REJECT_DUPLICATES, &json_err);
    const bool has_failed = ferror(file) != 0;
    (void)fclose(file);
    if (*root != NULL) {
        return SH_OK;
    }
    if (has_failed) {
        return sh_error_set(err, SH_ERR_IO, path, NULL, "reading failed");
    }
    /* jansson finds no words, or these, where its memory ran out */
    if (json_err.text[0] == '\0' || json_error_code(&json_err) == json_error_out_of_memory) {
        return sh_error_set(err, SH_ERR_MEMORY, path, NULL, "no memory for the truth");
    }
    return sh_error_set(err, SH_ERR_FORMAT, path, "write it anew", "line %d: %s", json_err.line,
                        json_err.text);
}

enum sh_status
sh_truth_json_read(const char *path, struct sh_truth_set **out, struct sh_error *err)
{
    json_t *root = NULL;
    struct sh_json_cursor cursor;
    struct sh_truth_set *set = NULL;
    const json_t *draws = NULL;
    enum sh_status status = load_root(path, &root, err);
    if (status != SH_OK) {
        return status;
    }
    set = calloc(1, sizeof *set);
    if (set == NULL) {
        status = sh_error_set(err, SH_ERR_MEMORY, path, NULL, "no memory for the truth");
        goto out;
    }
    sh_json_cursor_init(&cursor, path, err);
    draws = read_top(&cursor, root, set);
    if (cursor.status == SH_OK) {
        set->n_truths = json_array_size(draws);
        set->truth = calloc(set->n_truths + 1, sizeof *set->truth);
        if (set->truth == NULL) {
            status = sh_error_set(err, SH_ERR_MEMORY, path, NULL, "no memory for the truth");
            goto out;
        }
        read_draws(&cursor, draws, set->truth);
    }
    status = cursor.status;
    if (status == SH_OK) {
        *out = set;
        set = NULL;
    }
out:
    sh_truth_json_close(&set);
    json_decref(root);
    return status;
}

void sh_truth_json_close(struct sh_truth_set **set)
{
    if (*set == NULL) {
        return;
    }
    free((*set)->truth);
    free(*set);
    *set = NULL;
}
