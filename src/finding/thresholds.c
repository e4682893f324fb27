/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "finding/thresholds.h"

#include <errno.h>
#include <ini.h>
#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct row {
    size_t offset_bytes; /* of the field in struct sh_thresholds */
    enum sh_code code;
    const char *key;
    double value;
    double low;
    double high;
};

static const struct row rows[] = {
#define X(field, code, key, value, low, high)                                                  \
    {offsetof(struct sh_thresholds, field), code, key, value, low, high},
    SH_THRESHOLDS_LIST(X)
#undef X
};

#define N_ROWS (sizeof rows / sizeof rows[0])

/* What the INI reader hands to each line. */
struct reading {
    FILE *stream;
    const char *path;
    int line;
    struct sh_thresholds thresholds;
    bool is_set[N_ROWS];
    struct sh_error *err;
};

static void set_field(struct sh_thresholds *thresholds, const struct row *row, double value)
{
    memcpy((char *)thresholds + row->offset_bytes, &value, sizeof value);
}

struct sh_thresholds sh_thresholds_default(void)
{
    struct sh_thresholds thresholds = {0};
    for (size_t i = 0; i < N_ROWS; i++) {
        set_field(&thresholds, &rows[i], rows[i].value);
    }
    return thresholds;
}

/* Keeps the refusal of a word; always 0, which stops the reader. */
static int refuse(struct reading *reading,
                  enum sh_status status,
                  const char *word,
                  const char *what,
                  const char *todo)
{
    char where[SH_ERROR_WHERE_BYTES];
    (void)snprintf(where, sizeof where, "%s:%d", reading->path, reading->line);
    (void)sh_error_set(reading->err, status, where, todo, "'%s' %s", word, what);
    return 0;
}

static size_t find_row(enum sh_code code, const char *key)
{
    size_t i = 0;
    while (i < N_ROWS && (rows[i].code != code || strcmp(rows[i].key, key) != 0)) {
        i++;
    }
    return i;
}

static int take_value(struct reading *reading, size_t i, const char *text)
{
    char *end = NULL;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value)) {
        return refuse(reading, SH_ERR_FORMAT, text, "is no number", "write a plain number");
    }
    if (value < rows[i].low || value > rows[i].high) {
        char todo[64];
        (void)snprintf(todo, sizeof todo, "take %g to %g", rows[i].low, rows[i].high);
        return refuse(reading, SH_ERR_ARGUMENT, text, "is out of range", todo);
    }
    if (reading->is_set[i]) {
        return refuse(reading, SH_ERR_FORMAT, rows[i].key, "is given twice",
                      "keep one of them");
    }
    reading->is_set[i] = true;
    reading->thresholds.is_user[rows[i].code] = true;
    set_field(&reading->thresholds, &rows[i], value);
    return 1;
}

/* inih: 1 goes on, 0 is an error. */
static int take_line(void *context, const char *section, const char *key, const char *text)
{
    struct reading *reading = context;
    enum sh_code code = SH_CODE_COUNT;
    if (reading->err->status != SH_OK) {
        return 0;
    }
    if (!sh_code_find(section, &code)) {
        return refuse(reading, SH_ERR_FORMAT, section, "is no finding", "write [creep], say");
    }
    size_t i = find_row(code, key);
    if (i == N_ROWS) {
        return refuse(reading, SH_ERR_FORMAT, key, "is no threshold of this finding",
                      "see docs/findings.md");
    }
    return take_value(reading, i, text);
}

/* inih's line reader: as fgets, counting lines, so that a refusal can name its own. */
static char *read_line(char *line, int n_bytes, void *context)
{
    struct reading *reading = context;
    char *got = fgets(line, n_bytes, reading->stream);
    reading->line += got != NULL ? 1 : 0;
    return got;
}

enum sh_status
sh_thresholds_read(const char *path, struct sh_thresholds *thresholds, struct sh_error *err)
{
    struct sh_error own = {0};
    struct reading reading = {.path = path, .thresholds = *thresholds, .err = &own};
    reading.stream = fopen(path, "r");
    if (reading.stream == NULL) {
        return sh_error_set_os(err, errno, path, "check the name",
                               "cannot open the thresholds");
    }
    int first_bad = ini_parse_stream(read_line, &reading, take_line, &reading);
    bool is_unread = ferror(reading.stream) != 0;
    (void)fclose(reading.stream);
    if (is_unread) {
        return sh_error_set(err, SH_ERR_IO, path, "check the file",
                            "cannot read the thresholds");
    }
    if (first_bad != 0 && own.status == SH_OK) {
        (void)sh_error_set(&own, SH_ERR_FORMAT, path, "write [finding] or key = number",
                           "line %d is neither a section nor a setting", first_bad);
    }
    if (own.status == SH_OK) {
        *thresholds = reading.thresholds;
    } else if (err != NULL && err->status == SH_OK) {
        *err = own;
    }
    return own.status;
}
