/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/bow_file.h"

#include <ini.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "recording/file_text.h"

#define DRAW_WEIGHT_MAX_N     400.0
#define STIFFNESS_MAX_N_PER_M 2000.0
#define ENERGY_MAX_J          500.0
#define LENGTH_MAX_M          2.0
#define TODO_KEYS             "see the keys of a bow in docs/calibration.md"

enum key {
    KEY_DRAW_WEIGHT,
    KEY_DRAW_WEIGHT_U,
    KEY_STIFFNESS,
    KEY_STIFFNESS_U,
    KEY_ENERGY,
    KEY_ENERGY_U,
    KEY_DRAW_LENGTH,
    N_NUMBERS,
    KEY_NAME = N_NUMBERS,
    KEY_CLICKER,
    KEY_MEASURED,
    N_KEYS
};

static const struct {
    const char *name;
    double most; /* of a number, which is above 0; an uncertainty may be 0 */
} keys[N_KEYS] = {
    [KEY_DRAW_WEIGHT] = {"draw_weight_n", DRAW_WEIGHT_MAX_N},
    [KEY_DRAW_WEIGHT_U] = {"draw_weight_u_n", DRAW_WEIGHT_MAX_N},
    [KEY_STIFFNESS] = {"stiffness_n_per_m", STIFFNESS_MAX_N_PER_M},
    [KEY_STIFFNESS_U] = {"stiffness_u_n_per_m", STIFFNESS_MAX_N_PER_M},
    [KEY_ENERGY] = {"energy_j", ENERGY_MAX_J},
    [KEY_ENERGY_U] = {"energy_u_j", ENERGY_MAX_J},
    [KEY_DRAW_LENGTH] = {"draw_length_m", LENGTH_MAX_M},
    [KEY_NAME] = {"name", 0.0},
    [KEY_CLICKER] = {"clicker", 0.0},
    [KEY_MEASURED] = {"measured", 0.0},
};

struct reader {
    const char *path;
    struct sh_bow_file *file;
    double number[N_NUMBERS];
    bool is_given[N_KEYS];
    int line;
    enum sh_status status;
    struct sh_error *err;
};

static int refuse(struct reader *reader, const char *todo, const char *what, const char *key)
{
    char where[SH_ERROR_WHERE_BYTES];
    (void)snprintf(where, sizeof where, "%s:%d", reader->path, reader->line);
    reader->status = sh_error_set(reader->err, SH_ERR_FORMAT, where, todo, "%s: %s", key, what);
    return 0;
}

static int take_number(struct reader *reader, enum key key, const char *value)
{
    char *end = NULL;
    const double number = strtod(value, &end);
    const bool is_u = key == KEY_DRAW_WEIGHT_U || key == KEY_STIFFNESS_U || key == KEY_ENERGY_U;
    if (end == value || *end != '\0' || !(number <= keys[key].most) ||
        !(is_u ? number >= 0.0 : number > 0.0)) {
        return refuse(reader, "give a number in SI units", "out of its range or no number",
                      keys[key].name);
    }
    reader->number[key] = number;
    return 1;
}

static int take_text(struct reader *reader, enum key key, const char *value)
{
    struct sh_bow *bow = &reader->file->bow;
    if (key == KEY_CLICKER) {
        const bool is_yes = strcmp(value, "yes") == 0;
        bow->clicker = is_yes ? SH_ANSWER_YES : SH_ANSWER_NO;
        return is_yes || strcmp(value, "no") == 0
                   ? 1
                   : refuse(reader, "say yes or no", "neither yes nor no", keys[key].name);
    }
    const bool is_name = key == KEY_NAME;
    char *to = is_name ? bow->name : reader->file->measured;
    const size_t room = is_name ? sizeof bow->name : sizeof reader->file->measured;
    if (strlen(value) >= room || value[0] == '\0') {
        return refuse(reader, "shorten it", "empty or too long", keys[key].name);
    }
    memcpy(to, value, strlen(value) + 1);
    return 1;
}

/* Called by inih for each key. */
static int take_key(void *context, const char *section, const char *name, const char *value)
{
    struct reader *reader = context;
    size_t key = 0;
    if (reader->status != SH_OK) {
        return 0;
    }
    while (key < N_KEYS && strcmp(keys[key].name, name) != 0) {
        key++;
    }
    if (strcmp(section, "bow") != 0 || key == N_KEYS) {
        return refuse(reader, TODO_KEYS, "no such key of a [bow]", name);
    }
    if (reader->is_given[key]) {
        return refuse(reader, "keep one of them", "given twice", name);
    }
    reader->is_given[key] = true;
    return key < N_NUMBERS ? take_number(reader, (enum key)key, value)
                           : take_text(reader, (enum key)key, value);
}

struct source {
    const char *at;
    struct reader *reader;
};

/* Gives inih the next line and counts it. */
static char *give_line(char *to, int n_room, void *context)
{
    struct source *source = context;
    if (*source->at == '\0' || source->reader->status != SH_OK) {
        return NULL;
    }
    const size_t n = strcspn(source->at, "\n");
    const size_t n_kept = n < (size_t)n_room - 1 ? n : (size_t)n_room - 1;
    source->reader->line++;
    memcpy(to, source->at, n_kept);
    to[n_kept] = '\0';
    source->at += n + (source->at[n] == '\n' ? 1 : 0);
    return to;
}

static enum sh_status finish(struct reader *reader)
{
    static const enum key pairs[][2] = {{KEY_DRAW_WEIGHT, KEY_DRAW_WEIGHT_U},
                                        {KEY_STIFFNESS, KEY_STIFFNESS_U},
                                        {KEY_ENERGY, KEY_ENERGY_U}};
    struct sh_quantity *to[] = {&reader->file->bow.draw_weight_n,
                                &reader->file->bow.stiffness_n_per_m, &reader->file->energy_j};
    for (size_t i = 0; i < 3; i++) {
        *to[i] = sh_quantity_unknown(SH_WHY_NOT_GIVEN);
        if (reader->is_given[pairs[i][0]]) {
            *to[i] =
                sh_quantity_known(reader->number[pairs[i][0]], reader->number[pairs[i][1]]);
        } else if (reader->is_given[pairs[i][1]]) {
            (void)refuse(reader, "give the value too", "stands without its value",
                         keys[pairs[i][1]].name);
            return reader->status;
        }
    }
    reader->file->draw_length_m = reader->number[KEY_DRAW_LENGTH];
    return SH_OK;
}

enum sh_status sh_bow_file_read(const char *path, struct sh_bow_file *out, struct sh_error *err)
{
    struct reader reader = {.path = path, .file = out, .err = err};
    struct sh_text text;
    *out = (struct sh_bow_file){0};
    sh_text_init(&text, SH_BOW_FILE_BYTES);
    enum sh_status status =
        sh_file_text_read(path, "give a bow's file, see docs/calibration.md", &text, err);
    if (status == SH_OK) {
        struct source source = {text.data != NULL ? text.data : "", &reader};
        const int answer = ini_parse_stream(give_line, &source, take_key, &reader);
        if (answer > 0 && reader.status == SH_OK) {
            reader.line = answer;
            (void)refuse(&reader, "write [bow] or key = value", "this line cannot be read",
                         "bow");
        }
        status = answer < 0 ? sh_error_set(err, SH_ERR_MEMORY, path, NULL, "out of memory")
                            : reader.status;
    }
    if (status == SH_OK) {
        status = finish(&reader);
    }
    sh_text_close(&text);
    return status;
}

static void put_quantity(struct sh_text *text,
                         enum key key,
                         enum key key_u,
                         const struct sh_quantity *quantity)
{
    if (sh_quantity_is_known(quantity)) {
        sh_text_printf(text, "%s = %.6g\n", keys[key].name, quantity->value);
        sh_text_printf(text, "%s = %.3g\n", keys[key_u].name, quantity->u);
    }
}

void sh_bow_file_format(const struct sh_bow_file *file, struct sh_text *text)
{
    const struct sh_bow *bow = &file->bow;
    sh_text_puts(text, "[bow]\n");
    if (bow->name[0] != '\0') {
        sh_text_printf(text, "name = %s\n", bow->name);
    }
    put_quantity(text, KEY_DRAW_WEIGHT, KEY_DRAW_WEIGHT_U, &bow->draw_weight_n);
    put_quantity(text, KEY_STIFFNESS, KEY_STIFFNESS_U, &bow->stiffness_n_per_m);
    if (bow->clicker != SH_ANSWER_UNKNOWN) {
        sh_text_printf(text, "clicker = %s\n", bow->clicker == SH_ANSWER_YES ? "yes" : "no");
    }
    if (file->draw_length_m > 0.0) {
        sh_text_printf(text, "draw_length_m = %.6g\n", file->draw_length_m);
    }
    put_quantity(text, KEY_ENERGY, KEY_ENERGY_U, &file->energy_j);
    if (file->measured[0] != '\0') {
        sh_text_printf(text, "measured = %s\n", file->measured);
    }
}
