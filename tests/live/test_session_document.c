/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/session_document.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define SHOTS 12u

/* Holds of 3 s, one of 9 s as the tenth, 30 s apart; shares of fingers in all but the first. */
static void make_analysis(struct sh_analysis *analysis)
{
    sh_analysis_init(analysis, "evening", "wren");
    for (unsigned i = 0; i < SHOTS; i++) {
        struct sh_shot_record record = {.shot = {.n = i + 1, .kind = SH_SHOT_SHOT}};
        double start_s = 30.0 * (i + 1);
        double hold_s = i == 9 ? 9.0 : 3.0 + 0.1 * (i % 2);
        record.shot.event_s[SH_EVENT_DRAW_START] = sh_quantity_known(start_s, 0.01);
        record.shot.event_s[SH_EVENT_RELEASE] =
            sh_quantity_known(start_s + 1.0 + hold_s, 0.001);
        *sh_catalog_get_mutable(&record.measures, SH_MEASURE_HOLD_TIME, 0) =
            sh_quantity_known(hold_s, 0.01);
        for (size_t k = 0; i > 0 && k < 3; k++) {
            *sh_catalog_get_mutable(&record.measures, SH_MEASURE_FINGER_SHARE, k) =
                sh_quantity_known(k == 2 ? 0.2 : 0.4, 0.01 * (double)(k + 1));
        }
        assert_int_equal(sh_analysis_add(analysis, &record), SH_OK);
    }
}

static json_t *make_document(const struct sh_session_document *document)
{
    struct sh_text text;
    sh_text_init(&text, 0);
    assert_int_equal(sh_session_document_write(document, &text), SH_OK);
    json_t *made = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(made);
    sh_text_close(&text);
    return made;
}

static double get_number(const json_t *object, const char *key)
{
    assert_true(json_is_number(json_object_get(object, key)));
    return json_number_value(json_object_get(object, key));
}

/* Mean and limits by hand: the logarithms, their moving ranges over 1.128. */
static void check_hold(const json_t *hold)
{
    double mean = 0.0;
    double range = 0.0;
    double before = 0.0;
    for (unsigned i = 0; i < SHOTS; i++) {
        double x = log(i == 9 ? 9.0 : 3.0 + 0.1 * (i % 2));
        mean += x / SHOTS;
        range += i > 0 ? fabs(x - before) / (SHOTS - 1) : 0.0;
        before = x;
    }
    assert_near(get_number(hold, "mean"), exp(mean), 0.0, 1e-5);
    assert_near(get_number(hold, "lo"), exp(mean - 3.0 * range / 1.128), 0.0, 1e-5);
    assert_near(get_number(hold, "hi"), exp(mean + 3.0 * range / 1.128), 0.0, 1e-5);
    assert_int_equal(json_array_size(json_object_get(hold, "n")), SHOTS);
    assert_int_equal(json_array_size(json_object_get(hold, "outside")), 1);
    assert_int_equal(json_integer_value(json_array_get(json_object_get(hold, "outside"), 0)),
                     10);
    assert_near(json_number_value(json_array_get(json_object_get(hold, "t_s"), 1)), 64.1, 1e-6,
                0.0);
}

/* One, of the hold; what the band holds stands in in_band alone. */
static void check_sentences(const json_t *sentences)
{
    const char *said = json_string_value(json_array_get(sentences, 0));
    assert_int_equal(json_array_size(sentences), 1);
    assert_non_null(said);
    assert_non_null(strstr(said, "12 arrows were held, most of them "));
    assert_non_null(strstr(said, "; 1 lies outside."));
}

static void test_everything(void **state)
{
    static struct sh_shot_spectra spectra[SHOTS];
    struct sh_analysis analysis;
    make_analysis(&analysis);
    spectra[4].hold = (struct sh_shot_spectrum){3, 0.5, {1.0, 2.0, 3.0}, {0.0}, {0.0}};
    const struct sh_session_document document = {.analysis = &analysis,
                                                 .spectra = spectra,
                                                 .has_band = true,
                                                 .band_lo_s = 2.0,
                                                 .band_hi_s = 3.0};
    json_t *made = make_document(&document);
    const json_t *spectrum = json_array_get(json_object_get(made, "spectra"), 0);
    const json_t *shares = json_object_get(made, "shares");
    const json_t *band = json_object_get(made, "in_band");
    check_hold(json_object_get(made, "hold"));
    assert_int_equal(json_array_size(json_object_get(made, "spectra")), 1);
    assert_near(get_number(spectrum, "n"), 5.0, 0.0, 0.0);
    assert_int_equal(json_array_size(json_object_get(spectrum, "f_hz")), 2);
    assert_int_equal(json_array_size(json_object_get(shares, "n")), SHOTS - 1);
    assert_int_equal(json_array_size(json_object_get(shares, "ring")), SHOTS - 1);
    assert_near(
        json_number_value(json_array_get(json_array_get(json_object_get(shares, "u"), 0), 2)),
        0.03, 1e-9, 0.0);
    /* 6 of 12: Wilson's limits are 0.2538 and 0.7462 */
    assert_near(get_number(band, "share"), 0.5, 1e-6, 0.0);
    assert_near(get_number(band, "lo"), 0.2538, 1e-4, 0.0);
    assert_near(get_number(band, "hi"), 0.7462, 1e-4, 0.0);
    assert_near(get_number(band, "from_s"), 2.0, 1e-6, 0.0);
    assert_near(get_number(band, "to_s"), 3.0, 1e-6, 0.0);
    check_sentences(json_object_get(made, "sentences"));
    json_decref(made);
    sh_analysis_close(&analysis);
}

static void test_nothing(void **state)
{
    struct sh_analysis analysis;
    sh_analysis_init(&analysis, "empty", "wren");
    const struct sh_session_document document = {.analysis = &analysis, .has_band = true};
    json_t *made = make_document(&document);
    assert_true(json_is_null(json_object_get(json_object_get(made, "hold"), "mean")));
    assert_true(json_is_null(json_object_get(made, "in_band")));
    assert_int_equal(json_array_size(json_object_get(made, "spectra")), 0);
    json_decref(made);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_everything),
        cmocka_unit_test(test_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
