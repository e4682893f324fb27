/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/load_field.h"

#define FINGERS SH_DAY_LOAD_FINGERS

static enum sh_status
put_one(const struct sh_load_field_sink *sink, const char *key, bool is_known, double number)
{
    const struct sh_load_field field = {key, 1, {is_known}, {number}};
    return sink->field(sink->context, &field);
}

static enum sh_status
put_count(const struct sh_load_field_sink *sink, const char *key, size_t count)
{
    return put_one(sink, key, true, (double)count);
}

/* A figure and its uncertainty, of n quantities a stride apart. */
static enum sh_status put_pair(const struct sh_load_field_sink *sink,
                               const char *key,
                               const char *u_key,
                               const struct sh_quantity *quantity,
                               size_t n)
{
    struct sh_load_field value = {.key = key, .n_parts = n};
    struct sh_load_field u = {.key = u_key, .n_parts = n};
    for (size_t i = 0; i < n; i++) {
        value.is_known[i] = sh_quantity_is_known(&quantity[i]);
        u.is_known[i] = value.is_known[i];
        value.number[i] = quantity[i].value;
        u.number[i] = quantity[i].u;
    }
    enum sh_status status = sink->field(sink->context, &value);
    return status == SH_OK ? sink->field(sink->context, &u) : status;
}

static enum sh_status put_counts(const struct sh_load_field_sink *sink,
                                 const char *key,
                                 bool is_known,
                                 const size_t counts[FINGERS])
{
    struct sh_load_field field = {.key = key, .n_parts = FINGERS};
    for (size_t i = 0; i < FINGERS; i++) {
        field.is_known[i] = is_known;
        field.number[i] = (double)counts[i];
    }
    return sink->field(sink->context, &field);
}

static enum sh_status put_numbers(const struct sh_day_load *load,
                                  const struct sh_load_field_sink *sink)
{
    const struct sh_quantity draws = sh_day_load_get_draws(load);
    const struct {
        const char *key;
        size_t count;
    } counts[] = {
        {"draws_at_least", load->n_draws},  {"let_downs", load->n_let_downs},
        {"draws_added", load->n_added},     {"draws_without_force", load->n_without_force},
        {"recordings", load->n_recordings}, {"recordings_unread", load->n_unread},
    };
    enum sh_status status = put_one(sink, "draws", sh_quantity_is_known(&draws), draws.value);
    for (size_t i = 0; i < sizeof counts / sizeof counts[0] && status == SH_OK; i++) {
        status = put_count(sink, counts[i].key, counts[i].count);
    }
    if (status == SH_OK) {
        status = put_one(sink, "added_draw_weight_n", load->added_weight_n > 0.0,
                         load->added_weight_n);
    }
    return status;
}

static enum sh_status put_impulses(const struct sh_day_load *load,
                                   const struct sh_load_field_sink *sink)
{
    struct sh_quantity impulse[FINGERS];
    struct sh_quantity share[FINGERS];
    struct sh_quantity all = sh_day_load_get_impulse_n_s(load, FINGERS);
    struct sh_load_field least = {.key = "finger_impulse_at_least_n_s", .n_parts = FINGERS};
    for (size_t i = 0; i < FINGERS; i++) {
        impulse[i] = sh_day_load_get_impulse_n_s(load, i);
        share[i] = sh_day_load_get_share(load, i);
        least.is_known[i] = true;
        least.number[i] = load->impulse_n_s[i].value;
    }
    enum sh_status status =
        put_pair(sink, "finger_impulse_n_s", "finger_impulse_u_n_s", impulse, FINGERS);
    status = status == SH_OK ? sink->field(sink->context, &least) : status;
    if (status == SH_OK) {
        status = put_pair(sink, "impulse_sum_n_s", "impulse_sum_u_n_s", &all, 1);
    }
    if (status == SH_OK) {
        status = put_one(sink, "impulse_sum_at_least_n_s", true, load->sum_n_s.value);
    }
    return status == SH_OK ? put_pair(sink, "finger_share", "finger_share_u", share, FINGERS)
                           : status;
}

enum sh_status sh_load_field_each_amount(const struct sh_day_load *load,
                                         double level_n,
                                         const struct sh_load_field_sink *sink)
{
    enum sh_status status = put_numbers(load, sink);
    if (status == SH_OK) {
        status = put_impulses(load, sink);
    }
    if (status == SH_OK) {
        status = put_pair(sink, "finger_peak_n", "finger_peak_u_n", load->peak_n, FINGERS);
    }
    if (status == SH_OK) {
        status = put_counts(sink, "draws_with_peak", true, load->n_peaks);
    }
    return status == SH_OK ? put_counts(sink, "draws_above_level", level_n > 0.0, load->n_above)
                           : status;
}

/* The keys of one average: value and uncertainty, short and long. */
struct keys {
    const char *key[2];
    const char *u_key[2];
};

static const struct keys finger_keys = {
    {"finger_impulse_7_day_n_s", "finger_impulse_28_day_n_s"},
    {"finger_impulse_7_day_u_n_s", "finger_impulse_28_day_u_n_s"}};
static const struct keys sum_keys = {{"impulse_sum_7_day_n_s", "impulse_sum_28_day_n_s"},
                                     {"impulse_sum_7_day_u_n_s", "impulse_sum_28_day_u_n_s"}};

enum sh_status sh_load_field_each_average(const struct sh_load_history_row *row,
                                          const struct sh_load_field_sink *sink)
{
    const struct sh_load_history_average *sum = &row->average[SH_LOAD_HISTORY_ALL];
    const struct sh_load_history_average *draws = &row->average[SH_LOAD_HISTORY_DRAWS];
    enum sh_status status = SH_OK;
    for (size_t k = 0; k < 2 && status == SH_OK; k++) {
        struct sh_quantity fingers[FINGERS];
        for (size_t i = 0; i < FINGERS; i++) {
            fingers[i] = row->average[i].value[k];
        }
        status = put_pair(sink, finger_keys.key[k], finger_keys.u_key[k], fingers, FINGERS);
        if (status == SH_OK) {
            status = put_pair(sink, sum_keys.key[k], sum_keys.u_key[k], &sum->value[k], 1);
        }
        if (status == SH_OK) {
            status = put_one(sink, k == 0 ? "draws_7_day" : "draws_28_day",
                             sh_quantity_is_known(&draws->value[k]), draws->value[k].value);
        }
    }
    if (status == SH_OK) {
        status = put_count(sink, "impulse_average_days", sum->n_days);
    }
    if (status == SH_OK) {
        status = put_count(sink, "draws_average_days", draws->n_days);
    }
    return status == SH_OK ? put_pair(sink, "impulse_sum_7_over_28_day",
                                      "impulse_sum_7_over_28_day_u", &sum->ratio, 1)
                           : status;
}
