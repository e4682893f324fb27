/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "series/round_format.h"

#include <ctype.h>
#include <errno.h>
#include <ini.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(list) (sizeof(list) / sizeof((list)[0]))

/* Where each value comes from: docs/clock.md. Times in s: line-up, shooting, warning; then
 * arrows, archers, arrows a turn, signals as the turn changes. */
static const struct sh_round_format formats[] = {
    {"alternating", SH_ROUND_FORMAT_ALTERNATING, 10.0, 20.0, 0.0, 3, 1, 0, 1},
    {"three-90", SH_ROUND_FORMAT_END, 10.0, 90.0, 30.0, 3, 1, 0, 0},
    {"three-120", SH_ROUND_FORMAT_END, 10.0, 120.0, 30.0, 3, 1, 0, 0},
    {"six-180", SH_ROUND_FORMAT_END, 10.0, 180.0, 30.0, 6, 1, 0, 0},
    {"six-240", SH_ROUND_FORMAT_END, 10.0, 240.0, 30.0, 6, 1, 0, 0},
    {"team", SH_ROUND_FORMAT_END, 10.0, 120.0, 30.0, 6, 3, 2, 0},
    {"mixed", SH_ROUND_FORMAT_END, 10.0, 80.0, 30.0, 4, 2, 2, 0},
    {"shoot-off", SH_ROUND_FORMAT_END, 10.0, 60.0, 30.0, 3, 3, 1, 0},
    {"free", SH_ROUND_FORMAT_END, 10.0, 120.0, 30.0, 6, 1, 0, 0},
};

static const char *const kind_names[] = {
    [SH_ROUND_FORMAT_END] = "end", [SH_ROUND_FORMAT_ALTERNATING] = "alternating"};

/* The keys of rounds.ini but "kind". */
struct key {
    const char *name;
    size_t offset_bytes;
    bool is_count;
    bool may_be_0; /* besides low .. high */
    double low;
    double high;
};

#define MEMBER(name) offsetof(struct sh_round_format, name)

static const struct key keys[] = {
    {"line_up_s", MEMBER(line_up_s), false, true, SH_ROUND_FORMAT_TIME_MIN_S, 600.0},
    {"shooting_s", MEMBER(shooting_s), false, false, SH_ROUND_FORMAT_TIME_MIN_S, 3600.0},
    {"warning_s", MEMBER(warning_s), false, true, 1.0, 3600.0},
    {"arrows", MEMBER(n_arrows), true, false, 1.0, 72.0},
    {"archers", MEMBER(n_archers), true, false, 1.0, 6.0},
    {"arrows_a_turn", MEMBER(n_arrows_turn), true, true, 1.0, 72.0},
    {"turn_signals", MEMBER(n_turn_signals), true, true, 1.0, 1.0},
};

struct sh_round_format_set sh_round_format_default(void)
{
    struct sh_round_format_set set = {.n_formats = COUNT(formats)};
    memcpy(set.format, formats, sizeof formats);
    return set;
}

const struct sh_round_format *sh_round_format_find(const struct sh_round_format_set *set,
                                                   const char *name)
{
    for (size_t i = 0; i < set->n_formats; i++) {
        if (strcmp(set->format[i].name, name) == 0) {
            return &set->format[i];
        }
    }
    return NULL;
}

const char *sh_round_format_kind_name(enum sh_round_format_kind kind)
{
    return kind_names[kind];
}

static enum sh_status set_kind(struct sh_round_format *format,
                               const char *text,
                               const char *where,
                               struct sh_error *err)
{
    for (size_t i = 0; i < COUNT(kind_names); i++) {
        if (strcmp(kind_names[i], text) == 0) {
            format->kind = (enum sh_round_format_kind)i;
            return SH_OK;
        }
    }
    return sh_error_set(err, SH_ERR_FORMAT, where, "write end or alternating",
                        "'%s' is no kind of format", text);
}

static enum sh_status
parse_value(const struct key *key, const char *text, double *out, struct sh_error *err)
{
    char *end = NULL;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !isfinite(value) ||
        (key->is_count && fabs(value - rint(value)) > 0.0)) {
        return sh_error_set(err, SH_ERR_FORMAT, NULL, "write a plain number", "'%s' is no %s",
                            text, key->is_count ? "count" : "number");
    }
    bool is_0 = !(fabs(value) > 0.0);
    if (is_0 ? !key->may_be_0 : !(value >= key->low && value <= key->high)) {
        char todo[64];
        (void)snprintf(todo, sizeof todo, "take %s%g to %g", key->may_be_0 ? "0, or " : "",
                       key->low, key->high);
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, todo, "%s cannot be %s", key->name,
                            text);
    }
    *out = value;
    return SH_OK;
}

static void put_value(struct sh_round_format *format, const struct key *key, double value)
{
    char *to = (char *)format + key->offset_bytes;
    if (key->is_count) {
        unsigned n = (unsigned)value;
        memcpy(to, &n, sizeof n);
    } else {
        memcpy(to, &value, sizeof value);
    }
}

const char *sh_round_format_get_key(size_t i)
{
    return i < COUNT(keys) ? keys[i].name : NULL;
}

double sh_round_format_get_value(const struct sh_round_format *format, size_t i)
{
    const char *from = (const char *)format + keys[i].offset_bytes;
    double value = 0.0;
    if (keys[i].is_count) {
        unsigned n = 0;
        memcpy(&n, from, sizeof n);
        return (double)n;
    }
    memcpy(&value, from, sizeof value);
    return value;
}

enum sh_status sh_round_format_set_value(struct sh_round_format *format,
                                         const char *key,
                                         const char *text,
                                         const char *where,
                                         struct sh_error *err)
{
    if (strcmp(key, "kind") == 0) {
        return set_kind(format, text, where, err);
    }
    for (size_t i = 0; i < COUNT(keys); i++) {
        if (strcmp(keys[i].name, key) != 0) {
            continue;
        }
        double value = 0.0;
        struct sh_error own = {0};
        enum sh_status status = parse_value(&keys[i], text, &value, &own);
        if (status == SH_OK) {
            put_value(format, &keys[i], value);
            return SH_OK;
        }
        return sh_error_set(err, status, where, own.todo, "%s", own.what);
    }
    return sh_error_set(err, SH_ERR_NOT_FOUND, where, "see docs/clock.md",
                        "'%s' is no value of a format", key);
}

enum sh_status sh_round_format_check(const struct sh_round_format *format,
                                     const char *where,
                                     struct sh_error *err)
{
    const char *what = NULL;
    if (format->warning_s >= format->shooting_s) {
        what = "warns before its time has begun";
    } else if (format->n_arrows_turn > format->n_arrows) {
        what = "has turns of more arrows than it has";
    } else if (format->kind == SH_ROUND_FORMAT_ALTERNATING && format->n_archers > 1) {
        what = "alternates between two archers, who cannot be teams too";
    } else if (format->kind == SH_ROUND_FORMAT_ALTERNATING && format->warning_s > 0.0) {
        what = "alternates, which knows no warning";
    }
    return what == NULL ? SH_OK
                        : sh_error_set(err, SH_ERR_ARGUMENT, where, "see docs/clock.md",
                                       "format '%s' %s", format->name, what);
}

/* What the INI reader hands to each line. */
struct reading {
    FILE *stream;
    const char *path;
    int line;
    struct sh_round_format_set set;
    struct sh_error *err;
};

static bool is_name(const char *name)
{
    size_t n_bytes = strlen(name);
    for (size_t i = 0; i < n_bytes; i++) {
        if (iscntrl((unsigned char)name[i])) {
            return false;
        }
    }
    return n_bytes > 0 && n_bytes < SH_ROUND_FORMAT_NAME_BYTES;
}

/* The format of a section, made where it is new; NULL with a line in err where it cannot be. */
static struct sh_round_format *
find_section(struct reading *reading, const char *name, const char *where)
{
    struct sh_round_format_set *set = &reading->set;
    for (size_t i = 0; i < set->n_formats; i++) {
        if (strcmp(set->format[i].name, name) == 0) {
            return &set->format[i];
        }
    }
    if (!is_name(name)) {
        (void)sh_error_set(reading->err, SH_ERR_FORMAT, where,
                           "write [NAME] of 1 to 31 bytes before the values",
                           "'%.40s' is no name of a format", name);
        return NULL;
    }
    if (set->n_formats == SH_ROUND_FORMATS_MAX) {
        (void)sh_error_set(reading->err, SH_ERR_FULL, where, "leave some out",
                           "over %u formats", SH_ROUND_FORMATS_MAX);
        return NULL;
    }
    struct sh_round_format *format = &set->format[set->n_formats++];
    *format = formats[COUNT(formats) - 1];
    (void)snprintf(format->name, sizeof format->name, "%s", name);
    return format;
}

/* inih: 1 goes on, 0 is an error. */
static int take_line(void *context, const char *section, const char *key, const char *text)
{
    struct reading *reading = context;
    char where[SH_ERROR_WHERE_BYTES];
    if (reading->err->status != SH_OK) {
        return 0;
    }
    (void)snprintf(where, sizeof where, "%s:%d", reading->path, reading->line);
    struct sh_round_format *format = find_section(reading, section, where);
    if (format == NULL) {
        return 0;
    }
    enum sh_status status = sh_round_format_set_value(format, key, text, where, reading->err);
    if (status == SH_ERR_NOT_FOUND) {
        reading->err->status = SH_ERR_FORMAT; /* of the file, which is there */
    }
    return status == SH_OK ? 1 : 0;
}

/* inih's line reader: as fgets, counting lines, so that a refusal can name its own. */
static char *read_line(char *line, int n_bytes, void *context)
{
    struct reading *reading = context;
    char *got = fgets(line, n_bytes, reading->stream);
    reading->line += got != NULL ? 1 : 0;
    return got;
}

static void check_all(struct reading *reading)
{
    for (size_t i = 0; i < reading->set.n_formats && reading->err->status == SH_OK; i++) {
        (void)sh_round_format_check(&reading->set.format[i], reading->path, reading->err);
    }
}

enum sh_status
sh_round_format_read(const char *path, struct sh_round_format_set *set, struct sh_error *err)
{
    struct sh_error own = {0};
    struct reading reading = {.path = path, .set = *set, .err = &own};
    reading.stream = fopen(path, "r");
    if (reading.stream == NULL) {
        return sh_error_set_os(err, errno, path, "check the name", "cannot open the formats");
    }
    int first_bad = ini_parse_stream(read_line, &reading, take_line, &reading);
    bool is_unread = ferror(reading.stream) != 0;
    (void)fclose(reading.stream);
    if (is_unread) {
        return sh_error_set(err, SH_ERR_IO, path, "check the file", "cannot read the formats");
    }
    if (first_bad != 0 && own.status == SH_OK) {
        (void)sh_error_set(&own, SH_ERR_FORMAT, path, "write [FORMAT] or key = number",
                           "line %d is neither a section nor a setting", first_bad);
    }
    check_all(&reading);
    if (own.status == SH_OK) {
        *set = reading.set;
    } else if (err != NULL && err->status == SH_OK) {
        *err = own;
    }
    return own.status;
}
