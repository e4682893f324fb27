/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/live_clock.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "live/number_text.h"

#define DIGITS 9

static void put_format(const struct sh_round_format *format, struct sh_text *text)
{
    sh_text_puts(text, "{\"name\":");
    sh_number_text_put_string(text, format->name);
    sh_text_printf(text, ",\"kind\":\"%s\"", sh_round_format_kind_name(format->kind));
    for (size_t i = 0; sh_round_format_get_key(i) != NULL; i++) {
        sh_text_printf(text, ",\"%s\":", sh_round_format_get_key(i));
        sh_number_text_put(text, sh_round_format_get_value(format, i), DIGITS);
    }
    sh_text_puts(text, "}");
}

static void put_name(const struct sh_round_format *format, struct sh_text *text)
{
    sh_number_text_put_string(text, format->name);
}

static void put_all(const struct sh_capture_setup *setup,
                    void (*put)(const struct sh_round_format *format, struct sh_text *text),
                    struct sh_text *text)
{
    const struct sh_round_format_set set = sh_round_format_default();
    const char *comma = "";
    if (setup->has_clock && sh_round_format_find(&set, setup->clock.name) == NULL) {
        put(&setup->clock, text);
        comma = ",";
    }
    for (size_t i = 0; i < set.n_formats; i++) {
        const bool is_changed =
            setup->has_clock && strcmp(set.format[i].name, setup->clock.name) == 0;
        sh_text_puts(text, comma);
        put(is_changed ? &setup->clock : &set.format[i], text);
        comma = ",";
    }
}

void sh_live_clock_put_formats(const struct sh_capture_setup *setup, struct sh_text *text)
{
    sh_text_puts(text, ",\"formats\":[");
    put_all(setup, put_name, text);
    sh_text_puts(text, "],\"rounds\":[");
    put_all(setup, put_format, text);
    sh_text_puts(text, "]");
}

static const struct sh_round_format *find_format(const struct sh_round_format_set *set,
                                                 const struct sh_capture_setup *setup,
                                                 const char *name)
{
    if (name != NULL && setup->has_clock && strcmp(setup->clock.name, name) == 0) {
        return &setup->clock;
    }
    return name != NULL ? sh_round_format_find(set, name) : NULL;
}

static enum sh_status set_value(struct sh_round_format *format,
                                const char *key,
                                const json_t *value,
                                struct sh_error *err)
{
    char number[32] = "";
    (void)snprintf(number, sizeof number, "%.17g", json_number_value(value));
    const char *text = json_is_number(value) ? number : json_string_value(value);
    return text != NULL ? sh_round_format_set_value(format, key, text, NULL, err)
                        : sh_error_set(err, SH_ERR_ARGUMENT, NULL, "write a plain number",
                                       "%.40s is no number", key);
}

enum sh_status sh_live_clock_choose(const struct sh_capture_setup *setup,
                                    const json_t *object,
                                    struct sh_round_format *out,
                                    struct sh_error *err)
{
    const struct sh_round_format_set set = sh_round_format_default();
    const char *name = json_string_value(json_object_get(object, "format"));
    json_t *settings = json_object_get(object, "set");
    const struct sh_round_format *found = find_format(&set, setup, name);
    if (found == NULL) {
        return sh_error_set(err, SH_ERR_ARGUMENT, NULL, "choose one of the list",
                            "there is no such clock");
    }
    struct sh_round_format format = *found;
    enum sh_status status = SH_OK;
    const char *key = NULL;
    json_t *value = NULL;
    json_object_foreach(settings, key, value)
    {
        if (status == SH_OK) {
            status = set_value(&format, key, value, err);
        }
    }
    if (status == SH_OK) {
        status = sh_round_format_check(&format, NULL, err);
    }
    if (status != SH_OK) {
        return SH_ERR_ARGUMENT;
    }
    *out = format;
    return SH_OK;
}

static const char *get_phase(const struct sh_shooting_clock_view *view)
{
    switch (view->state) {
    case SH_SHOOTING_CLOCK_LINE_UP:
        return "line-up";
    case SH_SHOOTING_CLOCK_SHOOTING:
        return view->is_warning ? "warning" : "shooting";
    case SH_SHOOTING_CLOCK_OVER:
        return "over";
    case SH_SHOOTING_CLOCK_PAUSED:
        return "halted";
    case SH_SHOOTING_CLOCK_READY:
        break;
    }
    return "stopped";
}

static void put_count(struct sh_text *text, const char *key, bool is_known, unsigned n)
{
    if (is_known) {
        sh_text_printf(text, ",\"%s\":%u", key, n);
    } else {
        sh_text_printf(text, ",\"%s\":null", key);
    }
}

void sh_live_clock_put(const struct sh_shooting_clock_view *view,
                       const struct sh_round_format *format,
                       struct sh_text *text)
{
    if (view == NULL) {
        sh_text_puts(text, ",\"clock\":null");
        return;
    }
    const unsigned n_gone = view->n_gone[SH_SHOOTING_CLOCK_OWN];
    const bool is_alternating = format->kind == SH_ROUND_FORMAT_ALTERNATING;
    sh_text_printf(text, ",\"clock\":{\"phase\":\"%s\",\"left_s\":", get_phase(view));
    sh_number_text_put(text, view->left_s, DIGITS);
    sh_text_puts(text, ",\"format\":");
    sh_number_text_put_string(text, format->name);
    put_count(text, "arrows_left", format->n_arrows > 0,
              format->n_arrows > n_gone ? format->n_arrows - n_gone : 0);
    put_count(text, "archer", format->n_archers > 1, view->archer);
    sh_text_printf(text, ",\"side\":%s}",
                   !is_alternating                       ? "null"
                   : view->side == SH_SHOOTING_CLOCK_OWN ? "\"own\""
                                                         : "\"opponent\"");
}
