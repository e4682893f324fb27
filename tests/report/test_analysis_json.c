/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "report/analysis_json.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#include "report/made.h"
#include "support/cmocka_all.h"
#include "support/near.h"

/* The keys of the contract, written out by hand and not made from the program's own table. */
static const char *const event_keys[] = {
    "draw_start_s",    "draw_start_u_s",
    "draw_start_lo_s", "draw_start_hi_s",
    "full_draw_s",     "full_draw_u_s",
    "full_draw_lo_s",  "full_draw_hi_s",
    "clicker_s",       "clicker_u_s",
    "clicker_lo_s",    "clicker_hi_s",
    "clicker_sensor",  "clicker_probability",
    "release_s",       "release_u_s",
    "release_lo_s",    "release_hi_s",
    "let_down_s",      "let_down_u_s",
    "let_down_lo_s",   "let_down_hi_s",
    "end_s",           "end_u_s",
    "end_lo_s",        "end_hi_s",
};

/* A measure's key is its stem and its unit, its uncertainty's the two with "_u" between. */
static const struct {
    const char *stem;
    const char *unit;
} measure_keys[] = {
    {"setup_time", "_s"},
    {"time_left_draw", "_s"},
    {"time_left_release", "_s"},
    {"draw_time", "_s"},
    {"hold_time", "_s"},
    {"expansion_time", "_s"},
    {"expansion", "_m"},
    {"clicker_reaction", "_s"},
    {"hold_force", "_n"},
    {"peak_force", "_n"},
    {"release_force", "_n"},
    {"creep", "_n"},
    {"creep", "_m"},
    {"creep_rate", "_n_per_s"},
    {"collapse", "_n"},
    {"flinch", "_n"},
    {"flinch", "_s"},
    {"tremor_rms", "_n"},
    {"tremor_peak", "_hz"},
    {"tremor_band", "_n"},
    {"bow_tremor_rms", "_m_s2"},
    {"bow_tremor_peak", "_hz"},
    {"bow_tremor_band", "_m_s2"},
    {"ring", "_hz"},
    {"ring_damping", ""},
    {"vibration_peak", "_m_s2"},
    {"finger_share", ""},
    {"finger_share_change", ""},
    {"finger_impulse", "_n_s"},
    {"finger_peak", "_n"},
    {"finger_load_rate", "_n_per_s"},
    {"finger_slide", "_s"},
    {"finger_release_spread", "_s"},
    {"hand_vibration", "_m_s2"},
    {"finger_release", "_s"},
};

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static char *write_made(void)
{
    struct sh_analysis analysis;
    struct sh_text text;
    made_analysis(&analysis);
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(&analysis, &text), SH_OK);
    sh_analysis_close(&analysis);
    return text.data;
}

static json_t *read_made(void)
{
    char *data = write_made();
    json_error_t error;
    json_t *root = json_loads(data, JSON_REJECT_DUPLICATES, &error);
    if (root == NULL) {
        fail_msg("line %d: %s", error.line, error.text);
    }
    free(data);
    return root;
}

static json_t *get_shot(const json_t *root, size_t i)
{
    json_t *shot = json_array_get(json_object_get(root, "shots"), i);
    assert_non_null(shot);
    return shot;
}

static json_t *get_measure(const json_t *root, size_t i, const char *key)
{
    json_t *value = json_object_get(json_object_get(get_shot(root, i), "measures"), key);
    assert_non_null(value);
    return value;
}

static json_t *get_event(const json_t *root, size_t i, const char *key)
{
    json_t *value = json_object_get(json_object_get(get_shot(root, i), "events"), key);
    assert_non_null(value);
    return value;
}

static void test_head(void **state)
{
    json_t *root = read_made();
    const char *const keys[] = {"format",  "version",    "recording", "athlete", "program",
                                "history", "duration_s", "quality",   "shots"};
    assert_int_equal(json_object_size(root), COUNT(keys));
    size_t i = 0;
    for (void *at = json_object_iter(root); at != NULL; at = json_object_iter_next(root, at)) {
        assert_string_equal(json_object_iter_key(at), keys[i++]);
    }
    assert_string_equal(json_string_value(json_object_get(root, "format")),
                        "stringhand-analysis");
    assert_int_equal(json_integer_value(json_object_get(root, "version")), 1);
    assert_string_equal(json_string_value(json_object_get(root, "recording")),
                        "2026-05-14_0930_wren");
    assert_string_equal(json_string_value(json_object_get(root, "athlete")),
                        "wren, \"the small\"");
    assert_string_equal(json_string_value(json_object_get(root, "program")),
                        "stringhand " SH_VERSION);
    assert_near(json_real_value(json_object_get(root, "duration_s")), 612.4, 0, 0);
    json_t *history = json_object_get(root, "history");
    assert_int_equal(json_array_size(history), 1);
    assert_string_equal(json_string_value(json_array_get(history, 0)), "2026-05-12_1800_wren");
    json_t *quality = json_array_get(json_object_get(root, "quality"), 0);
    assert_string_equal(json_string_value(json_object_get(quality, "code")), "gap");
    assert_string_equal(json_string_value(json_object_get(quality, "text")),
                        "18 samples were lost.");
    json_decref(root);
}

static void check_measure_keys(json_t *measures)
{
    static const char *const middles[] = {"", "_u", "_lo", "_hi"};
    assert_int_equal(json_object_size(measures), 4 * COUNT(measure_keys) + 1);
    assert_non_null(json_object_get(measures, "vibration_clipped"));
    for (size_t i = 0; i < 4 * COUNT(measure_keys); i++) {
        char key[64];
        (void)snprintf(key, sizeof key, "%s%s%s", measure_keys[i / 4].stem, middles[i % 4],
                       measure_keys[i / 4].unit);
        if (json_object_get(measures, key) == NULL) {
            fail_msg("no key %s", key);
        }
    }
}

static void test_every_key_of_every_shot(void **state)
{
    static const char *const keys[] = {"n",        "kind",    "score",   "events",
                                       "measures", "quality", "changed", "findings"};
    json_t *root = read_made();
    assert_int_equal(json_array_size(json_object_get(root, "shots")), 3);
    for (size_t n = 0; n < 3; n++) {
        json_t *shot = get_shot(root, n);
        assert_int_equal(json_object_size(shot), COUNT(keys));
        for (size_t i = 0; i < COUNT(keys); i++) {
            assert_non_null(json_object_get(shot, keys[i]));
        }
        json_t *events = json_object_get(shot, "events");
        assert_int_equal(json_object_size(events), COUNT(event_keys));
        for (size_t i = 0; i < COUNT(event_keys); i++) {
            assert_non_null(json_object_get(events, event_keys[i]));
        }
        check_measure_keys(json_object_get(shot, "measures"));
        assert_int_equal(json_integer_value(json_object_get(shot, "n")), n + 1);
    }
    json_decref(root);
}

static void test_values_and_nulls(void **state)
{
    json_t *root = read_made();
    assert_string_equal(json_string_value(json_object_get(get_shot(root, 0), "kind")), "shot");
    assert_near(json_number_value(json_object_get(get_shot(root, 0), "score")), 9.0, 0, 0);
    assert_true(json_is_null(json_object_get(get_shot(root, 1), "score")));
    assert_near(json_real_value(get_event(root, 0, "clicker_s")), 24.871, 0, 0);
    assert_string_equal(json_string_value(get_event(root, 0, "clicker_sensor")),
                        "acceleration");
    assert_near(json_real_value(get_event(root, 0, "end_hi_s")), 25.75, 0, 0);
    assert_true(json_is_null(get_event(root, 0, "release_hi_s")));
    assert_true(json_is_null(get_event(root, 0, "let_down_s")));
    assert_near(json_real_value(get_measure(root, 0, "hold_time_s")), 3.607, 0, 0);
    assert_near(json_real_value(get_measure(root, 0, "creep_u_m")), 0.0005, 0, 0);
    assert_true(json_is_true(get_measure(root, 0, "vibration_clipped")));
    assert_true(json_is_null(get_measure(root, 0, "ring_hz")));
    json_t *share = get_measure(root, 0, "finger_share");
    assert_int_equal(json_array_size(share), 3);
    assert_near(json_real_value(json_array_get(share, 0)), 0.41, 0, 0);
    assert_true(json_is_null(json_array_get(share, 1)));
    assert_true(json_is_null(get_measure(root, 0, "finger_share_lo")));
    assert_true(json_is_null(get_measure(root, 1, "finger_share")));
    assert_true(json_is_null(get_measure(root, 1, "vibration_clipped")));
    assert_true(json_is_null(get_event(root, 1, "release_s")));
    assert_near(json_real_value(get_event(root, 1, "let_down_s")), 48.5, 0, 0);
    json_decref(root);
}

static void check_strings(const json_t *array, size_t n, const char *const *expected)
{
    assert_int_equal(json_array_size(array), n);
    for (size_t i = 0; i < n; i++) {
        assert_string_equal(json_string_value(json_array_get(array, i)), expected[i]);
    }
}

static void test_quality_changed_findings(void **state)
{
    json_t *root = read_made();
    json_t *first = get_shot(root, 0);
    json_t *second = get_shot(root, 1);
    check_strings(json_object_get(first, "quality"), 1, (const char *const[]){"clipped"});
    check_strings(json_object_get(first, "changed"), 2,
                  (const char *const[]){"clicker_s", "creep_n"});
    check_strings(json_object_get(second, "quality"), 2, (const char *const[]){"gap", "short"});
    check_strings(json_object_get(second, "changed"), 1, (const char *const[]){"kind"});
    check_strings(json_object_get(get_shot(root, 2), "quality"), 0, NULL);

    json_t *creep = json_array_get(json_object_get(first, "findings"), 0);
    assert_int_equal(json_object_size(creep), 7);
    assert_string_equal(json_string_value(json_object_get(creep, "code")), "creep");
    assert_string_equal(json_string_value(json_object_get(creep, "text")),
                        "The draw got shorter, by \"5.2 mm\".");
    assert_near(json_real_value(json_object_get(creep, "value")), 2.125, 0, 0);
    assert_near(json_real_value(json_object_get(creep, "value_u")), 0.2, 0, 0);
    assert_near(json_real_value(json_object_get(creep, "threshold")), 0.75, 0, 0);
    assert_string_equal(json_string_value(json_object_get(creep, "basis")), "user");
    assert_near(json_real_value(json_object_get(creep, "unusual")), 3.5, 0, 0);
    json_t *slide = json_array_get(json_object_get(first, "findings"), 1);
    assert_true(json_is_null(json_object_get(slide, "unusual")));
    json_t *let_down = json_array_get(json_object_get(second, "findings"), 0);
    assert_true(json_is_null(json_object_get(let_down, "value")));
    assert_true(json_is_null(json_object_get(let_down, "threshold")));
    json_decref(root);
}

static void test_same_bytes(void **state)
{
    char *first = write_made();
    char *second = write_made();
    assert_string_equal(first, second);
    assert_string_equal(first + strlen(first) - 4, " ]}\n");
    free(first);
    free(second);
}

static void test_any_name_can_be_read_back(void **state)
{
    struct sh_analysis analysis;
    struct sh_text text;
    sh_analysis_init(&analysis, "night\xFF\\\"\n\x01", "teal \xC3\xA9\xF0\x9F\x8E\xAF");
    sh_text_init(&text, 0);
    assert_int_equal(sh_analysis_json_write(&analysis, &text), SH_OK);
    json_t *root = json_loads(text.data, JSON_REJECT_DUPLICATES, NULL);
    assert_non_null(root);
    assert_string_equal(json_string_value(json_object_get(root, "recording")),
                        "night\xEF\xBF\xBD\\\"\n\x01");
    assert_string_equal(json_string_value(json_object_get(root, "athlete")),
                        "teal \xC3\xA9\xF0\x9F\x8E\xAF");
    assert_int_equal(json_array_size(json_object_get(root, "shots")), 0);
    json_decref(root);
    sh_text_close(&text);
    sh_analysis_close(&analysis);
}

static void test_a_full_text_says_so(void **state)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    for (size_t limit_bytes = 1; limit_bytes < 4000; limit_bytes += 97) {
        struct sh_text text;
        sh_text_init(&text, limit_bytes);
        assert_int_equal(sh_analysis_json_write(&analysis, &text), SH_ERR_FULL);
        sh_text_close(&text);
    }
    sh_analysis_close(&analysis);
}

/* jansson's memory, of which the n-th request fails. */
static long n_left;

static void *allocate(size_t n_bytes)
{
    return n_left-- == 0 ? NULL : malloc(n_bytes);
}

static void test_each_failing_allocation(void **state)
{
    struct sh_analysis analysis;
    made_analysis(&analysis);
    json_set_alloc_funcs(allocate, free);
    enum sh_status status = SH_ERR_MEMORY;
    long n_failed = 0;
    for (long n = 0; status != SH_OK; n++) {
        struct sh_text text;
        sh_text_init(&text, 0);
        n_left = n;
        status = sh_analysis_json_write(&analysis, &text);
        assert_true(status == SH_OK || status == SH_ERR_MEMORY);
        n_failed += status == SH_ERR_MEMORY ? 1 : 0;
        sh_text_close(&text);
    }
    json_set_alloc_funcs(malloc, free);
    assert_true(n_failed > 500);
    sh_analysis_close(&analysis);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_head),
        cmocka_unit_test(test_every_key_of_every_shot),
        cmocka_unit_test(test_values_and_nulls),
        cmocka_unit_test(test_quality_changed_findings),
        cmocka_unit_test(test_same_bytes),
        cmocka_unit_test(test_any_name_can_be_read_back),
        cmocka_unit_test(test_a_full_text_says_so),
        cmocka_unit_test(test_each_failing_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
