/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>
#include <jansson.h>
#include <stdio.h>
#include <string.h>
#include <stringhand/result.h>

/*
 * A program of somebody else's: it includes and links what an installation gives, and no more.
 */

static struct sh_result *open_recording(void)
{
    char message[SH_RESULT_MESSAGE_BYTES] = "";
    struct sh_result *result = NULL;
    if (sh_result_open(RECORDING, &result, message) != 0) {
        fail_msg("%s", message);
    }
    return result;
}

/* What `analyze --format json` prints. */
static json_t *read_printed(void)
{
    FILE *pipe = popen(PROGRAM " analyze " RECORDING " --format json", "r");
    assert_non_null(pipe);
    json_t *root = json_loadf(pipe, 0, NULL);
    assert_int_equal(pclose(pipe), 0);
    assert_non_null(root);
    return root;
}

static void
check_number(const struct sh_result *result, size_t shot, const char *key, json_t *printed)
{
    double value = -1.0;
    const int answer = sh_result_find_value(result, shot, key, &value);
    if (json_is_null(printed)) {
        assert_int_equal(answer, 0);
        assert_memory_equal(&value, &(double){-1.0}, sizeof value);
    } else {
        const double expected = json_number_value(printed);
        assert_int_equal(answer, 1);
        assert_memory_equal(&value, &expected, sizeof value);
    }
}

static size_t check_fields(const struct sh_result *result, size_t shot, json_t *object)
{
    const char *key = NULL;
    json_t *printed = NULL;
    size_t n = 0;
    json_object_foreach(object, key, printed)
    {
        if (json_is_array(printed)) {
            for (size_t i = 0; i < json_array_size(printed); i++) {
                char part[64];
                (void)snprintf(part, sizeof part, "%s_%zu", key, i + 1);
                check_number(result, shot, part, json_array_get(printed, i));
                n++;
            }
        } else if (json_is_number(printed)) {
            check_number(result, shot, key, printed);
            n++;
        }
    }
    return n;
}

static void test_every_number_is_the_printed_one(void **state)
{
    struct sh_result *result = open_recording();
    json_t *root = read_printed();
    json_t *shots = json_object_get(root, "shots");
    size_t n = 0;
    assert_int_equal(sh_result_get_n_shots(result), json_array_size(shots));
    for (size_t i = 0; i < json_array_size(shots); i++) {
        json_t *shot = json_array_get(shots, i);
        assert_string_equal(sh_result_get_kind(result, i),
                            json_string_value(json_object_get(shot, "kind")));
        n += check_fields(result, i, json_object_get(shot, "events"));
        n += check_fields(result, i, json_object_get(shot, "measures"));
        json_t *findings = json_object_get(shot, "findings");
        assert_int_equal(sh_result_get_n_findings(result, i), json_array_size(findings));
        for (size_t k = 0; k < json_array_size(findings); k++) {
            json_t *finding = json_array_get(findings, k);
            assert_string_equal(sh_result_get_finding_code(result, i, k),
                                json_string_value(json_object_get(finding, "code")));
            assert_string_equal(sh_result_get_finding_text(result, i, k),
                                json_string_value(json_object_get(finding, "text")));
        }
    }
    assert_true(n > 400);
    json_decref(root);
    sh_result_close(&result);
    assert_null(result);
    sh_result_close(&result);
}

static void test_what_is_not_there(void **state)
{
    struct sh_result *result = open_recording();
    const size_t n = sh_result_get_n_shots(result);
    double value = -1.0;
    assert_int_equal(sh_result_find_value(result, 0, "no_such_key", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "finger_share", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "finger_share_4", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "finger_share_0", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "finger_share_1x", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "clicker_sensor", &value), -1);
    assert_int_equal(sh_result_find_value(result, 0, "let_down_s", &value), 0);
    assert_int_equal(sh_result_find_value(result, n, "release_s", &value), -1);
    assert_memory_equal(&value, &(double){-1.0}, sizeof value);
    assert_null(sh_result_get_kind(result, n));
    assert_int_equal(sh_result_get_n_findings(result, n), 0);
    assert_null(sh_result_get_finding_code(result, 0, 1000));
    assert_null(sh_result_get_finding_text(result, n, 0));
    sh_result_close(&result);
}

static void test_no_recording(void **state)
{
    char message[SH_RESULT_MESSAGE_BYTES] = "";
    struct sh_result *result = NULL;
    assert_int_equal(sh_result_open("/nowhere/at/all", &result, message), -1);
    assert_null(result);
    assert_non_null(strstr(message, "/nowhere/at/all"));
    assert_null(strchr(message, '\n'));
    assert_int_equal(sh_result_open("/nowhere/at/all", &result, NULL), -1);
}

static void test_version(void **state)
{
    char line[64];
    (void)snprintf(line, sizeof line, "stringhand %s\n", sh_result_get_version());
    char said[64] = "";
    FILE *pipe = popen(PROGRAM " --version", "r");
    assert_non_null(pipe);
    assert_non_null(fgets(said, sizeof said, pipe));
    assert_int_equal(pclose(pipe), 0);
    assert_string_equal(said, line);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_number_is_the_printed_one),
        cmocka_unit_test(test_what_is_not_there),
        cmocka_unit_test(test_no_recording),
        cmocka_unit_test(test_version),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
