/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "sensor/profile_edit.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "sensor/profile_format.h"
#include "sensor/scarce_disk.h"
#include "support/cmocka_all.h"
#include "support/near.h"
#include "support/scarce_heap.h"

static const char old_text[] = "; the kiln's tab\n"
                               "[sensor]\n"
                               "framing = text ; lines\n"
                               "\n"
                               "[stream fingers]\n"
                               "  rate_hz = 200\n"
                               "[column 1]\n"
                               "role = finger_force\n"
                               "finger = index\n"
                               "; found with a kitchen scale\n"
                               "scale = 0.5 ; 2026-04-01\n"
                               "range = 0 1023\n"
                               "scale_u = 0.1\n"
                               "\n"
                               "[column 2]\n"
                               "role = none\n"
                               "\n"
                               "# the ring finger\n"
                               "[column 3]\n"
                               "role = finger_force\n"
                               "finger = ring\n"
                               "point = 0 0 1\n"
                               "point = 900 50 1\n"
                               "delay_s = 0.001\n";

static const char new_text[] = "; the kiln's tab\n"
                               "[sensor]\n"
                               "framing = text ; lines\n"
                               "\n"
                               "[stream fingers]\n"
                               "  rate_hz = 200\n"
                               "[column 1]\n"
                               "role = finger_force\n"
                               "finger = index\n"
                               "; found with a kitchen scale\n"
                               "; 2026-04-01\n"
                               "point = 10 0 0.5\n"
                               "point = 700 40 0.75\n"
                               "noise = 0.125\n"
                               "load_drift_ratio = 0.03\n"
                               "load_drift_time_s = 4\n"
                               "calibrated = 2026-05-01\n"
                               "range = 0 1023\n"
                               "\n"
                               "[column 2]\n"
                               "role = none\n"
                               "\n"
                               "# the ring finger\n"
                               "[column 3]\n"
                               "role = finger_force\n"
                               "finger = ring\n"
                               "point = 0 0 1\n"
                               "point = 900 50 1\n"
                               "delay_s = 0.001\n"
                               "\n"
                               "[crosstalk]\n"
                               "row = 1 -0.25\n"
                               "row = 0 1\n"
                               "\n";

/* The old profile, newly calibrated. The caller frees it. */
static struct sh_profile *make(void)
{
    struct sh_profile *profile = malloc(sizeof *profile);
    assert_non_null(profile);
    assert_int_equal(sh_profile_parse(old_text, strlen(old_text), "a.ini", profile, NULL),
                     SH_OK);
    struct sh_stream *stream = &profile->streams[0].stream;
    struct sh_channel *channel = &stream->channel[0];
    channel->scale = 1.0;
    channel->scale_u = 0.0;
    channel->n_curve = 2;
    channel->curve[0] = (struct sh_curve_point){10.0, 0.0, 0.5};
    channel->curve[1] = (struct sh_curve_point){700.0, 40.0, 0.75};
    channel->noise = 0.125;
    channel->load_drift_ratio = 0.03;
    channel->load_drift_time_s = 4.0;
    memcpy(channel->calibrated, "2026-05-01", sizeof channel->calibrated);
    stream->has_crosstalk = true;
    stream->crosstalk[0][0] = 1.0;
    stream->crosstalk[0][1] = -0.25;
    stream->crosstalk[1][0] = 0.0;
    stream->crosstalk[1][1] = 1.0;
    return profile;
}

static void test_only_the_calibration_changes(void **state)
{
    struct sh_profile *profile = make();
    struct sh_text text;
    struct sh_error err = {0};
    sh_text_init(&text, 0);
    assert_int_equal(
        sh_profile_edit_format(old_text, strlen(old_text), "a.ini", profile, &text, &err),
        SH_OK);
    assert_string_equal(text.data, new_text);
    /* once more, from there: crosstalk and points are replaced in their places */
    profile->streams[0].stream.crosstalk[0][1] = -0.5;
    profile->streams[0].stream.channel[0].curve[1].value = 41.0;
    struct sh_text again;
    sh_text_init(&again, 0);
    assert_int_equal(
        sh_profile_edit_format(text.data, text.n_bytes, "a.ini", profile, &again, &err), SH_OK);
    assert_int_equal(again.n_bytes, text.n_bytes - 1); /* -0.25 became -0.5 */
    assert_non_null(strstr(again.data, "row = 1 -0.5\nrow = 0 1\n"));
    assert_non_null(strstr(again.data, "point = 10 0 0.5\npoint = 700 41 0.75\n"));
    assert_null(strstr(again.data, "-0.25"));
    sh_text_close(&again);
    sh_text_close(&text);
    free(profile);
}

static void test_the_same_profile_stays_byte_for_byte(void **state)
{
    struct sh_profile *profile = malloc(sizeof *profile);
    struct sh_text text;
    assert_non_null(profile);
    const size_t n = strlen(old_text);
    sh_text_init(&text, 0);
    assert_int_equal(sh_profile_parse(old_text, n, "a.ini", profile, NULL), SH_OK);
    assert_int_equal(sh_profile_edit_format(old_text, n, "a.ini", profile, &text, NULL), SH_OK);
    assert_string_equal(text.data, old_text);
    sh_text_reset(&text); /* without an end of line */
    assert_int_equal(sh_profile_edit_format(old_text, n - 1, "a.ini", profile, &text, NULL),
                     SH_OK);
    assert_string_equal(text.data, old_text);
    sh_text_close(&text);
    free(profile);
}

static void test_refusals(void **state)
{
    struct sh_profile *profile = make();
    struct sh_text text;
    struct sh_error err = {0};
    sh_text_init(&text, 0);
    assert_int_equal(sh_profile_edit_format("[nothing]\n", 10, "a.ini", profile, &text, &err),
                     SH_ERR_FORMAT);
    err = (struct sh_error){0};
    sh_text_reset(&text);
    profile->baud = 9600;
    assert_int_equal(
        sh_profile_edit_format(old_text, strlen(old_text), "a.ini", profile, &text, &err),
        SH_ERR_ARGUMENT);
    assert_non_null(strstr(err.what, "more than its calibration"));
    err = (struct sh_error){0};
    profile->n_streams = 2;
    assert_int_equal(
        sh_profile_edit_format(old_text, strlen(old_text), "a.ini", profile, &text, &err),
        SH_ERR_ARGUMENT);
    sh_text_close(&text);
    free(profile);
}

struct place {
    char folder[32];
    char path[64];
};

static struct place make_place(void)
{
    struct place place = {.folder = "profile-edit-XXXXXX"};
    assert_non_null(mkdtemp(place.folder));
    (void)snprintf(place.path, sizeof place.path, "%s/a.ini", place.folder);
    FILE *file = fopen(place.path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(old_text, 1, strlen(old_text), file), strlen(old_text));
    assert_int_equal(fclose(file), 0);
    return place;
}

static void check_file(const char *path, const char *expected)
{
    char got[4096] = "";
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    got[fread(got, 1, sizeof got - 1, file)] = '\0';
    (void)fclose(file);
    assert_string_equal(got, expected);
}

static void test_old_file_is_kept(void **state)
{
    struct place place = make_place();
    struct sh_profile *profile = make();
    struct sh_text backup;
    char copies[2][80];
    sh_text_init(&backup, 0);
    for (unsigned i = 0; i < 2; i++) {
        (void)snprintf(copies[i], sizeof copies[i], "%s.%u", place.path, i + 1);
        sh_text_reset(&backup);
        assert_int_equal(sh_profile_edit_write(profile, place.path, &backup, NULL), SH_OK);
        assert_string_equal(backup.data, copies[i]);
    }
    check_file(copies[0], old_text);
    check_file(copies[1], new_text);
    check_file(place.path, new_text);
    struct sh_error err = {0};
    assert_int_equal(sh_profile_edit_write(profile, "no-such-file.ini", &backup, &err),
                     SH_ERR_NOT_FOUND);
    sh_text_close(&backup);
    assert_int_equal(unlink(copies[0]) + unlink(copies[1]) + unlink(place.path), 0);
    assert_int_equal(rmdir(place.folder), 0);
    free(profile);
}

/* Writes with one allocation or one call to the disk failing: the file is the old one or the
 * new, and nothing is left beside it but the copy of a file that was replaced. */
static enum sh_status write_with_failure(void (*begin)(size_t n_before), size_t n_before)
{
    struct sh_profile *profile = make();
    struct place place = make_place();
    struct sh_text backup;
    char copy[80];
    sh_text_init(&backup, 0);
    begin(n_before);
    const enum sh_status status = sh_profile_edit_write(profile, place.path, &backup, NULL);
    (void)scarce_heap_end();
    scarce_disk_end();
    check_file(place.path, status == SH_OK ? new_text : old_text);
    (void)snprintf(copy, sizeof copy, "%s.1", place.path);
    (void)unlink(copy);
    assert_int_equal(unlink(place.path), 0);
    assert_int_equal(rmdir(place.folder), 0);
    sh_text_close(&backup);
    free(profile);
    return status;
}

/* Each allocation, write, sync and rename fails in turn. */
static void test_failures(void **state)
{
    static void (*const begins[])(size_t n_before) = {scarce_heap_begin, scarce_disk_begin};
    for (size_t kind = 0; kind < 2; kind++) {
        enum sh_status status = SH_ERR_IO;
        for (size_t n = 0; status != SH_OK; n++) {
            assert_true(n < 500);
            status = write_with_failure(begins[kind], n);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_only_the_calibration_changes),
        cmocka_unit_test(test_the_same_profile_stays_byte_for_byte),
        cmocka_unit_test(test_refusals),
        cmocka_unit_test(test_old_file_is_kept),
        cmocka_unit_test(test_failures),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
