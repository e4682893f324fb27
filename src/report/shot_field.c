/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/shot_field.h"

#include <math.h>
#include <stdio.h>

/* Where a walk over the fields stands. */
struct walk {
    const struct sh_shot_record *record;
    const struct sh_shot_field_sink *sink;
};

static double pick_number(const struct sh_quantity *quantity, enum sh_catalog_suffix suffix)
{
    switch (suffix) {
    case SH_CATALOG_VALUE:
        return quantity->value;
    case SH_CATALOG_U:
        return quantity->u;
    case SH_CATALOG_LO:
        return quantity->has_interval ? quantity->lo : (double)NAN;
    case SH_CATALOG_HI:
        return quantity->has_interval ? quantity->hi : (double)NAN;
    case SH_CATALOG_SUFFIX_COUNT:
        break;
    }
    return (double)NAN;
}

static void set_part(struct sh_shot_field *field,
                     size_t part,
                     const struct sh_quantity *quantity,
                     enum sh_catalog_suffix suffix)
{
    double number = pick_number(quantity, suffix);
    field->is_known[part] = sh_quantity_is_known(quantity) && isfinite(number);
    field->number[part] = field->is_known[part] ? number : 0.0;
}

static enum sh_status visit_event(const struct walk *walk, enum sh_event event)
{
    static const char *const middles[SH_CATALOG_SUFFIX_COUNT] = {"", "_u", "_lo", "_hi"};
    for (int i = 0; i < SH_CATALOG_SUFFIX_COUNT; i++) {
        char key[SH_CATALOG_KEY_BYTES];
        (void)snprintf(key, sizeof key, "%s%s_s", sh_shot_event_stem(event), middles[i]);
        struct sh_shot_field field = {.group = SH_SHOT_FIELD_EVENTS, .key = key, .n_parts = 1};
        set_part(&field, 0, &walk->record->shot.event_s[event], (enum sh_catalog_suffix)i);
        enum sh_status status = walk->sink->take(walk->sink->context, &field);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

/* What showed the clicker and how sure that is; no channel, nothing known. */
static enum sh_status visit_click(const struct walk *walk)
{
    const struct sh_shot *shot = &walk->record->shot;
    bool has_sensor = shot->clicker_sensor != SH_CLICKER_NONE;
    struct sh_shot_field sensor = {.group = SH_SHOT_FIELD_EVENTS,
                                   .type = SH_SHOT_FIELD_TEXT,
                                   .key = "clicker_sensor",
                                   .n_parts = 1,
                                   .is_known = {has_sensor},
                                   .text = sh_shot_clicker_sensor_name(shot->clicker_sensor)};
    struct sh_shot_field probability = {
        .group = SH_SHOT_FIELD_EVENTS, .key = "clicker_probability", .n_parts = 1};
    set_part(&probability, 0,
             &(struct sh_quantity){.value = shot->clicker_probability,
                                   .why = has_sensor ? SH_WHY_KNOWN : SH_WHY_NO_CHANNEL},
             SH_CATALOG_VALUE);
    enum sh_status status = walk->sink->take(walk->sink->context, &sensor);
    return status == SH_OK ? walk->sink->take(walk->sink->context, &probability) : status;
}

static enum sh_status visit_measure(const struct walk *walk, enum sh_measure measure)
{
    for (int i = 0; i < SH_CATALOG_SUFFIX_COUNT; i++) {
        enum sh_catalog_suffix suffix = (enum sh_catalog_suffix)i;
        char key[SH_CATALOG_KEY_BYTES];
        sh_catalog_key(measure, suffix, key);
        struct sh_shot_field field = {.group = SH_SHOT_FIELD_MEASURES,
                                      .key = key,
                                      .n_parts = sh_catalog_get_parts(measure)};
        for (size_t part = 0; part < field.n_parts; part++) {
            set_part(&field, part, sh_catalog_get(&walk->record->measures, measure, part),
                     suffix);
        }
        enum sh_status status = walk->sink->take(walk->sink->context, &field);
        if (status != SH_OK) {
            return status;
        }
    }
    return SH_OK;
}

static enum sh_status visit_clipped(const struct walk *walk)
{
    enum sh_answer answer = walk->record->measures.vibration_clipped;
    struct sh_shot_field field = {.group = SH_SHOT_FIELD_MEASURES,
                                  .type = SH_SHOT_FIELD_ANSWER,
                                  .key = SH_CATALOG_CLIPPED_KEY,
                                  .n_parts = 1,
                                  .is_known = {answer != SH_ANSWER_UNKNOWN},
                                  .answer = answer == SH_ANSWER_YES};
    return walk->sink->take(walk->sink->context, &field);
}

enum sh_status sh_shot_field_each(const struct sh_shot_record *record,
                                  const struct sh_shot_field_sink *sink)
{
    struct walk walk = {record, sink};
    enum sh_status status = SH_OK;
    for (int i = 0; i < SH_EVENT_COUNT && status == SH_OK; i++) {
        status = visit_event(&walk, (enum sh_event)i);
        if (i == SH_EVENT_CLICKER && status == SH_OK) {
            status = visit_click(&walk);
        }
    }
    for (int i = 0; i < SH_MEASURE_COUNT && status == SH_OK; i++) {
        status = visit_measure(&walk, (enum sh_measure)i);
        if (i == SH_MEASURE_VIBRATION_PEAK && status == SH_OK) {
            status = visit_clipped(&walk);
        }
    }
    return status;
}

bool sh_shot_field_is_known(const struct sh_shot_field *field)
{
    for (size_t part = 0; part < field->n_parts; part++) {
        if (field->is_known[part]) {
            return true;
        }
    }
    return false;
}

bool sh_shot_field_get_changed(const struct sh_shot_record *record,
                               size_t i,
                               char key[SH_CATALOG_KEY_BYTES])
{
    size_t n_before = 0;
    if (record->is_kind_changed && n_before++ == i) {
        (void)snprintf(key, SH_CATALOG_KEY_BYTES, "kind");
        return true;
    }
    for (int event = 0; event < SH_EVENT_COUNT; event++) {
        if (record->is_event_changed[event] && n_before++ == i) {
            (void)snprintf(key, SH_CATALOG_KEY_BYTES, "%s_s",
                           sh_shot_event_stem((enum sh_event)event));
            return true;
        }
    }
    for (int measure = 0; measure < SH_MEASURE_COUNT; measure++) {
        if (record->is_measure_changed[measure] && n_before++ == i) {
            sh_catalog_key((enum sh_measure)measure, SH_CATALOG_VALUE, key);
            return true;
        }
    }
    return false;
}
