/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/recording_remove.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "recording/folder_lock.h"
#include "recording/scratch.h"
#include "support/cmocka_all.h"

static const char session[] =
    "{\"format\": \"stringhand-recording\", \"version\": 1,\n"
    " \"started\": \"2026-05-14T09:30:00.000Z\", \"utc_offset_min\": 120,\n"
    " \"athlete\": \"wren\", \"streams\": [{\"name\": \"string\", \"file\": \"string.wav\",\n"
    " \"rate_hz\": 1000.0, \"channels\": [{\"role\": \"string_force\", \"unit\": \"N\",\n"
    " \"scale\": 0.0125, \"zero\": 812, \"range\": [-32768, 32767]}]}]}\n";

struct place {
    struct scratch scratch;
    char folder[SCRATCH_PATH_BYTES];
    char outside[SCRATCH_PATH_BYTES]; /* a file that belongs to nobody here */
};

static void put(const struct place *place, const char *name, const char *text)
{
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/%s", place->folder, name);
    scratch_write(path, text, strlen(text));
}

static bool is_there(const struct place *place, const char *name)
{
    char path[2 * SCRATCH_PATH_BYTES];
    struct stat file;
    (void)snprintf(path, sizeof path, "%s/%s", place->folder, name);
    return lstat(path, &file) == 0;
}

static int open_place(void **state)
{
    static struct place place;
    scratch_open(&place.scratch);
    scratch_path(&place.scratch, "evening", place.folder);
    scratch_path(&place.scratch, "outside", place.outside);
    assert_int_equal(mkdir(place.folder, 0700), 0);
    scratch_write(place.outside, "stays", 5);
    put(&place, "recording.json", session);
    put(&place, "string.wav", "0123456789");
    put(&place, "analysis.json", "{}");
    *state = &place;
    return 0;
}

static int close_place(void **state)
{
    struct place *place = *state;
    scratch_close(&place->scratch);
    return 0;
}

static void test_all_of_it_goes(void **state)
{
    const struct place *place = *state;
    struct sh_recording_remove_size size;
    struct sh_error err = {0};
    put(place, "string.flac", "abc"); /* turned into FLAC, and cut off */
    put(place, "string.wav.new", "a");
    put(place, "recording.json.new", "{");
    put(place, "recording.json.damaged", "{");
    put(place, "truth.json", "{}");
    assert_int_equal(sh_recording_remove_measure(place->folder, &size, &err), SH_OK);
    assert_int_equal(size.n_files, 8);
    assert_int_equal(size.n_bytes, strlen(session) + 10 + 2 + 3 + 1 + 1 + 1 + 2);
    assert_int_equal(size.n_others, 0);
    assert_string_equal(size.athlete, "wren");
    assert_true(is_there(place, "string.wav")); /* looking takes nothing */
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err), SH_OK);
    assert_int_equal(size.n_files, 8);
    assert_false(scratch_exists(place->folder));
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err),
                     SH_ERR_NOT_FOUND);
}

static void test_what_is_not_the_recordings_stays(void **state)
{
    const struct place *place = *state;
    struct sh_recording_remove_size size;
    struct sh_error err = {0};
    char inner[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(inner, sizeof inner, "%s/truth.json", place->folder);
    assert_int_equal(mkdir(inner, 0700), 0); /* a folder of an own file's name */
    put(place, "video.mp4", "v");
    put(place, "other.wav", "w");
    put(place, "string.wav.bak", "w");
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err), SH_OK);
    assert_int_equal(size.n_files, 3);
    assert_int_equal(size.n_others, 4);
    assert_string_equal(size.other, "other.wav");
    assert_true(is_there(place, "video.mp4"));
    assert_true(is_there(place, "other.wav"));
    assert_true(is_there(place, "string.wav.bak"));
    assert_true(is_there(place, "truth.json"));
    assert_false(is_there(place, "string.wav"));
    assert_false(is_there(place, "recording.json"));
}

static void test_links_are_not_followed(void **state)
{
    const struct place *place = *state;
    struct sh_recording_remove_size size;
    struct sh_error err = {0};
    char path[2 * SCRATCH_PATH_BYTES];
    char link[SCRATCH_PATH_BYTES];
    scratch_path(&place->scratch, "link", link);
    assert_int_equal(symlink(place->folder, link), 0); /* in place of the folder */
    assert_int_equal(sh_recording_remove_run(link, "wren", &size, &err), SH_ERR_FORMAT);
    (void)snprintf(path, sizeof path, "%s/string.wav", place->folder);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(symlink(place->outside, path), 0); /* in place of a stream */
    err = (struct sh_error){0};
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err), SH_OK);
    assert_false(scratch_exists(place->folder));
    assert_true(scratch_exists(place->outside));
    assert_int_equal(mkdir(place->folder, 0700), 0);
    scratch_write(place->outside, session, strlen(session));
    (void)snprintf(path, sizeof path, "%s/recording.json", place->folder);
    assert_int_equal(symlink(place->outside, path), 0); /* in place of what says whose it is */
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err),
                     SH_ERR_FORMAT);
    assert_true(is_there(place, "recording.json"));
    assert_true(scratch_exists(place->outside));
}

static void test_what_is_refused(void **state)
{
    const struct place *place = *state;
    struct sh_recording_remove_size size;
    struct sh_error err = {0};
    int lock = SH_FOLDER_LOCK_NONE;
    assert_int_equal(sh_recording_remove_run(place->folder, "rook", &size, &err),
                     SH_ERR_ARGUMENT);
    assert_int_equal(sh_folder_lock_take(place->folder, &lock, NULL), SH_OK);
    err = (struct sh_error){0};
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err), SH_ERR_BUSY);
    sh_folder_lock_drop(&lock);
    assert_true(is_there(place, "string.wav"));
    err = (struct sh_error){0};
    assert_int_equal(sh_recording_remove_run(place->outside, "wren", &size, &err),
                     SH_ERR_FORMAT);
    put(place, "recording.json", "{");
    err = (struct sh_error){0};
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err),
                     SH_ERR_FORMAT);
    assert_true(is_there(place, "string.wav"));
    assert_true(is_there(place, "analysis.json"));
}

/* A run that was cut off: streams gone, recording.json there. The next makes it good. */
static void test_the_next_run_ends_what_was_cut_off(void **state)
{
    const struct place *place = *state;
    struct sh_recording_remove_size size;
    struct sh_error err = {0};
    char path[2 * SCRATCH_PATH_BYTES];
    (void)snprintf(path, sizeof path, "%s/string.wav", place->folder);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(sh_recording_remove_measure(place->folder, &size, &err), SH_OK);
    assert_string_equal(size.athlete, "wren");
    assert_int_equal(sh_recording_remove_run(place->folder, "wren", &size, &err), SH_OK);
    assert_false(scratch_exists(place->folder));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(test_all_of_it_goes, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_what_is_not_the_recordings_stays, open_place,
                                        close_place),
        cmocka_unit_test_setup_teardown(test_links_are_not_followed, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_what_is_refused, open_place, close_place),
        cmocka_unit_test_setup_teardown(test_the_next_run_ends_what_was_cut_off, open_place,
                                        close_place),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
