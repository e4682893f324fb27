/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/channel_json.h"

#include <stdio.h>

#include "recording/json_case.h"
#include "support/cmocka_all.h"
#include "support/near.h"

static enum sh_status parse(const char *text, struct sh_channel *channel, struct sh_error *err)
{
    struct sh_json_cursor cursor;
    json_t *root = json_case_load(text);
    sh_json_cursor_init(&cursor, "a.json", err);
    sh_channel_json_parse(&cursor, root, channel);
    json_decref(root);
    return cursor.status;
}

static void
check_format(const char *before, const struct sh_channel *channel, const char *after)
{
    struct sh_json_put put = {SH_OK, NULL};
    json_t *root = json_case_load(before);
    sh_channel_json_format(&put, root, channel);
    assert_int_equal(put.status, SH_OK);
    json_case_check_text(root, JSON_REAL_PRECISION(15), after);
}

static const char force[] =
    "{\"role\": \"string_force\", \"unit\": \"N\", \"calibrated\": \"2026-05-01\", \"scale\": "
    "0.0125, \"scale_u\": 0.25, \"zero\": 812, \"zero_u\": 3, \"quadratic\": 0.5, "
    "\"quadratic_u\": 0.125, \"delay_s\": 0.0625, \"delay_u_s\": 0.03125, \"noise\": 0.75, "
    "\"range\": [-32768, 32767], \"load_drift\": {\"ratio\": 0.5, \"time_s\": 40}}";
static const char finger[] =
    "{\"role\": \"finger_force\", \"finger\": \"ring\", \"unit\": \"N\", "
    "\"curve\": [[0, 50, 1], [100, 10, 0.5], [1000, -5, 0]]}";
static const char bow[] =
    "{\"role\": \"bow_acceleration\", \"axis\": \"x\", \"unit\": \"m/s2\", "
    "\"scale\": -0.5}";
static const char contact[] = "{\"role\": \"clicker_contact\"}";

static void test_channels_lead_back(void **state)
{
    const char *const examples[] = {force, finger, bow, contact};
    for (size_t i = 0; i < sizeof examples / sizeof examples[0]; i++) {
        struct sh_channel channel;
        assert_int_equal(parse(examples[i], &channel, NULL), SH_OK);
        check_format("{}", &channel, examples[i]);
        check_format(examples[i], &channel, examples[i]);
    }
}

static void test_values_land_in_their_members(void **state)
{
    struct sh_channel channel;
    assert_int_equal(parse(force, &channel, NULL), SH_OK);
    assert_int_equal(channel.role, SH_ROLE_STRING_FORCE);
    assert_near(channel.scale, 0.0125, 0.0, 0.0);
    assert_near(channel.scale_u, 0.25, 0.0, 0.0);
    assert_near(channel.zero, 812.0, 0.0, 0.0);
    assert_near(channel.zero_u, 3.0, 0.0, 0.0);
    assert_near(channel.quadratic, 0.5, 0.0, 0.0);
    assert_near(channel.quadratic_u, 0.125, 0.0, 0.0);
    assert_near(channel.delay_s, 0.0625, 0.0, 0.0);
    assert_near(channel.delay_u_s, 0.03125, 0.0, 0.0);
    assert_near(channel.noise, 0.75, 0.0, 0.0);
    assert_true(channel.has_range);
    assert_near(channel.range_low, -32768.0, 0.0, 0.0);
    assert_near(channel.range_high, 32767.0, 0.0, 0.0);
    assert_near(channel.load_drift_ratio, 0.5, 0.0, 0.0);
    assert_near(channel.load_drift_time_s, 40.0, 0.0, 0.0);
    assert_string_equal(channel.calibrated, "2026-05-01");
    assert_false(channel.is_physical);
    assert_int_equal(parse(finger, &channel, NULL), SH_OK);
    assert_int_equal(channel.finger, SH_FINGER_RING);
    assert_int_equal(channel.n_curve, 3);
    assert_near(channel.curve[2].counts, 1000.0, 0.0, 0.0);
    assert_near(channel.curve[2].value, -5.0, 0.0, 0.0);
    assert_near(channel.curve[1].u, 0.5, 0.0, 0.0);
    assert_int_equal(parse(bow, &channel, NULL), SH_OK);
    assert_int_equal(channel.axis, SH_AXIS_X);
}

static void test_a_missing_unit_is_the_roles(void **state)
{
    struct sh_channel channel;
    assert_int_equal(parse("{\"role\": \"string_force\"}", &channel, NULL), SH_OK);
    assert_string_equal(channel.unit, "N");
    assert_near(channel.scale, 0.0, 0.0, 0.0);
    assert_int_equal(parse("{\"role\": \"bow_acceleration\", \"axis\": \"z\"}", &channel, NULL),
                     SH_OK);
    assert_string_equal(channel.unit, "m/s2");
    assert_int_equal(parse("{\"role\": \"sound\", \"unit\": \"Pa\"}", &channel, NULL), SH_OK);
    assert_string_equal(channel.unit, "Pa");
}

static void test_what_is_gone_is_removed(void **state)
{
    struct sh_channel channel;
    assert_int_equal(parse(force, &channel, NULL), SH_OK);
    channel = (struct sh_channel){.role = SH_ROLE_SOUND};
    check_format(
        "{\"finger\": \"ring\", \"axis\": \"x\", \"unit\": \"N\", \"calibrated\": "
        "\"2026-05-01\", \"range\": [0, 1], \"curve\": [], \"load_drift\": {}, \"mine\": 1}",
        &channel, "{\"mine\": 1, \"role\": \"sound\"}");
}

static void test_offences_are_named(void **state)
{
    static const struct json_case_offence cases[] = {
        {"[]", "a.json", "is not an object"},
        {"{}", "a.json: role", "is missing"},
        {"{\"role\": \"wobble\"}", "a.json: role", "is no role of a channel"},
        {"{\"role\": \"bow_acceleration\"}", "a.json: axis", "is missing"},
        {"{\"role\": \"bow_acceleration\", \"axis\": \"w\"}", "a.json: axis", "is no axis"},
        {"{\"role\": \"finger_force\"}", "a.json: finger", "is missing"},
        {"{\"role\": \"finger_force\", \"finger\": \"\"}", "a.json: finger", "is no finger"},
        {"{\"role\": \"string_force\", \"unit\": \"lbf\"}", "a.json: unit",
         "is not the unit of this role"},
        {"{\"role\": \"sound\", \"unit\": \"a unit of sixteen\"}", "a.json: unit",
         "is too long a text"},
        {"{\"role\": \"sound\", \"scale\": 0}", "a.json: scale", "is 0"},
        {"{\"role\": \"sound\", \"scale_u\": -1}", "a.json: scale_u", "is below 0"},
        {"{\"role\": \"sound\", \"delay_s\": -1}", "a.json: delay_s", "is below 0"},
        {"{\"role\": \"sound\", \"range\": [1]}", "a.json: range",
         "is not a list of 2 numbers"},
        {"{\"role\": \"sound\", \"range\": [1, 1]}", "a.json: range",
         "does not end above its start"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0]]}", "a.json: curve",
         "has not 2 to 64 points"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0], [1, 1]]}", "a.json: curve[1]",
         "is not a list of 3 numbers"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0], [1, 1, -1]]}", "a.json: curve[1]",
         "has an uncertainty below 0"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0], [0, 1, 0]]}", "a.json: curve[1]",
         "breaks the curve's direction"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0], [1, 0, 0]]}", "a.json: curve[1]",
         "breaks the curve's direction"},
        {"{\"role\": \"sound\", \"curve\": [[0, 0, 0], [1, 2, 0], [2, 1, 0]]}",
         "a.json: curve[2]", "breaks the curve's direction"},
        {"{\"role\": \"sound\", \"load_drift\": {\"ratio\": 1}}", "a.json: load_drift.time_s",
         "is missing"},
        {"{\"role\": \"sound\", \"load_drift\": {\"ratio\": 1, \"time_s\": 0}}",
         "a.json: load_drift.time_s", "is not above 0"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct sh_channel channel;
        struct sh_error err = {0};
        const enum sh_status status = parse(cases[i].text, &channel, &err);
        json_case_check_offence(&cases[i], status, &err);
    }
}

/* A sound channel with a curve of n points. */
static void make_curve(char *text, size_t text_bytes, int n)
{
    int used = snprintf(text, text_bytes, "{\"role\": \"sound\", \"curve\": [[0, 0, 0]");
    for (int i = 1; i < n; i++) {
        used += snprintf(text + used, text_bytes - (size_t)used, ", [%d, %d, 0]", i, i);
    }
    (void)snprintf(text + used, text_bytes - (size_t)used, "]}");
}

static void test_curves_have_a_bound(void **state)
{
    char text[2048];
    struct sh_channel channel;
    make_curve(text, sizeof text, SH_CHANNEL_CURVE_MAX);
    assert_int_equal(parse(text, &channel, NULL), SH_OK);
    assert_int_equal(channel.n_curve, SH_CHANNEL_CURVE_MAX);
    make_curve(text, sizeof text, SH_CHANNEL_CURVE_MAX + 1);
    assert_int_equal(parse(text, &channel, NULL), SH_ERR_FORMAT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_channels_lead_back),
        cmocka_unit_test(test_values_land_in_their_members),
        cmocka_unit_test(test_a_missing_unit_is_the_roles),
        cmocka_unit_test(test_what_is_gone_is_removed),
        cmocka_unit_test(test_offences_are_named),
        cmocka_unit_test(test_curves_have_a_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
