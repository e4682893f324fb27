/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_format.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sensor/scarce_disk.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/scarce_heap.h"

static const char packets_text[] = "[sensor]\n"
                                   "name = kiln\n"
                                   "port = usb:0403:6001\n"
                                   "baud = 921600\n"
                                   "framing = packets\n"
                                   "latency_s = 0.0040000000000000001\n"
                                   "[stream string]\n"
                                   "number = 3\n"
                                   "rate_hz = 1000\n"
                                   "[column 1]\n"
                                   "role = string_force\n"
                                   "scale = -1.25e-2\n"
                                   "scale_u = 4e-5\n"
                                   "zero = 812.5\n"
                                   "zero_u = 3\n"
                                   "quadratic = 1e-9\n"
                                   "quadratic_u = 1e-10\n"
                                   "delay_s = 0.0005\n"
                                   "delay_u_s = 0.0002\n"
                                   "range = 0 4095\n"
                                   "noise = 0.05\n"
                                   "calibrated = 2026-05-01\n"
                                   "[column 2]\n"
                                   "role = none\n"
                                   "[column 3]\n"
                                   "role = finger_force\n"
                                   "finger = ring\n"
                                   "point = 10 0 0.5\n"
                                   "point = 20 0.1 0.5\n"
                                   "zero = 7\n"
                                   "load_drift_ratio = 0.04\n"
                                   "load_drift_time_s = 20\n"
                                   "[column 4]\n"
                                   "role = sound\n"
                                   "unit = Pa\n"
                                   "[crosstalk]\n"
                                   "row = 1 -0.25 0\n"
                                   "row = 0 1 0\n"
                                   "row = 0 0 1\n"
                                   "[stream bow]\n"
                                   "number = 1\n"
                                   "rate_hz = 3200\n"
                                   "[column 1]\n"
                                   "role = bow_acceleration\n"
                                   "axis = z\n"
                                   "scale = 0.0383\n";

static struct sh_profile *make(void)
{
    struct sh_profile *profile = test_malloc(sizeof *profile);
    struct sh_error err = {0};
    assert_int_equal(
        sh_profile_parse(packets_text, strlen(packets_text), "kiln.ini", profile, &err), SH_OK);
    return profile;
}

static void check_channels(const struct sh_profile_stream *a, const struct sh_profile_stream *b)
{
    for (size_t i = 0; i < a->stream.n_channels; i++) {
        struct sh_channel left;
        struct sh_channel right;
        memcpy(&left, &a->stream.channel[i], sizeof left);
        memcpy(&right, &b->stream.channel[i], sizeof right);
        assert_string_equal(left.unit, right.unit);
        assert_string_equal(left.calibrated, right.calibrated);
        assert_memory_equal(left.curve, right.curve, left.n_curve * sizeof left.curve[0]);
        const double numbers[][2] = {
            {left.scale, right.scale},
            {left.scale_u, right.scale_u},
            {left.zero, right.zero},
            {left.zero_u, right.zero_u},
            {left.quadratic, right.quadratic},
            {left.quadratic_u, right.quadratic_u},
            {left.delay_s, right.delay_s},
            {left.delay_u_s, right.delay_u_s},
            {left.range_low, right.range_low},
            {left.range_high, right.range_high},
            {left.noise, right.noise},
            {left.load_drift_ratio, right.load_drift_ratio},
            {left.load_drift_time_s, right.load_drift_time_s},
        };
        for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++) {
            assert_memory_equal(&numbers[k][0], &numbers[k][1], sizeof numbers[k][0]);
        }
        assert_int_equal(left.role, right.role);
        assert_int_equal(left.axis, right.axis);
        assert_int_equal(left.finger, right.finger);
        assert_int_equal(left.n_curve, right.n_curve);
        assert_int_equal(left.has_range, right.has_range);
        assert_int_equal(a->column[i], b->column[i]);
    }
}

static void check_same(const struct sh_profile *a, const struct sh_profile *b)
{
    assert_string_equal(a->name, b->name);
    assert_string_equal(a->port, b->port);
    assert_int_equal(a->baud, b->baud);
    assert_int_equal(a->framing, b->framing);
    assert_memory_equal(&a->clock, &b->clock, sizeof a->clock);
    assert_int_equal(a->n_streams, b->n_streams);
    for (size_t i = 0; i < a->n_streams; i++) {
        const struct sh_profile_stream *left = &a->streams[i];
        const struct sh_profile_stream *right = &b->streams[i];
        assert_int_equal(left->number, right->number);
        assert_int_equal(left->n_columns, right->n_columns);
        assert_int_equal(left->stream.n_channels, right->stream.n_channels);
        assert_string_equal(left->stream.name, right->stream.name);
        assert_memory_equal(&left->stream.rate_hz, &right->stream.rate_hz, sizeof(double));
        assert_int_equal(left->stream.has_crosstalk, right->stream.has_crosstalk);
        assert_memory_equal(left->stream.crosstalk, right->stream.crosstalk,
                            sizeof left->stream.crosstalk);
        check_channels(left, right);
    }
}

static void check_round(const struct sh_profile *profile)
{
    struct sh_profile *again = test_malloc(sizeof *again);
    struct sh_text text;
    struct sh_error err = {0};
    sh_text_init(&text, 0);
    sh_profile_format(profile, &text);
    assert_int_equal(text.status, SH_OK);
    assert_int_equal(sh_profile_parse(text.data, text.n_bytes, "again", again, &err), SH_OK);
    check_same(profile, again);
    sh_text_close(&text);
    test_free(again);
}

static void test_what_is_written_reads_the_same(void **state)
{
    struct sh_profile *profile = make();
    check_round(profile);
    profile->streams[0].stream.channel[0].scale = 1.0 / 3.0;
    profile->streams[0].stream.channel[0].noise = 5e-324;
    profile->streams[0].stream.channel[0].zero = -0.1 - 0.2;
    profile->streams[0].stream.crosstalk[0][1] = 2.0 / 3.0;
    check_round(profile);
    test_free(profile);
}

static void test_examples(void **state)
{
    static const char *const names[] = {"bow-and-string.ini", "string-gauge.ini",
                                        "three-fingers.ini"};
    struct sh_profile *profile = test_malloc(sizeof *profile);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char path[512];
        (void)snprintf(path, sizeof path, "%s/../docs/sensors/%s", SH_TESTS_DIR, names[i]);
        assert_int_equal(sh_profile_read(path, profile, NULL), SH_OK);
        check_round(profile);
    }
    test_free(profile);
}

/* Few digits, and nothing that need not be said. */
static void test_wording(void **state)
{
    struct sh_profile *profile = make();
    struct sh_text text;
    sh_text_init(&text, 0);
    sh_profile_format(profile, &text);
    assert_non_null(strstr(text.data, "latency_s = 0.004\nlatency_u_s = 0.002\n"));
    assert_non_null(strstr(text.data, "\n[column 2]\nrole = none\n"));
    assert_non_null(strstr(text.data, "\npoint = 10 0 0.5\npoint = 20 0.1 0.5\nzero = 7\n"));
    assert_non_null(strstr(text.data, "\n[column 1]\nrole = bow_acceleration\naxis = z\n"
                                      "unit = m/s2\nscale = 0.0383\n"));
    assert_non_null(strstr(text.data, "row = 1 -0.25 0\n"));
    profile->framing = SH_FRAMING_TEXT;
    profile->name[0] = '\0';
    profile->port[0] = '\0';
    sh_text_reset(&text);
    sh_profile_format(profile, &text);
    assert_null(strstr(text.data, "number"));
    assert_null(strstr(text.data, "name"));
    assert_null(strstr(text.data, "port"));
    sh_text_close(&text);
    test_free(profile);
}

struct place {
    char folder[32];
    char path[64];
    char beside[64];
};

static struct place make_place(void)
{
    struct place place = {.folder = "profile-XXXXXX"};
    assert_non_null(mkdtemp(place.folder));
    (void)snprintf(place.path, sizeof place.path, "%s/a.ini", place.folder);
    (void)snprintf(place.beside, sizeof place.beside, "%s/a.ini.new", place.folder);
    return place;
}

static void clear_place(const struct place *place)
{
    assert_int_not_equal(access(place->beside, F_OK), 0);
    assert_int_equal(unlink(place->path), 0);
    assert_int_equal(rmdir(place->folder), 0);
}

static void test_writing(void **state)
{
    struct place place = make_place();
    struct sh_profile *profile = make();
    struct sh_profile *again = test_malloc(sizeof *again);
    assert_int_equal(sh_profile_format_write(profile, place.path, NULL), SH_OK);
    profile->baud = 57600;
    assert_int_equal(sh_profile_format_write(profile, place.path, NULL), SH_OK);
    assert_int_equal(sh_profile_read(place.path, again, NULL), SH_OK);
    check_same(profile, again);
    struct sh_error err = {0};
    assert_int_equal(sh_profile_format_write(profile, "no-such-folder/a.ini", &err),
                     SH_ERR_NOT_FOUND);
    assert_string_equal(err.where, "no-such-folder/a.ini");
    clear_place(&place);
    test_free(again);
    test_free(profile);
}

/* What would be refused, or read as something else, leaves the file as it was. */
static void test_refusals(void **state)
{
    struct place place = make_place();
    struct sh_profile *profile = make();
    struct sh_profile *again = test_malloc(sizeof *again);
    struct sh_profile *bad = test_malloc(sizeof *bad);
    assert_int_equal(sh_profile_format_write(profile, place.path, NULL), SH_OK);
    for (int i = 0; i < 5; i++) {
        struct sh_error err = {0};
        *bad = *profile;
        switch (i) {
        case 0:
            bad->baud = 0;
            break;
        case 1:
            bad->streams[0].stream.channel[0].scale = 0.0;
            break;
        case 2:
            bad->streams[1].stream.n_channels = 0;
            break;
        case 3:
            (void)snprintf(bad->name, sizeof bad->name, "kiln ; the new one");
            break;
        default:
            (void)snprintf(bad->name, sizeof bad->name, "kiln ");
            break;
        }
        assert_int_equal(sh_profile_format_write(bad, place.path, &err),
                         i < 3 ? SH_ERR_FORMAT : SH_ERR_ARGUMENT);
        assert_true(err.what[0] != '\0' && err.todo[0] != '\0');
        assert_int_equal(sh_profile_read(place.path, again, NULL), SH_OK);
        check_same(profile, again);
    }
    clear_place(&place);
    test_free(bad);
    test_free(again);
    test_free(profile);
}

/* Whichever write, sync or rename fails, the file before stays and nothing lies beside it. */
static void test_each_write_fails(void **state)
{
    struct place place = make_place();
    struct sh_profile *profile = make();
    struct sh_profile *again = test_malloc(sizeof *again);
    assert_int_equal(sh_profile_format_write(profile, place.path, NULL), SH_OK);
    profile->baud = 57600;
    size_t n_failed = 0;
    for (enum sh_status status = SH_ERR_IO; status != SH_OK; n_failed++) {
        struct sh_error err = {0};
        scarce_disk_begin(n_failed);
        status = sh_profile_format_write(profile, place.path, &err);
        scarce_disk_end();
        assert_true(status == SH_OK || (status == SH_ERR_IO && err.os_number == ENOSPC));
        assert_int_not_equal(access(place.beside, F_OK), 0);
        assert_int_equal(sh_profile_read(place.path, again, NULL), SH_OK);
        assert_int_equal(again->baud, status == SH_OK ? 57600 : 921600);
    }
    assert_true(n_failed >= 10);
    clear_place(&place);
    test_free(again);
    test_free(profile);
}

static void test_each_allocation_fails(void **state)
{
    struct place place = make_place();
    struct sh_profile *profile = make();
    size_t n_failed = 0;
    for (enum sh_status status = SH_ERR_MEMORY; status != SH_OK; n_failed++) {
        scarce_heap_begin(n_failed);
        status = sh_profile_format_write(profile, place.path, NULL);
        (void)scarce_heap_end();
        assert_true(status == SH_OK || status == SH_ERR_MEMORY);
        assert_int_equal(access(place.path, F_OK) == 0, status == SH_OK);
    }
    assert_true(n_failed >= 5);
    clear_place(&place);
    test_free(profile);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_what_is_written_reads_the_same),
        cmocka_unit_test(test_examples),
        cmocka_unit_test(test_wording),
        cmocka_unit_test(test_writing),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_each_write_fails),
        cmocka_unit_test(test_each_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
