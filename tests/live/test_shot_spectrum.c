/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "live/shot_spectrum.h"

#include <jansson.h>
#include <math.h>

#include "live/evening.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The hold has a hole at 24.5 s, so that its spectrum wants a clicker before. */
static void find(const struct scratch *scratch,
                 const struct sh_shot_record *record,
                 struct sh_shot_spectra *spectra)
{
    struct sh_recording_reader *reader = NULL;
    const struct sh_recording_reader_config config = sh_recording_reader_config_default();
    assert_int_equal(sh_recording_reader_open(scratch->folder, &config, &reader, NULL), SH_OK);
    assert_int_equal(sh_shot_spectrum_find(reader, record, SH_TIMEBASE_BETWEEN, spectra, NULL),
                     SH_OK);
    sh_recording_reader_close(&reader);
}

static void test_ring_is_where_the_bow_rings(void **state)
{
    struct scratch scratch;
    struct sh_shot_spectra spectra;
    const struct sh_shot_record record = evening_get_record();
    size_t top = 0;
    scratch_open(&scratch);
    evening_make(&scratch);
    find(&scratch, &record, &spectra);
    assert_int_equal(spectra.ring.n, SH_SHOT_SPECTRUM_POINTS);
    assert_near(spectra.ring.step_hz, 2.0, 1e-12, 0.0);
    for (size_t i = 0; i < spectra.ring.n; i++) {
        top = spectra.ring.density[i] > spectra.ring.density[top] ? i : top;
        bool has_limit = isfinite(spectra.ring.lo[i]) != 0;
        assert_false(has_limit);
    }
    assert_near((double)top * spectra.ring.step_hz, EVENING_RING_HZ, 6.0, 0.0);
    assert_int_equal(spectra.hold.n, 0);
    scratch_close(&scratch);
}

/* Before the hole, the force falls by 3 N in half a second: the density is low-lying. */
static void test_hold_and_its_limits(void **state)
{
    struct scratch scratch;
    struct sh_shot_spectra spectra;
    struct sh_shot_record record = evening_get_record();
    double power = 0.0;
    record.shot.event_s[SH_EVENT_CLICKER] = sh_quantity_known(24.4, 0.001);
    scratch_open(&scratch);
    evening_make(&scratch);
    find(&scratch, &record, &spectra);
    assert_int_equal(spectra.hold.n, SH_SHOT_SPECTRUM_POINTS);
    assert_near(spectra.hold.step_hz, 0.125, 1e-12, 0.0);
    for (size_t i = 1; i < spectra.hold.n; i++) {
        assert_true(spectra.hold.lo[i] < spectra.hold.density[i]);
        assert_true(spectra.hold.hi[i] > spectra.hold.density[i]);
        /* chi square of 10 degrees: 20.48 / 10 and 3.25 / 10 */
        assert_near(spectra.hold.density[i] / spectra.hold.lo[i], 2.05, 0.05, 0.0);
        assert_near(spectra.hold.density[i] / spectra.hold.hi[i], 0.325, 0.015, 0.0);
        power += spectra.hold.density[i] * spectra.hold.step_hz;
    }
    /* by scipy.signal.windows.dpss and numpy.fft of that force at 200 Hz */
    assert_near(sqrt(power), 0.5773, 0.003, 0.0);
    assert_near(spectra.hold.density[8], 0.1909, 0.003, 0.0);
    scratch_close(&scratch);
}

static void test_nothing_known(void **state)
{
    struct scratch scratch;
    struct sh_shot_spectra spectra;
    struct sh_text text;
    const struct sh_shot_record record = {.shot = {.n = 5}};
    scratch_open(&scratch);
    evening_make(&scratch);
    find(&scratch, &record, &spectra);
    sh_text_init(&text, 0);
    sh_shot_spectrum_write(5, &spectra, &text);
    assert_string_equal(text.data, "{\"n\":5,\"series\":[]}");
    sh_text_close(&text);
    scratch_close(&scratch);
}

static void test_json(void **state)
{
    static struct sh_shot_spectra spectra = {
        .hold = {2, 0.5, {1.0, 2.0}, {0.5, 1.0}, {2.0, 4.0}},
        .ring = {1, 2.0, {3.0}, {(double)NAN}, {(double)NAN}}};
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_shot_spectrum_write(1, &spectra, &text);
    assert_string_equal(
        text.data,
        "{\"n\":1,\"series\":[{\"role\":\"string_force\",\"unit\":\"N\",\"f_hz\":[0,0.5],"
        "\"density\":[1,2],\"density_unit\":\"N2/Hz\",\"lo\":[0.5,1],\"hi\":[2,4]},"
        "{\"role\":\"bow_ring\",\"unit\":\"m/s2\",\"f_hz\":[0],\"density\":[3],"
        "\"density_unit\":\"(m/s2)2/Hz\",\"lo\":[null],\"hi\":[null]}]}");
    json_t *document = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(document);
    json_decref(document);
    sh_text_close(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ring_is_where_the_bow_rings),
        cmocka_unit_test(test_hold_and_its_limits),
        cmocka_unit_test(test_nothing_known),
        cmocka_unit_test(test_json),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
