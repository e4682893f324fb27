/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "recording/wave_size.h"

#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#include "recording/scratch.h"
#include "support/cmocka_all.h"

#define GUID_RIFF "riff\x2e\x91\xcf\x11\xa5\xd6\x28\xdb\x04\xc1\0\0"
#define GUID_WAVE "wave\xf3\xac\xd3\x11\x8c\xd1\0\xc0\x4f\x8e\xdb\x8a"
#define GUID_TAIL "\xf3\xac\xd3\x11\x8c\xd1\0\xc0\x4f\x8e\xdb\x8a"

static bool find(const char *bytes, size_t n_bytes, struct sh_wave_size *out)
{
    struct scratch scratch;
    char path[SCRATCH_PATH_BYTES];
    scratch_open(&scratch);
    scratch_path(&scratch, "a", path);
    scratch_write(path, bytes, n_bytes);
    int file = open(path, O_RDONLY);
    assert_true(file >= 0);
    bool was_found = sh_wave_size_find(file, n_bytes, out);
    assert_int_equal(lseek(file, 0, SEEK_CUR), 0);
    assert_int_equal(close(file), 0);
    scratch_close(&scratch);
    return was_found;
}

/* Bytes of a literal without its closing NUL. */
#define FIND(literal, out) find((literal), sizeof(literal) - 1, (out))

static void test_wav(void **state)
{
    struct sh_wave_size size = {0};
    assert_true(FIND("RIFF\0\0\0\0WAVEfmt \x03\0\0\0abc\0data\x10\x02\0\0", &size));
    assert_int_equal(size.data_offset_bytes, 32);
    assert_int_equal(size.data_bytes, 0x210);
}

static void test_rf64(void **state)
{
    struct sh_wave_size size = {0};
    assert_true(FIND("RF64\xff\xff\xff\xffWAVEds64\x1c\0\0\0"
                     "\0\0\0\0\0\0\0\0\x08\x07\x06\x05\x04\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0"
                     "data\xff\xff\xff\xff",
                     &size));
    assert_int_equal(size.data_offset_bytes, 56);
    assert_int_equal(size.data_bytes, 0x0405060708);
    assert_false(FIND("RF64\xff\xff\xff\xffWAVEdata\xff\xff\xff\xff", &size));
}

static void test_w64(void **state)
{
    struct sh_wave_size size = {0};
    assert_true(FIND(GUID_RIFF "\0\0\0\0\0\0\0\0" GUID_WAVE "fmt " GUID_TAIL
                               "\x1c\0\0\0\0\0\0\0abcd\0\0\0\0data" GUID_TAIL
                               "\x28\0\0\0\0\0\0\0",
                     &size));
    assert_int_equal(size.data_offset_bytes, 40 + 32 + 24);
    assert_int_equal(size.data_bytes, 16);
    /* a chunk shorter than its own head would stand still */
    assert_false(FIND(GUID_RIFF "\0\0\0\0\0\0\0\0" GUID_WAVE "fmt " GUID_TAIL
                                "\x17\0\0\0\0\0\0\0data" GUID_TAIL "\x28\0\0\0\0\0\0\0",
                      &size));
    assert_false(FIND(GUID_RIFF "\0\0\0\0\0\0\0\0" GUID_WAVE "fmt " GUID_TAIL
                                "\xff\xff\xff\xff\xff\xff\xff\xff",
                      &size));
}

static void test_open_sizes_say_nothing(void **state)
{
    struct sh_wave_size size = {0};
    assert_false(FIND("RIFF\0\0\0\0WAVEdata\0\0\0\0", &size));
    assert_false(FIND("RIFF\0\0\0\0WAVEdata\xff\xff\xff\xff", &size));
}

static void test_other_files_say_nothing(void **state)
{
    struct sh_wave_size size = {0};
    assert_false(FIND("", &size));
    assert_false(FIND("RIFF", &size));
    assert_false(FIND("RIFF\0\0\0\0AVI fmt \0\0\0\0data\x10\0\0\0", &size));
    assert_false(FIND("fLaC\0\0\0\0WAVEdata\x10\0\0\0", &size));
    assert_false(FIND("RIFF\0\0\0\0WAVEfmt \xff\xff\xff\xff", &size));
    assert_false(FIND("RIFF\0\0\0\0WAVEfmt \0\0\0\0dat", &size));
}

static void test_the_walk_ends(void **state)
{
    char bytes[12 + 8 * 1002] = "RIFF\0\0\0\0WAVE";
    struct sh_wave_size size = {0};
    memcpy(bytes + sizeof bytes - 8, "data\x10\0\0", 8);
    assert_false(find(bytes, sizeof bytes, &size)); /* after 1001 empty chunks */
    memcpy(bytes + sizeof bytes - 24, "data\x10\0\0", 8);
    assert_true(find(bytes, sizeof bytes, &size)); /* after 999 */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_wav),
        cmocka_unit_test(test_rf64),
        cmocka_unit_test(test_w64),
        cmocka_unit_test(test_open_sizes_say_nothing),
        cmocka_unit_test(test_other_files_say_nothing),
        cmocka_unit_test(test_the_walk_ends),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
