/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "support/cmocka_all.h"
#include "support/near.h"

#define EXAMPLES SH_TESTS_DIR "/../docs/sensors/"

static int make_profile(void **state)
{
    *state = calloc(1, sizeof(struct sh_profile));
    return *state != NULL ? 0 : -1;
}

static int free_profile(void **state)
{
    free(*state);
    return 0;
}

static enum sh_status parse(const char *text, struct sh_profile *profile, struct sh_error *err)
{
    *err = (struct sh_error){.status = SH_OK};
    return sh_profile_parse(text, strlen(text), "gauge.ini", profile, err);
}

static struct sh_profile *must_read(void **state, const char *path)
{
    struct sh_profile *profile = *state;
    struct sh_error err = {.status = SH_OK};
    char line[SH_ERROR_LINE_BYTES];
    enum sh_status status = sh_profile_read(path, profile, &err);
    sh_error_format(&err, line);
    assert_string_equal(line, status == SH_OK ? "fine" : "no failure");
    return profile;
}

static void test_text_example(void **state)
{
    const struct sh_profile *profile = must_read(state, EXAMPLES "string-gauge.ini");
    assert_string_equal(profile->name, "string gauge");
    assert_string_equal(profile->port, "usb:0403:6001");
    assert_int_equal(profile->baud, 115200);
    assert_int_equal(profile->framing, SH_FRAMING_TEXT);
    assert_near(profile->clock.latency_s, 0.002, 0.0, 0.0);
    assert_near(profile->clock.latency_u_s, 0.001, 0.0, 0.0);
    assert_int_equal(profile->n_streams, 1);
    const struct sh_profile_stream *stream = &profile->streams[0];
    assert_int_equal(stream->n_columns, 3);
    assert_int_equal(stream->stream.n_channels, 2);
    assert_string_equal(stream->stream.name, "string");
    assert_near(stream->stream.rate_hz, 1000.0, 0.0, 0.0);
    assert_int_equal(stream->column[0], 0);
    assert_int_equal(stream->column[1], 1);
    const struct sh_channel *force = &stream->stream.channel[0];
    assert_int_equal(force->role, SH_ROLE_STRING_FORCE);
    assert_string_equal(force->unit, "N");
    assert_string_equal(force->calibrated, "2026-05-01");
    assert_near(force->scale, 0.0125, 0.0, 0.0);
    assert_near(force->scale_u, 0.00004, 0.0, 0.0);
    assert_near(force->zero, 812.0, 0.0, 0.0);
    assert_near(force->zero_u, 3.0, 0.0, 0.0);
    assert_true(force->has_range);
    assert_near(force->range_low, -32768.0, 0.0, 0.0);
    assert_near(force->range_high, 32767.0, 0.0, 0.0);
    assert_near(force->delay_s, 0.0005, 0.0, 0.0);
    assert_near(force->delay_u_s, 0.0002, 0.0, 0.0);
    assert_near(force->noise, 0.05, 0.0, 0.0);
    const struct sh_channel *contact = &stream->stream.channel[1];
    assert_int_equal(contact->role, SH_ROLE_CLICKER_CONTACT);
    assert_near(contact->scale, 1.0, 0.0, 0.0);
    assert_false(contact->has_range);
}

static void test_curve_and_crosstalk_example(void **state)
{
    const struct sh_profile *profile = must_read(state, EXAMPLES "three-fingers.ini");
    const struct sh_stream *stream = &profile->streams[0].stream;
    assert_int_equal(profile->baud, 57600);
    assert_int_equal(stream->n_channels, 3);
    assert_int_equal(stream->channel[2].finger, SH_FINGER_RING);
    assert_int_equal(stream->channel[0].n_curve, 4);
    assert_near(stream->channel[0].curve[2].counts, 690.0, 0.0, 0.0);
    assert_near(stream->channel[0].curve[2].value, 60.0, 0.0, 0.0);
    assert_near(stream->channel[0].curve[2].u, 2.0, 0.0, 0.0);
    assert_near(stream->channel[0].load_drift_ratio, 0.03, 0.0, 0.0);
    assert_near(stream->channel[0].load_drift_time_s, 4.0, 0.0, 0.0);
    assert_true(stream->has_crosstalk);
    assert_near(stream->crosstalk[1][0], -0.02, 0.0, 0.0);
    assert_near(stream->crosstalk[2][2], 1.0, 0.0, 0.0);
}

static void test_packets_example(void **state)
{
    const struct sh_profile *profile = must_read(state, EXAMPLES "bow-and-string.ini");
    assert_int_equal(profile->framing, SH_FRAMING_PACKETS);
    assert_int_equal(profile->n_streams, 2);
    assert_int_equal(profile->streams[1].number, 1);
    assert_near(profile->streams[1].stream.rate_hz, 3200.0, 0.0, 0.0);
    assert_int_equal(profile->streams[1].stream.channel[1].axis, SH_AXIS_Y);
    assert_string_equal(profile->streams[1].stream.channel[1].unit, "m/s2");
}

/* A column in the middle may be left out; the rest keep their places in the frame. */
static void test_column_left_out(void **state)
{
    struct sh_profile *profile = *state;
    struct sh_error err;
    assert_int_equal(parse("[sensor]\nframing = text\n[stream s]\nrate_hz = 80\n"
                           "[column 1]\nrole = none\n[column 2]\nrole = sound\nunit = Pa\n",
                           profile, &err),
                     SH_OK);
    assert_int_equal(profile->streams[0].n_columns, 2);
    assert_int_equal(profile->streams[0].stream.n_channels, 1);
    assert_int_equal(profile->streams[0].column[0], 1);
    assert_string_equal(profile->streams[0].stream.channel[0].unit, "Pa");
    assert_string_equal(profile->port, "");
    struct sh_device_clock_config clock = sh_device_clock_config_default();
    assert_memory_equal(&profile->clock, &clock, sizeof clock);
}

#define HEAD   "[sensor]\nframing = text\n[stream s]\nrate_hz = 80\n"
#define COLUMN HEAD "[column 1]\nrole = string_force\n"
#define FORCE  COLUMN "scale = 0.1\n"
#define PACKET "[sensor]\nframing = packets\n"
#define SOUND  "[stream a]\nrate_hz = 80\n[column 1]\nrole = sound\n"
#define POINTS COLUMN "point = 1 1 0\npoint = 2 2 0\n"
#define LONG   "0123456789012345678901234567890123456789012345678901234567890123456789"

struct refusal {
    const char *text;
    const char *where;
    const char *what;
};

static const struct refusal refusals[] = {
    {"", "gauge.ini", "there is no stream"},
    {"[sensor]\nframing = text\n", "gauge.ini", "there is no stream"},
    {"[sensor]\nname = x\n[stream s]\nrate_hz = 1\n", "gauge.ini:2", "framing is missing"},
    {"framing = text\n", "gauge.ini:1", "this line belongs to no section"},
    {"[stream s]\nrate_hz = 80\n", "gauge.ini:2", "[sensor] has to come first"},
    {"[sensor]\nframing = tex\n", "gauge.ini:2", "framing = tex: no such framing"},
    {"[sensor]\nframing = text\nframing = text\n", "gauge.ini:3", "framing is given twice"},
    {"[sensor]\nspeed = 9600\n", "gauge.ini:2", "speed: no such key in this section"},
    {"[sensor]\nbaud = 9600x\n", "gauge.ini:2", "baud = 9600x: this is no number"},
    {"[sensor]\nbaud = 9600.5\n", "gauge.ini:2", "baud = 9600.5: this is no whole number"},
    {"[sensor]\nbaud = 0\n", "gauge.ini:2", "baud = 0: outside 1 to 1.2e+07"},
    {"[sensor]\nbaud =\n", "gauge.ini:2", "baud = : this is no number"},
    {"[sensor]\nlatency_s = 1.1\n", "gauge.ini:2", "latency_s = 1.1: outside 0 to 1"},
    {"[sensor]\nlatency_u_s = -1\n", "gauge.ini:2", "latency_u_s = -1: outside 0 to 1"},
    {"[sensor]\nname =\n", "gauge.ini:2", "name = : nothing is given"},
    {"[sensor]\nname = " LONG LONG "\n", "gauge.ini:2", "name: over 127 bytes"},
    {"[sensor]\nname = " LONG LONG LONG "\n", "gauge.ini:2", "this line is too long"},
    {"[sensor\nframing = text\n", "gauge.ini:1", "this line cannot be read"},
    {"\n\n[sensor]\nframing\n[x]\ny = 1\n", "gauge.ini:4", "this line cannot be read"},
    {"[sensors]\nframing = text\n", "gauge.ini:2", "[sensors] does not belong here"},
    {"[" LONG "]\na = 1\n", "gauge.ini:2", "the section's name is too long"},
    {FORCE "[sensor]\nname = x\n", "gauge.ini:9", "[sensor] does not belong here"},
    {FORCE "[stream t]\nrate_hz = 80\n", "gauge.ini:9", "too many streams"},
    {PACKET "[stream S]\nrate_hz = 80\n", "gauge.ini:4",
     "this name cannot become the name of a file"},
    {PACKET "[stream ]\nrate_hz = 80\n", "gauge.ini:4",
     "this name cannot become the name of a file"},
    {PACKET SOUND "[stream a]\nrate_hz = 80\n", "gauge.ini:8", "this stream is there"},
    {PACKET SOUND "[stream b]\nnumber = 0\nrate_hz = 1\n[column 1]\nrole = string_force\n"
                  "scale = 1\n",
     "gauge.ini:8", "two streams have the same number"},
    {PACKET "[stream a]\nnumber = 8\n", "gauge.ini:4", "number = 8: outside 0 to 7"},
    {PACKET "[stream a]\nnumber = 1\n[column 1]\nrole = sound\n", "gauge.ini:4",
     "rate_hz is missing"},
    {PACKET "[stream a]\nrate_hz = 0.9\n", "gauge.ini:4", "rate_hz = 0.9: outside 1 to 100000"},
    {PACKET "[stream a]\nrate_hz = 100001\n", "gauge.ini:4",
     "rate_hz = 100001: outside 1 to 100000"},
    {HEAD, "gauge.ini:4", "a stream has no column that is recorded"},
    {HEAD "[column 1]\nrole = none\n", "gauge.ini:4",
     "a stream has no column that is recorded"},
    {HEAD "[column 2]\nrole = sound\n", "gauge.ini:6",
     "[column 2] stands where [column 1] should"},
    {HEAD "[column 01]\nrole = sound\n", "gauge.ini:6",
     "[column 01] stands where [column 1] should"},
    {"[sensor]\nframing = text\n[column 1]\nrole = sound\n", "gauge.ini:4",
     "this column belongs to no stream"},
    {HEAD "[column 1]\nscale = 1\n", "gauge.ini:6", "role is missing"},
    {HEAD "[column 1]\nrole = string\n", "gauge.ini:6", "role = string: no such role"},
    {COLUMN, "gauge.ini:6", "scale is missing"},
    {COLUMN "scale = 0\n", "gauge.ini:6", "scale is 0"},
    {COLUMN "scale = inf\n", "gauge.ini:7", "scale = inf: this is no number"},
    {COLUMN "scale = nan\n", "gauge.ini:7", "scale = nan: this is no number"},
    {COLUMN "scale = 0x10\n", "gauge.ini:7", "scale = 0x10: this is no number"},
    {COLUMN "scale = 1e999\n", "gauge.ini:7", "scale = 1e999: this is no number"},
    {COLUMN "scale = 1 2\n", "gauge.ini:7", "scale = 1 2: this is no number"},
    {COLUMN "scale = 1,5\n", "gauge.ini:7", "scale = 1,5: this is no number"},
    {FORCE "scale = 0.2\n", "gauge.ini:8", "scale is given twice"},
    {FORCE "scale_u = -0.1\n", "gauge.ini:8", "scale_u = -0.1: outside 0 to 1e+12"},
    {FORCE "delay_s = 11\n", "gauge.ini:8", "delay_s = 11: outside 0 to 10"},
    {FORCE "gain = 2\n", "gauge.ini:8", "gain: no such key of a column"},
    {FORCE "unit = lbf\n", "gauge.ini:6", "unit = lbf: N is wanted here"},
    {FORCE "axis = x\n", "gauge.ini:6", "axis does not go with this role"},
    {FORCE "finger = ring\n", "gauge.ini:6", "finger does not go with this role"},
    {HEAD "[column 1]\nrole = finger_force\nscale = 1\n", "gauge.ini:6", "finger is missing"},
    {HEAD "[column 1]\nrole = bow_acceleration\nscale = 1\n", "gauge.ini:6", "axis is missing"},
    {HEAD "[column 1]\nrole = finger_force\nfinger = thumb\n", "gauge.ini:7",
     "finger = thumb: no such finger"},
    {HEAD "[column 1]\nrole = bow_acceleration\naxis = w\n", "gauge.ini:7",
     "axis = w: no such axis"},
    {FORCE "range = 5 5\n", "gauge.ini:8", "range = 5 5: this range is empty"},
    {FORCE "range = 5\n", "gauge.ini:8", "range = 5: 2 numbers are wanted"},
    {FORCE "range = 5 6 7\n", "gauge.ini:8", "range = 5 6 7: 2 numbers are wanted"},
    {FORCE "range = 5,,6\n", "gauge.ini:8", "range = 5,,6: 2 numbers are wanted"},
    {FORCE "calibrated = 2026-02-29\n", "gauge.ini:8",
     "calibrated = 2026-02-29: this is no day of the calendar"},
    {FORCE "calibrated = 1.5.2026\n", "gauge.ini:8",
     "calibrated = 1.5.2026: this is no day of the calendar"},
    {FORCE "load_drift_ratio = 0.1\n", "gauge.ini:6",
     "of load_drift_ratio and load_drift_time_s one is missing"},
    {FORCE "point = 1 1 0\npoint = 2 2 0\n", "gauge.ini:6",
     "both a scale and points are given"},
    {COLUMN "point = 1 1 0\n", "gauge.ini:6", "one point makes no curve"},
    {POINTS "point = 2 3 0\n", "gauge.ini:9",
     "point = 2 3 0: this point does not go with the others"},
    {POINTS "point = 3 1.5 0\n", "gauge.ini:9",
     "point = 3 1.5 0: this point does not go with the others"},
    {POINTS "point = 3 3 -1\n", "gauge.ini:9",
     "point = 3 3 -1: this point does not go with the others"},
    {POINTS "quadratic = 1\n", "gauge.ini:6", "both a scale and points are given"},
    {FORCE "[column 2]\nrole = string_force\nscale = 1\n", "gauge.ini:9",
     "two columns mean the same"},
    {FORCE "[crosstalk]\nrow = 1 0\n", "gauge.ini:9", "row = 1 0: 1 numbers are wanted"},
    {FORCE "[crosstalk]\nrow = 1\nrow = 1\n", "gauge.ini:10", "this row is too many"},
    {FORCE "[column 2]\nrole = sound\n[crosstalk]\nrow = 1 0\n", "gauge.ini:11",
     "rows are missing"},
    {FORCE "[crosstalk]\nrows = 1\n", "gauge.ini:9", "rows: no such key of the crosstalk"},
};

static void test_refusals(void **state)
{
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        struct sh_error err;
        assert_int_equal(parse(refusals[i].text, *state, &err), SH_ERR_FORMAT);
        assert_string_equal(err.what, refusals[i].what);
        assert_string_equal(err.where, refusals[i].where);
        assert_string_not_equal(err.todo, "");
        assert_int_equal(err.status, SH_ERR_FORMAT);
    }
}

/* Columns up to 16 and streams up to 8 are taken, one more is not. */
static void test_most_columns(void **state)
{
    char text[2048] = HEAD "[column 1]\nrole = sound\n";
    struct sh_profile *profile = *state;
    struct sh_error err;
    for (size_t n = 2; n <= SH_STREAM_CHANNELS_MAX + 1; n++) {
        size_t used = strlen(text);
        (void)snprintf(text + used, sizeof text - used, "[column %zu]\nrole = none\n", n);
        bool fits = n <= SH_STREAM_CHANNELS_MAX;
        assert_int_equal(parse(text, profile, &err), fits ? SH_OK : SH_ERR_FORMAT);
        assert_int_equal(profile->streams[0].n_columns, fits ? n : SH_STREAM_CHANNELS_MAX);
    }
}

static void test_most_streams(void **state)
{
    static const char *const columns[] = {"sound",
                                          "clicker_contact",
                                          "string_force\nscale = 1",
                                          "finger_force\nscale = 1\nfinger = index",
                                          "finger_force\nscale = 1\nfinger = middle",
                                          "finger_force\nscale = 1\nfinger = ring",
                                          "bow_acceleration\nscale = 1\naxis = x",
                                          "bow_acceleration\nscale = 1\naxis = y",
                                          "bow_acceleration\nscale = 1\naxis = z"};
    char text[2048] = PACKET;
    struct sh_error err;
    for (size_t n = 1; n <= SH_STREAMS_MAX + 1; n++) {
        size_t used = strlen(text);
        (void)snprintf(text + used, sizeof text - used,
                       "[stream s%zu]\nrate_hz = 80\n[column 1]\nrole = %s\n", n,
                       columns[n - 1]);
        assert_int_equal(parse(text, *state, &err),
                         n <= SH_STREAMS_MAX ? SH_OK : SH_ERR_FORMAT);
    }
    assert_string_equal(err.what, "too many streams");
}

static void test_most_points(void **state)
{
    char text[4096] = COLUMN;
    struct sh_error err;
    for (unsigned n = 1; n <= SH_CHANNEL_CURVE_MAX + 1; n++) {
        size_t used = strlen(text);
        (void)snprintf(text + used, sizeof text - used, "point = %u, -%u, 0.5\n", n, n);
    }
    assert_int_equal(parse(text, *state, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what, "over 64 points");
    *strstr(text, "point = 65") = '\0';
    assert_int_equal(parse(text, *state, &err), SH_OK);
}

/* Windows line ends, indentation, tabs, a byte order mark and a missing last line end. */
static void test_ways_of_writing(void **state)
{
    struct sh_profile *profile = *state;
    struct sh_error err;
    assert_int_equal(parse("\xEF\xBB\xBF[sensor]\r\n\tframing=packets ; a comment\r\n"
                           "# another\r\n  [stream s]\r\n    rate_hz:80\r\n"
                           "[column 1]\r\n  role = sound\r\n  range = -5 , 5",
                           profile, &err),
                     SH_OK);
    assert_int_equal(profile->framing, SH_FRAMING_PACKETS);
    assert_near(profile->streams[0].stream.channel[0].range_low, -5.0, 0.0, 0.0);
}

static void test_leap_day(void **state)
{
    struct sh_error err;
    assert_int_equal(parse(FORCE "calibrated = 2028-02-29\n", *state, &err), SH_OK);
    assert_int_equal(parse(FORCE "calibrated = 2100-02-29\n", *state, &err), SH_ERR_FORMAT);
    assert_int_equal(parse(FORCE "calibrated = 2026-04-31\n", *state, &err), SH_ERR_FORMAT);
    assert_int_equal(parse(FORCE "calibrated = 2026-13-01\n", *state, &err), SH_ERR_FORMAT);
    assert_int_equal(parse(FORCE "calibrated = 2026-12-00\n", *state, &err), SH_ERR_FORMAT);
}

static void test_files(void **state)
{
    struct sh_error err = {.status = SH_OK};
    assert_int_equal(sh_profile_read("/no/such.ini", *state, &err), SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "/no/such.ini");
    err = (struct sh_error){.status = SH_OK};
    assert_int_equal(sh_profile_read("/tmp", *state, &err), SH_ERR_IO);
    err = (struct sh_error){.status = SH_OK};
    assert_int_equal(sh_profile_read("/dev/zero", *state, &err), SH_ERR_FULL);
    err = (struct sh_error){.status = SH_OK};
    assert_int_equal(sh_profile_parse("a\0b", 3, "gauge.ini", *state, &err), SH_ERR_FORMAT);
    assert_string_equal(err.what, "this is no text");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text_example),
        cmocka_unit_test(test_curve_and_crosstalk_example),
        cmocka_unit_test(test_packets_example),
        cmocka_unit_test(test_column_left_out),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_most_columns),
        cmocka_unit_test(test_most_streams),
        cmocka_unit_test(test_most_points),
        cmocka_unit_test(test_ways_of_writing),
        cmocka_unit_test(test_leap_day),
        cmocka_unit_test(test_files),
    };
    return cmocka_run_group_tests(tests, make_profile, free_profile);
}
