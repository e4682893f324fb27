/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/catalog.h"

#include <stdio.h>
#include <string.h>

static const struct sh_catalog_row rows[SH_MEASURE_COUNT] = {
#define X(name, stem, unit, symbol, parts, title)                                              \
    {#name, stem, unit, symbol, SH_PARTS_##parts, title},
    SH_MEASURE_LIST(X)
#undef X
};

static const size_t places[SH_MEASURE_COUNT] = {
#define X(name, stem, unit, symbol, parts, title) SH_MEASURE_##name##_FIRST,
    SH_MEASURE_LIST(X)
#undef X
};

const struct sh_catalog_row *sh_catalog_get_row(enum sh_measure measure)
{
    return (unsigned)measure < SH_MEASURE_COUNT ? &rows[measure] : NULL;
}

size_t sh_catalog_get_parts(enum sh_measure measure)
{
    const struct sh_catalog_row *row = sh_catalog_get_row(measure);
    if (row == NULL) {
        return 0;
    }
    switch (row->parts) {
    case SH_PARTS_ONE:
        return SH_PARTS_ONE_COUNT;
    case SH_PARTS_FINGERS:
        return SH_PARTS_FINGERS_COUNT;
    case SH_PARTS_BANDS:
        return SH_PARTS_BANDS_COUNT;
    }
    return 0;
}

const char *sh_catalog_get_part_name(enum sh_measure measure, size_t part)
{
    static const char *const fingers[] = {"index", "middle", "ring"};
    static const char *const bands[] = {"2-4 Hz", "4-8 Hz", "8-12 Hz", "12-25 Hz"};
    if (part >= sh_catalog_get_parts(measure)) {
        return "";
    }
    switch (rows[measure].parts) {
    case SH_PARTS_ONE:
        return "";
    case SH_PARTS_FINGERS:
        return fingers[part];
    case SH_PARTS_BANDS:
        return bands[part];
    }
    return "";
}

void sh_catalog_key(enum sh_measure measure,
                    enum sh_catalog_suffix suffix,
                    char key[SH_CATALOG_KEY_BYTES])
{
    static const char *const middles[SH_CATALOG_SUFFIX_COUNT] = {"", "_u", "_lo", "_hi"};
    const struct sh_catalog_row *row = sh_catalog_get_row(measure);
    key[0] = '\0';
    if (row == NULL || (unsigned)suffix >= SH_CATALOG_SUFFIX_COUNT) {
        return;
    }
    const char *mark = row->unit[0] == '\0' ? "" : "_";
    (void)snprintf(key, SH_CATALOG_KEY_BYTES, "%s%s%s%s", row->stem, middles[suffix], mark,
                   row->unit);
}

bool sh_catalog_find(const char *key, enum sh_measure *out)
{
    char candidate[SH_CATALOG_KEY_BYTES];
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        sh_catalog_key((enum sh_measure)i, SH_CATALOG_VALUE, candidate);
        if (strcmp(candidate, key) == 0) {
            *out = (enum sh_measure)i;
            return true;
        }
    }
    return false;
}

const struct sh_quantity *
sh_catalog_get(const struct sh_measures *measures, enum sh_measure measure, size_t part)
{
    if (part >= sh_catalog_get_parts(measure)) {
        return NULL;
    }
    return &measures->quantity[places[measure] + part];
}

struct sh_quantity *
sh_catalog_get_mutable(struct sh_measures *measures, enum sh_measure measure, size_t part)
{
    if (part >= sh_catalog_get_parts(measure)) {
        return NULL;
    }
    return &measures->quantity[places[measure] + part];
}
