/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "app/calibration_json.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

#include "report/shot_json.h"

/* An object with no failure so far; the first one leaves it NULL. Each takes what it is given.
 */
static json_t *set(json_t *object, const char *key, json_t *value)
{
    if (object == NULL || value == NULL ||
        json_object_set_new_nocheck(object, key, value) != 0) {
        json_decref(object);
        if (object == NULL) {
            json_decref(value);
        }
        return NULL;
    }
    return object;
}

static json_t *make_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *set_number(json_t *object, const char *key, double value)
{
    return set(object, key, make_number(value));
}

static json_t *set_unless(json_t *object, const char *key, bool is_known, double value)
{
    return set(object, key, is_known ? make_number(value) : json_null());
}

static json_t *make_reading(const struct sh_calibration_result *result, size_t i)
{
    const struct sh_reading_table_row *row = &result->table.row[i];
    json_t *object = set_number(json_object(), "mass_kg", row->mass_kg);
    object = set_number(object, "force_n", result->calibration.reading[i].force_n);
    object = set_number(object, "counts", row->counts);
    object = set_unless(object, "noise_counts", row->noise_counts > 0.0, row->noise_counts);
    object = set_number(object, "samples", row->n_samples);
    object = set(object, "way", json_string(row->is_down ? "down" : "up"));
    object = set(object, "settled", json_boolean(!row->is_unsettled));
    return set_number(object, "residual_n", result->check.residual_n[i]);
}

/* Appends; the list is NULL after a failure. */
static json_t *append(json_t *list, json_t *value)
{
    if (list == NULL || value == NULL || json_array_append_new(list, value) != 0) {
        json_decref(list);
        if (list == NULL) {
            json_decref(value);
        }
        return NULL;
    }
    return list;
}

static json_t *make_readings(const struct sh_calibration_result *result)
{
    json_t *list = json_array();
    for (size_t i = 0; i < result->table.n; i++) {
        list = append(list, make_reading(result, i));
    }
    return list;
}

static json_t *make_test(bool is_known, const struct sh_line_fit_test *test)
{
    if (!is_known) {
        return json_null();
    }
    json_t *object = set_number(json_object(), "f", test->f);
    object = set(object, "freedom1", json_integer((json_int_t)test->freedom1));
    object = set(object, "freedom2", json_integer((json_int_t)test->freedom2));
    return set_number(object, "p", test->p);
}

static json_t *make_laws(const struct sh_calibration *calibration)
{
    json_t *list = json_array();
    for (int law = 0; law < SH_CALIBRATION_LAWS; law++) {
        const struct sh_calibration_fit *fit = &calibration->fit[law];
        if (!fit->is_fitted) {
            continue;
        }
        const double freedom = (double)fit->freedom;
        json_t *object =
            set(json_object(), "law",
                json_string(sh_calibration_law_name((enum sh_calibration_law)law)));
        object = set(object, "chosen", json_boolean(law == (int)calibration->law));
        object = set_unless(object, "residual_sd_counts", fit->freedom > 0,
                            sqrt(fit->residual_squares / freedom));
        object = set_number(object, "aic", fit->aic);
        object = set(object, "against_line", make_test(fit->has_test, &fit->test));
        object = set(object, "lack_of_fit", make_test(fit->has_lack, &fit->lack));
        list = append(list, object);
    }
    return list;
}

static json_t *make_channel(const struct sh_channel *channel)
{
    json_t *object = set(json_object(), "calibrated", json_string(channel->calibrated));
    object = set_number(object, "noise", channel->noise);
    if (channel->n_curve == 0) {
        object = set_number(object, "scale", channel->scale);
        object = set_number(object, "scale_u", channel->scale_u);
        object = set_number(object, "zero", channel->zero);
        object = set_number(object, "zero_u", channel->zero_u);
        object = set_number(object, "quadratic", channel->quadratic);
        object = set_number(object, "quadratic_u", channel->quadratic_u);
    } else {
        json_t *curve = json_array();
        for (size_t i = 0; i < channel->n_curve; i++) {
            const struct sh_curve_point *point = &channel->curve[i];
            json_t *row = append(json_array(), make_number(point->counts));
            row = append(row, make_number(point->value));
            curve = append(curve, append(row, make_number(point->u)));
        }
        object = set(object, "curve", curve);
    }
    if (channel->load_drift_time_s > 0.0) {
        json_t *drift = set_number(json_object(), "ratio", channel->load_drift_ratio);
        drift = set_number(drift, "time_s", channel->load_drift_time_s);
        object = set(object, "load_drift", drift);
    }
    return object;
}

static json_t *make_forces(const struct sh_calibration_result *result)
{
    const struct sh_hung_mass_force *largest = &result->largest;
    json_t *object =
        set_number(json_object(), "gravity_m_s2", result->place.gravity_m_s2.value);
    object = set_number(object, "gravity_u_m_s2", result->place.gravity_m_s2.u);
    object = set_number(object, "buoyancy_ratio", SH_HUNG_MASS_BUOYANCY_RATIO);
    object = set_number(object, "largest_n", largest->force_n);
    object = set_number(object, "largest_mass_u_n", largest->mass_u_n);
    object = set_number(object, "largest_gravity_u_n", largest->gravity_u_n);
    return set_number(object, "largest_buoyancy_u_n", largest->buoyancy_u_n);
}

static json_t *make_root(const struct sh_calibration_result *result,
                         const struct sh_calibration_json_subject *subject)
{
    const struct sh_calibration_check *check = &result->check;
    const struct sh_load_drift *drift = &result->drift;
    const enum sh_calibration_law law = result->calibration.law;
    json_t *root = set(json_object(), "format", json_string("stringhand-calibration"));
    root = set(root, "version", json_integer(1));
    root = set(root, "program", json_string("stringhand " SH_VERSION));
    root = set(root, "sensor", sh_shot_json_make_string(subject->sensor));
    root = set(root, "stream", json_string(subject->stream));
    root = set(root, "column", json_integer((json_int_t)subject->column));
    root = set(root, "law", json_string(sh_calibration_law_name(law)));
    root = set(root, "channel", make_channel(&result->channel));
    root = set_number(root, "net_force_u_n", sh_calibration_result_get_u_n(result));
    root = set_number(root, "residual_sd_n", check->residual_sd_n);
    root = set_number(root, "residual_max_n", check->residual_max_n);
    root =
        set_unless(root, "zero_drift_n", check->zero_drift.is_known, check->zero_drift.force_n);
    root = set_unless(root, "zero_drift_counts", check->zero_drift.is_known,
                      check->zero_drift.counts);
    root = set_unless(root, "zero_drift_u_counts", check->zero_drift.is_known,
                      check->zero_drift.u_counts);
    root = set_unless(root, "hysteresis_n", check->hysteresis.is_known,
                      check->hysteresis.difference_n);
    root = set_unless(root, "hysteresis_at_n", check->hysteresis.is_known,
                      check->hysteresis.force_n);
    root = set_unless(root, "load_drift_ratio", result->has_steady, drift->ratio);
    root = set_unless(root, "load_drift_ratio_u", result->has_steady, drift->ratio_u);
    root = set_unless(root, "load_drift_p", result->has_steady, drift->p);
    root = set(root, "forces", make_forces(result));
    root = set(root, "laws", make_laws(&result->calibration));
    return set(root, "readings", make_readings(result));
}

enum sh_status sh_calibration_json_write(const struct sh_calibration_result *result,
                                         const struct sh_calibration_json_subject *subject,
                                         struct sh_text *text)
{
    json_t *root = make_root(result, subject);
    char *bytes = root != NULL ? json_dumps(root, JSON_INDENT(1)) : NULL;
    if (bytes == NULL) {
        text->status = text->status == SH_OK ? SH_ERR_MEMORY : text->status;
    } else {
        sh_text_puts(text, bytes);
        sh_text_puts(text, "\n");
    }
    free(bytes);
    json_decref(root);
    return text->status;
}
