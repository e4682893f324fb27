/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "measure/catalog.h"

#include <string.h>

#include "support/cmocka_all.h"

/* The keys as the contract prints them, in its order; the judge of the table. */
static const char *const contract_keys[] = {
    "setup_time_s",
    "time_left_draw_s",
    "time_left_release_s",
    "draw_time_s",
    "hold_time_s",
    "expansion_time_s",
    "expansion_m",
    "clicker_reaction_s",
    "hold_force_n",
    "peak_force_n",
    "release_force_n",
    "creep_n",
    "creep_m",
    "creep_rate_n_per_s",
    "collapse_n",
    "flinch_n",
    "flinch_s",
    "tremor_rms_n",
    "tremor_peak_hz",
    "tremor_band_n",
    "bow_tremor_rms_m_s2",
    "bow_tremor_peak_hz",
    "bow_tremor_band_m_s2",
    "ring_hz",
    "ring_damping",
    "vibration_peak_m_s2",
    "finger_share",
    "finger_share_change",
    "finger_impulse_n_s",
    "finger_peak_n",
    "finger_load_rate_n_per_s",
    "finger_slide_s",
    "finger_release_spread_s",
    "hand_vibration_m_s2",
    "finger_release_s",
};

static void test_keys_are_those_of_the_contract_in_order(void **state)
{
    char key[SH_CATALOG_KEY_BYTES];
    assert_int_equal(SH_MEASURE_COUNT, sizeof contract_keys / sizeof contract_keys[0]);
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        sh_catalog_key((enum sh_measure)i, SH_CATALOG_VALUE, key);
        assert_string_equal(key, contract_keys[i]);
    }
}

static void test_suffixes_stand_before_the_unit(void **state)
{
    static const struct {
        enum sh_measure measure;
        const char *key[SH_CATALOG_SUFFIX_COUNT];
    } rows[] = {
        {SH_MEASURE_HOLD_TIME,
         {"hold_time_s", "hold_time_u_s", "hold_time_lo_s", "hold_time_hi_s"}},
        {SH_MEASURE_BOW_TREMOR_RMS,
         {"bow_tremor_rms_m_s2", "bow_tremor_rms_u_m_s2", "bow_tremor_rms_lo_m_s2",
          "bow_tremor_rms_hi_m_s2"}},
        {SH_MEASURE_FINGER_SHARE,
         {"finger_share", "finger_share_u", "finger_share_lo", "finger_share_hi"}},
        {SH_MEASURE_FINGER_LOAD_RATE,
         {"finger_load_rate_n_per_s", "finger_load_rate_u_n_per_s",
          "finger_load_rate_lo_n_per_s", "finger_load_rate_hi_n_per_s"}},
    };
    char key[SH_CATALOG_KEY_BYTES];
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        for (int s = 0; s < SH_CATALOG_SUFFIX_COUNT; s++) {
            sh_catalog_key(rows[i].measure, (enum sh_catalog_suffix)s, key);
            assert_string_equal(key, rows[i].key[s]);
        }
    }
}

static void test_every_key_fits_and_is_found_again(void **state)
{
    char key[SH_CATALOG_KEY_BYTES];
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        sh_catalog_key((enum sh_measure)i, SH_CATALOG_LO, key);
        assert_true(strlen(key) < SH_CATALOG_KEY_BYTES - 1);
        sh_catalog_key((enum sh_measure)i, SH_CATALOG_VALUE, key);
        enum sh_measure found = SH_MEASURE_COUNT;
        assert_true(sh_catalog_find(key, &found));
        assert_int_equal(found, i);
    }
}

static void test_what_is_no_measure_gives_nothing(void **state)
{
    char key[SH_CATALOG_KEY_BYTES] = "x";
    enum sh_measure found = SH_MEASURE_RING;
    struct sh_measures measures = {0};
    sh_catalog_key(SH_MEASURE_COUNT, SH_CATALOG_VALUE, key);
    assert_string_equal(key, "");
    sh_catalog_key(SH_MEASURE_RING, SH_CATALOG_SUFFIX_COUNT, key);
    assert_string_equal(key, "");
    assert_false(sh_catalog_find("creep", &found));
    assert_false(sh_catalog_find("", &found));
    assert_int_equal(found, SH_MEASURE_RING);
    assert_null(sh_catalog_get_row(SH_MEASURE_COUNT));
    assert_int_equal(sh_catalog_get_parts(SH_MEASURE_COUNT), 0);
    assert_string_equal(sh_catalog_get_part_name(SH_MEASURE_COUNT, 0), "");
    assert_null(sh_catalog_get(&measures, SH_MEASURE_COUNT, 0));
    assert_null(sh_catalog_get(&measures, SH_MEASURE_HOLD_TIME, 1));
    assert_null(sh_catalog_get_mutable(&measures, SH_MEASURE_FINGER_PEAK, 3));
}

static void test_parts_have_names(void **state)
{
    assert_int_equal(sh_catalog_get_parts(SH_MEASURE_HOLD_TIME), 1);
    assert_int_equal(sh_catalog_get_parts(SH_MEASURE_FINGER_PEAK), 3);
    assert_int_equal(sh_catalog_get_parts(SH_MEASURE_BOW_TREMOR_BAND), 4);
    assert_string_equal(sh_catalog_get_part_name(SH_MEASURE_HOLD_TIME, 0), "");
    assert_string_equal(sh_catalog_get_part_name(SH_MEASURE_FINGER_PEAK, 2), "ring");
    assert_string_equal(sh_catalog_get_part_name(SH_MEASURE_FINGER_PEAK, 3), "");
    assert_string_equal(sh_catalog_get_part_name(SH_MEASURE_TREMOR_BAND, 3), "12-25 Hz");
    assert_string_equal(sh_catalog_get_row(SH_MEASURE_RING_DAMPING)->symbol, "1");
    assert_string_equal(sh_catalog_get_row(SH_MEASURE_CREEP_LENGTH)->title, "creep (length)");
}

/* Every place of the flat array belongs to one part of one measure. */
static void test_places_are_each_taken_once(void **state)
{
    struct sh_measures measures = {0};
    size_t n = 0;
    for (int i = 0; i < SH_MEASURE_COUNT; i++) {
        for (size_t part = 0; part < sh_catalog_get_parts((enum sh_measure)i); part++) {
            struct sh_quantity *place =
                sh_catalog_get_mutable(&measures, (enum sh_measure)i, part);
            assert_int_equal(place->why, SH_WHY_NOT_ASKED);
            *place = sh_quantity_known((double)n, 0.0);
            assert_ptr_equal(place, sh_catalog_get(&measures, (enum sh_measure)i, part));
            assert_ptr_equal(place, &measures.quantity[n]);
            n++;
        }
    }
    assert_int_equal(n, SH_MEASURE_PLACES);
    assert_int_equal(SH_MEASURE_FINGER_RELEASE_LAST, SH_MEASURE_PLACES - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_keys_are_those_of_the_contract_in_order),
        cmocka_unit_test(test_suffixes_stand_before_the_unit),
        cmocka_unit_test(test_every_key_fits_and_is_found_again),
        cmocka_unit_test(test_what_is_no_measure_gives_nothing),
        cmocka_unit_test(test_parts_have_names),
        cmocka_unit_test(test_places_are_each_taken_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
